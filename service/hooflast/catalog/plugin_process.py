"""Plugin process: loads one plugin and takes its offer, in a process of its own. Started by `asking`, not by hand.

Standard input holds one `Ask` in MessagePack. Standard output gets lines of JSON: what is secret in the plugin's
settings, before the plugin can do anything with it, and each of its steps with what it is about, before it begins; and
after an empty line one `Told` in MessagePack. Whatever the plugin prints goes to standard error.
"""

import io
import os
import sys
from collections.abc import Callable, Mapping
from importlib.metadata import EntryPoint
from typing import Any, cast

import msgspec

from hooflast.catalog.offers import Offer, OfferRefused, OnStep, take_offer, unheard_step
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Held
from hooflast.catalog.plugin_settings import hidden, secrets_of
from hooflast.catalog.raised import tell_raised


class Ask(msgspec.Struct, frozen=True, kw_only=True):
    """Which plugin is asked, with which settings and what was fetched before, within which bounds."""

    name: str
    value: str
    settings: dict[str, Any] | None
    held: Mapping[str, Held]
    most_memory: int
    cpu_seconds: int


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """What came of it: an offer, or the reason why there is none."""

    offer: Offer | None = None
    reason: str = ""


def main() -> None:
    """Answer the one question that standard input holds."""
    ask = msgspec.msgpack.decode(sys.stdin.buffer.read(), type=Ask)
    answer_to = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
    cast("io.TextIOWrapper", sys.stdout).reconfigure(line_buffering=True)
    _hold_to(ask)
    entry_point = EntryPoint(name=ask.name, value=ask.value, group=ENTRY_POINT_GROUP)

    def line(told: object) -> None:
        answer_to.write(msgspec.json.encode(told) + b"\n")
        answer_to.flush()

    def load() -> object:
        secrets: frozenset[str] = frozenset()
        try:
            plugin = entry_point.load()
            secrets = secrets_of(plugin, ask.settings)
        finally:
            line(secrets)
        return plugin

    answer = msgspec.msgpack.encode(
        told(load, given=ask.settings, held=ask.held, on_step=lambda step, about: line((step, about)))
    )
    sys.stdout.flush()
    answer_to.write(b"\n" + answer)
    answer_to.close()


def told(
    load: Callable[[], object],
    *,
    given: Mapping[str, Any] | None,
    held: Mapping[str, Held],
    on_step: OnStep = unheard_step,
) -> Told:
    """The offer of the plugin that `load` finds, or why there is none, without its secrets; raises nothing."""
    secrets: frozenset[str] = frozenset()
    try:
        plugin = load()
        secrets = secrets_of(plugin, given)
        return Told(offer=take_offer(plugin, given=given, held=held, on_step=on_step).without(secrets))
    except OfferRefused as refused:
        reason = str(refused)
    except (Exception, SystemExit, KeyboardInterrupt) as error:
        reason = tell_raised(error)
    return Told(reason=hidden(reason, secrets=secrets))


def _hold_to(ask: Ask) -> None:
    """Bound this process, where the system can."""
    if sys.platform == "win32":
        return
    import resource

    _, most = resource.getrlimit(resource.RLIMIT_AS)
    memory = ask.most_memory if most == resource.RLIM_INFINITY else min(ask.most_memory, most)
    resource.setrlimit(resource.RLIMIT_AS, (memory, most))
    resource.setrlimit(resource.RLIMIT_CPU, (ask.cpu_seconds, ask.cpu_seconds + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    main()
