"""The turnstile: how many sizings are computed at once and how many requests may wait for a place.

Beyond its bounds it refuses at once, so that quick requests always find a free thread. Knows callers by name only.
"""

from __future__ import annotations

import threading
from collections import Counter, deque
from collections.abc import Iterator
from contextlib import contextmanager

from service.problems import Problem

PLACES = 2
WAITING = 12
WAITING_OF_ONE_CALLER = 8
RETRY_AFTER = {"Retry-After": "2"}


class Turnstile:
    """Admits `places` at a time, first come first served.

    `waiting` in all and `of_one_caller` of any one caller may be inside or waiting.
    """

    def __init__(
        self, places: int = PLACES, waiting: int = WAITING, of_one_caller: int = WAITING_OF_ONE_CALLER
    ) -> None:
        self._lock = threading.Lock()
        self._free = places
        self._queue: deque[threading.Event] = deque()
        self._present: Counter[str] = Counter()
        self._waiting, self._of_one_caller = waiting, of_one_caller

    @contextmanager
    def admit(self, caller: str) -> Iterator[None]:
        """Hold a place for `caller`; raises Problem `too-many` or `unavailable` where no more may wait."""
        self._enter(caller).wait()
        try:
            yield
        finally:
            self._leave(caller)

    def _enter(self, caller: str) -> threading.Event:
        with self._lock:
            if self._present[caller] >= self._of_one_caller:
                detail = f"{self._of_one_caller} sizings of one caller may be under way at once"
                raise Problem("too-many", detail, headers=RETRY_AFTER)
            if self._present.total() >= self._waiting:
                raise Problem("unavailable", f"{self._waiting} sizings are under way or waiting", headers=RETRY_AFTER)
            self._present[caller] += 1
            turn = threading.Event()
            if self._free > 0:
                self._free -= 1
                turn.set()
            else:
                self._queue.append(turn)
            return turn

    def _leave(self, caller: str) -> None:
        with self._lock:
            self._present[caller] -= 1
            self._present += Counter()  # forget callers that have gone
            if self._queue:
                self._queue.popleft().set()  # the place goes to who came first
            else:
                self._free += 1

    def present(self) -> dict[str, int]:
        """Requests inside or waiting, by caller."""
        with self._lock:
            return dict(self._present)
