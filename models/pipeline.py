"""The steps in order: spec, demand, sizing, the plant's mass fed back, answer; and of a demand alone.

The only place where a result changes what is asked: the plant's own mass joins the sprung mass, and the sizing is made
again until the mass it found is no more than the mass it assumed. Where it keeps growing past that (little but power
may count under the objective), a last sizing is held to the mass assumed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import fluids_data
from models import MODEL_VERSION
from models.answer import Answer, Attempt, DemandAnswer, Outcome
from models.demand import Margins
from models.drawn import figures
from models.force_control import outlook
from models.ride.arrangement import compare_arrangements
from models.ride.build import build_demand
from models.ride.vehicle import ARRANGEMENTS
from models.sizing.asked import idle_axles, no_search, unmet_wishes
from models.sizing.sizing import Sized
from models.sizing.sizing import size as size_plant
from models.spec import Spec, complete
from models.warning import DesignWarning

MASS_PASSES = 4
MASS_RESERVE = 0.05
MASS_GROWTH = 0.12
"""Passes before the mass is held; share by which the mass assumed lies above the mass last found, and how that share
grows with the plant's own share of the sprung mass, so that two passes usually settle. The result does not rest on them
but for the reserve it keeps."""

QUIET = frozenset({"notice"})


def size(spec: Spec, progress: Callable[[str, float], None] | None = None) -> Answer:
    """Size the plant of a spec. Pure.

    Where the demand asks no force on an axle there is no design; where it leaves a wish unmet there is one for the
    rest; both are infeasible. Raises OutOfRange where a medium or a size lies outside its data.
    """
    filled, defaults = complete(spec)
    attempts: list[Attempt] = []
    assumed, held = 0.0, filled
    result: Sized | None = None
    while True:
        demand = build_demand(filled, assumed)
        idle = idle_axles(demand)
        if idle:
            result = None
            break
        result = size_plant(held, demand, Margins(), progress)
        found = result.account.plant.mass
        attempts.append(Attempt(assumed, found, result.account.plant.power, result.account.feasible))
        settled = 0.0 < found <= assumed
        if filled.corners_fitted == "one" or settled or not result.account.feasible:
            break
        sprung = sum(axle.corners * filled.axle(axle.position).sprung_mass for axle in demand.axles)
        assumed = found * (1.0 + MASS_RESERVE + MASS_GROWTH * found / sprung)
        if len(attempts) >= MASS_PASSES:
            held = _no_heavier(filled, assumed)
    search = result.sizing.search if result is not None else no_search(filled.objective)
    search = replace(search, unmet=(*search.unmet, *unmet_wishes(demand), *idle))
    warnings = result.warnings if result is not None else demand.warnings
    return Answer(
        outcome="infeasible" if search.unmet else _outcome(warnings),
        effective_spec=filled,
        defaults_used=defaults,
        model_version=MODEL_VERSION,
        data_version=fluids_data.data_version(),
        demand=demand,
        design=result.sizing.design if result is not None else None,
        ledgers=result.sizing.ledgers if result is not None else (),
        search=search,
        warnings=warnings,
        attempts=tuple(attempts),
        figures=figures(result.account) if result is not None else (),
    )


def demand(spec: Spec) -> DemandAnswer:
    """What the actuators of a spec must do, the plant's own mass not counted; in all arrangements if none is named.

    Pure. Unstable ride laws and targets out of reach are told in the answer.
    """
    filled, defaults = complete(spec)
    views = compare_arrangements(spec, among=ARRANGEMENTS if spec.arrangement is None else (spec.arrangement,))
    first = views[0].answer
    return DemandAnswer(
        effective_spec=filled,
        defaults_used=defaults,
        model_version=MODEL_VERSION,
        data_version=fluids_data.data_version(),
        demand=first.demand,
        duties=first.duties,
        governing=first.governing,
        mix=first.mix,
        arrangements=tuple(outlook(view, spec) for view in views),
    )


def _no_heavier(spec: Spec, mass: float) -> Spec:
    """The spec with its mass limit lowered to `mass` kg."""
    given = spec.limits.mass
    limit = mass if given is None else min(mass, given)
    return spec.model_copy(update={"limits": spec.limits.model_copy(update={"mass": limit})})


def _outcome(warnings: tuple[DesignWarning, ...]) -> Outcome:
    return "feasible" if all(warning.signal_word in QUIET for warning in warnings) else "feasible_with_warnings"
