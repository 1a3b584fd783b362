"""Rows: a query's rows, read and bounded, and as the boot models and sizes that they stand for."""

import json
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final

from sqlalchemy import Engine, create_engine, event, make_url, text
from sqlalchemy.pool import NullPool

from hooflast.catalog.plugin import Fate, RowFate
from hooflast_sql.settings import SqlSettings

FORMAT: Final = "hooflast-catalog-1"
LISTS: Final = ("animal_types", "intended_uses", "suits_needs")
OF_A_SIZE: Final = ("size", "width_low", "width_high", "length_low", "length_high", "gtin")
OF_A_BOOT: Final = (
    "maker", "boot", "name", "closure", "shape", "limbs", "sides", *LISTS, "sold_as", "chart_unit", "chart_step",
    "max_pad_mm", "discontinued_on", "successor", "note",
)  # fmt: skip
NEEDED: Final = ("maker", "boot", "name", "size")


class RowsRefused(ValueError):
    """Why what a query gives is not taken."""


def read_rows(settings: SqlSettings) -> bytes:
    """The query's rows as JSON, in their order. Raises RowsRefused, KeyError and SQLAlchemy's errors."""
    engine = _engine(settings.address())
    try:
        with engine.connect() as connection:
            found = connection.execution_options(stream_results=True).execute(text(settings.query))
            names = list(found.keys())
            if unknown := [name for name in names if name not in (*OF_A_BOOT, *OF_A_SIZE)]:
                raise RowsRefused(f"columns {', '.join(unknown)} are not known")
            if missing := [name for name in NEEDED if name not in names]:
                raise RowsRefused(f"columns {', '.join(missing)} are missing")
            rows = found.fetchmany(settings.most_rows + 1)
            if len(rows) > settings.most_rows:
                raise RowsRefused(f"it gives more than {settings.most_rows} rows")
    finally:
        engine.dispose()
    told = [{name: _plain(value) for name, value in zip(names, row, strict=True)} for row in rows]
    return json.dumps(told, ensure_ascii=False).encode()


def catalog_of(
    rows: Sequence[Mapping[str, Any]], *, settings: SqlSettings
) -> tuple[dict[str, Any], dict[str, str], list[RowFate]]:
    """The catalog file that rows say, which row each boot and size of it came from, and the fate of each row."""
    boots: dict[str, dict[str, Any]] = {}
    places: dict[str, str] = {}
    fates = []
    for number, row in enumerate(rows, start=1):
        here = f"row {number}"
        if missing := [name for name in NEEDED if row[name] in (None, "")]:
            fates.append(RowFate(place=here, fate=Fate.REFUSED, why=f"{', '.join(missing)} is empty"))
            continue
        key = str(row["boot"])
        key = key if key.startswith(f"{row['maker']}-") else f"{row['maker']}-{key}"
        if key not in boots:
            places[f"/boots/{len(boots)}"] = here
            boots[key] = _boot(row, key=key, settings=settings)
        place = list(boots).index(key)
        places[f"/boots/{place}/sizes/{len(boots[key]['sizes'])}"] = here
        boots[key]["sizes"].append(_size(row))
        fates.append(RowFate(place=here, fate=Fate.USED))
    used = {boot["maker"] for boot in boots.values()}
    makers = [maker.model_dump() for maker in settings.makers if maker.id in used]
    return {"format": FORMAT, "makers": makers, "boots": list(boots.values())}, places, fates


def _boot(row: Mapping[str, Any], *, key: str, settings: SqlSettings) -> dict[str, Any]:
    told = {name: row[name] for name in OF_A_BOOT if row.get(name) not in (None, "")}
    boot = {name: _in_our_words(name, value, settings=settings) for name, value in told.items() if name != "boot"}
    return {**boot, "id": key, "sizes": []}


def _in_our_words(name: str, value: Any, *, settings: SqlSettings) -> Any:
    words = settings.words.get(name, {})
    if name in LISTS:
        return [words.get(word, word) for word in (part.strip() for part in str(value).split(",")) if word]
    return words.get(value, value) if isinstance(value, str) else value


def _size(row: Mapping[str, Any]) -> dict[str, Any]:
    size: dict[str, Any] = {"code": str(row["size"])}
    for axis in ("width", "length"):
        ends = [row.get(f"{axis}_low"), row.get(f"{axis}_high")]
        if any(end not in (None, "") for end in ends):
            size[axis] = ends
    if row.get("gtin") not in (None, ""):
        size["gtin"] = str(row["gtin"])
    return size


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if value is None or isinstance(value, str | int | float):
        return value
    raise RowsRefused(f"a column holds a {type(value).__name__}, which is neither text, number nor day")


def _engine(address: str) -> Engine:
    """An engine whose connections only read, where the database can hold them to that."""
    url = make_url(address)
    engine = create_engine(url, poolclass=NullPool)
    statement = {
        "sqlite": "PRAGMA query_only = ON",
        "postgresql": "SET SESSION CHARACTERISTICS AS TRANSACTION READ ONLY",
        "mysql": "SET SESSION TRANSACTION READ ONLY",
        "mariadb": "SET SESSION TRANSACTION READ ONLY",
    }.get(url.get_backend_name())
    if statement is not None:

        @event.listens_for(engine, "connect")
        def _only_read(connection: Any, _: object) -> None:
            cursor = connection.cursor()
            cursor.execute(statement)
            cursor.close()
            if url.get_backend_name() != "sqlite":
                connection.commit()

    return engine
