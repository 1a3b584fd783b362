"""Start: the start page, and the form for one's own numbers. Nothing that is asked here is kept or signed."""

import asyncio
from typing import Final

from litestar import Response
from litestar.di import NamedDependency

from hooflast import __version__
from hooflast.api.answers import NEVER_KEEP, REVALIDATE, entity_tag, holds
from hooflast.api.body import read_body
from hooflast.api.negotiation import HTML
from hooflast.api.operations import Operation, route
from hooflast.api.pages.demo import BRAMBLE
from hooflast.api.pages.form import Form, read_form
from hooflast.api.pages.start_page import answer_page, demo_page, form_page
from hooflast.api.pages.told import Told
from hooflast.api.parameters import read_query
from hooflast.api.policy import Forms, policy_of
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import InputRefused
from hooflast.exchange import read_match_question
from hooflast.matching.match_horse import match_horse
from hooflast.texts import Texts

READ_START: Final = Operation(
    id="read_start",
    method="GET",
    is_public=True,
    path="/",
    tag="Pages",
    summary="The start page",
    description="The answer for a demo horse as a person reads it, and a form to try one's own numbers.",
    gives="html",
    meaning="The page.",
    problems=(503,),
    revalidates=True,
    speaks=True,
)
READ_FORM: Final = Operation(
    id="read_form",
    method="GET",
    is_public=True,
    path="/match",
    tag="Pages",
    summary="The form by itself",
    gives="html",
    meaning="The page.",
    speaks=True,
)
ANSWER_FORM: Final = Operation(
    id="answer_form",
    method="POST",
    path="/match",
    tag="Pages",
    summary="Answer the form",
    description=(
        "Answers the form of the start page with a page. Nothing of it is kept and no receipt is signed; programs use "
        "`POST /v1/matches`. 422 is the form again, with every fault beside its field."
    ),
    takes="html form",
    gives="html",
    meaning="The page with the answer.",
    problems=(503,),
    speaks=True,
)


@route(READ_START)
async def read_start(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[str]:
    """The demo horse's answer."""
    read_query(request.scope["query_string"], parameters=READ_START.query)
    texts, today = service.texts_for(request), service.clock().date()
    shelf, base = service.catalog.active, service.settings.public_url
    tag = entity_tag(shelf.release.id, today.isoformat(), texts.language, base, __version__)
    headers = {"ETag": tag, "Cache-Control": REVALIDATE}
    if holds(request.headers.get("if-none-match"), tag):
        return Response("", status_code=304, headers={**headers, **_spoken(texts)})

    def make() -> str:
        question = read_match_question(BRAMBLE, today=today)
        answer = match_horse(question, shelf, today=today, language=texts.language)
        return demo_page(answer, texts=texts, base=base)

    return _page(await asyncio.to_thread(make), texts=texts, headers=headers)


@route(READ_FORM)
async def read_form_page(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[str]:
    """The form, empty."""
    read_query(request.scope["query_string"], parameters=READ_FORM.query)
    texts = service.texts_for(request)
    content = form_page(form=Form(), told=Told(), texts=texts, base=service.settings.public_url)
    return _page(content, texts=texts, headers={"Cache-Control": REVALIDATE})


@route(ANSWER_FORM)
async def answer_form(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[str]:
    """The answer to the form, or the form with its faults."""
    read_query(request.scope["query_string"], parameters=ANSWER_FORM.query)
    settings = service.settings
    raw = await read_body(request, limit=settings.max_body_bytes, seconds=settings.request_seconds)
    texts, today = service.texts_for(request), service.clock().date()
    headers = {"Cache-Control": NEVER_KEEP}
    form = Form()
    try:
        form = read_form(raw)
        question = read_match_question(form.document(), today=today)
        shelf = await service.catalog.asked_for(question.catalog_release)
    except InputRefused as refused:
        told = Told.of(refused, form=form, texts=texts)
        content = form_page(form=form, told=told, texts=texts, base=settings.public_url)
        return _page(content, texts=texts, headers=headers, status=422)

    def make() -> str:
        answer = match_horse(question, shelf, today=today, language=texts.language)
        return answer_page(answer, form=form, texts=texts, base=settings.public_url)

    return _page(await asyncio.to_thread(make), texts=texts, headers=headers)


def _page(content: str, *, texts: Texts, headers: dict[str, str], status: int = 200) -> Response[str]:
    policy = {"Content-Security-Policy": policy_of(content, forms=Forms.HERE)}
    return Response(content, status_code=status, media_type=HTML, headers={**headers, **_spoken(texts), **policy})


def _spoken(texts: Texts) -> dict[str, str]:
    return {"Content-Language": texts.language, "Vary": "Accept, Accept-Language"}
