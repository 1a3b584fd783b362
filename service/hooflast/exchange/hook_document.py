"""Hook document: hooks and the deliveries to them, written down. A secret stands only where it was just made."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Annotated, Any

from msgspec import Meta

from hooflast.exchange.answer_parts import Document
from hooflast.store.hook_values import Delivery, DeliveryStatus, Failure, Hook, WhyDisabled


class HookDocument(Document, frozen=True):
    """An address that is told of what happens."""

    id: str
    url: str
    events: Annotated[list[str], Meta(description="The kinds of events it is told of.")]
    created_at: datetime
    former_secret_until: Annotated[
        datetime | None, Meta(description="Until when the secret before signs as well; null: there is none.")
    ]
    disabled_at: Annotated[
        datetime | None, Meta(description="Since when it is told of nothing; a replay or a test enables it.")
    ]
    disabled_why: Annotated[
        WhyDisabled | None,
        Meta(description="gone: it answered 410; failing: every attempt failed for days."),
    ]


class HookWithSecretDocument(HookDocument, frozen=True):
    """A hook with the secret that was just made for it, which is not shown again."""

    secret: Annotated[str, Meta(pattern="^whsec_[A-Za-z0-9+/]+=*$", description="What you verify its messages with.")]


class HookList(Document, frozen=True):
    """All hooks there are, oldest first."""

    items: Annotated[list[HookDocument], Meta(max_length=20)]


class DeliveryDocument(Document, frozen=True):
    """One event on its way to a hook."""

    id: str
    event: Annotated[str, Meta(description="The event's id: the header `webhook-id`, the same at every attempt.")]
    type: Annotated[str, Meta(description="The kind of event.")]
    happened_at: datetime
    status: DeliveryStatus
    attempts: Annotated[int, Meta(ge=0, description="How many were begun.")]
    next_at: Annotated[datetime | None, Meta(description="When it is tried next, about; null: it is not.")]
    settled_at: Annotated[datetime | None, Meta(description="Since when it is delivered, or given up.")]
    last_status: Annotated[int | None, Meta(description="What the hook answered the last time; null: nothing yet.")]
    last_failure: Annotated[Failure | None, Meta(description="Why the last attempt failed; null: it did not.")]


class DeliveryPage(Document, frozen=True):
    """Deliveries to one hook, newest first."""

    items: Annotated[list[DeliveryDocument], Meta(max_length=100)]
    next: Annotated[str | None, Meta(description="The address of the next page; null on the last one.")]


class ReplayDocument(Document, frozen=True):
    """What is delivered again."""

    deliveries: Annotated[list[str], Meta(max_length=200, description="The deliveries, the oldest event first.")]
    go_on_from: Annotated[
        datetime | None, Meta(description="The moment to ask for next, where these are not all; else null.")
    ]


def hook_document(hook: Hook, *, now: datetime) -> HookDocument:
    """A hook without its secret."""
    return HookDocument(**_told(hook, now=now))


def hook_with_secret(hook: Hook, *, secret: str, now: datetime) -> HookWithSecretDocument:
    """A hook with its secret in writing."""
    return HookWithSecretDocument(**_told(hook, now=now), secret=secret)


def hook_list(hooks: Iterable[Hook], *, now: datetime) -> HookList:
    """Hooks in their order."""
    return HookList(items=[hook_document(hook, now=now) for hook in hooks])


def delivery_document(delivery: Delivery) -> DeliveryDocument:
    """A delivery without what it brings."""
    return DeliveryDocument(
        id=delivery.id,
        event=delivery.event.id,
        type=delivery.event.type,
        happened_at=delivery.event.happened_at,
        status=delivery.status,
        attempts=delivery.attempts,
        next_at=delivery.next_at if delivery.status is DeliveryStatus.PENDING else None,
        settled_at=delivery.settled_at,
        last_status=delivery.last_status,
        last_failure=delivery.last_failure,
    )


def replay_document(deliveries: Sequence[str], *, go_on_from: datetime | None) -> ReplayDocument:
    """What a replay delivers."""
    return ReplayDocument(deliveries=list(deliveries), go_on_from=go_on_from)


def _told(hook: Hook, *, now: datetime) -> dict[str, Any]:
    return {
        "id": hook.id,
        "url": hook.url,
        "events": list(hook.events),
        "created_at": hook.created_at,
        "former_secret_until": hook.former_until if len(hook.secrets(now=now)) > 1 else None,
        "disabled_at": hook.disabled_at,
        "disabled_why": hook.disabled_why,
    }
