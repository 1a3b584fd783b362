"""Job media: how the OpenAPI document describes lists of horses and of results, which JSON Schema has no word for."""

from typing import Any, Final

from hooflast.api.negotiation import CSV, NDJSON
from hooflast.exchange.job_lines import COLUMNS
from hooflast.exchange.job_result_document import RESULT_DOCUMENTS

Json = dict[str, Any]
_COMPONENT: Final = "#/components/schemas/{name}"
_BRAMBLE: Final = (
    '{"horse":{"name":"Bramble"},"hooves":[{"limb":"LF","width":124,"length":128},'
    '{"limb":"RF","width":125,"length":128}],"uses":["hacking"]}'
)
_JUNIPER: Final = (
    '{"horse":{"name":"Juniper","animal_type":"pony"},"hooves":[{"limb":"LF","width":"4 3/8 in","length":"4 1/2 in"}]}'
)
NDJSON_EXAMPLE: Final = f"{_BRAMBLE}\n{_JUNIPER}\n"
CSV_EXAMPLE: Final = (
    "horse,animal_type,limb,width,length,method\n"
    "Bramble,horse,LF,124,128,tape\n"
    "Bramble,,RF,125,128,tape\n"
    "Juniper,pony,LF,111,114,tape\n"
)


def horses_body(media_type: str) -> Json:
    """The body of a request that hands over many horses."""
    if media_type == NDJSON:
        return {
            "schema": {"type": "string", "minLength": 1, "description": "The form of a match, one a line."},
            "x-line-schema": {"$ref": _COMPONENT.format(name="MatchForm")},
            "examples": {"two_horses": {"summary": "Two horses", "value": NDJSON_EXAMPLE}},
        }
    said = (
        "A heading, then one hoof a row; rows that follow each other and name the same `horse` are one horse. "
        f"Columns: {', '.join(COLUMNS)}; `limb`, `width` and `length` must be there."
    )
    return {
        "schema": {"type": "string", "minLength": 1, "description": said},
        "examples": {"two_horses": {"summary": "Two horses, one of them with two hooves", "value": CSV_EXAMPLE}},
    }


def results_content() -> Json:
    """What results are written in."""
    lines = [{"$ref": _COMPONENT.format(name=document.__name__)} for document in RESULT_DOCUMENTS]
    return {
        NDJSON: {
            "schema": {
                "type": "string",
                "description": "One result a line, by the job's kind of answer; `contentSchema` is that of a line.",
                "contentMediaType": NDJSON,
                "contentSchema": {"anyOf": lines},
            },
        },
        CSV: {
            "schema": {
                "type": "string",
                "description": "A heading, then one row for each boot of each hoof, or for each hoof that changes.",
            }
        },
    }
