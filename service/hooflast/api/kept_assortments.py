"""Kept assortments: found by id, and mapped onto the active catalog release."""

import asyncio

from hooflast.api.known_ids import require_id
from hooflast.api.service import Service
from hooflast.catalog.assortment import Assortment, AssortmentId
from hooflast.catalog.assortment_mapping import MappedAssortment, map_assortment


async def mapped(service: Service, assortment_id: AssortmentId) -> tuple[Assortment, MappedAssortment, str]:
    """An assortment, where its SKUs lead, and in which catalog release."""
    release = service.catalog.active.release
    kept = await service.store.assortments.find(assortment_id, tenant=service.tenant)
    mapped = await asyncio.to_thread(map_assortment, kept, release)
    return kept, mapped, release.id


def known_form(assortment_id: str) -> AssortmentId:
    """What cannot be an assortment's id is not looked for."""
    return AssortmentId(require_id(assortment_id, resource="assortment"))
