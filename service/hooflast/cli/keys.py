"""Keys: what clients are let in with: created, listed, rotated, revoked; and the audit log of who did so."""

import json
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Final

import click
from rich.console import Console
from rich.text import Text

from hooflast.access.issuing import KeyWish, issue
from hooflast.access.key import FixedWorld, Key, KeyKind, KeyLimits, KeyMode, Scope, rows_of
from hooflast.access.secret import digest_of, new_secret, write_key
from hooflast.cli.key_tables import print_keys, print_log
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import somebody, with_store
from hooflast.errors import CatalogUnavailable, NotFound
from hooflast.store import Store, TenantId, new_id
from hooflast.store.audit import Actor, AuditEntry
from hooflast.texts import Texts

_CLIENT: Final = click.option("--client", required=True, help="cli.keys.client")
_JSON: Final = click.option("--json", "as_json", is_flag=True, help="cli.option.json")
_LIMITS: Final = KeyLimits()


@click.group("keys", help="cli.keys.help")
def keys() -> None:
    """What clients are let in with."""


@keys.command("create", help="cli.keys.create.help")
@click.argument("name")
@_CLIENT
@click.option("--origin", "origins", multiple=True, help="cli.keys.origin")
@click.option("--test", "in_test_mode", is_flag=True, help="cli.keys.test")
@click.option(
    "--scope", "scopes", multiple=True, type=click.Choice([scope.value for scope in Scope]), help="cli.keys.scope"
)
@click.option("--per-minute", type=int, default=_LIMITS.per_minute, show_default=True, help="cli.keys.per-minute")
@click.option("--per-day", type=int, default=_LIMITS.per_day, show_default=True, help="cli.keys.per-day")
@click.option(
    "--per-visitor-minute", type=int, default=_LIMITS.per_visitor_minute, show_default=True,
    help="cli.keys.per-visitor-minute",
)  # fmt: skip
@click.option("--expires", type=click.DateTime(["%Y-%m-%d"]), metavar="cli.metavar.date", help="cli.keys.expires")
@_JSON
@speaking
def create(
    speak: Speaking, /, *, name: str, client: str, origins: tuple[str, ...], in_test_mode: bool,
    scopes: tuple[str, ...], per_minute: int, per_day: int, per_visitor_minute: int, expires: datetime | None,
    as_json: bool,
) -> None:  # fmt: skip
    """Make a key, and show it once."""
    wish = KeyWish(
        client=client,
        name=name,
        kind=KeyKind.BROWSER if origins else KeyKind.SERVER,
        mode=KeyMode.TEST if in_test_mode else KeyMode.LIVE,
        scopes=frozenset(map(Scope, scopes)),
        origins=origins,
        limits=KeyLimits(per_minute=per_minute, per_day=per_day, per_visitor_minute=per_visitor_minute),
        expires_at=None if expires is None else datetime.combine(expires.date(), time(), UTC),
    )
    by = _somebody()

    async def make(store: Store) -> tuple[Key, str]:
        fixed = await _as_of_now(store, day=by.at.date()) if in_test_mode else None
        issued = issue(wish, key_id=new_id(), now=by.at, by=by.who, fixed=fixed)
        await store.tenants.ensure(TenantId(issued.key.tenant), now=by.at)
        await store.client_keys.add(issued.key, by=by)
        return issued.key, issued.written

    key, written = with_store(speak, make)
    _show_once(key, written, as_json=as_json, texts=speak.texts)


@keys.command("list", help="cli.keys.list.help")
@_CLIENT
@_JSON
@speaking
def list_keys(speak: Speaking, /, *, client: str, as_json: bool) -> None:
    """The keys of a client, without their secrets."""

    async def read(store: Store) -> list[Key]:
        return [key for tenant in _tenants(client) for key in await store.client_keys.of_tenant(tenant)]

    found = with_store(speak, read)
    if as_json:
        click.echo(json.dumps([_plain(key) for key in found], indent=2))
    else:
        print_keys(found, speak.texts, console=_console(), now=datetime.now(UTC))


@keys.command("rotate", help="cli.keys.rotate.help")
@click.argument("key_id")
@click.option(
    "--keep-old-hours", type=click.IntRange(0, 24 * 90), default=24, show_default=True, help="cli.keys.keep-old"
)
@_JSON
@speaking
def rotate(speak: Speaking, /, *, key_id: str, keep_old_hours: int, as_json: bool) -> None:
    """Give a key a new secret."""
    by, secret = _somebody(), new_secret()

    async def renew(store: Store) -> Key:
        key = await _find(store, key_id)
        return await store.client_keys.rotate(
            key.id,
            tenant=TenantId(key.tenant),
            digest=digest_of(secret),
            old_until=by.at + timedelta(hours=keep_old_hours),
            by=by,
        )

    key = with_store(speak, renew)
    _show_once(key, write_key(key.id, secret=secret), as_json=as_json, texts=speak.texts)


@keys.command("revoke", help="cli.keys.revoke.help")
@click.argument("key_id")
@speaking
def revoke(speak: Speaking, /, *, key_id: str) -> None:
    """Let a key in no more."""

    async def end(store: Store) -> Key:
        key = await _find(store, key_id)
        return await store.client_keys.revoke(key.id, tenant=TenantId(key.tenant), by=_somebody())

    key = with_store(speak, end)
    _console().print(Text(speak.texts.say("cli.keys.revoked", {"key": key.id, "key_name": key.name})))


@keys.command("log", help="cli.keys.log.help")
@_CLIENT
@_JSON
@speaking
def log(speak: Speaking, /, *, client: str, as_json: bool) -> None:
    """Who did what to a client's rows, newest first."""

    async def read(store: Store) -> list[AuditEntry]:
        found = [entry for tenant in _tenants(client) for entry in await store.audit.page(tenant=tenant, limit=200)]
        return sorted(found, key=lambda entry: entry.id, reverse=True)

    entries = with_store(speak, read)
    if as_json:
        click.echo(json.dumps([_plain_entry(entry) for entry in entries], indent=2))
    else:
        print_log(entries, speak.texts, console=_console())


def _somebody() -> Actor:
    return somebody(datetime.now(UTC))


async def _as_of_now(store: Store, *, day: date) -> FixedWorld:
    """What a key in test mode works on from now on. Raises CatalogUnavailable."""
    active = (await store.releases.active()).release
    if active is None:
        raise CatalogUnavailable(reason="none is published")
    return FixedWorld(catalog_release=active, day=day)


def _tenants(client: str) -> list[TenantId]:
    return [TenantId(rows_of(client, mode=mode)) for mode in KeyMode]


async def _find(store: Store, key_id: str) -> Key:
    key = await store.client_keys.shown(key_id)
    if key is None:
        raise NotFound(resource="key", name=key_id)
    return key


def _show_once(key: Key, written: str, *, as_json: bool, texts: Texts) -> None:
    if as_json:
        click.echo(json.dumps({**_plain(key), "key": written}, indent=2))
        return
    console = _console()
    console.print(Text(texts.say("cli.keys.made", {"key": key.id, "key_name": key.name})))
    console.print(Text(written, style="bold"))
    console.print(Text(texts.say("cli.keys.shown-once")))


def _plain(key: Key) -> dict[str, Any]:
    return {
        "id": key.id,
        "client": key.tenant.partition("/")[0],
        "name": key.name,
        "kind": key.kind,
        "mode": key.mode,
        "scopes": sorted(key.scopes),
        "origins": list(key.origins),
        "per_minute": key.limits.per_minute,
        "per_day": key.limits.per_day,
        "per_visitor_minute": key.limits.per_visitor_minute if key.kind is KeyKind.BROWSER else None,
        "created_at": key.created_at.isoformat(),
        "created_by": key.created_by,
        "expires_at": key.expires_at and key.expires_at.isoformat(),
        "revoked_at": key.revoked_at and key.revoked_at.isoformat(),
        "catalog_release": key.fixed and key.fixed.catalog_release,
        "day": key.fixed and key.fixed.day.isoformat(),
    }


def _plain_entry(entry: AuditEntry) -> dict[str, Any]:
    actor = entry.actor
    return {
        "id": entry.id,
        "at": actor.at.isoformat(),
        "who": actor.who,
        "deed": entry.deed,
        "subject": entry.subject,
        "request_id": actor.request_id,
    }


def _console() -> Console:
    return Console(highlight=False, soft_wrap=True)
