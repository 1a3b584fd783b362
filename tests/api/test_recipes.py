"""Recipes: what the pages show for the command line, for Python and for JavaScript runs as it stands there."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.api.processes import served
from tests.databases import complete
from tests.project.checkout import ROOT

from hooflast.access.issuing import KeyWish, issue
from hooflast.access.key import FixedWorld
from hooflast.settings import Access, LogFormat, Settings
from hooflast.store import TenantId, new_id, open_store
from hooflast.store.audit import Actor

PAGE = ROOT / "service" / "hooflast" / "pages" / "integrate-a-shop.md"
NOW = datetime.now(UTC)
PROGRAMS = {
    "sh": (["sh", "-e"], ".sh"),
    "python": ([sys.executable], ".py"),
    "javascript": (["node"], ".mjs"),
}


def recipes(language: str) -> str:
    """All recipes of a page in one language, one after the other."""
    return "\n".join(re.findall(rf"^```{language}\n(.*?)^```", PAGE.read_text("utf-8"), re.DOTALL | re.MULTILINE))


async def a_key(database_url: str) -> str:
    """A key of a shop, as whoever runs the service makes it."""
    issued = issue(
        KeyWish(client="tarn-and-tether", name="webshop"),
        key_id=new_id(),
        now=NOW,
        by="user:tarn",
        fixed=FixedWorld(catalog_release="", day=NOW.date()),
    )
    async with open_store(database_url) as store:
        await store.tenants.ensure(TenantId(issued.key.tenant), now=NOW)
        await store.client_keys.add(issued.key, by=Actor(who="user:tarn", at=NOW))
    return issued.written


@contextmanager
def a_shop(database_url: str, folder: Path) -> Iterator[dict[str, str]]:
    """A service that wants keys, and the variables that a recipe takes."""
    settings = Settings(database_url=database_url, port=0, access=Access.KEYS, log_format=LogFormat.JSON)
    with served(settings, log=folder / "log") as service:
        key = complete(a_key(database_url))
        yield {"HOOFLAST_URL": f"http://127.0.0.1:{service.port}", "HOOFLAST_KEY": key}


@pytest.mark.full
@pytest.mark.parametrize("language", PROGRAMS)
def test_the_recipes_of_the_page_run_and_name_the_sku_to_take(sqlite_url: str, tmp_path: Path, language: str) -> None:
    program, ending = PROGRAMS[language]
    if shutil.which(program[0]) is None:
        pytest.skip(f"{program[0]} is not installed")
    script = tmp_path / f"recipe{ending}"
    script.write_text(recipes(language), "utf-8")
    with a_shop(sqlite_url, tmp_path) as told:
        done = subprocess.run(
            [*program, str(script)],
            env={**os.environ, **told},
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )
    assert done.returncode == 0, done.stderr + done.stdout
    assert "TT-1001" in done.stdout
    assert "not_mapped" in done.stdout or "2 of 2 []" in done.stdout
