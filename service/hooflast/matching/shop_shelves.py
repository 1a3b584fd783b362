"""Shop shelves: the assortments that questions name, laid out for matching and held while they stay the same."""

import asyncio
from dataclasses import dataclass, replace
from typing import Final, Protocol

from cachetools import LRUCache

from hooflast.catalog.assortment import Assortment, AssortmentHead, AssortmentId
from hooflast.catalog.values import ReleaseId
from hooflast.errors import Fault, InputRefused, NotFound
from hooflast.matching.question import AskedAssortment, MatchQuestion, SizesOf
from hooflast.matching.shelf import Shelf
from hooflast.matching.shop_shelf import selling
from hooflast.store.values import TenantId

MOST_HELD: Final = 64
"""How many laid-out assortments a process holds."""


class AssortmentsKept(Protocol):
    """Where assortments are kept."""

    async def head(self, assortment_id: AssortmentId, *, tenant: TenantId) -> AssortmentHead:
        """An assortment without its items. Raises NotFound."""

    async def find(self, assortment_id: AssortmentId, *, tenant: TenantId) -> Assortment:
        """An assortment with all its items. Raises NotFound."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Which:
    tenant: TenantId
    assortment: AssortmentId
    revision: int
    sizes: SizesOf
    release: ReleaseId


class ShopShelves:
    """What one process holds of assortments. An assortment is always answered from as it is now."""

    def __init__(self, kept: AssortmentsKept) -> None:
        self._kept = kept
        self._held: LRUCache[_Which, Shelf] = LRUCache(MOST_HELD)

    async def for_question(
        self, question: MatchQuestion, shelf: Shelf, *, tenant: TenantId
    ) -> tuple[MatchQuestion, Shelf]:
        """The question with the revision it is answered from, and what the assortment it names has of a shelf.

        Raises InputRefused for an assortment that is not the tenant's, StoreError.
        """
        asked = question.assortment
        if asked is None:
            return question, shelf
        try:
            head, shop = await self._selling(asked, shelf, tenant=tenant)
        except NotFound:
            fault = Fault(path=("assortment", "id"), code="assortment-unknown", received=asked.id)
            raise InputRefused(faults=(fault,)) from None
        return replace(question, assortment=replace(asked, revision=head.revision)), shop

    async def as_answered(self, asked: AskedAssortment, shelf: Shelf, *, tenant: TenantId) -> Shelf | None:
        """What an answer was given from, if the assortment has stayed the same since."""
        try:
            head, shop = await self._selling(asked, shelf, tenant=tenant)
        except NotFound:
            return None
        return shop if head.revision == asked.revision else None

    async def _selling(self, asked: AskedAssortment, shelf: Shelf, *, tenant: TenantId) -> tuple[AssortmentHead, Shelf]:
        head = await self._kept.head(AssortmentId(asked.id), tenant=tenant)
        which = _which(head, asked, shelf=shelf, tenant=tenant)
        held = self._held.get(which)
        if held is None:
            assortment = await self._kept.find(head.id, tenant=tenant)
            head = assortment.head
            held = await asyncio.to_thread(selling, shelf, assortment, sizes=asked.sizes)
            self._held[_which(head, asked, shelf=shelf, tenant=tenant)] = held
        return head, held


def _which(head: AssortmentHead, asked: AskedAssortment, *, shelf: Shelf, tenant: TenantId) -> _Which:
    return _Which(
        tenant=tenant,
        assortment=head.id,
        revision=head.revision,
        sizes=asked.sizes,
        release=shelf.release.id,
    )
