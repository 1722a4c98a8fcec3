"""The store: finished sizings and comparisons on disk, each whole or not at all.

A sizing is the bytes of its answer, kept under its owner and id with its labels beside it; it is written in one
statement once the whole computation has succeeded, and never changed. So
is a comparison, in a table of its own. Knows nothing of what the bytes say.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from service.database import Database

Kind = Literal["sizing", "comparison", "proof"]

_SCHEMA = """
create table if not exists {kind} (
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
    """Finished sizings, or comparisons, in one database; safe for threads and processes."""

    _database: Database
    _kind: Kind

    @classmethod
    def at(cls, path: Path, kind: Kind = "sizing") -> Store:
        """The store of that kind in the SQLite file at `path`, made where there is none."""
        return cls(Database.at(path, _SCHEMA.format(kind=kind)), kind)

    def get(self, owner: str, id: str) -> Stored | None:
        """The owner's sizing of that id, or None."""
        query = f"select body, etag from {self._kind} where owner = ? and id = ?"
        row = self._database.run(query, (owner, id)).fetchone()
        return None if row is None else Stored(id, bytes(row[0]), row[1])

    def put(self, owner: str, id: str, labels: Mapping[str, Any], body: bytes) -> tuple[Stored, bool]:
        """Keep a finished sizing unless it is kept already; returns what is kept and whether it is new."""
        etag = hashlib.sha256(body).hexdigest()[:32]
        done = self._database.run(
            f"insert or ignore into {self._kind} (owner, id, labels, body, etag) values (?, ?, ?, ?, ?)",
            (owner, id, json.dumps(labels), body, etag),
        )
        if done.rowcount == 1:
            return Stored(id, body, etag), True
        kept = self.get(owner, id)
        if kept is None:
            raise LookupError("a sizing vanished from the store while it was read")
        return kept, False

    def count(self) -> int:
        """Sizings kept, of all owners."""
        return int(self._database.run(f"select count(*) from {self._kind}").fetchone()[0])
