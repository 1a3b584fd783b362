"""A receipt can be read back only if it was signed here, and names what learning needs."""

import dataclasses
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.matching.worlds import SHELF, TODAY, question, questions

from hooflast.errors import ReceiptInvalid
from hooflast.matching.answering import Asker, answer_match
from hooflast.matching.match_horse import match_horse
from hooflast.matching.receipt import read_receipt, sign_receipt
from hooflast.store.ids import new_id
from hooflast.store.values import SigningKey, TenantId

NOW = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)
KEY = SigningKey(kid="k1", secret=b"s" * 32, created_at=NOW)
OTHER = SigningKey(kid="k1", secret=b"t" * 32, created_at=NOW)
TENANT = TenantId("local")


def sign(asked, key=KEY):
    answer = match_horse(asked, SHELF, today=TODAY, language="en")
    return answer, sign_receipt(answer, receipt_id=new_id(), tenant=TENANT, at=NOW, key=key)


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


class Shelved(list):
    async def keep(self, answer) -> None:
        self.append(answer)


@pytest.mark.anyio
async def test_what_is_kept_is_what_was_written():
    kept = Shelved()
    asker = Asker(tenant=TENANT, now=NOW, language="en")
    answered = await answer_match(
        question(), asker=asker, shelf=SHELF, key=KEY, keeper=kept, write=lambda answer, receipt: receipt.token.encode()
    )
    assert kept == [answered]
    assert read_receipt(answered.answer.decode(), secret_of=secret_of)["jti"] == answered.id
    assert (answered.tenant, answered.signing_key) == (TENANT, "k1")


@pytest.mark.anyio
async def test_nothing_is_kept_when_writing_fails():
    kept = Shelved()

    def fail(answer, receipt):
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        await answer_match(
            question(),
            asker=Asker(tenant=TENANT, now=NOW, language="en"),
            shelf=SHELF,
            key=KEY,
            keeper=kept,
            write=fail,
        )
    assert not kept
