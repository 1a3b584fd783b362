"""Documents: GraphQL documents read and validated once, and known by the digest of their text from then on.

Registered documents stand in a file and are known from the start. Any other is known to a process once it was sent
with its id beside it, until many newer ones have come.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Final

import msgspec
from cachetools import LRUCache
from graphql import DocumentNode, GraphQLError, GraphQLSyntaxError, parse, specified_rules, validate

from hooflast.api.graphql.errors import DocumentIdWrong, DocumentUnknown
from hooflast.api.graphql.limits import MOST_ERRORS, Limits
from hooflast.api.graphql.schema import core_schema

MOST_KEPT: Final = 500
LONGEST_KEPT: Final = 65_536
"""How many documents a process keeps, and of how many characters [C]: with the limit of tokens this bounds what they
take, as one token may be as long as a body. Longer ones are read anew each time."""

ID: Final = re.compile(r"sha256:[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """A document that was read, or what is wrong with it."""

    id: str
    document: DocumentNode | None = None
    errors: tuple[GraphQLError, ...] = ()


def id_of_text(text: str) -> str:
    """The id of a document: the digest of its exact text in UTF-8."""
    return f"sha256:{sha256(text.encode('utf-8', 'surrogatepass')).hexdigest()}"


def read_registered(raw: bytes) -> Mapping[str, str]:
    """The documents of a file: a JSON list of their texts, or a JSON object of them by their ids.

    Raises ValueError for a file of another form, and for an id that is not its document's.
    """
    try:
        listed: list[str] | dict[str, str] = msgspec.json.decode(raw, type=list[str] | dict[str, str])
    except msgspec.DecodeError as error:
        raise ValueError(str(error)) from None
    if isinstance(listed, list):
        return {id_of_text(text): text for text in listed}
    wrong = [name for name, text in listed.items() if name != id_of_text(text)]
    if wrong:
        raise ValueError(f"not the id of its document: {', '.join(wrong)}")
    return listed


class Documents:
    """What one process knows of documents."""

    def __init__(self, *, limits: Limits, registered: Mapping[str, str]) -> None:
        self._limits = limits
        self._registered = registered
        self._texts: LRUCache[str, str] = LRUCache(MOST_KEPT)
        self._prepared: LRUCache[str, Prepared] = LRUCache(MOST_KEPT)

    def find(self, *, text: str | None, document_id: str | None) -> Prepared:
        """The document that was sent, or that is known by the id. Raises DocumentUnknown, DocumentIdWrong."""
        if text is None:
            text = self._known(document_id or "")
            return self._prepare(document_id or "", text)
        own_id = id_of_text(text)
        if document_id is not None:
            if document_id != own_id:
                raise DocumentIdWrong(document=document_id, right=own_id)
            if len(text) <= LONGEST_KEPT:
                self._texts[own_id] = text
        return self._prepare(own_id, text)

    def is_registered(self, document_id: str) -> bool:
        """Whether it stands in the file of registered documents."""
        return document_id in self._registered

    def _known(self, document_id: str) -> str:
        text = self._registered.get(document_id) or self._texts.get(document_id)
        if text is None:
            raise DocumentUnknown(document=document_id)
        return text

    def _prepare(self, document_id: str, text: str) -> Prepared:
        prepared = self._prepared.get(document_id)
        if prepared is None:
            prepared = self._read(document_id, text)
            if len(text) <= LONGEST_KEPT or self.is_registered(document_id):
                self._prepared[document_id] = prepared
        return prepared

    def _read(self, document_id: str, text: str) -> Prepared:
        try:
            document = parse(text, max_tokens=self._limits.tokens)
        except GraphQLSyntaxError as error:
            return Prepared(id=document_id, errors=(error,))
        for rules in (specified_rules, self._limits.rules()):
            errors = validate(core_schema(), document, rules, max_errors=MOST_ERRORS)
            if errors:
                return Prepared(id=document_id, errors=tuple(errors))
        return Prepared(id=document_id, document=document)
