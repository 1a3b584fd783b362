"""Errors of GraphQL: why a document is not answered at all.

HooflastError
└── RequestNotAnswered
    ├── DocumentRefused        the document cannot be read, does not go with the schema, or is too much
    ├── VariablesRefused       its variables do not go with it
    ├── DocumentTooCostly      answering it would cost more than may be
    ├── DocumentUnknown        no document is known here by that id
    ├── DocumentIdWrong        the id is not that of the document beside it
    └── DocumentNotRegistered  pages may only use the documents that were registered, and this is none of them
"""

from dataclasses import dataclass
from typing import ClassVar

from hooflast.errors import HooflastError


class RequestNotAnswered(HooflastError):
    """Catch this to catch every refusal of a whole GraphQL request."""

    code: ClassVar[str] = "graphql-not-answered"


@dataclass(kw_only=True, eq=False)
class DocumentRefused(RequestNotAnswered, ValueError):
    """The document cannot be read, or does not go with the schema, and why."""

    code: ClassVar[str] = "document-refused"
    reason: str

    def __str__(self) -> str:
        return self.reason


@dataclass(kw_only=True, eq=False)
class VariablesRefused(RequestNotAnswered, ValueError):
    """The variables do not go with the document, or do not tell which operation is meant, and why."""

    code: ClassVar[str] = "variables-refused"
    reason: str

    def __str__(self) -> str:
        return self.reason


@dataclass(kw_only=True, eq=False)
class DocumentTooCostly(RequestNotAnswered, ValueError):
    """Answering would cost `cost`, and may cost `budget`."""

    code: ClassVar[str] = "document-too-costly"
    cost: int
    budget: int

    def __str__(self) -> str:
        return f"this would cost {self.cost}, and may cost {self.budget}"


@dataclass(kw_only=True, eq=False)
class DocumentUnknown(RequestNotAnswered, LookupError):
    """No document is known here by that id."""

    code: ClassVar[str] = "document-unknown"
    document: str

    def __str__(self) -> str:
        return f"no document is known as {self.document!r}"


@dataclass(kw_only=True, eq=False)
class DocumentIdWrong(RequestNotAnswered, ValueError):
    """The id is not that of the document beside it, which is `right`."""

    code: ClassVar[str] = "document-id-wrong"
    document: str
    right: str

    def __str__(self) -> str:
        return f"the document's id is {self.right}, not {self.document!r}"


class DocumentNotRegistered(RequestNotAnswered):
    """Pages may only use the documents that were registered."""

    code: ClassVar[str] = "document-not-registered"

    def __str__(self) -> str:
        return "with a browser key only registered documents are answered"
