"""The exact search: halves of both axles, central units, and their join, for one medium.

Returns the front of undominated plants over mass, mean electric power and peak current, and reads from it the least
under the user's objective. Counts what was covered. Evaluates no physics itself.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
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
from models.quantity import UNITS
from models.sizing.catalogue import Floats, mass_law, rule
from models.sizing.central import (
    MAIN_JOINTS,
    U_MOTOR,
    UNIT_COLUMNS,
    UnitLaws,
    UnitTask,
    line_masses,
    rows_of,
    store_table,
    suction_table,
    tube_capacity,
)
from models.sizing.corner import MassLaws
from models.sizing.corner_store import CHARGE_TEMPERATURE, STORE_OK, shell_table
from models.sizing.half_search import STAGES, enumerate_halves, halves_room
from models.sizing.half_tables import F_MISS, F_STAGE, cylinder_facts, cylinder_room, line_facts, valve_facts
from models.sizing.halves import KEYS, CornerRows, MeasuredCorner, corner_rows, line_drops
from models.sizing.join import join, join_room
from models.sizing.plant import PlantTask
from models.sizing.task import RAIL_WINDOWS, UNBOUNDED, Task, relief_factor, unloading_reserve
from models.sizing.unit_search import UnitOptions

Objective = Literal["mass", "power", "balanced"]

FAN_SHARE = 0.03
"""Fan power per heat rejected by an air-blast cooler. Source: [estimate]."""

HALF_CAPACITY = 20_000
FRONT_CAPACITY = 20_000
UNIT_CAPACITY = 20_000

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
    settings: Floats  # as `join` reads them
    corner_rows: tuple[CornerRows, ...]
    options: UnitOptions


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
        *mass_law("relief_valve"),
        *mass_law("unloading_valve"),
        *mass_law("pump_coupling"),
        *mass_law("line_joint"),
        *mass_law("check_valve"),
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


def build_tables(task: Task, halves: Sequence[Halves] | None = None) -> Tables:
    """Everything that can be computed before the join; `halves` of each axle are enumerated unless given."""
    catalogue, relief = task.catalogue, relief_factor()
    laws, measured = corner_laws(), measured_corner(task)
    gains, transitions = valve_edges(task)
    rows = tuple(corner_rows(axle, catalogue.cylinders, catalogue.lines, catalogue.valves) for axle in task.axles)
    if halves is None:
        with ThreadPoolExecutor(len(rows)) as axles:  # the kernels let go of the interpreter's lock
            halves = list(
                axles.map(
                    lambda i: _halves(task, i, rows[i], laws, measured, gains, transitions, _drops(task, rows[i])),
                    range(len(rows)),
                )
            )
    delivered, held, precharge = _stores(task, relief)
    plant = plant_task(task)
    settings = np.ascontiguousarray(
        np.column_stack((task.settings.pressure, task.settings.window, task.settings.high, delivered, held, precharge))
    )
    return_mass = line_masses(catalogue.tubes, plant.return_length, plant.oil_density, unit_laws())
    return Tables(
        task, laws, measured, gains, transitions, tuple(h.drops for h in halves), tuple(h.choices for h in halves),
        tuple(h.keys for h in halves), tuple(h.first for h in halves), np.empty((0, UNIT_COLUMNS)),
        np.zeros((catalogue.pressures.size, 2), np.int64), delivered, held, precharge,
        plant, _return_capacities(task), return_mass, reservoir_conductances(task, plant.temperature_rise),
        sum(h.evaluated for h in halves), sum(h.feasible for h in halves), tuple(h.nearest for h in halves), settings,
        rows, unit_options(task),
    )  # fmt: skip


def halves_alone(task: Task, index: int) -> Halves:
    """The halves of one axle as `build_tables` finds them, and nothing of the centre."""
    catalogue = task.catalogue
    rows = corner_rows(task.axles[index], catalogue.cylinders, catalogue.lines, catalogue.valves)
    gains, transitions = valve_edges(task)
    return _halves(task, index, rows, corner_laws(), measured_corner(task), gains, transitions, _drops(task, rows))


def relaxed_tables(like: Tables, task: Task) -> Tables:
    """Tables of a task that differs from that of `like` in its ratios alone: only the halves are enumerated anew."""
    with ThreadPoolExecutor(len(like.corner_rows)) as axles:
        halves = list(
            axles.map(
                lambda i: _halves(
                    task, i, like.corner_rows[i], like.laws, like.measured, like.gains, like.transitions, like.drops[i]
                ),
                range(len(like.corner_rows)),
            )
        )
    return dataclasses.replace(
        like,
        task=task,
        choices=tuple(h.choices for h in halves),
        keys=tuple(h.keys for h in halves),
        first=tuple(h.first for h in halves),
        units=np.empty((0, UNIT_COLUMNS)),
        unit_first=np.zeros((task.catalogue.pressures.size, 2), np.int64),
        halves_evaluated=sum(h.evaluated for h in halves),
        halves_feasible=sum(h.feasible for h in halves),
        nearest=tuple(h.nearest for h in halves),
    )


def _drops(task: Task, rows: CornerRows) -> Floats:
    return line_drops(rows.numbers, rows.speeds, rows.cylinders, rows.lines, task.oils)


@dataclass(frozen=True)
class Halves:
    """One axle's halves worth joining, by setting, and how many were judged."""

    drops: Floats
    choices: NDArray[np.int64]
    keys: Floats
    first: NDArray[np.int64]
    evaluated: int
    feasible: int
    nearest: Floats


def _halves(
    task: Task,
    index: int,
    rows: CornerRows,
    laws: MassLaws,
    measured: MeasuredCorner,
    gains: Floats,
    transitions: Floats,
    drops: Floats,
) -> Halves:
    catalogue, settings, relief = task.catalogue, task.settings, relief_factor()
    numbers, points, speeds, cylinders, lines, valves = rows
    facts = cylinder_room(catalogue.pressures, cylinders)
    cylinder_facts(
        numbers, float(speeds[-1]), cylinders, catalogue.pressures, task.oils, task.factors, laws, measured, relief,
        facts,
    )  # fmt: skip
    stores, misses = shell_table(task, index, relief)
    unsprung = (facts[..., F_STAGE] < 0.0) & ~np.any(stores[..., STORE_OK] > 0.0, axis=2)
    facts[unsprung, F_STAGE], facts[unsprung, F_MISS] = STAGES.index("gas_spring"), misses[unsprung]
    table = np.column_stack(
        (settings.pressure, settings.high, settings.supply_low, settings.back, settings.makeup, settings.modulus)
    )
    capacity = HALF_CAPACITY
    while True:
        found, room = halves_room(speeds, valves, gains, table, capacity)
        enumerate_halves(
            numbers, points, speeds, cylinders, lines, valves, gains, transitions, table, facts,
            line_facts(numbers, lines, float(task.oils.density[0]), laws),
            valve_facts(valves, catalogue.pressures, laws), drops, task.factors, laws, np.array(task.spools),
            task.checks[0], task.checks[1], relief, stores, found, room,
        )  # fmt: skip
        choices, keys, first, tally, nearest = found
        if first[-1] >= 0:
            break
        capacity *= 4
    kept = int(first[-1])
    return Halves(drops, choices[:kept].copy(), keys[:kept].copy(), first, int(tally[0]), int(tally[1]), nearest)


def _sides(
    task: Task, keys: tuple[Floats, ...], first: tuple[NDArray[np.int64], ...]
) -> tuple[tuple[Floats, NDArray[np.int64]], tuple[Floats, NDArray[np.int64]]]:
    """Keys and first rows of front and rear; an axle without actuators has one half of nothing at each setting."""
    count = task.settings.high.size
    nothing = (np.zeros((count, KEYS)), np.arange(count + 1))
    found = {axle.position: (keys[i], first[i]) for i, axle in enumerate(task.demand.axles)}
    return found.get("front", nothing), found.get("rear", nothing)


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


def unit_options(task: Task) -> UnitOptions:
    """All pumps and motors with the lines that serve them; motors by speed and mass, as `motor_order` says."""
    catalogue, wanted, laws = task.catalogue, unit_task(task), unit_laws()
    tubes, density = catalogue.tubes, float(task.oils.density[0])
    supply = np.array(
        [
            tube_capacity(
                tubes, wanted.supply_length, task.spec.safety.line_loss_fraction * float(pressure),
                wanted.supply_velocity, task.oils, relief_factor() * float(pressure),
            )
            for pressure in catalogue.pressures
        ]
    )  # fmt: skip
    return UnitOptions(
        pumps=rows_of(catalogue.pumps),
        motors=np.ascontiguousarray(rows_of(catalogue.motors)[motor_order(task)]),
        controls=np.array(task.controls),
        supply=supply,
        suction=suction_table(catalogue.pumps, tubes, task.oils, wanted),
        supply_mass=line_masses(tubes, wanted.supply_length, density, laws),
        suction_mass=line_masses(tubes, wanted.suction_length, density, laws),
        pressures=np.array(catalogue.pressures),
        viscosity=task.oils.viscosity,
        torque_margin=wanted.torque_margin,
        iron_share=LINEAR_IRON_SHARE,
    )


def motor_order(task: Task) -> NDArray[np.int64]:
    """Catalogue rows of the motors in the order the search takes them."""
    return np.lexsort((task.catalogue.motors.mass, task.catalogue.motors.rated_speed))


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
    return join_tables(build_tables(task))


def join_tables(tables: Tables) -> Found:
    """The exact front of a task's tables."""
    task = tables.task
    stores = rows_of(task.catalogue.accumulators)
    front_side, rear_side = _sides(task, tables.keys, tables.first)
    pressures = task.catalogue.pressures.size
    capacity, unit_capacity = FRONT_CAPACITY, UNIT_CAPACITY
    while True:
        joined, room = join_room(
            pressures, task.duties.share.size, stores.shape[0], tables.return_mass.size,
            int(np.diff(rear_side[1]).max()), capacity, unit_capacity,
        )  # fmt: skip
        count = join(
            *front_side, *rear_side, tables.options, unit_laws(), _spread(pressures), tables.settings, stores,
            np.argsort(stores[:, 0], kind="stable"), task.duties, tables.plant, tables.return_capacity,
            tables.return_mass, RESERVOIR_VOLUMES, tables.conductance, joined, room,
        )  # fmt: skip
        if count >= 0:
            break
        capacity, unit_capacity = 4 * capacity, 4 * unit_capacity
    best, designs, units, unit_first, tally = joined
    kept = units[: unit_first.max()].copy()
    kept[:, U_MOTOR] = motor_order(task)[kept[:, U_MOTOR].astype(np.int64)]
    tables = dataclasses.replace(tables, units=kept, unit_first=unit_first)
    order = best[:count, 3].argsort()
    front = np.hstack((best[:count, :3], designs[best[:count, 3].astype(np.int64)]))[order]
    return Found(tables, front, raw_designs(task), int(tally[0]), int(tally[1]))


def _spread(count: int) -> NDArray[np.int64]:
    """Numbers below `count`, each halving the widest gap: a front over all pressures stands early to bound by."""
    taken, gaps = [], [(0, count)]
    while gaps:
        low, high = gaps.pop(0)
        middle = (low + high) // 2
        taken.append(middle)
        gaps += [gap for gap in ((low, middle), (middle + 1, high)) if gap[0] < gap[1]]
    return np.array(taken, dtype=np.int64)


def raw_designs(task: Task) -> float:
    """Combinations of the sizes allowed, before anything is ruled out."""
    catalogue, settings = task.catalogue, task.settings
    single = int(np.count_nonzero(~catalogue.cylinders.through))
    spools = single * len(task.spools) + (catalogue.cylinders.through.size - single)
    half = (
        spools
        * catalogue.corner_accumulators.volume.size
        * catalogue.lines.bore.size
        * catalogue.valves.mass.size
        * sum(task.checks)
    )
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
