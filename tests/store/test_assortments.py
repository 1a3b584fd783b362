"""Assortments: kept whole, changed by SKU, seen by their own tenant alone, and every change in the audit log."""

import asyncio
from dataclasses import replace
from typing import Any

import pytest
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.catalog.assortment import (
    MOST_ITEMS,
    Assortment,
    AssortmentHead,
    AssortmentId,
    AssortmentItem,
    BootSide,
    Sku,
)
from hooflast.catalog.values import SoldAs
from hooflast.errors import NotFound
from hooflast.store import Store, TenantId, assortments, new_id
from hooflast.store.assortments import MOST_ASSORTMENTS
from hooflast.store.audit import Actor, Deed
from hooflast.store.errors import AssortmentChanged, TooManyAssortments, TooManyItems

pytestmark = pytest.mark.anyio
BY = Actor(who="key:k1", at=NOW, request_id="r1")
WHOLE = AssortmentItem(
    sku=Sku("TT 1/a"),
    gtin="4012345000009",
    product="vellory-sedge",
    size="fern",
    side=BootSide.LEFT,
    sold_as=SoldAs.PAIR,
    price_minor=4990,
    stock=3,
    lead_days=14,
)
BARE = AssortmentItem(sku=Sku("TT-2"), product="vellory-sedge", size="reed")


def sample(*items: AssortmentItem) -> Assortment:
    head = AssortmentHead(
        id=AssortmentId(new_id()),
        name="Webshop",
        currency="EUR",
        revision=1,
        created_at=NOW,
        as_of=NOW,
        items=len(items),
    )
    return Assortment(head=head, items={item.sku: item for item in items})


async def added(store: Store, *items: AssortmentItem, tenant: TenantId = SHOP) -> AssortmentHead:
    return await store.assortments.add(sample(*items), tenant=tenant, by=BY)


async def items_of(store: Store, head: AssortmentHead, *, tenant: TenantId = SHOP) -> dict[Sku, AssortmentItem]:
    return dict((await store.assortments.find(head.id, tenant=tenant)).items)


async def test_what_is_kept_is_found_again(store: Store) -> None:
    kept = sample(WHOLE, BARE)
    head = await store.assortments.add(kept, tenant=SHOP, by=BY)
    assert head == kept.head
    assert await store.assortments.find(head.id, tenant=SHOP) == kept
    assert await store.assortments.all(tenant=SHOP) == (head,)


async def test_several_are_found_at_once_each_with_its_own_items_and_nobody_elses(store: Store) -> None:
    kept = [sample(WHOLE, BARE), sample(), sample(BARE)]
    for one in kept:
        await store.assortments.add(one, tenant=SHOP, by=BY)
    others = await added(store, WHOLE, tenant=CLINIC)
    ids = [*(one.head.id for one in kept), others.id, AssortmentId(new_id())]
    assert await store.assortments.find_each(ids, tenant=SHOP) == {one.head.id: one for one in kept}
    assert await store.assortments.heads(ids, tenant=SHOP) == {one.head.id: one.head for one in kept}
    assert await store.assortments.find_each([], tenant=SHOP) == {}


async def test_nobody_else_sees_or_changes_it(store: Store) -> None:
    head = await added(store, BARE)
    assert await store.assortments.all(tenant=CLINIC) == ()
    with pytest.raises(NotFound):
        await store.assortments.find(head.id, tenant=CLINIC)
    with pytest.raises(NotFound):
        await store.assortments.change(head.id, tenant=CLINIC, by=BY, as_of=NOW, drop=[BARE.sku])
    with pytest.raises(NotFound):
        await store.assortments.remove(head.id, tenant=CLINIC, by=BY, revision=None)
    assert await items_of(store, head) == {BARE.sku: BARE}


async def test_a_change_touches_the_named_skus_alone_and_raises_the_revision(store: Store) -> None:
    head = await added(store, WHOLE, BARE)
    sold = replace(WHOLE, stock=0)
    new = replace(BARE, sku=Sku("TT-3"))
    changed = await store.assortments.change(
        head.id, tenant=SHOP, by=BY, as_of=NOW, put=[sold, new], drop=[Sku("not there")]
    )
    assert (changed.revision, changed.items) == (2, 3)
    assert await items_of(store, head) == {sold.sku: sold, BARE.sku: BARE, new.sku: new}


async def test_the_whole_leaves_nothing_of_what_was(store: Store) -> None:
    head = await added(store, WHOLE, BARE)
    new = replace(BARE, sku=Sku("TT-3"))
    await store.assortments.change(head.id, tenant=SHOP, by=BY, as_of=NOW, name="Other", put=[new], whole=True)
    found = await store.assortments.find(head.id, tenant=SHOP)
    assert (found.head.name, dict(found.items)) == ("Other", {new.sku: new})


async def test_a_change_of_another_revision_changes_nothing(store: Store) -> None:
    head = await added(store, BARE)
    for change in (
        store.assortments.change(head.id, tenant=SHOP, by=BY, as_of=NOW, drop=[BARE.sku], revision=7),
        store.assortments.remove(head.id, tenant=SHOP, by=BY, revision=7),
    ):
        with pytest.raises(AssortmentChanged) as refused:
            await change
        assert refused.value.revision == 1
    assert await items_of(store, head) == {BARE.sku: BARE}


async def test_of_two_changes_of_one_revision_one_is_made(store: Store) -> None:
    head = await added(store, BARE)
    changes = [
        store.assortments.change(
            head.id, tenant=SHOP, by=BY, as_of=NOW, put=[replace(BARE, stock=stock)], revision=head.revision
        )
        for stock in (1, 2)
    ]
    outcomes = await asyncio.gather(*changes, return_exceptions=True)
    made = [one for one in outcomes if isinstance(one, AssortmentHead)]
    assert len(made) == 1
    assert [type(one) for one in outcomes if one not in made] == [AssortmentChanged]


async def test_there_are_bounds_and_what_is_beyond_them_leaves_everything_as_it_was(store: Store) -> None:
    head = await added(store, BARE)
    many = [replace(BARE, sku=Sku(f"S{number}")) for number in range(MOST_ITEMS)]
    with pytest.raises(TooManyItems):
        await store.assortments.change(head.id, tenant=SHOP, by=BY, as_of=NOW, put=many)
    assert await items_of(store, head) == {BARE.sku: BARE}
    for _ in range(MOST_ASSORTMENTS - 1):
        await added(store)
    with pytest.raises(TooManyAssortments):
        await added(store)
    await added(store, tenant=CLINIC)


async def test_what_is_removed_is_gone_with_all_that_is_in_it(store: Store) -> None:
    head = await added(store, WHOLE, BARE)
    await store.assortments.remove(head.id, tenant=SHOP, by=BY, revision=1)
    with pytest.raises(NotFound):
        await store.assortments.head(head.id, tenant=SHOP)


async def test_every_change_is_in_the_audit_log_and_no_refused_one(store: Store) -> None:
    head = await added(store, BARE)
    await store.assortments.change(head.id, tenant=SHOP, by=BY, as_of=NOW, drop=[BARE.sku])
    with pytest.raises(AssortmentChanged):
        await store.assortments.remove(head.id, tenant=SHOP, by=BY, revision=1)
    await store.assortments.remove(head.id, tenant=SHOP, by=BY, revision=2)
    entries = await store.audit.page(tenant=SHOP)
    assert [(entry.deed, entry.subject, entry.actor) for entry in entries] == [
        (Deed.ASSORTMENT_REMOVED, head.id, BY),
        (Deed.ASSORTMENT_CHANGED, head.id, BY),
        (Deed.ASSORTMENT_CHANGED, head.id, BY),
    ]


async def test_an_assortment_is_found_as_it_was_at_one_moment(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else what one revision has would be answered from under the name of another."""
    head, heads_of = await added(store, BARE), assortments._heads_of

    async def overtaken(*given: Any, **told: Any) -> Any:
        found = await heads_of(*given, **told)
        monkeypatch.setattr(assortments, "_heads_of", heads_of)
        await store.assortments.change(head.id, tenant=SHOP, by=BY, as_of=NOW, put=[replace(BARE, stock=7)])
        return found

    monkeypatch.setattr(assortments, "_heads_of", overtaken)
    found = await store.assortments.find(head.id, tenant=SHOP)
    assert (found.head.revision, found.items) == (1, {BARE.sku: BARE})
    again = await store.assortments.find(head.id, tenant=SHOP)
    assert (again.head.revision, again.items[BARE.sku].stock) == (2, 7)
