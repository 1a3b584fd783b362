"""Hooks: where clients are told of what happens, looked after by whoever runs the service."""

from collections.abc import Sequence
from datetime import UTC, datetime
from random import SystemRandom
from typing import Final

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import somebody, with_store
from hooflast.errors import Fact, Fault, InputRefused
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.event_kinds import EventKind
from hooflast.exchange.hook_document import delivery_document, hook_list
from hooflast.exchange.hook_form import read_hook_wish, read_since
from hooflast.jobs.delivering import Postman
from hooflast.jobs.keeping import Caught, make_hook, renew_secret, repeat_one, repeat_since, try_hook
from hooflast.jobs.sending import Sender
from hooflast.jobs.signing import written_secret
from hooflast.store import Store, TenantId
from hooflast.store.hook_values import Delivery, DeliveryId, DeliveryStatus, Hook, HookId

_HOOK: Final = click.argument("hook")
_JSON: Final = click.option("--json", "as_json", is_flag=True, help="cli.option.json")
_CLIENT: Final = click.option("--client", help="cli.hooks.client")
_STATUSES: Final = click.Choice([status.value for status in DeliveryStatus])


@click.group("hooks", help="cli.hooks.help")
def hooks() -> None:
    """Tell clients of what happens."""


@hooks.command("add", help="cli.hooks.add.help")
@click.argument("url")
@click.option("--event", "events", multiple=True, metavar="cli.metavar.kind", help="cli.hooks.add.event")
@_CLIENT
@speaking
def add(speak: Speaking, /, *, url: str, events: tuple[str, ...], client: str | None) -> None:
    """Make a hook and show its secret, this once."""
    now = _now()
    wish = read_hook_wish({"url": url, "events": list(events or EventKind)}, today=now.date())
    private = speak.settings.hooks_private_addresses
    by = somebody(now)
    hook = with_store(
        speak,
        lambda store: make_hook(wish, store=store, tenant=_tenant(speak, client), private=private, now=now, by=by),
    )
    _show_secret(hook, speak=speak)


@hooks.command("list", help="cli.hooks.list.help")
@_JSON
@_CLIENT
@speaking
def list_hooks(speak: Speaking, /, *, as_json: bool, client: str | None) -> None:
    """Every hook, without its secret."""
    found = with_store(speak, lambda store: store.hooks.all(tenant=_tenant(speak, client)))
    if as_json:
        click.echo(encode(hook_list(found, now=_now())))
    elif found:
        _print_hooks(found, speak=speak)
    else:
        _say("cli.hooks.none", {}, speak=speak)


@hooks.command("remove", help="cli.hooks.remove.help")
@_HOOK
@_CLIENT
@speaking
def remove(speak: Speaking, /, *, hook: str, client: str | None) -> None:
    """Tell an address of nothing more."""
    by = somebody(_now())
    with_store(speak, lambda store: store.hooks.remove(HookId(hook), tenant=_tenant(speak, client), by=by))
    _say("cli.hooks.removed", {"hook": hook}, speak=speak)


@hooks.command("rotate", help="cli.hooks.rotate.help")
@_HOOK
@_CLIENT
@speaking
def rotate(speak: Speaking, /, *, hook: str, client: str | None) -> None:
    """Give a hook a new secret, and show it, this once."""
    now = _now()
    renewed = with_store(
        speak,
        lambda store: renew_secret(HookId(hook), store=store, tenant=_tenant(speak, client), now=now, by=somebody(now)),
    )
    _show_secret(renewed, speak=speak)
    _say("cli.hooks.both-valid", {"until": _written(renewed.former_until)}, speak=speak)


@hooks.command("deliveries", help="cli.hooks.deliveries.help")
@_HOOK
@click.option("--status", type=_STATUSES, help="cli.hooks.deliveries.status")
@click.option("--limit", type=click.IntRange(1, 200), default=20, show_default=True, help="cli.hooks.deliveries.limit")
@_JSON
@_CLIENT
@speaking
def deliveries(
    speak: Speaking, /, *, hook: str, status: str | None, limit: int, as_json: bool, client: str | None
) -> None:
    """What is on its way to a hook, and what became of it."""

    async def look(store: Store) -> tuple[Delivery, ...]:
        found = await store.hooks.find(HookId(hook), tenant=_tenant(speak, client))
        wanted = None if status is None else DeliveryStatus(status)
        return await store.hook_deliveries.page(hook=found, status=wanted, limit=limit)

    found = with_store(speak, look)
    if as_json:
        click.echo(b"[" + b",".join(encode(delivery_document(one)) for one in found) + b"]")
    elif found:
        _print_deliveries(found, speak=speak)
    else:
        _say("cli.hooks.nothing-delivered", {}, speak=speak)


@hooks.command("replay", help="cli.hooks.replay.help")
@_HOOK
@click.option("--since", metavar="cli.metavar.moment", help="cli.hooks.replay.since")
@click.option("--delivery", metavar="cli.metavar.id", help="cli.hooks.replay.delivery")
@_CLIENT
@speaking
def replay(speak: Speaking, /, *, hook: str, since: str | None, delivery: str | None, client: str | None) -> None:
    """Deliver again: one event, or all since a moment. The service brings them."""
    now, tenant = _now(), _tenant(speak, client)
    if (since is None) == (delivery is None):
        raise InputRefused(faults=(Fault(path=("--since",), code="since-or-delivery", received=since),))
    moment = None if since is None else read_since({"since": since}, today=now.date())

    async def take(store: Store) -> Caught:
        if moment is None:
            one = DeliveryId(delivery or "")
            return await repeat_one(one, hook_id=HookId(hook), store=store, tenant=tenant, now=now)
        return await repeat_since(moment, hook_id=HookId(hook), store=store, tenant=tenant, now=now)

    caught = with_store(speak, take)
    _say("cli.hooks.replayed", {"count": len(caught.deliveries)}, speak=speak)
    if caught.go_on_from is not None:
        _say("cli.hooks.go-on", {"since": _written(caught.go_on_from)}, speak=speak)


@hooks.command("test", help="cli.hooks.test.help")
@_HOOK
@_CLIENT
@speaking
def test(speak: Speaking, /, *, hook: str, client: str | None) -> None:
    """Send a test from here, at once, and say what came of it."""
    tenant = _tenant(speak, client)

    async def take(store: Store) -> Delivery:
        begun = await try_hook(HookId(hook), store=store, tenant=tenant, now=_now())
        async with Sender(private=speak.settings.hooks_private_addresses) as sender:
            postman = Postman(store=store, sender=sender, clock=_now, chance=SystemRandom().random)
            for claim in await postman.claim(tenant, limit=1, only=begun):
                await postman.attempt(claim)
        return await store.hook_deliveries.find(begun, hook=await store.hooks.find(HookId(hook), tenant=tenant))

    delivery = with_store(speak, take)
    _say(f"cli.hooks.test.{delivery.status}", {"came": _came_of(delivery, speak=speak)}, speak=speak)
    if delivery.last_failure is not None:
        raise SystemExit(1)


def _print_hooks(found: Sequence[Hook], *, speak: Speaking) -> None:
    table = _table(("hook", "address", "told-of", "state"), speak=speak)
    for hook in found:
        why = hook.disabled_why
        state = speak.texts.say("cli.hooks.enabled" if why is None else f"disabled.{why}")
        table.add_row(Text(hook.id), Text(hook.url), Text("\n".join(hook.events)), Text(state))
    _console().print(table)


def _print_deliveries(found: Sequence[Delivery], *, speak: Speaking) -> None:
    table = _table(("delivery", "event", "happened", "state", "attempts", "came-of-it", "next-attempt"), speak=speak)
    for one in found:
        table.add_row(
            Text(one.id),
            Text(one.event.type),
            Text(_written(one.event.happened_at)),
            Text(speak.texts.say(f"delivery.{one.status}")),
            Text(str(one.attempts)),
            Text(_came_of(one, speak=speak)),
            Text(_written(one.next_at) if one.status is DeliveryStatus.PENDING else ""),
        )
    _console().print(table)


def _table(columns: Sequence[str], *, speak: Speaking) -> Table:
    table = Table()
    for column in columns:
        table.add_column(speak.texts.say(f"cli.column.{column}"), overflow="fold")
    return table


def _came_of(delivery: Delivery, *, speak: Speaking) -> str:
    """What the last attempt came to, in words."""
    if delivery.last_failure is not None and delivery.last_status is None:
        return speak.texts.say(f"failure.{delivery.last_failure}")
    if delivery.last_status is None:
        return ""
    return speak.texts.say("cli.hooks.answered", {"status": str(delivery.last_status)})


def _show_secret(hook: Hook, *, speak: Speaking) -> None:
    facts: dict[str, Fact] = {"hook": hook.id, "url": hook.url, "secret": written_secret(hook.secret)}
    _say("cli.hooks.secret", facts, speak=speak)


def _tenant(speak: Speaking, client: str | None) -> TenantId:
    return TenantId(client or speak.settings.tenant)


def _now() -> datetime:
    return datetime.now(UTC)


def _written(moment: datetime | None) -> str:
    return "" if moment is None else moment.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def _say(key: str, facts: dict[str, Fact], *, speak: Speaking) -> None:
    _console().print(Text(speak.texts.say(key, facts)))


def _console() -> Console:
    return Console(highlight=False, soft_wrap=True)
