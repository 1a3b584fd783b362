"""Logs: events with named fields, one a line on standard error, for people or for machines."""

import logging
import sys
from typing import Final

import structlog
from structlog.typing import Processor

from hooflast.settings import LogFormat, LogLevel

_SHARED: Final[tuple[Processor, ...]] = (
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_logger_name,
    structlog.stdlib.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.stdlib.ExtraAdder(),
)
_WHERE: Final = structlog.tracebacks.ExceptionDictTransformer(show_locals=False)
_TALKATIVE: Final = ("uvicorn", "alembic", "sqlalchemy", "aiosqlite", "asyncio", "httpx", "httpcore")


def configure_logs(*, form: LogFormat, level: LogLevel) -> None:
    """Write the events of this process, and what libraries log, in one form.

    Libraries are heard from warnings on. Tracebacks show where, never the values that were there.
    """
    structlog.configure(
        processors=[
            structlog.stdlib.filter_by_level,
            *_SHARED[:-1],
            structlog.stdlib.ProcessorFormatter.wrap_for_formatter,
        ],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=False,
    )
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=list(_SHARED),
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, *_written_as(form)],
        )
    )
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level.upper())
    for name in _TALKATIVE:
        logging.getLogger(name).setLevel(max(logging.WARNING, root.level))


def _written_as(form: LogFormat) -> list[Processor]:
    if form is LogFormat.JSON:
        return [structlog.processors.ExceptionRenderer(_WHERE), structlog.processors.JSONRenderer()]
    plain = structlog.dev.plain_traceback
    return [structlog.dev.ConsoleRenderer(colors=sys.stderr.isatty(), exception_formatter=plain)]
