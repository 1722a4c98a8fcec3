"""The steps of a sizing in order: spec, demand, sizing, the plant's mass fed back, answer.

The only place where a result changes what is asked: the plant's own mass joins the sprung mass, and the sizing is made
again until the mass it found is no more than the mass it assumed.
"""

from __future__ import annotations

from collections.abc import Callable

import fluids_data
from models import MODEL_VERSION
from models.answer import Answer, Attempt, Outcome
from models.demand import Margins, build_demand
from models.drawn import figures
from models.sizing.sizing import Sized
from models.sizing.sizing import size as size_plant
from models.spec import Spec, complete

MASS_PASSES = 4
MASS_RESERVE = 0.05
"""Passes at most; share by which the mass assumed lies above the mass last found, so that two passes usually settle."""

QUIET = frozenset({"notice"})


def size(spec: Spec, progress: Callable[[str, float], None] | None = None) -> Answer:
    """Size the plant of a spec. Pure; raises OutOfRange where a medium or a size lies outside its data."""
    filled, defaults = complete(spec)
    attempts: list[Attempt] = []
    assumed = 0.0
    while True:
        demand = build_demand(filled, assumed)
        result = size_plant(filled, demand, Margins(), progress)
        found = result.account.plant.mass
        attempts.append(Attempt(assumed, found, result.account.plant.power, result.sizing.feasible))
        settled = 0.0 < found <= assumed
        if filled.corners_fitted == "one" or settled or not result.sizing.feasible or len(attempts) == MASS_PASSES:
            break
        assumed = found * (1.0 + MASS_RESERVE)
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


def _outcome(result: Sized) -> Outcome:
    if not result.sizing.feasible:
        return "infeasible"
    if all(w.signal_word in QUIET for w in result.warnings):
        return "feasible"
    return "feasible_with_warnings"
