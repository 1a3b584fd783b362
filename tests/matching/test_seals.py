"""Seals: anybody can verify one record alone with the public key, and nothing that was changed passes."""

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from hashlib import sha256
from typing import Any

import jwt
import pytest
import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from tests.matching.worlds import boot, release_of

from hooflast.catalog.comparing import RecordKind
from hooflast.catalog.lifecycle import Eyes, Signature
from hooflast.catalog.provenance import RecordProof, provenance_of, record_of, write_record
from hooflast.catalog.release import write_release
from hooflast.catalog.values import BootId, CatalogRelease, Range, ReleaseId
from hooflast.errors import NotFound
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.provenance_document import record_document, seal_document
from hooflast.matching.errors import SealInvalid
from hooflast.matching.proving import prove
from hooflast.matching.publishing import publish_new, publish_sealed, sealing
from hooflast.matching.seals import (
    PublicKey,
    key_set,
    make_seal_key,
    public_key_of,
    read_seal,
    require_sealed,
    require_whole,
    seal_release,
    thumbprint,
)
from hooflast.store import ReleaseDamaged, Store, open_store

NOW = datetime(2026, 5, 1, tzinfo=UTC)
BY = Signature(by="mossgate", at=NOW)
KEY = make_seal_key(now=NOW)
RELEASE = release_of(boot("amble"), boot("brook"), boot("clover"))
SEAL = seal_release(RELEASE, digest="0" * 64, at=NOW, key=KEY)
TREE = provenance_of(RELEASE)

RFC_8037_D = "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A"
RFC_8037_X = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"
RFC_8037_THUMBPRINT = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
RFC_8037_TOKEN = (
    "eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc."
    "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg"
)
"""Appendix A of RFC 8037 [M]: a private key, its public key, that one's thumbprint, and a text signed with it."""


def decoded(written: str) -> bytes:
    return urlsafe_b64decode(written + "=" * (-len(written) % 4))


def keys(*known: PublicKey) -> Callable[[str], PublicKey | None]:
    return {key.kid: key for key in known}.get


OURS = keys(public_key_of(KEY))


class TestPublishedExamples:
    def test_the_public_key_and_its_thumbprint(self) -> None:
        public = Ed25519PrivateKey.from_private_bytes(decoded(RFC_8037_D)).public_key().public_bytes_raw()
        assert (public, thumbprint(public)) == (decoded(RFC_8037_X), RFC_8037_THUMBPRINT)

    def test_the_signature_is_made_and_verified_by_the_library_that_seals(self) -> None:
        private = Ed25519PrivateKey.from_private_bytes(decoded(RFC_8037_D))
        head, body, signature = RFC_8037_TOKEN.split(".")
        assert private.sign(f"{head}.{body}".encode()) == decoded(signature)
        public = jwt.PyJWK({"kty": "OKP", "crv": "Ed25519", "x": RFC_8037_X})
        assert jwt.PyJWS().decode(RFC_8037_TOKEN, public.key, algorithms=["EdDSA"]) == b"Example of Ed25519 signing"


class TestASeal:
    def test_it_names_the_release_and_proves_every_record(self) -> None:
        sealed = read_seal(SEAL.token, release=RELEASE.id, key_of=OURS)
        assert (sealed.catalog_release, sealed.size) == (RELEASE.id, len(TREE.statements))
        require_whole(TREE, by=sealed, release=RELEASE.id)
        for index in range(len(TREE.statements)):
            require_sealed(TREE.proof(index), by=sealed, release=RELEASE.id)

    def test_one_of_another_key_release_or_kind_is_refused(self) -> None:
        another = make_seal_key(now=NOW)
        forged = seal_release(RELEASE, digest="0" * 64, at=NOW, key=replace(another, kid=KEY.kid))
        plain = jwt.PyJWS().encode(b"{}", Ed25519PrivateKey.from_private_bytes(KEY.private), "EdDSA", {"kid": KEY.kid})
        for token, release, known in [
            (SEAL.token, RELEASE.id, keys(public_key_of(another))),
            (SEAL.token, ReleaseId("sha256-00"), OURS),
            (forged.token, RELEASE.id, OURS),
            (plain, RELEASE.id, OURS),
            ("", RELEASE.id, OURS),
        ]:
            with pytest.raises(SealInvalid):
                read_seal(token, release=release, key_of=known)

    @pytest.mark.parametrize("part", [0, 1, 2])
    def test_with_any_of_its_parts_changed_it_is_refused(self, part: int) -> None:
        parts = SEAL.token.split(".")
        changed = bytearray(decoded(parts[part]))
        changed[len(changed) // 2] ^= 1
        parts[part] = urlsafe_b64encode(bytes(changed)).rstrip(b"=").decode()
        with pytest.raises(SealInvalid):
            read_seal(".".join(parts), release=RELEASE.id, key_of=OURS)

    def test_without_a_signature_it_is_refused(self) -> None:
        head = urlsafe_b64encode(json.dumps({"alg": "none", "kid": KEY.kid, "typ": "hooflast-seal"}).encode())
        token = f"{head.rstrip(b'=').decode()}.{SEAL.token.split('.')[1]}."
        with pytest.raises(SealInvalid):
            read_seal(token, release=RELEASE.id, key_of=OURS)

    @pytest.mark.parametrize(
        "change",
        [
            {"id": "brooke"}, {"record_sha256": "0" * 64}, {"plugin": "another"}, {"plugin_version": "9"},
            {"source": "another.json"}, {"retrieved_on": date(2026, 1, 2)}, {"source_sha256": "1" * 64},
            {"kind": RecordKind.MAKER},
        ],
    )  # fmt: skip
    def test_a_statement_with_anything_changed_is_not_proved(self, change: dict[str, Any]) -> None:
        sealed = read_seal(SEAL.token, release=RELEASE.id, key_of=OURS)
        proof = TREE.proof_of(RecordKind.BOOT, "brook")
        require_sealed(proof, by=sealed, release=RELEASE.id)
        with pytest.raises(SealInvalid):
            require_sealed(replace(proof, statement=replace(proof.statement, **change)), by=sealed, release=RELEASE.id)

    def test_a_record_with_its_chart_changed_is_not_what_was_sealed(self) -> None:
        sealed = read_seal(SEAL.token, release=RELEASE.id, key_of=OURS)
        brook = RELEASE.boots[BootId("brook")]
        wider = replace(brook.sizes[0], width=Range(low_mm=95, high_mm=103))
        boots = {**RELEASE.boots, brook.id: replace(brook, sizes=(wider, *brook.sizes[1:]))}
        with pytest.raises(SealInvalid):
            require_whole(provenance_of(replace(RELEASE, boots=boots)), by=sealed, release=RELEASE.id)

    def test_a_record_left_out_or_added_is_noticed(self) -> None:
        sealed = read_seal(SEAL.token, release=RELEASE.id, key_of=OURS)
        for changed in (
            release_of(boot("amble"), boot("brook")),
            release_of(*map(boot, ("amble", "brook", "clover", "d"))),
        ):
            with pytest.raises(SealInvalid):
                require_whole(provenance_of(changed), by=sealed, release=RELEASE.id)

    def test_what_is_not_there_has_no_proof(self) -> None:
        with pytest.raises(NotFound):
            TREE.proof_of(RecordKind.BOOT, "dapple")
        with pytest.raises(NotFound):
            record_of(RELEASE, kind=RecordKind.MAKER, record_id="brook")

    def test_the_private_key_is_never_shown(self) -> None:
        assert KEY.private.hex() not in repr(KEY)
        assert set(key_set([public_key_of(KEY)])["keys"][0]) == {"kty", "crv", "x", "kid", "use", "alg"}


def verified_by_a_stranger(answer: dict[str, Any], *, key_sets: dict[str, Any]) -> bool:
    """What a client does with the answer, the keys, and libraries of its own."""
    claimed = next(
        key for key in key_sets["keys"] if key["kid"] == jwt.get_unverified_header(answer["seal"]["token"])["kid"]
    )
    try:
        signed = jwt.PyJWS().decode(answer["seal"]["token"], jwt.PyJWK(claimed).key, algorithms=["EdDSA"])
    except jwt.InvalidTokenError:
        return False
    sealed = json.loads(signed)
    if sha256(rfc8785.dumps(answer["record"])).hexdigest() != answer["statement"]["record_sha256"]:
        return False
    digest = sha256(b"\x00" + rfc8785.dumps(answer["statement"])).digest()
    index, last = answer["index"], sealed["size"] - 1
    beside = [bytes.fromhex(one) for one in answer["proof"]]
    while last:
        if index % 2:
            digest = sha256(b"\x01" + beside.pop(0) + digest).digest()
        elif index < last:
            digest = sha256(b"\x01" + digest + beside.pop(0)).digest()
        index, last = index // 2, last // 2
    return (digest.hex(), sealed["catalog_release"]) == (sealed["root"], answer["catalog_release"]) and not beside


def answer_of(proof: RecordProof) -> dict[str, Any]:
    record = record_of(RELEASE, kind=proof.statement.kind, record_id=proof.statement.id)
    sealed = read_seal(SEAL.token, release=RELEASE.id, key_of=OURS)
    seal = seal_document(SEAL.token, kid=SEAL.kid, sealed=sealed)
    written: dict[str, Any] = json.loads(encode(record_document(proof, record=record, seal=seal, release=RELEASE.id)))
    return written


@pytest.mark.parametrize("index", range(len(TREE.statements)))
def test_a_stranger_verifies_one_record_from_its_answer_alone(index: int) -> None:
    answer = answer_of(TREE.proof(index))
    ours, theirs = key_set([public_key_of(KEY)]), key_set([replace(public_key_of(make_seal_key(now=NOW)), kid=KEY.kid)])
    assert verified_by_a_stranger(answer, key_sets=ours)
    assert not verified_by_a_stranger(answer, key_sets=theirs)
    for path in (("record", "name"), ("statement", "source"), ("statement", "plugin"), ("catalog_release",)):
        bent = json.loads(json.dumps(answer))
        at = bent
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = "something else"
        assert not verified_by_a_stranger(bent, key_sets=ours)


def test_what_is_hashed_of_a_record_is_canonical_json() -> None:
    for one in RELEASE.boots.values():
        written = write_record(one)
        assert rfc8785.dumps(json.loads(written)) == written


@pytest.fixture
async def store(anyio_backend: str, database_url: str) -> AsyncIterator[Store]:
    async with open_store(database_url) as opened:
        yield opened


async def checked(release: CatalogRelease, *, store: Store) -> None:
    await publish_new([release], releases=store.releases, signature=replace(BY, by="juniper"), eyes=Eyes.FOUR)


@pytest.mark.anyio
class TestInTheStore:
    async def test_what_is_published_is_sealed_and_proves_itself(self, store: Store) -> None:
        await checked(RELEASE, store=store)
        assert await store.releases.seal(RELEASE.id) is None
        with pytest.raises(NotFound):
            await prove(RELEASE, store=store)
        await publish_sealed(RELEASE.id, store=store, signature=BY)
        proved = await prove(await store.releases.read(RELEASE.id), store=store)
        assert (proved.sealed.iat, proved.tree.root) == (int(NOW.timestamp()), TREE.root)

    async def test_a_retired_key_still_verifies_what_it_sealed(self, store: Store) -> None:
        await checked(RELEASE, store=store)
        await publish_sealed(RELEASE.id, store=store, signature=BY)
        renewed = await store.seal_keys.renew(make=lambda: make_seal_key(now=NOW), now=NOW)
        assert (await store.seal_keys.ensure_first(make=lambda: make_seal_key(now=NOW))).kid == renewed.kid
        assert (await prove(RELEASE, store=store)).seal.kid != renewed.kid

    async def test_a_seal_of_other_content_publishes_nothing(self, store: Store) -> None:
        await checked(RELEASE, store=store)
        seal = (await sealing(store, at=NOW))(RELEASE, "0" * 64)
        with pytest.raises(ReleaseDamaged):
            await store.releases.publish(RELEASE.id, signature=BY, seal=seal)
        assert (await store.releases.active()).release is None

    async def test_records_that_came_from_elsewhere_are_not_what_was_sealed(self, store: Store) -> None:
        await checked(RELEASE, store=store)
        await publish_sealed(RELEASE.id, store=store, signature=BY)
        moved = {
            key: replace(one, provenance=replace(one.provenance, source="elsewhere.json"))
            for key, one in RELEASE.boots.items()
        }
        with pytest.raises(SealInvalid):
            await prove(replace(RELEASE, boots=moved), store=store)

    async def test_staged_anew_from_elsewhere_it_is_sealed_anew(self, store: Store) -> None:
        await checked(RELEASE, store=store)
        await publish_sealed(RELEASE.id, store=store, signature=BY)
        first = await store.releases.seal(RELEASE.id)
        moved = replace(
            RELEASE,
            makers={
                key: replace(one, provenance=replace(one.provenance, version="2"))
                for key, one in RELEASE.makers.items()
            },
        )
        other = release_of(boot("dapple"))
        await checked(other, store=store)
        await publish_sealed(other.id, store=store, signature=BY)
        await store.releases.withdraw(RELEASE.id, signature=BY)
        await store.releases.stage(write_release(moved), signature=BY)
        await store.releases.mark_checked(RELEASE.id, report=b"", signature=BY)
        await publish_sealed(RELEASE.id, store=store, signature=BY)
        assert await store.releases.seal(RELEASE.id) != first
        await prove(moved, store=store)
