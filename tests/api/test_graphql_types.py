"""Types of GraphQL: made from documents and forms, all described, every list bounded, and committed as they are."""

from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Literal

import msgspec
import pytest
import strawberry
from graphql import (
    GraphQLEnumType,
    GraphQLInputObjectType,
    GraphQLInterfaceType,
    GraphQLList,
    GraphQLObjectType,
    GraphQLSchema,
    get_nullable_type,
)
from hypothesis import given
from hypothesis import strategies as st
from msgspec import UNSET, Meta, UnsetType
from pydantic import BaseModel, Field
from strawberry.schema.config import StrawberryConfig
from strawberry.schema.schema_converter import GraphQLCoreConverter
from tests.api.graphql_asking import SCHEMA

from hooflast.api.graphql.bounds import BOUND, PAGE
from hooflast.api.graphql.fields import SCOPE
from hooflast.api.graphql.inputs import as_body, input_type
from hooflast.api.graphql.match_jobs import MOST_HORSES
from hooflast.api.graphql.naming import camel, camel_path
from hooflast.api.graphql.nodes import NodeId, read_node_id
from hooflast.api.graphql.outputs import output_type
from hooflast.api.graphql.scalars import SCALARS
from hooflast.api.graphql.sdl import written_schema

COMMITTED = Path(__file__).resolve().parents[2] / "openapi" / "hooflast.graphql"
OURS = {name: kind for name, kind in SCHEMA.type_map.items() if not name.startswith("__") and kind.ast_node is None}


class Colour(StrEnum):
    """What a hoof's horn looks like."""

    BLACK = "black"
    PART_WHITE = "part_white"


class PartDocument(msgspec.Struct, frozen=True, kw_only=True):
    """A part."""

    name: str


class WholeDocument(msgspec.Struct, frozen=True, kw_only=True):
    """A whole."""

    pad_mm: Annotated[float, Meta(description="How thick.")]
    colour: Colour | None
    parts: Annotated[list[PartDocument], Meta(max_length=3, description="Its parts.")]
    part: PartDocument | UnsetType = UNSET
    on: date
    at: datetime | None
    status: Literal["live"]
    value: str | float | None


class PieceForm(BaseModel):
    """A piece."""

    size: int = Field(3, ge=1, le=9, description="How large.")


class OtherForm(BaseModel):
    """Another piece."""

    colour: Colour = Field(Colour.BLACK, description="Its colour.")
    size: int = Field(description="How large.")


class GivenForm(BaseModel):
    """What is given."""

    first_name: str = Field(description="Its name.")
    colours: list[Colour] = Field(default=[], max_length=2, description="Its colours.")
    piece: PieceForm = Field(PieceForm(), description="A piece.")
    pieces: list[PieceForm | OtherForm] | None = Field(None, max_length=4, description="Pieces.")


def schema_of(output: Any, taken: Any) -> GraphQLSchema:
    def resolve(given: Any) -> None:
        del given

    resolve.__annotations__ = {"given": taken, "return": None}
    query = strawberry.type(
        type("Query", (), {"found": strawberry.field(resolver=resolve, graphql_type=output), "__annotations__": {}})
    )
    return strawberry.Schema(query, config=StrawberryConfig(scalar_map=SCALARS))._schema


SMALL = schema_of(output_type(WholeDocument), input_type(GivenForm))


class TestOutputs:
    """A document's type says what the document says of itself."""

    @pytest.mark.parametrize(
        ("name", "kind"),
        [
            ("padMm", "Float!"), ("colour", "Colour"), ("parts", "[Part!]!"), ("part", "Part"), ("on", "Date!"),
            ("at", "DateTime"), ("status", "String!"), ("value", "Value"),
        ],
    )  # fmt: skip
    def test_members_become_fields(self, name: str, kind: str) -> None:
        assert str(SMALL.type_map["Whole"].fields[name].type) == kind  # type: ignore[attr-defined]

    def test_descriptions_and_bounds_are_kept(self) -> None:
        whole: Any = SMALL.type_map["Whole"]
        assert whole.description == "A whole."
        assert whole.fields["padMm"].description == "How thick."
        assert whole.fields["parts"].description == "Its parts. At most 3."

    def test_words_are_called_by_their_names(self) -> None:
        colour = SMALL.type_map["Colour"]
        assert isinstance(colour, GraphQLEnumType)
        assert (list(colour.values), colour.description) == (["BLACK", "PART_WHITE"], "What a hoof's horn looks like.")

    def test_a_new_kind_of_member_is_noticed(self) -> None:
        class OddDocument(msgspec.Struct):
            """Odd."""

            odd: bytes

        with pytest.raises(TypeError, match="OddDocument"):
            output_type(OddDocument)


class TestInputs:
    """A form's input takes what the form takes, and hands it on in the form's words."""

    @pytest.mark.parametrize(
        ("name", "kind", "default"),
        [
            ("firstName", "String!", None),
            ("colours", "[Colour!]!", []),
            ("piece", "PieceInput", None),
            ("pieces", "[PieceInput!]", None),
        ],
    )
    def test_fields_keep_their_kind_and_default(self, name: str, kind: str, default: object) -> None:
        field = SMALL.type_map["GivenInput"].fields[name]  # type: ignore[attr-defined]
        assert str(field.type) == kind
        assert (field.default_value or None) == (default or None)

    def test_bounds_are_told(self) -> None:
        given_input: Any = SMALL.type_map["GivenInput"]
        assert given_input.fields["colours"].description == "Its colours. At most 2."
        assert SMALL.type_map["PieceInput"].fields["size"].description == "How large. From 1 to 9."  # type: ignore[attr-defined]

    def test_one_of_several_forms_is_filled_in_by_none(self) -> None:
        made = input_type(PieceForm, OtherForm)
        assert as_body(made(size=4)) == {"size": 4}
        assert as_body(made(size=4, colour=Colour.BLACK)) == {"size": 4, "colour": "black"}

    def test_what_came_is_handed_on_and_no_more(self) -> None:
        made = input_type(GivenForm)
        assert as_body(made(first_name="Moth", piece=None)) == {"first_name": "Moth", "colours": [], "piece": None}
        body = as_body(made(first_name="Moth", colours=[Colour.PART_WHITE], piece=input_type(PieceForm)(size=2)))
        assert body == {"first_name": "Moth", "colours": ["part_white"], "piece": {"size": 2}}

    def test_a_new_kind_of_field_is_noticed(self) -> None:
        class OddForm(BaseModel):
            """Odd."""

            odd: bytes

        with pytest.raises(TypeError, match="bytes"):
            input_type(OddForm)


@given(kind=st.sampled_from(["Boot", "Match"]), rest_id=st.text(min_size=1), within=st.none() | st.text(min_size=1))
def test_an_id_of_a_node_is_read_as_it_was_made(kind: str, rest_id: str, within: str | None) -> None:
    node = NodeId(kind=kind, rest_id=rest_id.replace("\n", " "), within=within and within.replace("\n", " "))
    try:
        written = node.written()
    except UnicodeEncodeError:
        return
    assert read_node_id(written) == node


@given(st.text())
def test_any_text_is_an_id_or_none(written: str) -> None:
    read = read_node_id(written)
    assert read is None or read.written() == written


def test_places_are_spelled_as_arguments_are() -> None:
    assert camel_path(("hooves", 0, "measured_on")) == ("hooves", 0, "measuredOn")
    assert [camel(name) for name in ("pad_mm", "id", "length", "weeks_since_trim")] == [
        "padMm", "id", "length", "weeksSinceTrim",
    ]  # fmt: skip


def test_the_committed_schema_is_the_one_that_is_served() -> None:
    """`python -m hooflast.api.graphql.sdl > openapi/hooflast.graphql` writes it anew."""
    assert COMMITTED.read_text() == written_schema()


def _members() -> list[tuple[str, Any]]:
    return [
        (f"{name}.{member}", field)
        for name, kind in OURS.items()
        if isinstance(kind, GraphQLObjectType | GraphQLInterfaceType | GraphQLInputObjectType)
        for member, field in kind.fields.items()
    ]


def _metadata(field: Any) -> dict[str, Any]:
    return dict(getattr(field.extensions.get(GraphQLCoreConverter.DEFINITION_BACKREF), "metadata", {}))


def test_every_list_is_bounded_or_a_page() -> None:
    unbounded = []
    for place, field in _members():
        if isinstance(get_nullable_type(field.type), GraphQLList):
            metadata = _metadata(field)
            is_told = metadata.get(PAGE) or f"At most {metadata.get(BOUND)}" in (field.description or "")
            if not isinstance(metadata.get(BOUND), int) or not (is_told or place == "Query.nodes"):
                unbounded.append(place)
        for name, argument in getattr(field, "args", {}).items():
            if isinstance(get_nullable_type(argument.type), GraphQLList):
                bound = _metadata(argument).get(BOUND)
                is_told = f"At most {bound}." in (argument.description or "")
                if not isinstance(bound, int) or bound > MOST_HORSES or not is_told:
                    unbounded.append(f"{place}({name}:)")
    assert not unbounded


def test_every_connection_takes_a_bounded_page() -> None:
    for place, field in _members():
        if str(field.type).rstrip("!").endswith("Connection"):
            assert {"first", "after"} <= set(field.args), place
            assert field.args["first"].default_value == 20
            assert "from 1 to 100" in field.args["first"].description


def test_every_field_of_the_root_declares_its_scope_and_fails_alone() -> None:
    for root in (SCHEMA.query_type, SCHEMA.mutation_type):
        assert root is not None
        for name, field in root.fields.items():
            assert SCOPE in _metadata(field), name
            assert not str(field.type).endswith("!"), name


def test_types_arguments_and_fields_of_the_root_are_described() -> None:
    unsaid = [name for name, kind in OURS.items() if not kind.description]
    for root in (SCHEMA.query_type, SCHEMA.mutation_type):
        assert root is not None
        for name, field in root.fields.items():
            unsaid += [] if field.description else [name]
            unsaid += [f"{name}({one}:)" for one, said in field.args.items() if one != "input" and not said.description]
    built_in = {"String", "Int", "Float", "Boolean", "ID"}
    assert set(unsaid) <= built_in
