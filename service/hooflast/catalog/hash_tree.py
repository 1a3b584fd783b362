"""Hash tree: one digest over a list of entries, from which each entry can be proved alone.

The Merkle tree of Certificate Transparency (RFC 9162, section 2.1): MTH({}) = SHA-256(); MTH({d}) = SHA-256(0x00 ‖ d);
MTH(D[n]) = SHA-256(0x01 ‖ MTH(D[0:k]) ‖ MTH(D[k:n])), with k the largest power of two below n. An entry's proof is the
digests beside its way to the root, from the leaf up: as many as the tree is deep.
"""

from collections.abc import Sequence
from hashlib import sha256

EMPTY = sha256().digest()


def leaf_digest(entry: bytes) -> bytes:
    """The digest of one entry."""
    return sha256(b"\x00" + entry).digest()


def root_of(leaves: Sequence[bytes]) -> bytes:
    """The digest over all leaves, in their order."""
    levels = levels_of(leaves)
    return levels[-1][0] if levels else EMPTY


def levels_of(leaves: Sequence[bytes]) -> list[list[bytes]]:
    """All digests of the tree, level by level from the leaves to the root; the last of an odd level moves up as it is.

    That is the same tree: a level's pairs are the subtrees of a power of two, and what is left over waits for a later
    one.
    """
    levels = [list(leaves)] if leaves else []
    while levels and len(levels[-1]) > 1:
        below = levels[-1]
        above = [_node(below[place], below[place + 1]) for place in range(0, len(below) - 1, 2)]
        levels.append(above + below[len(above) * 2 :])
    return levels


def proof_of(levels: Sequence[Sequence[bytes]], *, index: int) -> tuple[bytes, ...]:
    """The digests that lead from one leaf to the root of the tree that `levels_of` gives."""
    proof = []
    for level in levels[:-1]:
        beside = index ^ 1
        if beside < len(level):
            proof.append(level[beside])
        index //= 2
    return tuple(proof)


def root_from(leaf: bytes, *, index: int, size: int, proof: Sequence[bytes]) -> bytes | None:
    """The root that a proof leads to from a leaf of a tree of so many; None if it cannot be a proof of one."""
    if not 0 <= index < size:
        return None
    digest, last, left = leaf, size - 1, list(proof)
    while last:
        if index % 2 or index < last:
            if not left:
                return None
            beside = left.pop(0)
            digest = _node(beside, digest) if index % 2 else _node(digest, beside)
        index, last = index // 2, last // 2
    return None if left else digest


def _node(left: bytes, right: bytes) -> bytes:
    return sha256(b"\x01" + left + right).digest()
