"""Plugin process: loads one plugin and takes its offer, in a process of its own. Started by `asking`, not by hand.

Standard input holds one `Ask`, standard output gets one `Told`, both in MessagePack; whatever the plugin prints goes to
standard error.
"""

import os
import sys
from collections.abc import Callable, Mapping
from importlib.metadata import EntryPoint
from typing import Any, Final

import msgspec

from hooflast.catalog.offers import Offer, OfferRefused, take_offer
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Held

LONGEST_REASON: Final = 2000


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
    _hold_to(ask)
    entry_point = EntryPoint(name=ask.name, value=ask.value, group=ENTRY_POINT_GROUP)
    answer_to.write(msgspec.msgpack.encode(told(entry_point.load, given=ask.settings, held=ask.held)))
    answer_to.close()


def told(load: Callable[[], object], *, given: Mapping[str, Any] | None, held: Mapping[str, Held]) -> Told:
    """The offer of the plugin that `load` finds, or why there is none; raises nothing."""
    try:
        return Told(offer=take_offer(load(), given=given, held=held))
    except OfferRefused as refused:
        return Told(reason=str(refused))
    except (Exception, SystemExit, KeyboardInterrupt) as error:
        return Told(reason=f"it raised {_told(error)}")


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


def _told(error: BaseException) -> str:
    try:
        return f"{type(error).__name__}: {error}"[:LONGEST_REASON].encode("utf-8", "replace").decode("utf-8")
    except Exception:
        return f"{type(error).__name__}, which cannot say what it is"


if __name__ == "__main__":
    main()
