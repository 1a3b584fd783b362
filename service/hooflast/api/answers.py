"""Answers: responses of the catalog reads, with their ETag, their links and the 304 (RFC 9110, RFC 8288)."""

import re
from base64 import urlsafe_b64encode
from collections.abc import Callable
from hashlib import sha256
from typing import Final

import msgspec
from litestar import Response

from hooflast import __version__
from hooflast.api import sparse
from hooflast.api.negotiation import JSON
from hooflast.api.parameters import Query
from hooflast.api.service import HttpRequest

REVALIDATE: Final = "no-cache"
NEVER_KEEP: Final = "no-store"
_ENTITY_TAG: Final = re.compile(r'(?:W/)?("[\x21\x23-\x7e\x80-\xff]*")')


def json_answer(document: object, *, headers: dict[str, str] | None = None) -> Response[bytes]:
    """An answer that nobody keeps."""
    return Response(
        msgspec.json.encode(document), media_type=JSON, headers={"Cache-Control": NEVER_KEEP, **(headers or {})}
    )


def catalog_answer(
    request: HttpRequest, render: Callable[[], object], *, release: str, query: Query, next_page: str | None = None
) -> Response[bytes]:
    """An answer made from one catalog release: rendered only if the client does not hold it already.

    The ETag is strong: the same catalog release, address, query and version of Hooflast give the same bytes.
    """
    headers = {"Link": f'<{next_page}>; rel="next"'} if next_page else {}
    made_of = (release, request.url.path, query.text())
    fields = query.values.get(sparse.NAME)
    return _if_not_held(request, render, made_of=made_of, headers=headers, fields=fields)


def spoken_answer(request: HttpRequest, render: Callable[[], object], *, language: str) -> Response[bytes]:
    """An answer of sentences in one language, rendered only if the client does not hold it already."""
    headers = {"Content-Language": language, "Vary": "Accept, Accept-Language"}
    return _if_not_held(request, render, made_of=(language, request.url.path), headers=headers)


def _if_not_held(
    request: HttpRequest,
    render: Callable[[], object],
    *,
    made_of: tuple[str, ...],
    headers: dict[str, str],
    fields: object = None,
) -> Response[bytes]:
    tag = entity_tag(*made_of, __version__)
    headers = {"ETag": tag, "Cache-Control": REVALIDATE, **headers}
    if holds(request.headers.get("if-none-match"), tag):
        return Response(b"", status_code=304, headers=headers)
    if isinstance(fields, sparse.Fields):
        return Response(msgspec.json.encode(fields.of(render())), media_type=sparse.MEDIA_TYPE, headers=headers)
    return Response(msgspec.json.encode(render()), media_type=JSON, headers=headers)


def entity_tag(*parts: str) -> str:
    """A strong ETag over `parts`."""
    digest = sha256(msgspec.json.encode(parts)).digest()
    return f'"{urlsafe_b64encode(digest[:18]).decode("ascii")}"'


def holds(if_none_match: str | None, tag: str) -> bool:
    """Whether the client holds what `tag` names (weak comparison, RFC 9110, section 13.1.2)."""
    if if_none_match is None:
        return False
    return if_none_match.strip() == "*" or tag in _ENTITY_TAG.findall(if_none_match)
