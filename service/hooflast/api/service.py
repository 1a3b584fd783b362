"""Service: everything a handler works with, put together once by `create_app`."""

from asyncio import Semaphore
from dataclasses import dataclass, field, replace

from litestar import Request
from litestar.datastructures import State

from hooflast.api.caller import REQUEST_ID, Caller, caller_of
from hooflast.api.metrics import Metrics
from hooflast.api.running import Running
from hooflast.api.signing import Clock, CurrentKey
from hooflast.jobs.match_jobs import Clerk
from hooflast.matching.answering import Desk
from hooflast.matching.fixed_catalog import FixedCatalog
from hooflast.matching.served_catalog import ServedCatalog
from hooflast.settings import Settings
from hooflast.store import Store, TenantId
from hooflast.store.audit import Actor
from hooflast.texts import Texts, load_texts, negotiate

HttpRequest = Request[None, None, State]


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """What one process serves with, on behalf of one caller.

    `clock` tells the moment it is for the caller, whose day is a fixed one in test mode, `real_clock` the real one.
    `catalog` holds what is served of the catalog, `openapi` the document and `reference` the page,
    `desk` what matches are answered with, `clerk` who works on match jobs.
    """

    settings: Settings
    caller: Caller
    catalog: ServedCatalog
    store: Store
    clock: Clock
    real_clock: Clock
    key: CurrentKey
    openapi: bytes
    reference: bytes
    desk: Desk
    metrics: Metrics | None = None
    clerk: Clerk
    running: Running = field(default_factory=Running)

    @property
    def working(self) -> Semaphore:
        """The turns of what is worked out in threads."""
        return self.desk.working

    @property
    def tenant(self) -> TenantId:
        """On whose behalf requests are answered."""
        return self.caller.tenant

    def on_behalf_of(self, request: HttpRequest) -> "Service":
        """The same for who asks now: in test mode with a catalog and a day of its own."""
        caller = caller_of(request.scope) or self.caller
        if caller is self.caller:
            return self
        if caller.fixed is None:
            return replace(self, caller=caller)
        fixed = FixedCatalog(self.catalog, active=caller.fixed)
        return replace(
            self,
            caller=caller,
            catalog=fixed,
            desk=replace(self.desk, catalog=fixed),
            clock=lambda: caller.now(self.real_clock()),
        )

    def actor(self, request: HttpRequest) -> Actor:
        """What the audit log calls who asks now."""
        return self.caller.actor(at=self.real_clock(), request_id=request.scope["state"][REQUEST_ID])

    def texts_for(self, request: HttpRequest) -> Texts:
        """The sentences in the language the request asks for, or else in that of the settings."""
        own = f"{self.settings.language};q=0.001"
        wished = request.headers.get("accept-language")
        return load_texts(negotiate(f"{wished},{own}" if wished else own))
