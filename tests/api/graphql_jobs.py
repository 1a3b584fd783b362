"""Match jobs asked for in GraphQL: handed over, waited for, and read."""

import json
from typing import Any, Final

import httpx
from tests.api.graphql_asking import as_input, data_of, field_of_root, whole
from tests.api.test_match_jobs import horses as ndjson

HORSE_TYPE: Final = field_of_root("Mutation", "createMatchJob").args["horses"].type.of_type.of_type
CREATE: Final = """mutation(
  $horses: [MatchInput!]!, $answer: JobAnswers, $release: String, $older: String, $receipts: Receipts
) {
  createMatchJob(
    horses: $horses, answer: $answer, catalogRelease: $release, compareWith: $older, receipts: $receipts
  ) { id restId state horses answered answer catalogRelease compareWith writtenAs language inputBytes }
}"""
READ: Final = """query($id: ID!) {
  matchJob(id: $id) { id restId state answered refused answeredTo day catalogRelease createdAt resultsAddress }
}"""
RESULTS: Final = """query($id: ID!, $first: Int!, $after: String, $line: Int!, $only: JobOutcome) {
  matchJob(id: $id) { results(first: $first, after: $after, afterLine: $line, only: $only) {
    edges { cursor node { line outcome horseName faults { code pointer row column received } } }
    pageInfo { endCursor hasNextPage hasPreviousPage }
  } }
}"""
WHOLE: Final = f"""query($id: ID!, $after: String) {{
  matchJob(id: $id) {{
    results(first: 2, after: $after) {{ nodes {whole("MatchJobResult")} pageInfo {{ endCursor hasNextPage }} }}
  }}
}}"""
BAD: Final = {"hooves": [{"limb": "LF", "width": "wide", "length": 128, "measuredOn": "soon"}]}


def some_horses(count: int) -> list[Any]:
    """Horses that can be read, as inputs."""
    return [as_input(json.loads(line), HORSE_TYPE) for line in ndjson(count).splitlines()]


async def created(client: httpx.AsyncClient, horses: list[Any], **wished: Any) -> Any:
    """A job that was just made."""
    return (await data_of(client, CREATE, horses=horses, **wished))["createMatchJob"]


async def ended(client: httpx.AsyncClient, job: Any) -> Any:
    """The job, once it is over."""
    while True:
        told = (await data_of(client, READ, id=job["id"]))["matchJob"]
        if told["state"] not in ("QUEUED", "RUNNING"):
            return told


async def page(client: httpx.AsyncClient, job: Any, *, first: int = 100, line: int = 0, **more: Any) -> Any:
    """A page of the results of a job."""
    found = await data_of(client, RESULTS, id=job["id"], first=first, line=line, **more)
    return found["matchJob"]["results"]


async def results(client: httpx.AsyncClient, job: Any, **which: Any) -> list[Any]:
    """The first results of a job."""
    return [edge["node"] for edge in (await page(client, job, **which))["edges"]]


async def whole_results(client: httpx.AsyncClient, job: Any) -> list[Any]:
    """All results of a job with all that there is of them."""
    seen: list[Any] = []
    after, more = None, True
    while more:
        found = (await data_of(client, WHOLE, id=job["id"], after=after))["matchJob"]["results"]
        seen += found["nodes"]
        after, more = found["pageInfo"]["endCursor"], found["pageInfo"]["hasNextPage"]
    return seen
