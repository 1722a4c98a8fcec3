"""The steps in order: spec, demand, sizing, the plant's mass fed back, comparison, answer; of a demand or a comparison
alone too.

The only place where a result changes what is asked: the plant's own mass joins the sprung mass, and the sizing is made
again until the mass it found is no more than the mass it assumed, beginning with a guess from a third of the search.
Where it keeps growing past that (little but power may count under the objective), a last sizing is held to the mass
assumed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import fluids_data
from models import MODEL_VERSION
from models.answer import Answer, Attempt, ComparisonAnswer, DemandAnswer, Outcome
from models.comparison.answer import scenario_of, sized_block, whole_block
from models.comparison.crossover import Crossover, axis_values, crossover
from models.comparison.hydraulic import hydraulic_side
from models.comparison.request import ComparisonRequest
from models.demand import Demand, Margins
from models.drawn import crossover_figures, figures
from models.force_control import outlook
from models.ride.arrangement import compare_arrangements
from models.ride.build import build_demand
from models.ride.vehicle import ARRANGEMENTS
from models.sizing.asked import idle_axles, no_search, unmet_wishes
from models.sizing.sizing import Sized, guessed_mass
from models.sizing.sizing import size as size_plant
from models.spec import Spec, complete
from models.warning import DesignWarning, is_inherent

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
    held = filled
    result: Sized | None = None
    demand = build_demand(filled, 0.0)
    assumed = _guess(filled, demand)
    if assumed > 0.0:
        demand = build_demand(filled, assumed)
    while True:
        idle = idle_axles(demand)
        if idle:
            result = None
            break
        result = size_plant(held, demand, Margins(), _of_pass(progress, len(attempts)))
        found = result.account.plant.mass
        attempts.append(Attempt(assumed, found, result.account.plant.power, result.account.feasible))
        settled = 0.0 < found <= assumed
        if filled.corners_fitted == "one" or settled or not result.account.feasible:
            break
        assumed = _with_reserve(found, filled)
        demand = build_demand(filled, assumed)
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
        comparison=sized_block(filled, demand, result.account) if result is not None else None,
    )


def _guess(spec: Spec, demand: Demand) -> float:
    """Plant mass to assume at first, kg; 0 on a bench rig, whose plant does not ride along."""
    if spec.corners_fitted == "one" or idle_axles(demand):
        return 0.0
    return _with_reserve(guessed_mass(spec, demand), spec)


def _with_reserve(found: float, spec: Spec) -> float:
    """The plant mass to assume after `found` kg."""
    sprung = sum(spec.corners_per_axle * spec.axle(position).sprung_mass for position in spec.positions)
    return found * (1.0 + MASS_RESERVE + MASS_GROWTH * found / sprung)


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


def compare(request: ComparisonRequest, progress: Callable[[str, float], None] | None = None) -> ComparisonAnswer:
    """Hydraulic against all-electric on the demand of a spec's own sizing, and crossovers along the axes asked for.

    The plant's mass stays counted as that sizing found it, and medium `auto` stays at the one it chose. Pure. progress
    is called with the axis and the share done. Raises as `size` does, and BusCannotDrive.
    """
    answer = size(request.spec, progress if not request.axes else None)
    filled, block = answer.effective_spec, answer.comparison
    crossovers: list[Crossover] = []
    if answer.design is not None and block is not None:
        if filled.medium == "auto":
            filled = filled.model_copy(update={"medium": answer.design.medium})
        rivals = block.sides[0]
        lighter = build_demand(filled, rivals.electric.mass or 0.0)
        block = whole_block(filled, answer.demand, rivals.hydraulic, lighter)
        scenario, plant = scenario_of(filled, answer.demand), hydraulic_side(filled)
        axes = request.axes
        for number, axis in enumerate(axes):

            def told(done: int, every: int, number: int = number, axis: str = axis) -> None:
                if progress is not None:
                    progress(axis, (number + done / every) / len(axes))

            values = axis_values(axis, request.low, request.high, request.points)
            crossovers.append(crossover(scenario, axis, values, plant, progress=told))
    return ComparisonAnswer(
        effective_spec=answer.effective_spec,
        defaults_used=answer.defaults_used,
        model_version=MODEL_VERSION,
        data_version=answer.data_version,
        demand=answer.demand,
        comparison=block,
        crossovers=tuple(crossovers),
        figures=tuple(figure for curve in crossovers for figure in crossover_figures(curve)),
    )


def _of_pass(progress: Callable[[str, float], None] | None, number: int) -> Callable[[str, float], None] | None:
    """Progress of one mass pass as that of the whole: each takes half of what is left, as none knows if it is last."""
    if progress is None:
        return None
    told = progress

    def tell(text: str, share: float) -> None:
        told(f"pass {number + 1}, {text}", 1.0 - 0.5**number * (1.0 - 0.5 * share))

    tell("the search", 0.0)
    return tell


def _no_heavier(spec: Spec, mass: float) -> Spec:
    """The spec with its mass limit lowered to `mass` kg."""
    given = spec.limits.mass
    limit = mass if given is None else min(mass, given)
    return spec.model_copy(update={"limits": spec.limits.model_copy(update={"mass": limit})})


def _outcome(warnings: tuple[DesignWarning, ...]) -> Outcome:
    """Hazards that every plant of its kind carries do not speak against a design; what else cautions does."""
    telling = [warning for warning in warnings if warning.signal_word not in QUIET and not is_inherent(warning.code)]
    return "feasible_with_warnings" if telling else "feasible"
