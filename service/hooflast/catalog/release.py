"""Release: catalog releases with an id made from what they hold, written down and read back.

The id is `sha256-<hex>` over the rest of the release in RFC 8785 canonical form. Where a record came from is not part
of it: the same records are the same catalog release, however their files are laid out. A field that holds its default
is left out of the canonical form, so that a field added later leaves older ids as they are.
"""

import hashlib
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Final

import msgspec

from hooflast.catalog.canonical import canonical
from hooflast.catalog.reading import Records
from hooflast.catalog.values import BootId, BootModel, CatalogRelease, ReleaseId
from hooflast.errors import Fault, InputRefused

_PROVENANCE: Final = frozenset({"provenance"})
_ID: Final = frozenset({"id"})

SLICE: Final = 50
"""So many boot models are read in about a millisecond."""


def compose_release(records: Records, *, released_on: date, note: str) -> CatalogRelease:
    """The catalog release of one day, named after it, with its id."""
    release = CatalogRelease(
        id=ReleaseId(""),
        edition=released_on.isoformat(),
        released_on=released_on,
        note=note,
        makers=dict(sorted(records.makers.items())),
        boots=dict(sorted(records.boots.items())),
        accessories=dict(sorted(records.accessories.items())),
    )
    return replace(release, id=release_id(release))


def release_id(release: CatalogRelease) -> ReleaseId:
    """The id that belongs to what the release holds."""
    content = canonical(release, leave_out=_PROVENANCE, without=_ID)
    return ReleaseId(f"sha256-{hashlib.sha256(content).hexdigest()}")


def write_release(release: CatalogRelease) -> bytes:
    """The whole release, provenance and all, in RFC 8785 canonical form, for `read_release`."""
    return canonical(release)


def read_release(written: bytes) -> CatalogRelease:
    """A release as `write_release` wrote it. Raises InputRefused if it is damaged or its id is not its own."""
    try:
        release = msgspec.json.decode(written, type=CatalogRelease)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        fault = Fault(path=(), code="catalog-release-damaged", received=None, facts={"reason": str(error)})
        raise InputRefused(faults=(fault,)) from error
    if release.id != (own := release_id(release)):
        fault = Fault(path=("id",), code="catalog-release-id", received=release.id, facts={"own": own})
        raise InputRefused(faults=(fault,))
    return release


def read_again(written: bytes, *, between: Callable[[], None]) -> CatalogRelease:
    """What `read_release` has read before, elsewhere: slice by slice, with a call of `between` after each."""
    members = msgspec.json.decode(written, type=dict[str, msgspec.Raw])
    boots_written = msgspec.json.decode(members.pop("boots", b"{}"), type=dict[BootId, msgspec.Raw])
    boots = {}
    for place, (boot_id, boot) in enumerate(boots_written.items(), start=1):
        boots[boot_id] = msgspec.json.decode(boot, type=BootModel)
        if place % SLICE == 0:
            between()
    return replace(msgspec.json.decode(msgspec.json.encode(members), type=CatalogRelease), boots=boots)
