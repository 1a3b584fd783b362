"""Matches: one horse in, boots out; read again, and erased. The answer is the one that is kept, part by part."""

import json
from typing import Annotated, Any

import msgspec
import strawberry

from hooflast.access.key import Scope
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import LOOK_UP, ONE_HORSE, declared
from hooflast.api.graphql.inputs import as_body, input_type
from hooflast.api.graphql.nodes import ID_MEANING, Found, Gone, Node, NodeId, id_of, node_from
from hooflast.api.kept_matches import make_match, remove_match
from hooflast.exchange import MatchAnswerDocument, MatchForm
from hooflast.matching.errors import CannotAnswerAgain
from hooflast.store import KeptAnswer

MATCH = "Match"
_decoder = msgspec.json.Decoder(MatchAnswerDocument)

Id = Annotated[strawberry.ID, strawberry.argument(description=ID_MEANING)]


def _pictures(root: Any, info: Info) -> str:
    return f"{info.context.service.settings.public_url}/v1/matches/{root.rest_id}/pictures/hooves.svg"


@node_from(MatchAnswerDocument, kind=MATCH)
class MatchNode(Node):
    """One horse's match."""

    picture = strawberry.field(
        resolver=_pictures, graphql_type=str, description="The address of its picture (SVG), in REST."
    )


@strawberry.type(name="ErasedMatch", description="A match that was erased for good.")
class ErasedMatch(Gone):
    """What was erased."""


def match_found(match_id: str, body: bytes) -> Found:
    """An answer as it was sent, as a node. Raises msgspec.ValidationError for one of another form."""
    return Found(kind=MATCH, rest_id=match_id, document=_decoder.decode(body))


def kept_found(kept: KeptAnswer) -> Found:
    """An answer that was kept, as a node. Raises CannotAnswerAgain for one that an older Hooflast wrote otherwise."""
    try:
        return match_found(kept.id, kept.answer.whole)
    except msgspec.ValidationError:
        raise CannotAnswerAgain(match=kept.id, catalog_release=kept.catalog_release, engine=kept.engine) from None


async def find_match(info: Info, node: NodeId) -> Found:
    """The match that a node's id means. Raises NotFound."""
    return kept_found(await info.context.matches.load(node.rest_id))


async def _match(info: Info, *, id: Id) -> Found:  # noqa: A002 (the argument's name)
    return await find_match(info, id_of(id, kind=MATCH, resource="match"))


async def _create_match(info: Info, *, input: input_type(MatchForm)) -> Found:  # type: ignore[valid-type]  # noqa: A002
    context = info.context
    asked = json.dumps(as_body(input)).encode()  # which also writes numbers that no form takes
    answered = await make_match(asked, service=context.service, texts=context.texts)
    context.making.about.append(answered.id)
    return match_found(answered.id, answered.body)


async def _erase_match(info: Info, *, id: Id) -> ErasedMatch:  # noqa: A002 (the argument's name)
    context, node = info.context, id_of(id, kind=MATCH, resource="match")
    await remove_match(context.service, node.rest_id, by=context.actor)
    return ErasedMatch.was(node)


FIELDS = {
    "match": declared(
        _match,
        gives=MatchNode,
        weight=LOOK_UP,
        description="A match as it was kept, in the language it was asked in.",
    ),
}
MUTATIONS = {
    "create_match": declared(
        _create_match,
        gives=MatchNode,
        scope=Scope.MATCH,
        weight=ONE_HORSE,
        description=(
            "Measurements of one to four hooves in; for each hoof the boot models that suit it, with the best size, "
            "how likely it fits, and why. The answer is kept, with a signed match receipt."
        ),
    ),
    "erase_match": declared(
        _erase_match,
        gives=ErasedMatch,
        scope=Scope.ERASE,
        weight=LOOK_UP,
        description="Erases a match for good; a match receipt in your hands stays valid.",
    ),
}
FINDERS = {MATCH: find_match}
