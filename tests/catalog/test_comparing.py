"""Comparing: nothing is told where nothing changed, and one change is told once, from either side."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests import demo

from hooflast.catalog.comparing import (
    Change,
    Edge,
    EdgeMove,
    FieldChange,
    RecordChange,
    RecordKind,
    ReleaseChanges,
    SizeChange,
    compare_releases,
)
from hooflast.catalog.reading import read_files
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import (
    BootId,
    BootModel,
    CatalogRelease,
    LimbSet,
    Range,
    Sides,
    Size,
    SizeCode,
    SizeSuccessor,
    SoldAs,
)
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType, Axis

from .strategies import Records, as_file, bounded, in_one_file, layouts, records

DAY = date(2025, 3, 1)


def release_of(files: list[Any], *, day: date = DAY, plugin: str = "demo") -> CatalogRelease:
    return compose_release(read_files(files, plugin=plugin), released_on=day, note="")


def with_boot(release: CatalogRelease, boot: BootModel) -> CatalogRelease:
    return replace(release, boots={**release.boots, boot.id: boot})


def mirrored(changes: ReleaseChanges) -> set[RecordChange]:
    """The same changes as they are told the other way round; names, orders and the order of sizes apart."""
    other = {Change.ADDED: Change.REMOVED, Change.REMOVED: Change.ADDED, Change.CHANGED: Change.CHANGED}
    return {
        replace(
            one,
            change=other[one.change],
            changed=tuple(replace(field, before=field.after, after=field.before) for field in one.changed),
            sizes=tuple(
                replace(
                    size,
                    change=other[size.change],
                    edges=tuple(replace(edge, before_mm=edge.after_mm, after_mm=edge.before_mm) for edge in size.edges),
                    changed=tuple(replace(field, before=field.after, after=field.before) for field in size.changed),
                )
                for size in one.sizes
            ),
        )
        for one in changes.records
    }


def without_names(changes: set[RecordChange]) -> set[tuple[object, ...]]:
    return {(one.kind, one.id, one.change, one.changed, frozenset(one.sizes)) for one in changes}


@bounded
@given(records().flatmap(lambda one: st.tuples(st.just(one), layouts(one))))
def test_the_same_records_are_never_told_however_and_whenever_they_came(spread: tuple[Records, list[Any]]) -> None:
    edition, files = spread
    before = release_of(in_one_file(edition))
    after = release_of(files, day=date(2026, 1, 1), plugin="other")
    assert compare_releases(before, after).records == ()


@bounded
@given(records(), records())
def test_the_other_way_round_the_same_is_told_from_the_other_side(one: Records, other: Records) -> None:
    old, new = release_of(in_one_file(one)), release_of(in_one_file(other))
    there, back = compare_releases(old, new), compare_releases(new, old)
    assert without_names(mirrored(there)) == without_names(set(back.records))
    assert {one.id for one in there.records if one.order} == {one.id for one in back.records if one.order}


@bounded
@given(records(), records())
def test_every_record_is_told_once_or_is_the_same(one: Records, other: Records) -> None:
    old, new = release_of(in_one_file(one)), release_of(in_one_file(other))
    changes = compare_releases(old, new)
    told = [(change.kind, change.id) for change in changes.records]
    assert len(set(told)) == len(told)
    assert told == sorted(told, key=lambda place: (list(RecordKind).index(place[0]), place[1]))
    for boot_id in {*old.boots, *new.boots}:
        is_told = (RecordKind.BOOT, boot_id) in told
        before, after = old.boots.get(boot_id), new.boots.get(boot_id)
        same = before is not None and after is not None and replace(before, provenance=after.provenance) == after
        assert is_told is not same
    counted = sum(changes.count(kind, change=change) for kind in RecordKind for change in Change)
    assert counted == len(told)


@bounded
@given(records())
def test_against_nothing_everything_was_added(edition: Records) -> None:
    new = release_of(in_one_file(edition))
    changes = compare_releases(None, new)
    assert changes.old is None
    assert {one.change for one in changes.records} == {Change.ADDED}
    assert len(changes.records) == len(new.makers) + len(new.boots) + len(new.accessories)


BOOT = {
    "id": "vellory-marlowick", "maker": "vellory", "name": "Marlowick", "closure": "strap", "shape": "round",
    "limbs": "fore", "animal_types": ["horse"], "intended_uses": ["hacking"], "sold_as": "pair",
    "chart_unit": "mm", "chart_step": 1,
    "sizes": [
        {"code": "sorrel", "width": [118, 122], "length": [120, 124]},
        {"code": "tansy", "width": [123, 127]},
        {"code": "teasel", "width": [128, 132]},
    ],
}  # fmt: skip
GAITER = {
    "id": "vellory-cuff", "maker": "vellory", "name": "Cuff", "kind": "gaiter", "sold_as": "pair",
    "sizes": [{"code": "leaf", "goes_with": {"vellory-marlowick": ["sorrel", "tansy"]}}],
}  # fmt: skip
MAKERS = [{"id": "vellory", "name": "Vellory"}]
PLAIN = release_of(
    [as_file({"format": "hooflast-catalog-1", "makers": MAKERS, "boots": [BOOT], "accessories": [GAITER]})]
)
MARLOWICK = PLAIN.boots[BootId("vellory-marlowick")]
OTHER_VALUES: dict[str, object] = {
    "maker": "ombrick",
    "closure": Closure.LACE,
    "shape": ShapeClass.WIDE,
    "limbs": LimbSet.ALL,
    "animal_types": frozenset({AnimalType.PONY, AnimalType.HORSE}),
    "intended_uses": frozenset({IntendedUse.ROAD}),
    "chart_step_mm": 2.0,
    "sold_as": SoldAs.SINGLE,
    "max_pad_mm": 6.0,
    "suits_needs": frozenset({Need.FOUNDER}),
    "discontinued_on": date(2025, 5, 1),
    "successor": "vellory-pelverne",
    "note": "New.",
    "sides": Sides.LEFT_AND_RIGHT,
    "fit_indicator": "The flap lies flat.",
    "available_from": date(2025, 4, 1),
}


@pytest.mark.parametrize("name", [name for name in BootModel.__dataclass_fields__ if name in OTHER_VALUES])
def test_each_field_of_a_boot_model_is_told_by_its_name_with_both_values(name: str) -> None:
    new = with_boot(PLAIN, replace(MARLOWICK, **{name: OTHER_VALUES[name]}))  # type: ignore[arg-type]
    (told,) = compare_releases(PLAIN, new).records
    (field,) = told.changed
    assert (told.id, told.change, told.sizes, told.former_name) == (MARLOWICK.id, Change.CHANGED, (), None)
    assert field.name == name
    assert field.before != field.after


def test_a_set_is_told_as_sorted_words_and_a_day_as_it_is_written() -> None:
    new = with_boot(
        PLAIN,
        replace(
            MARLOWICK,
            animal_types=frozenset({AnimalType.PONY, AnimalType.HORSE}),
            discontinued_on=date(2025, 5, 1),
            max_pad_mm=6.0,
        ),
    )
    (told,) = compare_releases(PLAIN, new).records
    assert set(told.changed) == {
        FieldChange(name="animal_types", before=("horse",), after=("horse", "pony")),
        FieldChange(name="discontinued_on", before=None, after="2025-05-01"),
        FieldChange(name="max_pad_mm", before=0.0, after=6.0),
    }


def test_a_record_of_another_name_is_renamed_and_stays_itself() -> None:
    (told,) = compare_releases(PLAIN, with_boot(PLAIN, replace(MARLOWICK, name="Marlowe"))).records
    assert told == RecordChange(
        kind=RecordKind.BOOT, id=MARLOWICK.id, name="Marlowe", former_name="Marlowick", change=Change.CHANGED
    )


sizes = st.permutations(range(3))


@given(order=sizes)
def test_an_order_is_told_whenever_it_is_another(order: list[int]) -> None:
    new = with_boot(PLAIN, replace(MARLOWICK, sizes=tuple(MARLOWICK.sizes[place] for place in order)))
    told = compare_releases(PLAIN, new).records
    if order == sorted(order):
        assert told == ()
    else:
        assert told[0].order == tuple(MARLOWICK.sizes[place].code for place in order)
        assert told[0].sizes == ()


def test_sizes_put_between_others_change_no_order() -> None:
    between = Size(code=SizeCode("thyme"), width=Range(low_mm=125.0, high_mm=129.0), length=None)
    new = with_boot(PLAIN, replace(MARLOWICK, sizes=(MARLOWICK.sizes[0], between, *MARLOWICK.sizes[1:])))
    (told,) = compare_releases(PLAIN, new).records
    assert told.order == ()
    assert told.sizes == (SizeChange(code=SizeCode("thyme"), change=Change.ADDED),)


@given(
    axis=st.sampled_from(Axis),
    edge=st.sampled_from(Edge),
    by_mm=st.floats(0.1, 20).flatmap(lambda by: st.sampled_from([by, -by])),
)
def test_how_far_an_edge_moved_is_told_for_that_edge_alone(axis: Axis, edge: Edge, by_mm: float) -> None:
    first, *rest = MARLOWICK.sizes
    printed = getattr(first, axis.value)
    name = f"{edge.value}_mm"
    moved: Callable[..., Range] = lambda: replace(printed, **{name: getattr(printed, name) + by_mm})  # noqa: E731
    new = with_boot(PLAIN, replace(MARLOWICK, sizes=(replace(first, **{axis.value: moved()}), *rest)))
    (told,) = compare_releases(PLAIN, new).records
    (size,) = told.sizes
    (move,) = size.edges
    assert (move.axis, move.edge) == (axis, edge)
    assert move.moved_mm == pytest.approx(by_mm)


def test_an_axis_that_came_or_went_is_told_without_a_distance() -> None:
    first, *rest = MARLOWICK.sizes
    new = with_boot(PLAIN, replace(MARLOWICK, sizes=(replace(first, length=None), *rest)))
    for before, after, ends in ((PLAIN, new, (120.0, None)), (new, PLAIN, (None, 120.0))):
        low, high = compare_releases(before, after).records[0].sizes[0].edges
        assert low == EdgeMove(axis=Axis.LENGTH, edge=Edge.LOW, before_mm=ends[0], after_mm=ends[1])
        assert (high.edge, low.moved_mm, high.moved_mm) == (Edge.HIGH, None, None)


def test_a_size_that_is_discontinued_is_told_with_its_successor() -> None:
    first, *rest = MARLOWICK.sizes
    ended = replace(
        first,
        discontinued_on=date(2025, 5, 1),
        successor=SizeSuccessor(boot=MARLOWICK.id, size=rest[0].code),
    )
    (told,) = compare_releases(PLAIN, with_boot(PLAIN, replace(MARLOWICK, sizes=(ended, *rest)))).records
    assert set(told.sizes[0].changed) == {
        FieldChange(name="discontinued_on", before=None, after="2025-05-01"),
        FieldChange(name="successor", before=None, after="vellory-marlowick/tansy"),
    }


def test_what_an_accessory_goes_with_is_told_by_boot_and_size() -> None:
    cuff = next(iter(PLAIN.accessories.values()))
    fewer = replace(cuff.sizes[0], goes_with={MARLOWICK.id: frozenset({SizeCode("sorrel")})})
    new = replace(PLAIN, accessories={cuff.id: replace(cuff, sizes=(fewer,))})
    (told,) = compare_releases(PLAIN, new).records
    assert told.kind is RecordKind.ACCESSORY
    assert told.sizes[0].changed == (
        FieldChange(
            name="goes_with",
            before=("vellory-marlowick/sorrel", "vellory-marlowick/tansy"),
            after=("vellory-marlowick/sorrel",),
        ),
    )


def test_every_field_that_a_boot_model_can_differ_in_is_told() -> None:
    told_elsewhere = {"id", "name", "sizes", "provenance"}
    assert set(BootModel.__dataclass_fields__) == told_elsewhere | set(OTHER_VALUES)


def test_the_demo_editions_differ_as_their_makers_say() -> None:
    releases = demo.offered().library.releases
    for old, new in pairwise(releases):
        changes = compare_releases(old, new)
        added = {one.id for one in changes.records if (one.kind, one.change) == (RecordKind.BOOT, Change.ADDED)}
        removed = {one.id for one in changes.records if (one.kind, one.change) == (RecordKind.BOOT, Change.REMOVED)}
        assert (added, removed) == (set(new.boots) - set(old.boots), set(old.boots) - set(new.boots))
