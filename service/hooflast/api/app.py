"""App: the service put together. Nothing is built at import, and nothing is read from the environment."""

from asyncio import Semaphore
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from datetime import timedelta
from time import monotonic

import structlog
from litestar import Litestar, Response
from litestar.datastructures import State
from litestar.di import Provide

from hooflast.access.guesses import Guesses
from hooflast.access.meter import Meter
from hooflast.api import problems
from hooflast.api.admission import ADMISSION, Admission
from hooflast.api.caller import REQUEST_ID, Caller
from hooflast.api.catalog_watch import keeping_up
from hooflast.api.compression import Packing
from hooflast.api.conversation import Conversation
from hooflast.api.graphql.answering import graphql_of
from hooflast.api.graphql.route import ANSWERING
from hooflast.api.known_keys import KnownKeys
from hooflast.api.metrics import Metrics
from hooflast.api.openapi import openapi_document, written
from hooflast.api.reference import reference_page
from hooflast.api.routes import ROUTES, methods_by_path
from hooflast.api.running import Running
from hooflast.api.service import HttpRequest, Service
from hooflast.api.signing import Clock, CurrentKey
from hooflast.api.traces import traces_to_collector
from hooflast.jobs.match_jobs import Clerk, working_on_jobs
from hooflast.matching.answering import WORKING_AT_ONCE, Desk
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.matching.memo import Memo
from hooflast.matching.shop_shelves import ShopShelves
from hooflast.settings import Settings, Switch
from hooflast.store import Store, TenantId

log = structlog.stdlib.get_logger("hooflast.api")

Lifespan = Callable[[Litestar], AbstractAsyncContextManager[None]]


def create_app(
    settings: Settings,
    *,
    store: Store,
    clock: Clock,
    running: Running | None = None,
    lifespan: tuple[Lifespan, ...] = (),
) -> Litestar:
    """The service as an ASGI application, which starts `store` when it starts and stops it when it stops.

    It serves the catalog releases that are published in the store, and takes up what changes there.
    """
    document = openapi_document(server=settings.public_url or "/")
    catalog = LiveCatalog(store.releases, most_bytes=settings.pinned_bytes)
    everybody = Caller(tenant=TenantId(settings.tenant))
    keys = KnownKeys(store, timer=monotonic)
    admission = Admission(
        access=settings.access,
        everybody=everybody,
        keys=keys,
        meter=Meter(store.request_counts.take),
        guesses=Guesses(store.request_counts.take),
        catalog=catalog,
        clock=clock,
    )
    clerk = Clerk(
        store=store,
        catalog=catalog,
        shops=ShopShelves(store.assortments),
        working=Semaphore(WORKING_AT_ONCE),
        clock=clock,
        keep_for=timedelta(days=settings.job_days),
    )
    metrics = Metrics(revision=lambda: catalog.revision) if settings.metrics is Switch.ON else None
    traces = traces_to_collector() if settings.traces is Switch.ON else None
    service = Service(
        settings=settings,
        metrics=metrics,
        caller=everybody,
        catalog=catalog,
        store=store,
        clock=clock,
        real_clock=clock,
        key=CurrentKey(store, tenant=TenantId(settings.tenant), clock=clock),
        openapi=written(document),
        reference=reference_page(document),
        desk=Desk(
            catalog=catalog,
            memo=Memo(settings.memo_bytes),
            working=clerk.working,
            keeper=store.answers,
            shops=clerk.shops,
        ),
        clerk=clerk,
        running=running or Running(),
    )

    @asynccontextmanager
    async def open_store(_: Litestar) -> AsyncIterator[None]:
        every_seconds = settings.catalog_seconds
        async with (
            store,
            keeping_up(catalog, every_seconds=every_seconds, changes=store.changes),
            working_on_jobs(clerk, every_seconds=every_seconds),
        ):
            yield
        if traces is not None:
            traces.stop()

    app = Litestar(
        ROUTES,
        dependencies={"service": Provide(_for_whoever_asks(service), sync_to_thread=False)},
        exception_handlers={Exception: _teller(service)},
        lifespan=[open_store, *lifespan],
        logging_config=None,
        openapi_config=None,
        request_max_body_size=settings.max_body_bytes,
        state=State({ADMISSION: admission, ANSWERING: graphql_of(settings)}),
    )
    app.asgi_handler = Conversation(
        Packing(app.asgi_handler),
        running=service.running,
        methods=methods_by_path(),
        is_origin_known=keys.is_origin_known,
        watchers=tuple(watcher for watcher in (metrics, traces) if watcher is not None),
    )
    return app


def _for_whoever_asks(service: Service) -> Callable[[HttpRequest], Service]:
    def provide(request: HttpRequest) -> Service:
        return service.on_behalf_of(request)

    return provide


def _teller(service: Service) -> problems.Teller:
    def tell(request: HttpRequest, error: Exception) -> Response[bytes]:
        diagnosis = problems.diagnose(error)
        if diagnosis.is_unexpected:
            log.error("unexpected error", exc_info=error)
        texts = service.texts_for(request)
        content = problems.tell(
            diagnosis,
            texts=texts,
            base=service.settings.public_url,
            request_id=request.scope["state"][REQUEST_ID],
        )
        headers = {
            "Cache-Control": "no-store",
            "Content-Language": texts.language,
            "Vary": "Accept, Accept-Language",
            **diagnosis.headers,
        }
        return Response(content, status_code=diagnosis.status, media_type=problems.MEDIA_TYPE, headers=headers)

    return tell
