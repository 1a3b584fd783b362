"""The demo catalog: sound, complete for the demo scenario, and a plugin like any stranger's."""

import ast
import subprocess
import sys
from collections.abc import Iterable
from importlib.metadata import entry_points
from itertools import pairwise
from pathlib import Path

import pytest

from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.doubts import find_doubts
from hooflast.catalog.loading import LoadedCatalog, load_catalog
from hooflast.catalog.meaning import AT_REST
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, CatalogPlugin
from hooflast.catalog.values import (
    AccessoryKind,
    BootModel,
    CatalogRelease,
    LimbSet,
    Range,
    Sides,
    Size,
    SoldAs,
)
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.population import population

ROOT = Path(__file__).parents[2]
MAKERS = {"Vellory", "Ombrick", "Quendle", "Haskeby", "Tornevale", "Wrimsel"}


@pytest.fixture(scope="module")
def loaded() -> LoadedCatalog:
    return load_catalog(entry_points(group=ENTRY_POINT_GROUP, name="demo"))


@pytest.fixture(scope="module")
def active(loaded: LoadedCatalog) -> CatalogRelease:
    return loaded.library.active


def current(release: CatalogRelease) -> list[BootModel]:
    return [boot for boot in release.boots.values() if boot.discontinued_on is None]


def sizes(release: CatalogRelease) -> list[Size]:
    return [size for boot in release.boots.values() for size in boot.sizes]


def uses(boots: Iterable[BootModel]) -> set[IntendedUse]:
    return {use for boot in boots for use in boot.intended_uses}


def on_limb(boot: BootModel, limb: Limb) -> bool:
    return boot.limbs is LimbSet.ALL or boot.limbs is (LimbSet.FORE if limb.is_fore else LimbSet.HIND)


def written_charts(edition: str) -> list[str]:
    return [file.read_text() for file in sorted((ROOT / "catalog" / "demo" / edition).glob("*.json"))]


def test_every_edition_is_read_without_a_fault(loaded: LoadedCatalog) -> None:
    (report,) = loaded.reports
    assert (report.plugin, report.failure, report.faults, report.refused) == ("demo", None, (), ())
    assert len(report.editions) == len(loaded.library.releases) >= 3


def test_it_is_a_plugin_by_the_public_interface() -> None:
    (entry_point,) = entry_points(group=ENTRY_POINT_GROUP, name="demo")
    assert isinstance(entry_point.load(), CatalogPlugin)


def test_it_imports_nothing_of_hooflast_but_the_plugin_interface() -> None:
    imported = set()
    for file in (ROOT / "plugins" / "demo").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.Import):
                imported |= {name.name for name in node.names}
            elif isinstance(node, ast.ImportFrom):
                imported.add(node.module or "")
    assert {name for name in imported if name.split(".")[0] == "hooflast"} == {"hooflast.catalog.plugin"}


def test_its_wheel_offers_the_same_editions_as_the_checkout(tmp_path: Path) -> None:
    pytest.importorskip("hatchling", reason="hatchling is not installed: the demo's wheel is not built")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=ROOT / "plugins" / "demo", check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    ask = (
        "import hashlib, hooflast_demo.plugin as demo; own = demo.plugin;"
        "print(demo.__file__);"
        "fetched = [own.fetch(one, settings=None, held=None) for one in own.discover(None)];"
        "print([(one.source.name, hashlib.sha256(one.content).hexdigest()) for one in fetched])"
    )
    told = subprocess.run(
        [sys.executable, "-c", ask],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        text=True,
        env={"PYTHONPATH": str(wheel)},
    )
    from_wheel, its_files = told.stdout.splitlines()
    own = subprocess.run([sys.executable, "-c", ask], cwd=tmp_path, check=True, capture_output=True, text=True)
    assert str(wheel) in from_wheel
    assert its_files == own.stdout.splitlines()[1]


def test_six_makers_forty_boot_models_and_three_hundred_sizes(active: CatalogRelease) -> None:
    assert {maker.name for maker in active.makers.values()} == MAKERS
    assert len(current(active)) >= 40
    assert len(sizes(active)) >= 300
    assert {boot.maker for boot in active.boots.values()} == set(active.makers)


def test_what_can_be_said_of_a_boot_is_said_of_one_that_is_sold(active: CatalogRelease) -> None:
    boots = current(active)
    assert {boot.closure for boot in boots} == set(Closure)
    assert {boot.shape for boot in boots} == set(ShapeClass)
    assert {boot.limbs for boot in boots} == set(LimbSet)
    assert {boot.sides for boot in boots} == set(Sides)
    assert {boot.sold_as for boot in boots} == set(SoldAs)
    assert {kind for boot in boots for kind in boot.animal_types} == set(AnimalType)
    assert {need for boot in boots for need in boot.suits_needs} == set(Need)
    assert uses(boots) == set(IntendedUse)
    assert any(boot.max_pad_mm > 0 for boot in boots)
    assert any(boot.max_pad_mm == 0 for boot in boots)


def test_fore_and_hind_lasts_come_in_every_shape_between_them(active: CatalogRelease) -> None:
    lasts = {(boot.limbs, boot.shape) for boot in current(active)}
    assert {shape for limbs, shape in lasts if limbs is LimbSet.FORE} == set(ShapeClass)
    assert {shape for limbs, shape in lasts if limbs is LimbSet.HIND} == set(ShapeClass)


@pytest.mark.parametrize("kind", AnimalType)
def test_every_animal_type_has_a_boot_for_moving_in_and_one_for_standing_in(
    kind: AnimalType, active: CatalogRelease
) -> None:
    boots = [boot for boot in current(active) if kind in boot.animal_types]
    assert uses(boots) & AT_REST
    assert uses(boots) - AT_REST - {IntendedUse.TRANSPORT, IntendedUse.TURNOUT}


def test_a_chart_may_leave_out_either_axis(active: CatalogRelease) -> None:
    assert any(size.width is None for size in sizes(active))
    assert any(size.length is None for size in sizes(active))


def test_charts_come_in_every_unit() -> None:
    written = "\n".join(written_charts("2026-03-01"))
    assert all(f'"chart_unit": "{unit}"' in written for unit in ("mm", "cm", "in"))


def test_some_charts_touch_and_some_overlap(active: CatalogRelease) -> None:
    def gaps(boot: BootModel) -> list[float]:
        ranges = [size.width for size in boot.sizes if size.width is not None]
        return [larger.low_mm - smaller.high_mm for smaller, larger in pairwise(ranges)]

    assert any(gap == pytest.approx(boot.chart_step_mm) for boot in current(active) for gap in gaps(boot))
    assert any(gap < 0 for boot in current(active) for gap in gaps(boot))


def test_no_chart_leaves_a_hole_between_two_sizes(active: CatalogRelease) -> None:
    for boot in active.boots.values():
        for axis in ("width", "length"):
            ranges = [one for size in boot.sizes if isinstance(one := getattr(size, axis), Range)]
            for smaller, larger in pairwise(ranges):
                assert larger.low_mm - smaller.high_mm <= boot.chart_step_mm + 1e-9, boot.id


def test_a_shape_class_agrees_with_the_chart(active: CatalogRelease) -> None:
    """Bounds of width against length: our convention, other ones for hinds, which are narrower."""
    for boot in active.boots.values():
        narrow_below, wide_above = (0.93, 1.03) if boot.limbs is LimbSet.HIND else (0.96, 1.06)
        whole = [(size.width, size.length) for size in boot.sizes]
        ratios = [middle(width) / middle(length) for width, length in whole if width is not None and length is not None]
        if ratios:
            ratio = sum(ratios) / len(ratios)
            told = (
                ShapeClass.NARROW
                if ratio < narrow_below
                else ShapeClass.WIDE
                if ratio > wide_above
                else ShapeClass.ROUND
            )
            assert told is boot.shape, boot.id


def middle(one: Range) -> float:
    return (one.low_mm + one.high_mm) / 2


@pytest.mark.parametrize("limb", [Limb.LF, Limb.LH])
@pytest.mark.parametrize("kind", AnimalType)
def test_the_mean_hoof_of_every_population_has_a_size(kind: AnimalType, limb: Limb, active: CatalogRelease) -> None:
    width, length = population(kind, limb=limb).mean
    fitting = {
        boot.id
        for boot in current(active)
        if kind in boot.animal_types and on_limb(boot, limb) and not boot.intended_uses <= AT_REST
        for size in boot.sizes
        if holds(size.width, width, step=boot.chart_step_mm) and holds(size.length, length, step=boot.chart_step_mm)
    }
    assert fitting


def holds(one: Range | None, mm: float, *, step: float) -> bool:
    return one is not None and one.low_mm - step / 2 <= mm <= one.high_mm + step / 2


def test_size_codes_are_words_in_one_order_for_each_maker(active: CatalogRelease) -> None:
    order: dict[str, set[tuple[str, str]]] = {}
    for boot in active.boots.values():
        assert all(size.code.isalpha() and size.code.islower() and len(size.code) > 3 for size in boot.sizes)
        order.setdefault(boot.maker, set()).update((a.code, b.code) for a, b in pairwise(boot.sizes))
    for pairs in order.values():
        assert not any((larger, smaller) in pairs for smaller, larger in pairs)


def test_makers_share_no_size_code(active: CatalogRelease) -> None:
    makers_of: dict[str, set[str]] = {}
    for boot in active.boots.values():
        for size in boot.sizes:
            makers_of.setdefault(size.code, set()).add(boot.maker)
    assert all(len(makers) == 1 for makers in makers_of.values())


def test_later_editions_add_change_and_discontinue(loaded: LoadedCatalog) -> None:
    for before, after in pairwise(loaded.library.releases):
        shared = before.boots.keys() & after.boots.keys()
        assert before.boots.keys() <= after.boots.keys()
        assert after.boots.keys() - before.boots.keys()
        assert any(before.boots[one].sizes != after.boots[one].sizes for one in shared)
        ended = [one for one in shared if after.boots[one].discontinued_on and not before.boots[one].discontinued_on]
        assert any(after.boots[one].successor for one in ended)


def test_a_successor_serves_the_same_animals(active: CatalogRelease) -> None:
    for boot in active.boots.values():
        if boot.successor is not None:
            successor = active.boots[boot.successor]
            assert successor.discontinued_on is None
            assert boot.animal_types & successor.animal_types


def test_accessories_of_every_kind_say_what_they_go_with(active: CatalogRelease) -> None:
    accessories = active.accessories.values()
    assert {one.kind for one in accessories} == set(AccessoryKind)
    assert any(one.successor for one in accessories)
    assert any(len(one.sizes) > 1 for one in accessories)
    assert all(one.thickness_mm for one in accessories if one.kind is AccessoryKind.PAD)


def test_boots_for_standing_in_say_that_the_veterinarian_directs(active: CatalogRelease) -> None:
    for boot in active.boots.values():
        if boot.intended_uses & AT_REST:
            assert "veterinarian" in boot.note or boot.intended_uses == {IntendedUse.TRANSPORT}, boot.id


def test_gtins_are_of_the_range_no_trade_item_gets(active: CatalogRelease) -> None:
    """GS1's prefixes 200 to 299 are for restricted circulation (its list as Wikipedia has it: GS1 country codes)."""
    gtins = [size.gtin for size in sizes(active) if size.gtin]
    assert gtins
    assert all(gtin.startswith("2") for gtin in gtins)


def test_its_charts_raise_no_doubt_but_the_axes_that_two_of_them_leave_out(active: CatalogRelease) -> None:
    assert {doubt.code for doubt in find_doubts(active, active=None)} == {DoubtCode.AXIS_MISSING}
