"""Outcomes as they are handed over: a list in a request, rows in a file; every fault with its place."""

import csv
import io
import json
from datetime import date
from typing import Any

import pytest

from hooflast.errors import Fault, InputRefused
from hooflast.exchange import tell_fault
from hooflast.exchange.outcome_form import MOST_OUTCOMES, OutcomesForm, read_outcomes
from hooflast.exchange.outcome_rows import OutcomesFormat, read_outcome_rows
from hooflast.fit.hoof import AnimalType, HoofReading, HoofState, Limb, Method, Observer
from hooflast.fit.outcome import Channel, Outcome, ReadingGroup
from hooflast.matching.outcomes import OutcomesQuestion, ReceiptedHoof
from hooflast.texts import load_texts

TODAY = date(2026, 5, 1)
ROW: dict[str, Any] = {
    "limb": "LF",
    "width": 124,
    "length": 128,
    "channel": "web",
    "boot": "vellory-alder",
    "size": "lark",
    "outcome": "kept",
}
RECEIPT: dict[str, Any] = {
    "jti": "0193f5c2",
    "animal_type": "pony",
    "hooves": [
        {
            "limb": "RH",
            "method": "tape",
            "observer": "owner",
            "reading_mm": [110, 112],
            "estimate_mm": [110.2, 111],
            "uncertainty_mm": [1.9, 2.7],
            "correlation": 0.31,
            "shown": [],
        }
    ],
}
RECEIPTED: dict[str, Any] = {
    "receipt": RECEIPT,
    "limb": "RH",
    "channel": "clinic",
    "boot": "vellory-alder",
    "size": "lark",
    "outcome": "came_off",
}


def read(*rows: object, **beside: object) -> OutcomesQuestion:
    return read_outcomes({"outcomes": list(rows), **beside}, today=TODAY)


def faults(*rows: object, **beside: object) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        read(*rows, **beside)
    return list(caught.value.faults)


def found(*rows: object, **beside: object) -> set[tuple[str, str]]:
    return {(fault.pointer, fault.code) for fault in faults(*rows, **beside)}


def in_file(raw: str, *, written_as: OutcomesFormat, **beside: object) -> OutcomesQuestion:
    return read_outcome_rows(raw.encode(), written_as=written_as).question(today=TODAY, beside=beside)


def file_faults(raw: str, *, written_as: OutcomesFormat) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        in_file(raw, written_as=written_as)
    return list(caught.value.faults)


class TestList:
    def test_a_row_is_a_hoof_as_it_was_measured_a_boot_and_an_outcome(self) -> None:
        more = {
            "animal_type": "draft",
            "width": [124, 126],
            "states": ["flare"],
            "method": "calliper",
            "observer": "professional",
            "measured_on": "2026-03-01",
            "sold_on": "2026-03-15",
            "order": "17",
            "allowance": 2,
            "weeks_since_trim": 3,
        }
        (one,) = read({**ROW, **more}).sold
        hoof = one.hoof
        assert isinstance(hoof, HoofReading)
        assert (one.animal_type, one.boot, one.size, one.order) == (AnimalType.DRAFT, "vellory-alder", "lark", "17")
        assert (one.outcome, one.group) == (
            Outcome.KEPT,
            ReadingGroup(method=Method.CALLIPER, channel=Channel.WEB),
        )
        assert (hoof.limb, hoof.method, hoof.observer) == (Limb.LF, Method.CALLIPER, Observer.PROFESSIONAL)
        assert (hoof.width.values_mm, hoof.length.values_mm) == ((124.0, 126.0), (128.0,))
        assert (hoof.states, hoof.age_weeks, hoof.weeks_since_trim) == (frozenset({HoofState.FLARE}), 2.0, 3.0)
        assert hoof.allowance_mm == 2.0

    def test_what_a_row_leaves_out_is_the_lists_or_unknown(self) -> None:
        (plain,) = read(ROW).sold
        assert isinstance(plain.hoof, HoofReading)
        assert (plain.hoof.method, plain.hoof.observer) == (Method.UNKNOWN, Observer.OWNER)
        assert (plain.animal_type, plain.order, plain.hoof.age_weeks) == (AnimalType.HORSE, None, 0.0)
        (told,) = read(ROW, method="tape", observer="professional").sold
        assert isinstance(told.hoof, HoofReading)
        assert (told.hoof.method, told.group.method) == (Method.TAPE, Method.TAPE)
        assert told.hoof.observer is Observer.PROFESSIONAL

    def test_lengths_are_in_the_unit_of_the_row_or_the_list(self) -> None:
        rows = [{**ROW, "width": "4 7/8 in", "length": 5.0, "unit": "in"}, {**ROW, "width": 12.4, "length": 12.8}]
        inches, centimetres = (one.hoof for one in read(*rows, unit="cm").sold)
        assert isinstance(inches, HoofReading)
        assert isinstance(centimetres, HoofReading)
        assert inches.length.mean_mm == pytest.approx(127.0)
        assert centimetres.width.mean_mm == pytest.approx(124.0)

    @pytest.mark.parametrize(
        ("measured_on", "sold_on"), [(None, "2026-03-15"), ("2026-03-15", None), ("2026-03-15", "2026-03-01")]
    )
    def test_a_reading_is_never_younger_than_its_sale(self, measured_on: str | None, sold_on: str | None) -> None:
        (one,) = read({**ROW, "measured_on": measured_on, "sold_on": sold_on}).sold
        assert isinstance(one.hoof, HoofReading)
        assert one.hoof.age_weeks == 0.0

    def test_an_empty_order_is_none(self) -> None:
        assert read({**ROW, "order": ""}).sold[0].order is None

    def test_a_catalog_release_can_be_pinned(self) -> None:
        assert read(ROW, catalog_release="sha256-1").catalog_release == "sha256-1"
        assert read(ROW).catalog_release is None

    def test_every_fault_of_every_row_is_told_at_once(self) -> None:
        bad = {**ROW, "width": 900, "outcome": "too_smal", "boot": "Vellory Alder", "size": "", "wdith": 1}
        lacking = {name: value for name, value in ROW.items() if name not in ("limb", "channel")}
        assert found(ROW, bad, lacking, 3) == {
            ("/outcomes/1/width", "length-out-of-range"),
            ("/outcomes/1/outcome", "unknown-choice"),
            ("/outcomes/1/boot", "wrong-form"),
            ("/outcomes/1/size", "wrong-form"),
            ("/outcomes/1/wdith", "unknown-field"),
            ("/outcomes/2/limb", "missing"),
            ("/outcomes/2/channel", "missing"),
            ("/outcomes/3", "wrong-type"),
        }

    def test_a_near_miss_is_named(self) -> None:
        (one,) = faults({**ROW, "outcome": "too_smal"})
        assert one.facts["closest"] == "too_small"

    def test_width_and_length_must_be_of_one_hoof(self) -> None:
        assert found({**ROW, "length": 60}) == {("/outcomes/0/length", "not-one-hoof")}

    def test_the_list_has_bounds(self) -> None:
        assert found() == {("/outcomes", "too-few")}
        assert len(read(*[ROW] * MOST_OUTCOMES).sold) == MOST_OUTCOMES
        assert found(*[ROW] * (MOST_OUTCOMES + 1)) == {("/outcomes", "too-many")}

    @pytest.mark.parametrize("document", [3, [], {"outcomes": 3}, {"outcomes": {"receipt": 1}}, None])
    def test_what_is_no_list_of_outcomes_is_refused(self, document: object) -> None:
        with pytest.raises(InputRefused):
            read_outcomes(document, today=TODAY)

    def test_the_forms_example_can_be_read(self) -> None:
        (example,) = OutcomesForm.model_json_schema()["examples"]
        assert len(read_outcomes(json.dumps(example).encode(), today=TODAY).sold) == 2


class TestReceipts:
    def test_a_row_may_hand_back_what_its_receipt_says(self) -> None:
        (one,) = read(RECEIPTED).sold
        assert one.hoof == ReceiptedHoof(
            limb=Limb.RH, means_mm=(110.2, 111.0), deviations_mm=(1.9, 2.7), correlation=0.31
        )
        assert (one.animal_type, one.outcome, one.order) == (AnimalType.PONY, Outcome.CAME_OFF, None)
        assert one.group == ReadingGroup(method=Method.TAPE, channel=Channel.CLINIC)

    def test_both_kinds_of_rows_may_stand_side_by_side(self) -> None:
        kinds = [type(one.hoof) for one in read(ROW, RECEIPTED, ROW).sold]
        assert kinds == [HoofReading, ReceiptedHoof, HoofReading]

    def test_its_limb_is_one_of_the_receipts(self) -> None:
        assert found(ROW, {**RECEIPTED, "limb": "LF"}) == {("/outcomes/1/limb", "limb-not-in-receipt")}

    def test_its_faults_are_told_where_they_are(self) -> None:
        hoof = {**RECEIPT["hooves"][0], "estimate_mm": [110], "uncertainty_mm": [1.9, 0.0], "correlation": 1.5}
        bad = {**RECEIPTED, "receipt": {**RECEIPT, "hooves": [hoof]}, "colour": "black"}
        assert found(bad) == {
            ("/outcomes/0/receipt/hooves/0/estimate_mm", "too-few"),
            ("/outcomes/0/receipt/hooves/0/uncertainty_mm/1", "out-of-range"),
            ("/outcomes/0/receipt/hooves/0/correlation", "out-of-range"),
            ("/outcomes/0/colour", "unknown-field"),
        }

    @pytest.mark.parametrize("receipt", [None, 3, "eyJhbGciOiJIUzI1NiJ9", {}, {"hooves": 3}, {"hooves": [3]}])
    def test_what_is_no_receipt_is_refused(self, receipt: object) -> None:
        assert all(pointer.startswith("/outcomes/0/receipt") for pointer, _ in found({**RECEIPTED, "receipt": receipt}))


class TestFiles:
    def ndjson(self, *rows: object) -> str:
        return "\n".join(map(json.dumps, rows))

    def csv(self, *rows: dict[str, Any]) -> str:
        text = io.StringIO()
        writer = csv.DictWriter(text, ROW)
        writer.writeheader()
        writer.writerows(rows)
        return text.getvalue()

    def test_lines_of_json_and_csv_ask_what_a_list_asks(self) -> None:
        other = {**ROW, "limb": "RF", "outcome": "too_large", "width": "4 7/8 in"}
        expected = read(ROW, other)
        assert in_file(self.ndjson(ROW, other), written_as=OutcomesFormat.NDJSON) == expected
        assert in_file(self.csv(ROW, other), written_as=OutcomesFormat.CSV) == expected

    def test_what_is_told_beside_the_file_holds_for_its_rows(self) -> None:
        row = {**ROW, "width": 12.4, "length": 12.8}
        asked = in_file(self.ndjson(row), written_as=OutcomesFormat.NDJSON, unit="cm", catalog_release="x")
        assert asked == read(row, unit="cm", catalog_release="x")

    def test_empty_lines_are_passed_over_and_counted(self) -> None:
        raw = "\n" + self.ndjson(ROW) + "\r\n\n" + self.ndjson({**ROW, "limb": "XX"}) + "\n\n"
        (one,) = file_faults(raw, written_as=OutcomesFormat.NDJSON)
        assert one.path == ("rows", 4, "limb")

    @pytest.mark.parametrize("written_as", OutcomesFormat)
    def test_every_fault_names_its_row_and_column(self, written_as: OutcomesFormat) -> None:
        rows = [ROW, {**ROW, "width": 900}, {**ROW, "channel": "fax", "outcome": "lost"}]
        raw = self.csv(*rows) if written_as is OutcomesFormat.CSV else self.ndjson(*rows)
        first = 2 if written_as is OutcomesFormat.CSV else 1
        places = {(fault.path[1], fault.path[2], fault.code) for fault in file_faults(raw, written_as=written_as)}
        assert places == {
            (first + 1, "width", "length-out-of-range"),
            (first + 2, "channel", "unknown-choice"),
            (first + 2, "outcome", "unknown-choice"),
        }
        told = [tell_fault(fault, texts=load_texts("en")).place for fault in file_faults(raw, written_as=written_as)]
        assert all(str(row) in place for (row, _, _), place in zip(sorted(places), sorted(told), strict=True))

    def test_every_line_that_is_not_json_is_named(self) -> None:
        raw = f"{self.ndjson(ROW)}\n{{oops\n{self.ndjson(ROW)}\n[1,"
        found = [
            (fault.path, fault.code, fault.facts["line"])
            for fault in file_faults(raw, written_as=OutcomesFormat.NDJSON)
        ]
        assert found == [(("rows", 2), "not-json", 2), (("rows", 4), "not-json", 4)]

    def test_a_line_that_is_no_object_is_named(self) -> None:
        (one,) = file_faults(self.ndjson(ROW, 3), written_as=OutcomesFormat.NDJSON)
        assert (one.path, one.code) == (("rows", 2), "wrong-type")

    def test_a_file_may_hold_more_than_a_request(self) -> None:
        raw = self.ndjson(*[ROW] * (MOST_OUTCOMES + 1))
        assert len(in_file(raw, written_as=OutcomesFormat.NDJSON).sold) == MOST_OUTCOMES + 1

    @pytest.mark.parametrize("written_as", OutcomesFormat)
    def test_an_empty_file_is_refused(self, written_as: OutcomesFormat) -> None:
        assert file_faults("", written_as=written_as)
