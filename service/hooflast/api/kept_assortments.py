"""Kept assortments: made, replaced, changed by SKU, removed, found, and mapped onto the active catalog release."""

import asyncio
from collections.abc import Collection, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Final

from hooflast.api.known_ids import require_id
from hooflast.api.service import Service
from hooflast.catalog.assortment import Assortment, AssortmentHead, AssortmentId, Sku
from hooflast.catalog.assortment_mapping import MappedAssortment, map_assortment
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import NotFound
from hooflast.exchange.assortment_document import WhichItems
from hooflast.exchange.assortment_form import AssortmentPatch, patched
from hooflast.store.audit import Actor
from hooflast.store.errors import AssortmentChanged

RESOURCE: Final = "assortment"
TRIES: Final = 5
"""How often a change by SKU is made anew, where another one came between."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedOnto:
    """An assortment, where its SKUs lead, and in which catalog release."""

    assortment: Assortment
    places: MappedAssortment
    release: str

    def skus(self, which: WhichItems) -> list[Sku]:
        """Its SKUs in their order: all, or those that lead somewhere, or nowhere."""
        skus = sorted(self.assortment.items)
        if which is WhichItems.ALL:
            return skus
        return [sku for sku in skus if (sku in self.places.places) == (which is WhichItems.MAPPED)]


async def mapped(service: Service, assortment_id: AssortmentId) -> MappedOnto:
    """One assortment mapped. Raises NotFound."""
    found = await mapped_each(service, [assortment_id])
    if assortment_id not in found:
        raise NotFound(resource=RESOURCE, name=assortment_id)
    return found[assortment_id]


async def mapped_each(service: Service, assortment_ids: Collection[AssortmentId]) -> Mapping[AssortmentId, MappedOnto]:
    """Assortments mapped; what the client does not have is left out."""
    release = service.catalog.active.release
    found = await service.store.assortments.find_each(assortment_ids, tenant=service.tenant)
    return await asyncio.to_thread(_map_each, found, release)


async def make_assortment(made: Assortment, *, service: Service, by: Actor) -> AssortmentHead:
    """Keep a new assortment. Raises TooManyAssortments."""
    await service.store.tenants.ensure(service.tenant, now=service.clock())
    return await service.store.assortments.add(made, tenant=service.tenant, by=by)


async def replace_assortment(made: Assortment, *, service: Service, by: Actor, revision: int | None) -> AssortmentHead:
    """Keep an assortment in the place of the one of its id. Raises NotFound, AssortmentChanged."""
    return await service.store.assortments.change(
        made.head.id,
        tenant=service.tenant,
        by=by,
        as_of=made.head.as_of,
        name=made.head.name,
        currency=made.head.currency,
        put=made.items.values(),
        whole=True,
        revision=revision,
    )


async def change_assortment(
    assortment_id: AssortmentId, patch: AssortmentPatch, *, service: Service, by: Actor, revision: int | None
) -> AssortmentHead:
    """Change an assortment by SKU. Raises NotFound, InputRefused, AssortmentChanged, TooManyItems."""
    tries = 1 if revision is not None else TRIES
    for _ in range(tries - 1):
        with suppress(AssortmentChanged):
            return await _change_once(assortment_id, patch, service=service, by=by, revision=None)
    return await _change_once(assortment_id, patch, service=service, by=by, revision=revision)


async def remove_assortment(assortment_id: AssortmentId, *, service: Service, by: Actor, revision: int | None) -> None:
    """Remove an assortment with all that is in it. Raises NotFound, AssortmentChanged."""
    await service.store.assortments.remove(assortment_id, tenant=service.tenant, by=by, revision=revision)


def known_form(assortment_id: str) -> AssortmentId:
    """What cannot be an assortment's id is not looked for. Raises NotFound."""
    return AssortmentId(require_id(assortment_id, resource=RESOURCE))


async def _change_once(
    assortment_id: AssortmentId, patch: AssortmentPatch, *, service: Service, by: Actor, revision: int | None
) -> AssortmentHead:
    """One try: what is worked out from the assortment as it is read is kept only if it has stayed so."""
    store, now = service.store.assortments, service.clock()
    kept = await store.find_some(assortment_id, tenant=service.tenant, skus=patch.items)
    if revision is not None and kept.head.revision != revision:
        raise AssortmentChanged(assortment=assortment_id, revision=kept.head.revision)
    put, drop = await asyncio.to_thread(patched, patch, head=kept.head, kept=kept.items, now=now)
    return await store.change(
        assortment_id,
        tenant=service.tenant,
        by=by,
        as_of=patch.as_of or now,
        name=patch.name,
        put=put,
        drop=drop,
        revision=kept.head.revision,
    )


def _map_each(found: Mapping[AssortmentId, Assortment], release: CatalogRelease) -> dict[AssortmentId, MappedOnto]:
    return {
        one: MappedOnto(assortment=assortment, places=map_assortment(assortment, release), release=release.id)
        for one, assortment in found.items()
    }
