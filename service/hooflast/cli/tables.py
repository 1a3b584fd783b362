"""Tables: answers and catalogs for a terminal."""

from collections.abc import Iterable

from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.catalog.values import BootModel, CatalogRelease, Range
from hooflast.fit.hoof import Axis
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.matching.answer import Alternative, BootFit, HoofAnswer, MatchAnswer, SizeFit, Versions
from hooflast.matching.needs import NeedAdvice
from hooflast.texts import Texts

STYLE_OF = {Severity.NOTE: "", Severity.LOOK_AGAIN: "yellow", Severity.STOP: "bold red"}


def print_match(answer: MatchAnswer, texts: Texts, *, console: Console) -> None:
    """What must stop it first, one table per hoof, what to be careful about, and what the answer rests on."""
    for caution in answer.cautions:
        if caution.severity is Severity.STOP:
            print_caution(caution, texts, console=console)
    for advice in answer.needs:
        print_need(advice, texts, console=console)
    for hoof in answer.hooves:
        _print_hoof(hoof, texts, console=console)
    for caution in answer.cautions:
        if caution.severity is not Severity.STOP:
            print_caution(caution, texts, console=console)
    for said in answer.level:
        console.print(Text(texts.say(f"level.{said.code}", said.facts)))
    for said in answer.wearing:
        console.print(Text(texts.say(f"wearing.{said.code}", said.facts)))
    print_footing(answer.assumptions, answer.versions, texts=texts, console=console)


def print_footing(assumptions: Iterable[Remark], versions: Versions, *, texts: Texts, console: Console) -> None:
    """What an answer rests on: what was taken for granted, and its catalog release and engine."""
    print_assumptions(assumptions, texts=texts, console=console)
    facts = {"edition": versions.catalog_edition, "engine": versions.engine}
    console.print(Text(texts.say("cli.match.rests-on", facts), style="dim"))


def print_assumptions(assumptions: Iterable[Remark], *, texts: Texts, console: Console) -> None:
    """What was taken for granted for want of being told."""
    for assumed in assumptions:
        console.print(Text(texts.say(f"assumption.{assumed.code}", assumed.facts), style="dim"))


def print_need(advice: NeedAdvice, texts: Texts, *, console: Console) -> None:
    """What practice says to one named need."""
    lists = {"suits": advice.suits, "as-directed": advice.as_directed, "never": advice.never}
    console.print(Text(texts.say("cli.match.need-title", {"need": advice.need.value, "course": advice.course.value})))
    for name, features in lists.items():
        if features:
            listed = {"feature_list": ",".join(features)}
            console.print(Text("  " + texts.say(f"cli.match.need.{name}", listed)))


def _print_hoof(hoof: HoofAnswer, texts: Texts, *, console: Console) -> None:
    facts = {
        "limb": hoof.reading.limb.value,
        "width_mm": hoof.width.mean_mm,
        "length_mm": hoof.length.mean_mm,
        "shape": hoof.shape.likeliest.value,
        "shape_chance": hoof.shape.chances[hoof.shape.likeliest],
    }
    table = Table(title=Text(texts.say("cli.match.hoof-title", facts)), title_justify="left", title_style="bold")
    for column in ("place", "boot", "size", "fit", "width", "length", "neighbours"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for fit in hoof.boots:
        table.add_row(*_fit_row(fit, texts))
    console.print(table)
    for fit in hoof.boots:
        console.print(_fit_words(fit, texts))
    for turn in hoof.turns:
        console.print(Text(texts.say(f"turn.{turn.code}", turn.facts)))
    if hoof.in_cycle is not None:
        over = hoof.in_cycle.best
        facts = {"size": over.size.code, "holds_chance": over.holds_chance}
        console.print(Text(texts.say("cli.match.in-cycle", facts)))
    for alternative in hoof.alternatives:
        _print_alternative(alternative, texts, console=console)
    for caution in hoof.cautions:
        print_caution(caution, texts, console=console)
    console.print()


def _print_alternative(alternative: Alternative, texts: Texts, *, console: Console) -> None:
    fit = alternative.fit
    said = texts.say("cli.match.alternative", {"name": f"{fit.maker.name} {fit.boot.name}", "code": fit.best.size.code})
    gains = [texts.say(f"gain.{one.code}", one.facts) for one in alternative.gains]
    losses = [texts.say(f"loss.{one.code}", one.facts) for one in alternative.losses]
    console.print(Text(" ".join([said, *gains, *losses])))


def _fit_row(fit: BootFit, texts: Texts) -> list[Text]:
    best = fit.best
    near = [f"{one.size.code} {texts.chance(one.fit_chance)}" for one in (fit.smaller, fit.larger) if one is not None]
    return [
        Text(str(fit.place)),
        Text(f"{fit.maker.name} {fit.boot.name}"),
        Text(best.size.code, style="bold"),
        Text(texts.chance(best.fit_chance)),
        Text(_verdict(best, axis=Axis.WIDTH, texts=texts)),
        Text(_verdict(best, axis=Axis.LENGTH, texts=texts)),
        Text("\n".join(near)),
    ]


def _fit_words(fit: BootFit, texts: Texts) -> Text:
    """Why a boot model is where it is, which sizes to try, and what to be careful about."""
    said = [texts.say(f"why.{one.code}", one.facts) for one in fit.why]
    if fit.try_order:
        said.append(texts.say("cli.match.try-order", {"order_list": ",".join(fit.try_order)}))
    words = Text(f"{fit.place}. {fit.boot.name}: {' '.join(said)}")
    for caution in fit.cautions:
        words.append(" " + texts.say(f"caution.{caution.code}", caution.facts), style=STYLE_OF[caution.severity])
    return words


def _verdict(best: SizeFit, *, axis: Axis, texts: Texts) -> str:
    return texts.say(f"verdict.{best.verdicts[axis].value}") if axis in best.verdicts else "–"


def print_caution(caution: Caution, texts: Texts, *, console: Console) -> None:
    """One caution with how much it matters."""
    said = f"{texts.say(f'severity.{caution.severity.value}')}: {texts.say(f'caution.{caution.code}', caution.facts)}"
    console.print(Text(said, style=STYLE_OF[caution.severity]))


def print_boots(release: CatalogRelease, texts: Texts, *, console: Console) -> None:
    """Every boot model of a catalog release, a line each."""
    table = Table(title=Text(texts.say("cli.catalog.title", {"edition": release.edition})), title_justify="left")
    for column in ("boot", "maker", "closure", "shape", "limbs", "uses", "sizes"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for model in release.boots.values():
        table.add_row(
            Text(f"{model.name}\n{model.id}"),
            Text(release.makers[model.maker].name),
            Text(texts.say(f"closure.{model.closure.value}")),
            Text(texts.say(f"shape.{model.shape.value}")),
            Text(texts.say(f"limbs.{model.limbs.value}")),
            Text(", ".join(texts.say(f"use.{use.value}") for use in sorted(model.intended_uses))),
            Text(str(len(model.sizes))),
        )
    console.print(table)


def print_boot(model: BootModel, *, release: CatalogRelease, texts: Texts, console: Console) -> None:
    """One boot model with its sizes, small to large."""
    title = f"{release.makers[model.maker].name} {model.name}"
    table = Table(title=Text(title), title_justify="left", title_style="bold")
    for column in ("size", "width", "length"):
        table.add_column(texts.say(f"cli.column.{column}"))
    for size in model.sizes:
        table.add_row(Text(size.code), Text(_range(size.width, texts)), Text(_range(size.length, texts)))
    console.print(table)


def _range(printed: Range | None, texts: Texts) -> str:
    return "–" if printed is None else f"{texts.length(printed.low_mm)} – {texts.length(printed.high_mm)}"
