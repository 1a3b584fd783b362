"""Serving role: on PostgreSQL, the rights of the role that serves, and what role we are.

Tables are made and owned by one role; another, plain one serves: it is no superuser, has no BYPASSRLS, owns nothing,
and has exactly the rights below, so that row-level security holds for everything it does.

    create role hooflast_serve login password '...' nosuperuser nobypassrls;    -- once, as an administrator

Then, as the owner and after every migration: `grant_serving_rights(owner_url, role="hooflast_serve")`.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncConnection

from hooflast.store.engine import POSTGRESQL, make_migration_engine, read_database_url
from hooflast.store.errors import DatabaseUrlRefused
from hooflast.store.sessions import database_errors
from hooflast.store.values import DatabaseRole

SERVING_RIGHTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "tenants": "SELECT, INSERT",
        "match_receipts": "SELECT, INSERT, DELETE",
        "client_keys": "SELECT, INSERT, UPDATE (digest, digest_before, before_until, revoked_at)",
        "request_counts": "SELECT, INSERT, UPDATE (taken), DELETE",
        "audit_entries": "SELECT, INSERT",
        "idempotency_keys": "SELECT, INSERT, UPDATE (status, fields, body, gone_at), DELETE",
        "assortments": "SELECT, INSERT, UPDATE (name, currency, revision, as_of), DELETE",
        "assortment_items": "SELECT, INSERT, DELETE",
        "signing_keys": "SELECT, INSERT, UPDATE (retired_at)",
        "catalog_releases": "SELECT, INSERT, UPDATE (status, digest, written_bytes)",
        "catalog_release_contents": "SELECT, INSERT, DELETE",
        "catalog_release_steps": "SELECT, INSERT",
        "catalog_release_seals": "SELECT, INSERT, DELETE",
        "seal_keys": "SELECT, INSERT, UPDATE (retired_at)",
        "active_catalog_release": "SELECT, INSERT, UPDATE (release_id, revision)",
        "plugin_reports": "SELECT, INSERT, DELETE",
        "plugin_fetches": "SELECT, INSERT, DELETE",
        "hooks": (
            "SELECT, INSERT, DELETE, UPDATE (secret, former_secret, former_until, told_to, told_of_jobs_to,"
            " disabled_at, disabled_why)"
        ),
        "hook_tenants": "SELECT, INSERT",
        "hook_deliveries": (
            "SELECT, INSERT, DELETE, UPDATE (status, attempts, next_at, settled_at, last_status, last_failure)"
        ),
        "match_jobs": (
            "SELECT, INSERT, DELETE, UPDATE (heading, input_bytes, input_digest, received_at, started_at, finished_at,"
            " kept_until, state, failure, horses, answered, refused, answered_to, totals)"
        ),
        "match_job_ends": "SELECT, INSERT, DELETE",
        "match_job_lines": "SELECT, INSERT, DELETE",
        "match_job_results": "SELECT, INSERT, DELETE",
        "match_job_turns": "SELECT, INSERT, DELETE, UPDATE (task, due_at, lease, attempts)",
        "alembic_version": "SELECT",
    }
)

_WHO_WE_ARE: Final = text(
    """
    select rolname, rolsuper, rolbypassrls,
           exists (select from pg_class
                   where relkind = 'r' and relnamespace = current_schema()::regnamespace
                     and relname = any(:tables) and pg_has_role(current_user, relowner, 'member')) as owns
    from pg_roles where rolname = current_user
    """
)


async def grant_serving_rights(url: str, *, role: str) -> None:
    """Give `role` what serving needs and no more; `url` is that of the tables' owner. Can be run again.

    Raises DatabaseUrlRefused unless it is PostgreSQL, StoreUnavailable if the role or a table is missing.
    """
    read = read_database_url(url)
    if read.drivername != POSTGRESQL:
        raise DatabaseUrlRefused(
            part="scheme", received=read.drivername, accepted=f"{POSTGRESQL}, as only it has roles"
        )
    engine = make_migration_engine(url)
    quote = engine.dialect.identifier_preparer.quote_identifier
    try:
        with database_errors():
            async with engine.begin() as connection:
                for table, rights in SERVING_RIGHTS.items():
                    await connection.exec_driver_sql(f"REVOKE ALL ON {quote(table)} FROM {quote(role)}")
                    await connection.exec_driver_sql(f"GRANT {rights} ON {quote(table)} TO {quote(role)}")
    finally:
        await engine.dispose()


async def read_role(connection: AsyncConnection) -> DatabaseRole | None:
    """Whom the database takes us for; None on SQLite, which has no roles."""
    if connection.dialect.name != "postgresql":
        return None
    row = (await connection.execute(_WHO_WE_ARE, {"tables": list(SERVING_RIGHTS)})).one()
    return DatabaseRole(
        name=row.rolname, is_superuser=row.rolsuper, bypasses_row_security=row.rolbypassrls, owns_tables=row.owns
    )
