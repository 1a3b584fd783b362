"""App: the service put together. Nothing is built at import, and nothing is read from the environment."""

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager

import structlog
from litestar import Litestar, Response
from litestar.di import Provide

from hooflast.api import problems
from hooflast.api.catalog_watch import keeping_up
from hooflast.api.conversation import REQUEST_ID, Conversation
from hooflast.api.openapi import openapi_document, written
from hooflast.api.reference import reference_page
from hooflast.api.routes import ROUTES, methods_by_path
from hooflast.api.running import Running
from hooflast.api.service import HttpRequest, Service
from hooflast.api.signing import Clock, CurrentKey
from hooflast.matching.answering import Desk
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.matching.memo import Memo
from hooflast.settings import Settings
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
    service = Service(
        settings=settings,
        catalog=catalog,
        store=store,
        clock=clock,
        key=CurrentKey(store, tenant=TenantId(settings.tenant), clock=clock),
        openapi=written(document),
        reference=reference_page(document),
        desk=Desk(catalog=catalog, memo=Memo(settings.memo_bytes), keeper=store.answers),
        running=running or Running(),
    )

    @asynccontextmanager
    async def open_store(_: Litestar) -> AsyncIterator[None]:
        async with store, keeping_up(catalog, every_seconds=settings.catalog_seconds):
            yield

    app = Litestar(
        ROUTES,
        dependencies={"service": Provide(lambda: service, sync_to_thread=False)},
        exception_handlers={Exception: _teller(service)},
        lifespan=[open_store, *lifespan],
        logging_config=None,
        openapi_config=None,
        request_max_body_size=settings.max_body_bytes,
    )
    app.asgi_handler = Conversation(app.asgi_handler, running=service.running, methods=methods_by_path())
    return app


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
