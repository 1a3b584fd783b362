"""Kept assortments: found by id, and mapped onto the active catalog release."""

import asyncio

from hooflast.api.service import Service
from hooflast.catalog.assortment import Assortment, AssortmentId
from hooflast.catalog.assortment_mapping import MappedAssortment, map_assortment
from hooflast.errors import NotFound
from hooflast.store import is_id


async def mapped(service: Service, assortment_id: AssortmentId) -> tuple[Assortment, MappedAssortment, str]:
    """An assortment, where its SKUs lead, and in which catalog release."""
    release = service.catalog.active.release
    kept = await service.store.assortments.find(assortment_id, tenant=service.tenant)
    mapped = await asyncio.to_thread(map_assortment, kept, release)
    return kept, mapped, release.id


def known_form(assortment_id: str) -> AssortmentId:
    """What cannot be an assortment's id is not looked for."""
    if not is_id(assortment_id):
        raise NotFound(resource="assortment", name=assortment_id)
    return AssortmentId(assortment_id)
