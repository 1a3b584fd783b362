"""Policy: the Content-Security-Policy of a page or a picture: nothing is fetched or run, only its own styles apply."""

import re
from base64 import b64encode
from collections.abc import Iterable
from enum import StrEnum
from hashlib import sha256
from typing import Final

_STYLE: Final = re.compile(r"<style>(.*?)</style>", re.DOTALL)


class Forms(StrEnum):
    """Where the forms of a page may be sent to."""

    NOWHERE = "'none'"
    HERE = "'self'"


def policy_of(content: str, *, forms: Forms = Forms.NOWHERE) -> str:
    """The policy that lets a document have the styles that stand in it, and nothing else."""
    return content_policy(_STYLE.findall(content), forms=forms)


def content_policy(styles: Iterable[str], *, forms: Forms = Forms.NOWHERE) -> str:
    """The policy that lets a document have these styles, and nothing else."""
    allowed = dict.fromkeys(f"'sha256-{b64encode(sha256(style.encode()).digest()).decode()}'" for style in styles)
    return (
        f"default-src 'none'; base-uri 'none'; form-action {forms}; frame-ancestors 'none'; "
        f"style-src {' '.join(allowed) or Forms.NOWHERE}"
    )
