"""`size(spec, demand, margins)`: the least plant under the objective, why, why not its neighbours, or the nearest miss.

Pure: same arguments, same result. The customary stiffness and valve ratios are kept when any plant keeps them; else the
search runs again at ratio 1 and says so. With nothing feasible the refused plant that came furthest is returned with
all it misses. Knows the order of these steps and nothing of their physics.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

import fluids_data
from models import oil
from models.demand import Demand, Margins
from models.quantity import ZERO_CELSIUS, OutOfRange
from models.sizing.account import Account, Choice, CornerChoice, account
from models.sizing.cautions import cautions
from models.sizing.central import SPEED, U_CONTROL, U_MOTOR, U_PUMP
from models.sizing.describe import describe
from models.sizing.design import Alternative, MediumTried, Search, Sizing, Unmet
from models.sizing.ledgers import all_ledgers
from models.sizing.refusals import refusals
from models.sizing.search import Found, Tables, build_tables, choose, run_search
from models.sizing.task import CONTROLS, Task, build_task, medium_of
from models.spec import Spec
from models.warning import DesignWarning

FRONT_SHOWN = 12
"""Alternatives listed, spread over the front."""

WOULD_HELP = {
    "force": "a higher pressure, a larger bore, or less force",
    "valve_opening": "a larger valve, a higher pressure, or less velocity",
    "cavitation": "a through rod, a matched spool, anti-cavitation checks with a biased return, or a higher pressure",
    "chamber_pressure": "a through rod, a larger annulus, or a higher pressure rating",
    "pressure_rating": "a lower supply pressure, or hoses and valves of a higher rating",
    "buckling": "a thicker rod, a lower pressure, less stroke, or a smaller bore",
    "outer_diameter": "a higher pressure with a smaller bore, or more room around the cylinder",
    "retracted_length": "a single rod, less travel, or more room for length",
    "stiffness": "shorter or wider lines, stiffer hoses, less free air, a larger bore, or a lower frequency of duty",
    "valve_bandwidth": "a faster valve, or a duty of lower frequency",
    "seal_friction": "clearance seals, a lower pressure, or more force",
    "wall": "a lower pressure",
    "pump_pressure": "a lower supply pressure, or a pump of a higher rating",
    "pump_speed": "a faster motor, or a pump that runs slower",
    "pump_flow": "a larger pump or a faster motor, an accumulator, or a smaller bore at a higher pressure",
    "motor_torque": "a larger motor, a smaller pump, or a lower pressure",
    "cold_start_torque": "a thinner medium, a warmer start, or a motor with more peak torque",
    "accumulator_volume": "a larger accumulator, a pump with more flow, or a shorter burst",
    "accumulator_pressure": "a lower supply pressure, or an accumulator of a higher rating",
    "accumulator_ratio": "a narrower rail window, or a type that bears a larger ratio",
    "return_line": "a wider return line, or a higher loss allowed in it",
    "bus_current": "a higher bus voltage, an accumulator with a smaller pump, or a bus that gives more",
    "mass": "a higher pressure, the objective 'mass', less dwell in the reservoir, or a larger mass limit",
    "supply_pressure": "a higher pressure limit; none of the supply settings lies below it",
}


@dataclass(frozen=True)
class Sized:
    """A sizing with its warnings and the account behind it."""

    sizing: Sizing
    warnings: tuple[DesignWarning, ...]
    account: Account


def size(spec: Spec, demand: Demand, margins: Margins, progress: Callable[[str, float], None] | None = None) -> Sized:
    """Size a plant for a completed spec and its demand.

    Raises OutOfRange when the named medium is not valid at the oil temperatures; with medium `auto`, only when none is.
    """
    tried: list[MediumTried] = []
    if spec.medium != "auto":
        return _size_with(spec, demand, margins, medium_of(spec), tried)
    best: tuple[tuple[bool, float], str] | None = None
    candidates = media_allowed(spec)
    outcomes: dict[str, Found | None] = {}
    for number, name in enumerate(candidates):
        if progress is not None:
            progress(f"medium {name}", number / len(candidates))
        try:
            task = build_task(spec, demand, margins, medium_of(spec, name), _customary(spec))
        except OutOfRange as refusal:
            tried.append(MediumTried(name, False, None, None, None, str(refusal)))
            continue
        found = run_search(task)
        outcomes[name] = found
        if found.front.shape[0] == 0:
            tried.append(MediumTried(name, False, None, None, None, "no plant keeps every requirement"))
            continue
        row = found.front[choose(found.front, spec.objective)]
        tried.append(MediumTried(name, True, float(row[0]), float(row[1]), float(row[2]), ""))
    feasible = [t for t in tried if t.feasible and t.mass is not None and t.mean_power is not None]
    if feasible:
        best = min(((True, _merit(t, feasible, spec.objective)), t.medium) for t in feasible)
        chosen = best[1]
    elif outcomes:
        chosen = next(iter(outcomes))
    else:
        raise OutOfRange(
            "oil_cold_c to oil_hot_c",
            spec.oil_cold - ZERO_CELSIUS,
            None,
            None,
            "°C: no medium is valid there",
            "common_practice",
        )
    return _size_with(spec, demand, margins, medium_of(spec, chosen), tried)


def _merit(tried: MediumTried, all_tried: list[MediumTried], objective: str) -> float:
    mass, power = tried.mass or math.inf, tried.mean_power or math.inf
    if objective == "mass":
        return mass
    if objective == "power":
        return power
    least_mass = min(t.mass or math.inf for t in all_tried)
    least_power = min(t.mean_power or math.inf for t in all_tried)
    return mass / least_mass + power / least_power


def media_allowed(spec: Spec) -> tuple[str, ...]:
    """Media an `auto` search tries: all whose seals are among the ordinary ones (nitrile or fluoro-rubber)."""
    return tuple(name for name, medium in fluids_data.load_media().items() if {"nbr", "fkm"} & set(medium.seals))


def _customary(spec: Spec) -> tuple[float, float]:
    return spec.safety.stiffness_ratio, spec.safety.valve_bandwidth_ratio


def _size_with(spec: Spec, demand: Demand, margins: Margins, medium: oil.Medium, tried: list[MediumTried]) -> Sized:
    task = build_task(spec, demand, margins, medium, _customary(spec))
    single = single_choice(task)
    if single is not None:
        tables = build_tables(task)
        state = account(tables, single)
        return _result(state, None, tried, ())
    found = run_search(task)
    relaxed: tuple[str, ...] = ()
    if found.front.shape[0] == 0 and max(_customary(spec)) > 1.0:
        looser = run_search(build_task(spec, demand, margins, medium, (1.0, 1.0)))
        if looser.front.shape[0] > 0:
            found, relaxed = looser, ("stiffness_ratio", "valve_bandwidth_ratio")
    if found.front.shape[0] > 0:
        row = found.front[choose(found.front, spec.objective)]
        return _result(account(found.tables, choice_of(found, row)), found, tried, relaxed)
    return _result(nearest(found), found, tried, ())


def choice_of(found: Found, row: np.ndarray) -> Choice:
    """The catalogue rows of a plant of the front."""
    tables = found.tables
    s, unit, store = int(row[3]), tables.units[int(row[6])], int(row[7])
    corners = []
    for index, axle in enumerate(tables.task.demand.axles):
        half = tables.choices[index][int(row[4] if axle.position == "front" else row[5])]
        corners.append(_corner_choice(half))
    return Choice(s, tuple(corners), int(unit[U_PUMP]), int(unit[U_MOTOR]), int(unit[U_CONTROL]), store)


def _corner_choice(half: np.ndarray) -> CornerChoice:
    return CornerChoice(int(half[0]), int(half[1]), int(half[2]), int(half[3]), bool(half[4]))


def single_choice(task: Task) -> Choice | None:
    """The one plant a user's shelf allows, when it holds one size of each part; else None."""
    catalogue, stock = task.catalogue, task.spec.stock
    measured = task.spec.measured
    given: list[list[float] | None] = [stock.bore, stock.rod, stock.pressure, stock.line_bore, stock.accumulator_volume]
    given += [stock.valve_rated_flow] if measured.valve is None else []
    given += [stock.pump_displacement, stock.motor_power] if measured.pump is None else []
    if any(value is None or len(value) != 1 for value in given):
        return None
    bias = stock.return_bias or [0.0]
    checks = (stock.anti_cavitation or [False])[0]
    control = CONTROLS.index((stock.pump_control or ["speed"])[0])
    arrangement = (stock.rod_arrangement or ["single"])[0] == "through"
    seals = catalogue.cylinders.clearance > 0.0
    rows = np.flatnonzero(catalogue.cylinders.through == arrangement)
    if rows.size == 0:
        return None
    wanted = None if stock.seal is None else stock.seal[0] == "clearance"
    cylinder = int(next((r for r in rows if wanted is None or seals[r] == wanted), rows[0]))
    settings = task.settings
    with_store = stock.accumulator_volume != [0.0]
    s = int(np.flatnonzero((settings.bias == bias[0]) & (settings.window == (1 if with_store else 0)))[0])
    corner = CornerChoice(cylinder, task.spools[0] if not arrangement else 0, 0, 0, checks)
    return Choice(s, (corner,) * len(task.axles), 0, 0, control, 0)


def nearest(found: Found) -> Account:
    """The refused plant that came furthest, completed with parts that miss least."""
    tables = found.tables
    task = tables.task
    corners, setting = [], None
    empty = [i for i in range(len(task.axles)) if tables.keys[i].shape[0] == 0]
    if empty:
        setting = int(max((tables.nearest[i] for i in empty), key=lambda n: (-n[0], n[1]))[2])
    else:
        counts = [np.diff(f) for f in tables.first]
        both = np.flatnonzero(np.all(np.array(counts) > 0, axis=0))
        if both.size == 0:
            both = np.flatnonzero(counts[0] > 0)
        return _nearest_centre(tables, both)
    for i in range(len(task.axles)):
        corners.append(_nearest_corner(tables, i, setting))
    return min(
        (account(tables, c) for c in _central_choices(tables, setting, tuple(corners))),
        key=lambda state: _missing(state),
    )


def _missing(state: Account) -> float:
    return sum(max(0.0, min(c.use, 1e3) - 1.0) for c in state.constraints)


def _nearest_corner(tables: Tables, index: int, setting: int) -> CornerChoice:
    first = tables.first[index]
    if first[setting + 1] > first[setting]:
        return _corner_choice(tables.choices[index][first[setting]])
    miss = tables.nearest[index]
    catalogue = tables.task.catalogue
    high = float(tables.task.settings.high[setting])
    if miss[0] < 0.0:
        miss = np.array([0.0, 0.0, setting, 0.0, tables.task.spools[0], -1.0, -1.0, 0.0])
    line, valve = int(miss[5]), int(miss[6])
    if line < 0:
        rated = np.flatnonzero(catalogue.lines.rating >= 1.1 * high)
        pool = rated if rated.size else np.arange(catalogue.lines.bore.size)
        line = int(pool[np.argmax(catalogue.lines.bore[pool])])
    if valve < 0:
        rated = np.flatnonzero(catalogue.valves.rating >= high)
        pool = rated if rated.size else np.arange(catalogue.valves.mass.size)
        valve = int(pool[np.argmax(catalogue.valves.rated_flow[pool])])
    return CornerChoice(int(miss[3]), int(miss[4]), line, valve, bool(miss[7] > 0.0))


def _central_choices(tables: Tables, setting: int, corners: tuple[CornerChoice, ...]) -> list[Choice]:
    """A few central units to judge beside corners that are themselves refused, or where no unit serves."""
    task = tables.task
    p = int(task.settings.pressure[setting])
    units = tables.units[tables.unit_first[p] : tables.unit_first[p + 1]]
    found = []
    last = task.catalogue.accumulators.volume.size - 1
    stores = sorted({0, last // 3, 2 * last // 3, last})
    for row in units[:: max(1, units.shape[0] // 12)] if units.shape[0] else []:
        for store in stores:
            found.append(Choice(setting, corners, int(row[U_PUMP]), int(row[U_MOTOR]), int(row[U_CONTROL]), store))
    if not found:
        pumps = task.catalogue.pumps
        rated = np.flatnonzero(pumps.max_pressure >= float(task.settings.high[setting]))
        pool = rated if rated.size else np.arange(pumps.mass.size)
        motor = int(np.argmax(task.catalogue.motors.rated_torque * task.catalogue.motors.rated_speed))
        control = task.controls[-1] if SPEED in task.controls else task.controls[0]
        for pump in pool[:: max(1, pool.size // 12)]:
            found.append(Choice(setting, corners, int(pump), motor, control, last))
    return found


def _nearest_centre(tables: Tables, settings: np.ndarray) -> Account:
    """Corners serve but no plant around them does: lift the limits first, then take the unit that misses least."""
    task = tables.task
    unbounded = task.spec.model_copy(
        update={
            "limits": task.spec.limits.model_copy(update={"mass": None}),
            "bus": task.spec.bus.model_copy(update={"peak_current": None}),
        }
    )
    free = run_search(dataclasses.replace(task, spec=unbounded))
    if free.front.shape[0] > 0:
        mass, current = tables.plant.mass_limit, tables.plant.current_limit
        miss = np.maximum(free.front[:, 0] / mass, free.front[:, 2] / current)
        return account(tables, choice_of(free, free.front[int(np.argmin(miss))]))
    states = []
    for setting in settings[:: max(1, settings.size // 6)]:
        corners = tuple(_nearest_corner(tables, i, int(setting)) for i in range(len(task.axles)))
        states += [account(tables, c) for c in _central_choices(tables, int(setting), corners)]
    return min(states, key=_missing)


def alternatives(found: Found) -> tuple[Alternative, ...]:
    """A dozen plants spread over the front, by mass."""
    order = np.argsort(found.front[:, 0], kind="stable")
    if order.size > FRONT_SHOWN:
        order = order[np.unique(np.linspace(0, order.size - 1, FRONT_SHOWN).round().astype(int))]
    catalogue, settings = found.tables.task.catalogue, found.tables.task.settings
    rows = []
    for i in order:
        row = found.front[i]
        choice = choice_of(found, row)
        names = {
            axle.position: catalogue.labels["cylinder"][corner.cylinder]
            for axle, corner in zip(found.tables.task.demand.axles, choice.corners, strict=True)
        }
        rows.append(
            Alternative(
                mass=float(row[0]),
                mean_power=float(row[1]),
                peak_current=float(row[2]),
                supply_pressure=float(settings.high[choice.setting]),
                front_cylinder=names.get("front", ""),
                rear_cylinder=names.get("rear", ""),
                pump=catalogue.labels["pump"][choice.pump],
                motor=catalogue.labels["motor"][choice.motor],
                control=CONTROLS[choice.control],
                accumulator=catalogue.labels["accumulator"][choice.accumulator],
            )
        )
    return tuple(rows)


def _result(state: Account, found: Found | None, tried: list[MediumTried], relaxed: tuple[str, ...]) -> Sized:
    design = describe(state)
    feasible = state.feasible
    unmet = tuple(
        Unmet(c.name, c.concerns, c.need, c.allowance, c.unit, c.use, WOULD_HELP[c.name])
        for c in state.constraints
        if not c.met
    )
    tables = state.tables
    search = Search(
        objective=tables.task.spec.objective,
        raw_designs=found.raw_designs if found is not None else 1.0,
        halves_evaluated=tables.halves_evaluated,
        halves_kept=sum(int(k.shape[0]) for k in tables.keys),
        plants_evaluated=found.evaluated if found is not None else 1,
        front_size=int(found.front.shape[0]) if found is not None else int(feasible),
        relaxed=relaxed,
        binding=tuple(f"{c.concerns}: {c.name}" for c in state.constraints if 0.9 <= c.use <= 1.0 + 1e-9),
        refused=refusals(state, tables.task.spec.objective) if feasible and found is not None else (),
        alternatives=alternatives(found) if found is not None else (),
        media=tuple(tried),
        unmet=unmet,
    )
    return Sized(Sizing(feasible, design, all_ledgers(state), search), cautions(state, design), state)
