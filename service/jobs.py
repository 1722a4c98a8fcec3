"""Jobs: background work in one bounded queue a process, with progress, cancel and an end that others can watch.

Any route may start one: `jobs.start(kind, owner, work)`, where `work(progress)` does the whole of it and returns the
address of what it made. It calls `progress(text, share)` as it goes, which raises Cancelled when the job was asked to
stop; so whatever the work keeps, it keeps in one statement at its end, and a cancelled job leaves nothing behind.
The state of every job stands in the `JobBook`, so that any worker process answers for it; the queue, the threads and
the work itself live in the process that took the request, and die with it. Knows nothing of what the work is.
"""

from __future__ import annotations

import logging
import queue
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from multiprocessing.util import Finalize

from service import logs
from service.job_book import Job, JobBook
from service.problems import Problem

THREADS = 1
"""Jobs computed at once in a process: one, so that quick requests keep the rest of the machine."""

WAITING = 20
WAITING_OF_ONE_CALLER = 8
"""Jobs queued or running in all processes, and of one owner."""

RETRY_AFTER = {"Retry-After": "5"}

TELLING = 0.1
"""Least seconds between two looks at the book from inside a work; between them `progress` costs nothing."""

BEATING = 3.0
LOOKING = 0.1
HEARTBEAT = 2.0
"""Seconds between two beats of a process, between two looks of a watcher, and until a quiet watcher hears something."""

LONGEST_WATCH = 600.0
"""Seconds after which a watcher is let go; it may come back."""


class Cancelled(Exception):
    """The job was asked to stop; raised by `progress`, to be let through by the work."""


class Progress:
    """Told by a work how far it has come: `progress(text, share)`, share from 0 to 1; what falls is not shown."""

    def __init__(self, book: JobBook, id: str) -> None:
        self._book, self._id = book, id
        self._share, self._told = 0.0, float("-inf")

    def __call__(self, text: str, share: float) -> None:
        """Show `text` and `share`; raises Cancelled when the job was asked to stop."""
        self._share = max(self._share, min(share, 1.0))
        now = time.monotonic()
        if now - self._told < TELLING:
            return
        self._told = now
        if self._book.tell(self._id, text, self._share):
            raise Cancelled


Work = Callable[[Progress], str]
"""The whole of a job; returns the address at which its result stands."""


class Jobs:
    """The jobs one process runs, and its view of those that others run."""

    def __init__(self, book: JobBook, waiting: int = WAITING, of_one_caller: int = WAITING_OF_ONE_CALLER) -> None:
        self._book = book
        self._waiting, self._of_one_caller = waiting, of_one_caller
        self._queue: queue.SimpleQueue[tuple[str, Work]] = queue.SimpleQueue()
        self._entering = threading.Lock()
        self._at_work = False

    def start(self, kind: str, owner: str, work: Work, key: str = "") -> Job:
        """Queue a work and return its job; with `key`, the job already under way for the same kind, owner and key.

        Raises Problem `too-many` or `unavailable` where no more may wait.
        """
        with self._entering:
            same = self._book.same(kind, owner, key) if key else None
            if same is not None:
                return same
            present = self._book.unfinished()
            if present.get(owner, 0) >= self._of_one_caller:
                detail = f"{self._of_one_caller} jobs of one caller may be under way at once"
                raise Problem("too-many", detail, headers=RETRY_AFTER)
            if sum(present.values()) >= self._waiting:
                raise Problem("unavailable", f"{self._waiting} jobs are under way or waiting", headers=RETRY_AFTER)
            id = self._book.enter(kind, owner, key)
            self._queue.put((id, work))
            self._work_begins()
        return self.get(owner, id)

    def get(self, owner: str, id: str) -> Job:
        """The owner's job of that id, whichever process runs it; raises Problem `not-found`."""
        job = self._book.get(owner, id)
        if job is None:
            detail = "there is no job of that id, or it is not yours; a job is lost when the service stops"
            raise Problem("not-found", f"{detail}, and forgotten an hour after its end")
        return job

    def cancel(self, owner: str, id: str) -> Job:
        """End a queued job at once, ask a running one to stop; raises Problem `not-found` or `ended`."""
        if self.get(owner, id).ended:
            raise Problem("ended", "the job has ended; there is nothing to cancel")
        self._book.cancel(id)
        return self.get(owner, id)

    def watch(self, owner: str, id: str) -> Iterator[Job | None]:
        """The job whenever it has changed, at first as it is, until it has ended; None now and then while it is quiet.

        Ends too when the job is lost or the watch has lasted LONGEST_WATCH.
        """
        seen: Job | None = None
        begun = told = time.monotonic()
        while time.monotonic() - begun < LONGEST_WATCH:
            job = self._book.get(owner, id)
            if job is None:
                return
            if job != seen:
                seen, told = job, time.monotonic()
                yield job
                if job.ended:
                    return
            elif time.monotonic() - told > HEARTBEAT:
                told = time.monotonic()
                yield None
            time.sleep(LOOKING)

    def _work_begins(self) -> None:
        if self._at_work:
            return
        self._at_work = True
        # a worker process is a child of the server's and runs no atexit functions, only these
        Finalize(None, self._book.leave, exitpriority=1)
        threading.Thread(target=self._beat, name="jobs-beat", daemon=True).start()
        for number in range(THREADS):
            threading.Thread(target=self._run, name=f"jobs-{number}", daemon=True).start()

    def _beat(self) -> None:
        while True:
            time.sleep(BEATING)
            try:
                self._book.beat()
            except sqlite3.OperationalError as error:  # a busy file: the next beat comes well before SILENCE is over
                logs.event("beat failed", logging.WARNING, **logs.failure(error))

    def _run(self) -> None:
        while True:
            id, work = self._queue.get()
            if self._book.begin(id):
                self._do(id, work)

    def _do(self, id: str, work: Work) -> None:
        start = time.perf_counter()
        try:
            result = work(Progress(self._book, id))
        except Cancelled:
            state = "cancelled"
            self._book.end(id, "cancelled")
        except Problem as problem:
            state = "failed"
            self._book.end(id, "failed", problem=problem.document())
        except Exception as error:  # noqa: BLE001 - the thread's last line: the job says that it failed, the log says where
            state = "failed"
            logs.event("job failed", logging.ERROR, job=id, **logs.failure(error))
            unforeseen = Problem("internal", "an unforeseen failure; it is in the log under this job's id")
            self._book.end(id, "failed", problem=unforeseen.document())
        else:
            state = "done"
            self._book.end(id, "done", result=result)
        logs.event("job", job=id, state=state, seconds=round(time.perf_counter() - start, 3))
