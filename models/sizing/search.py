"""The exact search: halves of both axles, central units, and their join, for one medium.

Returns the front of undominated plants over mass, mean electric power and peak current, and reads from it the least
under the user's objective. Counts what was covered. Evaluates no physics itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from models.drive.machine import LINEAR_IRON_SHARE
from models.heat import surface_conductance
from models.hydraulics.accumulator import nitrogen
from models.hydraulics.filter import rated_flow_for
from models.hydraulics.reservoir import tank_box
from models.oil import cubical_expansion
from models.quantity import UNITS, ZERO_CELSIUS
from models.sizing.catalogue import Floats, mass_law, rule
from models.sizing.central import (
    MAIN_JOINTS,
    UNIT_COLUMNS,
    UnitLaws,
    UnitTask,
    build_units,
    line_mass,
    store_table,
    suction_table,
    tube_capacity,
)
from models.sizing.corner import MassLaws
from models.sizing.halves import MeasuredCorner, enumerate_halves, line_drop_table
from models.sizing.join import PlantTask, join
from models.sizing.task import RAIL_WINDOWS, UNBOUNDED, Task, relief_factor, unloading_reserve

Objective = Literal["mass", "power", "balanced"]

CHARGE_TEMPERATURE = ZERO_CELSIUS + 20.0
"""Temperature at which an accumulator is charged, K. Source: [common_practice]."""

FAN_SHARE = 0.03
"""Fan power per heat rejected by an air-blast cooler. Source: [estimate]."""

HALF_CAPACITY = 400_000
FRONT_CAPACITY = 20_000

RESERVOIR_VOLUMES = np.array(
    [m * 10.0**e for e in range(-5, 0) for m in (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)]
)
"""Total reservoir volumes, m³: R10 preferred numbers from 0.01 L to 800 L. Source: [iso3]."""


@dataclass(frozen=True)
class Tables:
    """All options of a task, before they are joined."""

    task: Task
    laws: MassLaws
    measured: MeasuredCorner
    gains: Floats
    transitions: Floats
    drops: tuple[Floats, ...]
    choices: tuple[NDArray[np.int64], ...]
    keys: tuple[Floats, ...]
    first: tuple[NDArray[np.int64], ...]
    units: Floats
    unit_first: NDArray[np.int64]
    delivered: Floats
    held: Floats
    precharge: Floats
    plant: PlantTask
    return_capacity: Floats
    return_mass: Floats
    conductance: Floats
    halves_evaluated: int
    halves_feasible: int
    nearest: tuple[Floats, ...]


@dataclass(frozen=True)
class Found:
    """A search's outcome: the front's rows (mass, power, current, indices) and the counts."""

    tables: Tables
    front: Floats
    raw_designs: float
    evaluated: int
    feasible: int


def corner_laws() -> MassLaws:
    """Mass laws of corner parts."""
    return MassLaws(*mass_law("valve_block"), *mass_law("line_joint"), *mass_law("sensors"), *mass_law("check_valve"))


def unit_laws() -> UnitLaws:
    """Mass laws of the central unit's small parts."""
    return UnitLaws(
        *mass_law("relief_valve"), *mass_law("unloading_valve"), *mass_law("pump_coupling"), *mass_law("line_joint")
    )


def measured_corner(task: Task) -> MeasuredCorner:
    """The user's measured cylinder as numbers, -1 where the formulas serve."""
    cylinder = task.spec.measured.cylinder
    if cylinder is None:
        return MeasuredCorner(-1.0, -1.0)
    return MeasuredCorner(cylinder.breakaway_pressure, cylinder.leakage / cylinder.leakage_pressure)


def valve_edges(task: Task) -> tuple[Floats, Floats]:
    """Gain and transition flow of each valve's A edges in cold and hot oil, [valve, oil]."""
    from models.hydraulics.valve import metering_edge

    flows = task.catalogue.valves.rated_flow
    gains, transitions = np.empty((flows.size, 2)), np.empty((flows.size, 2))
    for i, flow in enumerate(flows):
        for t in range(2):
            edge = metering_edge(float(flow), 1.0, task.oils.density[t], task.oils.viscosity[t])
            gains[i, t], transitions[i, t] = edge
    return gains, transitions


def plant_task(task: Task) -> PlantTask:
    """Limits, margins and mass laws of the whole plant."""
    spec = task.spec
    limit = spec.oil_hot
    if spec.limits.surface_temperature is not None:
        limit = min(limit, spec.limits.surface_temperature)
    filter_factor = rated_flow_for(
        1.0,
        float(task.oils.viscosity[0]),
        UNITS["bar"].to_si(rule("filter_drop_cold_max")),
        UNITS["mm2_s"].to_si(30.0) * float(task.oils.density[0]),
        UNITS["bar"].to_si(rule("filter_drop_rated")),
    )
    return PlantTask(
        flow_margin=spec.safety.flow_margin * task.margins.flow,
        unloading_reserve=unloading_reserve(),
        dwell=spec.safety.reservoir_dwell,
        air_share=rule("reservoir_air_space"),
        swelling=cubical_expansion(task.medium, spec.oil_hot) * (spec.oil_hot - spec.oil_cold),
        oil_density=float(task.oils.density[0]),
        heat_capacity=task.hot.heat_capacity,
        temperature_rise=limit - spec.ambient,
        voltage=spec.bus.voltage,
        current_limit=spec.bus.peak_current if spec.bus.peak_current is not None else UNBOUNDED,
        mass_limit=spec.limits.mass if spec.limits.mass is not None else UNBOUNDED,
        standby_share=task.demand.standby_share,
        filter_flow_factor=filter_factor,
        filter_mass=mass_law("filter")[0],
        filter_power=mass_law("filter")[1],
        reservoir_mass=mass_law("reservoir")[0],
        reservoir_power=mass_law("reservoir")[1],
        cooler_mass=mass_law("cooler")[0],
        cooler_power=mass_law("cooler")[1],
        fan_share=FAN_SHARE,
        return_length=spec.layout.supply_line or 0.0,
    )


def reservoir_conductances(task: Task, rise: float) -> Floats:
    """Heat the tank of each standard volume gives off per kelvin, its wall `rise` above the ambient, W/K."""
    spec = task.spec
    emissivity = rule("reservoir_emissivity")
    return np.array(
        [
            surface_conductance(tank_box(float(v)), spec.ambient + rise, spec.ambient, spec.air_speed, emissivity)
            for v in RESERVOIR_VOLUMES
        ]
    )


def build_tables(task: Task) -> Tables:
    """Everything that can be computed before the join."""
    catalogue, settings = task.catalogue, task.settings
    laws, measured, relief = corner_laws(), measured_corner(task), relief_factor()
    gains, transitions = valve_edges(task)
    drops, choices, keys, first, nearest = [], [], [], [], []
    evaluated = feasible = 0
    for axle in task.axles:
        table = line_drop_table(axle, catalogue.cylinders, catalogue.lines, task.oils)
        capacity = HALF_CAPACITY
        while True:
            found = enumerate_halves(
                axle, catalogue.cylinders, catalogue.lines, catalogue.valves, gains, transitions, task.oils, settings,
                table, task.factors, laws, measured, np.array(task.spools), task.checks[0], task.checks[1], relief,
                capacity,
            )  # fmt: skip
            if found[3] >= 0:
                break
            capacity *= 4
        drops.append(table)
        choices.append(found[0])
        keys.append(found[1])
        first.append(found[2])
        nearest.append(found[5])
        evaluated += found[3]
        feasible += found[4]
    plant = plant_task(task)
    units, unit_first = _units(task, relief)
    delivered, held, precharge = _stores(task, relief)
    return_capacity = _return_capacities(task)
    laws_unit = unit_laws()
    return_mass = np.array(
        [
            line_mass(
                catalogue.tubes, i, plant.return_length, plant.oil_density, laws_unit.joint, laws_unit.joint_power
            )
            for i in range(catalogue.tubes.bore.size)
        ]
    )
    return Tables(
        task, laws, measured, gains, transitions, tuple(drops), tuple(choices), tuple(keys), tuple(first), units,
        unit_first, delivered, held, precharge, plant, return_capacity, return_mass,
        reservoir_conductances(task, plant.temperature_rise), evaluated, feasible, tuple(nearest),
    )  # fmt: skip


def unit_task(task: Task) -> UnitTask:
    """Margins and lines of the central unit."""
    spec = task.spec
    return UnitTask(
        torque_margin=spec.safety.torque_margin * task.margins.power,
        suction_length=spec.layout.suction_line or 0.0,
        supply_length=spec.layout.supply_line or 0.0,
        suction_velocity=rule("suction_velocity_high"),
        supply_velocity=rule("pressure_velocity_high"),
    )


def _units(task: Task, relief: float) -> tuple[Floats, NDArray[np.int64]]:
    catalogue, wanted, laws = task.catalogue, unit_task(task), unit_laws()
    suction = suction_table(catalogue.pumps, catalogue.tubes, task.oils, wanted)
    rows, first = [], [0]
    present = set(task.settings.pressure.tolist())
    for p, pressure in enumerate(catalogue.pressures):
        if p in present:
            rows.append(
                build_units(
                    catalogue.pumps, catalogue.motors, catalogue.tubes, suction, np.array(task.controls),
                    float(pressure), task.spec.safety.line_loss_fraction * float(pressure), relief, task.oils, wanted,
                    laws, LINEAR_IRON_SHARE,
                )
            )  # fmt: skip
        else:
            rows.append(np.empty((0, UNIT_COLUMNS)))
        first.append(first[-1] + rows[-1].shape[0])
    return np.ascontiguousarray(np.vstack(rows)), np.array(first)


def _stores(task: Task, relief: float) -> tuple[Floats, Floats, Floats]:
    spec, settings = task.spec, task.settings
    gas = nitrogen()
    known: dict[tuple[float, float], tuple[float, float, float]] = {}
    rows = []
    for high, low in zip(settings.high, settings.low, strict=True):
        pair = (float(high), float(low))
        if pair not in known:
            known[pair] = store_table(
                gas, task.catalogue.accumulators, *pair, spec.safety.precharge_ratio, CHARGE_TEMPERATURE,
                spec.oil_cold, spec.oil_hot, relief,
            )  # fmt: skip
        rows.append(known[pair])
    data = np.nan_to_num(np.array(rows).T, nan=0.0)
    return np.ascontiguousarray(data[0]), np.ascontiguousarray(data[1]), np.ascontiguousarray(data[2])


def _return_capacities(task: Task) -> Floats:
    """Greatest flow of each tube as return line, [setting, tube]."""
    settings, length = task.settings, task.spec.layout.supply_line or 0.0
    velocity = rule("return_velocity_high")
    known: dict[tuple[float, float], Floats] = {}
    for pair in zip(settings.line_allowance.tolist(), settings.back.tolist(), strict=True):
        if pair not in known:
            known[pair] = tube_capacity(task.catalogue.tubes, length, pair[0], velocity, task.oils, 2.0 * pair[1])
    return np.array(
        [known[pair] for pair in zip(settings.line_allowance.tolist(), settings.back.tolist(), strict=True)]
    )


def run_search(task: Task) -> Found:
    """The exact front of a task; empty when no plant keeps every constraint."""
    tables = build_tables(task)
    catalogue, settings = task.catalogue, task.settings
    sides = []
    for position in ("front", "rear"):
        index = next((i for i, axle in enumerate(task.demand.axles) if axle.position == position), None)
        if index is None:
            first = np.arange(settings.high.size + 1)
            sides.append((np.zeros((settings.high.size, 8)), first))
        else:
            sides.append((tables.keys[index], tables.first[index]))
    capacity = FRONT_CAPACITY
    while True:
        front, count, evaluated, feasible = join(
            sides[0][0], sides[0][1], sides[1][0], sides[1][1], tables.units, tables.unit_first,
            _middle_out(settings.pressure), settings.pressure, settings.window, settings.high, catalogue.accumulators, tables.delivered, tables.held, tables.precharge,
            task.duties, tables.plant, tables.return_capacity, tables.return_mass, RESERVOIR_VOLUMES,
            tables.conductance, capacity,
        )  # fmt: skip
        if count >= 0:
            break
        capacity *= 4
    return Found(tables, front, raw_designs(task), evaluated, feasible)


def _middle_out(pressure: NDArray[np.int64]) -> NDArray[np.int64]:
    """Setting numbers from the middle pressures outward: bounds bite sooner. Within a pressure the order stays."""
    distance = np.abs(pressure - np.median(pressure))
    return np.argsort(distance, kind="stable")


def raw_designs(task: Task) -> float:
    """Combinations of the sizes allowed, before anything is ruled out."""
    catalogue, settings = task.catalogue, task.settings
    single = int(np.count_nonzero(~catalogue.cylinders.through))
    spools = single * len(task.spools) + (catalogue.cylinders.through.size - single)
    half = spools * catalogue.lines.bore.size * catalogue.valves.mass.size * sum(task.checks)
    centre = catalogue.pumps.mass.size * catalogue.motors.mass.size * len(task.controls)
    centre *= catalogue.accumulators.volume.size * catalogue.tubes.bore.size**2
    return float(settings.high.size) * float(half) ** len(task.axles) * float(centre)


def choose(front: Floats, objective: Objective) -> int:
    """Row of the front that is least under the objective; ties fall to the earlier setting, then the parts' order."""
    mass, power = front[:, 0], front[:, 1]
    value = {
        "mass": mass,
        "power": power,
        "balanced": mass / mass.min() + power / power.min(),
    }[objective]
    ties = np.flatnonzero(value <= value.min() * (1.0 + 1e-12))
    return int(min(ties, key=lambda i: tuple(front[i, 3:])))


def windows_tried() -> tuple[float, ...]:
    """Rail windows of the search."""
    return RAIL_WINDOWS


def joints() -> int:
    """Connectors counted in each central line."""
    return MAIN_JOINTS


def bounded(value: float) -> bool:
    """Whether a limit was given."""
    return math.isfinite(value) and value < UNBOUNDED
