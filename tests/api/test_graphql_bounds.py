"""Bounds in GraphQL: for every list that is said to hold so many items at most, as many as there can be."""

import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import timedelta
from importlib.resources import files
from itertools import pairwise
from types import SimpleNamespace
from typing import Any, Final

import httpx
import msgspec
import numpy as np
import pytest
from babel.messages.pofile import read_po
from graphql import GraphQLList, GraphQLObjectType, get_named_type, get_nullable_type
from pydantic import BaseModel
from strawberry.schema.schema_converter import GraphQLCoreConverter
from tests.api.graphql_asking import as_input, ask, field_of_root, whole
from tests.catalog.test_availability import ended
from tests.matching.test_pads import pad
from tests.matching.worlds import TODAY, boot, question, reading, release_of

from hooflast.api.graphql.bounds import BOUND, BY_ITEM, BY_MEMBER, PAGE
from hooflast.api.problems import MOST_ERRORS
from hooflast.api.shaping import plugin_document
from hooflast.catalog.availability import find_present, size_called
from hooflast.catalog.comparing import compare_releases
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.values import BootModel, CatalogRelease, SizeCode
from hooflast.errors import Fault
from hooflast.exchange.cycle_form import CycleForm
from hooflast.exchange.event_kinds import EventKind
from hooflast.exchange.herd_form import HerdForm
from hooflast.exchange.match_form import HoofForm, MatchForm
from hooflast.exchange.outcome_form import OutcomesForm
from hooflast.exchange.pads_form import PadsForm
from hooflast.exchange.trial_set_form import TrialSetForm
from hooflast.fit.boot import Course, Need, ShapeClass
from hooflast.fit.buying import Offer, cheapest
from hooflast.fit.comparing import Finding as Standing
from hooflast.fit.coverage import LEAST_GAP
from hooflast.fit.demand import Counting, demand
from hooflast.fit.evidence import MOST_BINS
from hooflast.fit.findings import LAST_LOOK, Finding
from hooflast.fit.herd import HORSES_PER_KIND, LIMBS_DRAWN
from hooflast.fit.hoof import AnimalType, Limb, Method
from hooflast.fit.learned import Unclear
from hooflast.fit.outcome import Channel, Outcome, Side
from hooflast.fit.trial_set import nothing_given, share_curve
from hooflast.matching import alternatives
from hooflast.matching.answer import LeftOutBecause, SizeFit
from hooflast.matching.needs import Feature, advice
from hooflast.matching.pads import answer_pads
from hooflast.matching.pads_answer import PadsQuestion
from hooflast.matching.plan_trades import frontier
from hooflast.matching.question import NamedNeed, TryFrom
from hooflast.matching.shelf import lay_out
from hooflast.matching.troubleshooting import GUIDES, Trouble
from hooflast.matching.trying import try_order
from hooflast.texts import load_texts

HOOVES: Final = len(Limb)


def most_of(form: type[BaseModel], member: str) -> int:
    """How many items, or up to which number, a form takes."""
    rules = list(_schemas(form.model_json_schema()["properties"][member]))
    found = [rule[limit] for limit in ("maxItems", "maximum") for rule in rules if limit in rule]
    assert found, f"{form.__name__}.{member} takes any number"
    return int(found[0])


def _schemas(schema: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield schema
    for choice in schema.get("anyOf", ()):
        yield from _schemas(choice)


def most_sizes() -> int:
    """How many sizes a file of the catalog may give a boot model."""
    schema = json.loads(files("hooflast.catalog").joinpath("catalog-file.schema.json").read_bytes())
    return int(schema["$defs"]["boot"]["properties"]["sizes"]["maxItems"])


def with_many_pads(count: int) -> CatalogRelease:
    release = release_of(boot("amble", max_pad_mm=12.0))
    sizes: set[str] = {size.code for size in release.boots["amble"].sizes}  # type: ignore[index]
    pads = [pad(f"pad-{n:04}", thickness_mm=4.0 + n / 100, goes_with={"amble": sizes}) for n in range(count)]
    return replace(release, accessories={one.id: one for one in pads})


def accessories_told() -> int:
    return max(len(goes) for goes in lay_out(with_many_pads(250)).accessories.values())


def pads_told() -> int:
    horse = question(hooves=(reading(),), pad_mm=6.0)
    answer = answer_pads(PadsQuestion(horse=horse), lay_out(with_many_pads(220)), today=TODAY, language="en")
    return len(answer.hooves[0].boots[0].catalog_pads)


def sizes_to_try() -> int:
    sizes = [SizeFit(size=size, fit_chance=0.9, verdicts={}, verdict_chances={}) for size in boot("amble").sizes[:3]]
    smaller, best, larger = sizes
    return max(len(try_order(best, smaller=smaller, larger=larger, try_from=way)) for way in TryFrom)


def steps_to_the_present() -> int:
    """A chain of sizes longer than anybody follows, each of which took the place of the one before."""
    codes = [SizeCode(f"size-{number}") for number in range(150)]
    model = boot("amble", sizes=tuple(replace(boot("amble").sizes[0], code=code) for code in codes))
    for code, following in pairwise(codes):
        model = ended(model, code, to=("amble", following))
    return len(find_present(release_of(model), boot=model, size=size_called(model, codes[0]), day=TODAY).steps)


def changed_throughout() -> tuple[int, int]:
    """How many fields are told of a boot model that is another one throughout, and of one of its sizes."""
    before, days = boot("amble"), timedelta(days=1)
    other: dict[str, Any] = {
        name: _another(getattr(before, name)) for name in BootModel.__slots__ if name not in ("id", "sizes")
    }
    size = replace(
        before.sizes[0],
        gtin="4006381333931",
        available_from=TODAY,
        discontinued_on=TODAY + days,
        successor=ended(before, "wren", to=("amble", "finch")).sizes[0].successor,
    )
    after = replace(before, **other, sizes=(size, *before.sizes[1:]))
    (found,) = (one for one in compare_releases(release_of(before), release_of(after)).records if one.id == "amble")
    return len(found.changed), len(found.sizes[0].changed)


def _another(value: Any) -> Any:
    """Something else, whatever it is: records are compared, not read."""
    return f"not {value}"


def items_bought() -> int:
    """Four hooves that wear one size, of which every offer has one boot left."""
    offers = [Offer(is_pair=False, price=price, stock=1) for price in range(9)]
    bought = cheapest(offers, left=2, right=2, is_sided=False)
    assert bought is not None
    return sum(count > 0 for count in bought.counts)


def steps_of_a_frontier() -> int:
    """As many steps as there can be: each gains just what a step must, and rounding leaves room before the last."""
    gained = [0.0]
    while len(gained) < 9:
        gained.append(gained[-1] + 0.8 / 8)
    assert gained[-1] < 0.8
    plans = [SimpleNamespace(price=place, expected_fitting=value, worn=(1,)) for place, value in enumerate(gained)]
    surest = SimpleNamespace(price=99, expected_fitting=0.8, worn=(1,))
    for plan in (*plans, surest):
        plan.worn = (SimpleNamespace(boot="amble"),)
    teller = SimpleNamespace(size=lambda name, _place: SimpleNamespace(boot=name))
    return len(frontier([*plans, surest], teller=teller))  # type: ignore[list-item, arg-type]


def points_of_a_curve() -> int:
    """A herd of which each horse takes a size of its own."""
    horses = 2 * most_of(TrialSetForm, "most")
    asked = demand(
        np.eye(horses),
        horse_of=np.arange(horses),
        horse_weights=np.ones(horses),
        threshold=0.5,
        counting=Counting.HOOVES,
    )
    most = most_of(TrialSetForm, "most")
    return len(share_curve(asked, most=most, given=nothing_given(horses), effort=None))


def features() -> int:
    told = [advice(NamedNeed(need=need, course=course)) for need in Need for course in Course]
    longest = max(len(part) for one in told for part in (one.suits, one.as_directed, one.never))
    assert all(len(set(part)) == len(part) for one in told for part in (one.suits, one.as_directed, one.never))
    assert longest <= len(Feature)
    return len(Feature)


LARGEST: Final[Mapping[str, Callable[[], int]]] = {
    "FeatureDocument": features,
    "LeftOutDocument": lambda: len(LeftOutBecause),
    "NeedAdviceDocument": lambda: most_of(MatchForm, "needs"),
    "TroubleNameDocument": lambda: len(Trouble),
    "NamedNeedDocument": lambda: most_of(MatchForm, "needs"),
    "AxisReadingDocument.values_mm": lambda: most_of(HoofForm, "width"),
    "BootFitDocument.try_order": sizes_to_try,
    "BootFitDocument.accessories": accessories_told,
    "HoofAnswerDocument.boots": lambda: most_of(MatchForm, "boots_per_hoof"),
    "HoofAnswerDocument.alternatives": lambda: alternatives.MOST,
    "MatchAnswerDocument.hooves": lambda: most_of(MatchForm, "hooves"),
    "PadsAnswerDocument.hooves": lambda: most_of(PadsForm, "hooves"),
    "HoofWithPadDocument.boots": lambda: most_of(PadsForm, "boots_per_hoof"),
    "BootWithPadDocument.catalog_pads": pads_told,
    "CycleAnswerDocument.hooves": lambda: most_of(CycleForm, "hooves"),
    "HoofInCycleDocument.sizes": lambda: len(("it", "the next smaller", "the next larger")),
    "HoofInCycleDocument.weeks": lambda: len(range(most_of(CycleForm, "cycle_weeks") + 1)),
    "FittingAnswerDocument.sizes": most_sizes,
    "FittingAnswerDocument.exchanges": lambda: len([one for one in LAST_LOOK if one is not Finding.STAYS_PUT]),
    "HorsePlanDocument.hooves": lambda: HOOVES,
    "HorsePlanDocument.items": items_bought,
    "HorsePlanDocument.spares": lambda: HOOVES,
    "FrontierStepDocument.boots": lambda: HOOVES,
    "OrderPlanDocument.frontier": steps_of_a_frontier,
    "OrderPlanDocument.unserved": lambda: HOOVES,
    "OrderPlanDocument.readings": lambda: HOOVES,
    "TrialSetDocument.sizes": lambda: (
        most_of(TrialSetForm, "must")
        + max(HOOVES * most_of(HerdForm, "horses"), most_of(HerdForm, "kinds") * HORSES_PER_KIND * len(LIMBS_DRAWN))
    ),
    "TrialSetDocument.curve": points_of_a_curve,
    "CurvePointDocument.sizes": lambda: max(most_of(TrialSetForm, "must"), most_of(TrialSetForm, "most")),
    "CoverageDocument.planes": lambda: len(AnimalType) * len(("fore", "hind")),
    "PlaneDocument.regions": lambda: len(ShapeClass) * len(("small", "middling", "large")),
    "PlaneDocument.gaps": lambda: round(1.0 / LEAST_GAP),
    "CalibrationProposalDocument.outcomes": lambda: len(Outcome),
    "CalibrationProposalDocument.boots": lambda: most_of(OutcomesForm, "outcomes"),
    "CalibrationProposalDocument.readings": lambda: len(Method) * len(Channel),
    "CalibrationProposalDocument.keeping": lambda: len(Side),
    "BootOffsetDocument.unclear": lambda: len(Unclear),
    "BootOffsetDocument.sizes": most_sizes,
    "ReliabilityDocument.bins": lambda: MOST_BINS,
    "PresentDocument.steps": steps_to_the_present,
    "RecordChangeDocument.fields": lambda: changed_throughout()[0],
    "SizeChangeDocument.fields": lambda: changed_throughout()[1],
    "TroubleDocument.causes": lambda: max(len(guide.causes) for guide in GUIDES),
    "HookDocument.events": lambda: len(EventKind),
    "HookWithSecretDocument.events": lambda: len(EventKind),
    "JobResultDocument.faults": lambda: MOST_ERRORS,
}
"""How many items there can be, by the names of `bounds`: counted where as many can be made, or as the rooms say."""

BOUNDS: Final = {**BY_ITEM, **BY_MEMBER}
EACH_ONCE: Final = {"CautionDocument", "RemarkDocument"}
"""Sentences by their codes: below there are answers with as many as can be."""


@pytest.mark.parametrize("name", sorted(BOUNDS.keys() - EACH_ONCE))
def test_a_bound_is_the_number_of_items_there_can_be(name: str) -> None:
    assert name in LARGEST, f"say in LARGEST how many items {name} can hold, and why"
    assert BOUNDS[name] == LARGEST[name]()


def test_nothing_is_bounded_that_is_not_there_or_that_says_so_itself() -> None:
    documents = {one.__name__: one for one in _all(msgspec.Struct) if one.__module__.startswith("hooflast.")}
    for name in BY_MEMBER:
        owner, member = name.split(".")
        assert owner in documents, f"{name}: there is no such document"
        hint: Any = msgspec.inspect.type_info(documents[owner])
        (field,) = (one for one in hint.fields if one.name == member)
        lists = [one for one in _parts(field.type) if isinstance(one, msgspec.inspect.ListType)]
        assert lists, f"{name} is no list"
        assert lists[0].max_length is None, f"{name} says itself how many items it holds"
    assert LARGEST.keys() <= BOUNDS.keys()


def _parts(kind: Any) -> Iterator[Any]:
    if isinstance(kind, msgspec.inspect.Metadata):
        yield from _parts(kind.type)
    elif isinstance(kind, msgspec.inspect.UnionType):
        for one in kind.types:
            yield from _parts(one)
    else:
        yield kind


def _all(kind: type[Any]) -> Iterator[type[Any]]:
    for one in kind.__subclasses__():
        yield one
        yield from _all(one)


def test_there_are_fewer_kinds_of_cautions_and_remarks_than_a_list_may_hold() -> None:
    """A list holds each of them once; only what stands out among the hooves is told of each."""
    with files("hooflast.texts").joinpath("locale/en/LC_MESSAGES/hooflast.po").open("rb") as file:
        keys = [str(message.id).split(".") for message in read_po(file) if isinstance(message.id, str)]
    kinds = Counter(family for family, code in {(key[0], key[1]) for key in keys if len(key) > 1})
    of_each_hoof = len(Standing) * HOOVES
    assert 40 < kinds["caution"] + of_each_hoof <= BY_ITEM["CautionDocument"]
    remarks = ("why", "assumption", "trying", "cycle", "wearing", "trade", "missed")
    assert 20 < max(kinds[family] for family in remarks) <= BY_ITEM["RemarkDocument"]


LARGE: Final[dict[str, Any]] = {
    "horse": {"name": "Old Tom", "animal_type": "donkey"},
    "hooves": [
        {
            "limb": limb,
            "width": [width, width + 1] * 5,
            "length": length,
            "states": ["long_toe", "high_heel", "flare", "dirty_sole"],
            "weeks_since_trim": 7,
            "measured_on": "2026-03-01",
        }
        for limb, width, length in (("LF", 100, 128), ("RF", 128, 100), ("LH", 140, 150), ("RH", 119, 91))
    ],
    "uses": ["road"],
    "needs": [{"need": "thin_sole", "course": "chronic"}, {"need": "out_of_shoes", "course": "chronic"}],
    "boots_per_hoof": 20,
    "cycle_weeks": 16,
}


def held(value: Any, kind: Any, *, place: str = "") -> Iterator[tuple[str, int, int]]:
    """Every list of an answer: where it stands, how many items it holds and may hold."""
    kind = get_nullable_type(kind)
    if value is None or not isinstance(kind, GraphQLObjectType):
        return
    for name, inner in value.items():
        field = kind.fields[name]
        here = f"{place}.{name}"
        if isinstance(inner, list):
            metadata = field.extensions[GraphQLCoreConverter.DEFINITION_BACKREF].metadata
            if PAGE not in metadata:
                yield here, len(inner), metadata[BOUND]
            item = get_nullable_type(field.type)
            assert isinstance(item, GraphQLList)
            for one in inner:
                yield from held(one, item.of_type, place=here)
        else:
            yield from held(inner, field.type, place=here)


@pytest.mark.anyio
@pytest.mark.parametrize(
    ("root", "field", "more"),
    [
        ("Mutation", "createMatch", {}),
        ("Query", "pads", {"pad": 6}),
        ("Query", "trimCycle", {"weeks_since_trim": 1}),
        ("Query", "orderPlan", {"offers": []}),
    ],
)
async def test_no_list_of_a_large_answer_holds_more_than_is_said(
    client: httpx.AsyncClient, root: str, field: str, more: dict[str, Any]
) -> None:
    declared = field_of_root(root, field)
    takes = declared.args["input"].type
    known = set(get_named_type(takes).fields)
    form = {name: value for name, value in as_input({**LARGE, **more}, takes).items() if name in known}
    kind = "mutation" if root == "Mutation" else "query"
    document_ = f"{kind}($input: {takes}) {{ {field}(input: $input) {whole(get_named_type(declared.type))} }}"
    answer = await ask(client, document_, variables={"input": form})
    assert answer.status_code == 200, answer.text
    found = list(held(answer.json()["data"][field], declared.type, place=field))
    assert [(place, length, most) for place, length, most in found if length > most] == []
    assert max(length for _, length, _ in found) >= HOOVES


def test_of_a_plugin_with_much_to_tell_the_last_editions_and_the_first_faults_are_told() -> None:
    days = tuple(TODAY + timedelta(days=number) for number in range(1_200))
    faults = tuple(Fault(path=("chart.json", number), code="made-up", received=None) for number in range(1_200))
    report = PluginReport(plugin="demo", version="1", editions=days, refused=days, faults=faults)
    told = plugin_document(report, texts=load_texts("en"))
    assert told.editions == told.refused == list(days[200:])
    assert [fault.place for fault in told.faults] == [f"chart.json#/{number}" for number in range(1_000)]
