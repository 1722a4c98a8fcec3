"""A posted comparison to the bytes of its answer, kept like a sizing: whole, under its owner and id, or not at all.

Knows how the pipeline's comparison is written. Does not know HTTP.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from models import pipeline
from models.quantity import to_wire
from service.identity import comparison_id, labels, versions
from service.job_book import Job
from service.jobs import Jobs, Progress
from service.reading import PostedComparison
from service.sizings import encode, refusals_told
from service.store import Store, Stored
from service.turnstile import Turnstile


def compute(posted: PostedComparison, id: str, progress: Callable[[str, float], None] | None = None) -> dict[str, Any]:
    """The whole comparison as JSON values. Raises Problem where the spec leads outside what data or models hold for."""
    request = posted.request
    with refusals_told(request.spec, above="/spec"):
        answer = pipeline.compare(request, progress)
    here = f"/v1/comparisons/{id}"
    links = {"self": here, "plots": f"{here}/plots", "sources": "/v1/sources", "docs": "/docs"}
    return {"id": id, "name": request.spec.name, **to_wire(answer), "links": links}


def find_or_compare(posted: PostedComparison, owner: str, store: Store, turnstile: Turnstile) -> tuple[Stored, bool]:
    """The stored comparison of a request, computed and kept first where there is none; and whether it is new."""
    id = comparison_id(posted.document, versions())
    kept = store.get(owner, id)
    if kept is not None:
        return kept, False
    with turnstile.admit(owner):
        kept = store.get(owner, id)  # the same request may have been ahead in the queue
        if kept is not None:
            return kept, False
        return store.put(owner, id, labels(posted.document["spec"]), encode(compute(posted, id)))


def find_or_queue(posted: PostedComparison, owner: str, store: Store, jobs: Jobs) -> Stored | Job:
    """The stored comparison of a request, or the job that makes it; the same posted again finds the job under way."""
    id = comparison_id(posted.document, versions())

    def work(progress: Progress) -> str:
        progress("comparison begins", 0.0)
        body = encode(compute(posted, id, progress))
        kept, _ = store.put(owner, id, labels(posted.document["spec"]), body)
        return f"/v1/comparisons/{kept.id}"

    return store.get(owner, id) or jobs.start("comparison", owner, work, key=id)
