"""What clients are told of the steps of catalog releases: each change of what is served, and nothing else."""

from datetime import UTC, date, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.lifecycle import ReleaseStep
from hooflast.catalog.live_events import NumberedStep, ReleaseEventKind, release_events
from hooflast.catalog.values import ReleaseId

NOW = datetime(2026, 5, 4, 7, 30, tzinfo=UTC)
NAMES = ("spring", "summer", "autumn")
Told = list[tuple[ReleaseEventKind, str, str | None, str | None]]


def steps_of(*taken: tuple[str, ReleaseStep]) -> tuple[NumberedStep, ...]:
    return tuple(
        NumberedStep(
            number=number,
            release=ReleaseId(name),
            edition="2026-03-01",
            released_on=date(2026, 3, 1),
            step=step,
            at=NOW + timedelta(minutes=number),
        )
        for number, (name, step) in enumerate(taken, start=1)
    )


def told(*taken: tuple[str, ReleaseStep]) -> Told:
    return [(one.kind, one.taken.release, one.before, one.active) for one in release_events(steps_of(*taken))]


any_steps = st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(ReleaseStep)), max_size=20)


def test_a_life_is_told_from_its_publication_on() -> None:
    step, kind = ReleaseStep, ReleaseEventKind
    assert told(
        ("spring", step.STAGE), ("spring", step.CHECK), ("spring", step.PUBLISH),
        ("summer", step.STAGE), ("summer", step.CHECK), ("summer", step.PUBLISH),
        ("spring", step.ROLL_BACK), ("summer", step.WITHDRAW), ("summer", step.PURGE),
    ) == [
        (kind.PUBLISHED, "spring", None, "spring"),
        (kind.PUBLISHED, "summer", "spring", "summer"),
        (kind.ROLLED_BACK, "spring", "summer", "spring"),
        (kind.WITHDRAWN, "summer", "spring", "spring"),
    ]  # fmt: skip


def test_after_the_active_one_is_withdrawn_none_is() -> None:
    step, kind = ReleaseStep, ReleaseEventKind
    assert told(("spring", step.PUBLISH), ("spring", step.WITHDRAW), ("summer", step.PUBLISH)) == [
        (kind.PUBLISHED, "spring", None, "spring"),
        (kind.WITHDRAWN, "spring", "spring", None),
        (kind.PUBLISHED, "summer", None, "summer"),
    ]


def test_withdrawing_what_was_never_published_is_not_told() -> None:
    assert told(("spring", ReleaseStep.STAGE), ("spring", ReleaseStep.WITHDRAW)) == []


def test_what_was_withdrawn_and_published_anew_can_be_withdrawn_again() -> None:
    step = ReleaseStep
    life = [("spring", step.STAGE), ("spring", step.PUBLISH), ("spring", step.WITHDRAW)]
    assert [kind for kind, *_ in told(*life, *life)] == [ReleaseEventKind.PUBLISHED, ReleaseEventKind.WITHDRAWN] * 2


@given(taken=any_steps)
def test_what_is_active_after_one_event_is_active_before_the_next(taken: list[tuple[str, ReleaseStep]]) -> None:
    active = None
    for _, _, before, after in told(*taken):
        assert before == active
        active = after


@given(taken=any_steps, more=any_steps)
def test_what_happens_later_changes_nothing_that_was_told(
    taken: list[tuple[str, ReleaseStep]], more: list[tuple[str, ReleaseStep]]
) -> None:
    before = release_events(steps_of(*taken))
    assert release_events(steps_of(*taken, *more))[: len(before)] == before


@given(taken=any_steps)
def test_every_event_has_an_id_of_its_own_that_signing_can_take(taken: list[tuple[str, ReleaseStep]]) -> None:
    ids = [one.id for one in release_events(steps_of(*taken))]
    assert len(set(ids)) == len(ids)
    assert not any("." in one for one in ids)


def test_an_id_is_that_of_its_step_alone() -> None:
    (first,) = release_events(steps_of(("spring", ReleaseStep.PUBLISH)))
    (again,) = release_events(steps_of(("spring", ReleaseStep.PUBLISH)))
    (other,) = release_events(steps_of(("summer", ReleaseStep.PUBLISH)))
    assert first.id == again.id != other.id
