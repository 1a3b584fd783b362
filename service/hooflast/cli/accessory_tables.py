"""Accessory tables: pads, gaiters, cables and inserts, and what they go with, for a terminal."""

from collections.abc import Iterable, Mapping

from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.catalog.values import Accessory, BootId, BootModel, CatalogRelease, SizeCode
from hooflast.texts import Texts


def print_accessories(release: CatalogRelease, texts: Texts, *, console: Console) -> None:
    """Every accessory of a catalog release, a line each; nothing where there is none."""
    if not release.accessories:
        return
    table = Table(title=Text(texts.say("cli.catalog.accessories")), title_justify="left")
    for column in ("accessory", "maker", "kind", "sold-as", "boot", "sizes"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for accessory in release.accessories.values():
        boots = dict.fromkeys(boot for size in accessory.sizes for boot in size.goes_with)
        table.add_row(
            Text(f"{accessory.name}\n{accessory.id}"),
            Text(release.makers[accessory.maker].name),
            Text(texts.say(f"accessory.{accessory.kind.value}")),
            Text(texts.say(f"sold_as.{accessory.sold_as.value}")),
            Text("\n".join(boots)),
            Text(str(len(accessory.sizes))),
        )
    console.print(table)


def print_accessory(accessory: Accessory, *, release: CatalogRelease, texts: Texts, console: Console) -> None:
    """One accessory with its sizes and the boot sizes that each goes with."""
    maker = release.makers[accessory.maker].name
    title = accessory.name if accessory.name.startswith(maker) else f"{maker} {accessory.name}"
    if accessory.thickness_mm is not None:
        title = texts.say("cli.catalog.thickness", {"name": title, "thickness_mm": accessory.thickness_mm})
    table = Table(title=Text(title), title_justify="left", title_style="bold")
    for column in ("size", "boot", "boot-sizes"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for size in accessory.sizes:
        for boot, codes in size.goes_with.items():
            table.add_row(Text(size.code), Text(boot), Text(_in_order(codes, boot=release.boots.get(boot))))
    console.print(table)


def print_what_goes_with(boot: BootModel, *, release: CatalogRelease, texts: Texts, console: Console) -> None:
    """The accessories of a boot model, by their sizes; nothing where there is none."""
    table = Table(title=Text(texts.say("cli.catalog.goes-with")), title_justify="left")
    for column in ("accessory", "kind", "size", "boot-sizes"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for accessory in going_with(boot, release=release):
        for size in accessory.sizes:
            if boot.id in size.goes_with:
                table.add_row(
                    Text(f"{accessory.name}\n{accessory.id}"),
                    Text(texts.say(f"accessory.{accessory.kind.value}")),
                    Text(size.code),
                    Text(_in_order(size.goes_with[boot.id], boot=boot)),
                )
    if table.row_count:
        console.print(table)


def going_with(boot: BootModel, *, release: CatalogRelease) -> list[Accessory]:
    """The accessories of a catalog release of which a size goes with a boot model."""
    return [
        accessory
        for accessory in release.accessories.values()
        if any(boot.id in size.goes_with for size in accessory.sizes)
    ]


def plain_accessory(accessory: Accessory, *, boots: Mapping[BootId, BootModel]) -> dict[str, object]:
    """An accessory for programs. `boots` are those of its catalog release."""
    return {
        "id": accessory.id,
        "maker": accessory.maker,
        "name": accessory.name,
        "kind": accessory.kind,
        "sold_as": accessory.sold_as,
        "thickness_mm": accessory.thickness_mm,
        "sizes": [
            {
                "code": size.code,
                "goes_with": {boot: _codes(codes, boot=boots.get(boot)) for boot, codes in size.goes_with.items()},
            }
            for size in accessory.sizes
        ],
    }


def _in_order(codes: Iterable[SizeCode], *, boot: BootModel | None) -> str:
    return ", ".join(_codes(codes, boot=boot))


def _codes(codes: Iterable[SizeCode], *, boot: BootModel | None) -> list[SizeCode]:
    """Size codes from small to large; by the alphabet where the boot model is no longer offered."""
    wanted = frozenset(codes)
    return sorted(wanted) if boot is None else [size.code for size in boot.sizes if size.code in wanted]
