"""What the service answers, as records. Goes with ramwright_client.py: copy both where you need them.

A record holds the members most callers read; every number's unit stands in its name. The whole answer, as the service's
contract (/openapi.json) describes it, is kept beside it under `document`. Members these records do not know are passed
over, so an older copy reads a newer service.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from dataclasses import dataclass
from typing import Any

Json = dict[str, Any]


@dataclass(frozen=True)
class Totals:
    mass_kg: float
    mean_power_w: float
    peak_power_w: float
    peak_current_a: float
    standby_power_w: float
    run_time_h: float | None


@dataclass(frozen=True)
class Corner:
    """Cylinder, valve and line of each corner of one axle."""

    cylinder: str
    bore_mm: float
    rod_mm: float
    stroke_mm: float
    valve: str
    line: str
    acts_as: str
    natural_frequency_hz: float
    corner_mass_kg: float


@dataclass(frozen=True)
class Centre:
    """Pump, motor and store in the middle of the vehicle."""

    pump: str
    motor: str
    control: str
    speed_rpm: float
    pump_flow_l_min: float
    peak_flow_l_min: float
    relief_setting_bar: float
    accumulator: str
    accumulator_volume_l: float
    heat_to_oil_w: float
    oil_temperature_c: float


@dataclass(frozen=True)
class Part:
    """A line of the parts list; `required` and `chosen` in `unit`, mass of all of them."""

    part: str
    choice: str
    count: int
    measure: str
    unit: str
    required: float
    chosen: float
    margin: float | None
    governed_by: str
    mass_kg: float
    source: str
    kind: str


@dataclass(frozen=True)
class Design:
    supply_pressure_bar: float
    medium: str
    front: Corner | None
    rear: Corner | None
    centre: Centre
    totals: Totals
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Term:
    name: str
    value: float


@dataclass(frozen=True)
class Ledger:
    """Named terms that sum to `total`, all in `unit`."""

    name: str
    unit: str
    total: float
    terms: tuple[Term, ...]


@dataclass(frozen=True)
class Curve:
    label: str
    marks: bool
    x: tuple[float, ...]
    y: tuple[float, ...]


@dataclass(frozen=True)
class Figure:
    """Curves on two axes with their labels and units."""

    name: str
    title: str
    x_label: str
    x_unit: str
    y_label: str
    y_unit: str
    curves: tuple[Curve, ...]


@dataclass(frozen=True)
class Unmet:
    """A requirement that no design met, and what would help; `need` and `allowance` in `unit`."""

    constraint: str
    concerns: str
    need: float
    allowance: float
    unit: str
    would_help: str


@dataclass(frozen=True)
class Alternative:
    """A design that no other beats in mass, mean power and peak current together."""

    mass_kg: float
    mean_power_w: float
    peak_current_a: float
    supply_pressure_bar: float


@dataclass(frozen=True)
class Search:
    objective: str
    binding: tuple[str, ...]
    unmet: tuple[Unmet, ...]
    alternatives: tuple[Alternative, ...]


@dataclass(frozen=True)
class Caution:
    """A warning of the service; `signal_word` danger, warning, caution or notice."""

    code: str
    signal_word: str
    concerns: str
    message: str
    advice: str
    value: float | None
    limit: float | None
    unit: str | None


@dataclass(frozen=True)
class Default:
    """A value the spec left open, where it belongs, what was taken and why."""

    pointer: str
    value: float | str | bool
    reason: str


@dataclass(frozen=True)
class Sizing:
    """`outcome` is feasible, feasible_with_warnings or infeasible; `design` None where nothing is asked of an axle."""

    id: str
    name: str
    outcome: str
    design: Design | None
    ledgers: tuple[Ledger, ...]
    search: Search
    warnings: tuple[Caution, ...]
    defaults_used: tuple[Default, ...]
    figures: tuple[Figure, ...]
    links: dict[str, str]
    document: Json = dataclasses.field(repr=False)

    def figure(self, name: str) -> Figure:
        """A figure by name; raises KeyError."""
        return {figure.name: figure for figure in self.figures}[name]

    def ledger(self, name: str) -> Ledger:
        """A ledger by name; raises KeyError."""
        return {ledger.name: ledger for ledger in self.ledgers}[name]


@dataclass(frozen=True)
class AxleNeed:
    """What each actuator of one axle must do in one arrangement."""

    position: str
    force_peak_n: float
    force_rms_n: float
    velocity_peak_m_s: float
    velocity_rms_m_s: float
    stroke_mm: float
    bandwidth_hz: float
    mean_power_w: float


@dataclass(frozen=True)
class ArrangementNeed:
    """One way to set the actuators, and in a sentence what it asks of the valve."""

    arrangement: str
    statement: str
    axles: tuple[AxleNeed, ...]


@dataclass(frozen=True)
class DutyRide:
    """Body acceleration of one duty, rms, now and on passive dampers; None where the duty has none."""

    body_acceleration_m_s2: float | None
    body_acceleration_passive_m_s2: float | None


@dataclass(frozen=True)
class Demand:
    name: str
    duties: tuple[DutyRide, ...]
    arrangements: tuple[ArrangementNeed, ...]
    document: Json = dataclasses.field(repr=False)


@dataclass(frozen=True)
class Checked:
    """The spec as it would be sized."""

    id: str
    effective_spec: Json
    defaults_used: tuple[Default, ...]


@dataclass(frozen=True)
class Verdict:
    """Which side wins with `spring_share` of the weight on a parallel spring; ratios are hydraulic over electric."""

    spring_share: float
    winner: str
    sentence: str
    mass_ratio: float | None
    power_ratio: float | None


@dataclass(frozen=True)
class SideBySide:
    verdict: Verdict


@dataclass(frozen=True)
class Rivals:
    """Both sides on one demand, for each way of carrying the weight."""

    verdict: str
    sides: tuple[SideBySide, ...]
    what_would_change_it: tuple[str, ...]


@dataclass(frozen=True)
class Crossing:
    """Where one side overtakes the other in `metric`."""

    metric: str
    value: float
    below: str
    above: str


@dataclass(frozen=True)
class CrossoverPoint:
    """Both sides at one value of the axis; None where a side does not meet the demand."""

    value: float
    hydraulic_mass_kg: float | None
    electric_mass_kg: float | None
    hydraulic_mean_power_w: float | None
    electric_mean_power_w: float | None


@dataclass(frozen=True)
class Crossover:
    """Both sides along one axis, and in sentences what was found."""

    axis: str
    means: str
    points: tuple[CrossoverPoint, ...]
    crossings: tuple[Crossing, ...]
    statements: tuple[str, ...]


@dataclass(frozen=True)
class Comparison:
    """`comparison` is None where nothing is asked of an axle."""

    id: str
    name: str
    comparison: Rivals | None
    crossovers: tuple[Crossover, ...]
    figures: tuple[Figure, ...]
    document: Json = dataclasses.field(repr=False)


@dataclass(frozen=True)
class Difference:
    """One place where two sizings differ; `stage` says whether it is cause or effect."""

    stage: str
    pointer: str
    change: str
    this: Any
    other: Any


@dataclass(frozen=True)
class Progress:
    text: str
    share: float


@dataclass(frozen=True)
class Job:
    """Background work: queued, running, done, failed or cancelled; `result` is the address of what it made."""

    id: str
    kind: str
    state: str
    progress: Progress
    result: str | None
    problem: Json | None
    links: dict[str, str]

    @property
    def ended(self) -> bool:
        return self.state in ("done", "failed", "cancelled")


def read(record: Any, value: Any) -> Any:
    """A JSON value as `record`, a class of this file or a type of its members; raises KeyError for a missing member."""
    if dataclasses.is_dataclass(record):
        hints = typing.get_type_hints(record)
        own = {name: read(hints[name], value[name]) for name in hints if name != "document"}
        return record(**own, **({"document": value} if "document" in hints else {}))
    if isinstance(record, types.UnionType):
        options = [option for option in typing.get_args(record) if option is not types.NoneType]
        return value if value is None or len(options) > 1 else read(options[0], value)
    if typing.get_origin(record) is tuple:
        item = typing.get_args(record)[0]
        return tuple(read(item, each) for each in value)
    return value
