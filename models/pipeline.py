"""The steps of a sizing in order: spec, demand, sizing, the plant's mass fed back, answer.

The only place where a result changes what is asked: the plant's own mass joins the sprung mass, and the sizing is made
again until the mass it found is no more than the mass it assumed. Where it keeps growing past that (little but power
may count under the objective), a last sizing is held to the mass assumed.
"""

from __future__ import annotations

from collections.abc import Callable

import fluids_data
from models import MODEL_VERSION
from models.answer import Answer, Attempt, Outcome
from models.demand import Margins
from models.drawn import figures
from models.ride.build import build_demand
from models.sizing.sizing import Sized
from models.sizing.sizing import size as size_plant
from models.spec import Spec, complete

MASS_PASSES = 4
MASS_RESERVE = 0.05
"""Passes before the mass is held; share by which the mass assumed lies above the mass last found, so that two passes
usually settle."""

QUIET = frozenset({"notice"})


def size(spec: Spec, progress: Callable[[str, float], None] | None = None) -> Answer:
    """Size the plant of a spec. Pure; raises OutOfRange where a medium or a size lies outside its data."""
    filled, defaults = complete(spec)
    attempts: list[Attempt] = []
    assumed, held = 0.0, filled
    while True:
        demand = build_demand(filled, assumed)
        result = size_plant(held, demand, Margins(), progress)
        found = result.account.plant.mass
        attempts.append(Attempt(assumed, found, result.account.plant.power, result.sizing.feasible))
        settled = 0.0 < found <= assumed
        if filled.corners_fitted == "one" or settled or not result.sizing.feasible:
            break
        assumed = found * (1.0 + MASS_RESERVE)
        if len(attempts) >= MASS_PASSES:
            held = _no_heavier(filled, assumed)
    return Answer(
        outcome=_outcome(result),
        effective_spec=filled,
        defaults_used=defaults,
        model_version=MODEL_VERSION,
        data_version=fluids_data.data_version(),
        demand=demand,
        design=result.sizing.design,
        ledgers=result.sizing.ledgers,
        search=result.sizing.search,
        warnings=result.warnings,
        attempts=tuple(attempts),
        figures=figures(result.account),
    )


def _no_heavier(spec: Spec, mass: float) -> Spec:
    """The spec with its mass limit lowered to `mass` kg."""
    given = spec.limits.mass
    limit = mass if given is None else min(mass, given)
    return spec.model_copy(update={"limits": spec.limits.model_copy(update={"mass": limit})})


def _outcome(result: Sized) -> Outcome:
    if not result.sizing.feasible:
        return "infeasible"
    if all(w.signal_word in QUIET for w in result.warnings):
        return "feasible"
    return "feasible_with_warnings"
