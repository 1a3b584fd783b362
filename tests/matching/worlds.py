"""A small invented catalog and questions to ask of it."""

from dataclasses import replace
from datetime import date

from hypothesis import strategies as st

from hooflast.catalog.assortment import Assortment, AssortmentHead, AssortmentId
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import (
    BootId,
    BootModel,
    CatalogRelease,
    LimbSet,
    Maker,
    MakerId,
    Provenance,
    Range,
    ReleaseId,
    Size,
    SizeCode,
    SoldAs,
)
from hooflast.errors import Fault, InputRefused, NotFound
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, HoofState, Limb, Method, Observer
from hooflast.matching.answering import Desk
from hooflast.matching.memo import Memo
from hooflast.matching.question import MatchQuestion, NamedNeed
from hooflast.matching.shelf import Shelf, lay_out
from hooflast.matching.shop_shelves import ShopShelves
from hooflast.store.values import KeptAnswer, TenantId

TODAY = date(2026, 5, 1)
HERE = Provenance(plugin="test", source="worlds.py", retrieved_on=date(2026, 1, 1), sha256="0" * 64)
EVERY_ANIMAL = frozenset(AnimalType)
RIDING = frozenset({IntendedUse.HACKING, IntendedUse.ROAD, IntendedUse.DISTANCE})


def boot(name: str, **changes: object) -> BootModel:
    """Eight sizes from 95 mm, 8 mm apart, as wide as long, unless `changes` says otherwise."""
    steps = [(95.0 + 8 * step, 102.0 + 8 * step) for step in range(8)]
    birds = ("wren", "finch", "lark", "thrush", "dove", "rook", "heron", "crane")
    fields: dict[str, object] = {
        "id": BootId(name),
        "maker": MakerId("haskeby"),
        "name": name.title(),
        "closure": Closure.STRAP,
        "shape": ShapeClass.ROUND,
        "limbs": LimbSet.ALL,
        "animal_types": EVERY_ANIMAL,
        "intended_uses": RIDING,
        "sizes": tuple(
            Size(code=SizeCode(bird), width=Range(low_mm=low, high_mm=high), length=Range(low_mm=low, high_mm=high))
            for bird, (low, high) in zip(birds, steps, strict=True)
        ),
        "chart_step_mm": 1.0,
        "sold_as": SoldAs.SINGLE,
        "provenance": HERE,
    }
    return BootModel(**(fields | changes))  # type: ignore[arg-type]


def without_axis(model: BootModel, axis: str) -> tuple[Size, ...]:
    return tuple(
        Size(
            code=size.code,
            width=None if axis == "width" else size.width,
            length=None if axis == "length" else size.length,
        )
        for size in model.sizes
    )


def moved(model: BootModel, *, by_mm: float) -> BootModel:
    """The same boot model with every range of its chart moved."""
    return replace(
        model,
        sizes=tuple(
            replace(
                size,
                **{
                    axis: replace(chart, low_mm=chart.low_mm + by_mm, high_mm=chart.high_mm + by_mm)
                    for axis in ("width", "length")
                    if (chart := getattr(size, axis)) is not None
                },
            )
            for size in model.sizes
        ),
    )


BOOTS = (
    boot("amble", max_pad_mm=6.0),
    boot("brook", closure=Closure.PULL_ON),
    boot("clover", limbs=LimbSet.FORE, animal_types=frozenset({AnimalType.HORSE})),
    boot("dell", limbs=LimbSet.HIND, closure=Closure.CABLE),
    boot("elder", intended_uses=frozenset({IntendedUse.SOAKING}), suits_needs=frozenset({Need.ABSCESS})),
    boot("fallow", intended_uses=frozenset({IntendedUse.CONFINED}), suits_needs=frozenset({Need.FOUNDER})),
    boot("gorse", discontinued_on=date(2026, 1, 1), successor=BootId("amble")),
    boot("heath", sizes=without_axis(boot("x"), "length")),
    boot("ivy", sizes=without_axis(boot("x"), "width"), suits_needs=frozenset({Need.ABSCESS, Need.THIN_SOLE})),
)


def release_of(*boots: BootModel) -> CatalogRelease:
    haskeby = Maker(id=MakerId("haskeby"), name="Haskeby", provenance=HERE)
    records = Records(makers={haskeby.id: haskeby}, boots={model.id: model for model in boots}, accessories={})
    return compose_release(records, released_on=date(2026, 1, 1), note="")


def shelf_of(*boots: BootModel) -> Shelf:
    return lay_out(release_of(*boots))


SHELF = shelf_of(*BOOTS)


class Kept(list[KeptAnswer]):
    """Keeps answers in memory."""

    async def keep(self, answer: KeptAnswer, /) -> None:
        self.append(answer)


class OneShelf:
    """The small catalog, which is all there is."""

    active = SHELF

    def before(self, release_id: ReleaseId, /) -> None:
        return None

    def from_thread(self, release_id: str | None, /) -> Shelf:
        if release_id not in (None, SHELF.release.id):
            fault = Fault(path=("catalog_release",), code="catalog-release-unknown", received=release_id)
            raise InputRefused(faults=(fault,))
        return SHELF

    async def asked_for(self, release_id: str | None, /) -> Shelf:
        return self.from_thread(release_id)


class NoAssortments:
    """Nobody sells anything."""

    async def head(self, assortment_id: AssortmentId, *, tenant: TenantId) -> AssortmentHead:
        raise NotFound(resource="assortment", name=assortment_id)

    async def find(self, assortment_id: AssortmentId, *, tenant: TenantId) -> Assortment:
        raise NotFound(resource="assortment", name=assortment_id)


def desk(keeper: Kept, *, memo: Memo | None = None) -> Desk:
    """A desk with the small catalog, and without a memo unless one is handed in."""
    return Desk(
        catalog=OneShelf(),
        memo=memo or Memo(0),
        keeper=keeper,
        shops=ShopShelves(NoAssortments()),
    )


def reading(limb: Limb = Limb.LF, *, width: float = 124.0, length: float = 126.0, **changes: object) -> HoofReading:
    fields: dict[str, object] = {
        "limb": limb,
        "width": AxisReading(values_mm=(width,)),
        "length": AxisReading(values_mm=(length,)),
        "method": Method.TAPE,
        "observer": Observer.PROFESSIONAL,
        "weeks_since_trim": 0.0,
    }
    return HoofReading(**(fields | changes))  # type: ignore[arg-type]


def question(*hooves: HoofReading, **changes: object) -> MatchQuestion:
    fields: dict[str, object] = {
        "horse_name": "Bramble",
        "animal_type": AnimalType.HORSE,
        "hooves": hooves or (reading(),),
        "boots_per_hoof": 20,
    }
    return MatchQuestion(**(fields | changes))  # type: ignore[arg-type]


readings = st.builds(
    reading,
    st.sampled_from(Limb),
    width=st.floats(90.0, 170.0),
    length=st.floats(90.0, 170.0),
    method=st.sampled_from(Method),
    observer=st.sampled_from(Observer),
    states=st.frozensets(st.sampled_from(HoofState)),
    age_weeks=st.floats(0.0, 60.0),
    weeks_since_trim=st.none() | st.floats(0.0, 20.0),
)

questions = st.builds(
    lambda hooves, **changes: question(*hooves, **changes),
    st.lists(readings, min_size=1, max_size=4, unique_by=lambda hoof: hoof.limb),
    animal_type=st.sampled_from(AnimalType),
    is_foal=st.booleans(),
    uses=st.frozensets(st.sampled_from(IntendedUse), max_size=2),
    needs=st.lists(st.builds(NamedNeed, need=st.sampled_from(Need)), max_size=2).map(tuple),
    closures=st.lists(st.sampled_from(Closure), max_size=2, unique=True).map(tuple),
    pad_mm=st.sampled_from([0.0, 4.0, 9.0]),
)
