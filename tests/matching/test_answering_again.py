"""A kept question answered again gives the document that was kept, id and receipt apart."""

from dataclasses import replace
from datetime import UTC, datetime, time

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.matching.worlds import SHELF, TODAY, Kept, boot, desk, question, questions, shelf_of

from hooflast.catalog.values import ReleaseId
from hooflast.exchange import AnswerWriter, MatchAnswerDocument, match_document
from hooflast.matching.answering import Asker, answer_match
from hooflast.matching.answering_again import answer_again
from hooflast.matching.errors import CannotAnswerAgain
from hooflast.matching.question import MatchQuestion, TryFrom
from hooflast.store.values import KeptAnswer, SigningKey, TenantId
from hooflast.texts import load_texts
from hooflast.units import Unit

pytestmark = pytest.mark.anyio

TEXTS = load_texts("en")
NOW = datetime.combine(TODAY, time(23, 59), tzinfo=UTC)


async def keep(asked: MatchQuestion) -> KeptAnswer:
    keeper = Kept()
    await answer_match(
        b"",
        read=lambda _: asked,
        asker=Asker(tenant=TenantId("local"), now=NOW, language="en"),
        desk=desk(keeper),
        key=SigningKey(kid="one", secret=b"s" * 32, created_at=NOW),
        writer=AnswerWriter(texts=TEXTS),
    )
    (kept,) = keeper
    return kept


@settings(max_examples=40, deadline=None)
@given(
    questions,
    st.sampled_from(Unit),
    st.sampled_from(TryFrom),
    st.none() | st.floats(900.0, 2400.0),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=20),
)
async def test_it_is_the_same_document(
    asked: MatchQuestion, unit: Unit, try_from: TryFrom, girth_mm: float | None, name: str
) -> None:
    kept = await keep(replace(asked, unit=unit, try_from=try_from, girth_mm=girth_mm, horse_name=name))
    again = match_document(answer_again(kept, shelf=SHELF, language="en"), receipt=None, texts=TEXTS)
    before = msgspec.json.decode(kept.answer.whole, type=MatchAnswerDocument)
    assert again == msgspec.structs.replace(before, id=None, receipt=None)


@settings(max_examples=20, deadline=None)
@given(questions)
async def test_it_is_the_same_question(asked: MatchQuestion) -> None:
    assert answer_again(await keep(asked), shelf=SHELF, language="en").question == asked


@pytest.mark.parametrize(
    "change",
    [
        {"catalog_release": ReleaseId("sha256-" + "9" * 64)},
        {"engine": "fit-0"},
        {"calibration": "another"},
        {"question": b'{"horse_name":"Bramble"}'},
        {"question": b"{"},
    ],
)
async def test_what_can_no_longer_be_answered_as_it_was_is_refused(change: dict[str, object]) -> None:
    kept = replace(await keep(question()), **change)  # type: ignore[arg-type]
    with pytest.raises(CannotAnswerAgain) as caught:
        answer_again(kept, shelf=SHELF, language="en")
    assert caught.value.match == kept.id


async def test_it_is_answered_from_its_own_catalog_release_whatever_else_is_here() -> None:
    kept = await keep(question())
    other = shelf_of(boot("yonder"))
    other = replace(other, release=replace(other.release, id=ReleaseId("sha256-" + "2" * 64)))
    for elsewhere in (other, None):
        with pytest.raises(CannotAnswerAgain):
            answer_again(kept, shelf=elsewhere, language="en")
    answer = answer_again(kept, shelf=SHELF, language="en")
    assert answer.versions.catalog_release == SHELF.release.id
