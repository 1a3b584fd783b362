"""Herd document: what the answers about trial sets and coverage share, written down."""

from typing import Annotated

from msgspec import Meta

from hooflast.exchange.answer_parts import Document


class NamedSizeDocument(Document, frozen=True):
    """One size of a boot model."""

    boot: Annotated[str, Meta(description="The boot model's id.")]
    size: Annotated[str, Meta(description="The maker's size code.")]


Share = Annotated[float, Meta(ge=0, le=1, description="A share, rounded to 0.001.")]
