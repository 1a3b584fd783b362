"""Errors of the store keep their facts: in their sentence, and on the way from another process."""

import pickle
from dataclasses import fields

import pytest

from hooflast.store import StoreError

KINDS: list[type[StoreError]] = sorted(StoreError.__subclasses__(), key=lambda kind: kind.__name__)


def test_every_kind_has_a_code_of_its_own() -> None:
    codes = [StoreError.code, *(kind.code for kind in KINDS)]
    assert len(set(codes)) == len(codes)


@pytest.mark.parametrize("kind", KINDS)
def test_the_sentence_holds_every_fact_and_survives_pickling(kind: type[StoreError]) -> None:
    facts = {field.name: f"fact-{number}" for number, field in enumerate(fields(kind))}  # type: ignore[arg-type]
    error = kind.from_fields(facts)
    assert [fact for fact in facts.values() if fact not in str(error)] == []
    arrived = pickle.loads(pickle.dumps(error))
    assert type(arrived) is kind
    assert str(arrived) == str(error)
