"""Turning points: the smallest change of a reading that makes another size best."""

from dataclasses import replace

import numpy as np
import pytest
from tests.fit.strategies import read

from hooflast.fit.boot import Closure
from hooflast.fit.chances import corner_chances, expected_worth, preference
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.hoof import AnimalType, Axis, AxisReading, HoofReading
from hooflast.fit.pad import Pad, RoomLost, room_lost
from hooflast.fit.sensitivity import STEP_MM, Turn, nearest_turns
from hooflast.fit.sizes import BootChart, SizeTable, size_table

WIDTHS = [(100.0 + 6 * size, 105.0 + 6 * size) for size in range(8)]
TABLE = size_table([BootChart(closure=Closure.PULL_ON, widths_mm=WIDTHS, lengths_mm=WIDTHS)])


ROOM = room_lost(Pad(thickness_mm=7.0), hoof_length_mm=120.0)


def best_of(reading: HoofReading, table: SizeTable = TABLE, *, room: RoomLost | None = None) -> int:
    """The size of largest expected worth, of all sizes there are."""
    estimate = estimate_hoof(reading, animal_type=AnimalType.HORSE)
    if room is not None:
        estimate = estimate.changed(by_mm=room.mean_mm, covariance=room.covariance)
    corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    return int(np.argmax(expected_worth(corners, steps=preference(table.closures[0]))))


def turns_of(reading: HoofReading, table: SizeTable = TABLE) -> tuple[Turn, ...]:
    best = best_of(reading, table)
    return nearest_turns(reading, table, animal_type=AnimalType.HORSE, boot=0, best=best)


def changed(reading: HoofReading, axis: Axis, change_mm: float) -> HoofReading:
    values = (reading.width if axis is Axis.WIDTH else reading.length).values_mm
    moved = AxisReading(values_mm=tuple(value + change_mm for value in values))
    return replace(reading, **{axis.value: moved})  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [118.0, 120.5, 123.0])
@pytest.mark.parametrize("length", [119.0, 121.0, 124.0])
def test_the_change_told_turns_the_size_and_half_a_millimetre_less_does_not(width: float, length: float) -> None:
    reading = read(width, length)
    best = best_of(reading)
    for turn in turns_of(reading):
        assert best_of(changed(reading, turn.axis, turn.change_mm)) == turn.size != best
        less = turn.change_mm - STEP_MM if turn.change_mm > 0 else turn.change_mm + STEP_MM
        assert best_of(changed(reading, turn.axis, less)) == best


@pytest.mark.parametrize("length", [115.0, 117.5, 120.0])
def test_with_a_pad_in_the_boot_the_change_told_turns_the_size_of_the_padded_hoof(length: float) -> None:
    reading = read(118.0, length)
    best = best_of(reading, room=ROOM)
    turns = nearest_turns(reading, TABLE, animal_type=AnimalType.HORSE, boot=0, best=best, room=ROOM)
    assert turns
    for turn in turns:
        assert best_of(changed(reading, turn.axis, turn.change_mm), room=ROOM) == turn.size != best
        less = turn.change_mm - STEP_MM if turn.change_mm > 0 else turn.change_mm + STEP_MM
        assert best_of(changed(reading, turn.axis, less), room=ROOM) == best


def test_the_nearest_turn_comes_first_and_each_axis_once() -> None:
    turns = turns_of(read(122.0, 120.0))
    assert [abs(turn.change_mm) for turn in turns] == sorted(abs(turn.change_mm) for turn in turns)
    assert len({turn.axis for turn in turns}) == len(turns)


def test_a_longer_hoof_turns_to_a_larger_size_and_a_shorter_one_to_a_smaller() -> None:
    for turn in turns_of(read(120.0, 120.0)):
        assert (turn.size > best_of(read(120.0, 120.0))) == (turn.change_mm > 0.0)


def test_a_boot_of_one_size_has_no_turn() -> None:
    one = size_table([BootChart(closure=Closure.STRAP, widths_mm=[(110.0, 130.0)], lengths_mm=[(110.0, 130.0)])])
    assert turns_of(read(120.0, 120.0), one) == ()
