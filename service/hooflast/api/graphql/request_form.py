"""Request form: what a GraphQL request over HTTP holds (GraphQL over HTTP, September 2026)."""

from typing import Annotated, Any

import msgspec
from msgspec import Meta
from pydantic import ConfigDict, Field, ValidationError

from hooflast.api.documents import Document
from hooflast.errors import InputRefused
from hooflast.exchange.faults import FaultCode, fault, faults_of
from hooflast.exchange.match_form import Form
from hooflast.exchange.plain import DEEPEST, read_json

_EXAMPLE = """query Boots($use: IntendedUse) {
  boots(first: 2, use: $use) {
    nodes { restId name maker { name } }
    pageInfo { endCursor hasNextPage }
  }
}"""


class GraphqlForm(Form):
    """A document, or the id of one that is known, and what goes with it. Other members are passed over."""

    model_config = ConfigDict(
        extra="ignore",
        json_schema_extra={"examples": [{"query": _EXAMPLE, "variables": {"use": "HACKING"}}]},
    )

    query: str | None = Field(None, strict=True, description="The GraphQL document.", examples=["{ __typename }"])
    operationName: str | None = Field(  # noqa: N815 (the standard's name)
        None, strict=True, description="Which of its operations is meant, where it has several.", examples=["Boots"]
    )
    variables: dict[str, Any] | None = Field(
        None, description="The operation's variables, by their names.", examples=[{"use": "HACKING"}]
    )
    extensions: dict[str, Any] | None = Field(None, description="Passed over.", examples=[{}])
    documentId: str | None = Field(  # noqa: N815 (the standard's name)
        None,
        strict=True,
        max_length=100,
        description="`sha256:` and the SHA-256 digest of the document's exact text. Alone, it stands for a document "
        "that is known here; beside the document, it makes it known.",
        examples=["sha256:71f7dc5758652baac68e4a10c50be732b741c892ade2883a99358f52b555286b"],
    )


class GraphqlErrorDocument(Document, frozen=True):
    """What went wrong with the request, or with one of its fields."""

    message: Annotated[str, Meta(description="What is wrong, for people.")]
    locations: Annotated[list[dict[str, int]] | None, Meta(description="Where in the document.")] = None
    path: Annotated[list[str | int] | None, Meta(description="Which field of the answer is null for it.")] = None
    extensions: Annotated[
        dict[str, Any] | None,
        Meta(description="`code` and `status` as in a problem, and `errors` with every fault of the input."),
    ] = None


class GraphqlAnswerDocument(Document, frozen=True):
    """What a GraphQL request is answered."""

    data: Annotated[dict[str, Any] | None, Meta(description="The answer; left out where nothing was answered.")] = None
    errors: Annotated[list[GraphqlErrorDocument] | None, Meta(description="What went wrong; left out: nothing.")] = None
    extensions: Annotated[dict[str, Any] | None, Meta(description="`cost`: what answering cost, and what it may.")] = (
        None
    )


def read_request(raw: bytes) -> GraphqlForm:
    """Read the body of a request. Raises InputRefused with every fault."""
    document = _read_json(raw)
    try:
        form = GraphqlForm.model_validate(document)
    except ValidationError as error:
        raise InputRefused(faults=tuple(faults_of(error, document=document, form=GraphqlForm))) from None
    if form.query is None and form.documentId is None:
        raise InputRefused(faults=(fault(FaultCode.MISSING, path=("query",), received=None, facts={"field": "query"}),))
    return form


def _read_json(raw: bytes) -> Any:
    try:
        return msgspec.json.decode(raw.removeprefix(b"\xef\xbb\xbf"))
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        read_json(raw)  # says where
        facts = {"line": 1, "column": 1}
        raise InputRefused(faults=(fault(FaultCode.NOT_JSON, received=str(error), facts=facts),)) from None
    except RecursionError:
        raise InputRefused(faults=(fault(FaultCode.TOO_DEEP, received=None, facts={"limit": DEEPEST}),)) from None
