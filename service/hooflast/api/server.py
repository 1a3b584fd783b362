"""Server: from settings to a service that listens, with any number of workers, and that stops gracefully.

A stop (SIGTERM, SIGINT) goes: `/health/ready` turns 503 at once and the socket stays open, running requests go on
for as long as the settings allow, then everything closes. A second signal stops at once.
"""

import asyncio
import os
import signal
import socket
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import asynccontextmanager, nullcontext
from datetime import UTC, datetime
from functools import partial
from ipaddress import ip_address
from random import SystemRandom
from types import FrameType
from typing import Final

import structlog
import uvicorn
from litestar import Litestar
from threadpoolctl import threadpool_limits
from uvicorn.supervisors import Multiprocess

from hooflast.api.app import create_app
from hooflast.api.collecting import collecting_between_requests
from hooflast.api.logs import configure_logs
from hooflast.api.metrics import shared_counts
from hooflast.api.refusals import AddressTaken
from hooflast.api.running import Running
from hooflast.api.wire import BoundedConfig
from hooflast.catalog.lifecycle import Eyes, ReleaseStatus, Signature
from hooflast.catalog.loading import PluginReport
from hooflast.errors import CatalogUnavailable
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.fault_texts import tell_at_source
from hooflast.exchange.plugin_file import configured_plugins
from hooflast.exchange.validation_document import validation_document
from hooflast.jobs.delivering import Postman, delivering
from hooflast.jobs.sending import Sender
from hooflast.matching.taking_up import TakingUp, take_up
from hooflast.settings import Access, PluginUse, Settings, Switch, read_settings
from hooflast.store import Store, TenantId, migrations, open_store
from hooflast.texts import Texts, load_texts

STOPPING_SIGNALS: Final = (signal.SIGTERM, signal.SIGINT)
CLOSING_SECONDS: Final = 1
SILENT_SECONDS: Final = 30
"""A worker that answers its supervisor no sooner is started again; on a busy machine a start takes many seconds."""

BACKLOG: Final = 2048
PUBLISHER: Final = "hooflast serve"
"""Who signs what a start publishes."""

FAULTS_IN_THE_LOG: Final = 5
"""Of a plugin with many faults the log tells as many; `hooflast plugins` and `GET /v1/plugins` tell all."""

log = structlog.stdlib.get_logger("hooflast.server")


def serve(settings: Settings, *, announce: Callable[[str], None]) -> None:
    """Prepare the database and serve until stopped. `announce` is told the address once it answers.

    Raises StoreError and CatalogUnavailable when there is nothing to serve with, and AddressTaken.
    """
    configure_logs(form=settings.log_format, level=settings.log_level)
    asyncio.run(prepare(settings))
    config = _config(settings)
    listener = listen(settings)
    announce(_address(listener))
    _outlive_the_signal()
    with listener:
        if settings.workers > 1:
            with shared_counts() if settings.metrics is Switch.ON else nullcontext():
                Multiprocess(config, sockets=[listener]).run()
        else:
            uvicorn.Server(config).run(sockets=[listener])


async def prepare(settings: Settings) -> None:
    """Bring the tables to head, make sure that there are a tenant and a signing key, and publish what plugins offer.

    Raises StoreError, and CatalogUnavailable where no catalog release is active then.
    """
    await migrations.upgrade(settings.database_url)
    async with open_store(settings.database_url) as store:
        now = _now()
        await store.tenants.ensure(TenantId(settings.tenant), now=now)
        await store.signing_keys.ensure_first(now=now)
        role = await store.role()
        if settings.catalog_plugins is PluginUse.PUBLISH:
            await _take_up_plugins(store, settings=settings, now=now)
        if (await store.releases.active()).release is None:
            raise CatalogUnavailable(reason=await _why_none_is_active(store))
    if settings.access is Access.OPEN and not _is_own_machine(settings.host):
        log.warning("everybody who reaches this address is answered", host=settings.host, setting="HOOFLAST_ACCESS")
    if role is not None and not role.is_plain:
        log.warning("database role passes by row-level security", role=role.name)


async def _why_none_is_active(store: Store) -> str:
    waiting = await store.releases.page(status=ReleaseStatus.CHECKED)
    if waiting:
        return f"none was published; {waiting[0].edition} is checked: hooflast catalog publish {waiting[0].edition}"
    return "no catalog plugin offers one, and none was published"


async def _take_up_plugins(store: Store, *, settings: Settings, now: datetime) -> None:
    """Ask every plugin, keep what became of it, and publish what is new; with four eyes, leave that to people."""
    texts = load_texts(settings.language)
    taken = await take_up(
        store,
        TakingUp(
            signature=Signature(by=PUBLISHER, at=now),
            eyes=settings.publish_eyes,
            configured=configured_plugins(settings.plugins_file),
            write_report=lambda found: encode(validation_document(found, texts=texts)),
            on_wait=lambda: log.info("another publisher is at work"),
        ),
    )
    log_plugins(taken.reports, texts=texts)
    if taken.carried:
        log.warning("boot models kept as they were published last", plugins=sorted(taken.carried))
    for release_id in taken.new:
        if settings.publish_eyes is Eyes.TWO:
            log.info("catalog release published", release=release_id)
        else:
            log.info("catalog release staged and checked; somebody else has to publish it", release=release_id)


def log_plugins(reports: Iterable[PluginReport], *, texts: Texts) -> None:
    """Why a plugin was set aside; and of one with faults which editions they keep out, how many, and the first few."""
    for report in reports:
        if report.failure is not None:
            log.warning("plugin set aside", plugin=report.plugin, reason=report.failure.reason)
        if report.faults:
            log.warning(
                "plugin has faults",
                plugin=report.plugin,
                refused_editions=[day.isoformat() for day in report.refused],
                faults=len(report.faults),
                first=[tell_at_source(fault, texts=texts) for fault in report.faults[:FAULTS_IN_THE_LOG]],
                see="hooflast plugins",
            )


def app_of(settings: Settings) -> Litestar:
    """The application of one worker: its own catalog and its own connections. Stops gracefully on a signal.

    Its threads compute each on one core: matrices this small gain nothing from several, and take them from others.
    """
    configure_logs(form=settings.log_format, level=settings.log_level)
    threadpool_limits(1)
    running = Running()
    store = open_store(settings.database_url)
    return create_app(
        settings,
        store=store,
        clock=_now,
        running=running,
        lifespan=(
            partial(_collect_between_requests, running=running),
            partial(_deliver_to_hooks, settings=settings, store=store),
            partial(_finish_before_stopping, running=running, seconds=settings.shutdown_seconds),
        ),
    )


def app_from_environment() -> Litestar:
    """The application as the environment sets it, for any ASGI server that takes a factory."""
    return app_of(read_settings(os.environ))


@asynccontextmanager
async def _collect_between_requests(_: Litestar, *, running: Running) -> AsyncIterator[None]:
    async with collecting_between_requests(running):
        yield


@asynccontextmanager
async def _deliver_to_hooks(_: Litestar, *, settings: Settings, store: Store) -> AsyncIterator[None]:
    """Hooks are told, by each worker as much as it gets to."""
    async with Sender(private=settings.hooks_private_addresses) as sender:
        postman = Postman(store=store, sender=sender, clock=_now, chance=SystemRandom().random)
        async with delivering(postman, every_seconds=settings.catalog_seconds):
            yield


@asynccontextmanager
async def _finish_before_stopping(_: Litestar, *, running: Running, seconds: float) -> AsyncIterator[None]:
    """Puts itself before the server's own signal handlers, and hands a signal on when no request is running."""
    loop = asyncio.get_running_loop()
    before = {each: signal.getsignal(each) for each in STOPPING_SIGNALS}
    tasks: set[asyncio.Task[None]] = set()

    async def finish(number: int, frame: FrameType | None) -> None:
        log.info("stopping", signal=signal.Signals(number).name)
        if not await running.finished(within_seconds=seconds):
            log.warning("requests cut off", after_seconds=seconds)
        _hand_on(number, frame)

    def _hand_on(number: int, frame: FrameType | None) -> None:
        handler = before[signal.Signals(number)]
        if callable(handler):
            handler(number, frame)

    def begin(number: int, frame: FrameType | None) -> None:
        task = loop.create_task(finish(number, frame))
        tasks.add(task)
        task.add_done_callback(tasks.discard)

    def on_signal(number: int, frame: FrameType | None) -> None:
        if running.is_stopping:
            _hand_on(number, frame)
        else:
            running.stop()
            loop.call_soon_threadsafe(begin, number, frame)

    for each in STOPPING_SIGNALS:
        signal.signal(each, on_signal)
    try:
        yield
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)


def _config(settings: Settings) -> BoundedConfig:
    return BoundedConfig(
        partial(app_of, settings),
        head_bytes=settings.max_header_bytes,
        head_seconds=settings.request_seconds,
        base=settings.public_url,
        workers=settings.workers,
        lifespan="on",
        ws="none",
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=bool(settings.forwarded_by),
        forwarded_allow_ips=settings.forwarded_by or None,
        timeout_keep_alive=settings.keep_alive_seconds,
        timeout_graceful_shutdown=CLOSING_SECONDS,
        timeout_worker_healthcheck=SILENT_SECONDS,
    )


def _is_own_machine(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def listen(settings: Settings) -> socket.socket:
    """A listening socket: from now on connections wait rather than fail. Raises AddressTaken."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listener = socket.socket(family)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((settings.host, settings.port))
        listener.listen(BACKLOG)
    except OSError as error:
        listener.close()
        raise AddressTaken(host=settings.host, port=settings.port, reason=error.strerror or str(error)) from error
    return listener


def _address(listener: socket.socket) -> str:
    host, port = listener.getsockname()[:2]
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def _outlive_the_signal() -> None:
    """uvicorn raises the signal again when it has stopped; by then there is nothing left to do."""
    for each in STOPPING_SIGNALS:
        signal.signal(each, lambda _number, _frame: None)


def _now() -> datetime:
    return datetime.now(UTC)
