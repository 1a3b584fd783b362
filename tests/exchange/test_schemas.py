"""The JSON Schemas of request and answer."""

from collections.abc import Iterator
from functools import cache
from typing import Any

import msgspec
from hypothesis import given, settings
from jsonschema import Draft202012Validator

from hooflast.api.openapi import documents_given, forms_taken
from hooflast.api.routes import operations
from hooflast.exchange import document_schemas, form_schemas, write_match_answer
from hooflast.matching.answer import MatchAnswer
from hooflast.texts import load_texts

from .strategies import Document, answers, match_documents

READ_IN_PART = {"ReceiptForm", "ReceiptHoofForm", "GraphqlForm"}
"""A match receipt says more than is asked of it here; whoever hands one back hands it back whole. What else stands in
a GraphQL request is passed over, as GraphQL over HTTP has it."""

FORMS = form_schemas(forms_taken(operations()))
ANSWERS = document_schemas(documents_given(operations()))


@cache
def validator_of_requests() -> Draft202012Validator:
    return validator(FORMS, "MatchForm")


@cache
def validator_of_answers() -> Draft202012Validator:
    return validator(ANSWERS, "MatchAnswerDocument")


def validator(schemas: dict[str, Any], name: str) -> Draft202012Validator:
    Draft202012Validator.check_schema(schemas[name])
    return Draft202012Validator({"$ref": f"#/components/schemas/{name}", "components": {"schemas": schemas}})


def references(schema: object) -> Iterator[str]:
    if isinstance(schema, dict):
        if "$ref" in schema:
            yield schema["$ref"].removeprefix("#/components/schemas/")
        for inner in schema.values():
            yield from references(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from references(inner)


def test_every_reference_leads_to_a_component() -> None:
    for schemas in (FORMS, ANSWERS):
        assert set(references(schemas)) <= set(schemas)


def test_request_and_answer_mean_the_same_by_one_name() -> None:
    asked, answered = FORMS, ANSWERS
    for name in asked.keys() & answered.keys():
        assert sorted(asked[name]["enum"]) == sorted(answered[name]["enum"])


def test_every_field_of_the_request_is_described_and_has_an_example() -> None:
    for name, schema in FORMS.items():
        for field, described in schema.get("properties", {}).items():
            assert described.get("description"), (name, field)
            assert described.get("examples"), (name, field)


def test_no_object_of_the_request_takes_unknown_fields() -> None:
    objects = [schema for name, schema in FORMS.items() if schema.get("type") == "object" and name not in READ_IN_PART]
    assert objects
    assert all(schema["additionalProperties"] is False for schema in objects)


def test_every_part_of_the_answer_is_described() -> None:
    assert [name for name, schema in ANSWERS.items() if not schema.get("description")] == []


@given(match_documents())
def test_a_right_request_suits_its_schema(document: Document) -> None:
    validator_of_requests().validate(document)


def test_every_example_suits_its_field() -> None:
    schemas = FORMS
    for schema in schemas.values():
        for described in schema.get("properties", {}).values():
            for example in described["examples"]:
                Draft202012Validator({**described, "components": {"schemas": schemas}}).validate(example)


@given(answers())
@settings(max_examples=30)
def test_an_answer_suits_its_schema(answer: MatchAnswer) -> None:
    written = msgspec.json.decode(write_match_answer(answer, receipt=None, texts=load_texts("en")))
    validator_of_answers().validate(written)
