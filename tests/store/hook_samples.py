"""Hook samples: hooks and events to keep, as the tests of their store need them."""

from tests.store.samples import NOW, SHOP

from hooflast.store import TenantId, new_id
from hooflast.store.hook_values import Event, Hook, HookId


def a_hook(tenant: TenantId = SHOP) -> Hook:
    return Hook(
        id=HookId(new_id()),
        tenant=tenant,
        url="https://harrowmere.example/told",
        events=("catalog_release.published", "catalog_release.withdrawn"),
        secret=b"oats" * 8,
        created_at=NOW,
    )


def an_event(name: str = "evt_1") -> Event:
    return Event(id=name, type="catalog_release.published", happened_at=NOW, body=b'{"a":1}\x00\xff')
