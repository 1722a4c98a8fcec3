"""The steps in order: spec, demand, sizing, the plant's mass fed back, proof, comparison, answer; of a demand or a
comparison alone too.

The only place where a result changes what is asked. The plant's own mass joins the sprung mass, and the sizing is made
again until the mass it found is no more than the mass it assumed, beginning with a guess from a third of the search.
Where it keeps growing past that (little but power may count under the objective), a last sizing is held to the mass
assumed. What a proof found short becomes margins, and the sizing is made again, a few times; what margins cannot mend
is said at once.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import fluids_data
from models import MODEL_VERSION
from models.answer import Answer, Attempt, ComparisonAnswer, DemandAnswer, Outcome
from models.comparison.answer import rivals_of, scenario_of, sized_block, whole_block
from models.comparison.crossover import Crossover, axis_values, crossover
from models.comparison.hydraulic import hydraulic_side
from models.comparison.request import ComparisonRequest
from models.demand import Demand, Margins, Shortfall
from models.drawn import crossover_figures, figures, proof_figures
from models.electric.sizing_records import ElectricSizing
from models.force_control import outlook
from models.proof.prove import prove
from models.proof.records import DutyTraces, Proof
from models.ride.arrangement import compare_arrangements
from models.ride.build import build_demand
from models.ride.vehicle import ARRANGEMENTS
from models.sizing.asked import idle_axles, no_search, unmet_wishes
from models.sizing.design import Unmet
from models.sizing.sizing import Sized, guessed_mass
from models.sizing.sizing import size as size_plant
from models.spec import Spec, complete
from models.warning import DesignWarning, by_severity, is_inherent, warn

MASS_PASSES = 4
MASS_RESERVE = 0.05
MASS_GROWTH = 0.12
"""Passes before the mass is held; share by which the mass assumed lies above the mass last found, and how that share
grows with the plant's own share of the sprung mass, so that two passes usually settle. The result does not rest on them
but for the reserve it keeps."""

GUESS_EXCESS = 1.3
"""Mass first assumed over mass found beyond which the guess was too heavy and the sizing is made again."""

PROOF_RETRIES = 3
RETRY_STEP = (1.05, 1.5)
"""Sizings with raised margins after a proof that fell short, at most: they stay within the request, so that an answer
takes no longer than four sizings. Least and most by which one of them raises a margin."""

QUIET = frozenset({"notice"})

Told = Callable[[str, float], None]


def size(spec: Spec, progress: Told | None = None, proven: bool = True) -> Answer:
    """Size the plant of a spec and run it through its duties. Pure.

    Where the demand asks no force on an axle there is no design; where it leaves a wish unmet there is one for the
    rest; both are infeasible. proven: whether a feasible plant is run in time; without, `proof` is null. Raises
    OutOfRange where a medium or a size lies outside its data.
    """
    filled, defaults = complete(spec)
    attempts: list[Attempt] = []
    stages = _Stages(progress)
    guess = _guess(filled, build_demand(filled, 0.0))
    settled = _settle(filled, guess, Margins(), "the plant's mass is guessed", attempts, stages)
    proof: Proof | None = None
    traces: tuple[DutyTraces, ...] = ()
    rivals: ElectricSizing | None = None
    if settled.result is not None:
        with ThreadPoolExecutor(1) as aside:  # the electric side is sized while the plant is run in time
            first = settled.demand
            sized = aside.submit(rivals_of, filled, first)
            if proven and settled.result.account.feasible:
                settled, proof, traces = _prove(filled, settled, attempts, stages)
            rivals = sized.result() if settled.demand == first else rivals_of(filled, settled.demand)
    result, demand = settled.result, settled.demand
    search = result.sizing.search if result is not None else no_search(filled.objective)
    search = replace(search, unmet=(*search.unmet, *unmet_wishes(demand), *settled.idle))
    warnings = result.warnings if result is not None else demand.warnings
    if proof is not None and not proof.passed:
        warnings = by_severity([*warnings, warn("proof_failed", "proof", _failure(proof))])
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
        figures=(*figures(result.account), *proof_figures(traces)) if result is not None else (),
        comparison=(
            sized_block(filled, demand, result.account, rivals, _short(proof))
            if result is not None and rivals is not None
            else None
        ),
        proof=proof,
        traces=traces,
    )


def prove_again(
    spec: Spec, seeds: int, duration: float, progress: Told | None = None
) -> tuple[Proof, tuple[DutyTraces, ...]] | None:
    """The proof of a spec's sizing, run again over several seeds or longer; None where no design is feasible. Pure.

    duration: seconds of driving. The plant is the one that `size` gives; nothing is sized for what this proof finds.
    """
    filled, _ = complete(spec)
    stages = _Stages(progress)
    attempts: list[Attempt] = []
    guess = _guess(filled, build_demand(filled, 0.0))
    settled = _settle(filled, guess, Margins(), "the plant's mass is guessed", attempts, stages)
    if settled.result is None or not settled.result.account.feasible:
        return None
    settled = _prove(filled, settled, attempts, stages)[0]
    assert settled.result is not None
    account = settled.result.account
    return prove(account, filled, settled.demand, seeds=seeds, duration=duration, progress=stages.next("proof"))


def _short(proof: Proof | None) -> str:
    """A failed proof in a sentence, else empty."""
    return _failure(proof) if proof is not None and not proof.passed else ""


def _failure(proof: Proof) -> str:
    """A failed proof in a sentence, with what no margin mends."""
    beyond = sorted({s.what.split(",")[0].replace("_", " ") for s in proof.shortfalls if s.mendable_by is None})
    told = f"; no larger margin mends {', '.join(beyond)}" if beyond else ""
    return f"run in time, the plant falls short: {proof.summary}{told}"


@dataclass(frozen=True)
class _Settled:
    """A sizing whose plant's mass is what it assumed; result None where `idle` axles leave nothing to size."""

    result: Sized | None
    demand: Demand
    idle: tuple[Unmet, ...]
    assumed: float


def _settle(
    filled: Spec, assumed: float, margins: Margins, reason: str, attempts: list[Attempt], stages: _Stages
) -> _Settled:
    """Size until the plant's mass is no more than assumed; each pass joins `attempts`."""
    held = filled
    passes = 0
    while True:
        demand = build_demand(filled, assumed)
        idle = tuple(idle_axles(demand))
        if idle:
            return _Settled(None, demand, idle, assumed)
        result = size_plant(held, demand, margins, stages.next("pass"))
        found = result.account.plant.mass
        attempts.append(
            Attempt(assumed, found, result.account.plant.power, result.account.feasible, reason, margins, None)
        )
        passes += 1
        settled = 0.0 < found <= assumed and (passes > 1 or assumed <= found * GUESS_EXCESS)
        if filled.corners_fitted == "one" or settled or not result.account.feasible:
            return _Settled(result, demand, (), assumed)
        reason = f"the plant is {'heavier' if found > assumed else 'much lighter'} than assumed"
        assumed = _with_reserve(found, filled)
        if passes >= MASS_PASSES:
            held = _no_heavier(filled, assumed)


def _prove(
    filled: Spec, settled: _Settled, attempts: list[Attempt], stages: _Stages
) -> tuple[_Settled, Proof, tuple[DutyTraces, ...]]:
    """The plant run in time, sized again with larger margins where these can mend what fell short.

    The plant kept is the one that holds, else the one that falls short in least; of equals, the first.
    """
    assert settled.result is not None
    margins = Margins()
    proof, traces = prove(settled.result.account, filled, settled.demand, progress=stages.next("proof"))
    attempts[-1] = replace(attempts[-1], proof=proof.summary)
    best, last = (settled, proof, traces), proof
    tried, asked = settled.result.account, settled.demand
    for _ in range(PROOF_RETRIES):
        raised, why = larger(margins, last.shortfalls)
        if raised == margins:
            break
        margins = raised
        again = _settle(filled, best[0].assumed, margins, f"the proof fell short: {why}", attempts, stages)
        if again.result is None or not again.result.account.feasible:
            break
        if again.result.account.choice == tried.choice and again.demand == asked:  # same plant, same run
            attempts[-1] = replace(attempts[-1], proof=last.summary)
            continue
        tried, asked = again.result.account, again.demand
        last, courses = prove(tried, filled, asked, progress=stages.next("proof"))
        attempts[-1] = replace(attempts[-1], proof=last.summary)
        if (not last.passed, len(last.shortfalls)) < (not best[1].passed, len(best[1].shortfalls)):
            best = (again, last, courses)
        if last.passed:
            break
    return best


def larger(margins: Margins, shortfalls: tuple[Shortfall, ...]) -> tuple[Margins, str]:
    """Margins raised by what fell short, and why; unchanged where something fell short that no margin mends."""
    if any(short.mendable_by is None for short in shortfalls):
        return margins, ""
    factors: dict[str, tuple[float, str]] = {}
    for short in shortfalls:
        name = short.mendable_by or ""
        low, high = sorted((abs(short.required), abs(short.achieved)))
        step = RETRY_STEP[1] if low <= 0.0 or short.unit == "s" else min(max(high / low, RETRY_STEP[0]), RETRY_STEP[1])
        if step > factors.get(name, (1.0, ""))[0]:
            factors[name] = (step, short.what)
    raised = {name: min(getattr(margins, name) * step, 3.0) for name, (step, _) in factors.items()}
    why = "; ".join(f"{what}, so the margin of {name} is {raised[name]:.3g}" for name, (_, what) in factors.items())
    return replace(margins, **raised), why


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

    Plants are sized here, not run in time. The plant's mass stays counted as the sizing found it, and medium `auto`
    stays at the one it chose. Pure. progress is called with the axis and the share done. Raises as `size` does, and
    BusCannotDrive.
    """
    answer = size(request.spec, progress if not request.axes else None, proven=False)
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


class _Stages:
    """Progress of one stage after another as that of the whole: each takes half of what is left, as none knows if it is
    last."""

    def __init__(self, told: Told | None) -> None:
        self._told, self._begun = told, 0

    def next(self, what: str) -> Told | None:
        """Begin a stage; what it may tell of itself, its share from 0 to 1."""
        number, told = self._begun, self._told
        self._begun += 1
        if told is None:
            return None

        def tell(text: str, share: float) -> None:
            told(f"{what} {number + 1}, {text}", 1.0 - 0.5**number * (1.0 - 0.5 * share))

        tell("begins", 0.0)
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
