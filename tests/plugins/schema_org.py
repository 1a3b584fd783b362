"""The part of schema.org's vocabulary that a catalog is told in, for tests.

schema.org release 29.0 (https://schema.org/version/29.0): for each property the types it belongs to and the types of
its values, from schemaorg-current-https-properties.csv; for each type the one above it, from schemaorg-subclasses.shacl
of the same release.

UN/CEFACT Recommendation 20, Codes for Units of Measure Used in International Trade, Annex I, length: revision 3
(TRADE/CEFACT/2005/24) for millimetre and centimetre, revision 8 (2012) for all three. The inch is 25.4 mm by the
international agreement of 1959.
"""

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

ABOVE: Final = {
    "ProductGroup": "Product",
    "SizeSpecification": "QualitativeValue",
    "QuantitativeValue": "StructuredValue",
    "PropertyValue": "StructuredValue",
    "Product": "Thing",
    "Brand": "Intangible",
    "QualitativeValue": "Enumeration",
    "StructuredValue": "Intangible",
    "Enumeration": "Intangible",
    "Intangible": "Thing",
}
UNITS_MM: Final = {"MMT": 1.0, "CMT": 10.0, "INH": 25.4}
JSON_TYPES: Final[dict[type, frozenset[str]]] = {
    str: frozenset({"Text", "URL"}),
    int: frozenset({"Number", "Integer"}),
    float: frozenset({"Number"}),
    bool: frozenset({"Boolean"}),
}


def properties() -> dict[str, tuple[frozenset[str], frozenset[str]]]:
    """Each property with the types it belongs to and those of its values."""
    with Path(__file__).with_suffix(".csv").open(encoding="utf-8", newline="") as file:
        return {
            row["term"]: (frozenset(row["domains"].split()), frozenset(row["ranges"].split()))
            for row in csv.DictReader(file)
        }


def kinds(name: str) -> frozenset[str]:
    """A type and all above it."""
    return frozenset({name}) | (kinds(ABOVE[name]) if name in ABOVE else frozenset())


def breaches(value: dict[str, Any]) -> Iterator[str]:
    """Where an object and those within it use a property otherwise than the vocabulary says."""
    known, own = properties(), kinds(value["@type"])
    for term, told in value.items():
        if term.startswith("@"):
            continue
        domains, ranges = known[term]
        if not own & domains:
            yield f"{value['@type']}.{term}"
        for one in told if isinstance(told, list) else [told]:
            if not (kinds(one["@type"]) if isinstance(one, dict) else JSON_TYPES[type(one)]) & ranges:
                yield f"{value['@type']}.{term}: {one!r}"
            if isinstance(one, dict):
                yield from breaches(one)
