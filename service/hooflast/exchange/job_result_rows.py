"""Job result rows: what a match job answered, as rows of CSV, made from the lines of JSON that were kept."""

from collections.abc import Iterator
from typing import Any, Final

import msgspec

from hooflast.store.match_job_values import JobAnswers

BOOT_COLUMNS: Final = (
    "line", "outcome", "horse", "limb", "place", "boot", "boot_name", "maker_name", "size", "fit_chance", "width",
    "length", "cautions", "faults",
)  # fmt: skip
CHANGES_COLUMNS: Final = (
    "line", "outcome", "horse", "limb", "effects", "before_boot", "before_size", "before_fit_chance", "after_boot",
    "after_size", "after_fit_chance", "same_boot_after_size", "same_boot_after_fit_chance", "cautions", "faults",
)  # fmt: skip

Row = dict[str, object]


def columns_of(answers: JobAnswers) -> tuple[str, ...]:
    """The heading of a job's results."""
    return CHANGES_COLUMNS if answers is JobAnswers.CHANGES else BOOT_COLUMNS


def rows_of(written: bytes, *, answers: JobAnswers) -> Iterator[tuple[object, ...]]:
    """The rows of one horse: one for each boot of each hoof, or each hoof that changes; at least one."""
    result: dict[str, Any] = msgspec.json.decode(written)
    start: Row = {"line": result["line"], "outcome": result["outcome"], "horse": result["horse_name"]}
    answer: dict[str, Any] = result["answer"] or {"hooves": [], "cautions": []}
    make = {JobAnswers.FULL: _full, JobAnswers.SHORT: _short, JobAnswers.CHANGES: _changes}[answers]
    told = [row for hoof in answer["hooves"] for row in make(hoof, answer["cautions"])]
    beside: Row = {"faults": " ".join(_fault(found) for found in result["faults"])}
    for row in told or [{"cautions": _codes(answer["cautions"])}]:
        whole = {**start, **beside, **row}
        yield tuple(whole.get(name, "") for name in columns_of(answers))


def _full(hoof: dict[str, Any], of_horse: list[Any]) -> Iterator[Row]:
    for fit in hoof["boots"]:
        best = fit["best"]
        yield {
            "limb": hoof["limb"],
            "place": fit["place"],
            "boot": fit["boot"]["id"],
            "boot_name": fit["boot"]["name"],
            "maker_name": fit["boot"]["maker_name"],
            "size": best["size"],
            "fit_chance": best["fit_chance"],
            **{axis: best[axis]["verdict"] if best[axis] else "" for axis in ("width", "length")},
            "cautions": _codes([*of_horse, *hoof["cautions"], *fit["cautions"]]),
        }
    if not hoof["boots"]:
        yield {"limb": hoof["limb"], "cautions": _codes([*of_horse, *hoof["cautions"]])}


def _short(hoof: dict[str, Any], of_horse: list[Any]) -> Iterator[Row]:
    first: dict[str, Any] = hoof["first"] or {}
    place = {"place": 1} if first else {}
    filled = {name: value for name, value in first.items() if value is not None}
    yield {"limb": hoof["limb"], **place, **filled, "cautions": _codes([*of_horse, *hoof["cautions"]])}


def _changes(hoof: dict[str, Any], of_horse: list[Any]) -> Iterator[Row]:
    before, after, same = (hoof[name] or {} for name in ("before", "after", "same_boot_after"))
    yield {
        "limb": hoof["limb"],
        "effects": " ".join(hoof["effects"]),
        **_best("before", before),
        **_best("after", after),
        **_best("same_boot_after", same),
        "cautions": _codes(of_horse),
    }


def _best(when: str, best: dict[str, Any]) -> Row:
    return {f"{when}_{name}": best.get(name, "") for name in ("boot", "size", "fit_chance")}


def _codes(cautions: list[Any]) -> str:
    """Cautions in short, each once: `stop:foal`."""
    return " ".join(dict.fromkeys(f"{one['severity']}:{one['code']}" for one in cautions))


def _fault(found: dict[str, Any]) -> str:
    place = [str(found[name]) for name in ("row", "column", "pointer") if found[name]]
    return (
        f"{'/'.join(place)}: {found['detail']} {found['accepted']}"
        if place
        else f"{found['detail']} {found['accepted']}"
    )
