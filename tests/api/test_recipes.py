"""Recipes: what the pages show for the command line, for Python and for JavaScript runs as it stands there."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.api.processes import PATIENCE_SECONDS, Served, served
from tests.databases import complete
from tests.project.checkout import ROOT

from hooflast.access.issuing import KeyWish, issue
from hooflast.access.key import FixedWorld
from hooflast.fit.boot import Course, Need
from hooflast.matching.needs import is_painful
from hooflast.matching.question import NamedNeed
from hooflast.settings import LogFormat, Settings
from hooflast.store import TenantId, new_id, open_store
from hooflast.store.audit import Actor
from hooflast.texts import load_texts

PAGES = ROOT / "service" / "hooflast" / "pages"
SHOWN_ADDRESS = "http://127.0.0.1:8300"
NOW = datetime.now(UTC)
PROGRAMS = {
    "sh": (["sh", "-e"], ".sh"),
    "python": ([sys.executable], ".py"),
    "javascript": (["node"], ".mjs"),
}

TOLD_TO_A_CLINIC = {
    "sh": ["heel_lift_mm", '"horse_name":"patient 2041"', "whsec_"],
    "python": ["Aldwimble", "heels lifted by", "1 answered patient 2041", "gone: 404"],
    "javascript": ["Aldwimble"],
}


def page(name: str) -> str:
    return (PAGES / f"{name}.md").read_text("utf-8")


def recipes(name: str, *, language: str) -> str:
    """All recipes of a page in one language, one after the other."""
    return "\n".join(re.findall(rf"^```{language}\n(.*?)^```", page(name), re.DOTALL | re.MULTILINE))


async def a_key(database_url: str, *, client: str) -> str:
    """A key of a client, as whoever runs the service makes it."""
    issued = issue(
        KeyWish(client=client, name="recipes"),
        key_id=new_id(),
        now=NOW,
        by="user:tarn",
        fixed=FixedWorld(catalog_release="", day=NOW.date()),
    )
    async with open_store(database_url) as store:
        await store.tenants.ensure(TenantId(issued.key.tenant), now=NOW)
        await store.client_keys.add(issued.key, by=Actor(who="user:tarn", at=NOW))
    return issued.written


class Kitchen:
    """A service on the demo catalog, and a folder to run recipes in."""

    def __init__(self, service: Served, *, database_url: str, folder: Path) -> None:
        self.address = f"http://127.0.0.1:{service.port}"
        self._database_url = database_url
        self._folder = folder

    def run(self, name: str, *, language: str) -> str:
        """What the recipes of a page print, run on behalf of a client of their own."""
        program, ending = PROGRAMS[language]
        if shutil.which(program[0]) is None:
            pytest.skip(f"{program[0]} is not installed")
        script = self._folder / f"{name}{ending}"
        script.write_text(recipes(name, language=language).replace(SHOWN_ADDRESS, self.address), "utf-8")
        key = complete(a_key(self._database_url, client=f"{name}-{language}"))
        done = subprocess.run(
            [*program, str(script)],
            cwd=self._folder,
            env={**os.environ, "HOOFLAST_URL": self.address, "HOOFLAST_KEY": key},
            capture_output=True,
            text=True,
            check=False,
            timeout=PATIENCE_SECONDS,
        )
        assert done.returncode == 0, done.stderr + done.stdout
        return done.stdout


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory: pytest.TempPathFactory, migrated_sqlite_file: Path) -> Iterator[Kitchen]:
    """Whoever shows no key is answered too: the page to start with has none."""
    folder = tmp_path_factory.mktemp("kitchen")
    file = shutil.copy(migrated_sqlite_file, folder / "hooflast.sqlite3")
    settings = Settings(database_url=f"sqlite+aiosqlite:///{file}", port=0, log_format=LogFormat.JSON)
    with served(settings, log=folder / "log") as service:
        yield Kitchen(service, database_url=settings.database_url, folder=folder)


@pytest.mark.full
@pytest.mark.xdist_group("recipes")
class TestRecipes:
    @pytest.mark.parametrize("language", PROGRAMS)
    def test_the_page_to_start_with_leads_to_a_first_match(self, kitchen: Kitchen, language: str) -> None:
        printed = kitchen.run("start", language=language)
        assert re.search(r'"place":1|^1 \w+ \w+', printed, re.MULTILINE)
        assert "No boots kept or returned have confirmed them yet" in printed

    def test_a_key_is_shown_as_the_page_of_keys_shows_it(self, kitchen: Kitchen) -> None:
        assert "httpx.Client" in recipes("keys", language="python")
        kitchen.run("keys", language="python")

    @pytest.mark.parametrize("language", PROGRAMS)
    def test_those_for_a_shop_name_the_sku_to_take(self, kitchen: Kitchen, language: str) -> None:
        printed = kitchen.run("integrate-a-shop", language=language)
        assert "TT-1001" in printed
        assert "not_mapped" in printed or "2 of 2 []" in printed

    @pytest.mark.parametrize("language", PROGRAMS)
    def test_those_for_a_clinic_say_stop_where_a_foot_is_painful(self, kitchen: Kitchen, language: str) -> None:
        printed = kitchen.run("integrate-a-clinic", language=language)
        told = {"stop painful-foot", "stop veterinarian-first", *TOLD_TO_A_CLINIC[language]}
        assert {words for words in told if words not in printed} == set()


def test_the_needs_of_the_page_are_all_that_there_are_in_their_own_words() -> None:
    texts = load_texts("en")
    rows = re.findall(r"^\| `(\w+)` \| (.+) \|$", page("integrate-a-clinic"), re.MULTILINE)
    assert [row for row in rows if row[0] in set(Need)] == [
        (need.value, texts.say(f"need.{need.value}")) for need in Need
    ]


def test_the_page_names_the_needs_on_which_a_foot_counts_as_painful() -> None:
    always, acute = (
        {need for need in Need if is_painful([NamedNeed(need=need, course=course)])}
        for course in (Course.CHRONIC, Course.ACUTE)
    )
    (sentence,) = re.findall(r"It is so with (.*?)\. Then", page("integrate-a-clinic"))
    while_acute, _, told_always = sentence.partition(" as long as they are acute, and with ")
    assert {Need(word) for word in re.findall(r"`(\w+)`", while_acute)} == acute - always
    assert {Need(word) for word in re.findall(r"`(\w+)`", told_always)} == always
