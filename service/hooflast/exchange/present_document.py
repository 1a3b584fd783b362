"""Present document: where an old size, or an old boot model, leads today."""

from datetime import date
from typing import Annotated

from msgspec import Meta

from hooflast.catalog.availability import Present, PresentStatus, Step
from hooflast.catalog.values import CatalogRelease
from hooflast.exchange.answer_parts import Document, Sentence
from hooflast.texts import Texts


class StepOnTheWayDocument(Document, frozen=True):
    """A boot model that was passed on the way, in the size that stands for the one asked for."""

    boot: str
    boot_name: str
    maker_name: str
    size: Annotated[str | None, Meta(description="Null: none is named.")]


class PresentDocument(Document, frozen=True):
    """Where a boot model or one of its sizes leads."""

    status: Annotated[
        PresentStatus,
        Meta(
            description="in_sale: to itself; replaced: to another; measure_again: to another boot model, in no size "
            "that stands for this one; to_come: it is not in sale yet; ended: nowhere."
        ),
    ]
    status_text: Sentence
    steps: Annotated[
        list[StepOnTheWayDocument],
        Meta(min_length=1, description="From what was asked for to where it leads: the last is the present one."),
    ]
    on: Annotated[date, Meta(description="The day it is said for.")]
    catalog_release: str


def present_document(present: Present, *, release: CatalogRelease, day: date, texts: Texts) -> PresentDocument:
    """Where it leads, as a document."""
    return PresentDocument(
        status=present.status,
        status_text=texts.say(f"present.{present.status}"),
        steps=[_step(step, release=release) for step in present.steps],
        on=day,
        catalog_release=release.id,
    )


def _step(step: Step, *, release: CatalogRelease) -> StepOnTheWayDocument:
    return StepOnTheWayDocument(
        boot=step.boot.id,
        boot_name=step.boot.name,
        maker_name=release.makers[step.boot.maker].name,
        size=None if step.size is None else step.size.code,
    )
