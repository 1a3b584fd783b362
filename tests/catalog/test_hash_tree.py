"""Hash tree: the root of published examples, every entry proved from it alone, and nothing else proved."""

from hashlib import sha256

from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.hash_tree import EMPTY, leaf_digest, levels_of, proof_of, root_from, root_of

ENTRIES = [
    bytes.fromhex(written)
    for written in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
]
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
"""Roots of the first 1 to 8 entries, of the tests of Certificate Transparency's reference implementation [M]."""

leaves = st.lists(st.binary(max_size=4).map(leaf_digest), min_size=1, max_size=40)


def test_the_roots_of_the_published_entries_are_the_published_ones() -> None:
    found = [root_of([leaf_digest(entry) for entry in ENTRIES[:count]]).hex() for count in range(1, 9)]
    assert found == ROOTS


def recursive(found: list[bytes]) -> bytes:
    """MTH as RFC 9162, section 2.1.1, writes it, of leaves hashed already."""
    if len(found) == 1:
        return found[0]
    split = 1
    while split * 2 < len(found):
        split *= 2
    return sha256(b"\x01" + recursive(found[:split]) + recursive(found[split:])).digest()


@given(leaves)
def test_the_root_is_that_of_the_definition(found: list[bytes]) -> None:
    assert root_of(found) == recursive(found)
    assert root_of([]) == EMPTY


@given(leaves, st.data())
def test_every_leaf_is_proved_with_as_many_digests_as_the_tree_is_deep_at_most(
    found: list[bytes], data: st.DataObject
) -> None:
    levels, index = levels_of(found), data.draw(st.integers(0, len(found) - 1))
    proof = proof_of(levels, index=index)
    assert root_from(found[index], index=index, size=len(found), proof=proof) == root_of(found)
    assert len(proof) <= (len(found) - 1).bit_length()


@given(leaves, st.data())
def test_a_proof_of_another_leaf_place_size_or_way_does_not_lead_to_the_root(
    found: list[bytes], data: st.DataObject
) -> None:
    index, size = data.draw(st.integers(0, len(found) - 1)), len(found)
    proof = proof_of(levels_of(found), index=index)
    root = root_of(found)
    assert root_from(leaf_digest(b"another"), index=index, size=size, proof=proof) != root
    assert root_from(found[index], index=index, size=size, proof=(*proof, proof[0] if proof else root)) is None
    for place in range(len(proof)):
        bent = [one if at != place else leaf_digest(one) for at, one in enumerate(proof)]
        assert root_from(found[index], index=index, size=size, proof=bent) != root
        assert root_from(found[index], index=index, size=size, proof=proof[:place] + proof[place + 1 :]) != root


@given(st.integers(-3, 40), st.integers(0, 20))
def test_a_place_outside_the_tree_proves_nothing(index: int, size: int) -> None:
    if not 0 <= index < size:
        assert root_from(leaf_digest(b""), index=index, size=size, proof=()) is None
