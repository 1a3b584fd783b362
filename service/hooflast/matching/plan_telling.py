"""Plan telling: a plan's numbers as boot models and sizes, with what to be careful about."""

from collections.abc import Iterator
from dataclasses import dataclass

from hooflast.catalog.values import Sides, SoldAs
from hooflast.fit.pair_choices import Worn
from hooflast.fit.remark import Caution, Fact, Severity
from hooflast.fit.whole_horse import Bought, Plan
from hooflast.matching.cautions import CATALOG, COMMON_PRACTICE, CONVENTION
from hooflast.matching.choosing import standing_only
from hooflast.matching.needs import is_painful
from hooflast.matching.plan_answer import HorsePlan, PlannedHoof, PlannedItem, PlannedSpare, SizeOf
from hooflast.matching.plan_question import PlanQuestion
from hooflast.matching.reasons import DOUBTFUL
from hooflast.matching.sale import Sale
from hooflast.matching.shelf import Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Teller:
    """Tells the plans of one question in the words of its catalog release."""

    question: PlanQuestion
    shelf: Shelf
    sale: Sale

    def plan(self, plan: Plan) -> HorsePlan:
        """What to put on each hoof and what to buy."""
        return HorsePlan(
            hooves=tuple(self.hoof(one) for one in plan.worn),
            items=tuple(self._item(one) for one in plan.bought),
            spares=tuple(PlannedSpare(of=self.size(one.boot, one.size), boots=one.boots) for one in plan.spares),
            expected_fitting=plan.expected_fitting,
            band=plan.band,
            price=plan.price,
            unpriced=plan.unpriced,
        )

    def hoof(self, worn: Worn) -> PlannedHoof:
        """One hoof with what it wears."""
        of = self.size(worn.boot, worn.wearable.size)
        chance = worn.wearable.fit_chance
        return PlannedHoof(
            limb=worn.limb, wears=of, fit_chance=chance, cautions=tuple(self._cautions(of, fit_chance=chance))
        )

    def size(self, boot: str, place: int) -> SizeOf:
        """A size by its boot model's id and its place from small to large."""
        model = next(one for one in self.shelf.boots if one.id == boot)
        return SizeOf(boot=model, maker=self.shelf.release.makers[model.maker], size=model.sizes[place])

    def _item(self, bought: Bought) -> PlannedItem:
        on_sale = next(one for one in self.sale.boots if one.boot == bought.boot)
        way = on_sale.offers[bought.size][bought.offer]
        at = self.sale.offered_at[bought.boot, bought.size][bought.offer]
        return PlannedItem(
            of=self.size(bought.boot, bought.size),
            sold_as=SoldAs.PAIR if way.is_pair else SoldAs.SINGLE,
            quantity=bought.quantity,
            price=way.price,
            offer=None if at is None or self.question.is_from_assortment else at,
            sku=None if at is None else self.question.sku(at),
        )

    def _cautions(self, of: SizeOf, *, fit_chance: float) -> Iterator[Caution]:
        if fit_chance < DOUBTFUL:
            facts: dict[str, Fact] = {"size": of.size.code, "fit_chance": fit_chance}
            if is_painful(self.question.horse.needs):
                yield Caution(
                    code="planned-fit-doubtful-ask", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE, facts=facts
                )
            else:
                yield Caution(code="planned-fit-doubtful", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)
        if of.size.width is None:
            yield Caution(code="no-width-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION)
        if of.size.length is None:
            yield Caution(code="no-length-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION)
        if standing_only(of.boot):
            yield Caution(code="standing-only", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE)
        if of.boot.sides is Sides.LEFT_AND_RIGHT:
            yield Caution(code="left-and-right", severity=Severity.NOTE, source=CATALOG)
