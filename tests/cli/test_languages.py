"""Languages of the command line: what we say and what Click says are in the reader's, the names of options in none."""

import ast
import gettext
import os
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Final

import click
import pytest
from tests import demo
from tests.api.test_problems import kinds_of_error
from tests.cli.running import Run, running
from tests.texts.english import left_in_english, written, written_by_click

from hooflast.api.refusals import AddressTaken
from hooflast.cli.click_words import DOMAIN, click_speaking
from hooflast.cli.command_line import build
from hooflast.cli.complaining import sentence_of
from hooflast.cli.spoken import METAVAR
from hooflast.errors import CatalogUnavailable, InputRefused, NotFound
from hooflast.store import SchemaNotCurrent, StoreUnavailable
from hooflast.texts import DEFAULT_LANGUAGE, languages, load_texts, locale_folder
from hooflast.texts.sentences import OPTIONAL, PLACEHOLDER

OTHERS: Final = [language for language in languages() if language != DEFAULT_LANGUAGE]
LOADED: Final = demo.offered()
HOOVES: Final = ("--hoof", "LF:width=124,length=127", "--hoof", "RH:width=81,length=125", "--use", "hacking")
IN_LOGS_ONLY: Final = frozenset(
    {
        "answer-already-kept",
        "error",
        "fact-missing",
        "length-unreadable",
        "picture-refused",
        "signing-key-unknown",
        "store-error",
        "tenant-unknown",
        "text-missing",
    }
)
"""Mistakes of the program, or caught before anybody is told."""
OF_PROGRAMMERS: Final = re.compile(
    r"DeprecationWarning|deprecated|decl|defined twice|flag for true|Choice\(|Bash|colour|\{editor\}|Windows|prog\)s"
    r"|without prompting|No options defined|the version and exit|Press any key|^(d|file|directory|path)$"
)
"""Sentences of Click that our commands never say: to programmers, to shells, of what we do not use."""


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: LOADED)
    return running(capfd)


@pytest.mark.parametrize("language", OTHERS)
def test_nothing_is_told_in_english_to_a_reader_of_another_language(
    run: Run, monkeypatch: pytest.MonkeyPatch, language: str
) -> None:
    monkeypatch.setenv("HOOFLAST_LANGUAGE", language)
    asked = (
        ("match", *HOOVES, "--pad", "6", "--need", "founder"),
        ("match", "--hoof", "XX:width=1", "--use", "flying"),
        ("match", "--hoof", "XX:width=1", "--unit", "in"),
        ("match", "--sizes"),
        ("catalog", "show", "none-such"),
        ("catalog", "present"),
        ("catalog", "watch", "--every", "soon"),
        ("catalog", "check", "--offered"),
        ("catalog", "check", "--file", "none-such.json"),
        ("keys", "list", "--client", "tarn-and-tether"),
        ("keys", "rotate", "x", "--keep-old-hours", "-1"),
        ("jobs", "show", "none-such"),
        ("boots",),
    )
    told = {" ".join(one): run(*one) for one in asked}
    left = {one: found for one, ran in told.items() if (found := left_in_english(ran.out + ran.err, language=language))}
    assert left == {}
    assert all(ran.out + ran.err for ran in told.values())


@pytest.mark.parametrize("language", OTHERS)
def test_every_help_is_in_the_readers_language(language: str) -> None:
    with click_speaking(language):
        told = {" ".join(path): help_text for path, help_text in every_help(build(load_texts(language)))}
    left = {path: found for path, one in told.items() if (found := left_in_english(one, language=language))}
    assert left == {}
    assert len(told) > 30
    assert all(written_by_click(language)["Usage:"][0] in one for one in told.values())
    foreign = metavars(DEFAULT_LANGUAGE) - metavars(language)
    assert {path: named for path, one in told.items() if (named := foreign & set(re.findall(r"[A-Z_]{3,}", one)))} == {}


def metavars(language: str) -> set[str]:
    """What stands for the values of options and arguments."""
    return {forms[0] for key, forms in written(language).items() if key.startswith(METAVAR)}


def every_help(command: click.Command, parents: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """The help of a command and of all those below it."""
    context = click.Context(command, info_name=command.name, max_content_width=500, terminal_width=500)
    yield (*parents, command.name or ""), command.get_help(context)
    for one in command.commands.values() if isinstance(command, click.Group) else ():
        yield from every_help(one, (*parents, command.name or ""))


def test_click_speaks_one_language_after_the_other_and_then_as_before(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LANGUAGE", raising=False)
    before = gettext.textdomain()
    for language in (*OTHERS, DEFAULT_LANGUAGE, OTHERS[0]):
        with click_speaking(language):
            said = click.exceptions.NoSuchOption("--x").format_message()
        assert ("No such option" in said) == (language == DEFAULT_LANGUAGE)
        assert "'--x'" in said
    assert (gettext.textdomain(), os.environ.get("LANGUAGE")) == (before, None)


@pytest.mark.parametrize("language", OTHERS)
def test_what_gettext_reads_is_compiled_from_what_people_write(language: str) -> None:
    """After a change: `pybabel compile -D click -d service/hooflast/texts/locale`."""
    compiled = gettext.translation(DOMAIN, str(locale_folder()), languages=[language])
    for english, forms in written_by_click(language).items():
        if len(forms) == 1:
            assert compiled.gettext(english) == forms[0]
        else:
            assert {compiled.ngettext(english, english, count) for count in (1, 2, 1_000_000)} == set(forms)


@pytest.mark.parametrize("language", OTHERS)
def test_everything_that_click_can_tell_a_reader_is_translated(language: str) -> None:
    theirs = written_by_click(language)
    assert sorted(said for said in said_by_click() if said not in theirs and not OF_PROGRAMMERS.search(said)) == []
    assert sorted(said for said in theirs if said not in said_by_click()) == []
    for english, forms in theirs.items():
        for form in forms:
            assert fields_of(form) <= fields_of(english) | {"possibilities", "choices", "formats", "len", "nargs"}


def fields_of(template: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(template) if name}


@cache
def said_by_click() -> set[str]:
    """What stands in Click's source to be translated; of what is counted, the first form."""
    said = {"required"}
    for path in Path(click.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("_", "ngettext"):
                said |= {str(one.value) for one in node.args[:1] if isinstance(one, ast.Constant)}
    return said


@pytest.mark.parametrize("language", languages())
def test_every_error_is_told_in_a_sentence_filled_with_its_fields(language: str) -> None:
    """Those that reach whoever runs a command; an InputRefused is told fault by fault."""
    said = written(language)
    lacking = {}
    for kind in kinds_of_error():
        if issubclass(kind, InputRefused) or kind.code in IN_LOGS_ONLY:
            continue
        key = next((key for key in (f"error.{kind.code}", f"problem.{kind.code}.detail") if key in said), None)
        own = set(getattr(kind, "__dataclass_fields__", {}))
        asked = {name for form in said.get(key or "", ()) for name in PLACEHOLDER.findall(OPTIONAL.sub("", form))}
        if key is None or not asked <= own:
            lacking[kind.__qualname__] = asked - own
    assert lacking == {}


@pytest.mark.parametrize("language", OTHERS)
def test_an_error_tells_its_facts_in_every_language(language: str) -> None:
    errors = (
        NotFound(resource="boot model", name="Amble"),
        StoreUnavailable(reason="no answer within 2 s"),
        SchemaNotCurrent(found="11", expected="12"),
        AddressTaken(host="127.0.0.1", port=8080, reason="in use"),
        CatalogUnavailable(reason="none is published"),
    )
    told = [sentence_of(error, load_texts(language)) for error in errors]
    assert left_in_english(" ".join(told), language=language) == []
    assert all(fact in one for fact, one in zip(("Amble", "within 2 s", "12", "8080", ""), told, strict=True))
    assert "none is published" not in told[-1]
