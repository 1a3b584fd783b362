"""Structured data: schema.org's terms and UN/CEFACT's unit codes, from files and from pages.

Both are held against what is published; `schema_org` says where.
"""

import inspect
import json
import re
from datetime import date
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from tests.plugins import schema_org

from hooflast.catalog.loading import PluginConfiguration, load_catalog
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Fate, Fetched, Source
from hooflast.catalog.reading import read_files
from hooflast_structured_data.json_ld import JsonLdRefused, objects_of
from hooflast_structured_data.plugin import plugin
from hooflast_structured_data.products import GTINS, MM, UNIT_CODES, Found, read_products
from hooflast_structured_data.settings import StructuredDataSettings

README = Path(__file__).resolve().parents[2] / "plugins" / "structured_data" / "README.md"
SHOWN = json.loads(re.findall(r"```json\n(.*?)```", README.read_text("utf-8"), re.DOTALL)[0])
SETTINGS: dict[str, Any] = {
    "addresses": ["https://quendle.example/"],
    "makers": [{"id": "quendle", "name": "Quendle"}],
    "always": {
        "shape": "round",
        "limbs": "all",
        "animal_types": ["horse"],
        "intended_uses": ["hacking"],
        "sold_as": "single",
    },
}


def settings(**changes: object) -> StructuredDataSettings:
    return StructuredDataSettings.model_validate({**SETTINGS, **changes})


def read(document: object) -> Found:
    return read_products(objects_of(json.dumps(document).encode()), settings=settings())


def measured(low: object, high: object, *, unit: str | None = "MMT", **more: object) -> dict[str, Any]:
    measure = {"@type": "QuantitativeValue", "name": "width", "minValue": low, "maxValue": high, "unitCode": unit}
    size = {"@type": "SizeSpecification", "name": "wren", "suggestedMeasurement": measure}
    return {**SHOWN, "hasVariant": [{"@type": "Product", "size": {**size, **more}}]}


def only_size(found: Found) -> dict[str, Any]:
    ((size,),) = [boot["sizes"] for boot in found.boots.values()]
    return dict(size)


def test_what_the_page_shows_is_read_without_a_fault() -> None:
    content = json.dumps(SHOWN).encode()
    raw = Fetched(source=Source(name="rill.jsonld"), retrieved_on=date(2026, 5, 4), content=content)
    mapped = plugin.map(raw, settings=settings())
    (boot,) = read_files(mapped.files, plugin="structured-data").boots.values()
    assert (boot.id, boot.name, boot.closure) == ("quendle-rill", "Rill", "strap")
    assert [size.code for size in boot.sizes] == ["wren"]
    assert [row.fate for row in mapped.rows] == [Fate.USED]


def test_what_the_page_shows_uses_each_property_as_schema_org_says() -> None:
    assert list(schema_org.breaches(SHOWN)) == []


def test_a_property_of_another_type_would_be_noticed() -> None:
    assert list(schema_org.breaches({"@type": "SizeSpecification", "brand": "Quendle"})) == [
        "SizeSpecification.brand",
        "SizeSpecification.brand: 'Quendle'",
    ]


def test_every_property_that_is_read_is_one_of_schema_orgs() -> None:
    source = Path(inspect.getfile(read_products)).read_text("utf-8")
    read_terms = set(re.findall(r'(?:product|variant|group|size|one|holder|measure)\.get\("(\w+)"\)', source))
    assert len(read_terms) >= 10
    assert read_terms | {"minValue", "maxValue", "brand", "manufacturer", *GTINS} <= set(schema_org.properties())


def test_the_unit_codes_are_those_of_recommendation_20() -> None:
    assert {code: MM[unit] for code, unit in UNIT_CODES.items()} == schema_org.UNITS_MM


@pytest.mark.parametrize(
    ("low", "high", "unit", "width"),
    [(118, 124, "MMT", [118, 124]), (11.8, 12.4, "CMT", [118, 124]), ("4.5", "5", "INH", [114.3, 127])],
)
def test_unit_codes_are_un_cefacts(low: object, high: object, unit: str, width: list[float]) -> None:
    assert only_size(read(measured(low, high, unit=unit)))["width"] == pytest.approx(width)


@pytest.mark.parametrize("unit", [None, "mm", "CM", "KGM"])
def test_another_unit_is_refused_and_never_guessed(unit: str | None) -> None:
    found = read(measured(118, 124, unit=unit))
    assert found.boots == {}
    assert "unitCode" in found.fates[0].why


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"name": ""}, "no name"),
        ({"suggestedMeasurement": []}, "neither"),
        ({"suggestedMeasurement": [], "hasMeasurement": {"@type": "QuantitativeValue", "name": "width"}}, "neither"),
        ({"@type": "Text"}, "SizeSpecification"),
    ],
)
def test_a_size_that_says_too_little_is_refused_with_the_reason(changes: dict[str, object], why: str) -> None:
    assert why in read(measured(118, 124, **changes)).fates[0].why


def test_a_maker_that_is_not_in_the_settings_is_refused() -> None:
    assert "maker" in read({**measured(118, 124), "brand": "Ombrick"}).fates[0].why


def test_products_that_belong_together_are_one_boot() -> None:
    (variant,) = measured(118, 124)["hasVariant"]
    group = {key: value for key, value in SHOWN.items() if key not in ("hasVariant", "@context")}
    larger = json.loads(json.dumps(variant).replace("wren", "rook").replace("118", "125").replace("124", "131"))
    products = [{"@type": "Product", **one, "isVariantOf": group} for one in (larger, variant)]
    found = read({"@context": "https://schema.org", "@graph": products})
    (boot,) = found.document(settings())["boots"]
    assert [size["code"] for size in boot["sizes"]] == ["wren", "rook"]


def test_a_size_told_twice_is_used_once() -> None:
    found = read([SHOWN, SHOWN])
    assert [fate.fate for fate in found.fates] == [Fate.USED, Fate.SKIPPED]


def test_terms_may_be_written_with_their_prefix() -> None:
    written = json.dumps(measured(118, 124)).replace('"Product"', '"schema:Product"')
    written = written.replace('"hasVariant"', '"https://schema.org/hasVariant"')
    assert read(json.loads(written)).boots == read(measured(118, 124)).boots


def test_pages_are_read_by_their_scripts() -> None:
    page = f'<!doctype html><script>x</script><script type="application/ld+json">{json.dumps(SHOWN)}</script>'
    assert read_products(objects_of(page.encode()), settings=settings()).boots == read(SHOWN).boots
    with pytest.raises(JsonLdRefused, match="no script"):
        objects_of(b"<p>Boots</p>")


@pytest.mark.parametrize(
    "document",
    [{"@type": "Product"}, {"@context": "https://other.example", "@type": "Product"}, {"@context": {"@vocab": "x:"}}],
)
def test_another_vocabulary_is_refused(document: object) -> None:
    with pytest.raises(JsonLdRefused, match="context"):
        read(document)


def test_depth_is_bounded() -> None:
    deep: object = 1
    for _ in range(60):
        deep = [deep]
    with pytest.raises(JsonLdRefused, match="levels"):
        read({"@context": "https://schema.org", "@type": "Product", "size": deep})


values = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from([*SHOWN, "size"]), inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(st.sampled_from([*SHOWN, "size", "isVariantOf"]), values))
def test_whatever_a_product_says_it_is_used_or_told(product: dict[str, object]) -> None:
    document = {**product, "@context": "https://schema.org", "@type": "Product"}
    found = read(document)
    assert len(found.fates) == 1


def test_a_file_becomes_a_catalog_release(tmp_path: Path) -> None:
    (tmp_path / "rill.jsonld").write_text(json.dumps(SHOWN))
    told = {**SETTINGS, "addresses": [], "files": [str(tmp_path / "rill.jsonld")]}
    found = entry_points(group=ENTRY_POINT_GROUP, name="structured-data")
    loaded = load_catalog(found, configured={"structured-data": PluginConfiguration(settings=told)})
    assert list(loaded.library.active.boots) == ["quendle-rill"]


def test_data_must_be_somewhere() -> None:
    with pytest.raises(ValidationError, match="neither files nor addresses"):
        settings(addresses=[])
