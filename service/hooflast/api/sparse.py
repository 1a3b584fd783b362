"""Sparse: answers with some members alone, for clients that want no more (`?fields=id,name`).

What has only some of its members is no longer the document that it was, so it has a media type of its own.
"""

from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final

import msgspec

from hooflast.api.parameters import Parameter, ParameterUnreadable

MEDIA_TYPE: Final = "application/vnd.hooflast.sparse+json"
NAME: Final = "fields"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fields:
    """The members that are wished for, of what stands under `member` of a document (empty: of the document itself)."""

    names: frozenset[str]
    member: str

    def __str__(self) -> str:
        return ",".join(sorted(self.names))

    def of(self, document: object) -> object:
        """The document with these members alone, as plain values."""
        whole: Any = msgspec.to_builtins(document)
        if not self.member:
            return self._thin(whole)
        inside = whole[self.member]
        thin = [self._thin(one) for one in inside] if isinstance(inside, list) else self._thin(inside)
        return {**whole, self.member: thin}

    def _thin(self, value: dict[str, object]) -> dict[str, object]:
        return {name: inside for name, inside in value.items() if name in self.names}


def fields_of(document: type[msgspec.Struct], *, member: str = "") -> Parameter[Fields]:
    """The parameter that chooses members of `document`, which stands under `member` of the answer."""
    known = tuple(field.encode_name for field in msgspec.structs.fields(document))

    def read(text: str) -> Fields:
        names = text.split(",")
        for name in names:
            if name not in known:
                found = get_close_matches(name, known, n=1)
                closest = {"closest": found[0]} if found else {}
                raise ParameterUnreadable("parameter-not-one-of", choices=", ".join(known), **closest)
        return Fields(names=frozenset(names), member=member)

    one = "|".join(known)
    where = f"each of `{member}`" if member == "items" else f"`{member}`" if member else "the answer"
    return Parameter(
        name=NAME,
        meaning=f"Which members of {where} are wished for, with commas between them; left out: all.",
        schema={"type": "string", "pattern": f"^({one})(,({one}))*$"},
        read=read,
        examples=(",".join(known[:2]),),
    )
