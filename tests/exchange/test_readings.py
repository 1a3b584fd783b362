"""Readings as people hand them over: flags, JSON, YAML and CSV."""

import csv
import io
import json

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from hooflast.errors import Fault, InputRefused
from hooflast.exchange import Readings, ReadingsFormat, read_flags, read_match_question, read_readings, tell_fault
from hooflast.fit.hoof import AxisReading, HoofState, Limb, Method
from hooflast.matching.question import MatchQuestion
from hooflast.texts import load_texts

from .strategies import TODAY, Document, anything, match_documents


def ask(raw: str | bytes, written_as: ReadingsFormat) -> MatchQuestion:
    raw = raw.encode() if isinstance(raw, str) else raw
    return read_readings(raw, written_as=written_as).question(today=TODAY)


def faults_of(raw: str | bytes, written_as: ReadingsFormat) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        ask(raw, written_as)
    return list(caught.value.faults)


def found_in(raw: str | bytes, written_as: ReadingsFormat) -> set[tuple[str, str]]:
    return {(fault.pointer, fault.code) for fault in faults_of(raw, written_as)}


def only_hooves(document: Document) -> Document:
    return {"hooves": document["hooves"], "unit": document.get("unit", "mm")}


class TestOneDocumentInEveryFormat:
    """However readings are written, they ask the same question."""

    @given(match_documents())
    def test_json_asks_what_the_request_asks(self, document: Document) -> None:
        assert ask(json.dumps(document), ReadingsFormat.JSON) == read_match_question(document, today=TODAY)

    @given(match_documents())
    def test_yaml_asks_what_the_request_asks(self, document: Document) -> None:
        written = yaml.safe_dump(document, allow_unicode=True)
        assert ask(written, ReadingsFormat.YAML) == read_match_question(document, today=TODAY)

    @given(match_documents())
    def test_json_is_yaml_too(self, document: Document) -> None:
        written = json.dumps(document, ensure_ascii=False)
        assert ask(written, ReadingsFormat.YAML) == ask(written, ReadingsFormat.JSON)

    @given(match_documents(), st.sampled_from([",", ";", "\t"]), st.booleans())
    def test_csv_asks_what_the_request_asks(self, document: Document, delimiter: str, has_mark: bool) -> None:
        document = only_hooves(document)
        names = sorted({name for hoof in document["hooves"] for name in hoof})
        written = io.StringIO()
        table = csv.writer(written, delimiter=delimiter)
        table.writerow(names)
        for hoof in document["hooves"]:
            table.writerow([cell(hoof.get(name)) for name in names])
        raw = written.getvalue().encode("utf-8-sig" if has_mark else "utf-8")
        readings = read_readings(raw, written_as=ReadingsFormat.CSV)
        asked = readings.question(today=TODAY, beside={"unit": document["unit"]})
        assert asked == read_match_question(document, today=TODAY)

    @given(match_documents())
    def test_flags_ask_what_the_request_asks(self, document: Document) -> None:
        document = only_hooves(document)
        readings = read_flags([flag(hoof) for hoof in document["hooves"]])
        asked = readings.question(today=TODAY, beside={"unit": document["unit"]})
        assert asked == read_match_question(document, today=TODAY)


def as_text(value: object) -> str:
    """A number as a person writes it: 6 and not 6.0, which would claim a decimal that was read."""
    return str(int(value) if isinstance(value, float) and value.is_integer() else value)


def cell(value: object) -> str:
    if isinstance(value, list):
        return "|".join(map(as_text, value))
    return "" if value is None else as_text(value)


def flag(hoof: Document) -> str:
    written = [
        f"{name}={as_text(item)}"
        for name, value in hoof.items()
        if name != "limb" and value is not None
        for item in (value if isinstance(value, list) else [value])
    ]
    return f"{hoof['limb']}:{','.join(written)}"


class TestFlags:
    """`LF:width=124,length=128`, one flag per hoof."""

    def test_a_flag_names_its_limb_and_its_fields(self) -> None:
        (reading,) = read_flags(["LF:width=124,length=128"]).question(today=TODAY).hooves
        assert reading.limb is Limb.LF
        assert (reading.width.values_mm, reading.length.values_mm) == ((124.0,), (128.0,))

    def test_units_fractions_and_decimal_commas_stay_whole(self) -> None:
        (reading,) = read_flags(["RH: width = 4 7/8 in, length=12,8cm"]).question(today=TODAY).hooves
        assert (reading.width.values_mm, reading.length.values_mm) == ((123.825,), (128.0,))

    def test_a_field_given_twice_is_a_repeated_reading(self) -> None:
        flags = ["LF:width=124,width=125,length=128,states=flare,states=long_toe"]
        (reading,) = read_flags(flags).question(today=TODAY).hooves
        assert reading.width == AxisReading(values_mm=(124.0, 125.0))
        assert reading.states == {HoofState.FLARE, HoofState.LONG_TOE}

    @pytest.mark.parametrize("flag", ["", "LF", "LF:", "LF:124", "width=124", "LF:width=", "LF:width=124,=5"])
    def test_a_flag_that_cannot_be_read_is_a_fault(self, flag: str) -> None:
        with pytest.raises(InputRefused) as caught:
            read_flags(["RF:width=124,length=128", flag]).question(today=TODAY)
        assert all(fault.pointer.startswith("/hooves/1") for fault in caught.value.faults)

    def test_every_flag_that_cannot_be_read_is_named(self) -> None:
        with pytest.raises(InputRefused) as caught:
            read_flags(["LF", "RF:width=124,length=128", "LH"])
        assert [fault.pointer for fault in caught.value.faults] == ["/hooves/0", "/hooves/2"]

    @given(st.lists(st.text(max_size=30) | st.text(alphabet="LFRH:width=lengt,12 ", max_size=30), max_size=3))
    def test_any_flags_are_read_or_refused(self, flags: list[str]) -> None:
        assert outcome(lambda: read_flags(flags).question(today=TODAY))


class TestYaml:
    """The core schema of YAML 1.2: no surprises."""

    @pytest.mark.parametrize("word", ["no", "off", "Yes", "y", "012", "12:30", "1_000", "0x7c", "<<"])
    def test_words_that_older_yaml_makes_something_of_stay_words(self, word: str) -> None:
        written = f"horse: {{name: {word}}}\nhooves: [{{limb: LF, width: 124, length: 128}}]"
        asked = read_readings(written.encode(), written_as=ReadingsFormat.YAML)
        if word == "012":
            with pytest.raises(InputRefused, match="/horse/name: wrong-type"):
                asked.question(today=TODAY)
        else:
            assert asked.question(today=TODAY).horse_name == word

    def test_a_day_is_a_day(self) -> None:
        written = "measured_on: 2026-03-13\nhooves: [{limb: LF, width: 124, length: 128}]"
        assert ask(written, ReadingsFormat.YAML).hooves[0].age_weeks == 1.0

    def test_a_fraction_needs_no_quotes(self) -> None:
        written = "hooves:\n  - limb: LF\n    width: 4 7/8 in\n    length: [5 in, 12.7 cm]\n    states: [flare]\n"
        (reading,) = ask(written, ReadingsFormat.YAML).hooves
        assert reading.width.values_mm == (123.825,)
        assert reading.length.values_mm == (127.0, 127.0)

    @pytest.mark.parametrize(
        ("written", "pointer", "code"),
        [
            ("", "", "wrong-type"),
            ("- LF", "", "wrong-type"),
            ("hooves: [", "", "not-yaml"),
            ("a: 1\n---\nb: 2", "", "not-yaml"),
            ("hooves: &a [*a]", "", "not-yaml"),
            ("a: &a {b: 1}\nhooves: *a", "", "not-yaml"),
            ("hooves: !!python/object/apply:os.getcwd []", "", "not-yaml"),
            ("hooves: !!binary aGVsbG8=", "", "not-yaml"),
            ("\x00", "", "not-yaml"),
            (b"\xff", "", "not-utf-8"),
            ("[" * 100 + "]" * 100, "", "too-deep"),
            ("[" + "0," * 5_000 + "0]", "", "too-big"),
            ("unit: mm\nunit: in\nhooves: []", "/unit", "duplicate-key"),
            ("hooves: .nan", "/hooves", "number-not-finite"),
            ("hooves: -.INF", "/hooves", "number-not-finite"),
            ("? [a]\n: 1", "", "not-yaml"),
            ("!!int 1: 1", "", "not-yaml"),
            (f"{'x' * 101}: 1", "", "bad-key"),
            ("hooves: [{limb: LF, width: 124, length: ~}]", "/hooves/0/length", "wrong-type"),
            ("hooves: [{limb: LF, width: yes, length: 128}]", "/hooves/0/width", "length-unreadable"),
        ],
    )
    def test_what_cannot_be_taken_is_refused(self, written: str | bytes, pointer: str, code: str) -> None:
        assert (pointer, code) in found_in(written, ReadingsFormat.YAML)

    def test_where_reading_stopped_is_named(self) -> None:
        (fault,) = faults_of("unit: mm\nhooves: [*moth]", ReadingsFormat.YAML)
        assert (fault.facts["line"], fault.facts["column"], fault.received) == (2, 10, "*moth]")

    def test_what_refers_to_itself_never_grows(self) -> None:
        lines = ["a0: &a0 [x, x]", *(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]" for n in range(1, 60))]
        assert found_in("\n".join(lines), ReadingsFormat.YAML) == {("", "not-yaml")}

    @given(st.text(max_size=40) | st.text(alphabet="ab:-[]{}&*!? \n#|>'\"%@`,1.~", max_size=40))
    def test_any_yaml_is_read_or_refused(self, written: str) -> None:
        raw = written.encode("utf-8", "surrogatepass")
        assert outcome(lambda: read_readings(raw, written_as=ReadingsFormat.YAML).question(today=TODAY))


class TestCsv:
    """One hoof per row."""

    def test_a_table_from_a_spreadsheet_is_read(self) -> None:
        written = (
            "\ufeffLimb;Width;Length;Measured on;States;Weeks since trim;Method\r\n"
            "LF;12,4 cm | 12,5 cm;12,8 cm;2026-03-13;long_toe|flare;1,5;tape\r\n"
            ";;;;;;\r\n"
            "RF;4 7/8 in;5 in;;;;\r\n"
        )
        first, second = ask(written, ReadingsFormat.CSV).hooves
        assert first.width.values_mm == (124.0, 125.0)
        assert (first.age_weeks, first.weeks_since_trim, first.method) == (1.0, 1.5, Method.TAPE)
        assert first.states == {HoofState.LONG_TOE, HoofState.FLARE}
        assert (second.width.values_mm, second.weeks_since_trim) == ((123.825,), None)

    def test_a_fault_names_its_row_and_its_column(self) -> None:
        written = "limb,width,length\nLF,124,128\n\nRF,12.4,\nlh,124,128"
        faults = faults_of(written, ReadingsFormat.CSV)
        assert {(fault.pointer, fault.code) for fault in faults} == {
            ("/rows/4/width", "length-out-of-range"),
            ("/rows/4/length", "missing"),
            ("/rows/5/limb", "unknown-choice"),
        }
        texts = load_texts("en")
        assert {tell_fault(fault, texts=texts).place for fault in faults} == {
            "Row 4, column width",
            "Row 4, column length",
            "Row 5, column limb",
        }

    @pytest.mark.parametrize(
        ("written", "pointer", "code"),
        [
            ("", "", "not-csv"),
            ("\n \n", "", "not-csv"),
            ("limb,width,length", "/hooves", "too-few"),
            ('limb,width\n"LF,124', "", "not-csv"),
            ("limb,width\n" + "x" * 200_000, "", "not-csv"),
            ("limb,width,length\nLF,12,4,128", "/rows/2", "row-too-long"),
            ("limb,breadth,length\nLF,124,128", "/rows/2/breadth", "unknown-field"),
            ("limb,width,width,length\nLF,124,125,128", "/rows/2/width", "duplicate-key"),
            ("limb,width,length\nLF,124|x,128", "/rows/2/width", "length-unreadable"),
            ("limb,width,length,weeks_since_trim\nLF,124,128,soon", "/rows/2/weeks_since_trim", "wrong-type"),
            ("limb,width,length\n" + "LF,124,128\n" * 5, "/hooves", "too-many"),
            ("limb,width,length\nLF,124,128\nLF,124,128", "/rows/3/limb", "duplicate-limb"),
            (b"limb\xff", "", "not-utf-8"),
        ],
    )
    def test_what_cannot_be_taken_is_refused(self, written: str | bytes, pointer: str, code: str) -> None:
        assert (pointer, code) in found_in(written, ReadingsFormat.CSV)

    def test_a_decimal_comma_needs_quotes_only_between_commas(self) -> None:
        quoted = ask('limb,width,length\nLF,"12,4 cm","12,8 cm"', ReadingsFormat.CSV)
        assert quoted == ask("limb;width;length\nLF;12,4 cm;12,8 cm", ReadingsFormat.CSV)

    @given(st.text(max_size=40) | st.text(alphabet='limbwdth,;\t\n"LF124|', max_size=60))
    def test_any_csv_is_read_or_refused(self, written: str) -> None:
        raw = written.encode("utf-8", "surrogatepass")
        assert outcome(lambda: read_readings(raw, written_as=ReadingsFormat.CSV).question(today=TODAY))


class TestBeside:
    """What is told on a command line goes before what a file says, member by member."""

    FILE = (
        b'{"horse": {"name": "Wicket", "animal_type": "pony"}, "hooves": [{"limb": "LF", "width": 124, "length": 128}]}'
    )

    @pytest.mark.parametrize("written_as", [ReadingsFormat.JSON, ReadingsFormat.YAML])
    def test_members_are_joined(self, written_as: ReadingsFormat) -> None:
        readings = read_readings(self.FILE, written_as=written_as)
        question = readings.question(today=TODAY, beside={"horse": {"animal_type": "mini"}, "uses": ["road"]})
        assert (question.horse_name, question.animal_type, set(question.uses)) == ("Wicket", "mini", {"road"})

    def test_what_is_wrong_on_either_side_is_refused_in_one_go(self) -> None:
        readings = read_readings(self.FILE.replace(b"124", b"12.4"), written_as=ReadingsFormat.JSON)
        with pytest.raises(InputRefused) as caught:
            readings.question(today=TODAY, beside={"boots_per_hoof": 0})
        assert {fault.pointer for fault in caught.value.faults} == {"/hooves/0/width", "/boots_per_hoof"}

    @given(anything, st.dictionaries(st.sampled_from(["horse", "unit", "pad"]), anything))
    def test_anything_can_be_joined_with_anything(self, document: object, beside: dict[str, object]) -> None:
        assert outcome(lambda: Readings(document=document).question(today=TODAY, beside=beside))


def outcome(ask: object) -> object:
    """A question, or the faults that are told instead."""
    assert callable(ask)
    try:
        return ask()
    except InputRefused as refused:
        texts = load_texts("en")
        return [tell_fault(fault, texts=texts) for fault in refused.faults]
