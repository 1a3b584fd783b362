"""Coverage form: what may stand in a question about coverage, and how it becomes a CoverageQuestion."""

from datetime import date

from pydantic import ConfigDict, Field

from hooflast.exchange.form_reading import read_form
from hooflast.exchange.herd_form import MOST_VALUES, HerdForm, herd_faults, herd_question
from hooflast.exchange.trial_set_form import Threshold
from hooflast.matching.coverage_answer import CoverageQuestion


class CoverageForm(HerdForm):
    """A herd, and the boot models whose coverage of it is asked."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"kinds": [{"animal_type": "horse"}], "uses": ["hacking"]},
                {"kinds": [{"fore": {"width": 118, "length": 121}, "size_spread": 7}], "limbs": "fore"},
            ]
        }
    )

    threshold: Threshold = Field(
        0.5, description="How surely some size must accept a hoof for it to count as covered.", examples=[0.7]
    )


def read_coverage_question(raw: object, *, today: date) -> CoverageQuestion:
    """Read a question about coverage, as `read_form` reads any form. Raises InputRefused with every fault there is."""
    form = read_form(raw, form=CoverageForm, today=today, look_further=herd_faults, most_values=MOST_VALUES)
    return CoverageQuestion(herd=herd_question(form, today=today), threshold=form.threshold)
