"""Secrets: what a client writes is read again, what was mistyped is no key, and nothing tells a secret.

That the check catches what it must is a property of its code: CRC-32 detects every burst of at most 32 bits (Peterson
and Brown, "Cyclic Codes for Error Detection", Proceedings of the IRE 49, 1961, theorem 4), so any change of one letter
and of two adjacent ones within what is checked.
"""

from binascii import crc32
from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.access.samples import key_ids, letters, secrets

from hooflast.access.errors import KeyMalformed
from hooflast.access.secret import digest_of, new_secret, read_key, write_key

BASE32 = "abcdefghijklmnopqrstuvwxyz234567"
written_keys = st.builds(lambda key_id, secret: write_key(key_id, secret=secret), key_ids, secrets)


@given(key_id=key_ids, secret=secrets)
def test_what_is_written_is_read_again(key_id: str, secret: str) -> None:
    presented = read_key(write_key(key_id, secret=secret))
    assert presented.key_id == key_id
    assert presented.has(digest_of(secret))


@given(key_id=key_ids, secret=secrets, other=secrets)
def test_another_secret_has_another_digest(key_id: str, secret: str, other: str) -> None:
    assume(secret != other)
    assert not read_key(write_key(key_id, secret=secret)).has(digest_of(other))


@given(written=written_keys, place=st.integers(0, 200), letter=letters)
def test_a_key_with_one_letter_mistyped_is_no_key(written: str, place: int, letter: str) -> None:
    place %= len(written)
    assume(written[place] != letter)
    with pytest.raises(KeyMalformed):
        read_key(written[:place] + letter + written[place + 1 :])


@given(written=written_keys, place=st.integers(0, 200))
def test_a_key_with_two_neighbours_swapped_is_no_key(written: str, place: int) -> None:
    place %= len(written) - 1
    assume(written[place] != written[place + 1])
    with pytest.raises(KeyMalformed):
        read_key(written[:place] + written[place + 1] + written[place] + written[place + 2 :])


def test_no_swap_where_the_check_begins_goes_unseen() -> None:
    """There the burst is longer than the theorem allows for: the 32 values of each letter are all tried.

    The check changes by what the last letter's change alone makes of it, whatever stands before: CRC-32 is linear.
    """
    for mine, theirs in product(BASE32, repeat=2):
        changed = crc32(mine.encode()) ^ crc32(theirs.encode())
        first_letters_change = (BASE32.index(mine) ^ BASE32.index(theirs)) << 27
        assert mine == theirs or changed != first_letters_change


@given(written=written_keys, start=st.integers(0, 200), end=st.integers(0, 200))
def test_a_key_that_was_cut_is_no_key(written: str, start: int, end: int) -> None:
    assume(written[start:end] != written)
    with pytest.raises(KeyMalformed):
        read_key(written[start:end])


@given(written=written_keys, more=st.text(min_size=1, max_size=5))
def test_a_key_with_more_behind_or_before_it_is_no_key(written: str, more: str) -> None:
    for wrong in (written + more, more + written):
        with pytest.raises(KeyMalformed):
            read_key(wrong)


@given(st.text(max_size=200))
def test_whatever_comes_is_a_key_or_is_refused_without_being_repeated(written: str) -> None:
    with pytest.raises(KeyMalformed) as refused:
        read_key(written)
    assert vars(refused.value) == {}


@given(written=written_keys)
def test_what_was_presented_does_not_show_its_secret(written: str) -> None:
    shown = repr(read_key(written))
    assert written[-59:] not in shown
    assert "digest" not in shown


def test_each_secret_is_new_and_has_256_bits() -> None:
    made = {new_secret() for _ in range(100)}
    assert len(made) == 100
    assert {len(secret) for secret in made} == {52}
    assert set("".join(made)) == set(BASE32)
