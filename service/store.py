"""The store: finished sizings on disk, each whole or not at all.

One SQLite file in write-ahead mode. A sizing is the bytes of its answer, kept under its owner and id with its labels
beside it; it is written in one statement once the whole computation has succeeded, and never changed. Knows nothing of
what the bytes say.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

_SCHEMA = """
create table if not exists sizing (
    owner text not null,
    id text not null,
    labels text not null,
    body blob not null,
    etag text not null,
    created text not null default (strftime('%Y-%m-%dT%H:%M:%SZ', 'now')),
    primary key (owner, id)
)
"""


@dataclass(frozen=True)
class Stored:
    """A sizing as it was first answered."""

    id: str
    body: bytes
    etag: str


@dataclass(frozen=True)
class Store:
    """Sizings in the SQLite file at `path`; safe for threads and processes, one connection a call."""

    path: Path

    @classmethod
    def at(cls, path: Path) -> Store:
        """Open the file at `path`, made with its folder where there is none."""
        path.parent.mkdir(parents=True, exist_ok=True)
        store = cls(path)
        with store._connection() as connection:
            connection.execute("pragma journal_mode = wal")
            connection.execute(_SCHEMA)
        return store

    @contextmanager
    def _connection(self) -> Iterator[sqlite3.Connection]:
        connection = sqlite3.connect(self.path, timeout=10.0, isolation_level=None)
        try:
            yield connection
        finally:
            connection.close()

    def get(self, owner: str, id: str) -> Stored | None:
        """The owner's sizing of that id, or None."""
        with self._connection() as connection:
            row = connection.execute("select body, etag from sizing where owner = ? and id = ?", (owner, id)).fetchone()
        return None if row is None else Stored(id, bytes(row[0]), row[1])

    def put(self, owner: str, id: str, labels: Mapping[str, Any], body: bytes) -> tuple[Stored, bool]:
        """Keep a finished sizing unless it is kept already; returns what is kept and whether it is new."""
        etag = hashlib.sha256(body).hexdigest()[:32]
        with self._connection() as connection:
            done = connection.execute(
                "insert or ignore into sizing (owner, id, labels, body, etag) values (?, ?, ?, ?, ?)",
                (owner, id, json.dumps(labels), body, etag),
            )
            is_new = done.rowcount == 1
        if is_new:
            return Stored(id, body, etag), True
        kept = self.get(owner, id)
        if kept is None:
            raise LookupError("a sizing vanished from the store while it was read")
        return kept, False

    def count(self) -> int:
        """Sizings kept, of all owners."""
        with self._connection() as connection:
            return int(connection.execute("select count(*) from sizing").fetchone()[0])
