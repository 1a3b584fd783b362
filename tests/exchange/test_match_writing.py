"""An answer written down."""

import json
import math
from collections.abc import Iterator
from dataclasses import replace

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hooflast.exchange import AnswerWriter, MatchAnswerDocument, match_document, write_match_answer
from hooflast.exchange.answer_parts import encode, rounded, rounded_chance
from hooflast.fit.remark import Remark
from hooflast.matching.answer import MatchAnswer
from hooflast.matching.receipt import MatchReceipt
from hooflast.texts import load_texts
from hooflast.units import Unit

from .strategies import answers

TEXTS = load_texts("en")
RECEIPT = MatchReceipt(id="0197f0a4-6f0e-7c1a-9d55-0242ac120002", token="e30.e30.e30")


few = settings(max_examples=25)


def document_of(answer: MatchAnswer) -> MatchAnswerDocument:
    return match_document(answer, receipt=RECEIPT, texts=TEXTS)


def numbers_in(value: object, name: str = "") -> Iterator[tuple[str, float]]:
    """Every number of a JSON document with the name it stands under."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from numbers_in(inner, key)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers_in(inner, name)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield name, value


@few
@given(answers())
def test_what_is_written_reads_back_as_the_same_document(answer: MatchAnswer) -> None:
    document = document_of(answer)
    assert msgspec.json.decode(encode(document), type=MatchAnswerDocument) == document


@few
@given(answers())
def test_equal_answers_are_equal_bytes(answer: MatchAnswer) -> None:
    turned = replace(answer, left_out=dict(reversed(list(answer.left_out.items()))))
    assert turned == answer
    one, other = (write_match_answer(each, receipt=RECEIPT, texts=TEXTS) for each in (answer, turned))
    assert one == other


@few
@given(answers())
def test_hooves_and_boots_keep_their_order(answer: MatchAnswer) -> None:
    document = document_of(answer)
    assert [hoof.limb for hoof in document.hooves] == [hoof.reading.limb for hoof in answer.hooves]
    assert [[fit.boot.id for fit in hoof.boots] for hoof in document.hooves] == [
        [fit.boot.id for fit in hoof.boots] for hoof in answer.hooves
    ]


@few
@given(answers())
def test_every_number_is_rounded_by_the_documents_rule(answer: MatchAnswer) -> None:
    for name, number in numbers_in(json.loads(write_match_answer(answer, receipt=RECEIPT, texts=TEXTS))):
        assert number == round(number, 1 if name.endswith(("_mm", "_weeks", "since_trim")) else 3), name
        assert math.copysign(1, number) == 1 or number < 0


@few
@given(answers())
def test_every_chance_is_a_probability(answer: MatchAnswer) -> None:
    names = {"fit_chance", "closeness", "chance_some_size_fits", "too_tight", "snug", "even", "roomy", "too_loose"}
    written = json.loads(write_match_answer(answer, receipt=RECEIPT, texts=TEXTS))
    assert all(0 <= number <= 1 for name, number in numbers_in(written) if name in names)


@few
@given(answers())
def test_an_axis_the_chart_leaves_out_has_neither_range_nor_verdict(answer: MatchAnswer) -> None:
    fits = [fit.best for hoof in answer.hooves for fit in hoof.boots]
    told = [fit.best for hoof in document_of(answer).hooves for fit in hoof.boots]
    for fit, document in zip(fits, told, strict=True):
        for printed, shown, verdict in (
            (fit.size.width, document.width_range, document.width),
            (fit.size.length, document.length_range, document.length),
        ):
            assert (printed is None) == (shown is None) == (verdict is None)


@few
@given(answers())
def test_an_answer_that_is_not_kept_has_neither_id_nor_receipt(answer: MatchAnswer) -> None:
    document = match_document(answer, receipt=None, texts=TEXTS)
    assert (document.id, document.receipt) == (None, None)
    assert msgspec.structs.replace(document, id=RECEIPT.id, receipt=RECEIPT.token) == document_of(answer)


@pytest.mark.parametrize(("unit", "said"), [(Unit.MM, "6.4 mm"), (Unit.CM, "0.6 cm"), (Unit.INCH, "0.25 in")])
@few
@given(answer=answers())
def test_sentences_tell_lengths_in_the_askers_unit(unit: Unit, said: str, answer: MatchAnswer) -> None:
    pad = Remark(code="takes-the-pad", facts={"pad_mm": 6.35, "most_mm": 6.35})
    hooves = tuple(replace(hoof, boots=tuple(replace(fit, why=(pad,)) for fit in hoof.boots)) for hoof in answer.hooves)
    told = document_of(replace(answer, question=replace(answer.question, unit=unit), hooves=hooves))
    assert all(said in why.text for hoof in told.hooves for fit in hoof.boots for why in fit.why)


@few
@given(answers())
def test_every_sentence_is_said(answer: MatchAnswer) -> None:
    document = document_of(answer)
    told = [caution.text for caution in document.cautions] + [remark.text for remark in document.assumptions]
    assert all(text and "{" not in text for text in told)
    assert told


@given(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6), st.integers(0, 3))
def test_rounding_moves_no_number_by_more_than_half_a_step_nor_past_another(
    one: float, other: float, decimals: int
) -> None:
    low, high = sorted((one, other))
    assert abs(rounded(one, decimals=decimals) - one) <= 0.5 * 10**-decimals * (1 + 1e-9)
    assert rounded(low, decimals=decimals) <= rounded(high, decimals=decimals)
    assert rounded(rounded(one, decimals=decimals), decimals=decimals) == rounded(one, decimals=decimals)


@pytest.mark.parametrize(
    ("chance", "written"),
    [(0.1235, 0.123), (0.1245, 0.124), (0.0625, 0.062), (-1e-17, 0.0), (1 + 1e-12, 1.0), (0.9996, 1.0), (2 / 3, 0.667)],
)
def test_chances_are_rounded_to_the_nearest_and_true_halves_to_even(chance: float, written: float) -> None:
    """0.0625 is a half in binary too; 0.1235 lies just below, 0.1245 just below its half."""
    assert rounded_chance(chance) == written
    assert math.copysign(1, rounded_chance(chance)) == 1


@given(answers())
def test_head_and_rest_together_are_what_is_written(answer: MatchAnswer) -> None:
    writer = AnswerWriter(texts=TEXTS)
    hooves = [writer.hoof(hoof, question=answer.question) for hoof in answer.hooves]
    assert writer.head(RECEIPT) + writer.rest(answer, hooves=hooves) == write_match_answer(
        answer, receipt=RECEIPT, texts=TEXTS
    )
