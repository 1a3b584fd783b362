"""Products: schema.org's product groups as boot models, and their variants as sizes.

Terms: ProductGroup, hasVariant, isVariantOf, inProductGroupWithID, SizeSpecification, suggestedMeasurement,
QuantitativeValue, additionalProperty (schema.org 29.0). There propertyID belongs to PropertyValue alone; where it names
an axis of a QuantitativeValue, it is read all the same. Unit codes: UN/CEFACT Recommendation 20, Annex I.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, get_args

from hooflast.catalog.plugin import Fate, RowFate
from hooflast_structured_data.json_ld import many, types_of
from hooflast_structured_data.settings import BootField, StructuredDataSettings

FORMAT: Final = "hooflast-catalog-1"
UNIT_CODES: Final = {"MMT": "mm", "CMT": "cm", "INH": "in"}
"""Millimetre, centimetre and inch in UN/CEFACT Recommendation 20."""

MM: Final = {"mm": 1.0, "cm": 10.0, "in": 25.4}
AXES: Final = ("width", "length")
GTINS: Final = ("gtin", "gtin14", "gtin13", "gtin12", "gtin8")
LISTS: Final = frozenset({"animal_types", "intended_uses", "suits_needs"})


class ProductRefused(ValueError):
    """Why a product is not used."""


@dataclass(slots=True, kw_only=True)
class Found:
    """The boot models that some data tells, by id, and the fate of each product."""

    boots: dict[str, dict[str, Any]] = field(default_factory=dict)
    fates: list[RowFate] = field(default_factory=list)

    def document(self, settings: StructuredDataSettings) -> dict[str, Any]:
        """The catalog file that says the same."""
        used = {boot["maker"] for boot in self.boots.values()}
        makers = [maker.model_dump() for maker in settings.makers if maker.id in used]
        return {"format": FORMAT, "makers": makers, "boots": [_grown(boot) for boot in self.boots.values()]}


def read_products(objects: Iterable[dict[str, Any]], *, settings: StructuredDataSettings) -> Found:
    """Every boot model that the objects tell; a product that cannot be one is refused with the reason."""
    found = Found()
    for product in objects:
        kinds = types_of(product)
        if "ProductGroup" in kinds:
            for variant in many(product.get("hasVariant")):
                _take(variant, group=product, settings=settings, found=found)
        elif "Product" in kinds:
            groups = [one for one in many(product.get("isVariantOf")) if isinstance(one, dict)]
            group = {**product, **(groups[0] if groups else {})}
            _take(product, group=group, settings=settings, found=found)
    return found


def _take(variant: Any, *, group: Mapping[str, Any], settings: StructuredDataSettings, found: Found) -> None:
    name = _text(group.get("name")) or "a product without a name"
    code = ""
    try:
        if not isinstance(variant, dict):
            raise ProductRefused("a variant is no object")
        size = _size_specification(variant)
        code = _text(size.get("name"))
        if not code:
            raise ProductRefused("its size has no name")
        boot = _boot(group, variant, settings=settings)
        entry = {"code": code, **_measures(size), **_gtin(variant)}
    except ProductRefused as refused:
        found.fates.append(RowFate(place=f"{name} {code}".strip(), fate=Fate.REFUSED, why=str(refused)))
        return
    sizes = found.boots.setdefault(boot["id"], {**boot, "sizes": []})["sizes"]
    if code in {one["code"] for one in sizes}:
        found.fates.append(RowFate(place=f"{name} {code}", fate=Fate.SKIPPED, why="it was told before"))
        return
    sizes.append(entry)
    found.fates.append(RowFate(place=f"{name} {code}", fate=Fate.USED))


def _size_specification(variant: Mapping[str, Any]) -> dict[str, Any]:
    for size in many(variant.get("size")):
        if "SizeSpecification" in types_of(size):
            return dict(size)
    raise ProductRefused("it has no size that is a SizeSpecification")


def _boot(group: Mapping[str, Any], variant: Mapping[str, Any], *, settings: StructuredDataSettings) -> dict[str, Any]:
    name = _text(group.get("name"))
    if not name:
        raise ProductRefused("it has no name")
    maker = _maker(group, variant, settings=settings)
    own = _text(group.get("productGroupID")) or _text(variant.get("inProductGroupWithID")) or name
    key = _slug(own)
    key = key if key.startswith(f"{maker}-") else f"{maker}-{key}"
    told: dict[str, Any] = {**dict(settings.always.items()), **_properties(variant), **_properties(group)}
    return {"id": key, "maker": maker, "name": name, "chart_unit": "mm", "chart_step": settings.chart_step, **told}


def _maker(group: Mapping[str, Any], variant: Mapping[str, Any], *, settings: StructuredDataSettings) -> str:
    makers = {maker.name.casefold(): maker.id for maker in settings.makers}
    named = []
    for holder in (group, variant):
        for term in ("manufacturer", "brand"):
            for one in many(holder.get(term)):
                name = _text(one.get("name")) if isinstance(one, dict) else _text(one)
                if name.casefold() in makers:
                    return makers[name.casefold()]
                named.append(name)
    raise ProductRefused(f"its maker {', '.join(filter(None, named)) or '(none)'} is not in the settings")


def _properties(product: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of a boot that stand in additionalProperty, by propertyID or name."""
    told: dict[str, Any] = {}
    for one in many(product.get("additionalProperty")):
        if not isinstance(one, dict):
            continue
        name = _text(one.get("propertyID")) or _text(one.get("name"))
        if name not in get_args(BootField):
            continue
        values = many(one.get("value"))
        if name in LISTS:
            told.setdefault(name, []).extend(values)
        elif values:
            told[name] = values[0]
    return told


def _measures(size: Mapping[str, Any]) -> dict[str, list[float]]:
    """Width and length of the hooves a size is made for, in mm."""
    measures: dict[str, list[float]] = {}
    for one in many(size.get("suggestedMeasurement")):
        if not isinstance(one, dict) or "QuantitativeValue" not in types_of(one):
            continue
        axis = (_text(one.get("propertyID")) or _text(one.get("name"))).lower()
        if axis in AXES:
            measures[axis] = [_mm(one, end=end) for end in ("minValue", "maxValue")]
    if not measures:
        raise ProductRefused("its size suggests neither a width nor a length")
    return measures


def _mm(measure: Mapping[str, Any], *, end: str) -> float:
    value = measure.get(end)
    code = _text(measure.get("unitCode"))
    if code not in UNIT_CODES:
        raise ProductRefused(f"its unitCode is {code or 'missing'}, not {', '.join(UNIT_CODES)}")
    try:
        number = float(value) if isinstance(value, str | int | float) and not isinstance(value, bool) else None
    except ValueError:
        number = None
    if number is None:
        raise ProductRefused(f"its {end} is {value!r}, not a number")
    return round(number * MM[UNIT_CODES[code]], 4)


def _gtin(variant: Mapping[str, Any]) -> dict[str, str]:
    gtin = next((told for term in GTINS if (told := _text(variant.get(term)))), "")
    return {"gtin": gtin} if gtin else {}


def _grown(boot: dict[str, Any]) -> dict[str, Any]:
    """A boot model with its sizes from small to large: schema.org's variants have no order."""

    def place(size: Mapping[str, Any]) -> tuple[float, ...]:
        return tuple(end for axis in AXES for end in size.get(axis, ()))

    return {**boot, "sizes": sorted(boot["sizes"], key=place)}


def _text(value: object) -> str:
    return " ".join(str(value).split()) if isinstance(value, str | int) and not isinstance(value, bool) else ""


def _slug(name: str) -> str:
    """A name as part of an id: lower-case letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
