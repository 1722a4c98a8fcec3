"""The exchange with HTTP that every route shares: read the body, know the caller, write the reply.

Knows headers, media types and conditional requests (RFC 9110). Knows nothing of what is exchanged.
"""

from __future__ import annotations

import hashlib
import json
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from flask import Response, current_app, g, request
from pydantic import ValidationError

from models.quantity import Input, to_wire
from service.field_errors import field_errors
from service.job_book import Job
from service.jobs import Jobs
from service.problems import Problem, invalid
from service.reading import Posted, PostedComparison, read_comparison, read_spec
from service.settings import Settings
from service.sizings import Rooms, encode
from service.store import Store, Stored
from service.turnstile import RETRY_AFTER, Turnstile

ASSETS = Path(__file__).parent / "assets"
KINDS_OF_ASSET = {".html": "text/html", ".css": "text/css", ".js": "text/javascript"}
EVENTS = "text/event-stream"
WATCHERS = 12
"""Streams of events at once in a process; each holds a thread, and beyond them a client polls."""

LAST_EVENT = "ended"
EVENT_RETRY = 2000
"""Id of a stream's last event; milliseconds after which a client that lost the stream comes back."""

NOT_SERVED = ("docs.html",)
"""A template, not a file to hand out."""

WORK_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; connect-src 'self'; "
    "img-src 'self' data:; frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""What the working page may load: its own files and the service's answers, nothing from elsewhere."""


@dataclass(frozen=True)
class Office:
    """What the routes of one running service share."""

    settings: Settings
    store: Store
    proofs: Store
    comparisons: Store
    jobs: Jobs
    turnstile: Turnstile = field(default_factory=Turnstile)
    watchers: threading.Semaphore = field(default_factory=lambda: threading.Semaphore(WATCHERS))
    ready: threading.Event = field(default_factory=threading.Event)

    @property
    def rooms(self) -> Rooms:
        """Where sizings and their proofs are kept."""
        return Rooms(self.store, self.proofs)

    def need_ready(self) -> None:
        """Raise Problem `unavailable` until the kernels are warm."""
        if not self.ready.is_set():
            raise Problem("unavailable", "the kernels are being made ready", headers=RETRY_AFTER)


class Query(Input):
    """Base of query parameters: texts read as the annotated quantities, unknown names refused."""

    @classmethod
    def model_validate(cls, obj: Any, **kwargs: Any) -> Any:
        """The parameters as a record in SI; raises Problem with every parameter that cannot be accepted."""
        try:
            return cls.model_validate_strings(obj)
        except ValidationError as error:
            found = field_errors(error, obj, cls.model_json_schema(by_alias=True), place="query")
            raise invalid(found) from None


def office() -> Office:
    shared: Office = current_app.extensions["ramwright"]
    return shared


def caller() -> str:
    """The owner whose sizings this request may see."""
    owner: str = g.owner
    return owner


def posted_spec() -> Posted:
    """The spec in the body; raises Problem for another media type and for whatever is wrong with it."""
    return read_spec(_posted())


def posted_comparison() -> PostedComparison:
    """The comparison asked for in the body; raises Problem as `posted_spec` does."""
    return read_comparison(_posted())


def _posted() -> bytes:
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    if request.mimetype != "application/json" or charset not in ("utf-8", "utf8", "us-ascii"):
        given = request.content_type or "nothing"
        raise Problem("wrong-media-type", f"the body is declared as {given[:80]}; application/json in UTF-8 is read")
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise Problem("wrong-media-type", "a compressed body is not read")
    return request.get_data(cache=False)


def json_reply(document: Any, status: int = 200) -> Response:
    return Response(encode(document), status, content_type="application/json")


def sizing_reply(stored: Stored, status: int, room: str = "sizings") -> Response:
    """A stored sizing, the same bytes whenever it is asked for; 304 where the caller holds them already.

    room: the address below which it stands.
    """
    reply = Response(stored.body, status, content_type="application/json")
    reply.set_etag(stored.etag)
    reply.headers["Cache-Control"] = "private, max-age=86400, immutable"
    if request.method == "POST":
        reply.headers["Location"] = f"/v1/{room}/{stored.id}"
        return reply
    reply.make_conditional(request)
    return reply


def wants_job() -> bool:
    """Whether the caller prefers a job to waiting. Source: RFC 7240, sections 2 and 4.1."""
    preferences = ",".join(request.headers.getlist("Prefer")).split(",")
    return any(preference.split(";")[0].strip().lower() == "respond-async" for preference in preferences)


def job_reply(job: Job, status: int) -> Response:
    """A job as it stands; never kept by a cache."""
    reply = json_reply(to_wire(job), status)
    reply.headers["Cache-Control"] = "no-store"
    if status == 202 and request.method != "DELETE":
        reply.headers["Location"] = job.links["self"]
        if wants_job():
            reply.headers["Preference-Applied"] = "respond-async"
    return reply


def events_reply(owner: str, id: str) -> Response:
    """A job's states as server-sent events until it has ended; raises Problem `not-found`, or `unavailable` when full.

    204 tells a client that comes back after the last event to stay away.
    Source: HTML Living Standard, section 9.2, server-sent events.
    """
    jobs, watchers = office().jobs, office().watchers
    job = jobs.get(owner, id)
    if job.ended and request.headers.get("Last-Event-ID") == LAST_EVENT:
        return Response(status=204)
    if not watchers.acquire(blocking=False):
        raise Problem(
            "unavailable", f"{WATCHERS} streams of events are open; ask for the job itself", headers=RETRY_AFTER
        )
    reply = Response(_events(jobs.watch(owner, id)), content_type=f"{EVENTS}; charset=utf-8")
    reply.call_on_close(watchers.release)
    reply.headers["Cache-Control"] = "no-store"
    reply.headers["X-Accel-Buffering"] = "no"  # asks a proxy in between to pass each event on at once
    return reply


def _events(seen: Iterator[Job | None]) -> Iterator[str]:
    yield f"retry: {EVENT_RETRY}\n\n"
    for job in seen:
        if job is None:
            yield ": still there\n\n"  # a write that fails is how a client that left is noticed
        else:
            last = f"id: {LAST_EVENT}\n" if job.ended else ""
            yield f"{last}data: {json.dumps(to_wire(job), allow_nan=False)}\n\n"


def rendered_reply(stored: Stored, kind: str, text: str) -> Response:
    """A text made from a stored sizing; 304 where the caller holds it already."""
    reply = Response(text, content_type=f"{kind}; charset=utf-8")
    reply.set_etag(hashlib.sha256(text.encode()).hexdigest()[:32])
    reply.headers["Cache-Control"] = "private, no-cache"
    if kind == "text/csv":
        reply.headers["Content-Disposition"] = f'attachment; filename="ramwright-{stored.id[:8]}.csv"'
    reply.make_conditional(request)
    return reply


@cache
def _asset(name: str) -> tuple[bytes, str, str]:
    path = ASSETS / name
    known = {file.name for file in ASSETS.iterdir()} - set(NOT_SERVED)
    if name not in known or path.suffix not in KINDS_OF_ASSET:
        raise Problem("not-found", "there is no such file")
    body = path.read_bytes()
    return body, KINDS_OF_ASSET[path.suffix], hashlib.sha256(body).hexdigest()[:32]


def asset_reply(name: str) -> Response:
    """A file of the working page by name; raises Problem `not-found`."""
    body, kind, etag = _asset(name)
    reply = Response(body, content_type=f"{kind}; charset=utf-8")
    reply.set_etag(etag)
    reply.headers["Cache-Control"] = "no-cache"
    reply.headers["Content-Security-Policy"] = WORK_POLICY
    reply.make_conditional(request)
    return reply
