"""Naming: which catalog release a person means: by its id, the beginning of its id, or its edition."""

from collections.abc import Iterable
from typing import Final, Protocol, TypeVar

from hooflast.catalog.values import ReleaseId
from hooflast.errors import Fault, InputRefused, NotFound

LEAST_DIGITS: Final = 4
SHOWN_DIGITS: Final = 12
_PREFIX: Final = "sha256-"


class Named(Protocol):
    """What has the id and the edition of a catalog release."""

    @property
    def id(self) -> ReleaseId:
        """Its id."""

    @property
    def edition(self) -> str:
        """Its edition."""


NamedT = TypeVar("NamedT", bound=Named)


def short_id(release_id: ReleaseId) -> str:
    """The beginning of an id, long enough to be told from others and short enough to be read."""
    return release_id.removeprefix(_PREFIX)[:SHOWN_DIGITS]


def find_named(name: str, *, among: Iterable[NamedT]) -> NamedT:
    """The catalog release called `name`. Raises NotFound, and InputRefused where several could be meant."""
    found = [one for one in among if _is_called(one, name=name)]
    if not found:
        raise NotFound(resource="catalog release", name=name)
    if len(found) > 1:
        facts = {"release_choices": ",".join(short_id(one.id) for one in found)}
        raise InputRefused(
            faults=(Fault(path=("catalog_release",), code="release-name-ambiguous", received=name, facts=facts),)
        )
    return found[0]


def _is_called(release: Named, *, name: str) -> bool:
    digits = name.removeprefix(_PREFIX)
    begins = len(digits) >= LEAST_DIGITS and release.id.removeprefix(_PREFIX).startswith(digits)
    return begins or name == release.edition
