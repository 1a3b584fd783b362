"""Service: everything a handler works with, put together once by `create_app`."""

from asyncio import Semaphore
from dataclasses import dataclass, field

from litestar import Request
from litestar.datastructures import State

from hooflast.api.running import Running
from hooflast.api.signing import Clock, CurrentKey
from hooflast.matching.answering import Desk
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.settings import Settings
from hooflast.store import Store, TenantId
from hooflast.texts import Texts, load_texts, negotiate

HttpRequest = Request[None, None, State]


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """What one process serves with.

    `catalog` holds what is served of the catalog, `openapi` the document and `reference` the page,
    `desk` what matches are answered with.
    """

    settings: Settings
    catalog: LiveCatalog
    store: Store
    clock: Clock
    key: CurrentKey
    openapi: bytes
    reference: bytes
    desk: Desk
    running: Running = field(default_factory=Running)

    @property
    def working(self) -> Semaphore:
        """The turns of what is worked out in threads."""
        return self.desk.working

    @property
    def tenant(self) -> TenantId:
        """On whose behalf requests are answered."""
        return TenantId(self.settings.tenant)

    def texts_for(self, request: HttpRequest) -> Texts:
        """The sentences in the language the request asks for, or else in that of the settings."""
        own = f"{self.settings.language};q=0.001"
        wished = request.headers.get("accept-language")
        return load_texts(negotiate(f"{wished},{own}" if wished else own))
