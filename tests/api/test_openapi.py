"""OpenAPI: the committed document is the service's, its references lead somewhere, and its examples work."""

import json
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import httpx
import jsonschema_rs
import pytest
from jsonschema import Draft202012Validator
from tests import demo
from tests.api.belongings import OF_A_CLIENT, names_in
from tests.api.samples import NEWER, NOW, serving

from hooflast.api.app import create_app
from hooflast.api.openapi import openapi_document, written
from hooflast.api.problems import MEDIA_TYPE
from hooflast.settings import Settings
from hooflast.store import open_store

THERE = {"limb": "LF", "maker_id": "vellory", "boot_id": "vellory-oak", "release_id": NEWER.id, "trouble": "turns"}
COMMITTED = Path(__file__).resolve().parents[2] / "openapi" / "hooflast.openapi.json"
DOCUMENT = openapi_document()
OPERATIONS = {
    operation["operationId"]: (method.upper(), path, operation)
    for path, methods in DOCUMENT["paths"].items()
    for method, operation in methods.items()
}


def values(node: Any, word: str) -> Iterator[Any]:
    if isinstance(node, dict):
        for name, inner in node.items():
            if name == word:
                yield inner
            yield from values(inner, word)
    elif isinstance(node, list):
        for inner in node:
            yield from values(inner, word)


def test_the_committed_document_is_the_one_the_code_makes() -> None:
    rewrite = "python -m hooflast.api.openapi > openapi/hooflast.openapi.json"
    assert COMMITTED.read_bytes() == written(DOCUMENT), f"write it anew: {rewrite}"


def test_every_route_is_in_the_document_and_no_other(sqlite_url: str) -> None:
    app = create_app(Settings(database_url=sqlite_url), store=open_store(sqlite_url), clock=lambda: NOW)
    served = {(method, route.path_format) for route in app.routes for method in route.methods if method != "OPTIONS"}
    assert {(method, path) for method, path, _ in OPERATIONS.values()} == served


def test_every_reference_leads_somewhere() -> None:
    references = set(values(DOCUMENT, "$ref"))
    assert references
    for reference in references:
        node = DOCUMENT
        for step in reference.removeprefix("#/").split("/"):
            node = node[step]
        assert node


def test_every_component_is_used() -> None:
    schemes = {name for asked in values(DOCUMENT, "security") for one in asked for name in one}
    used = set(values(DOCUMENT, "$ref")) | {f"#/components/securitySchemes/{name}" for name in schemes}
    components = {
        f"#/components/{family}/{name}" for family, members in DOCUMENT["components"].items() for name in members
    }
    assert components - used == set()


def test_every_schema_is_a_json_schema_by_the_metaschema_in_two_validators() -> None:
    assert DOCUMENT["openapi"].startswith("3.1.")
    for schema in values(DOCUMENT, "schema"):
        Draft202012Validator.check_schema(schema)
    for schema in DOCUMENT["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)
        jsonschema_rs.meta.validate({"$schema": Draft202012Validator.META_SCHEMA["$id"], **schema})


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_refusal_is_declared_as_a_problem(name: str) -> None:
    _, _, operation = OPERATIONS[name]
    refusals = {status for status in operation["responses"] if int(status) >= 400}
    assert {"400", "406", "500"} <= refusals
    for status in refusals - ({"422"} if name == "answer_form" else set()):
        declared = operation["responses"][status]
        if "$ref" in declared:
            declared = DOCUMENT["components"]["responses"][declared["$ref"].rpartition("/")[2]]
        assert declared["content"][MEDIA_TYPE] == {"schema": {"$ref": "#/components/schemas/Problem"}}
        assert len(declared["content"]) == 1 or name == "answer_graphql"


def test_a_form_is_refused_with_a_page() -> None:
    responses = OPERATIONS["answer_form"][2]["responses"]
    assert set(responses["422"]["content"]) == set(responses["200"]["content"]) == {"text/html"}


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_operation_and_parameter_says_what_it_is(name: str) -> None:
    _, path, operation = OPERATIONS[name]
    assert operation["summary"]
    assert operation["tags"][0] in {tag["name"] for tag in DOCUMENT["tags"]}
    described = [parameter for parameter in operation["parameters"] if "$ref" not in parameter]
    assert all(parameter["description"].endswith(".") for parameter in described)
    in_path = {parameter["name"] for parameter in described if parameter["in"] == "path"}
    assert in_path == {part[1:-1] for part in path.split("/") if part.startswith("{")}


async def filled(path: str, client: httpx.AsyncClient) -> str:
    """A path with the ids of what belongs to a client, made for it, where it names any."""
    ids: dict[str, str] = {}
    for name, make in OF_A_CLIENT.items():
        if name in names_in(path):
            ids[name] = await make(client, {}, ids)
            path = path.replace("{" + name + "}", ids[name])
    for name, there in THERE.items():
        path = path.replace("{" + name + "}", there)
    return path


@pytest.mark.anyio
@pytest.mark.parametrize("name", [name for name in OPERATIONS if "requestBody" in OPERATIONS[name][2]])
async def test_the_examples_of_every_form_are_answered(sqlite_url: str, name: str) -> None:
    """From the demo catalog, whose boot models they name."""
    method, path, operation = OPERATIONS[name]
    content = operation["requestBody"]["content"]
    if "application/json" not in content:
        return
    assert content["application/json"]["examples"]
    async with serving(sqlite_url, library=demo.offered().library) as client:
        for example in content["application/json"]["examples"].values():
            answer = await client.request(method, await filled(path, client), json=example["value"])
            assert str(answer.status_code) in operation["responses"], answer.text
            assert answer.is_success, answer.text


@pytest.mark.anyio
async def test_the_examples_of_query_parameters_are_accepted(client: httpx.AsyncClient) -> None:
    tried = 0
    for method, path, operation in OPERATIONS.values():
        for parameter in operation["parameters"]:
            for example in parameter.get("schema", {}).get("examples", ()):
                if parameter["in"] == "query" and "requestBody" not in operation:
                    params = {parameter["name"]: example}
                    answer = await client.request(method, await filled(path, client), params=params)
                    assert answer.status_code == 200, answer.text
                    tried += 1
    assert tried


@pytest.mark.anyio
async def test_a_link_leads_from_a_match_to_reading_it(client: httpx.AsyncClient) -> None:
    links = OPERATIONS["create_match"][2]["responses"]["201"]["links"]
    assert {link["operationId"] for link in links.values()} == {"read_match", "erase_match"}
    for link in links.values():
        assert link["parameters"] == {"match_id": "$response.body#/id"}


@pytest.mark.anyio
async def test_the_document_is_served_as_it_is_committed(client: httpx.AsyncClient) -> None:
    served = await client.get("/openapi.json")
    assert served.content == COMMITTED.read_bytes()
    assert json.loads(served.content)["openapi"].startswith("3.1.")


@pytest.mark.anyio
async def test_the_document_names_the_address_clients_use(sqlite_url: str) -> None:
    async with serving(sqlite_url, public_url="https://fits.example/hoof") as client:
        assert (await client.get("/openapi.json")).json()["servers"][0]["url"] == "https://fits.example/hoof"
        told = (await client.get("/nowhere")).json()
    assert told["type"] == "https://fits.example/hoof/problems/no-such-address"


class Outline(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.targets: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag != "meta":
            self.open.append(tag)
        for name, value in attrs:
            if name == "id" and value:
                self.ids.append(value)
            if name == "href" and value and value.startswith("#"):
                self.targets.add(value[1:])

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.mark.anyio
async def test_the_reference_page_has_a_place_for_every_operation_and_schema(client: httpx.AsyncClient) -> None:
    outline = Outline()
    outline.feed((await client.get("/reference")).text)
    assert outline.open == []
    assert len(set(outline.ids)) == len(outline.ids)
    schemas = {f"schema-{name}" for name in DOCUMENT["components"]["schemas"]}
    assert set(outline.ids) == schemas | set(OPERATIONS)
    assert outline.targets <= set(outline.ids)
