"""Sentences, and the facts inside them."""

import pickle
from pathlib import Path

import pytest
from babel.messages.pofile import PoFileError
from hypothesis import given
from hypothesis import strategies as st

from hooflast.errors import Fact
from hooflast.fit.remark import Footing
from hooflast.texts import FactMissing, TextMissing, Texts, languages, load_texts
from hooflast.texts import sentences as sentences_module
from hooflast.units import Unit

CATALOG = """
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "caution.one"
msgstr "Width {width_mm}, {age_weeks} old, chance {fit_chance}, on {measured_date}."

msgid "caution.optional"
msgstr "This is wrong.[ Did you mean {closest}?]"

msgid "caution.counted"
msgid_plural "caution.counted"
msgstr[0] "{count} boot."
msgstr[1] "{count} boots."

msgid "caution.labelled"
msgstr "{limb}, {other_limb}, {limb_list}, {limb_choices}, {size}."

msgid "limb.LF"
msgstr "left fore"

msgid "limb.RF"
msgstr "right fore"

#, fuzzy
msgid "caution.unsure"
msgstr "Perhaps."

msgid "caution.untold"
msgstr ""

msgid "chance.under"
msgstr "under {bound}"

msgid "chance.over"
msgstr "over {bound}"
"""


def texts_of(catalog: str, *, folder: Path, language: str, monkeypatch: pytest.MonkeyPatch) -> Texts:
    file = folder / f"{language}.po"
    file.write_text(catalog, encoding="utf-8")
    monkeypatch.setattr(sentences_module, "languages", lambda: (language,))
    monkeypatch.setattr(sentences_module, "catalog_file", lambda _: file)
    return load_texts.__wrapped__(language)


@pytest.fixture
def texts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Texts:
    return texts_of(CATALOG, folder=tmp_path, language="en", monkeypatch=monkeypatch)


ONE: dict[str, Fact] = {"width_mm": 123.825, "age_weeks": 6, "fit_chance": 0.844, "measured_date": "2026-03-01"}


def test_facts_are_said_by_their_names(texts: Texts) -> None:
    assert texts.say("caution.one", ONE) == "Width 123.8 mm, 6 weeks old, chance 84%, on Mar 1, 2026."


def test_facts_are_said_as_the_language_writes_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    texts = texts_of(CATALOG, folder=tmp_path, language="de", monkeypatch=monkeypatch)
    said = texts.say("caution.one", ONE).replace("\xa0", " ")
    assert said == "Width 123,8 mm, 6 Wochen old, chance 84 %, on 01.03.2026."


def test_a_length_is_said_in_the_readers_unit(texts: Texts) -> None:
    assert texts.in_unit(Unit.INCH).say("caution.one", ONE).startswith("Width 4.88 in,")
    assert texts.in_unit(Unit.CM).say("caution.one", ONE).startswith("Width 12.4 cm,")
    assert texts.in_unit(Unit.CM).length(124.0) == "12.4 cm"


def test_a_sentence_may_name_its_own_unit(texts: Texts) -> None:
    assert texts.say("caution.one", {**ONE, "unit": "in"}).startswith("Width 4.88 in,")
    assert texts.say("caution.one", {**ONE, "unit": "ell"}).startswith("Width 123.8 mm,")


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0, "under 1%"),
        (0.0099, "under 1%"),
        (0.01, "1%"),
        (0.5, "50%"),
        (0.99, "99%"),
        (0.991, "over 99%"),
        (1.0, "over 99%"),
    ],
)
def test_a_chance_is_never_said_to_be_none_or_certain(texts: Texts, chance: float, said: str) -> None:
    assert texts.chance(chance) == said


@given(st.floats(min_value=0, max_value=1), st.floats(min_value=0, max_value=1))
def test_a_greater_chance_is_never_said_to_be_smaller(one: float, other: float) -> None:
    said = [load_texts("en").chance(chance) for chance in sorted((one, other))]
    rank = ["under 1%", *(f"{percent}%" for percent in range(1, 100)), "over 99%"]
    assert rank.index(said[0]) <= rank.index(said[1])


def test_an_optional_part_is_said_only_when_its_facts_are_known(texts: Texts) -> None:
    assert texts.say("caution.optional") == "This is wrong."
    assert texts.say("caution.optional", {"closest": "width"}) == "This is wrong. Did you mean width?"


def test_what_a_fact_holds_is_never_read_as_part_of_the_sentence(texts: Texts) -> None:
    assert texts.say("caution.optional", {"closest": "{width_mm} [x]"}).endswith("{width_mm} [x]?")


def test_a_counted_sentence_agrees_with_its_number(texts: Texts) -> None:
    assert texts.say("caution.counted", {"count": 1}) == "1 boot."
    assert texts.say("caution.counted", {"count": 2}) == "2 boots."
    assert texts.say("caution.counted", {"count": 1200}) == "1,200 boots."


def test_codes_with_labels_are_said_by_them(texts: Texts) -> None:
    facts = {"limb": "LF", "other_limb": "RF", "limb_list": "LF,RF", "limb_choices": "LF, RF", "size": "LF"}
    said = "left fore, right fore, left fore and right fore, left fore or right fore, LF."
    assert texts.say("caution.labelled", facts) == said


@pytest.mark.parametrize("key", ["caution.unheard", "caution.unsure", "caution.untold", ""])
def test_a_missing_fuzzy_or_empty_sentence_is_an_error(texts: Texts, key: str) -> None:
    with pytest.raises(TextMissing) as caught:
        texts.say(key)
    assert (caught.value.key, caught.value.language) == (key, "en")
    assert not texts.has(key)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_a_missing_fact_is_an_error(texts: Texts) -> None:
    with pytest.raises(FactMissing, match="width_mm"):
        texts.say("caution.one", {"age_weeks": 1})


def test_a_broken_catalog_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(PoFileError):
        texts_of(CATALOG + '\nmsgid "open', folder=tmp_path, language="en", monkeypatch=monkeypatch)


def test_a_moment_is_said_as_the_language_writes_it_and_in_universal_time() -> None:
    facts: dict[str, Fact] = {"key": "till", "at": "2026-11-25T20:13:11+01:00"}
    assert "Nov 25, 2026, 7:13:11" in load_texts("en").say("problem.key-expired.detail", facts)
    assert "25.11.2026, 19:13:11 UTC" in load_texts("de").say("problem.key-expired.detail", facts)


def test_a_port_is_a_name_and_no_quantity() -> None:
    facts: dict[str, Fact] = {"host": "127.0.0.1", "port": 8080, "reason": "in use"}
    assert all("8080" in load_texts(language).say("error.address-taken", facts) for language in languages())


def test_a_number_is_written_as_the_language_does() -> None:
    assert load_texts("en").number(1234.5) == "1,234.5"
    assert load_texts("de").number(1234.5) == "1.234,5"
    assert load_texts("sv").number(0.25, pattern="+0.0000;-0.0000") == "+0,2500"


def test_what_a_caution_rests_on_is_said_in_words_unless_it_is_a_publication() -> None:
    assert load_texts("en").source(Footing.CONVENTION) == "our convention"
    assert load_texts("de").source(Footing.CONVENTION) == "unsere Festlegung"
    assert {load_texts(language).source("Sembium et al., RecSys 2017") for language in languages()} == {
        "Sembium et al., RecSys 2017"
    }
