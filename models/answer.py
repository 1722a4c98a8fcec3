"""The answer to a spec: everything one request computed, frozen, ready for the wire and for whatever draws it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from models.comparison.answer import ComparisonBlock
from models.comparison.crossover import Crossover
from models.demand import Demand, Margins
from models.drawn import Figure
from models.force_control import ArrangementOutlook
from models.proof.records import DutyTraces, Proof
from models.quantity import on_wire
from models.ride.build import DutyAnswer, Governing, Mix
from models.sizing.design import Design, Ledger, Search
from models.spec import DefaultUsed, Spec
from models.warning import DesignWarning

Outcome = Literal["feasible", "feasible_with_warnings", "infeasible"]


@dataclass(frozen=True)
class Attempt:
    """One pass of the sizing, with the plant's mass fed back into the vehicle's, or margins raised after a proof.

    `proof` says what the proof of its plant found; null where none was run."""

    plant_mass_assumed: Annotated[float, on_wire("kg")]
    plant_mass_found: Annotated[float, on_wire("kg")]
    mean_power: Annotated[float, on_wire("w")]
    feasible: bool
    reason: str
    margins: Margins
    proof: str | None


@dataclass(frozen=True)
class Answer:
    """A sizing: the spec as used, the demand, the design or the nearest miss, ledgers, search, warnings, attempts.

    `outcome` is `infeasible` when `search.unmet` is not empty: the design is then the nearest miss, no plant to build.
    It is `feasible` when beside notices only those hazards are told that every plant of its kind carries.
    It is null where an axle's actuators are asked no force at all, and so is `comparison`. `outcome` rests on the
    sizing's equations alone: a proof that fails leaves it `feasible_with_warnings` and says so in `proof.verdict` and
    a warning. `proof` is null where no design is feasible. `traces` are kept apart from a stored sizing.
    """

    outcome: Outcome
    effective_spec: Spec
    defaults_used: tuple[DefaultUsed, ...]
    model_version: str
    data_version: str
    demand: Demand
    design: Design | None
    ledgers: tuple[Ledger, ...]
    search: Search
    warnings: tuple[DesignWarning, ...]
    attempts: tuple[Attempt, ...]
    figures: tuple[Figure, ...]
    comparison: ComparisonBlock | None
    proof: Proof | None
    traces: tuple[DutyTraces, ...]


@dataclass(frozen=True)
class DemandAnswer:
    """A demand: what each actuator must do, each duty's answer with what to draw, what governs, and the mix.

    `arrangements` holds the one the spec names, or all three side by side where it names none; the rest is then of the
    first, `parallel`. What could not be met stands in `demand.unmet`.
    """

    effective_spec: Spec
    defaults_used: tuple[DefaultUsed, ...]
    model_version: str
    data_version: str
    demand: Demand
    duties: tuple[DutyAnswer, ...]
    governing: tuple[Governing, ...]
    mix: Mix
    arrangements: tuple[ArrangementOutlook, ...]


@dataclass(frozen=True)
class ComparisonAnswer:
    """Both sides on one demand, that of the spec's own sizing, and the crossovers asked for, each also as figures.

    `comparison` is null, and there are no crossovers, where an axle's actuators are asked no force at all.
    """

    effective_spec: Spec
    defaults_used: tuple[DefaultUsed, ...]
    model_version: str
    data_version: str
    demand: Demand
    comparison: ComparisonBlock | None
    crossovers: tuple[Crossover, ...]
    figures: tuple[Figure, ...]
