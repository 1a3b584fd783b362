"""Every language says everything the service can say, and nothing else."""

import ast

import pytest
from babel import Locale

from hooflast.texts import DEFAULT_LANGUAGE, Texts, languages, load_texts
from hooflast.texts.sentences import OPTIONAL, PLACEHOLDER

from .english import written
from .keys import FAMILIES, given_as, is_said, said_codes, wanted_keys


@pytest.fixture(params=languages())
def texts(request: pytest.FixtureRequest) -> Texts:
    return load_texts(request.param)


def templates(texts: Texts, key: str) -> tuple[str, ...]:
    return written(texts.language)[key]


def asked_for(template: str) -> set[str]:
    """The facts a sentence cannot do without."""
    return set(PLACEHOLDER.findall(OPTIONAL.sub("", template)))


def test_there_is_the_default_language() -> None:
    assert DEFAULT_LANGUAGE in languages()


def test_no_sentence_is_missing(texts: Texts) -> None:
    assert sorted(key for key in wanted_keys() if not texts.has(key)) == []


def test_every_reason_and_assumption_has_a_sentence(texts: Texts) -> None:
    remarks = {said.code for said in said_codes() if said.kind == "Remark"}
    assert (
        sorted(code for code in remarks if not any(texts.has(f"{family}.{code}") for family in FAMILIES["Remark"]))
        == []
    )
    assert remarks


def test_no_sentence_is_left_unsaid(texts: Texts) -> None:
    assert sorted(key for key in texts.keys if not is_said(key)) == []


def test_every_language_has_the_same_sentences_asking_for_the_same_facts(texts: Texts) -> None:
    default = load_texts(DEFAULT_LANGUAGE)
    assert texts.keys == default.keys
    for key in texts.keys:
        theirs = {fact for template in templates(texts, key) for fact in PLACEHOLDER.findall(template)}
        ours = {fact for template in templates(default, key) for fact in PLACEHOLDER.findall(template)}
        assert theirs == ours, key


def test_no_sentence_asks_for_a_fact_its_code_does_not_give(texts: Texts) -> None:
    lacking = {}
    for said in said_codes():
        if said.facts is None:
            continue
        keys = [f"{family}.{said.code}" for family in FAMILIES[said.kind]]
        keys += [f"{key}.accepted" for key in keys]
        asked = {
            fact for key in keys if texts.has(key) for template in templates(texts, key) for fact in asked_for(template)
        }
        if asked - said.facts:
            lacking[said.code] = asked - said.facts
    assert lacking == {}


def test_no_sentence_holds_a_brace_or_bracket_that_means_nothing(texts: Texts) -> None:
    for key in texts.keys:
        for template in templates(texts, key):
            assert not set("{}[]") & set(PLACEHOLDER.sub("", OPTIONAL.sub(r"\1", template))), key
            assert all(PLACEHOLDER.search(part) for part in OPTIONAL.findall(template)), key


def test_a_counted_sentence_has_as_many_forms_as_the_language_asks_for(texts: Texts) -> None:
    forms = len(Locale.parse(texts.language, sep="-").plural_form.tags) + 1
    for key in texts.counted:
        assert len(templates(texts, key)) == forms, key


def test_sentences_end_and_labels_do_not(texts: Texts) -> None:
    """A sentence that is said by itself has a full stop; a word that stands inside another has none."""
    families = ("caution.", "why.", "assumption.", "fault.")
    for key in texts.keys:
        text = templates(texts, key)[-1]
        assert text == text.strip() != "", key
        if key.startswith(families):
            assert OPTIONAL.sub("", text).endswith((".", "?")), key


def test_whatever_may_not_be_found_is_named_where_it_can_be_read() -> None:
    """A kind of thing that stands in the source has a word in every language, by the test of missing sentences."""
    assert [
        ast.unparse(value)
        for value in given_as("resource")
        if not isinstance(value, ast.Constant) and not ast.unparse(value).endswith(("resource", "RESOURCE"))
    ] == []
    assert {"resource.boot model", "resource.assortment", "resource.match job"} <= wanted_keys()
