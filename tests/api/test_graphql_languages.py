"""Languages in GraphQL: what is said comes in the language that is asked for, what programs read stays as it is."""

from typing import Any, Final

import httpx
import pytest
from tests.api.graphql_asking import GRAPHQL, as_input, ask, errors_of, field_of_root
from tests.api.samples import HORSE, serving

pytestmark = pytest.mark.anyio
LANGUAGES: Final = ("en", "de", "fr", "nl", "sv")
MATCH: Final = """mutation($input: MatchInput!) {
  createMatch(input: $input) {
    cautions { code severity text } assumptions { code text } wearing { code text }
    hooves { limb limbText boots { why { code text } cautions { code text } best { size fitChance } } }
    versions { language }
  }
}"""
TROUBLES: Final = "{ troubles(first: 100) { nodes { trouble text causes { cause text lookAt change } } } }"
SENTENCES: Final = {"message", "detail", "accepted", "text", "limbText", "lookAt", "change"}
"""What holds a sentence."""

INPUT: Final = as_input(HORSE, field_of_root("Mutation", "createMatch").args["input"].type)
REFUSED: Final[list[tuple[str, dict[str, Any]]]] = [
    ("{ nothing }", {}),
    ("{", {}),
    ('{ boot(id: "nowhere") { name } }', {}),
    ("{ boots(first: 0) { nodes { name } } }", {}),
    ('{ boots(after: "x") { nodes { name } } }', {}),
    (MATCH, {}),
    (MATCH, {"input": {"hooves": [{"limb": "LF", "width": 9999, "length": "x"}]}}),
    ("{ " + " ".join(f"a{n}: boots(first: 100) {{ nodes {{ sizes(first: 100) {{ nodes {{ code }} }} }} }}"
                     for n in range(3)) + " }", {}),
]  # fmt: skip


def said(value: Any) -> tuple[list[str], Any]:
    """The sentences of an answer, and the answer without them."""
    if isinstance(value, list):
        parts = [said(one) for one in value]
        return [text for texts, _ in parts for text in texts], [rest for _, rest in parts]
    if isinstance(value, dict):
        texts: list[str] = []
        rest = {}
        for name, inner in value.items():
            if isinstance(inner, str) and name in SENTENCES:
                texts.append(inner)
            else:
                more, rest[name] = said(inner)
                texts += more
        return texts, rest
    return [], value


async def spoken(
    client: httpx.AsyncClient, document: str, *, variables: dict[str, Any] | None = None
) -> dict[str, httpx.Response]:
    answers: dict[str, httpx.Response] = {}
    for language in LANGUAGES:
        answer = await ask(client, document, variables=variables, headers={"Accept-Language": language})
        assert answer.headers["content-language"] == language
        assert {"Accept", "Accept-Language"} <= {one.strip() for one in answer.headers["vary"].split(",")}
        answers[language] = answer
    return answers


@pytest.mark.parametrize(("document", "variables"), [(MATCH, {"input": INPUT}), (TROUBLES, {})])
async def test_sentences_differ_and_all_else_is_the_same(
    client: httpx.AsyncClient, document: str, variables: dict[str, Any]
) -> None:
    answers = await spoken(client, document, variables=variables)
    parted = {language: said(answer.json()["data"]) for language, answer in answers.items()}
    sentences, _ = parted["en"]
    assert len(sentences) > 10
    for number in range(len(sentences)):
        told = {texts[number] for texts, _ in parted.values()}
        assert len(told) > 1, f"{sentences[number]!r} is said alike in all languages"
    for language, (_, rest) in parted.items():
        assert rest == _in(parted["en"][1], language)


def _in(rest: Any, language: str) -> Any:
    """What an answer says besides its sentences, where it names its language."""
    match = rest.get("createMatch")
    return rest if match is None else {"createMatch": {**match, "versions": {"language": language}}}


@pytest.mark.parametrize(("document", "variables"), REFUSED)
async def test_errors_are_told_in_each_language_with_the_same_codes(
    client: httpx.AsyncClient, document: str, variables: dict[str, Any]
) -> None:
    answers = await spoken(client, document, variables=variables)
    errors = {language: said(errors_of(answer)) for language, answer in answers.items()}
    for texts, rest in errors.values():
        assert rest == errors["en"][1]
        assert len(texts) == len(errors["en"][0])
    messages = {errors_of(answer)[0]["message"] for answer in answers.values()}
    assert len(messages) == len(LANGUAGES)


@pytest.mark.parametrize(
    ("asked", "told"),
    [("de-AT, en;q=0.5", "de"), ("pl, fr;q=0.3, en;q=0.1", "fr"), ("pl", "nl"), ("*", "nl"), (None, "nl")],
)
async def test_the_dearest_language_there_is_or_that_of_the_settings(
    sqlite_url: str, asked: str | None, told: str
) -> None:
    async with serving(sqlite_url, language="nl") as client:
        client.headers.pop("accept-language", None)
        headers = {"Accept": GRAPHQL, **({"Accept-Language": asked} if asked else {})}
        answer = await client.post("/graphql", json={"query": "{ nothing }"}, headers=headers)
        assert answer.headers["content-language"] == told


async def test_a_match_is_read_again_in_the_language_it_was_asked_in(client: httpx.AsyncClient) -> None:
    document = "mutation($input: MatchInput!) { createMatch(input: $input) { id cautions { text } } }"
    made = await ask(client, document, variables={"input": INPUT}, headers={"Accept-Language": "de"})
    match = made.json()["data"]["createMatch"]
    again = "query($id: ID!) { match(id: $id) { id cautions { text } versions { language } } }"
    read = await ask(client, again, variables={"id": match["id"]}, headers={"Accept-Language": "fr"})
    assert read.json()["data"]["match"] == {**match, "versions": {"language": "de"}}
