"""Locks: one process at a time, across the whole database, until the transaction ends.

On SQLite a transaction that begins by writing is alone anyway; on PostgreSQL an advisory lock makes it so.
"""

from enum import IntEnum

from sqlalchemy import Connection, text


class Lock(IntEnum):
    """What may be done by one process at a time. The numbers are ours and never change."""

    MIGRATION = 0x686F6F66_0001
    SIGNING_KEYS = 0x686F6F66_0002
    CATALOG_RELEASES = 0x686F6F66_0003
    HOOKS = 0x686F6F66_0004
    PUBLISHER = 0x686F6F66_0005
    ASSORTMENTS = 0x686F6F66_0006
    MATCH_JOB_ENDS = 0x686F6F66_0007


def wait_for(lock: Lock, *, connection: Connection) -> None:
    """Hold `lock` until this transaction ends, after whoever holds it now."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("select pg_advisory_xact_lock(:number)"), {"number": int(lock)})
