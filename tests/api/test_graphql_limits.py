"""What GraphQL documents may not be and may not cost, and documents known by their ids."""

import json
from pathlib import Path
from typing import Any

import httpx
import pytest
from graphql import OperationDefinitionNode, parse
from tests.api.graphql_asking import SCHEMA, ask, codes_of, errors_of, whole
from tests.api.keys import made_for_pages
from tests.api.samples import serving

from hooflast.api.graphql.answering import graphql_of
from hooflast.api.graphql.cost import FEW, cost_of
from hooflast.api.graphql.documents import LONGEST_KEPT, MOST_KEPT, Documents, id_of_text, read_registered
from hooflast.api.graphql.errors import DocumentIdWrong, DocumentUnknown
from hooflast.api.graphql.fields import KEPT_ANSWER, LOOK_UP, MANY_HORSES, ONE_HORSE, WHOLE_ASSORTMENT
from hooflast.api.graphql.limits import Limits
from hooflast.settings import Access, BrowserDocuments, Settings, SettingsRefused

LIMITS = Limits(depth=15, aliases=3, tokens=200, cost=1_000)
TYPENAME = "{ __typename }"
TOO_DEEP = "{ boots { nodes " + "{ maker { boots { nodes " * 6 + "{ id }" + " } } }" * 6 + " } }"


def cost(document: str, **variables: Any) -> int:
    parsed = parse(document)
    (operation,) = (one for one in parsed.definitions if isinstance(one, OperationDefinitionNode))
    fragments = {one.name.value: one for one in parsed.definitions if not isinstance(one, OperationDefinitionNode)}  # type: ignore[attr-defined]
    return cost_of(operation, schema=SCHEMA, variables=variables, fragments=fragments)


class TestCost:
    """Every field costs something, and a list as many times what is asked of each of its items."""

    @pytest.mark.parametrize(
        ("document", "expected"),
        [
            ("{ __typename }", 1),
            ('{ boot(id: "x") { name } }', 2),
            ('{ boot(id: "x") { name restId maker { name } } }', 5),
            ("{ boots(first: 7) { nodes { name } } }", 1 + 7 * 2),
            ("{ boots { nodes { name } } }", 1 + 20 * 2),
            ("{ boots(first: 7) { nodes { sizes(first: 3) { nodes { code } } } } }", 1 + 7 * (1 + 1 + 3 * 2)),
            ('{ nodes(ids: ["a", "b"]) { id } }', LOOK_UP + 2),
            ('{ match(id: "x") { hooves { limb } } }', LOOK_UP + 1 + 4),
            ('{ matchJob(id: "x") { results(first: 3) { nodes { line } } } }', 2 * LOOK_UP + 3 * (KEPT_ANSWER + 2)),
            (
                "{ assortments(first: 3) { nodes { name report { mapped } } } }",
                LOOK_UP + 3 * (2 + WHOLE_ASSORTMENT + 1),
            ),
            ('{ match(id: "x") { hooves { boots { place } } } }', LOOK_UP + 1 + 4 * (1 + FEW)),
            ('mutation { removeAssortment(id: "x") { id } }', LOOK_UP + 1),
            ('mutation { changeAssortment(id: "x", input: {remove: ["y"]}) { revision } }', MANY_HORSES + 1),
        ],
    )
    def test_of_documents(self, document: str, expected: int) -> None:
        assert cost(document) == expected

    @pytest.mark.parametrize(
        ("first", "expected"), [(1, 3), (100, 201), (10**9, 201), (-5, 3), ("x", 201), (None, 201)]
    )
    def test_of_pages_asked_for_by_variables(self, first: object, expected: int) -> None:
        document = "query($first: Int!) { boots(first: $first) { nodes { name } } }"
        assert cost(document, first=first) == expected

    def test_defaults_of_variables_count(self) -> None:
        assert cost("query($first: Int = 3) { boots(first: $first) { nodes { name } } }") == 7
        assert cost("query($first: Int = 3) { boots(first: $first) { nodes { name } } }", first=5) == 11

    def test_a_fragment_costs_what_it_holds_wherever_it_stands(self) -> None:
        plain = "{ boots(first: 9) { nodes { name maker { name restId } } } }"
        spread = """{ boots(first: 9) { nodes { ...F } } }
          fragment F on Boot { name maker { ...M } }
          fragment M on Maker { name restId }"""
        inline = "{ boots(first: 9) { nodes { ... on Boot { name maker { ... { name restId } } } } } }"
        assert cost(spread) == cost(inline) == cost(plain)

    def test_fragments_that_double_each_other_are_reckoned_quickly(self) -> None:
        doubling = " ".join(f"fragment F{n} on Maker {{ ...F{n + 1} ...F{n + 1} }}" for n in range(60))
        document = f'{{ maker(id: "x") {{ ...F0 }} }} {doubling} fragment F60 on Maker {{ name }}'
        assert cost(document) == 1 + 2**60

    def test_a_whole_match_is_within_the_usual_budget(self) -> None:
        document = f"mutation($i: MatchInput!) {{ createMatch(input: $i) {whole('Match')} }}"
        assert ONE_HORSE < cost(document) < Settings().graphql_cost


class TestLimits:
    """A document that goes too far is refused before anything of it is answered."""

    @pytest.fixture
    def documents(self) -> Documents:
        return Documents(limits=LIMITS, registered={})

    @pytest.mark.parametrize(
        ("document", "said"),
        [
            ("{ a: __typename b: __typename c: __typename d: __typename }", "aliases"),
            ("{ " + "__typename " * 300 + "}", "token"),
            ("{", "Syntax Error"),
            ("{ nothing }", "nothing"),
            ("fragment A on Boot { ...B } fragment B on Boot { ...A } { boot(id: 1) { ...A } }", "itself"),
            (TOO_DEEP, "depth"),
        ],
    )
    def test_refused(self, documents: Documents, document: str, said: str) -> None:
        prepared = documents.find(text=document, document_id=None)
        assert prepared.document is None
        assert any(said in error.message for error in prepared.errors), prepared.errors

    @pytest.mark.anyio
    async def test_what_costs_too_much_is_not_answered(self, sqlite_url: str) -> None:
        async with serving(sqlite_url, graphql_cost=100) as client:
            answer = await ask(client, "{ boots(first: 50) { nodes { name } } }")
            assert (answer.status_code, codes_of(answer)) == (400, ["document-too-costly"])
            assert "101" in errors_of(answer)[0]["message"]
            within = await ask(client, "{ boots(first: 49) { nodes { name } } }")
            assert within.json()["extensions"]["cost"] == {"asked": 99, "most": 100}

    @pytest.mark.anyio
    async def test_only_the_operation_that_is_meant_costs_something(self, sqlite_url: str) -> None:
        document = "query Dear { boots(first: 100) { nodes { name } } } query Cheap { __typename }"
        async with serving(sqlite_url, graphql_cost=100) as client:
            assert (await ask(client, document, operationName="Cheap")).status_code == 200
            assert codes_of(await ask(client, document, operationName="Dear")) == ["document-too-costly"]
            assert set(codes_of(await ask(client, document))) <= {"document-too-costly", "variables-refused"}
            assert codes_of(await ask(client, document, operationName="Other")) == ["variables-refused"]


class TestDocuments:
    """A document is known by the digest of its exact text."""

    @pytest.fixture
    def documents(self) -> Documents:
        return Documents(limits=LIMITS, registered={id_of_text(TYPENAME): TYPENAME})

    def test_an_id_is_the_digest_of_the_exact_text(self) -> None:
        assert id_of_text("query($id:ID!){user(id:$id){name}}") == (
            "sha256:71f7dc5758652baac68e4a10c50be732b741c892ade2883a99358f52b555286b"
        )
        assert id_of_text("{ __typename }") != id_of_text("{__typename}")

    def test_a_registered_document_is_known_from_the_start(self, documents: Documents) -> None:
        assert documents.find(text=None, document_id=id_of_text(TYPENAME)).document is not None

    def test_another_is_known_once_it_came_with_its_id(self, documents: Documents) -> None:
        text = "{ plugins { nodes { name } } }"
        with pytest.raises(DocumentUnknown):
            documents.find(text=None, document_id=id_of_text(text))
        documents.find(text=text, document_id=None)
        with pytest.raises(DocumentUnknown):
            documents.find(text=None, document_id=id_of_text(text))
        documents.find(text=text, document_id=id_of_text(text))
        assert documents.find(text=None, document_id=id_of_text(text)).document is not None

    def test_an_id_of_another_document_is_refused(self, documents: Documents) -> None:
        with pytest.raises(DocumentIdWrong):
            documents.find(text="{ x }", document_id=id_of_text(TYPENAME))

    def test_only_so_many_are_kept_but_the_registered_stay(self, documents: Documents) -> None:
        texts = [f"# {number}\n{{ __typename }}" for number in range(MOST_KEPT + 1)]
        for text in texts:
            documents.find(text=text, document_id=id_of_text(text))
        with pytest.raises(DocumentUnknown):
            documents.find(text=None, document_id=id_of_text(texts[0]))
        assert documents.find(text=None, document_id=id_of_text(texts[-1])).document is not None
        assert documents.find(text=None, document_id=id_of_text(TYPENAME)).document is not None

    def test_a_file_lists_texts_or_names_them(self, tmp_path: Path) -> None:
        assert read_registered(json.dumps([TYPENAME]).encode()) == {id_of_text(TYPENAME): TYPENAME}
        assert read_registered(json.dumps({id_of_text(TYPENAME): TYPENAME}).encode()) == {
            id_of_text(TYPENAME): TYPENAME
        }
        with pytest.raises(ValueError, match="not the id"):
            read_registered(json.dumps({"sha256:0": TYPENAME}).encode())
        file = tmp_path / "documents.json"
        file.write_text(json.dumps([TYPENAME]))
        assert graphql_of(Settings(graphql_documents=str(file))).documents.is_registered(id_of_text(TYPENAME))

    @pytest.mark.parametrize("written", ["", "7", "[7]", '{"sha256:0": "{ __typename }"}'])
    def test_a_file_of_another_form_is_refused_as_a_setting(self, written: str, tmp_path: Path) -> None:
        file = tmp_path / "documents.json"
        file.write_text(written)
        with pytest.raises(SettingsRefused, match="HOOFLAST_GRAPHQL_DOCUMENTS"):
            graphql_of(Settings(graphql_documents=str(file)))

    @pytest.mark.anyio
    async def test_they_are_answered_by_their_ids(self, client: httpx.AsyncClient) -> None:
        known = id_of_text(TYPENAME)
        unknown = await ask(client, documentId=known)
        assert (unknown.status_code, codes_of(unknown)) == (400, ["document-unknown"])
        assert codes_of(await ask(client, TYPENAME, documentId=id_of_text("other"))) == ["document-id-wrong"]
        assert (await ask(client, TYPENAME, documentId=known)).status_code == 200
        assert (await ask(client, documentId=known)).json()["data"] == {"__typename": "Query"}

    @pytest.mark.anyio
    async def test_pages_may_be_held_to_registered_documents(self, sqlite_url: str, tmp_path: Path) -> None:
        file = tmp_path / "documents.json"
        file.write_text(json.dumps([TYPENAME]))
        key = await made_for_pages(sqlite_url)
        settings: dict[str, Any] = {
            "graphql_browser_documents": BrowserDocuments.REGISTERED,
            "graphql_documents": str(file),
        }
        async with serving(sqlite_url, access=Access.KEYS, **settings) as client:
            other = "{ plugins { nodes { name } } }"
            for members in ({"query": other}, {"query": other, "documentId": id_of_text(other)}):
                refused = await ask(client, headers=key.from_page(), **members)
                assert codes_of(refused) == ["document-not-registered"]
            allowed = await ask(client, headers=key.from_page(), documentId=id_of_text(TYPENAME))
            assert allowed.status_code == 200


def nested(depth: int, *, opening: str = "[", closing: str = "]", inmost: str = "1") -> str:
    """Something within something, so many times."""
    return opening * depth + inmost + closing * depth


WIDTH = "mutation {{ createMatch(input: {{hooves: [{{limb: LF, width: {width}, length: 128}}]}}) {{ restId }} }}"
CHAIN = " ".join(f"fragment F{place} on Maker {{ ...F{place + 1} }}" for place in range(360))


@pytest.mark.parametrize(
    "document",
    [
        nested(900, opening="{ a ", closing="}", inmost=""),
        nested(900, opening="{ ... ", closing="}", inmost="{ __typename }"),
        "query($a: " + nested(900, inmost="Int") + ") { __typename }",
        WIDTH.format(width=nested(1_400)),
        WIDTH.format(width=nested(500, opening="{a: ", closing="}")),
        f'{{ maker(id: "x") {{ ...F0 }} }} {CHAIN} fragment F360 on Maker {{ name }}',
    ],
)
async def test_a_document_that_is_nested_without_end_is_refused(client: httpx.AsyncClient, document: str) -> None:
    for _ in range(2):
        refused = await ask(client, document)
        assert (refused.status_code, codes_of(refused)[0]) == (400, "document-refused")


@pytest.mark.parametrize("depth", [13, 100, 300, 450, 600, 800, *range(880, 1_000, 9), 928, 5_000])
@pytest.mark.parametrize("opening", ["[", '{"a":'])
async def test_variables_that_are_nested_without_end_are_refused(
    client: httpx.AsyncClient, depth: int, opening: str
) -> None:
    document = "mutation($input: MatchInput!) { createMatch(input: $input) { restId } }"
    width = nested(depth, opening=opening, closing="]" if opening == "[" else "}")
    variables = f'{{"input": {{"hooves": [{{"limb": "LF", "width": {width}, "length": 128}}]}}}}'
    body = f'{{"query": {json.dumps(document)}, "variables": {variables}}}'
    refused = await client.post("/graphql", content=body, headers={"Content-Type": "application/json"})
    told = refused.json()
    faults = told.get("errors", [])
    if "data" in told:
        faults = faults[0]["extensions"]["errors"]
    assert "too-deep" in {fault.get("code") for fault in faults}, refused.text


@pytest.mark.parametrize(("length", "is_kept"), [(LONGEST_KEPT, True), (LONGEST_KEPT + 1, False)])
def test_a_long_document_is_answered_and_not_kept(length: int, *, is_kept: bool) -> None:
    """A comment is no token, and may be as long as a body: hundreds of them would fill the memory."""
    documents = Documents(limits=LIMITS, registered={})
    text = TYPENAME + "#".ljust(length - len(TYPENAME), "x")
    known = id_of_text(text)
    first = documents.find(text=text, document_id=known)
    assert first.document is not None
    assert (documents.find(text=text, document_id=known) is first) == is_kept
    if is_kept:
        assert documents.find(text=None, document_id=known) is first
    else:
        with pytest.raises(DocumentUnknown):
            documents.find(text=None, document_id=known)
