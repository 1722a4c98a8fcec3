"""A small client of the Ramwright service, on httpx. Goes with ramwright_results.py: copy both where you need them.

    with Ramwright("http://127.0.0.1:8000") as service:
        spec = service.example("truck")
        sizing = service.size(spec, watch=ProgressBar())
        print(sizing.outcome, sizing.design.totals.mass_kg)

Specs are plain dictionaries as the service's contract (/openapi.json) describes them; answers are records whose numbers
carry their unit in their name. A refusal is raised as `Refused`, with the service's list of what is wrong.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from types import TracebackType
from typing import Any, Self, TextIO

import httpx
from ramwright_results import Checked, Comparison, Demand, Difference, Job, Json, Sizing, read

Watch = Callable[[Job], None]
"""Told a job whenever it has changed."""

POLLING = 0.5
"""Seconds between two looks at a job where no stream of its events is to be had."""


class Refused(Exception):
    """The service refused a request: `status`, `detail`, and `errors` with pointer, code, given, allowed."""

    def __init__(self, problem: Json) -> None:
        self.status: int = problem["status"]
        self.detail: str = problem["detail"]
        self.errors: list[Json] = problem["errors"]
        lines = [f"{error['pointer']}: {error['detail']}" for error in self.errors]
        super().__init__("\n".join([f"{self.status} {self.detail}", *lines]))


class Cancelled(Exception):
    """Somebody cancelled the job; it left nothing behind."""


class ProgressBar:
    """Shows a job as one line of a terminal, drawn over and over; says nothing where the stream is no terminal."""

    def __init__(self, stream: TextIO = sys.stderr, width: int = 30) -> None:
        self._stream, self._width = stream, width

    def __call__(self, job: Job) -> None:
        if not self._stream.isatty():
            return
        full = round(self._width * job.progress.share)
        bar = "=" * full + " " * (self._width - full)
        text = job.progress.text if not job.ended else job.state
        self._stream.write(f"\r[{bar}] {100 * job.progress.share:3.0f} %  {text[:40]:<40}")
        if job.ended:
            self._stream.write("\n")
        self._stream.flush()


class Ramwright:
    """One service. `token` is sent as a bearer token; default RAMWRIGHT_TOKEN of the environment."""

    def __init__(self, address: str = "http://127.0.0.1:8000", token: str | None = None, timeout: float = 60.0) -> None:
        token = token or os.environ.get("RAMWRIGHT_TOKEN")
        headers = {"Authorization": f"Bearer {token}"} if token else {}
        self._http = httpx.Client(base_url=address, headers=headers, timeout=timeout)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._http.close()

    def size(self, spec: Json, watch: Watch | None = None) -> Sizing:
        """The sizing of a spec; the same spec again is answered from the service's store.

        With `watch` the service works in the background and each step is told; an interrupt cancels the work. Raises
        Refused, or Cancelled where somebody else cancelled it.
        """
        headers = {"Prefer": "respond-async"} if watch else {}
        reply = self._send("POST", "/v1/sizings", json=spec, headers=headers)
        document = self._awaited(read(Job, reply.json()), watch) if reply.status_code == 202 else reply.json()
        sizing: Sizing = read(Sizing, document)
        return sizing

    def compare(self, spec: Json, watch: Watch | None = None, **along: Any) -> Comparison:
        """Hydraulic against all-electric on one demand; `along`: axis, low, high and points of a crossover.

        `watch` as in `size`.
        """
        headers = {"Prefer": "respond-async"} if watch else {}
        reply = self._send("POST", "/v1/comparisons", json={"spec": spec, **along}, headers=headers)
        document = self._awaited(read(Job, reply.json()), watch) if reply.status_code == 202 else reply.json()
        found: Comparison = read(Comparison, document)
        return found

    def sizing(self, id: str) -> Sizing:
        """A sizing by id."""
        found: Sizing = read(Sizing, self._get(f"/v1/sizings/{id}"))
        return found

    def demand(self, spec: Json) -> Demand:
        """What the actuators of a spec must do, without a sizing."""
        found: Demand = read(Demand, self._send("POST", "/v1/demands", json=spec).json())
        return found

    def check(self, spec: Json) -> Checked:
        """The spec with its defaults filled and named; nothing is computed."""
        found: Checked = read(Checked, self._send("POST", "/v1/specs/check", json=spec).json())
        return found

    def differences(self, id: str, against: str) -> tuple[Difference, ...]:
        """What differs between two sizings, causes first."""
        listed = self._get(f"/v1/sizings/{id}", against=against)["differences"]
        found: tuple[Difference, ...] = read(tuple[Difference, ...], listed)
        return found

    def example(self, name: str) -> Json:
        """A ready spec by name."""
        return self._get(f"/v1/examples/{name}")

    def medium(self, id: str, temperature_c: float = 40.0, pressure_bar: float = 0.0) -> Json:
        """A medium's data, and its state at a temperature and gauge pressure."""
        return self._get(f"/v1/media/{id}", temperature_c=temperature_c, pressure_bar=pressure_bar)

    def _awaited(self, started: Job, watch: Watch | None) -> Json:
        job = started
        try:
            for job in self._states(started):
                if watch:
                    watch(job)
        except BaseException:
            self._http.delete(started.links["self"])
            raise
        if job.problem is not None:
            raise Refused(job.problem)
        if job.result is None:
            raise Cancelled(job.id)
        return self._get(job.result)

    def _states(self, job: Job) -> Iterator[Job]:
        """The job as it goes: by its events, else by asking."""
        yield job
        with self._http.stream("GET", job.links["events"], headers={"Accept": "text/event-stream"}) as stream:
            if stream.is_success:
                for line in stream.iter_lines():
                    if line.startswith("data: "):
                        job = read(Job, json.loads(line.removeprefix("data: ")))
                        yield job
        while not job.ended:
            time.sleep(POLLING)
            job = read(Job, self._get(job.links["self"]))
            yield job

    def _get(self, path: str, **parameters: Any) -> Json:
        document: Json = self._send("GET", path, params=parameters).json()
        return document

    def _send(self, method: str, path: str, **content: Any) -> httpx.Response:
        for _ in range(10):
            reply = self._http.request(method, path, **content)
            if reply.status_code not in (429, 503):
                break
            time.sleep(float(reply.headers.get("Retry-After", "1")))
        if reply.is_error:
            raise Refused(reply.json())
        return reply
