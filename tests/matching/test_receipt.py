"""A receipt can be read back only if it was signed here, and names what learning needs."""

import asyncio
import dataclasses
import json
import threading
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jwt.api_jws import PyJWS
from tests.matching.worlds import SHELF, TODAY, Kept, desk, question, questions, reading

from hooflast.errors import InputRefused, ReceiptInvalid
from hooflast.exchange import AnswerWriter, write_match_answer
from hooflast.fit.boot import IntendedUse
from hooflast.fit.hoof import Limb
from hooflast.matching.answering import WORKING_AT_ONCE, Asker, answer_match
from hooflast.matching.match_horse import match_horse
from hooflast.matching.memo import Memo
from hooflast.matching.receipt import read_receipt, receipt_facts, sign_receipt
from hooflast.store.ids import new_id
from hooflast.store.values import SigningKey, TenantId
from hooflast.texts import load_texts
from hooflast.units import Unit

NOW = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)
KEY = SigningKey(kid="k1", secret=b"s" * 32, created_at=NOW)
OTHER = SigningKey(kid="k1", secret=b"t" * 32, created_at=NOW)
TENANT = TenantId("local")


def sign(asked, key=KEY):
    answer = match_horse(asked, SHELF, today=TODAY, language="en")
    return answer, sign_receipt(receipt_facts(answer), receipt_id=new_id(), tenant=TENANT, at=NOW, key=key)


def secret_of(kid: str) -> bytes | None:
    return KEY.secret if kid == KEY.kid else None


@settings(max_examples=20, deadline=None)
@given(questions)
def test_a_receipt_reads_back_as_the_readings_their_uncertainty_and_the_sizes_shown(asked):
    answer, receipt = sign(asked)
    payload = read_receipt(receipt.token, secret_of=secret_of)
    assert payload["jti"] == receipt.id
    assert payload["catalog_release"] == SHELF.release.id
    for hoof, signed in zip(answer.hooves, payload["hooves"], strict=True):
        assert signed["limb"] == hoof.reading.limb
        assert signed["uncertainty_mm"][0] == pytest.approx(hoof.width.standard_uncertainty_mm, abs=5e-4)
        assert [shown["boot"] for shown in signed["shown"]] == [fit.boot.id for fit in hoof.boots]
        assert all(
            shown["sizes"][0] == fit.best.size.code for shown, fit in zip(signed["shown"], hoof.boots, strict=True)
        )


@given(kid=st.text(min_size=1, max_size=40), secret=st.binary(min_size=32, max_size=64))
def test_another_implementation_of_rfc_7515_verifies_a_receipt(kid, secret):
    key = SigningKey(kid=kid, secret=secret, created_at=NOW)
    token = sign_receipt(b'{"engine":"fit"}', receipt_id=new_id(), tenant=TENANT, at=NOW, key=key).token
    header, payload = PyJWS().get_unverified_header(token), PyJWS().decode(token, secret, algorithms=["HS256"])
    assert header == {"alg": "HS256", "kid": kid, "typ": "JWT"}
    assert json.loads(payload)["engine"] == "fit"


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_receipt_changed_in_any_one_place_is_refused(data):
    _, receipt = sign(question())
    at = data.draw(st.integers(0, len(receipt.token) - 2))
    letter = data.draw(st.sampled_from("AbC019-_"))
    changed = receipt.token[:at] + letter + receipt.token[at + 1 :]
    if changed != receipt.token:
        with pytest.raises(ReceiptInvalid):
            read_receipt(changed, secret_of=secret_of)


@given(st.text(max_size=60))
def test_what_is_no_receipt_is_refused_as_one(text):
    with pytest.raises(ReceiptInvalid):
        read_receipt(text, secret_of=secret_of)


def test_a_receipt_signed_with_another_secret_or_an_unknown_key_is_refused():
    _, foreign = sign(question(), OTHER)
    _, unknown = sign(question(), dataclasses.replace(KEY, kid="k2"))
    for receipt in (foreign, unknown):
        with pytest.raises(ReceiptInvalid):
            read_receipt(receipt.token, secret_of=secret_of)


class Writer:
    """Writes the receipt's token, and then the number of hooves."""

    def __init__(self) -> None:
        self.written = self.hooves = 0

    def head(self, receipt, /) -> bytes:
        return receipt.token.encode()

    def hoof(self, hoof, /, *, question) -> bytes:
        self.hooves += 1
        return hoof.reading.limb.encode()

    def rest(self, answer, /, *, hooves) -> bytes:
        self.written += 1
        return b" %d" % len(hooves)


class Failing(Writer):
    def rest(self, answer, /, *, hooves) -> bytes:
        raise OSError("disk full")


async def ask(asked, *, keeper, writer, memo=None, now=NOW, language="en", at=None):
    """Ask a question whose request is its own text."""
    return await answer_match(
        repr(asked).encode(),
        read=lambda _: asked,
        asker=Asker(tenant=TENANT, now=now, language=language),
        desk=at or desk(keeper, memo=memo),
        key=KEY,
        writer=writer,
    )


@pytest.mark.anyio
async def test_what_is_kept_is_what_is_sent():
    keeper = Kept()
    answered = await ask(question(), keeper=keeper, writer=Writer())
    (kept,) = keeper
    token, hooves = answered.body.decode().split()
    assert kept.answer.whole == answered.body
    assert (kept.id, kept.tenant, kept.signing_key, hooves) == (answered.id, TENANT, "k1", "1")
    assert read_receipt(token, secret_of=secret_of)["jti"] == answered.id


@pytest.mark.anyio
async def test_nothing_is_kept_when_writing_fails():
    keeper = Kept()
    with pytest.raises(OSError, match="disk full"):
        await ask(question(), keeper=keeper, writer=Failing(), memo=Memo(100_000))
    assert not keeper


@pytest.mark.anyio
async def test_an_unknown_catalog_release_is_a_fault_at_its_place():
    with pytest.raises(InputRefused) as refused:
        await ask(question(catalog_release="sha256-0"), keeper=Kept(), writer=Writer())
    assert [fault.pointer for fault in refused.value.faults] == ["/catalog_release"]


@pytest.mark.anyio
async def test_the_same_request_is_worked_out_once_and_signed_and_kept_each_time():
    keeper, writer, memo = Kept(), Writer(), Memo(100_000)
    one, other = [await ask(question(), keeper=keeper, writer=writer, memo=memo) for _ in range(2)]
    assert writer.written == 1
    assert len(keeper) == 2
    assert one.id != other.id
    assert keeper[0].question == keeper[1].question
    assert keeper[0].answer.packed == keeper[1].answer.packed


@pytest.mark.anyio
@pytest.mark.parametrize(
    "other",
    [
        {"asked": question(reading(width=124.5))},
        {"asked": question(boots_per_hoof=1)},
        {"asked": question(horse_name="Moth")},
        {"now": NOW + timedelta(days=1)},
        {"language": "de"},
    ],
)
async def test_whatever_an_answer_depends_on_makes_another_question(other):
    writer, memo = Writer(), Memo(100_000)
    await ask(question(), keeper=Kept(), writer=writer, memo=memo)
    told = {"asked": question()} | other
    await ask(told.pop("asked"), keeper=Kept(), writer=writer, memo=memo, **told)
    assert writer.written == 2


@pytest.mark.anyio
async def test_a_memo_of_no_bytes_remembers_nothing():
    writer, memo = Writer(), Memo(0)
    for _ in range(2):
        await ask(question(), keeper=Kept(), writer=writer, memo=memo)
    assert writer.written == 2


FOUR = tuple(reading(limb) for limb in Limb)


@pytest.mark.anyio
async def test_a_hoof_is_worked_out_once_whatever_horse_it_belongs_to():
    writer, memo = Writer(), Memo(1_000_000)
    await ask(question(*FOUR), keeper=Kept(), writer=writer, memo=memo)
    await ask(question(*FOUR[:2], horse_name="Moth", girth_mm=1800.0), keeper=Kept(), writer=writer, memo=memo)
    await ask(question(reading(Limb.LF, width=125.0), FOUR[1]), keeper=Kept(), writer=writer, memo=memo)
    assert (writer.written, writer.hooves) == (3, 5)


@pytest.mark.anyio
@pytest.mark.parametrize(
    "other",
    [
        {"asked": question(boots_per_hoof=1)},
        {"asked": question(uses=frozenset({IntendedUse.ROAD}))},
        {"asked": question(unit=Unit.INCH)},
        {"asked": question(is_foal=True)},
        {"now": NOW + timedelta(days=1)},
        {"language": "de"},
    ],
)
async def test_whatever_a_hoof_depends_on_makes_another_hoof(other):
    writer, memo = Writer(), Memo(1_000_000)
    await ask(question(), keeper=Kept(), writer=writer, memo=memo)
    told = {"asked": question()} | other
    await ask(told.pop("asked"), keeper=Kept(), writer=writer, memo=memo, **told)
    assert writer.hooves == 2


@pytest.mark.anyio
async def test_a_remembered_hoof_is_written_as_one_worked_out_anew():
    memo = Memo(1_000_000)
    writer = AnswerWriter(texts=load_texts("en"))
    await ask(question(*FOUR), keeper=Kept(), writer=writer, memo=memo)
    asked = question(FOUR[3], FOUR[0], horse_name="Moth")
    remembered, anew = Kept(), Kept()
    await ask(asked, keeper=remembered, writer=writer, memo=memo)
    await ask(asked, keeper=anew, writer=writer)
    assert remembered[0].answer.packed == anew[0].answer.packed


@pytest.mark.anyio
async def test_the_same_question_asked_by_many_at_once_is_worked_out_once_for_all_who_wait():
    writer, memo, keeper = Writer(), Memo(1_000_000), Kept()
    place = desk(keeper, memo=memo)
    await asyncio.gather(*(ask(question(), keeper=keeper, writer=writer, at=place) for _ in range(12)))
    assert len(keeper) == 12
    assert writer.written <= WORKING_AT_ONCE


@pytest.mark.anyio
async def test_what_is_remembered_by_hoof_is_written_as_the_whole_match_is():
    """Each limb after the others, under another horse's name: what is said must be of this limb and this horse."""
    memo, texts, keeper = Memo(10_000_000), load_texts("en"), Kept()
    for limb in Limb:
        asked = question(reading(limb, width=117.0, length=131.0), horse_name=f"horse of {limb}")
        await ask(asked, keeper=keeper, writer=AnswerWriter(texts=texts), memo=memo)
        told = json.loads(keeper[-1].answer.whole)
        answer = match_horse(asked, SHELF, today=TODAY, language="en")
        whole = json.loads(write_match_answer(answer, receipt=None, texts=texts))
        assert told | {"id": None, "receipt": None} == whole


@pytest.mark.anyio
async def test_an_answer_is_worked_out_in_a_thread_and_a_remembered_one_in_none():
    threads = []

    class Noting(Writer):
        def rest(self, answer, /, *, hooves) -> bytes:
            threads.append(threading.get_ident())
            return super().rest(answer, hooves=hooves)

    memo = Memo(1_000_000)
    for _ in range(2):
        await ask(question(), keeper=Kept(), writer=Noting(), memo=memo)
    assert len(threads) == 1
    assert threads[0] != threading.get_ident()
