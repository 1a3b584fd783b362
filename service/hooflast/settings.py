"""Settings: everything that can be set, in one frozen object read once from the environment.

Each field carries one sentence (`meaning`) and what it accepts; the page of settings is made from `SETTINGS`.
An empty variable counts as not set.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from difflib import get_close_matches
from enum import StrEnum
from ipaddress import ip_network
from pathlib import Path
from typing import Annotated, Any, Final, get_type_hints
from urllib.parse import urlsplit

from hooflast.catalog.lifecycle import Eyes
from hooflast.errors import Fact, Fault, InputRefused
from hooflast.jobs.addresses import PrivateAddresses
from hooflast.texts import languages

PREFIX: Final = "HOOFLAST_"
SQLITE: Final = "sqlite+aiosqlite"
POSTGRESQL: Final = "postgresql+asyncpg"


class LogFormat(StrEnum):
    """How a log line is written: coloured for a terminal, or one JSON object."""

    CONSOLE = "console"
    JSON = "json"


class PluginUse(StrEnum):
    """What a start does with what the catalog plugins newly offer."""

    PUBLISH = "publish"
    LEAVE = "leave"


class Access(StrEnum):
    """Whether everybody who reaches the service is answered, or only who shows a key."""

    OPEN = "open"
    KEYS = "keys"


class BrowserDocuments(StrEnum):
    """Which GraphQL documents are answered to pages."""

    ANY = "any"
    REGISTERED = "registered"


class BrowserIntrospection(StrEnum):
    """Whether pages may ask for the GraphQL schema."""

    REFUSE = "refuse"
    ALLOW = "allow"


class Switch(StrEnum):
    """Whether something is done."""

    ON = "on"
    OFF = "off"


class LogLevel(StrEnum):
    """The least severe event that is written."""

    DEBUG = "debug"
    INFO = "info"
    WARNING = "warning"
    ERROR = "error"


class SettingsRefused(InputRefused):
    """One or more settings are unknown or cannot have the value they were given; all are listed."""

    code = "settings-refused"

    def __str__(self) -> str:
        return "\n".join(_sentence(fault) for fault in self.faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """Turns a variable's text into a value (ValueError: it cannot), and says in short what it accepts."""

    read: Callable[[str], Any]
    accepted: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One line of the page of settings."""

    name: str
    meaning: str
    default: str
    reader: Reader

    @property
    def accepted(self) -> str:
        """What it accepts, in short."""
        return self.reader.accepted

    @property
    def field(self) -> str:
        """The field of Settings that it fills."""
        return self.name.removeprefix(PREFIX).lower()


def _whole(low: int, high: int) -> Reader:
    def read(text: str) -> int:
        if not re.fullmatch(r"\d{1,9}", text, re.ASCII) or not low <= int(text) <= high:
            raise ValueError(text)
        return int(text)

    return Reader(read=read, accepted=f"{low}..{high}")


def _one_of(choices: tuple[str, ...]) -> Reader:
    def read(text: str) -> str:
        if text not in choices:
            raise ValueError(text)
        return text

    return Reader(read=read, accepted=" | ".join(choices), choices=choices)


def _word_of(words: type[StrEnum]) -> Reader:
    choices = tuple(word.value for word in words)
    return Reader(read=lambda text: words(text.lower()), accepted=" | ".join(choices), choices=choices)


def _written_as(pattern: str, *, accepted: str) -> Reader:
    def read(text: str) -> str:
        if not re.fullmatch(pattern, text):
            raise ValueError(text)
        return text

    return Reader(read=read, accepted=accepted)


def _read_database_url(text: str) -> str:
    from hooflast.store import read_database_url  # a start on the default does without SQLAlchemy

    read_database_url(text)
    return text


def _read_public_url(text: str) -> str:
    parts = urlsplit(text)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.query or parts.fragment:
        raise ValueError(text)
    return text.rstrip("/")


def _read_addresses(text: str) -> str:
    return ",".join(_network(address.strip()) for address in text.split(","))


def _network(text: str) -> str:
    ip_network(text)
    return text


def _read_file(text: str) -> str:
    if not Path(text).is_file():
        raise ValueError(text)
    return text


_DATABASE_URL: Final = Reader(
    read=_read_database_url,
    accepted=f"{SQLITE}:///FILE | {POSTGRESQL}://USER:PASSWORD@HOST:PORT/NAME",
    choices=(f"{SQLITE}://", f"{POSTGRESQL}://"),
)
_PUBLIC_URL: Final = Reader(read=_read_public_url, accepted="http://HOST/PATH | https://HOST/PATH")
_FILE: Final = Reader(read=_read_file, accepted="FILE")
_HOST: Final = _written_as(r"[0-9A-Za-z.:_-]{1,253}", accepted="ADDRESS")
_ADDRESSES: Final = Reader(read=_read_addresses, accepted="ADDRESS[,ADDRESS...]")
_TENANT: Final = _written_as(r"[a-z0-9][a-z0-9-]{0,62}", accepted="a-z 0-9 -")
_LANGUAGE: Final = _one_of(languages())


@dataclass(frozen=True, slots=True, kw_only=True, repr=False)
class Settings:
    """Everything that can be set. The variable's name is the field's in capitals after `HOOFLAST_`."""

    database_url: Annotated[str, _DATABASE_URL, "The database: a file of SQLite, or a PostgreSQL server."] = (
        f"{SQLITE}:///hooflast.sqlite3"
    )
    host: Annotated[str, _HOST, "The address to listen on."] = "127.0.0.1"
    port: Annotated[int, _whole(0, 65535), "The port to listen on; 0 takes a free one."] = 8300
    workers: Annotated[int, _whole(1, 64), "How many processes answer requests."] = 1
    public_url: Annotated[
        str, _PUBLIC_URL, "Where clients reach the service, put before every link; left out, links are relative."
    ] = ""
    access: Annotated[
        Access, _word_of(Access), "Whether everybody who reaches the service is answered, or only who shows a key."
    ] = Access.OPEN
    tenant: Annotated[str, _TENANT, "The client on whose behalf requests without a key are answered."] = "local"
    forwarded_by: Annotated[str, _ADDRESSES, "The proxies whose `X-Forwarded-For` is believed; left out, none is."] = ""
    language: Annotated[
        str, _LANGUAGE, "The language of the command line, and of an answer when the request asks for none."
    ] = "en"
    memo_bytes: Annotated[
        int, _whole(0, 999_999_999), "How many bytes of answers are remembered for the same question; 0 remembers none."
    ] = 67_108_864
    pinned_bytes: Annotated[
        int, _whole(0, 99_999_999_999), "How many bytes of pinned catalog releases are held in memory."
    ] = 268_435_456
    catalog_seconds: Annotated[
        int, _whole(1, 3600), "How many seconds may pass before a change of the catalog is taken up."
    ] = 2
    catalog_plugins: Annotated[
        PluginUse,
        _word_of(PluginUse),
        "Whether a start publishes what the catalog plugins newly offer, or leaves that to `hooflast catalog`.",
    ] = PluginUse.PUBLISH
    publish_eyes: Annotated[
        Eyes,
        _word_of(Eyes),
        "How many people it takes to publish a catalog release: with four eyes, whoever staged it may not publish it.",
    ] = Eyes.TWO
    plugins_file: Annotated[
        str, _FILE, "A YAML or JSON file that says how each catalog plugin is used; left out, each as it is."
    ] = ""
    hooks_private_addresses: Annotated[
        PrivateAddresses,
        _word_of(PrivateAddresses),
        "Whether hooks may lead to addresses of this machine and of private networks.",
    ] = PrivateAddresses.REFUSE
    graphql_cost: Annotated[
        int, _whole(1, 9_999_999), "What answering one GraphQL request may cost, in fields, lists multiplied."
    ] = 20_000
    graphql_depth: Annotated[int, _whole(1, 50), "How deep the fields of a GraphQL document may be nested."] = 15
    graphql_aliases: Annotated[int, _whole(0, 1000), "How many aliases a GraphQL document may have."] = 30
    graphql_tokens: Annotated[int, _whole(10, 100_000), "How many tokens a GraphQL document may have."] = 3_000
    graphql_documents: Annotated[
        str, _FILE, "A JSON file of GraphQL documents that are known by their ids from the start; left out, none is."
    ] = ""
    graphql_browser_documents: Annotated[
        BrowserDocuments,
        _word_of(BrowserDocuments),
        "Whether a browser key may send any GraphQL document, or only name those that are registered in that file.",
    ] = BrowserDocuments.ANY
    graphql_browser_introspection: Annotated[
        BrowserIntrospection,
        _word_of(BrowserIntrospection),
        "Whether a browser key may ask for the GraphQL schema.",
    ] = BrowserIntrospection.REFUSE
    metrics: Annotated[Switch, _word_of(Switch), "Whether `/metrics` tells the service's own numbers."] = Switch.OFF
    traces: Annotated[
        Switch,
        _word_of(Switch),
        "Whether every request is told to a collector of OpenTelemetry; takes the extra `traces`.",
    ] = Switch.OFF
    max_body_bytes: Annotated[int, _whole(1024, 16_777_216), "The largest request body that is read."] = 65_536
    job_bytes: Annotated[int, _whole(1024, 999_999_999), "The largest input of a match job that is read."] = 67_108_864
    job_horses: Annotated[int, _whole(1, 1_000_000), "How many horses a match job may hold."] = 100_000
    job_days: Annotated[
        int, _whole(1, 3650), "How many days a match job is kept once it is over; then it is erased with its results."
    ] = 30
    max_header_bytes: Annotated[
        int, _whole(1024, 1_048_576), "The longest request line and headers, in all, that are read."
    ] = 16_384
    request_seconds: Annotated[int, _whole(1, 600), "How long a client may take to send one request."] = 15
    keep_alive_seconds: Annotated[int, _whole(1, 600), "How long an idle connection is kept open."] = 5
    shutdown_seconds: Annotated[
        int, _whole(1, 600), "How long running requests may go on once a stop is asked for."
    ] = 20
    log_format: Annotated[LogFormat, _word_of(LogFormat), "How log lines are written."] = LogFormat.CONSOLE
    log_level: Annotated[LogLevel, _word_of(LogLevel), "The least severe event that is written."] = LogLevel.INFO

    def __repr__(self) -> str:
        shown = {each.name: getattr(self, each.name) for each in fields(self)} | {
            "database_url": masked(self.database_url)
        }
        return f"Settings({', '.join(f'{name}={value!r}' for name, value in shown.items())})"


SETTINGS: Final = tuple(
    Setting(
        name=PREFIX + name.upper(),
        meaning=hint.__metadata__[1],
        default=str(getattr(Settings(), name)),
        reader=hint.__metadata__[0],
    )
    for name, hint in get_type_hints(Settings, include_extras=True).items()
)


def read_settings(environ: Mapping[str, str]) -> Settings:
    """The settings that `environ` asks for. Raises SettingsRefused with every fault there is."""
    known = {setting.name: setting for setting in SETTINGS}
    values: dict[str, Any] = {}
    faults = []
    for name in sorted(name for name in environ if name.startswith(PREFIX)):
        text = environ[name].strip()
        if name not in known:
            faults.append(_unknown(name, known=tuple(known)))
        elif text:
            try:
                values[known[name].field] = known[name].reader.read(text)
            except ValueError:
                faults.append(_refused(name, text, reader=known[name].reader))
    if faults:
        raise SettingsRefused(faults=tuple(faults))
    return Settings(**values)


def as_environ(settings: Settings) -> dict[str, str]:
    """The variables that make `read_settings` return `settings` again: how worker processes get theirs."""
    return {setting.name: str(getattr(settings, setting.field)) for setting in SETTINGS}


def masked(url: str) -> str:
    """A database URL without its passwords."""
    without_user_password = re.sub(r"(://[^:/@]*:).*@", r"\1***@", url)
    return re.sub(r"(?i)(password=)[^&]*", r"\1***", without_user_password)


def _unknown(name: str, *, known: tuple[str, ...]) -> Fault:
    return Fault(path=(name,), code="setting-unknown", received=name, facts=_closest(name, known, cutoff=0))


def _refused(name: str, text: str, *, reader: Reader) -> Fault:
    facts: dict[str, Fact] = {"accepted": reader.accepted, **_closest(text, reader.choices)}
    return Fault(path=(name,), code="setting-refused", received=masked(text), facts=facts)


def _closest(written: str, choices: tuple[str, ...], *, cutoff: float = 0.5) -> dict[str, Fact]:
    found = get_close_matches(written, choices, n=1, cutoff=cutoff)
    return {"closest": found[0]} if found else {}


def _sentence(fault: Fault) -> str:
    name = str(fault.path[0])
    accepted = f", accepted is {fault.facts['accepted']}" if "accepted" in fault.facts else ""
    closest = f"; the closest is {fault.facts['closest']}" if "closest" in fault.facts else ""
    if fault.code == "setting-unknown":
        return f"{name} is not a setting{closest}"
    return f"{name}: received {fault.received!r}{accepted}{closest}"
