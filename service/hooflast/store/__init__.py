"""Store: what must outlive a process, in SQLite by default and in PostgreSQL by one URL.

errors         what can go wrong, under StoreError
values         what goes in and comes out: KeptAnswer, SigningKey, DatabaseRole
ids            UUIDs of version 7
engine         from a URL to an engine, set up alike on both databases
tables         the table classes, which never leave this room
sessions       transactions that belong to one tenant
locks          one process at a time      publisher_lock  one publisher at a time, for longer than a transaction
group_writer   many writes, one commit
sqlite_inserts   SQLite: those writes in one step
answers, signing_keys, tenants, releases   the repositories
change_listener  told at once on PostgreSQL that what can be served has changed
release_rows   the rows behind a catalog release      seal_keys, seal_values  what one is sealed with
hooks, hook_deliveries, hook_values   where tenants are told of what happens, and what is on its way there
match_jobs, match_job_turns, match_job_values   many horses at once, and whose turn is next
match_job_ends   which jobs are over, for hooks to be told of
serving_role   PostgreSQL: the rights of a plain role, and whether we are one
store          all of it opened on one database
migrations     how the tables came to be: upgrade, downgrade, current, head

What is exported here, and `migrations`, is all that other rooms use. The room must not know the web, the wording of
any sentence, settings or environment variables, the clock (moments are handed in), nor what an answer says: it keeps
bytes. Tenants are walled off twice: by the tenant filter in every query, and on PostgreSQL by row-level security.
"""

from hooflast.store.engine import has_database, make_engine, read_database_url
from hooflast.store.errors import (
    AnswerAlreadyKept,
    DatabaseFolderMissing,
    DatabaseUrlRefused,
    JobOver,
    ReleaseDamaged,
    SchemaNotCurrent,
    SigningKeyUnknown,
    StoreClosed,
    StoreError,
    StoreUnavailable,
    TenantUnknown,
    TooManyHooks,
    TooManyJobs,
)
from hooflast.store.ids import is_id, new_id
from hooflast.store.serving_role import grant_serving_rights
from hooflast.store.store import Store, open_store
from hooflast.store.values import DatabaseRole, KeptAnswer, Sent, SigningKey, TenantId

__all__ = [
    "AnswerAlreadyKept",
    "DatabaseFolderMissing",
    "DatabaseRole",
    "DatabaseUrlRefused",
    "JobOver",
    "KeptAnswer",
    "ReleaseDamaged",
    "SchemaNotCurrent",
    "Sent",
    "SigningKey",
    "SigningKeyUnknown",
    "Store",
    "StoreClosed",
    "StoreError",
    "StoreUnavailable",
    "TenantId",
    "TenantUnknown",
    "TooManyHooks",
    "TooManyJobs",
    "grant_serving_rights",
    "has_database",
    "is_id",
    "make_engine",
    "new_id",
    "open_store",
    "read_database_url",
]
