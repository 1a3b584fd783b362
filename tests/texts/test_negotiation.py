"""Which language a reader is answered in (RFC 9110, section 12.5.4; RFC 4647, section 3.4)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.errors import NotFound
from hooflast.texts import DEFAULT_LANGUAGE, languages, load_texts, negotiate
from hooflast.texts import languages as languages_present
from hooflast.texts.negotiation import _shortened


@pytest.fixture
def present(monkeypatch: pytest.MonkeyPatch) -> tuple[str, ...]:
    tags = ("de", "de-CH", "en", "pt-BR", "zh-Hant")
    monkeypatch.setattr("hooflast.texts.negotiation.languages", lambda: tags)
    return tags


@pytest.mark.parametrize(
    ("header", "language"),
    [
        (None, "en"),
        ("", "en"),
        ("de", "de"),
        ("DE", "de"),
        ("de-AT", "de"),
        ("de-CH-1996", "de-CH"),
        ("pt", "en"),
        ("pt-br", "pt-BR"),
        ("fr, de;q=0.5", "de"),
        ("en;q=0.2, de;q=0.8", "de"),
        ("en; q=0.2 , de ;q=0.8", "de"),
        ("de, en", "de"),
        ("en, de", "en"),
        ("de;q=0, fr", "en"),
        ("*", "en"),
        ("*, de;q=0.1", "de"),
        ("zh-Hant-CN-x-private1-private2", "zh-Hant"),
        ("de;q=2, pt-BR", "pt-BR"),
        ("de;q=0.1234, pt-BR;q=0.1", "pt-BR"),
        (";;;,, q=1", "en"),
        ("d" * 5_000, "en"),
    ],
)
def test_the_dearest_language_that_is_spoken_is_answered_in(
    present: tuple[str, ...], header: str | None, language: str
) -> None:
    assert negotiate(header) == language
    assert language in present


def test_another_default_can_be_given(present: tuple[str, ...]) -> None:
    assert negotiate("fr", default="pt-BR") == "pt-BR"


def test_a_range_is_shortened_as_the_standard_shows() -> None:
    """RFC 4647, section 3.4: the example of the lookup."""
    assert _shortened("zh-hant-cn-x-private1-private2") == [
        "zh-hant-cn-x-private1-private2",
        "zh-hant-cn-x-private1",
        "zh-hant-cn",
        "zh-hant",
        "zh",
    ]


@given(st.text(max_size=60) | st.text(alphabet="den-*;q=0.15, ", max_size=40))
def test_whatever_the_header_holds_a_language_that_is_there_comes_out(header: str) -> None:
    assert negotiate(header) in languages_present()


def test_every_language_present_can_be_loaded() -> None:
    assert [load_texts(language).language for language in languages()] == list(languages())
    assert DEFAULT_LANGUAGE in languages()


def test_a_language_without_a_catalog_is_not_found() -> None:
    with pytest.raises(NotFound):
        load_texts("xx")
