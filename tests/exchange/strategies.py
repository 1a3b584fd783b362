"""Strategies: requests as people write them, what else may come instead, and answers of any kind."""

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from hooflast.catalog.values import (
    Accessory,
    AccessoryId,
    AccessoryKind,
    BootId,
    BootModel,
    LimbSet,
    Maker,
    MakerId,
    Provenance,
    Range,
    ReleaseId,
    Sides,
    Size,
    SizeCode,
    SoldAs,
)
from hooflast.errors import Fact
from hooflast.fit.boot import Closure, Course, IntendedUse, Need, ShapeClass
from hooflast.fit.girth import Build, GirthWidth
from hooflast.fit.hoof import AnimalType, Axis, AxisReading, HoofReading, HoofState, Limb, Method, Observer
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.fit.shape import Shape
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import (
    AccessoryFit,
    Alternative,
    BootFit,
    Estimated,
    HoofAnswer,
    LeftOutBecause,
    MatchAnswer,
    Padded,
    SizeFit,
    Versions,
)
from hooflast.matching.needs import advice
from hooflast.matching.question import MatchQuestion, NamedNeed, TryFrom
from hooflast.matching.troubleshooting import Trouble
from hooflast.matching.wearing import wearing
from hooflast.units import Unit

TODAY = date(2026, 3, 20)
Document = dict[str, Any]

anything = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["LF", "mm", "124", "12.4 cm", "4 7/8 in", "1,240", "road", "2026-03-01", "9999-12-31"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["limb", "width", "length", "need", "unit", "name"]) | st.text(max_size=5), inner
        )
    ),
    max_leaves=6,
)


def some_of(words: type[Any]) -> st.SearchStrategy[list[str]]:
    return st.lists(st.sampled_from([word.value for word in words]), unique=True, max_size=4)


def one_of(words: type[Any]) -> st.SearchStrategy[str]:
    return st.sampled_from([word.value for word in words])


@st.composite
def lengths(draw: st.DrawFn, *, around_mm: int, unit: str) -> object:
    """A length near `around_mm`, as a number in `unit` or as text with any unit."""
    mm = around_mm + draw(st.integers(-8, 8))
    eighths = round(mm / 25.4 * 8)
    whole, rest = divmod(eighths, 8)
    number = {"mm": mm, "cm": mm / 10, "in": eighths / 8}[unit]
    texts = [f"{mm} mm", f"{mm / 10:.1f} cm", f"{mm // 10},{mm % 10} cm", f"{whole} {rest}/8 in", f"{mm}.0mm"]
    return draw(st.sampled_from([number, str(number).rstrip("0").rstrip(".") if unit == "in" else number, *texts]))


@st.composite
def hooves(draw: st.DrawFn, *, limb: str, unit: str) -> Document:
    around = draw(st.integers(60, 230))
    width, length = (
        st.lists(lengths(around_mm=around, unit=unit), min_size=1, max_size=3) | lengths(around_mm=around, unit=unit)
        for _ in range(2)
    )
    hoof = {"limb": limb, "width": draw(width), "length": draw(length)}
    optional: dict[str, st.SearchStrategy[Any]] = {
        "resolution": st.sampled_from(["1 mm", "1/8 in", "0.5cm"]) | st.none(),
        "states": some_of(HoofState),
        "method": one_of(Method) | st.none(),
        "observer": one_of(Observer) | st.none(),
        "measured_on": days | st.none(),
        "weeks_since_trim": st.integers(0, 4 * 104).map(lambda quarters: quarters / 4) | st.none(),
    }
    return hoof | draw(st.fixed_dictionaries({}, optional=optional))


days = st.integers(-1, 3_000).map(lambda ago: (TODAY - timedelta(days=ago)).isoformat())
names = st.text(st.characters(exclude_categories=["C"]), max_size=80)


@st.composite
def match_documents(draw: st.DrawFn) -> Document:
    """The request of a match, right in every place."""
    unit = draw(st.sampled_from(["mm", "cm", "in"]))
    limbs = draw(st.lists(one_of(Limb), min_size=1, max_size=4, unique=True))
    horse: dict[str, st.SearchStrategy[Any]] = {
        "name": names,
        "animal_type": one_of(AnimalType),
        "is_foal": st.booleans(),
        "girth": st.sampled_from(["180 cm", "71 in", "1800 mm"]) | st.none(),
        "build": one_of(Build) | st.none(),
    }
    need = st.fixed_dictionaries({"need": one_of(Need)}, optional={"course": one_of(Course)})
    optional: dict[str, st.SearchStrategy[Any]] = {
        "horse": st.fixed_dictionaries({}, optional=horse),
        "method": one_of(Method) | st.none(),
        "observer": one_of(Observer) | st.none(),
        "measured_on": days | st.none(),
        "weeks_since_trim": st.integers(0, 104) | st.none(),
        "uses": some_of(IntendedUse),
        "needs": st.lists(need, max_size=3, unique_by=lambda named: named["need"]),
        "closures": some_of(Closure),
        "pad": st.sampled_from(["6 mm", "1/4 in", "0", "0.5 cm"]) | st.none(),
        "try_from": one_of(TryFrom),
        "boots_per_hoof": st.integers(1, 20) | st.sampled_from([1.0, 20.0]),
        "catalog_release": st.just("sha256-" + "0" * 64) | st.none(),
    }
    document: Document = {"hooves": [draw(hooves(limb=limb, unit=unit)) for limb in limbs]}
    document |= draw(st.fixed_dictionaries({}, optional=optional))
    if unit != "mm" or draw(st.booleans()):
        document["unit"] = unit
    return document


def places_in(document: object, so_far: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """The path of every value in a document."""
    found = [so_far]
    if isinstance(document, dict):
        for key, value in document.items():
            found += places_in(value, (*so_far, key))
    elif isinstance(document, list):
        for index, value in enumerate(document):
            found += places_in(value, (*so_far, index))
    return found


def with_value_at(document: Any, path: tuple[str | int, ...], value: object) -> Any:
    """A copy of the document with another value at `path`."""
    if not path:
        return value
    step, *rest = path
    copy: Any = list(document) if isinstance(document, list) else dict(document)
    copy[step] = with_value_at(document[step], tuple(rest), value)
    return copy


@st.composite
def spoiled_documents(draw: st.DrawFn) -> object:
    """A request in which one or two values are replaced, or members added."""
    document: object = draw(match_documents())
    for _ in range(draw(st.integers(1, 2))):
        path = draw(st.sampled_from(places_in(document)))
        document = with_value_at(document, path, draw(anything))
    return document


chances = st.floats(-1e-12, 1 + 1e-12)
millimetres = st.floats(40, 250)
CAUTIONS: list[tuple[str, dict[str, Fact]]] = [
    ("reading-old", {"age_weeks": 3.0}),
    ("fit-doubtful", {"size": "wren", "fit_chance": 0.25}),
    ("width-unusual", {"reading_mm": 200.0, "low_mm": 80.0, "high_mm": 180.0}),
    ("first-wear", {}),
]
WHY: list[tuple[str, dict[str, Fact]]] = [
    ("ties-for-closest", {}),
    ("takes-the-pad", {"pad_mm": 6.0, "most_mm": 9.0}),
]

cautions = st.lists(
    st.builds(
        lambda said, severity: Caution(code=said[0], facts=said[1], severity=severity, source="common practice"),
        st.sampled_from(CAUTIONS),
        st.sampled_from(Severity),
    ),
    max_size=3,
).map(tuple)
reasons = st.lists(st.sampled_from(WHY).map(lambda said: Remark(code=said[0], facts=said[1])), max_size=2).map(tuple)
ranges = st.none() | st.builds(lambda low, step: Range(low_mm=low, high_mm=low + step), millimetres, st.floats(0, 20))
sizes = st.builds(Size, code=st.sampled_from(["wren", "lark", "rook"]).map(SizeCode), width=ranges, length=ranges)
verdict_chances = st.permutations([-1e-12, 0.0, 0.1234, 0.3766, 0.5]).map(
    lambda drawn: dict(zip(Verdict, drawn, strict=True))
)


@st.composite
def size_fits(draw: st.DrawFn) -> SizeFit:
    size = draw(sizes)
    axes = [axis for axis, printed in ((Axis.WIDTH, size.width), (Axis.LENGTH, size.length)) if printed]
    return SizeFit(
        size=size,
        fit_chance=draw(chances),
        verdicts={axis: draw(st.sampled_from(Verdict)) for axis in axes},
        verdict_chances={axis: draw(verdict_chances) for axis in axes},
    )


HERE = Provenance(plugin="test", source="strategies.py", retrieved_on=TODAY, sha256="0" * 64)
MAKER = Maker(id=MakerId("ombrick"), name="Ombrick", provenance=HERE)
boots = st.builds(
    BootModel,
    id=st.sampled_from(["ombrick-sedge", "ombrick-teasel"]).map(BootId),
    maker=st.just(MAKER.id),
    name=st.sampled_from(["Sedge", "Teasel"]),
    closure=st.sampled_from(Closure),
    shape=st.sampled_from(ShapeClass),
    limbs=st.sampled_from(LimbSet),
    animal_types=st.just(frozenset(AnimalType)),
    intended_uses=st.just(frozenset({IntendedUse.ROAD})),
    sizes=st.just(()),
    chart_step_mm=st.just(1.0),
    sold_as=st.sampled_from(SoldAs),
    provenance=st.just(HERE),
    sides=st.sampled_from(Sides),
)


@st.composite
def boot_fits(draw: st.DrawFn, *, place: int) -> BootFit:
    code = st.none() | st.sampled_from(["wren", "lark", "rook"]).map(SizeCode)
    return BootFit(
        boot=draw(boots),
        maker=MAKER,
        place=place,
        band=draw(st.integers(0, 3)),
        closeness=draw(chances),
        chance_some_size_fits=draw(chances),
        best=draw(size_fits()),
        smaller=draw(st.none() | size_fits()),
        larger=draw(st.none() | size_fits()),
        size_by_width=draw(code),
        size_by_length=draw(code),
        steps_apart=draw(st.none() | st.integers(-5, 5)),
        try_order=tuple(draw(st.lists(st.sampled_from(["wren", "lark"]).map(SizeCode), max_size=2))),
        watch_for=tuple(draw(st.lists(st.sampled_from(Trouble), max_size=2, unique=True))),
        accessories=tuple(draw(st.lists(accessories, max_size=1))),
        why=draw(reasons),
        cautions=draw(cautions),
    )


accessories = st.builds(
    AccessoryFit,
    accessory=st.builds(
        Accessory,
        id=st.just(AccessoryId("ombrick-sedge-pad")),
        maker=st.just(MAKER.id),
        name=st.just("Sedge pad"),
        kind=st.sampled_from(AccessoryKind),
        sizes=st.just(()),
        sold_as=st.sampled_from(SoldAs),
        provenance=st.just(HERE),
    ),
    size=st.just(SizeCode("lark")),
)
alternatives = st.builds(
    Alternative,
    fit=boot_fits(place=1),
    gains=st.just((Remark(code="fits-more-surely", facts={"fit_chance": 0.5}),)),
    losses=st.just((Remark(code="not-made-for", facts={"use_list": "road,mud"}),)),
)


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    narrow = draw(st.floats(0, 1))
    wide = draw(st.floats(0, 1)) * (1 - narrow)
    of_class = {ShapeClass.NARROW: narrow, ShapeClass.ROUND: 1 - narrow - wide, ShapeClass.WIDE: wide}
    return Shape(ratio=draw(st.floats(0.5, 1.7)), chances=of_class)


needs = st.builds(NamedNeed, need=st.sampled_from(Need), course=st.sampled_from(Course))
girth_widths = st.builds(GirthWidth, mean_mm=millimetres, sd_mm=st.floats(1, 20))
axis_readings = st.builds(
    AxisReading,
    values_mm=st.lists(millimetres, min_size=1, max_size=3).map(tuple),
    resolution_mm=st.sampled_from([1.0, 3.175]),
)
estimates = st.builds(Estimated, mean_mm=millimetres, standard_uncertainty_mm=st.floats(0.1, 9))


@st.composite
def hoof_answers(draw: st.DrawFn, *, limb: Limb) -> HoofAnswer:
    reading = HoofReading(
        limb=limb,
        width=draw(axis_readings),
        length=draw(axis_readings),
        method=draw(st.sampled_from(Method)),
        states=frozenset(draw(st.sets(st.sampled_from(HoofState), max_size=3))),
        age_weeks=draw(st.floats(0, 500)),
        weeks_since_trim=draw(st.none() | st.floats(0, 104)),
        allowance_mm=draw(st.sampled_from([0.0, 5.0])),
    )
    return HoofAnswer(
        reading=reading,
        width=draw(estimates),
        length=draw(estimates),
        correlation=draw(st.floats(-1, 1)),
        shape=draw(shapes()),
        boots=tuple(draw(boot_fits(place=place)) for place in range(1, draw(st.integers(0, 1)) + 1)),
        alternatives=tuple(draw(st.lists(alternatives, max_size=1))),
        turns=draw(st.sampled_from([(), (Remark(code="more-width", facts={"change_mm": 2.0, "size": "lark"}),)])),
        cautions=draw(cautions),
        in_boot=draw(st.none() | st.builds(Padded, width=estimates, length=estimates)),
    )


@st.composite
def answers(draw: st.DrawFn) -> MatchAnswer:
    limbs = draw(st.lists(st.sampled_from(Limb), min_size=1, max_size=2, unique=True))
    hooves = tuple(draw(hoof_answers(limb=limb)) for limb in limbs)
    question = MatchQuestion(
        horse_name=draw(names),
        animal_type=draw(st.sampled_from(AnimalType)),
        hooves=tuple(hoof.reading for hoof in hooves),
        uses=frozenset(draw(st.sets(st.sampled_from(IntendedUse), max_size=3))),
        needs=tuple(draw(st.lists(needs, max_size=1))),
        pad_mm=draw(st.sampled_from([0.0, 6.35])),
        unit=draw(st.sampled_from(Unit)),
    )
    return MatchAnswer(
        question=question,
        hooves=hooves,
        cautions=draw(cautions),
        needs=tuple(advice(named) for named in question.needs),
        wearing=wearing(question),
        width_from_girth=draw(st.none() | girth_widths),
        assumptions=(Remark(code="any-use"),),
        left_out=draw(st.dictionaries(st.sampled_from(LeftOutBecause), st.integers(0, 40))),
        versions=Versions(
            catalog_release=ReleaseId("sha256-" + "0" * 64),
            catalog_edition="2025-03-01",
            engine="0.1.0",
            calibration="none",
            assortment=None,
            assortment_as_of=None,
            language="en",
        ),
    )
