"""Lifecycle: which steps a catalog release may take, and who may take them."""

import pickle
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.errors import (
    FourEyesNeeded,
    NoEarlierRelease,
    ReleaseGone,
    ReleaseStillActive,
    StepNotAllowed,
)
from hooflast.catalog.lifecycle import Eyes, ReleaseStatus, ReleaseStep, Signature, require_eyes, status_after
from hooflast.catalog.values import ReleaseId
from hooflast.errors import HooflastError

RELEASE = ReleaseId("sha256-00")
ALLOWED = {
    ("withdrawn", "stage", "staged"),
    ("staged", "check", "checked"),
    ("checked", "check", "checked"),
    ("checked", "publish", "published"),
    ("published", "roll_back", "published"),
    ("staged", "withdraw", "withdrawn"),
    ("checked", "withdraw", "withdrawn"),
    ("published", "withdraw", "withdrawn"),
    ("withdrawn", "purge", "withdrawn"),
}
"""The whole picture, written by hand: from, step, to."""


@pytest.mark.parametrize("status", ReleaseStatus)
@pytest.mark.parametrize("step", ReleaseStep)
def test_a_step_leads_where_the_picture_says_and_is_refused_from_everywhere_else(
    status: ReleaseStatus, step: ReleaseStep
) -> None:
    leads_to = [after for before, taken, after in ALLOWED if (before, taken) == (status, step)]
    if leads_to:
        assert status_after(step, status=status, release=RELEASE) == leads_to[0]
        return
    with pytest.raises(StepNotAllowed) as refused:
        status_after(step, status=status, release=RELEASE)
    needed = {before for before, taken, _ in ALLOWED if taken == step}
    assert set(refused.value.needed_status_choices.split(",")) == needed
    assert (refused.value.status, refused.value.step) == (status, step)


@given(st.lists(st.sampled_from(ReleaseStep), max_size=12))
def test_nothing_is_published_that_was_not_checked_since_it_was_staged(steps: list[ReleaseStep]) -> None:
    status, since_staging = ReleaseStatus.STAGED, set[ReleaseStep]()
    for step in steps:
        try:
            status = status_after(step, status=status, release=RELEASE)
        except StepNotAllowed:
            continue
        since_staging = {step} if step is ReleaseStep.STAGE else {*since_staging, step}
        if status is ReleaseStatus.PUBLISHED:
            assert {ReleaseStep.CHECK, ReleaseStep.PUBLISH} <= since_staging


names = st.text(st.characters(categories=["L"]), min_size=1, max_size=8)


@given(names)
def test_with_four_eyes_whoever_staged_may_not_publish_however_the_name_is_spelled(name: str) -> None:
    for spelled in (name, f" {name} ", name.swapcase().casefold()):
        if spelled.strip().casefold() == name.casefold():
            with pytest.raises(FourEyesNeeded):
                require_eyes(Eyes.FOUR, release=RELEASE, staged_by=name, published_by=spelled)
        require_eyes(Eyes.TWO, release=RELEASE, staged_by=name, published_by=spelled)


def test_with_four_eyes_another_may_publish() -> None:
    require_eyes(Eyes.FOUR, release=RELEASE, staged_by="editor", published_by="buyer")


@pytest.mark.parametrize("by", ["", "  "])
def test_a_step_is_taken_by_somebody(by: str) -> None:
    with pytest.raises(ValueError, match="somebody"):
        Signature(by=by, at=datetime(2026, 5, 1, tzinfo=UTC))


def test_a_step_is_taken_at_a_moment_with_a_zone() -> None:
    with pytest.raises(ValueError, match="zone"):
        Signature(by="editor", at=datetime(2026, 5, 1))  # noqa: DTZ001


@pytest.mark.parametrize(
    "error",
    [
        StepNotAllowed(release=RELEASE, step="publish", status="staged", needed_status_choices="checked"),
        FourEyesNeeded(release=RELEASE, by="editor"),
        ReleaseStillActive(release=RELEASE),
        NoEarlierRelease(),
        ReleaseGone(release=RELEASE),
    ],
    ids=lambda error: type(error).__name__,
)
def test_a_refusal_says_all_it_knows_and_survives_pickling(error: HooflastError) -> None:
    again = pickle.loads(pickle.dumps(error))
    assert (type(again), vars(again), str(again)) == (type(error), vars(error), str(error))
    assert all(str(fact) in str(error) for fact in vars(error).values() if fact != "publish")
