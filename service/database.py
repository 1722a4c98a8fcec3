"""One SQLite file in write-ahead mode, shared by the threads and worker processes of the service.

Knows how a file is opened and a statement run. Does not know what is kept: `store` keeps finished sizings in it and
`job_book` the state of background work.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Database:
    """The SQLite file at `path`; safe for threads and processes, one connection a thread.

    A connection is kept open: opening one costs more than all the rest of finding a row.
    """

    path: Path
    _own: threading.local = field(default_factory=threading.local, repr=False, compare=False)

    @classmethod
    def at(cls, path: Path, schema: str) -> Database:
        """Open the file at `path`, made with its folder where missing; `schema` may be run again and again."""
        path.parent.mkdir(parents=True, exist_ok=True)
        database = cls(path)
        database.run("pragma journal_mode = wal")
        database.run(schema)
        return database

    def run(self, statement: str, values: Sequence[Any] = ()) -> sqlite3.Cursor:
        """Run one statement, which is a transaction of its own; raises sqlite3.Error."""
        return self._connection().execute(statement, values)

    def _connection(self) -> sqlite3.Connection:
        connection: sqlite3.Connection | None = getattr(self._own, "connection", None)
        if connection is None:
            connection = sqlite3.connect(self.path, timeout=10.0, isolation_level=None)
            self._own.connection = connection
        return connection
