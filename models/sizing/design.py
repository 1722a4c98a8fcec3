"""The chosen design as records: parts, corners, central unit, constraints, ledgers. No computation here.

Every record is written to the wire by `models.quantity.to_wire`; fields are SI inside and carry their wire unit in the
annotation. Numbers whose unit varies from row to row (a part's required size, a constraint's limit) are already in the
unit that stands beside them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from models.quantity import on_wire

Kg = Annotated[float, on_wire("kg")]
Mm = Annotated[float, on_wire("mm")]
Bar = Annotated[float, on_wire("bar")]
LMin = Annotated[float, on_wire("l_min")]
Watt = Annotated[float, on_wire("w")]
Hertz = Annotated[float, on_wire("hz")]
Newton = Annotated[float, on_wire("n")]
Ratio = Annotated[float, on_wire("")]
Litre = Annotated[float, on_wire("l")]
Celsius = Annotated[float, on_wire("c")]


@dataclass(frozen=True)
class Part:
    """One line of the parts list. `required` and `chosen` are in `unit`; margin is chosen over required less one."""

    part: str
    choice: str
    count: int
    measure: str
    unit: str
    required: float
    chosen: float
    margin: Ratio | None
    governed_by: str
    source: str
    kind: str
    mass: Annotated[float, on_wire("kg", about="All of them together, wet")]


@dataclass(frozen=True)
class Constraint:
    """One requirement: `use` is need over allowance, 1 at the limit. `need` and `allowance` are in `unit`."""

    name: str
    concerns: str
    met: bool
    use: Ratio
    need: float
    allowance: float
    unit: str
    governed_by: str


@dataclass(frozen=True)
class CornerGas:
    """The gas spring of a corner accumulator, one corner's, and the orifice between it and the chamber."""

    accumulator: str
    accumulator_volume: Litre
    static_pressure: Annotated[float, on_wire("bar", about="Chamber and gas under the weight at rest")]
    gas_volume: Annotated[float, on_wire("l", about="At rest, at 20 °C")]
    precharge: Annotated[float, on_wire("bar", about="At 20 °C, oil side empty")]
    bump_pressure: Annotated[
        float | None, on_wire("bar", about="Fast, from rest to full bump, coldest; none: the gas leaves its table")
    ]
    droop_pressure: Annotated[float | None, on_wire("bar", about="Fast, from rest to full droop, hottest")]
    rate: Annotated[float, on_wire("n_mm", about="Fast, at rest, at 20 °C: the rate asked for")]
    cold_rate: Annotated[float, on_wire("n_mm", about="With the gas at oil_cold")]
    hot_rate: Annotated[float, on_wire("n_mm", about="With the gas at oil_hot")]
    orifice_bore: Annotated[float | None, on_wire("mm", about="None where a damper beside gives all the damping")]
    orifice_damping: Annotated[float, on_wire("n_s_m", about="Asked for at the actuator")]
    orifice_linearised_at: Annotated[float, on_wire("m_s", about="Rms wheel velocity, hot oil: Gaussian, least square")]
    orifice_damping_cold: Annotated[float, on_wire("n_s_m", about="What the same orifice gives in the coldest oil")]
    orifice_drop: Annotated[float, on_wire("bar", about="Hot, at that rms velocity")]
    orifice_drop_peak: Annotated[float, on_wire("bar", about="Hot, at the greatest wheel velocity")]
    oil_held: Annotated[float, on_wire("l", about="At rest, cold")]
    stored_energy: Annotated[float, on_wire("j", about="Gas expanding from full bump to the air")]
    mass: Annotated[float, on_wire("kg", about="Accumulator with its oil and orifice")]


@dataclass(frozen=True)
class Corner:
    """One axle's corner: cylinder, valve and lines, and how they act together."""

    cylinder: str
    bore: Mm
    rod: Mm
    through_rod: bool
    seal: str
    stroke: Mm
    cap_area: Annotated[float, on_wire("mm2")]
    annulus_area: Annotated[float, on_wire("mm2")]
    wall: Mm
    outer_diameter: Mm
    retracted_length: Mm
    extended_length: Mm
    buckling_factor: Annotated[float, on_wire("", about="Buckling load over greatest thrust")]
    valve: str
    valve_rated_flow: Annotated[float, on_wire("l_min", about="At 35 bar a land")]
    valve_bandwidth: Hertz
    spool: str
    anti_cavitation_checks: bool
    valve_opening: Annotated[float, on_wire("", about="Largest over all load points, cold and hot")]
    line: str
    line_bore: Mm
    line_loss_cold: Annotated[float, on_wire("bar", about="One line at the cap side's peak flow, cold")]
    line_loss_hot: Bar
    lowest_chamber_pressure: Bar
    highest_chamber_pressure: Bar
    blocked_rod_side_pressure: Annotated[
        float, on_wire("bar", about="Rod side shut while the cap side has full supply: intensification")
    ]
    seal_friction: Annotated[float, on_wire("n", about="Running, greatest of cold and hot at peak speed")]
    break_out_friction: Newton
    friction_over_force: Annotated[float, on_wire("", about="Running friction over rms force")]
    oil_stiffness: Annotated[float, on_wire("n_mm", about="Least over the stroke, lines and free air included")]
    natural_frequency: Annotated[float, on_wire("hz", about="Reduced mass and oil in the lines on the oil column")]
    stiffness_ratio: Annotated[float, on_wire("", about="Natural frequency over the duty's bandwidth")]
    valve_bandwidth_ratio: Ratio
    line_oil_mass: Annotated[float, on_wire("kg", about="Oil in the lines as seen at the piston")]
    reduced_mass: Annotated[float, on_wire("kg", about="Body against wheel, at the actuator")]
    velocity_disturbance_force: Annotated[
        float, on_wire("n", about="Force error left by the valve's lag under wheel motion")
    ]
    force_wanted: Annotated[float, on_wire("n", about="Peak dynamic force of the duty that rules it")]
    mean_flow: Annotated[float, on_wire("l_min", about="Supply flow of one corner, share-of-time mean, no leakage")]
    peak_flow: LMin
    seal_leakage: LMin
    valve_leakage: LMin
    acts_as: str
    acts_as_because: str
    corner_mass: Kg
    single_acting: bool
    spring_between: Annotated[
        float | None, on_wire("n_mm", about="Spring or gas spring between actuator and wheel; none in parallel")
    ]
    stiffness_against: Annotated[
        float, on_wire("n_mm", about="What wheel motion strains while the valve lags: oil, and the spring behind it")
    ]
    holding_pressure: Annotated[
        float, on_wire("bar", about="Net, on the cap side, that holds the weight; 0: no weight")
    ]
    sink_rate: Annotated[float, on_wire("mm_s", about="Cap side leaking to the reservoir at key-off, valve shut")]
    gas: CornerGas | None


@dataclass(frozen=True)
class Centre:
    """The central unit."""

    pump: str
    displacement: Annotated[float, on_wire("cm3_rev")]
    motor: str
    control: str
    speed: Annotated[float, on_wire("rpm", about="Highest shaft speed in service")]
    pump_flow: Annotated[float, on_wire("l_min", about="Delivered at that speed, hot, at highest pressure")]
    peak_flow: Annotated[float, on_wire("l_min", about="Corners' demand at the worst instant")]
    mean_flow: Annotated[float, on_wire("l_min", about="Share-of-time mean from the pump, leakage included")]
    pump_efficiency: Annotated[float, on_wire("", about="Overall, at full flow, hot")]
    torque_hot: Annotated[float, on_wire("nm")]
    torque_cold: Annotated[float, on_wire("nm", about="At full speed in the coldest oil")]
    inlet_pressure_cold: Annotated[float, on_wire("bar", about="Gauge, at the pump's inlet")]
    suction_line: str
    supply_line: str
    return_line: str
    supply_velocity: Annotated[float, on_wire("m_s")]
    return_velocity: Annotated[float, on_wire("m_s")]
    suction_velocity: Annotated[float, on_wire("m_s")]
    relief_setting: Bar
    accumulator: str
    accumulator_volume: Litre
    precharge: Annotated[float, on_wire("bar", about="At 20 °C, oil side empty")]
    store_needed: Annotated[float, on_wire("l", about="Oil the worst burst takes beyond the pump")]
    store_delivers: Annotated[float, on_wire("l", about="Oil given from highest to lowest rail pressure, fast")]
    stored_energy: Annotated[float, on_wire("j", about="Gas expanding from highest pressure to the air")]
    reservoir_volume: Annotated[float, on_wire("l", about="Total, air included")]
    reservoir_oil: Litre
    heat_to_oil: Annotated[float, on_wire("w", about="Share-of-time mean")]
    reservoir_heat: Annotated[float, on_wire("w", about="What its surface gives off at the oil limit")]
    cooler_heat: Annotated[float, on_wire("w", about="What a cooler must take at the oil limit; 0: none needed")]
    oil_temperature: Annotated[float, on_wire("c", about="Steady, cooler included")]
    filter_rated_flow: LMin


@dataclass(frozen=True)
class Totals:
    """The plant in a line."""

    mass: Annotated[float, on_wire("kg", about="Everything mounted, wet; battery not counted")]
    mean_power: Annotated[float, on_wire("w", about="Electric, share-of-time mean, hot")]
    peak_power: Annotated[float, on_wire("w", about="Electric, the worse of cold and hot")]
    peak_current: Annotated[float, on_wire("a")]
    standby_power: Annotated[float, on_wire("w", about="Pressure held, nothing moving")]
    run_time: Annotated[float, on_wire("h", about="On the battery given, at mean power")] | None
    standby_time: Annotated[float, on_wire("h", about="On the battery given, nothing moving")] | None


@dataclass(frozen=True)
class Term:
    """One named entry of a ledger."""

    name: str
    value: float


@dataclass(frozen=True)
class Ledger:
    """Named terms that sum to `total`; `residual` is what is left, over the total."""

    name: str
    unit: str
    total: float
    terms: tuple[Term, ...]
    residual: float
    about: str


@dataclass(frozen=True)
class Design:
    """A whole plant."""

    medium: str
    medium_label: str
    supply_pressure: Annotated[float, on_wire("bar", about="Highest rail pressure: walls, relief, power")]
    lowest_rail_pressure: Annotated[float, on_wire("bar", about="Lowest rail pressure: valves and force")]
    return_bias: Bar
    front: Corner | None
    rear: Corner | None
    centre: Centre
    totals: Totals
    parts: tuple[Part, ...]
    constraints: tuple[Constraint, ...]


@dataclass(frozen=True)
class Refused:
    """Why the next smaller size of a part was not taken."""

    part: str
    chosen: str
    smaller: str
    refused_by: str
    text: str


@dataclass(frozen=True)
class Alternative:
    """A plant of the front: not beaten in mass, mean electric power and peak current together."""

    mass: Kg
    mean_power: Watt
    peak_current: Annotated[float, on_wire("a")]
    supply_pressure: Bar
    front_cylinder: str
    rear_cylinder: str
    pump: str
    motor: str
    control: str
    accumulator: str


@dataclass(frozen=True)
class MediumTried:
    """One medium of an `auto` search."""

    medium: str
    feasible: bool
    mass: Kg | None
    mean_power: Watt | None
    peak_current: Annotated[float, on_wire("a")] | None
    note: str


@dataclass(frozen=True)
class Unmet:
    """A requirement no candidate met: by how much the nearest misses it, and what would help."""

    constraint: str
    concerns: str
    need: float
    allowance: float
    unit: str
    use: Ratio
    would_help: str


@dataclass(frozen=True)
class Search:
    """What was covered and what decided."""

    objective: str
    raw_designs: Annotated[float, on_wire("", about="Combinations of the sizes allowed, one medium")]
    halves_evaluated: int
    halves_kept: int
    plants_evaluated: int
    front_size: int
    relaxed: tuple[str, ...]
    binding: tuple[str, ...]
    refused: tuple[Refused, ...]
    alternatives: tuple[Alternative, ...]
    media: tuple[MediumTried, ...]
    unmet: tuple[Unmet, ...]


@dataclass(frozen=True)
class Sizing:
    """The result of one sizing: the design (the nearest one when nothing is feasible), its ledgers, and the search."""

    feasible: bool
    design: Design
    ledgers: tuple[Ledger, ...]
    search: Search
