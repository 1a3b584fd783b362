"""Troubles: the guides to troubles with boots, as a page."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast.api.answers import REVALIDATE
from hooflast.api.negotiation import HTML
from hooflast.api.operations import Operation, route
from hooflast.api.pages.templating import render
from hooflast.api.parameters import read_query
from hooflast.api.policy import policy_of
from hooflast.api.service import HttpRequest, Service
from hooflast.matching.troubleshooting import GUIDES

READ_TROUBLES: Final = Operation(
    id="read_troubles",
    method="GET",
    is_public=True,
    path="/troubleshooting",
    tag="Pages",
    summary="Troubleshooting as a page",
    gives="html",
    meaning="The page.",
    speaks=True,
)


@route(READ_TROUBLES)
async def read_troubles(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[str]:
    """Every trouble."""
    read_query(request.scope["query_string"], parameters=READ_TROUBLES.query)
    texts = service.texts_for(request)
    content = render("troubles.html.j2", texts=texts, base=service.settings.public_url, guides=GUIDES)
    headers = {
        "Cache-Control": REVALIDATE,
        "Content-Language": texts.language,
        "Content-Security-Policy": policy_of(content),
        "Vary": "Accept, Accept-Language",
    }
    return Response(content, media_type=HTML, headers=headers)
