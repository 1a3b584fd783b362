"""The error tree."""

import copy
import pickle
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.errors import (
    CatalogUnavailable,
    Fault,
    HooflastError,
    InputRefused,
    NotFound,
    PluginFailed,
    ReceiptInvalid,
    json_pointer,
)
from hooflast.units import LengthUnreadable, Unreadable

ERRORS = [
    InputRefused(faults=(Fault(path=("hooves", 0), code="missing", received=None, facts={"field": "width"}),)),
    NotFound(resource="boot", name="vellory-sedge"),
    CatalogUnavailable(reason="no catalog plugin offers one"),
    PluginFailed(plugin="demo", reason="it did not load"),
    ReceiptInvalid(receipt="e30.e30.e30"),
    LengthUnreadable(written="5 ells", reason=Unreadable.UNIT),
    HooflastError("something else"),
]


def resolve(document: object, pointer: str) -> object:
    """RFC 6901, section 4, told again in a few lines."""
    here = document
    for token in pointer.split("/")[1:]:
        step = token.replace("~1", "/").replace("~0", "~")
        here = here[int(step)] if isinstance(here, list) else here[step]  # type: ignore[index]
    return here


def paths(document: object, so_far: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], object]]:
    yield so_far, document
    if isinstance(document, list):
        for index, child in enumerate(document):
            yield from paths(child, (*so_far, index))
    elif isinstance(document, dict):
        for key, child in document.items():
            yield from paths(child, (*so_far, key))


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
def test_an_error_survives_pickling_with_its_facts_and_its_sentence(error: HooflastError) -> None:
    error = copy.copy(error)
    error.add_note("while reading the third hoof")
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert vars(again) == vars(error)
    assert str(again) == str(error) != ""


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
def test_every_error_is_a_hooflast_error_with_a_code(error: HooflastError) -> None:
    assert isinstance(error, HooflastError)
    assert error.code == error.code.lower()


def test_errors_are_caught_by_the_built_in_kind_they_fit() -> None:
    assert issubclass(InputRefused, ValueError)
    assert issubclass(NotFound, LookupError)
    assert issubclass(ReceiptInvalid, ValueError)
    assert issubclass(LengthUnreadable, ValueError)


@given(
    st.recursive(
        st.none() | st.integers() | st.text(max_size=3),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(alphabet="a/~01 é", max_size=4), inner),
        max_leaves=8,
    )
)
def test_a_pointer_leads_to_the_value_its_path_leads_to(document: object) -> None:
    for path, value in paths(document):
        assert resolve(document, json_pointer(path)) is value


def test_the_pointers_of_the_standard_are_written_as_it_writes_them() -> None:
    """RFC 6901, section 5."""
    assert json_pointer(()) == ""
    assert json_pointer(("foo", 0)) == "/foo/0"
    assert json_pointer(("",)) == "/"
    assert json_pointer(("a/b",)) == "/a~1b"
    assert json_pointer(("m~n",)) == "/m~0n"


def test_a_fault_seen_from_further_up_keeps_what_it_says() -> None:
    fault = Fault(path=("width",), code="missing", received=None, facts={"field": "width"})
    higher = fault.under("hooves", 2)
    assert higher.pointer == "/hooves/2/width"
    assert (higher.code, higher.received, higher.facts) == (fault.code, fault.received, fault.facts)


def test_a_refusal_names_every_fault() -> None:
    refused = InputRefused(
        faults=(
            Fault(path=("hooves", 0, "width"), code="missing", received=None),
            Fault(path=(), code="not-json", received="{"),
        )
    )
    assert str(refused) == ("/hooves/0/width: missing, received None; the whole input: not-json, received '{'")
