"""Errors of the store: what can go wrong between Hooflast and its database.

HooflastError
└── StoreError
    ├── DatabaseUrlRefused (ValueError)        the URL names no database that can be used
    ├── DatabaseFolderMissing                  the folder for an SQLite file does not exist
    ├── StoreUnavailable                       the database does not answer, or refuses us
    ├── SchemaNotCurrent                       the tables are not those of this version
    ├── StoreClosed                            the store was not started, or is stopping
    ├── TenantUnknown (LookupError)            a row belongs to a tenant nobody has made
    ├── SigningKeyUnknown (LookupError)        there is no signing key of that name
    ├── AnswerAlreadyKept (ValueError)         another answer was kept under that id
    ├── JobOver (ValueError)                   a match job has come to its end
    ├── TooManyJobs (ValueError)               as many match jobs of a tenant wait or run as may
    ├── TooManyHooks (ValueError)              a tenant has as many hooks as it may have
    ├── IdempotencyKeyInUse                    the same request is being answered
    ├── IdempotencyKeyReused (ValueError)      another request had that idempotency key
    ├── AssortmentChanged                      an assortment is not at the revision that was named
    ├── TooManyAssortments                     a tenant has as many assortments as it may have
    ├── TooManyItems                           an assortment would have more items than it may have
    ├── BackupFileThere                        a backup would be written over a file
    ├── BackupFailed                           a backup could not be written or put back
    ├── BackupDamaged (ValueError)             a file is no whole backup of such a database
    └── ReleaseDamaged (ValueError)            the kept bytes of a catalog release are not what they were

`reason` of StoreUnavailable is for logs: it may name hosts and roles, so it is not for clients.
"""

from dataclasses import dataclass
from typing import ClassVar

from hooflast.errors import HooflastError


class StoreError(HooflastError):
    """Catch this to catch everything the store raises on purpose, except NotFound."""

    code: ClassVar[str] = "store-error"


@dataclass(kw_only=True, eq=False)
class DatabaseUrlRefused(StoreError, ValueError):
    """The database URL cannot be used. `received` is only the part at fault, so that no password shows."""

    code: ClassVar[str] = "database-url-refused"
    part: str
    received: str
    accepted: str

    def __str__(self) -> str:
        return f"the {self.part} of the database URL is {self.received!r}; accepted is {self.accepted}"


@dataclass(kw_only=True, eq=False)
class DatabaseFolderMissing(StoreError):
    """The folder that an SQLite file should lie in does not exist."""

    code: ClassVar[str] = "database-folder-missing"
    folder: str
    file: str

    def __str__(self) -> str:
        return (
            f"there is no folder {self.folder} for the database file {self.file}: "
            "make the folder, or let the database URL name a file elsewhere"
        )


@dataclass(kw_only=True, eq=False)
class StoreUnavailable(StoreError):
    """The database does not answer, or refuses us."""

    code: ClassVar[str] = "store-unavailable"
    reason: str

    def __str__(self) -> str:
        return f"the database cannot be used: {self.reason}"


@dataclass(kw_only=True, eq=False)
class SchemaNotCurrent(StoreError):
    """The tables are at revision `found`, this version needs `expected`."""

    code: ClassVar[str] = "schema-not-current"
    found: str | None
    expected: str

    def __str__(self) -> str:
        found = f"at {self.found}" if self.found else "not there yet"
        return (
            f"the tables are {found}, and this version of Hooflast needs them at {self.expected}: "
            "bring them up with this version, or run the version that made them"
        )


@dataclass(kw_only=True, eq=False)
class StoreClosed(StoreError):
    """The store was not started, or is stopping, and takes nothing more."""

    code: ClassVar[str] = "store-closed"

    def __str__(self) -> str:
        return "the store takes nothing now: it was not started, or is stopping"


@dataclass(kw_only=True, eq=False)
class TenantUnknown(StoreError, LookupError):
    """Something was to be kept for a tenant that does not exist."""

    code: ClassVar[str] = "tenant-unknown"
    tenant: str

    def __str__(self) -> str:
        return f"there is no tenant {self.tenant!r}"


@dataclass(kw_only=True, eq=False)
class SigningKeyUnknown(StoreError, LookupError):
    """There is no signing key of that name."""

    code: ClassVar[str] = "signing-key-unknown"
    kid: str

    def __str__(self) -> str:
        return f"there is no signing key {self.kid!r}"


@dataclass(kw_only=True, eq=False)
class AnswerAlreadyKept(StoreError, ValueError):
    """Another answer was kept under that id; kept answers never change."""

    code: ClassVar[str] = "answer-already-kept"
    id: str

    def __str__(self) -> str:
        return f"another answer is already kept under {self.id!r}, and kept answers never change"


@dataclass(kw_only=True, eq=False)
class ReleaseDamaged(StoreError, ValueError):
    """What is kept of a catalog release is not what was staged."""

    code: ClassVar[str] = "release-damaged"
    release: str
    reason: str

    def __str__(self) -> str:
        return f"what is kept of catalog release {self.release} is not what was staged: {self.reason}"


@dataclass(kw_only=True, eq=False)
class TooManyHooks(StoreError, ValueError):
    """A tenant has as many hooks as it may have."""

    code: ClassVar[str] = "too-many-hooks"
    limit: int

    def __str__(self) -> str:
        return f"there are {self.limit} hooks already, as many as there may be: remove one first"


@dataclass(kw_only=True, eq=False)
class IdempotencyKeyInUse(StoreError):
    """The request with that idempotency key is being answered at this moment."""

    code: ClassVar[str] = "idempotency-key-in-use"
    key: str

    def __str__(self) -> str:
        return f"the request with idempotency key {self.key!r} is being answered"


@dataclass(kw_only=True, eq=False)
class IdempotencyKeyReused(StoreError, ValueError):
    """Another request had that idempotency key."""

    code: ClassVar[str] = "idempotency-key-reused"
    key: str

    def __str__(self) -> str:
        return f"another request had the idempotency key {self.key!r}"


@dataclass(kw_only=True, eq=False)
class AssortmentChanged(StoreError):
    """An assortment is at `revision`, and a change was made for another one."""

    code: ClassVar[str] = "assortment-changed"
    assortment: str
    revision: int

    def __str__(self) -> str:
        return f"assortment {self.assortment} is at revision {self.revision} by now"


@dataclass(kw_only=True, eq=False)
class TooManyAssortments(StoreError):
    """A tenant has `limit` assortments and may have no more."""

    code: ClassVar[str] = "too-many-assortments"
    limit: int

    def __str__(self) -> str:
        return f"a tenant has at most {self.limit} assortments"


@dataclass(kw_only=True, eq=False)
class TooManyItems(StoreError):
    """An assortment would have more than `limit` items."""

    code: ClassVar[str] = "too-many-items"
    limit: int

    def __str__(self) -> str:
        return f"an assortment has at most {self.limit} items"


@dataclass(kw_only=True, eq=False)
class TooManyJobs(StoreError, ValueError):
    """As many match jobs of a tenant wait or run as may."""

    code: ClassVar[str] = "too-many-jobs"
    limit: int

    def __str__(self) -> str:
        return f"{self.limit} match jobs wait or run already, as many as may: wait for one, or cancel one"


@dataclass(kw_only=True, eq=False)
class JobOver(StoreError, ValueError):
    """A match job has come to its end, and cannot be cancelled any more."""

    code: ClassVar[str] = "job-over"
    job: str
    state: str

    def __str__(self) -> str:
        return f"match job {self.job} is {self.state}, and cannot be cancelled any more"


@dataclass(kw_only=True, eq=False)
class BackupFileThere(StoreError):
    """There is a file already where a backup was to be written."""

    code: ClassVar[str] = "backup-file-there"
    file: str

    def __str__(self) -> str:
        return f"there is a file {self.file} already: name another one, or move it away"


@dataclass(kw_only=True, eq=False)
class BackupFailed(StoreError):
    """A backup could not be written or put back."""

    code: ClassVar[str] = "backup-failed"
    reason: str

    def __str__(self) -> str:
        return f"the backup failed, and nothing was changed: {self.reason}"


@dataclass(kw_only=True, eq=False)
class BackupDamaged(StoreError, ValueError):
    """A file is no whole backup of a database of this kind."""

    code: ClassVar[str] = "backup-damaged"
    file: str
    reason: str

    def __str__(self) -> str:
        return f"{self.file} is no whole backup of this kind of database: {self.reason}"
