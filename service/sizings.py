"""A posted spec to the bytes of its sizing: the one path that the service, the command line and the demo take.

Knows how the pipeline's answer is written and where a value outside the data stands in the spec. Does not know HTTP.
"""

from __future__ import annotations

import json
import math
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from pydantic_core import to_json

from models import pipeline
from models.electric.sizing_records import BusCannotDrive
from models.quantity import OutOfRange, to_wire
from models.spec import Spec, complete
from service.field_errors import pointer_of, schemas_at
from service.identity import Versions, labels, sizing_id, versions
from service.job_book import Job
from service.jobs import Jobs, Progress
from service.problems import FieldError, invalid, outside_data
from service.reading import Posted, spec_schema
from service.store import Store, Stored
from service.turnstile import Turnstile

INLINE_SECONDS = 10.0
"""How long a caller waits for a sizing before it becomes a job."""


@dataclass(frozen=True)
class Rooms:
    """Where finished sizings are kept, and their proofs with traces, under the same owner and id."""

    sizings: Store
    proofs: Store


def compute(posted: Posted, id: str, progress: Callable[[str, float], None] | None = None) -> dict[str, Any]:
    """The whole sizing as JSON values. Raises Problem where the spec leads outside what data or models hold for."""
    return _computed(posted, id, progress)[0]


def _computed(
    posted: Posted, id: str, progress: Callable[[str, float], None] | None = None
) -> tuple[dict[str, Any], dict[str, Any]]:
    """The sizing, and its proof with the traces that the sizing does not repeat."""
    with refusals_told(posted.spec):
        answer = to_wire(pipeline.size(posted.spec, progress))
    traces = answer.pop("traces")
    sizing = {"id": id, "name": posted.spec.name, **answer, "links": links(id)}
    return sizing, {"id": id, "proof": answer["proof"], "traces": traces}


def _keep(
    posted: Posted, id: str, owner: str, rooms: Rooms, progress: Callable[[str, float], None]
) -> tuple[Stored, bool]:
    """Compute and keep a sizing, its proof before it: a sizing that can be found has one."""
    sizing, proof = _computed(posted, id, progress)
    if proof["proof"] is not None:
        rooms.proofs.put(owner, id, labels(posted.document), encode(proof))
    return rooms.sizings.put(owner, id, labels(posted.document), encode(sizing))


def demand(posted: Posted, caller: str, turnstile: Turnstile) -> dict[str, Any]:
    """What the actuators must do, as JSON values; nothing is stored. Raises Problem as `compute` does."""
    with turnstile.admit(caller), refusals_told(posted.spec):
        answer = pipeline.demand(posted.spec)
    return {"name": posted.spec.name, **to_wire(answer)}


@contextmanager
def refusals_told(spec: Spec, above: str = "") -> Iterator[None]:
    """Turns what the models refuse into Problems; `above` is the pointer of the spec in the body."""
    try:
        yield
    except OutOfRange as error:
        place = place_of(error, spec)
        raise outside_data(error, above + place if place else "") from None
    except BusCannotDrive as error:
        told = FieldError(
            f"{above}/bus/voltage_v", "contradiction", str(error), error.voltage, f"at least {error.needed:.4g} V", "V"
        )
        raise invalid([told]) from None


def links(id: str) -> dict[str, str]:
    """Where to go from a sizing."""
    return {
        "self": f"/v1/sizings/{id}",
        "against": f"/v1/sizings/{id}?against={{other}}",
        "report": f"/v1/sizings/{id}/report",
        "parts": f"/v1/sizings/{id}/parts",
        "circuit": f"/v1/sizings/{id}/circuit",
        "plots": f"/v1/sizings/{id}/plots",
        "proof": f"/v1/sizings/{id}/proof",
        "media": "/v1/media",
        "sources": "/v1/sources",
        "docs": "/docs",
    }


def encode(document: Mapping[str, Any]) -> bytes:
    """JSON as it is stored and sent; raises ValueError for a number that is not finite."""
    body = to_json(document, inf_nan_mode="constants")
    if b"NaN" in body or b"Infinity" in body:  # in a text, or else a number, which the slower way refuses
        json.dumps(document, allow_nan=False)
    return body


class TakesLonger(Exception):
    """A sizing under way takes longer than a caller waits for."""


class _Patience:
    """A progress that waits for INLINE_SECONDS from its making, then raises TakesLonger."""

    def __init__(self) -> None:
        self._end = time.monotonic() + INLINE_SECONDS

    def __call__(self, text: str, share: float) -> None:
        if time.monotonic() > self._end:
            raise TakesLonger


def find_or_size(
    posted: Posted, owner: str, rooms: Rooms, turnstile: Turnstile, jobs: Jobs
) -> tuple[Stored, bool] | Job:
    """The stored sizing of a spec, computed and kept first where there is none; and whether it is new.

    What takes longer than INLINE_SECONDS, as a plant does that its proof sends back several times, becomes a job, which
    begins anew. Nothing is kept unless the whole computation succeeds.
    """
    id = sizing_id(posted.document, versions())
    kept = rooms.sizings.get(owner, id)
    if kept is not None:
        return kept, False
    with turnstile.admit(owner):
        kept = rooms.sizings.get(owner, id)  # the same spec may have been ahead in the queue
        if kept is not None:
            return kept, False
        try:
            return _keep(posted, id, owner, rooms, _Patience())
        except TakesLonger:
            pass  # the place at the turnstile is freed first
    found = find_or_queue(posted, owner, rooms, jobs)
    return found if isinstance(found, Job) else (found, False)


def find_or_queue(posted: Posted, owner: str, rooms: Rooms, jobs: Jobs) -> Stored | Job:
    """The stored sizing of a spec, or the job that sizes it; the same spec posted again finds the job under way."""
    id = sizing_id(posted.document, versions())

    def work(progress: Progress) -> str:
        progress("sizing begins", 0.0)
        kept, _ = _keep(posted, id, owner, rooms, progress)
        return f"/v1/sizings/{kept.id}"

    return rooms.sizings.get(owner, id) or jobs.start("sizing", owner, work, key=id)


def check(posted: Posted) -> dict[str, Any]:
    """What a sizing would start from: the effective spec and each default used. Nothing is computed."""
    effective, used = complete(posted.spec)
    of: Versions = versions()
    return {
        "id": sizing_id(posted.document, of),
        "name": posted.spec.name,
        "effective_spec": to_wire(effective),
        "defaults_used": to_wire(used),
        "model_version": of.model,
        "data_version": of.data,
    }


def place_of(error: OutOfRange, spec: Spec) -> str:
    """Pointer to the one value of the effective spec that equals the refused one in the same unit; "" when none does.

    Models raise without knowing where their argument came from.
    """
    found = [
        pointer_of(path)
        for path, value in _numbers(to_wire(complete(spec)[0]), ())
        if math.isclose(value, error.given, rel_tol=1e-9, abs_tol=1e-12)
        and any(node.get("x-unit") == error.unit for node in schemas_at(spec_schema(), path))
    ]
    return found[0] if len(found) == 1 else ""


def _numbers(value: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], float]]:
    if isinstance(value, Mapping):
        for name, item in value.items():
            yield from _numbers(item, (*path, name))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from _numbers(item, (*path, index))
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path, float(value)
