"""Boot fits: one boot model and one size on one hoof, from numbers to what is said."""

from collections.abc import Mapping
from itertools import accumulate

from hooflast.fit.chances import VERDICTS
from hooflast.fit.match import BootMatch, HoofMatch
from hooflast.fit.sizes import AXES
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import AccessoryFit, BootFit, SizeFit
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion
from hooflast.matching.reasons import boot_cautions, why
from hooflast.matching.shelf import Shelf
from hooflast.matching.trying import try_order, watch_for


def boot_fit(boot_match: BootMatch, match: HoofMatch, *, place: int, question: MatchQuestion, shelf: Shelf) -> BootFit:
    """What is said about one boot model on one hoof. On an acutely painful foot no neighbouring size is named."""
    painful = is_painful(question.needs)
    boot = shelf.boots[boot_match.boot]
    best = size_fit(boot_match.best, match, boot=boot_match.boot, shelf=shelf)
    smaller, larger = (
        None if size is None or painful else size_fit(size, match, boot=boot_match.boot, shelf=shelf)
        for size in (boot_match.smaller, boot_match.larger)
    )
    by_width, by_length = (
        None if size is None else shelf.sizes[size] for size in (boot_match.by_width, boot_match.by_length)
    )
    steps_apart = boot_match.steps_apart
    return BootFit(
        boot=boot,
        maker=shelf.release.makers[boot.maker],
        place=place,
        band=boot_match.band,
        closeness=boot_match.closeness,
        chance_some_size_fits=boot_match.some_fits,
        best=best,
        smaller=smaller,
        larger=larger,
        size_by_width=by_width.code if by_width else None,
        size_by_length=by_length.code if by_length else None,
        steps_apart=steps_apart,
        try_order=() if painful else try_order(best, smaller=smaller, larger=larger, try_from=question.try_from),
        watch_for=() if painful else watch_for(best),
        accessories=tuple(
            AccessoryFit(accessory=accessory, size=code)
            for accessory, code in shelf.accessories.get((boot.id, best.size.code), ())
        ),
        why=why(boot, question, band=boot_match.band, best=best, steps_apart=steps_apart),
        cautions=boot_cautions(
            boot,
            question,
            best=best,
            neighbours=(smaller, larger),
            by_width=by_width,
            by_length=by_length,
            steps_apart=steps_apart,
        ),
    )


def middle_verdict(chances: Mapping[Verdict, float]) -> Verdict:
    """The verdict in the middle: all tighter ones together, and all looser ones, are no likelier than one half."""
    so_far = accumulate(chances[verdict] for verdict in VERDICTS)
    return next(verdict for verdict, reached in zip(VERDICTS, so_far, strict=True) if reached >= 0.5)


def size_fit(size: int, match: HoofMatch, *, boot: int, shelf: Shelf) -> SizeFit:
    """What is said about one size of a boot model, both indices into the shelf's table, on one hoof."""
    chances = {
        axis: {verdict: float(chance) for verdict, chance in zip(VERDICTS, match.verdicts[size, column], strict=True)}
        for column, axis in enumerate(AXES)
        if shelf.table.has_axis[size, column]
    }
    return SizeFit(
        size=shelf.sizes[size],
        fit_chance=float(match.fit_chances[size]),
        verdicts={axis: middle_verdict(row) for axis, row in chances.items()},
        verdict_chances=chances,
        sold=shelf.sold_size(size, boot=boot),
    )
