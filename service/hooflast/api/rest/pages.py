"""Pages: the OpenAPI document, the reference made from it, and a page for each kind of problem."""

from html import escape
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.api.answers import REVALIDATE, entity_tag, holds
from hooflast.api.html import CONTENT_POLICY, page, prose
from hooflast.api.negotiation import HTML, JSON
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.parameters import read_query
from hooflast.api.problems import KINDS, title_and_about
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import NotFound

READ_OPENAPI: Final = Operation(
    id="read_openapi",
    method="GET",
    is_public=True,
    path="/openapi.json",
    tag="Reference",
    summary="This document",
    gives="openapi",
    meaning="The OpenAPI document.",
    revalidates=True,
)
READ_REFERENCE: Final = Operation(
    id="read_reference",
    method="GET",
    is_public=True,
    path="/reference",
    tag="Reference",
    summary="This document as a page",
    gives="html",
    meaning="The page.",
    revalidates=True,
)
LIST_PROBLEMS: Final = Operation(
    id="list_problems",
    method="GET",
    is_public=True,
    path="/problems",
    tag="Reference",
    summary="Every kind of problem",
    description="Each with its status, what it means and what to do; a problem's `type` leads to its own page.",
    gives="html",
    meaning="The page.",
    speaks=True,
)
READ_PROBLEM: Final = Operation(
    id="read_problem",
    method="GET",
    is_public=True,
    path="/problems/{code}",
    tag="Reference",
    summary="What a kind of problem means",
    path_parameters=(
        PathParameter(name="code", meaning="The last part of a problem's type.", examples=("not-found",)),
    ),
    gives="html",
    meaning="The page.",
    problems=(404,),
    speaks=True,
)


@route(READ_OPENAPI)
async def read_openapi(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The OpenAPI document."""
    read_query(request.scope["query_string"], parameters=READ_OPENAPI.query)
    return _fixed(request, service.openapi, media_type=JSON)


@route(READ_REFERENCE)
async def read_reference(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """The OpenAPI document as a page."""
    read_query(request.scope["query_string"], parameters=READ_REFERENCE.query)
    return _fixed(request, service.reference, media_type=HTML)


@route(LIST_PROBLEMS)
async def list_problems(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """Every kind of problem, by its status."""
    read_query(request.scope["query_string"], parameters=LIST_PROBLEMS.query)
    texts, base = service.texts_for(request), service.settings.public_url
    rows = []
    for code, status in sorted(KINDS.items(), key=lambda one: (one[1], one[0])):
        title, meaning = title_and_about(code, texts=texts)
        name = f'<a href="{escape(base)}/problems/{escape(code)}"><code>{escape(code)}</code></a>'
        rows.append(f"<tr><td>{status}</td><td><b>{prose(title)}</b> {name}<br>{prose(meaning)}</td></tr>")
    content = page(
        texts.say("page.problems.title"),
        paragraphs=(texts.say("page.problems.about"),),
        inside=f"<table><tbody>{''.join(rows)}</tbody></table>",
        language=texts.language,
    )
    headers = {"Content-Security-Policy": CONTENT_POLICY, "Content-Language": texts.language}
    return Response(content, media_type=HTML, headers=headers)


@route(READ_PROBLEM)
async def read_problem(
    *, request: HttpRequest, code: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """What a kind of problem means."""
    read_query(request.scope["query_string"], parameters=READ_PROBLEM.query)
    if code not in KINDS:
        raise NotFound(resource="problem", name=code)
    texts = service.texts_for(request)
    title, meaning = title_and_about(code, texts=texts)
    content = page(title, paragraphs=(meaning,), language=texts.language)
    headers = {"Content-Security-Policy": CONTENT_POLICY, "Content-Language": texts.language}
    return Response(content, media_type=HTML, headers=headers)


def _fixed(request: HttpRequest, content: bytes, *, media_type: str) -> Response[bytes]:
    tag = entity_tag(content.decode())
    headers = {"ETag": tag, "Cache-Control": REVALIDATE}
    if media_type == HTML:
        headers["Content-Security-Policy"] = CONTENT_POLICY
    if holds(request.headers.get("if-none-match"), tag):
        return Response(b"", status_code=304, headers=headers)
    return Response(content, media_type=media_type, headers=headers)
