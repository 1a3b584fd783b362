"""Effects form: horses to try a newer catalog release on, as a request and as a file, and how they become questions."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from pydantic import ConfigDict, Field

from hooflast.errors import Fault, InputRefused
from hooflast.exchange import form_fields as fields
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.match_form import Form, MatchForm, read_match_question
from hooflast.matching.question import MatchQuestion

MOST_HORSES: Final = 100
_MOST_VALUES: Final = 20_000


class _Envelope(Form):
    since: fields.ReleasePin | None = Field(
        None,
        description="The id of the older catalog release; left out: the one before the newer.",
        examples=["sha256-9f2c4e0b7d1a6358c4e2f0917b3d5a68e1c79f04b2d683a5507e9c1f4a3b2d86"],
    )
    catalog_release: fields.ReleasePin | None = Field(
        None,
        description="The id of the newer catalog release; left out: the active one.",
        examples=["sha256-1c79f04b2d683a5507e9c1f4a3b2d869f2c4e0b7d1a6358c4e2f0917b3d5a68e"],
    )
    horses: list[Any] = Field(
        min_length=1,
        max_length=MOST_HORSES,
        description=f"Up to {MOST_HORSES} horses, each as in a match; the catalog release that one pins plays no part.",
        examples=[[{"hooves": [{"limb": "LF", "width": 124, "length": 128}]}]],
    )


class ReleaseEffectsForm(_Envelope):
    """Horses, and the two catalog releases between which their answers are compared."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "horses": [
                        {
                            "horse": {"name": "Juniper", "animal_type": "pony"},
                            "method": "tape",
                            "hooves": [{"limb": "LF", "width": 112, "length": 115}],
                            "uses": ["hacking"],
                        },
                        {"horse": {"name": "Sable"}, "hooves": [{"limb": "RH", "width": 119, "length": 126}]},
                    ]
                }
            ]
        }
    )

    horses: list[MatchForm] = Field(
        min_length=1,
        max_length=MOST_HORSES,
        description=f"Up to {MOST_HORSES} horses, each as in a match; the catalog release that one pins plays no part.",
        examples=[[{"hooves": [{"limb": "LF", "width": 124, "length": 128}]}]],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectsQuestion:
    """Horses, and the catalog releases to compare, by id; None: the one before, and the active one."""

    horses: tuple[MatchQuestion, ...]
    since: str | None
    catalog_release: str | None


def read_effects_question(raw: object, *, today: date) -> EffectsQuestion:
    """Read a request. Raises InputRefused with every fault of every horse."""

    def faults_of_horses(document: object) -> Iterator[Fault]:
        horses = document.get("horses") if isinstance(document, dict) else None
        for place, horse in enumerate(horses[:MOST_HORSES] if isinstance(horses, list) else ()):
            yield from (fault.under("horses", place) for fault in horse_faults(horse, today=today))

    form = read_form(raw, form=_Envelope, today=today, look_further=faults_of_horses, most_values=_MOST_VALUES)
    return EffectsQuestion(
        horses=tuple(read_match_question(horse, today=today) for horse in form.horses),
        since=form.since,
        catalog_release=form.catalog_release,
    )


def horse_faults(horse: object, *, today: date) -> tuple[Fault, ...]:
    """Everything that is wrong with one horse."""
    try:
        read_match_question(horse, today=today)
    except InputRefused as refused:
        return refused.faults
    return ()
