"""Context: what a request's resolvers work with: the service on behalf of its caller, and loaders of its own."""

from functools import cached_property

from strawberry import Info as AnyInfo
from strawberry.dataloader import DataLoader

from hooflast.access.errors import ScopeMissing
from hooflast.access.key import Scope
from hooflast.api.graphql import loaders
from hooflast.api.idempotency import Making
from hooflast.api.kept_assortments import MappedOnto
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.assortment import AssortmentHead, AssortmentId
from hooflast.catalog.values import CatalogRelease
from hooflast.matching.proving import Proved
from hooflast.store import KeptAnswer
from hooflast.store.audit import Actor
from hooflast.store.hook_values import Delivery, Hook, HookId
from hooflast.store.match_job_values import JobResult, MatchJob
from hooflast.texts import Texts


class Context:
    """One request. Its loaders gather what its fields ask of the store, so that each table is asked once a step."""

    def __init__(self, request: HttpRequest, service: Service) -> None:
        self.service = service
        self.texts: Texts = service.texts_for(request)
        self.actor: Actor = service.actor(request)
        self.making = Making()

    def require(self, scope: Scope) -> None:
        """Raises ScopeMissing."""
        scopes = self.service.caller.scopes
        if scope not in scopes:
            raise ScopeMissing(needed=scope, held=", ".join(sorted(scopes)))

    @cached_property
    def matches(self) -> DataLoader[str, KeptAnswer]:
        """Matches by their ids."""
        return loaders.match_loader(self.service)

    @cached_property
    def hooks(self) -> DataLoader[HookId, Hook]:
        """Hooks by their ids."""
        return loaders.hook_loader(self.service)

    @cached_property
    def deliveries(self) -> DataLoader[loaders.DeliveriesOf, list[Delivery]]:
        """Pages of the deliveries to hooks."""
        return loaders.delivery_loader(self.service)

    @cached_property
    def proved(self) -> DataLoader[CatalogRelease, Proved]:
        """Catalog releases verified against their seals."""
        return loaders.proved_loader(self.service)

    @cached_property
    def assortments(self) -> DataLoader[AssortmentId, AssortmentHead]:
        """Assortments without their items, by their ids."""
        return loaders.assortment_loader(self.service)

    @cached_property
    def mapped_assortments(self) -> DataLoader[loaders.SeenAssortment, MappedOnto]:
        """Assortments mapped onto the catalog."""
        return loaders.mapped_assortment_loader(self.service)

    @cached_property
    def match_jobs(self) -> DataLoader[str, MatchJob]:
        """Match jobs by their ids."""
        return loaders.match_job_loader(self.service)

    @cached_property
    def job_results(self) -> DataLoader[loaders.ResultsOf, list[JobResult]]:
        """Pages of the results of match jobs."""
        return loaders.job_result_loader(self.service)

    @cached_property
    def plugins(self) -> DataLoader[None, loaders.PluginReports]:
        """What became of every plugin."""
        return loaders.plugin_loader(self.service)


Info = AnyInfo[Context, None]
