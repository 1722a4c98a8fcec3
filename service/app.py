"""The Flask application: what happens around every request, and how a worker starts.

Knows request ids, tokens, content negotiation, the log, and that every error leaves as a problem document.
"""

from __future__ import annotations

import ctypes
import logging
import re
import threading
import time
import uuid

from flask import Response, g, request
from flask_openapi3 import Info, OpenAPI
from werkzeug.exceptions import HTTPException

from models.precompile import precompile
from models.quantity import OutOfRange
from service import logs, ready_specs
from service.identity import owner_of, versions
from service.job_book import JobBook
from service.jobs import Jobs
from service.problems import Problem, of_status, outside_data
from service.reading import LARGEST_BODY, read_spec
from service.routes import FORMATS, JSON, OFFERED, routes
from service.settings import Settings, from_environment
from service.sizings import compute
from service.store import Store
from service.web import Office, office

MEMORY_KEPT = {-8: 1, -1: 256 * 1024**2, -3: 32 * 1024**2}
"""mallopt(3): M_ARENA_MAX, M_TRIM_THRESHOLD and M_MMAP_THRESHOLD, bytes."""

WARM_UP = "truck_on_road"
"""The example sized at start: its duties call for every kernel."""

_REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"


def create_app(settings: Settings) -> OpenAPI:
    """The service with its store; ready at once, or after warming up where the settings ask for it."""
    about = Info(
        title="Ramwright",
        version=versions().model,
        description="Sizes a central hydraulic active suspension from a vehicle spec. The results help an engineer to "
        "think; they replace neither local regulations nor a check by licensed practice.",
    )
    app = OpenAPI("service", info=about, doc_ui=False, static_folder=None, template_folder="assets")
    # one byte more, so that a chunked body, which the framework cuts at its limit, is seen to be too large
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY + 1
    shared = Office(
        settings,
        Store.at(settings.store),
        Store.at(settings.store, "proof"),
        Store.at(settings.store, "comparison"),
        Jobs(JobBook.at(settings.store)),
    )
    app.extensions["ramwright"] = shared
    app.register_api(routes)
    app.before_request(_open)
    app.after_request(_close)
    app.register_error_handler(Problem, Problem.response)
    app.register_error_handler(OutOfRange, lambda error: outside_data(error).response())
    app.register_error_handler(HTTPException, _framework_problem)
    app.register_error_handler(Exception, _failure)
    if settings.warm_up:
        threading.Thread(target=_warm_up, args=(shared,), name="warm-up", daemon=True).start()
    else:
        shared.ready.set()
    return app


def worker() -> OpenAPI:
    """The application of one worker process, with settings from the environment."""
    logs.configure()
    _keep_memory()
    return create_app(from_environment())


def _keep_memory() -> None:
    """Have glibc keep one pool of memory for all threads; another C library is left as it is.

    A pool for each thread left a worker a fifth larger.
    """
    adjust = getattr(ctypes.CDLL(None), "mallopt", None)
    if adjust is not None:
        for option, value in MEMORY_KEPT.items():
            adjust(option, value)


def _warm_up(shared: Office) -> None:
    start = time.perf_counter()
    try:
        compiled = precompile()
        compute(read_spec(ready_specs.example_bytes(WARM_UP)), "warm-up")
    except Exception as error:  # noqa: BLE001 - the thread's last line: a worker that cannot size says so and stays unready
        logs.event("warm-up failed", logging.ERROR, **logs.failure(error))
        return
    shared.ready.set()
    logs.event("ready", seconds=round(time.perf_counter() - start, 3), compiled=compiled)


def _open() -> None:
    g.start = time.perf_counter()
    given = request.headers.get("X-Request-Id", "")
    g.request_id = given if _REQUEST_ID.fullmatch(given) else uuid.uuid4().hex
    owner = owner_of(request.headers.get("Authorization"), office().settings.tokens)
    if owner is None and request.path.startswith("/v1/"):
        raise Problem("no-token", "this service asks for a bearer token", headers={"WWW-Authenticate": "Bearer"})
    g.owner = owner
    if request.endpoint is not None:
        _negotiate(request.endpoint)


def _negotiate(endpoint: str) -> None:
    offered = OFFERED.get(endpoint.rsplit(".", 1)[-1], (JSON,))
    if request.args.get("format") in FORMATS or not request.accept_mimetypes:
        return
    if not any(request.accept_mimetypes.quality(kind) for kind in offered):
        raise Problem("not-acceptable", f"this address answers with {' or '.join(offered)}")


def _close(response: Response) -> Response:
    response.headers["X-Request-Id"] = g.request_id
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers.setdefault("Content-Security-Policy", _POLICY)
    response.vary.update(("Accept", "Authorization"))
    logs.event(
        "request",
        request_id=g.request_id,
        method=request.method,
        route=request.url_rule.rule if request.url_rule else None,
        status=response.status_code,
        ms=round(1e3 * (time.perf_counter() - g.start), 2),
    )
    return response


def _framework_problem(error: HTTPException) -> Response:
    status = error.code or 500
    headers = {name: value for name, value in error.get_headers() if name in ("Allow", "Retry-After")}
    return Problem(of_status(status), error.description or error.name, headers=headers).response()


def _failure(error: Exception) -> Response:
    logs.event("failure", logging.ERROR, request_id=g.get("request_id"), **logs.failure(error))
    return Problem("internal", "an unforeseen failure; it is in the log under this request's id").response()
