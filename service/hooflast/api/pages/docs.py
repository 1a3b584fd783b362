"""Docs: the documentation that ships with the service, written in Markdown, as pages."""

from functools import cache
from importlib.resources import files
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath
from markdown_it import MarkdownIt

from hooflast.api.answers import REVALIDATE
from hooflast.api.negotiation import HTML
from hooflast.api.operations import Operation, PathParameter, route
from hooflast.api.pages.templating import render
from hooflast.api.parameters import read_query
from hooflast.api.policy import policy_of
from hooflast.api.service import HttpRequest, Service
from hooflast.errors import NotFound

ORDER: Final = ("start", "concepts")
"""The pages to read first; the others follow by name."""

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
        content=_content(page),
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
    in_order = [*(name for name in ORDER if name in names), *(name for name in names if name not in ORDER)]
    return {name: _text(name).partition("\n")[0].removeprefix("# ") for name in in_order}


@cache
def _content(name: str) -> str:
    """A page as HTML; a link to another page's file leads to that page."""
    markdown = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = markdown.parse(_text(name))
    for token in tokens:
        for inside in token.children or ():
            if inside.type == "link_open":
                inside.attrSet("href", str(inside.attrGet("href")).removesuffix(".md"))
    return str(markdown.renderer.render(tokens, markdown.options, {}))


def _text(name: str) -> str:
    return files("hooflast").joinpath("pages", f"{name}.md").read_text("utf-8")
