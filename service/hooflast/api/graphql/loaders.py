"""Loaders: what many fields of one request ask of the store, asked at once, and each thing once."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from strawberry.dataloader import DataLoader

from hooflast.api.kept_assortments import RESOURCE, MappedOnto, mapped_each
from hooflast.api.kept_match_jobs import find_jobs
from hooflast.api.kept_matches import find_matches
from hooflast.api.proving import proved_release
from hooflast.api.service import Service
from hooflast.catalog.assortment import AssortmentHead, AssortmentId
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import HooflastError, NotFound
from hooflast.matching.proving import Proved
from hooflast.matching.publishing import read_report
from hooflast.store import KeptAnswer
from hooflast.store.hook_values import Delivery, DeliveryStatus, Hook, HookId
from hooflast.store.match_job_values import JobId, JobOutcome, JobResult, MatchJob

PluginReports = Mapping[str, PluginReport]
_ANY: Final = HookId("")


def match_loader(service: Service) -> DataLoader[str, KeptAnswer]:
    """Matches by their ids."""

    async def load(match_ids: list[str]) -> list[KeptAnswer | BaseException]:
        found = await find_matches(service, match_ids)
        return [found.get(one) or NotFound(resource="match", name=one) for one in match_ids]

    return DataLoader(load)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveriesOf:
    """A page of the deliveries to one hook: so many, of one status, from the one before `before` on."""

    hook: HookId
    status: DeliveryStatus | None
    before: str | None
    limit: int


def hook_loader(service: Service) -> DataLoader[HookId, Hook]:
    """Hooks by their ids: a client has so few that all of them are read."""

    async def load(hook_ids: list[HookId]) -> list[Hook | BaseException]:
        found = {hook.id: hook for hook in await service.store.hooks.all(tenant=service.tenant)}
        return [found.get(one) or NotFound(resource="hook", name=one) for one in hook_ids]

    return DataLoader(load)


def delivery_loader(service: Service) -> DataLoader[DeliveriesOf, list[Delivery]]:
    """Pages of deliveries: one query for all that differ in nothing but the hook."""

    async def load(pages: list[DeliveriesOf]) -> list[list[Delivery] | BaseException]:
        alike: dict[DeliveriesOf, list[HookId]] = {}
        for page in pages:
            alike.setdefault(replace(page, hook=_ANY), []).append(page.hook)
        found: dict[DeliveriesOf, list[Delivery]] = {}
        for page, hook_ids in alike.items():
            newest = await service.store.hook_deliveries.newest_of_each(
                hook_ids, tenant=service.tenant, status=page.status, before=page.before, limit=page.limit
            )
            found |= {replace(page, hook=hook_id): newest.get(hook_id, []) for hook_id in hook_ids}
        return [found[page] for page in pages]

    return DataLoader(load)


def proved_loader(service: Service) -> DataLoader[CatalogRelease, Proved]:
    """Catalog releases verified against their seals, each once, however many of its records are asked for."""

    async def load(releases: list[CatalogRelease]) -> list[Proved | BaseException]:
        return [await _proved(release, service=service) for release in releases]

    return DataLoader(load, cache_key_fn=lambda release: release.id)


async def _proved(release: CatalogRelease, *, service: Service) -> Proved | HooflastError:
    try:
        return await proved_release(release, service=service)
    except HooflastError as error:
        return error


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenAssortment:
    """An assortment at the revision it was seen at: once it is changed, it is read anew."""

    id: AssortmentId
    revision: int


def assortment_loader(service: Service) -> DataLoader[AssortmentId, AssortmentHead]:
    """Assortments without their items, by their ids."""

    async def load(assortment_ids: list[AssortmentId]) -> list[AssortmentHead | BaseException]:
        found = await service.store.assortments.heads(assortment_ids, tenant=service.tenant)
        return [found.get(one) or NotFound(resource=RESOURCE, name=one) for one in assortment_ids]

    return DataLoader(load)


def mapped_assortment_loader(service: Service) -> DataLoader[SeenAssortment, MappedOnto]:
    """Assortments with their items mapped onto the catalog: one query for the items of all."""

    async def load(seen: list[SeenAssortment]) -> list[MappedOnto | BaseException]:
        found = await mapped_each(service, [one.id for one in seen])
        return [found.get(one.id) or NotFound(resource=RESOURCE, name=one.id) for one in seen]

    return DataLoader(load)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultsOf:
    """A page of the results of a job: so many, past a line and up to where the job had come, of one outcome."""

    job: JobId
    answered_to: int
    after: int
    only: JobOutcome | None
    limit: int


def match_job_loader(service: Service) -> DataLoader[str, MatchJob]:
    """Match jobs by their ids."""

    async def load(job_ids: list[str]) -> list[MatchJob | BaseException]:
        found = await find_jobs(service, job_ids)
        return [found.get(one) or NotFound(resource="match job", name=one) for one in job_ids]

    return DataLoader(load)


def job_result_loader(service: Service) -> DataLoader[ResultsOf, list[JobResult]]:
    """Pages of results: one query for all that differ in nothing but the job."""

    async def load(pages: list[ResultsOf]) -> list[list[JobResult] | BaseException]:
        alike: dict[ResultsOf, dict[JobId, int]] = {}
        for page in pages:
            answered_to = alike.setdefault(_of_any_job(page), {})
            answered_to[page.job] = max(page.answered_to, answered_to.get(page.job, 0))
        found = {
            page: await service.store.match_jobs.results_of_each(
                answered_to, tenant=service.tenant, after=page.after, limit=page.limit, only=page.only
            )
            for page, answered_to in alike.items()
        }
        return [[one for one in found[_of_any_job(page)][page.job] if one.line <= page.answered_to] for page in pages]

    return DataLoader(load)


def _of_any_job(page: ResultsOf) -> ResultsOf:
    return replace(page, job=JobId(""), answered_to=0)


def plugin_loader(service: Service) -> DataLoader[None, PluginReports]:
    """What became of every plugin, by its name; there is one answer to all who ask."""

    async def load(asked: list[None]) -> list[PluginReports | BaseException]:
        written = await service.store.plugin_reports.all()
        reports = {name: read_report(text) for name, text in written.items()}
        return [reports for _ in asked]

    return DataLoader(load)
