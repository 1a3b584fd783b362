"""Errors: the tree that every Hooflast error belongs to, and the faults that name what is wrong with an input.

HooflastError
├── InputRefused (ValueError)      an input has one or more faults; all are listed
├── LengthUnreadable (ValueError)  something written is not a length (in units)
├── NotFound (LookupError)         nothing is stored under that name
├── CatalogUnavailable             no catalog release can be served
├── PluginFailed                   one catalog plugin could not be used
└── ReceiptInvalid (ValueError)    a match receipt was not signed by this service

Rooms add their own below these. An error keeps its facts as fields and builds its sentence from them;
it survives pickling, so that it can cross from a worker process.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar, Self

Path = tuple[str | int, ...]
Fact = str | int | float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with an input: where it is, what it is, what came and what would be accepted.

    `code` names the sentence (texts key `fault.<code>`), `facts` fill its placeholders.
    """

    path: Path
    code: str
    received: object
    facts: Mapping[str, Fact] = field(default_factory=dict)

    @property
    def pointer(self) -> str:
        """The place as a JSON Pointer (RFC 6901)."""
        return json_pointer(self.path)

    def under(self, *parents: str | int) -> "Fault":
        """The same fault seen from further up: `parents` are put in front of its path."""
        return Fault(path=(*parents, *self.path), code=self.code, received=self.received, facts=self.facts)


def json_pointer(path: Path) -> str:
    """`("hooves", 0, "width")` as `/hooves/0/width` (RFC 6901, section 3)."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in path)


class HooflastError(Exception):
    """The root: catch this to catch everything Hooflast raises on purpose."""

    code: ClassVar[str] = "error"

    def __reduce__(self) -> tuple[object, ...]:
        named = getattr(type(self), "__dataclass_fields__", {})
        carried = {name: value for name, value in self.__dict__.items() if name in named}
        beside = {name: value for name, value in self.__dict__.items() if name not in named}
        return _rebuild, (type(self), carried), {**beside, "args": self.args}

    @classmethod
    def from_fields(cls, fields: Mapping[str, object]) -> Self:
        """Build the error again from the fields it carried."""
        return cls(**fields)


def _rebuild(cls: type[HooflastError], fields: dict[str, object]) -> HooflastError:
    return cls.from_fields(fields)


@dataclass(kw_only=True, eq=False)
class InputRefused(HooflastError, ValueError):
    """An input has one or more faults; all of them are in `faults`."""

    code: ClassVar[str] = "input-refused"
    faults: tuple[Fault, ...]

    def __str__(self) -> str:
        return "; ".join(
            f"{fault.pointer or 'the whole input'}: {fault.code}, received {fault.received!r}" for fault in self.faults
        )


@dataclass(kw_only=True, eq=False)
class NotFound(HooflastError, LookupError):
    """Nothing is stored, or published, under that name."""

    code: ClassVar[str] = "not-found"
    resource: str
    name: str

    def __str__(self) -> str:
        return f"no {self.resource} is called {self.name!r}"


@dataclass(kw_only=True, eq=False)
class CatalogUnavailable(HooflastError):
    """No catalog release can be served, and why."""

    code: ClassVar[str] = "catalog-unavailable"
    reason: str

    def __str__(self) -> str:
        return f"no catalog release can be served: {self.reason}"


@dataclass(kw_only=True, eq=False)
class PluginFailed(HooflastError):
    """One catalog plugin could not be used, and why; the others go on."""

    code: ClassVar[str] = "plugin-failed"
    plugin: str
    reason: str

    def __str__(self) -> str:
        return f"catalog plugin {self.plugin!r} was set aside: {self.reason}"


@dataclass(kw_only=True, eq=False)
class ReceiptInvalid(HooflastError, ValueError):
    """A match receipt does not carry this service's signature."""

    code: ClassVar[str] = "receipt-invalid"
    receipt: str

    def __str__(self) -> str:
        return f"match receipt {self.receipt!r} was not signed here"
