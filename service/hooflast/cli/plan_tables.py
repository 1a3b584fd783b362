"""Plan tables: a plan for a whole horse, for a terminal."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.cli.tables import print_caution, print_footing, print_need
from hooflast.errors import Fact
from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Caution, Severity
from hooflast.matching.plan_answer import FrontierStep, HorsePlan, PlanAnswer, RunnerUp, SizeOf, Unserved
from hooflast.texts import Texts


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPrinter:
    """Prints one plan for a terminal."""

    texts: Texts
    console: Console
    currency: str | None

    def print(self, answer: PlanAnswer) -> None:
        """What must stop it first, then what to wear and to buy, what else there is, and what the plan rests on."""
        stops = [caution for caution in answer.cautions if caution.severity is Severity.STOP]
        self._cautions(stops)
        for need in answer.needs:
            print_need(need, self.texts, console=self.console)
        if answer.plan is not None:
            self._plan(answer.plan)
        self._besides(answer)
        self._cautions(caution for caution in answer.cautions if caution not in stops)
        for reading, found in answer.readings:
            self._cautions(found, of=reading.limb)
        print_footing(answer.assumptions, answer.versions, texts=self.texts, console=self.console)

    def _besides(self, answer: PlanAnswer) -> None:
        """What the plan does not serve, what stood in its way, and what else could be bought."""
        for one in answer.unserved:
            self._unserved(one)
        for said in answer.missed:
            self._say(f"missed.{said.code}", said.facts)
        if answer.runner_up is not None:
            self._runner_up(answer.runner_up)
        if len(answer.frontier) > 1:
            self._frontier(answer.frontier)

    def _cautions(self, said: Iterable[Caution], *, of: Limb | None = None) -> None:
        for caution in said:
            if of is not None:
                self.console.print(Text(f"{self.texts.say(f'limb.{of.value}')}: "), end="")
            print_caution(caution, self.texts, console=self.console)

    def _plan(self, plan: HorsePlan) -> None:
        self.console.print(self._table("hoof", "boot", "size", "fit", rows=self._worn(plan), title="cli.plan.wear"))
        self.console.print(
            self._table("quantity", "boot", "size", "sold-as", "price", rows=self._bought(plan), title="cli.plan.buy")
        )
        self._say("cli.plan.fitting", {"fitting": round(plan.expected_fitting, 2), "count": len(plan.hooves)})
        if self.currency is not None:
            self._say("cli.plan.total", {"total_money": f"{self.currency} {plan.price}"})
        if plan.unpriced:
            self._say("cli.plan.unpriced", {"count": plan.unpriced})
        for spare in plan.spares:
            facts: dict[str, Fact] = {"count": spare.boots, "boot": _name(spare.of), "size": spare.of.size.code}
            self._say("cli.plan.spare", facts)
        for hoof in plan.hooves:
            self._cautions(hoof.cautions, of=hoof.limb)

    def _worn(self, plan: HorsePlan) -> Iterator[tuple[str, ...]]:
        for hoof in plan.hooves:
            limb = self.texts.say(f"limb.{hoof.limb.value}")
            yield limb, _name(hoof.wears), hoof.wears.size.code, self.texts.chance(hoof.fit_chance)

    def _bought(self, plan: HorsePlan) -> Iterator[tuple[str, ...]]:
        for item in plan.items:
            sold_as = self.texts.say(f"sold_as.{item.sold_as.value}")
            yield str(item.quantity), _name(item.of), item.of.size.code, sold_as, self._money(item.price)

    def _money(self, minor: int | None) -> str:
        return "–" if minor is None or self.currency is None else self.texts.money(minor, currency=self.currency)

    def _fitting(self, expected: float) -> str:
        return self.texts.say("cli.plan.hooves", {"fitting": round(expected, 2)})

    def _unserved(self, one: Unserved) -> None:
        limb = self.texts.say(f"limb.{one.limb.value}")
        said = self.texts.say(f"unserved.{one.because.code}", one.because.facts)
        self.console.print(Text(f"{limb}: {said}", style="yellow"))
        if one.next_best is not None:
            wears = one.next_best.wears
            chance = one.next_best.fit_chance
            self._say("cli.plan.next-best", {"boot": _name(wears), "size": wears.size.code, "fit_chance": chance})

    def _runner_up(self, runner_up: RunnerUp) -> None:
        worn = [
            f"{self.texts.say(f'limb.{hoof.limb.value}')} {_name(hoof.wears)} {hoof.wears.size.code}"
            for hoof in runner_up.plan.hooves
        ]
        said = [self.texts.say(f"trade.{one.code}", one.facts) for one in runner_up.trade]
        self._say("cli.plan.runner-up", {"worn_list": ",".join(worn)})
        self.console.print(Text("  " + " ".join(said)))

    def _frontier(self, steps: tuple[FrontierStep, ...]) -> None:
        rows = (
            (self._money(step.price), self._fitting(step.expected_fitting), ", ".join(boot.name for boot in step.boots))
            for step in steps
        )
        self.console.print(self._table("price", "fitting", "boot", rows=rows, title="cli.plan.frontier"))

    def _table(self, *columns: str, rows: Iterator[tuple[str, ...]], title: str) -> Table:
        table = Table(title=Text(self.texts.say(title)), title_justify="left", title_style="bold")
        for column in columns:
            table.add_column(self.texts.say(f"cli.column.{column}"), overflow="fold")
        for row in rows:
            table.add_row(*map(Text, row))
        return table

    def _say(self, key: str, facts: Mapping[str, Fact]) -> None:
        self.console.print(Text(self.texts.say(key, facts)))


def _name(of: SizeOf) -> str:
    return f"{of.maker.name} {of.boot.name}"
