"""The book of jobs: the state of every piece of background work, in the database that all worker processes share.

Knows what a job looks like from outside, and that a job is lost with the process that runs it: each process shows by a
beat that it lives, and an unfinished job whose process has been silent for SILENCE seconds is no longer found. Knows
neither queues nor threads nor what the work is; `jobs` does the running.
"""

from __future__ import annotations

import json
import os
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from models.quantity import on_wire
from service.database import Database

SILENCE = 15.0
"""Seconds without a beat after which a process counts as gone; a kernel may hold the interpreter for some of them."""

KEPT = 3600.0
"""Seconds for which an ended job is remembered; what it made stays in the store."""

State = Literal["queued", "running", "done", "failed", "cancelled"]
ENDED = frozenset({"done", "failed", "cancelled"})

_SCHEMA = """
create table if not exists job (
    id text primary key,
    owner text not null,
    kind text not null,
    key text not null,
    state text not null,
    text text not null default 'waiting for its turn',
    share real not null default 0,
    cancelling integer not null default 0,
    created real not null,
    started real,
    ended real,
    result text,
    problem text,
    process text not null,
    beat real not null
)
"""
_SEEN = "id, kind, state, text, share, cancelling, created, started, ended, result, problem"
_LIVE = "state in ('queued', 'running') and beat > ?"


@dataclass(frozen=True)
class JobProgress:
    """How far a job has come."""

    text: str
    share: Annotated[float, on_wire("", 0.0, 1.0, "Share of the work done; never falls")]


@dataclass(frozen=True)
class Job:
    """A piece of background work: its state, how far it has come, and where its result stands.

    Times are RFC 3339 in UTC, null where not reached. `cancelling`: it was asked to stop and has not stopped yet.
    `result` is the address of what it made, once done; `problem` why it failed. It is forgotten at `expires_at`.
    """

    id: str
    kind: str
    state: State
    cancelling: bool
    progress: JobProgress
    created_at: str
    started_at: str | None
    ended_at: str | None
    expires_at: str | None
    result: str | None
    problem: Mapping[str, Any] | None
    links: Mapping[str, str]

    @property
    def ended(self) -> bool:
        return self.state in ENDED


@dataclass(frozen=True)
class JobBook:
    """Jobs in one database, written by one process and read by all."""

    _database: Database
    process: str = field(default_factory=lambda: f"{os.getpid()}-{uuid.uuid4().hex}")

    @classmethod
    def at(cls, path: Path) -> JobBook:
        """The book in the SQLite file at `path`, made where there is none."""
        return cls(Database.at(path, _SCHEMA))

    def enter(self, kind: str, owner: str, key: str) -> str:
        """Enter a queued job; returns its id, which cannot be guessed."""
        id, now = uuid.uuid4().hex, time.time()
        self._database.run(
            "insert into job (id, owner, kind, key, state, created, process, beat)"
            " values (?, ?, ?, ?, 'queued', ?, ?, ?)",
            (id, owner, kind, key, now, self.process, now),
        )
        return id

    def unfinished(self) -> dict[str, int]:
        """Jobs queued or running in any living process, by owner."""
        rows = self._database.run(f"select owner, count(*) from job where {_LIVE} group by owner", (_silent(),))
        return dict(rows.fetchall())

    def same(self, kind: str, owner: str, key: str) -> Job | None:
        """The owner's unfinished job of that kind and key that nobody has asked to stop, or None."""
        query = f"select {_SEEN} from job where kind = ? and owner = ? and key = ? and cancelling = 0 and {_LIVE}"
        row = self._database.run(query, (kind, owner, key, _silent())).fetchone()
        return None if row is None else _job(row)

    def get(self, owner: str, id: str) -> Job | None:
        """The owner's job of that id; None when unknown, forgotten, or lost with its process."""
        query = f"select {_SEEN} from job where id = ? and owner = ? and ({_LIVE} or ended > ?)"
        row = self._database.run(query, (id, owner, _silent(), time.time() - KEPT)).fetchone()
        return None if row is None else _job(row)

    def begin(self, id: str) -> bool:
        """Set a queued job running; False when it was cancelled meanwhile."""
        query = "update job set state = 'running', started = ? where id = ? and state = 'queued'"
        return self._database.run(query, (time.time(), id)).rowcount == 1

    def tell(self, id: str, text: str, share: float) -> bool:
        """Write how far a job has come; returns whether it was asked to stop."""
        query = "update job set text = ?, share = ? where id = ? returning cancelling"
        rows = self._database.run(query, (text, share, id)).fetchall()
        return rows != [(0,)]

    def cancel(self, id: str) -> None:
        """End a queued job, ask a running one to stop; an ended one stays as it is."""
        query = "update job set state = 'cancelled', ended = ? where id = ? and state = 'queued'"
        if self._database.run(query, (time.time(), id)).rowcount == 0:
            self._database.run("update job set cancelling = 1 where id = ? and state = 'running'", (id,))

    def end(self, id: str, state: State, result: str | None = None, problem: Mapping[str, Any] | None = None) -> None:
        """Write how a running job ended; a job that is done has its whole share."""
        told = None if problem is None else json.dumps(problem)
        query = (
            "update job set state = ?1, ended = ?2, result = ?3, problem = ?4, cancelling = 0,"
            " share = case when ?1 = 'done' then 1.0 else share end where id = ?5"
        )
        self._database.run(query, (state, time.time(), result, told, id))

    def beat(self) -> None:
        """Show that this process lives, and forget every job whose time is up."""
        now = time.time()
        self._database.run("update job set beat = ? where process = ? and ended is null", (now, self.process))
        self._database.run("delete from job where ended < ? or (ended is null and beat < ?)", (now - KEPT, now - KEPT))

    def leave(self) -> None:
        """Strike out what this process has not finished; called when it ends."""
        self._database.run("delete from job where process = ? and ended is null", (self.process,))


def _silent() -> float:
    return time.time() - SILENCE


def _job(row: tuple[Any, ...]) -> Job:
    id, kind, state, text, share, cancelling, created, started, ended, result, problem = row
    own = f"/v1/jobs/{id}"
    return Job(
        id=id,
        kind=kind,
        state=state,
        cancelling=bool(cancelling),
        progress=JobProgress(text, share),
        created_at=_stamp(created),
        started_at=None if started is None else _stamp(started),
        ended_at=None if ended is None else _stamp(ended),
        expires_at=None if ended is None else _stamp(ended + KEPT),
        result=result,
        problem=None if problem is None else json.loads(problem),
        links={"self": own, "events": f"{own}/events"} | ({} if result is None else {"result": result}),
    )


def _stamp(seconds: float) -> str:
    whole = time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(seconds))
    return f"{whole}.{int(seconds % 1.0 * 1000):03d}Z"
