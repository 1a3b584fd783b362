"""Docs: the documentation that ships with the service, written in Markdown, as pages."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import chain, count, pairwise
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath
from markdown_it import MarkdownIt
from markdown_it.token import Token

from hooflast.api.answers import REVALIDATE
from hooflast.api.negotiation import HTML
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.pages.templating import render
from hooflast.api.parameters import read_query
from hooflast.api.policy import policy_of
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import NotFound

FIRST: Final = (
    "start",
    "concepts",
    "integrate-a-shop",
    "integrate-a-clinic",
    "keys",
    "match-jobs",
    "hooks",
    "graphql",
    "write-a-plugin",
    "operate",
    "model",
)
LAST: Final = ("changelog",)
"""The order to read the pages in; any other stands between these, by its name."""

READ_DOCS: Final = Operation(
    id="read_docs",
    method="GET",
    is_public=True,
    path="/docs/{page}",
    tag="Pages",
    summary="A page of the documentation",
    path_parameters=(PathParameter(name="page", meaning="The page's name.", examples=("start",)),),
    gives="html",
    meaning="The page.",
    problems=(404,),
)


@route(READ_DOCS)
async def read_docs(*, request: HttpRequest, page: FromPath[str], service: NamedDependency[Service]) -> Response[str]:
    """One page of the documentation."""
    read_query(request.scope["query_string"], parameters=READ_DOCS.query)
    titles = _titles()
    if page not in titles:
        raise NotFound(resource="page", name=page)
    content = render(
        "docs.html.j2",
        texts=service.texts_for(request),
        base=service.settings.public_url,
        title=titles[page],
        pages=tuple(titles.items()),
        here=page,
        content=_content(page).html,
        headings=_content(page).headings,
    )
    headers = {"Cache-Control": REVALIDATE, "Content-Security-Policy": policy_of(content)}
    return Response(content, media_type=HTML, headers=headers)


@cache
def _titles() -> dict[str, str]:
    """Every page by its name, with its title, in the order to read them."""
    names = sorted(
        file.name.removesuffix(".md")
        for file in files("hooflast").joinpath("pages").iterdir()
        if file.name.endswith(".md")
    )
    others = [name for name in names if name not in (*FIRST, *LAST)]
    return {name: _text(name).partition("\n")[0].removeprefix("# ") for name in (*FIRST, *others, *LAST)}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heading:
    """A part of a page: what leads to it, and what it is called."""

    tag: str
    id: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Content:
    """A page as HTML, and its parts where it has some; those of its one part, where it has no other."""

    html: str
    headings: tuple[_Heading, ...]


@cache
def _content(name: str) -> _Content:
    """A page; a link to another page's file leads to that page."""
    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = markdown.parse(_text(name))
    for token in tokens:
        for inside in token.children or ():
            if inside.type == "link_open":
                inside.attrSet("href", str(inside.attrGet("href")).removesuffix(".md"))
    headings = _headings(tokens)
    parts = tuple(heading for heading in headings if heading.tag == "h2")
    within = tuple(heading for heading in headings if heading.tag == "h3")
    html = str(markdown.renderer.render(tokens, markdown.options, {}))
    return _Content(html=html, headings=parts if len(parts) > 1 else within)


def _headings(tokens: Sequence[Token]) -> list[_Heading]:
    """The headings of a page's parts, and of what is within these, each given an id of its own."""
    found: dict[str, _Heading] = {}
    for opening, inside in pairwise(tokens):
        if opening.type == "heading_open" and opening.tag in ("h2", "h3"):
            title = "".join(child.content for child in inside.children or ())
            words = "-".join(re.findall(r"[a-z0-9]+", title.lower()))
            names = chain([words], (f"{words}-{again}" for again in count(2)))
            free = next(name for name in names if name not in found)
            opening.attrSet("id", free)
            found[free] = _Heading(tag=opening.tag, id=free, title=title)
    return list(found.values())


def _text(name: str) -> str:
    return files("hooflast").joinpath("pages", f"{name}.md").read_text("utf-8")
