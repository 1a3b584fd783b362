"""Problems: the one table that says which error is which HTTP status, and the one shape errors are told in (RFC 9457).

Sentences come from `texts`: `problem.<code>.title` and `problem.<code>.detail` for the problem, `fault.<code>` and
`fault.<code>.accepted` for each of its errors.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum, auto
from http import HTTPStatus
from typing import Annotated, Final

import msgspec
from litestar import Response
from litestar.exceptions import HTTPException
from msgspec import UNSET, Meta, UnsetType

from hooflast import errors
from hooflast.access import errors as access_errors
from hooflast.api import refusals
from hooflast.api.admission import challenge
from hooflast.api.graphql import errors as graphql_errors
from hooflast.api.service import HttpRequest
from hooflast.catalog import errors as catalog_errors
from hooflast.draw import errors as draw_errors
from hooflast.errors import Fact, Fault, HooflastError, InputRefused
from hooflast.matching import errors as matching_errors
from hooflast.settings import SettingsRefused
from hooflast.store import errors as store_errors
from hooflast.texts import Texts
from hooflast.texts import errors as texts_errors
from hooflast.units import LengthUnreadable

Teller = Callable[[HttpRequest, Exception], Response[bytes]]

MEDIA_TYPE: Final = "application/problem+json"
LONGEST_RECEIVED: Final = 200
MOST_ERRORS: Final = 100

STATUS: Final[Mapping[type[HooflastError], int]] = {
    errors.InputRefused: 422,
    errors.NotFound: 404,
    errors.CatalogUnavailable: 503,
    errors.PluginFailed: 500,
    errors.ReceiptInvalid: 422,
    LengthUnreadable: 500,
    access_errors.AccessRefused: 403,
    access_errors.KeyMissing: 401,
    access_errors.KeyMalformed: 401,
    access_errors.KeyUnknown: 401,
    access_errors.KeyRevoked: 401,
    access_errors.KeyExpired: 401,
    access_errors.OriginRefused: 403,
    access_errors.ServerKeyInBrowser: 403,
    access_errors.ScopeMissing: 403,
    access_errors.FixedReleaseGone: 403,
    access_errors.LimitReached: 429,
    catalog_errors.StepNotAllowed: 409,
    catalog_errors.FourEyesNeeded: 409,
    catalog_errors.ReleaseStillActive: 409,
    catalog_errors.NoEarlierRelease: 409,
    catalog_errors.ReleaseGone: 410,
    draw_errors.PictureRefused: 500,
    store_errors.StoreError: 500,
    store_errors.DatabaseUrlRefused: 500,
    store_errors.DatabaseFolderMissing: 500,
    store_errors.StoreUnavailable: 503,
    store_errors.SchemaNotCurrent: 503,
    store_errors.StoreClosed: 503,
    store_errors.TenantUnknown: 500,
    store_errors.SigningKeyUnknown: 500,
    store_errors.AnswerAlreadyKept: 500,
    store_errors.ReleaseDamaged: 500,
    store_errors.BackupFileThere: 500,
    store_errors.BackupFailed: 500,
    store_errors.BackupDamaged: 500,
    store_errors.IdempotencyKeyInUse: 409,
    store_errors.IdempotencyKeyReused: 422,
    store_errors.AssortmentChanged: 412,
    store_errors.TooManyAssortments: 409,
    store_errors.TooManyItems: 422,
    store_errors.TooManyHooks: 409,
    store_errors.TooManyJobs: 409,
    store_errors.JobOver: 409,
    matching_errors.CannotAnswerAgain: 410,
    matching_errors.SealInvalid: 500,
    texts_errors.TextMissing: 500,
    texts_errors.FactMissing: 500,
    graphql_errors.RequestNotAnswered: 400,
    graphql_errors.DocumentRefused: 400,
    graphql_errors.VariablesRefused: 400,
    graphql_errors.DocumentTooCostly: 400,
    graphql_errors.DocumentUnknown: 400,
    graphql_errors.DocumentIdWrong: 400,
    graphql_errors.DocumentNotRegistered: 400,
    refusals.QueryRefused: 400,
    refusals.MediaTypeRefused: 415,
    refusals.NothingAcceptable: 406,
    refusals.BodyTooLarge: 413,
    refusals.BodyTooSlow: 408,
    refusals.ClientGone: 400,
    refusals.IdempotencyKeyUnreadable: 400,
    refusals.PreconditionFailed: 412,
    refusals.NotReady: 503,
    refusals.NotInstalled: 500,
    refusals.AddressTaken: 500,
    SettingsRefused: 500,
}
UNEXPECTED: Final = "unexpected"
_OF_HTTP: Final = {404: "no-such-address", 405: "method-not-allowed", 431: "head-too-large"}
REFUSED: Final = "request-refused"
_UNREADABLE: Final = "input-unreadable"
_UNREADABLE_FAULTS: Final = frozenset({"not-utf-8", "not-json"})
_CLOSING: Final = frozenset({408, 413})

KINDS: Final[Mapping[str, int]] = {
    **{kind.code: status for kind, status in STATUS.items() if status != 500},
    **{code: status for status, code in _OF_HTTP.items()},
    REFUSED: 400,
    _UNREADABLE: 400,
    UNEXPECTED: 500,
}
"""Every code a problem can have, with its status."""


class ProblemError(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One thing that is wrong with a request."""

    code: Annotated[str, Meta(description="What is wrong, for programs.")]
    detail: Annotated[str, Meta(description="What is wrong, for people.")]
    pointer: Annotated[
        str | UnsetType, Meta(description="Where in the body, as a JSON Pointer (RFC 6901); empty: the whole body.")
    ] = UNSET
    parameter: Annotated[str | UnsetType, Meta(description="Which query parameter.")] = UNSET
    received: Annotated[
        str | int | float | bool | UnsetType | None,
        Meta(description=f"What came. Objects, arrays and long texts are cut to {LONGEST_RECEIVED} characters."),
    ] = UNSET
    accepted: Annotated[str | UnsetType, Meta(description="What would be accepted.")] = UNSET


class Problem(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """Why a request was not answered (RFC 9457)."""

    type: Annotated[str, Meta(description="The kind of problem; leads to a page about it.")]
    title: Annotated[str, Meta(description="The kind of problem, for people.")]
    status: Annotated[int, Meta(ge=400, le=599, description="The HTTP status code.")]
    detail: Annotated[str, Meta(description="What happened and what to do next.")]
    instance: Annotated[str, Meta(description="The id of this request, as a URN; it stands in the service's log.")]
    errors: (
        Annotated[
            list[ProblemError],
            Meta(max_length=MOST_ERRORS, description="Everything that is wrong with the request, all at once."),
        ]
        | UnsetType
    ) = UNSET


class Place(Enum):
    """Where the faults of a request lie."""

    BODY = auto()
    QUERY = auto()
    NOWHERE = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """An error as HTTP sees it, before it is put into words."""

    code: str
    status: int
    facts: Mapping[str, Fact] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    place: Place = Place.NOWHERE
    headers: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_unexpected(self) -> bool:
        """Whether nobody foresaw this error: it is logged whole and told without its inside."""
        return self.code == UNEXPECTED


def diagnose(error: Exception) -> Diagnosis:
    """Which problem `error` is."""
    if isinstance(error, HooflastError):
        return _of_hooflast(error)
    if isinstance(error, HTTPException) and error.status_code < 500:
        code = _OF_HTTP.get(error.status_code, REFUSED)
        headers = {name: value for name, value in (error.headers or {}).items() if name.lower() == "allow"}
        return Diagnosis(code=code, status=error.status_code, headers=headers)
    return Diagnosis(code=UNEXPECTED, status=500)


def tell(diagnosis: Diagnosis, *, texts: Texts, base: str, request_id: str) -> bytes:
    """The problem document of `diagnosis`, in the language of `texts`."""
    return msgspec.json.encode(problem_of(diagnosis, texts=texts, base=base, request_id=request_id))


def problem_of(diagnosis: Diagnosis, *, texts: Texts, base: str, request_id: str) -> Problem:
    """The problem that `diagnosis` is, in the language of `texts`."""
    told = [_error(fault, place=diagnosis.place, texts=texts) for fault in diagnosis.faults[:MOST_ERRORS]]
    return Problem(
        type=f"{base}/problems/{diagnosis.code}",
        title=title_and_about(diagnosis.code, texts=texts)[0],
        status=diagnosis.status,
        detail=_say(texts, f"problem.{diagnosis.code}.detail", facts=diagnosis.facts),
        instance=f"urn:uuid:{request_id}",
        errors=told or UNSET,
    )


def title_and_about(code: str, *, texts: Texts) -> tuple[str, str]:
    """What a kind of problem is called, and what it means whatever the request was."""
    title = _say(texts, f"problem.{code}.title", facts={}) or HTTPStatus(KINDS[code]).phrase
    return title, _say(texts, f"problem.{code}.about", facts={})


def status_of(error: type[HooflastError]) -> int | None:
    """The HTTP status of a kind of error: its own, or that of the nearest kind above it."""
    return next((STATUS[kind] for kind in error.__mro__ if kind in STATUS), None)


def _of_hooflast(error: HooflastError) -> Diagnosis:
    status = status_of(type(error)) or 500
    if status == 500:
        return Diagnosis(code=UNEXPECTED, status=500)
    faults = error.faults if isinstance(error, InputRefused) else ()
    code = error.code
    if status == 422 and _UNREADABLE_FAULTS.intersection(fault.code for fault in faults):
        code, status = _UNREADABLE, 400
    if isinstance(error, refusals.NotReady):
        faults = tuple(Fault(path=(), code=reason, received=None) for reason in error.reasons)
    told = {} if status == 503 else vars(error)
    facts = {name: _cut_text(value) for name, value in told.items() if isinstance(value, str | int | float)}
    return Diagnosis(
        code=code,
        status=status,
        facts=facts,
        faults=faults,
        place=_place(error),
        headers=_headers(error, status),
    )


def _place(error: HooflastError) -> Place:
    if isinstance(error, refusals.QueryRefused):
        return Place.QUERY
    return Place.BODY if isinstance(error, InputRefused) else Place.NOWHERE


def _headers(error: HooflastError, status: int) -> dict[str, str]:
    headers = {"Connection": "close"} if status in _CLOSING else {}
    if isinstance(error, refusals.MediaTypeRefused):
        headers["Accept" if error.header == "Content-Type" else "Accept-Encoding"] = error.accepted
    if status == 503:
        headers["Retry-After"] = "5"
    if isinstance(error, store_errors.IdempotencyKeyInUse):
        headers["Retry-After"] = "1"
    if isinstance(error, access_errors.LimitReached):
        headers["Retry-After"] = str(error.seconds)
    if isinstance(error, access_errors.AccessRefused) and (asked := challenge(error, status=status)):
        headers["WWW-Authenticate"] = asked
    return headers


def _error(fault: Fault, *, place: Place, texts: Texts) -> ProblemError:
    in_query = place is Place.QUERY and fault.path
    return ProblemError(
        code=fault.code,
        detail=_say(texts, f"fault.{fault.code}", facts=fault.facts),
        pointer=fault.pointer if place is Place.BODY else UNSET,
        parameter=str(fault.path[0]) if in_query else UNSET,
        received=_cut(fault.received) if place is not Place.NOWHERE else UNSET,
        accepted=_say(texts, f"fault.{fault.code}.accepted", facts=fault.facts) or UNSET,
    )


def _say(texts: Texts, key: str, *, facts: Mapping[str, Fact]) -> str:
    return texts.say(key, facts) if texts.has(key) else ""


def _cut(received: object) -> str | int | float | bool | None:
    """What came, short enough to send back and writable as JSON."""
    if received is None or isinstance(received, bool):
        return received
    if isinstance(received, int | float):
        return received if abs(received) <= 2**53 else str(received)
    return _cut_text(received if isinstance(received, str) else _as_text(received))


def _cut_text(value: Fact) -> Fact:
    if not isinstance(value, str):
        return value
    text = value.encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= LONGEST_RECEIVED else text[: LONGEST_RECEIVED - 1] + "…"


def _as_text(received: object) -> str:
    try:
        return msgspec.json.encode(received).decode()
    except (TypeError, ValueError, OverflowError, RecursionError):
        return type(received).__name__
