"""Structured logs: one JSON object a line on standard error, without a word of any spec.

A failure is logged by its type and the lines of code it passed, never by its message, which may quote what was posted.
"""

from __future__ import annotations

import json
import logging
import time
import traceback
from pathlib import Path
from typing import Any

logger = logging.getLogger("ramwright")


class JsonLines(logging.Formatter):
    """Writes a record and the fields given in its `extra={"fields": …}` as one JSON object."""

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, Any] = {
            "time": time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(record.created)) + f".{int(record.msecs):03d}Z",
            "level": record.levelname.lower(),
            "event": record.getMessage(),
        }
        return json.dumps(line | getattr(record, "fields", {}))


SERVER_LOG = {
    "formatters": {"json": {"()": JsonLines}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "json"}},
    "loggers": {"_granian": {"handlers": ["stderr"], "propagate": False}},
}
"""The server's own log in the same form, as `logging.config.dictConfig` reads it."""


def configure() -> None:
    """Send this service's log to standard error; called once a worker."""
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines())
    logger.handlers = [handler]
    logger.setLevel(logging.INFO)
    logger.propagate = False


def event(name: str, level: int = logging.INFO, **fields: Any) -> None:
    """Log one event with its fields."""
    logger.log(level, name, extra={"fields": fields})


def failure(error: BaseException) -> dict[str, Any]:
    """What may be logged of an unforeseen failure: its type and where it passed."""
    frames = traceback.extract_tb(error.__traceback__)
    return {
        "error": type(error).__name__,
        "passed": [f"{Path(frame.filename).name}:{frame.lineno} {frame.name}" for frame in frames[-12:]],
    }
