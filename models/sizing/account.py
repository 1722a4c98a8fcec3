"""The account of one plant: everything the search knew of it, without early exit, feasible or not.

`account` takes any choice of parts, the search's or the user's own, and calls the same compiled functions as the
search. `central_constraints` and `corner_constraints` turn it into named requirements with need and allowance.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from models.hydraulics.pump import shaft_torque
from models.quantity import ATMOSPHERE, UNITS
from models.sizing.catalogue import Floats
from models.sizing.central import (
    NO_FLOW,
    U_MOTOR,
    U_PUMP,
    U_QMAX,
    U_SPEED,
    U_TUBES,
    UNIT_COLUMNS,
    UNLOADING,
    row_of,
    unit_numbers,
)
from models.sizing.corner import CONSTRAINTS
from models.sizing.corner_store import GAS_TESTS, GasNumbers, gas_numbers
from models.sizing.design import Constraint
from models.sizing.halves import CornerFacts, corner_use
from models.sizing.plant import Plant, burst_volume, duty_flows, plant
from models.sizing.search import RESERVOIR_VOLUMES, Tables, bounded, unit_laws
from models.sizing.task import AxleTask, relief_factor
from models.spec import Position

BAR = UNITS["bar"].factor
L_MIN = UNITS["l_min"].factor


FULL_TRAVEL = "full travel"
"""What governs a requirement that the suspension's whole travel sets, whatever the duties."""

SOME_STORE = 1e-6
"""Oil in m³ that a supply which needs a store is said to need at the least. Source: [estimate]."""


class CornerChoice(NamedTuple):
    """Rows of the catalogue for one axle's corners."""

    cylinder: int
    spool: int
    line: int
    valve: int
    checks: bool
    store: int = 0
    """Row of the corner accumulators; 0 where there are none."""


class Choice(NamedTuple):
    """Rows of the catalogue for a whole plant; `corners` in the order of the demand's axles."""

    setting: int
    corners: tuple[CornerChoice, ...]
    pump: int
    motor: int
    control: int
    accumulator: int
    cooled: bool | None = None


@dataclass(frozen=True)
class Account:
    """A plant as computed."""

    tables: Tables
    choice: Choice
    uses: tuple[Floats, ...]
    points: tuple[Floats, ...]
    facts: tuple[CornerFacts, ...]
    keys: tuple[Floats, Floats]
    unit: Floats
    main_lines: tuple[float, float]  # most that any tube passes as supply and as suction line, m³/s
    flows: Floats
    plant: Plant

    @functools.cached_property
    def constraints(self) -> tuple[Constraint, ...]:
        """Every requirement, corners first."""
        corners = [c for i in range(len(self.choice.corners)) for c in corner_constraints(self, i)]
        return (*corners, *central_constraints(self))

    @property
    def feasible(self) -> bool:
        """Whether every requirement is met."""
        return all(c.met for c in self.constraints)


def corner_account(
    tables: Tables, index: int, setting: int, corner: CornerChoice
) -> tuple[Floats, Floats, CornerFacts]:
    """`corner_use` for the corner `corner` of the demand's axle `index` at supply setting `setting`."""
    task, rows = tables.task, tables.corner_rows[index]
    uses, points, facts = corner_use(
        rows,
        tables.gains,
        tables.transitions,
        task.oils,
        task.settings,
        tables.drops[index],
        task.factors,
        tables.laws,
        tables.measured,
        relief_factor(),
        setting,
        corner.cylinder,
        corner.spool,
        corner.line,
        corner.valve,
        corner.checks,
        corner_gas(tables, index, setting, corner),
    )
    return uses, points, facts


def corner_gas(tables: Tables, index: int, setting: int, corner: CornerChoice) -> GasNumbers | None:
    """The gas spring of a corner; None in an arrangement without."""
    limit = relief_factor() * float(tables.task.settings.high[setting])
    return gas_numbers(tables.task, index, corner.cylinder, corner.store, limit)


def corner_key(tables: Tables, index: int, corner: CornerChoice, facts: CornerFacts) -> Floats:
    """The eight numbers through which one axle's corners meet the plant."""
    axle, valves = tables.task.axles[index], tables.task.catalogue.valves
    n = axle.corners
    mass = facts.cylinder_mass + facts.valve_mass + facts.line_mass + facts.sensor_mass + facts.check_mass
    mass += facts.store_mass + facts.orifice_mass
    return np.array(
        [
            n * mass,
            facts.cap,
            facts.annulus,
            (facts.cap - facts.annulus) * axle.stroke * n,
            n * (facts.seal_leakage + facts.valve_leakage),
            n * valves.holding_power[corner.valve],
            n * valves.peak_power[corner.valve],
            n * (facts.oil_volume + axle.lines * facts.line_volume + facts.store_oil),
        ]
    )


def central_unit(tables: Tables, choice: Choice) -> tuple[Floats, tuple[float, float]]:
    """The unit's row, whatever its faults, and the most that any tube passes as supply and as suction line, m³/s."""
    task, options = tables.task, tables.options
    supply, suction = options.supply[task.settings.pressure[choice.setting]], options.suction[choice.pump]
    row = np.empty(UNIT_COLUMNS)
    unit_numbers(
        options.pumps[choice.pump], row_of(task.catalogue.motors, choice.motor), choice.control, supply, suction,
        options.supply_mass, options.suction_mass, float(task.settings.high[choice.setting]), options.viscosity,
        options.torque_margin, unit_laws(), options.iron_share, row,
    )  # fmt: skip
    row[U_PUMP], row[U_MOTOR] = choice.pump, choice.motor
    return row, (float(supply.max()), float(suction.max()))


def account(tables: Tables, choice: Choice) -> Account:
    """Everything about one plant."""
    task = tables.task
    results = [corner_account(tables, i, choice.setting, corner) for i, corner in enumerate(choice.corners)]
    keys = [np.zeros(8), np.zeros(8)]
    for i, (corner, result) in enumerate(zip(choice.corners, results, strict=True)):
        side = 0 if task.demand.axles[i].position == "front" else 1
        keys[side] = corner_key(tables, i, corner, result[2])
    flows = np.array([duty_flows(task.duties, d, keys[0], keys[1]) for d in range(task.duties.share.size)])
    uses, points, facts = zip(*results, strict=True)
    unit, main_lines = central_unit(tables, choice)
    pair = (keys[0], keys[1])
    state = _plant(tables, choice, pair, unit, flows)
    return Account(tables, choice, uses, points, facts, pair, unit, main_lines, flows, state)


def recentred(state: Account, choice: Choice) -> Account:
    """`state` with the central unit and accumulator of `choice`, whose setting and corners must be the same."""
    unit, main_lines, old = state.unit, state.main_lines, state.choice
    if (choice.pump, choice.motor, choice.control) != (old.pump, old.motor, old.control):
        unit, main_lines = central_unit(state.tables, choice)
    centre = _plant(state.tables, choice, state.keys, unit, state.flows)
    return dataclasses.replace(state, choice=choice, unit=unit, main_lines=main_lines, plant=centre)


def _plant(tables: Tables, choice: Choice, keys: tuple[Floats, Floats], unit: Floats, flows: Floats) -> Plant:
    stores, s = tables.task.catalogue.accumulators, choice.setting
    return plant(
        keys[0],
        keys[1],
        unit,
        stores.mass[choice.accumulator],
        stores.volume[choice.accumulator],
        tables.delivered[s],
        tables.held[s],
        tables.task.duties,
        flows,
        tables.plant,
        tables.return_capacity[s],
        tables.return_mass,
        RESERVOIR_VOLUMES,
        tables.conductance,
        choice.cooled,
    )


def duty_of_point(tables: Tables, index: int, point: float) -> str:
    """Label of the duty to which load point number `point` of axle `index` belongs."""
    axle, demand = tables.task.axles[index], tables.task.demand.axles[index]
    if point < 0:
        return max(demand.duties, key=lambda d: d.bandwidth).label
    force = axle.force[int(point)]
    speed = axle.direction[int(point)] * axle.speeds[axle.speed_index[int(point)]]
    for duty in demand.duties:
        if any(p.force == force and p.velocity == speed for p in duty.points):
            return duty.label
    raise KeyError(point)


_UNITS = {
    "force": "N",
    "valve_opening": "share",
    "cavitation": "bar",
    "chamber_pressure": "bar",
    "pressure_rating": "bar",
    "buckling": "N",
    "outer_diameter": "mm",
    "retracted_length": "mm",
    "stiffness": "Hz",
    "valve_bandwidth": "Hz",
    "seal_friction": "N",
    "wall": "MPa",
    "gas_volume": "L",
    "gas_precharge": "bar",
    "gas_pressure": "bar",
    "gas_ratio": "1",
}


def _stall(axle: AxleTask, facts: CornerFacts, point: int, low: float, back: float) -> tuple[float, float]:
    """(greatest force at no flow in the direction of load point `point`, that point's own force), N; weakest for -1."""
    if facts.annulus == 0.0:  # the supply lifts, the load itself must push the oil back against the return
        if point >= 0 and axle.direction[point] < 0.0:
            return float(axle.force[point]), back * facts.cap
        return low * facts.cap, float(axle.force[point]) if point >= 0 else 0.0
    weak, strong = min(facts.cap, facts.annulus), max(facts.cap, facts.annulus)
    if point < 0:
        return low * weak - back * strong, 0.0
    force, direction = float(axle.force[point]), float(axle.direction[point])
    extends = direction > 0.0 or (direction == 0.0 and force >= 0.0)
    inlet, outlet = (facts.cap, facts.annulus) if extends else (facts.annulus, facts.cap)
    return low * inlet - back * outlet, abs(force)


def corner_constraints(state: Account, index: int) -> tuple[Constraint, ...]:
    """What one axle's corners must keep, with need and allowance in the trade's units."""
    tables, choice = state.tables, state.choice
    task, catalogue = tables.task, tables.task.catalogue
    axle, corner, facts = task.axles[index], choice.corners[index], state.facts[index]
    uses, points = state.uses[index], state.points[index]
    s = choice.setting
    high, low, back = (float(x[s]) for x in (task.settings.high, task.settings.supply_low, task.settings.back))
    limit = relief_factor() * high
    stall, load = _stall(axle, facts, int(points[0]), low, back)
    load *= task.factors.force
    rating = min(catalogue.lines.rating[corner.line], catalogue.valves.rating[corner.valve])
    values = {
        "force": (float(min(uses[0], 1e6)) * stall if stall > 0.0 else load, stall),
        "valve_opening": (uses[1] * task.factors.opening, task.factors.opening),
        "cavitation": (task.factors.lowest_chamber / BAR, facts.lowest_chamber / BAR),
        "chamber_pressure": (facts.highest_chamber / BAR, limit / BAR),
        "pressure_rating": (uses[4] * rating / BAR, rating / BAR),
        "buckling": (task.factors.buckling * high * facts.cap, facts.buckling_load),
        "outer_diameter": (facts.outer_diameter * 1e3, axle.outer_limit * 1e3),
        "retracted_length": (facts.retracted_length * 1e3, axle.length_limit * 1e3),
        "stiffness": (task.factors.stiffness_ratio * axle.bandwidth, facts.frequency),
        "valve_bandwidth": (task.factors.valve_ratio * axle.bandwidth, catalogue.valves.bandwidth[corner.valve]),
        "seal_friction": (facts.friction, axle.force_rms),
        "wall": (limit * task.factors.burst / 1e6, 490.0),
        **_gas_values(corner_gas(tables, index, s, corner)),
    }
    position: Position = task.demand.axles[index].position
    found = []
    for number, name in enumerate(CONSTRAINTS):
        need, allowance = values[name]
        if not bounded(allowance) or allowance > 1e20:
            continue
        single_acting, stalled = facts.annulus == 0.0, uses[0] > 1.0 + 1e-9
        if name == "valve_opening" and single_acting and facts.lowest_chamber <= 0.0:
            continue  # the load pulls at a cylinder that cannot: cavitation tells it
        if name == "valve_opening" and stalled:
            continue
        if name in ("cavitation", "chamber_pressure") and stalled and not single_acting:
            continue  # no opening moves the load, so these have no value
        use = float(min(uses[number], 1e6))
        met = bool(uses[number] <= 1.0 + 1e-9)
        of_travel = name.startswith("gas_") or (name == "chamber_pressure" and points[number] < 0)
        found.append(
            Constraint(
                name,
                position,
                met,
                use,
                float(min(need, 1e9)),
                float(allowance),
                _UNITS[name],
                FULL_TRAVEL if of_travel else duty_of_point(tables, index, float(points[number])),
            )
        )
    return tuple(found)


def _gas_values(gas: GasNumbers | None) -> dict[str, tuple[float, float]]:
    if gas is None:
        return dict.fromkeys(CONSTRAINTS[-GAS_TESTS:], (0.0, math.inf))
    return {
        "gas_volume": (gas.need[0] * 1e3, gas.allowance[0] * 1e3),
        "gas_precharge": (gas.need[1] / BAR, gas.allowance[1] / BAR),
        "gas_pressure": (gas.need[2] / BAR, gas.allowance[2] / BAR),
        "gas_ratio": (gas.need[3], gas.allowance[3]),
    }


def torques(state: Account) -> tuple[float, float]:
    """Pump torque at full speed and highest pressure in hot and in cold oil, N·m."""
    task, pumps, p = state.tables.task, state.tables.task.catalogue.pumps, state.choice.pump
    high = float(task.settings.high[state.choice.setting])
    hot, cold = (
        shaft_torque(
            pumps.displacement[p],
            state.unit[U_SPEED],
            high,
            task.oils.viscosity[t],
            pumps.drag[p],
            pumps.coulomb[p],
            pumps.constant[p],
        )
        for t in (1, 0)
    )
    return hot, cold


def governing_duty(state: Account, column: int) -> str:
    """Label of the duty with the greatest flow: column 0 peak, 2 mean."""
    values = np.maximum(state.flows[:, 0], state.flows[:, 1]) if column == 0 else state.flows[:, column]
    return state.tables.task.demand.axles[0].duties[int(np.argmax(values))].label


def leakage(state: Account) -> float:
    """Flow lost at all times in valves and seals, m³/s."""
    return float(state.keys[0][4] + state.keys[1][4])


def greatest_flow(state: Account) -> float:
    """The most the pump delivers, m³/s; 0 where it slips as much as it displaces."""
    flow = float(state.unit[U_QMAX])
    return flow if flow > NO_FLOW else 0.0


class _Need(NamedTuple):
    """One requirement of the central unit; governed_by: column of the flows whose greatest sets it, or a word."""

    name: str
    need: float
    allowance: float
    unit: str
    governed_by: int | str

    @property
    def use(self) -> float:
        if self.allowance > 0.0:
            return self.need / self.allowance
        return 1e6 if self.need > 0.0 else 0.0


def central_constraints(state: Account) -> tuple[Constraint, ...]:
    """What the central unit must keep."""
    return tuple(
        Constraint(
            need.name,
            "centre",
            need.use <= 1.0 + 1e-9,
            float(min(need.use, 1e6)),
            float(need.need),
            float(need.allowance),
            need.unit,
            need.governed_by if isinstance(need.governed_by, str) else governing_duty(state, need.governed_by),
        )
        for need in _central_needs(state)
    )


def central_uses(state: Account) -> list[float]:
    """Need over allowance of each requirement of the central unit."""
    return [min(need.use, 1e6) for need in _central_needs(state)]


def _central_needs(state: Account) -> list[_Need]:
    tables, choice, task = state.tables, state.choice, state.tables.task
    pumps, motors, stores = task.catalogue.pumps, task.catalogue.motors, task.catalogue.accumulators
    high = float(task.settings.high[choice.setting])
    hot, cold = torques(state)
    volume = float(stores.volume[choice.accumulator])
    peak, mean = 0, 2
    flow = float(state.flows[:, 2].max()) if volume > 0.0 else state.plant.peak_flow
    need_flow = (flow + leakage(state)) * tables.plant.flow_margin
    found = [
        _Need("pump_pressure", high / BAR, float(pumps.max_pressure[choice.pump]) / BAR, "bar", ""),
        _Need(
            "pump_speed",
            float(pumps.min_speed[choice.pump]) * 60 / (2 * np.pi),
            float(state.unit[U_SPEED]) * 60 / (2 * np.pi),
            "rpm",
            "",
        ),
        _Need("pump_flow", need_flow / L_MIN, greatest_flow(state) / L_MIN, "L/min", mean if volume > 0.0 else peak),
        _Need(
            "motor_torque",
            hot * task.spec.safety.torque_margin * task.margins.power,
            float(motors.rated_torque[choice.motor]),
            "N·m",
            mean,
        ),
        _Need("cold_start_torque", cold, float(motors.peak_torque[choice.motor]), "N·m", "cold start"),
    ]
    if volume > 0.0:
        share = tables.plant.unloading_reserve if choice.control == UNLOADING else 1.0
        gives = float(tables.delivered[choice.setting]) * volume * share
        ratio = (high + ATMOSPHERE) / (float(tables.precharge[choice.setting]) + ATMOSPHERE)
        found += [
            _Need("accumulator_volume", state.plant.store_needed * 1e3, gives * 1e3, "L", peak),
            _Need("accumulator_pressure", high / BAR, float(stores.max_pressure[choice.accumulator]) / BAR, "bar", ""),
            _Need("accumulator_ratio", ratio, float(stores.max_ratio[choice.accumulator]), "1", ""),
        ]
    elif choice.control == UNLOADING or task.settings.window[choice.setting] != 0:
        found.append(_Need("accumulator_volume", max(_burst(state), SOME_STORE) * 1e3, 0.0, "L", peak))
    delivers = greatest_flow(state) / L_MIN
    need_return = max(state.plant.peak_flow, state.plant.pump_mean) / L_MIN
    returns = float(tables.return_capacity[choice.setting].max()) / L_MIN
    tank = reservoir_oil(state) * (1.0 + tables.plant.air_share) * 1e3
    found += [
        _Need("supply_line", delivers, state.main_lines[0] / L_MIN, "L/min", ""),
        _Need("suction_line", delivers, state.main_lines[1] / L_MIN, "L/min", "cold start"),
        _Need("return_line", need_return, returns, "L/min", peak),
        _Need("reservoir", tank, float(RESERVOIR_VOLUMES[-1]) * 1e3, "L", mean),
    ]
    if bounded(tables.plant.current_limit):
        found.append(_Need("bus_current", state.plant.current, tables.plant.current_limit, "A", peak))
    if bounded(tables.plant.mass_limit):
        found.append(_Need("mass", state.plant.mass, tables.plant.mass_limit, "kg", ""))
    pressure = task.spec.limits.pressure
    if pressure is not None:
        found.append(_Need("supply_pressure", high / BAR, pressure / BAR, "bar", ""))
    return found


def _burst(state: Account) -> float:
    """Oil the worst burst takes beyond the pump, m³, whether or not a store is fitted."""
    duties, usable = state.tables.task.duties, state.unit[U_QMAX] / state.tables.plant.flow_margin - leakage(state)
    return max(
        float(burst_volume(out, back, duties.ripple[d], burst, duties.burst[d], usable))
        for d, (out, back, _, burst) in enumerate(state.flows)
    )


def line_tubes(state: Account) -> tuple[int, int, int]:
    """Rows of the supply, suction and return tubes."""
    packed = round(float(state.unit[U_TUBES]))
    return packed // 1000, packed % 1000, int(state.plant.return_tube)


def reservoir_oil(state: Account) -> float:
    """Oil in the reservoir at its highest level, m³."""
    tables, keys, s = state.tables, state.keys, state.choice.setting
    store = float(tables.held[s]) * float(tables.task.catalogue.accumulators.volume[state.choice.accumulator])
    lowest = state.plant.pump_mean * tables.plant.dwell
    difference = float(keys[0][3] + keys[1][3]) + store
    return lowest + difference + tables.plant.swelling * (lowest + difference + float(keys[0][7] + keys[1][7]))
