"""The proof of a stored sizing run again, over more seeds or longer; kept beside the first under what was asked.

Short ones are run while the caller waits, long ones as jobs. Does not know HTTP.
"""

from __future__ import annotations

from typing import Any

from models import pipeline
from models.quantity import to_wire
from models.spec import Spec
from service.job_book import Job
from service.jobs import Jobs, Progress
from service.sizings import Rooms, encode, refusals_told
from service.store import Stored
from service.turnstile import Turnstile

INLINE_DRIVING = 300.0
"""Seconds of driving, over all random courses, that a caller waits for: a second or two."""


def find_or_prove(
    sizing: dict[str, Any],
    seeds: int,
    duration: float,
    owner: str,
    rooms: Rooms,
    turnstile: Turnstile,
    jobs: Jobs,
    as_job: bool,
) -> Stored | Job:
    """The stored proof of a sizing over several seeds or longer, run first where there is none; a job where it is long.

    sizing: as stored, with a feasible design; seeds: courses of each random duty; duration: seconds of each; as_job:
    the caller would rather not wait. Raises Problem as the sizing itself does.
    """
    key = f"{sizing['id']}.{seeds}.{duration!r}"
    kept = rooms.proofs.get(owner, key)
    if kept is not None:
        return kept
    spec = Spec.model_validate({"name": sizing["name"], **sizing["effective_spec"]})

    def keep(progress: Progress | None = None) -> Stored:
        with refusals_told(spec):
            found = pipeline.prove_again(spec, seeds, duration, progress)
        if found is None:
            raise LookupError("a sizing with a proof has a feasible design")
        page = {"id": sizing["id"], "proof": to_wire(found[0]), "traces": to_wire(found[1])}
        return rooms.proofs.put(owner, key, {}, encode(page))[0]

    def work(progress: Progress) -> str:
        progress("proof begins", 0.0)
        keep(progress)
        return f"/v1/sizings/{sizing['id']}/proof?seeds={seeds}&duration_s={duration!r}"

    random = sum(duty.kind in ("road", "suspension_velocity") for duty in spec.duty)
    if as_job or random * seeds * duration > INLINE_DRIVING:
        return jobs.start("proof", owner, work, key=key)
    with turnstile.admit(owner):
        return rooms.proofs.get(owner, key) or keep()
