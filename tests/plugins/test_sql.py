"""SQL: one row a size, read alone, bounded, and told row by row."""

import json
import sqlite3
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError
from sqlalchemy.exc import SQLAlchemyError

from hooflast.catalog.loading import PluginConfiguration, load_catalog
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Fate
from hooflast_sql.rows import RowsRefused, catalog_of, read_rows
from hooflast_sql.settings import SqlSettings

QUERY = """
select 'quendle' as maker, boot, title as name, closing as closure, 'round' as shape, 'all' as limbs,
       'horse, pony' as animal_types, 'hacking' as intended_uses, 'single' as sold_as, 'mm' as chart_unit,
       1 as chart_step, code as size, low as width_low, high as width_high
from sizes order by boot, low
"""


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    file = tmp_path / "stock.sqlite3"
    with sqlite3.connect(file) as connection:
        connection.execute("create table sizes (boot text, title text, closing text, code text, low real, high real)")
        connection.executemany(
            "insert into sizes values (?, ?, ?, ?, ?, ?)",
            [
                ("rill", "Rill", "hook", "rook", 125, 131.5),
                ("rill", "Rill", "hook", "wren", 118, 124),
                ("fen", "Fen", "hook", "lark", 108, 114),
            ],
        )
    connection.close()
    return file


def settings(file: Path, **changes: object) -> dict[str, Any]:
    return {
        "url": f"sqlite:///{file}",
        "query": QUERY,
        "makers": [{"id": "quendle", "name": "Quendle"}],
        "words": {"closure": {"hook": "strap"}},
        **changes,
    }


def rows(file: Path, **changes: object) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(read_rows(SqlSettings.model_validate(settings(file, **changes))))
    return found


def test_a_query_becomes_a_catalog_release(stock: Path) -> None:
    found = entry_points(group=ENTRY_POINT_GROUP, name="sql")
    loaded = load_catalog(found, configured={"sql": PluginConfiguration(settings=settings(stock))})
    (report,) = loaded.reports
    assert (report.failure, report.faults) == (None, ())
    boots = loaded.library.active.boots
    assert sorted(boots) == ["quendle-fen", "quendle-rill"]
    rill = boots["quendle-rill"]  # type: ignore[index]
    assert (rill.closure.value, sorted(rill.animal_types)) == ("strap", ["horse", "pony"])
    assert [(size.code, size.width.high_mm) for size in rill.sizes if size.width] == [("wren", 124), ("rook", 131.5)]


def test_the_database_is_only_read(stock: Path) -> None:
    with pytest.raises(ValidationError, match="SELECT"):
        SqlSettings.model_validate(settings(stock, query="delete from sizes"))
    with pytest.raises(ValidationError, match="SELECT"):
        SqlSettings.model_validate(settings(stock, query="select 1; drop table sizes"))
    sneaky = SqlSettings.model_construct(**settings(stock, query="delete from sizes returning *"), most_rows=5)
    with pytest.raises(SQLAlchemyError, match="readonly"):
        read_rows(sneaky)
    assert len(rows(stock)) == 3


def test_more_rows_than_asked_for_are_refused_and_never_cut_off(stock: Path) -> None:
    assert len(rows(stock, most_rows=3)) == 3
    with pytest.raises(RowsRefused, match="more than 2"):
        rows(stock, most_rows=2)


@pytest.mark.parametrize(
    ("query", "why"),
    [
        ("select code as size, boot, title as name from sizes", "maker are missing"),
        (QUERY.replace("code as size", "code as size, low as colour"), "colour are not known"),
    ],
)
def test_columns_that_are_missing_or_unknown_are_named(stock: Path, query: str, why: str) -> None:
    with pytest.raises(RowsRefused, match=why):
        rows(stock, query=query)


def test_a_row_without_a_size_is_refused_and_the_rest_goes_on(stock: Path) -> None:
    told = rows(stock)
    told[0]["size"] = None
    document, places, fates = catalog_of(told, settings=SqlSettings.model_validate(settings(stock)))
    assert [fate.fate for fate in fates] == [Fate.REFUSED, Fate.USED, Fate.USED]
    assert [boot["id"] for boot in document["boots"]] == ["quendle-rill"]
    assert places["/boots/0/sizes/1"] == "row 3"


def test_a_password_comes_from_the_environment(stock: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = SqlSettings.model_validate(settings(stock, url="postgresql+psycopg://shop:${SHOP_PASSWORD}@db/stock"))
    monkeypatch.setenv("SHOP_PASSWORD", "oats")
    assert made.address() == "postgresql+psycopg://shop:oats@db/stock"
    monkeypatch.delenv("SHOP_PASSWORD")
    with pytest.raises(KeyError):
        made.address()
