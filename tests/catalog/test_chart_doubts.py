"""Chart doubts: overlaps, gaps and missing axes are found wherever they are, and a sound chart raises none."""

from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import strategies as st
from tests.matching.worlds import boot

from hooflast.catalog.chart_doubts import chart_doubts
from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.values import BootModel, Range, Size, SizeCode

Ends = tuple[float, float] | None


def chart(*sizes: tuple[Ends, Ends], step_mm: float = 1.0) -> BootModel:
    def span(ends: Ends) -> Range | None:
        return None if ends is None else Range(low_mm=ends[0], high_mm=ends[1])

    named = tuple(
        Size(code=SizeCode(f"size-{number}"), width=span(width), length=span(length))
        for number, (width, length) in enumerate(sizes)
    )
    return replace(boot("own"), sizes=named, chart_step_mm=step_mm)


def codes(model: BootModel) -> list[DoubtCode]:
    return [code for code, _ in chart_doubts(model)]


spans = st.integers(3, 12)


@given(st.integers(60, 120), st.lists(spans, min_size=1, max_size=8))
def test_sizes_that_follow_one_another_raise_no_doubt(low: int, widths: list[int]) -> None:
    sizes: list[tuple[Ends, Ends]] = []
    for span in widths:
        sizes.append(((float(low), float(low + span)), (float(low + 2), float(low + span + 2))))
        low += span + 1
    assert codes(chart(*sizes)) == []


@given(st.integers(60, 120), spans, st.floats(1.1, 20.0))
def test_a_gap_is_found_and_measured(low: int, span: int, gap: float) -> None:
    next_low = low + span + gap
    model = chart(((low, low + span), None), ((next_low, next_low + span), None))
    found = [facts for code, facts in chart_doubts(model) if code is DoubtCode.GAP_BETWEEN_SIZES]
    assert len(found) == 1
    assert abs(float(found[0]["gap_mm"]) - gap) < 1e-6


@given(st.integers(60, 120), st.integers(6, 12), st.integers(1, 2))
def test_sizes_that_share_much_on_every_axis_overlap(low: int, span: int, moved: int) -> None:
    one, other = (float(low), float(low + span)), (float(low + moved), float(low + span + moved + 1))
    assert codes(chart((one, one), (other, other))) == [DoubtCode.SIZES_OVERLAP]


@given(st.integers(60, 120), spans, st.tuples(st.integers(0, 3), st.integers(0, 3)))
def test_a_size_that_lies_within_its_neighbour_is_swallowed(low: int, span: int, beyond: tuple[int, int]) -> None:
    inner, outer = (float(low), float(low + span)), (float(low - beyond[0]), float(low + span + beyond[1]))
    orders = ((((inner, inner), (outer, outer)), "size-0"), (((outer, outer), (inner, inner)), "size-1"))
    for sizes, swallowed in orders:
        ((code, facts),) = chart_doubts(chart(*sizes))
        assert code is DoubtCode.SIZE_SWALLOWED
        assert facts["size"] == (swallowed if inner != outer else "size-0")


def test_a_size_within_its_neighbour_on_one_axis_alone_is_not_swallowed() -> None:
    assert codes(chart(((110, 116), (120, 128)), ((117, 123), (120, 129)))) == []


def test_a_size_that_takes_anothers_place_in_time_is_not_swallowed() -> None:
    model = chart(((110, 116), (112, 118)), ((110, 116), (112, 118)))
    first, second = model.sizes
    ended = replace(model, sizes=(replace(first, discontinued_on=date(2026, 3, 1)), second))
    assert DoubtCode.SIZE_SWALLOWED not in codes(ended)


def test_widths_to_a_length_are_no_overlap_and_no_gap() -> None:
    """Two widths of one length share the length and part the widths."""
    assert codes(chart(((110, 116), (120, 128)), ((117, 123), (120, 128)))) == []


def test_a_chart_of_coarser_steps_leaves_no_gap_where_the_steps_meet() -> None:
    inches = chart(((114.3, 120.65), None), ((123.825, 130.175), None), step_mm=3.175)
    assert DoubtCode.GAP_BETWEEN_SIZES not in codes(inches)


def test_an_axis_that_is_left_out_is_told_once_and_of_some_sizes_by_name() -> None:
    assert codes(chart(((110, 116), None), ((117, 123), None))) == [DoubtCode.AXIS_MISSING]
    ((code, facts),) = chart_doubts(chart(((110, 116), (112, 118)), ((117, 123), None)))
    assert (code, facts) == (DoubtCode.AXIS_MISSING_IN_SOME, {"axis": "length", "size_list": "size-1"})


def test_a_range_that_spans_hardly_anything_or_half_the_hooves_is_told() -> None:
    assert codes(chart(((110, 110.5), (112, 118)))) == [DoubtCode.RANGE_NARROW]
    assert codes(chart(((110, 140), (112, 118)))) == [DoubtCode.RANGE_WIDE]
