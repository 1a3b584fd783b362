"""Preconditions: a change is made only to what its client has seen (RFC 9110, section 13.1.1).

What has a revision is named by an ETag `"revision.digest"`: the revision decides about changes, and the digest tells
apart what is made of one revision in other languages or with another catalog release.
"""

import re
from typing import Final

from hooflast.api.answers import entity_tag
from hooflast.api.refusals import PreconditionFailed
from hooflast.api.service import HttpRequest

HEADER: Final = "if-match"
_TAG: Final = re.compile(r'(?P<weak>W/)?"(?P<revision>[0-9]{1,18})\.[A-Za-z0-9_-]{1,64}"')


def revision_tag(revision: int, *made_of: str) -> str:
    """The ETag of what has a revision, made of other things beside."""
    return f'"{revision}.{entity_tag(*made_of)[1:]}'


def asked_revision(request: HttpRequest) -> int | None:
    """The revision that is to be changed; None where any is. Raises PreconditionFailed for what names no revision."""
    written = request.headers.get(HEADER)
    if written is None or written.strip() == "*":
        return None
    revisions = {int(found["revision"]) for found in _TAG.finditer(written) if not found["weak"]}
    if len(revisions) != 1:
        raise PreconditionFailed(received=written)
    return revisions.pop()
