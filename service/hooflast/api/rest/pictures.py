"""Pictures: a match drawn. They are drawn anew from the kept question, on its own catalog release and day."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import NEVER_KEEP
from hooflast.api.kept_matches import find_match
from hooflast.api.negotiation import SVG
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.parameters import read_query, written_as
from hooflast.api.policy import policy_of
from hooflast.api.rest.matches import MATCH_ID
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.errors import ReleaseGone
from hooflast.catalog.values import BootId
from hooflast.errors import NotFound
from hooflast.fit.hoof import Limb
from hooflast.matching.answer import MatchAnswer
from hooflast.matching.answering_again import answer_again, kept_question
from hooflast.matching.pictures import hooves_picture, sizes_picture, sole_picture
from hooflast.matching.shelf import Shelf
from hooflast.store import KeptAnswer
from hooflast.texts import Texts

HOOVES: Final = "hooves.svg"
SOLES: Final = {f"{limb}.svg": limb for limb in Limb}
BOOT: Final = written_as(
    r"[a-z0-9][a-z0-9-]{0,79}",
    name="boot",
    meaning="The id of one of the boot models that the match shows for this hoof; left out: the first.",
)

READ_PICTURE: Final = Operation(
    id="read_picture",
    method="GET",
    path="/v1/matches/{match_id}/pictures/{picture}",
    tag="Matching",
    summary="Draw a match",
    description=(
        "`hooves.svg` shows all hooves with the first boot found for each; `LF.svg` and the like show one hoof from "
        "below against the best size of its first boot, with its clearances. The numbers are those of the match. "
        "410 says that what it was answered with is no longer here."
    ),
    path_parameters=(
        MATCH_ID,
        PathParameter(name="picture", meaning="Which picture.", schema={"type": "string", "enum": [HOOVES, *SOLES]}),
    ),
    gives="svg",
    meaning="The picture.",
    problems=(404, 410, 503),
    speaks=True,
)
READ_SIZES_PICTURE: Final = Operation(
    id="read_sizes_picture",
    method="GET",
    path="/v1/matches/{match_id}/pictures/{limb}/sizes.svg",
    tag="Matching",
    summary="Draw a hoof among the sizes of a boot model",
    description=(
        "Which hooves each size is made for, in width and length, and where this hoof lies among them with its "
        "uncertainty. On a painful foot the best size stands alone."
    ),
    path_parameters=(
        MATCH_ID,
        PathParameter(
            name="limb", meaning="Which hoof.", schema={"type": "string", "enum": [limb.value for limb in Limb]}
        ),
    ),
    query=(BOOT,),
    gives="svg",
    meaning="The picture.",
    problems=(404, 410, 503),
    speaks=True,
)


@route(READ_PICTURE)
async def read_picture(
    *, request: HttpRequest, match_id: FromPath[str], picture: FromPath[str], service: NamedDependency[Service]
) -> Response[str]:
    """All hooves, or one of them against its best size."""
    read_query(request.scope["query_string"], parameters=READ_PICTURE.query)
    answer, texts = await _answer(request, service, match_id=match_id)
    if picture == HOOVES:
        return _drawn(hooves_picture(answer, texts=texts), texts=texts)
    if picture not in SOLES:
        raise NotFound(resource="picture", name=picture)
    return _drawn(sole_picture(answer, limb=SOLES[picture], texts=texts), texts=texts)


@route(READ_SIZES_PICTURE)
async def read_sizes_picture(
    *, request: HttpRequest, match_id: FromPath[str], limb: FromPath[str], service: NamedDependency[Service]
) -> Response[str]:
    """One hoof among the sizes of a boot model."""
    query = read_query(request.scope["query_string"], parameters=READ_SIZES_PICTURE.query)
    answer, texts = await _answer(request, service, match_id=match_id)
    if limb not in list(Limb):
        raise NotFound(resource="hoof", name=limb)
    boot = query.get(BOOT)
    svg = sizes_picture(answer, limb=Limb(limb), boot=None if boot is None else BootId(boot), texts=texts)
    return _drawn(svg, texts=texts)


async def _answer(request: HttpRequest, service: Service, *, match_id: str) -> tuple[MatchAnswer, Texts]:
    kept = await find_match(service, match_id)
    texts = service.texts_for(request)
    return answer_again(kept, shelf=await _shelf(service, kept), language=texts.language), texts


async def _shelf(service: Service, kept: KeptAnswer) -> Shelf | None:
    """What a match was answered from, if it is still here: a catalog release, or what an assortment had of it."""
    try:
        shelf = await service.catalog.answered_from(kept.catalog_release)
    except (NotFound, ReleaseGone):
        return None
    asked = kept_question(kept).assortment
    return shelf if asked is None else await service.desk.shops.as_answered(asked, shelf, tenant=service.tenant)


def _drawn(svg: str, *, texts: Texts) -> Response[str]:
    headers = {
        "Cache-Control": NEVER_KEEP,
        "Content-Language": texts.language,
        "Content-Security-Policy": policy_of(svg),
        "Vary": "Accept, Accept-Language",
    }
    return Response(svg, media_type=SVG, headers=headers)
