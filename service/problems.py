"""Problems: every refusal the service can give, as RFC 9457 `application/problem+json`.

Knows the kinds of problem, their status and title, and how one is written. Does not know which request leads to which:
whoever finds fault raises `Problem`. Nothing here carries a trace or a path of the machine.
Source: RFC 9457, sections 3 and 4; statuses as RFC 9110, section 15.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import Response

from models.quantity import OutOfRange, allowed_text

MEDIA_TYPE = "application/problem+json"
ERRORS_LISTED = 100
"""Field errors a reply lists at most."""

LONGEST_ECHO = 120
"""Characters of a refused text that are echoed."""


@dataclass(frozen=True)
class Kind:
    """One kind of problem: its HTTP status, its title, and what to do, for the docs page."""

    status: int
    title: str
    advice: str


KINDS: Mapping[str, Kind] = {
    "malformed": Kind(400, "The body cannot be read", "Send one JSON value as RFC 8259 defines it, in UTF-8."),
    "bad-request": Kind(400, "The request cannot be read", "Check the request line, headers and body."),
    "no-token": Kind(401, "A token is needed", "Send `Authorization: Bearer …` with a token of this service."),
    "not-found": Kind(404, "Nothing here", "See /docs for the addresses; a sizing is visible to its owner only."),
    "wrong-method": Kind(405, "Not this method", "The Allow header names the methods of this address."),
    "not-acceptable": Kind(406, "Not in that format", "Ask for one of the formats allowed, or send no Accept header."),
    "ended": Kind(409, "The job has ended", "Read its result or its problem; an ended job cannot be cancelled."),
    "too-large": Kind(413, "The body is too large", "Send a smaller body; /v1/about states the limit."),
    "wrong-media-type": Kind(415, "Not this media type", "Send `Content-Type: application/json`, not compressed."),
    "invalid": Kind(422, "Some fields cannot be accepted", "Mend the fields listed; all that were found are listed."),
    "outside-data": Kind(422, "Outside the range the data hold for", "Stay inside the range; nothing is extrapolated."),
    "too-many": Kind(429, "Too many sizings at once", "Wait for Retry-After seconds, and post fewer at a time."),
    "internal": Kind(500, "The service failed", "Report it with the X-Request-Id; nothing was stored."),
    "unavailable": Kind(503, "Not now", "Wait for Retry-After seconds and try again."),
}


@dataclass(frozen=True)
class FieldError:
    """What is wrong at one place of a request.

    `pointer` is an RFC 6901 JSON pointer into the body, or `/name` of a query parameter (`place` says which). `allowed`
    is a text or the list of names; `unit` the unit of `given` and `allowed`.
    """

    pointer: str
    code: str
    detail: str
    given: Any = None
    allowed: str | tuple[str, ...] | None = None
    unit: str | None = None
    suggestion: str | None = None
    quantity: str | None = None
    source: str | None = None
    place: str = "body"

    def wire(self) -> dict[str, Any]:
        """As it is written: absent members left out, `given` kept unless the field is missing."""
        members = {
            "pointer": self.pointer,
            "in": self.place,
            "code": self.code,
            "detail": self.detail,
            "allowed": list(self.allowed) if isinstance(self.allowed, tuple) else self.allowed,
            "unit": self.unit,
            "suggestion": self.suggestion,
            "quantity": self.quantity,
            "source": self.source,
        }
        written = {name: value for name, value in members.items() if value is not None}
        return written if self.code == "missing" else written | {"given": echo(self.given)}


class Problem(Exception):
    """A refusal: `kind` is a key of KINDS, `detail` one sentence on this very case."""

    def __init__(
        self,
        kind: str,
        detail: str,
        errors: Sequence[FieldError] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.kind, self.detail, self.errors = kind, detail, tuple(errors)
        self.headers = dict(headers or {})

    @property
    def status(self) -> int:
        return KINDS[self.kind].status

    def document(self) -> dict[str, Any]:
        """The problem as a JSON object."""
        return {
            "type": f"/docs#problem-{self.kind}",
            "title": KINDS[self.kind].title,
            "status": self.status,
            "detail": self.detail,
            "errors": [error.wire() for error in self.errors[:ERRORS_LISTED]],
        }

    def response(self) -> Response:
        body = json.dumps(self.document(), allow_nan=False)
        return Response(body, self.status, self.headers, content_type=MEDIA_TYPE)


def echo(value: Any) -> Any:
    """A refused value as it may be sent back: short, finite, and without its content when it is a whole structure."""
    if isinstance(value, str):
        return value if len(value) <= LONGEST_ECHO else value[:LONGEST_ECHO] + "…"
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, (list, tuple)):
        return f"a list of {len(value)}"
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)
    if isinstance(value, int) and abs(value) > 1e300:
        return "a number beyond 1e300"
    return value


def invalid(errors: Sequence[FieldError]) -> Problem:
    """The problem of a request whose fields cannot be accepted."""
    count = len(errors)
    if count == 1:
        return Problem("invalid", errors[0].detail, errors)
    if count > ERRORS_LISTED:
        return Problem("invalid", f"more than {ERRORS_LISTED} fields cannot be accepted", errors)
    return Problem("invalid", f"{count} fields cannot be accepted", errors)


def outside_data(error: OutOfRange, pointer: str = "", place: str = "body") -> Problem:
    """The problem of a value for which a model or table holds no data."""
    found = FieldError(
        pointer=pointer,
        code="outside_data",
        detail=f"{error.quantity} is {error.given:.6g} {error.unit}",
        given=error.given,
        allowed=allowed_text(error.low, error.high, error.unit),
        unit=error.unit,
        quantity=error.quantity,
        source=error.source,
        place=place,
    )
    return Problem("outside-data", str(error), [found])


def of_status(status: int) -> str:
    """The kind that stands for an HTTP status raised by the web framework itself."""
    exact = {"malformed": "bad-request", "outside-data": "invalid"}
    for kind, entry in KINDS.items():
        if entry.status == status:
            return exact.get(kind, kind)
    return "bad-request" if 400 <= status < 500 else "internal"
