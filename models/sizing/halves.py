"""One axle's half of a plant: a cylinder, a spool, a line and a valve at a supply setting, judged by every constraint.

`corner_use` judges any choice, without early exit; it is what the account of a design reads and what the search's proof
compares with. The tables here depend on no setting. Knows one axle; not the other, nor the central unit.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import INNER, KERNEL
from models.hydraulics.cylinder import buckling_load
from models.sizing.catalogue import Cylinders, Floats, Lines, Valves
from models.sizing.central import row_of, rows_of
from models.sizing.corner import (
    BREAK_OUT,
    CONSTRAINTS,
    STEEL_MODULUS,
    STEEL_YIELD,
    MassLaws,
    areas,
    barrel,
    chamber_oil,
    corner_line_drop,
    corner_mass,
    friction_terms,
    line_inertance,
    line_volume,
    oil_column,
    seal_leakage,
    spool_point,
    valve_leakage,
    working_areas,
)
from models.sizing.corner_store import GAS_TESTS, GasNumbers
from models.sizing.task import AxleTask, Factors, Oils, Settings

CHAMBER_PRESSURE = CONSTRAINTS.index("chamber_pressure")

KEYS = 8
"""Columns of a half's key: mass, cap area, annulus area, difference area, leakage, holding W, peak W, oil."""

(
    C_BORE, C_ROD, C_THROUGH, C_CLEARANCE, C_BORE_SECTION, C_BORE_SQUEEZE, C_ROD_SECTION, C_ROD_SQUEEZE, C_FRICTION,
    C_BREAK_OUT,
) = range(10)  # fmt: skip
"""Columns of `rows_of(cylinders)`, the fields of `Cylinders`."""

L_BORE, L_TUBE_BORE, L_RATING, L_HOSE_KG_M, L_TUBE_KG_M, L_EXPANSION, L_ROUGHNESS = range(7)
"""Columns of `rows_of(lines)`, the fields of `Lines`."""

V_FLOW, V_BANDWIDTH, V_LEAKAGE, V_REFERENCE, V_RATING, V_MASS, V_HOLDING, V_PEAK, V_FAMILY = range(9)
"""Columns of `rows_of(valves)`, the fields of `Valves`."""


class MeasuredCorner(NamedTuple):
    """The user's measured cylinder: break-away as a pressure on the cap side and leakage per pressure; -1: none."""

    breakaway: float
    leakage_per_pressure: float


class AxleNumbers(NamedTuple):
    """The scalars of an AxleTask."""

    corners: int
    stroke: float
    force_rms: float
    force_peak: float
    bandwidth: float
    mass: float
    outer_limit: float
    length_limit: float
    tube_length: float
    hose_length: float
    bends: int
    arrangement: int
    spring: float
    lines: float


def axle_numbers(axle: AxleTask) -> AxleNumbers:
    """The scalars of an axle's task."""
    return AxleNumbers(*(getattr(axle, name) for name in AxleNumbers._fields))


def points_of(axle: AxleTask) -> Floats:
    """Load points as [point, (force, sign of velocity, index of |v| into the speeds)]."""
    return np.column_stack((axle.force, axle.direction, axle.speed_index.astype(np.float64)))


def line_drops(axle: AxleNumbers, speeds: Floats, cylinders: Floats, lines: Floats, oils: Oils) -> Floats:
    """Loss of one corner line, [cylinder, line, side (cap, annulus), oil (cold, hot), speed], Pa."""
    drops = np.zeros((cylinders.shape[0], lines.shape[0], 2, 2, speeds.size))
    _fill_drops(axle, speeds, cylinders, lines, oils, np.empty((cylinders.shape[0], 2)), drops)
    return drops


@njit(**KERNEL)
def _fill_drops(
    axle: AxleNumbers,
    speeds: Floats,
    cylinders: Floats,
    lines: Floats,
    oils: Oils,
    sections: Floats,
    drops: Floats,
) -> None:
    for c in range(cylinders.shape[0]):
        sections[c, 0], sections[c, 1] = areas(cylinders[c, C_BORE], cylinders[c, C_ROD], cylinders[c, C_THROUGH] > 0.5)
        for side in range(2):
            # Most areas came before: a cap with another rod, an annulus with a through rod or another seal.
            like = 0
            while sections[like // 2, like % 2] != sections[c, side]:
                like += 1
            for line in range(lines.shape[0]):
                for t in range(2):
                    for v in range(speeds.size):
                        if like < 2 * c + side:
                            drops[c, line, side, t, v] = drops[like // 2, line, like % 2, t, v]
                            continue
                        drops[c, line, side, t, v] = corner_line_drop(
                            sections[c, side] * speeds[v], lines[line, L_BORE], lines[line, L_TUBE_BORE],
                            axle.tube_length, axle.hose_length, axle.bends, lines[line, L_ROUGHNESS], oils.density[t],
                            oils.viscosity[t],
                        )  # fmt: skip


def line_drop_table(axle: AxleTask, cylinders: Cylinders, lines: Lines, oils: Oils) -> Floats:
    """`line_drops` of the catalogue's own rows."""
    drops: Floats = line_drops(axle_numbers(axle), axle.speeds, rows_of(cylinders), rows_of(lines), oils)
    return drops


@njit(**KERNEL)
def running_friction(
    cylinder: Floats, cap: float, pressure: float, viscosity: float, measured: MeasuredCorner
) -> tuple[float, float]:
    """Running friction of a cylinder row as (N, N per m/s); a measured break-away replaces the seal formulas."""
    if measured.breakaway >= 0.0:
        return measured.breakaway * cap / BREAK_OUT, 0.0
    return friction_terms(
        cylinder[C_BORE], cylinder[C_ROD], cylinder[C_THROUGH] > 0.5, cylinder[C_CLEARANCE], cylinder[C_BORE_SECTION],
        cylinder[C_BORE_SQUEEZE], cylinder[C_ROD_SECTION], cylinder[C_ROD_SQUEEZE], cylinder[C_FRICTION], pressure,
        viscosity,
    )  # fmt: skip


def friction_of(
    cylinders: Cylinders, c: int, cap: float, pressure: float, viscosity: float, measured: MeasuredCorner
) -> tuple[float, float]:
    """`running_friction` of cylinder row `c` of the catalogue."""
    constant, per_speed = running_friction(row_of(cylinders, c), cap, pressure, viscosity, measured)
    return float(constant), float(per_speed)


@njit(**INNER)
def cylinder_leakage(cylinder: Floats, pressure: float, viscosity: float, measured: MeasuredCorner) -> float:
    """Leakage of a cylinder row at supply `pressure` in hot oil, m³/s."""
    if measured.leakage_per_pressure >= 0.0:
        return measured.leakage_per_pressure * pressure
    return seal_leakage(
        cylinder[C_BORE], cylinder[C_ROD], cylinder[C_THROUGH] > 0.5, cylinder[C_CLEARANCE], pressure, viscosity
    )


class CornerFacts(NamedTuple):
    """One corner as computed, SI: what `corner_use` found beside the use of each constraint."""

    cap: float
    annulus: float
    wall: float
    outer_diameter: float
    retracted_length: float
    extended_length: float
    friction: float  # running, greatest of cold and hot at peak speed
    opening: float
    lowest_chamber: float
    highest_chamber: float
    stiffness: float
    line_oil_mass: float
    frequency: float
    buckling_load: float
    seal_leakage: float
    valve_leakage: float
    cylinder_mass: float
    valve_mass: float
    line_mass: float
    sensor_mass: float
    check_mass: float
    oil_volume: float
    line_volume: float
    store_mass: float = 0.0  # corner accumulator with the oil in it
    orifice_mass: float = 0.0
    store_oil: float = 0.0


@njit(**KERNEL)
def judge_corner(
    axle: AxleNumbers,
    points: Floats,
    speeds: Floats,
    cylinder: Floats,
    line: Floats,
    valve: Floats,
    gain: Floats,
    transition: Floats,
    oils: Oils,
    high: float,
    low: float,
    back: float,
    makeup: float,
    modulus: float,
    drops: Floats,
    factors: Factors,
    laws: MassLaws,
    measured: MeasuredCorner,
    limit: float,
    spool: int,
    checks: bool,
    uses: Floats,
    at: Floats,
) -> CornerFacts:
    """Fill `uses` and `at` as `corner_use` returns them; the facts. Rows as by `rows_of`, points as by `points_of`."""
    for k in range(uses.size):
        uses[k], at[k] = 0.0, -1.0
    bore, rod, through = cylinder[C_BORE], cylinder[C_ROD], cylinder[C_THROUGH] > 0.5
    cap, annulus = working_areas(bore, rod, through, axle.arrangement)
    wall, body = barrel(bore, rod, through, axle.stroke, limit, factors.burst)
    column = buckling_load(rod, body.extended_length, STEEL_MODULUS, STEEL_YIELD, 1.0)
    volume = line_volume(line[L_BORE], line[L_TUBE_BORE], axle.tube_length, axle.hose_length)
    inertance = line_inertance(line[L_BORE], line[L_TUBE_BORE], axle.tube_length, axle.hose_length, oils.density[0])
    stiffness, oil_mass, frequency = oil_column(
        axle.arrangement, axle.spring, cap, annulus, axle.stroke, modulus, volume, axle.hose_length, line[L_EXPANSION],
        inertance, axle.mass, body.moving_mass,
    )  # fmt: skip
    opening, lowest, highest, greatest_friction = 0.0, math.inf, -math.inf, 0.0
    for t in range(2):
        constant, per_speed = running_friction(cylinder, cap, high, oils.viscosity[t], measured)
        greatest_friction = max(greatest_friction, constant + per_speed * speeds[speeds.size - 1])
        for i in range(points.shape[0]):
            v = int(points[i, 2])
            for k in range(2):
                x, inlet, outlet, share, _ = spool_point(
                    points[i, 0] * factors.force, points[i, 1], speeds[v], cap, annulus, spool == 1, gain[t],
                    transition[t], constant + per_speed * speeds[v], drops[0, t, v], drops[1, t, v],
                    low if k == 0 else high, back, makeup if checks else -math.inf,
                )  # fmt: skip
                if k == 0:
                    if share > uses[0]:
                        uses[0], at[0] = share, i
                    if x / factors.opening > uses[1]:
                        uses[1], at[1] = x / factors.opening, i
                        opening = x
                    if min(inlet, outlet) < lowest:
                        lowest, at[2] = min(inlet, outlet), i
                if max(inlet, outlet) > highest:
                    highest, at[3] = max(inlet, outlet), i
    uses[2] = 1.0 + (factors.lowest_chamber - lowest) / high
    uses[3] = highest / limit
    uses[4] = max(limit / line[L_RATING], high / valve[V_RATING])
    uses[5] = factors.buckling * high * cap / column
    uses[6] = body.outer_diameter / axle.outer_limit
    uses[7] = body.retracted_length / axle.length_limit
    uses[8] = factors.stiffness_ratio * axle.bandwidth / frequency
    uses[9] = factors.valve_ratio * axle.bandwidth / valve[V_BANDWIDTH]
    uses[10] = greatest_friction / axle.force_rms
    uses[11] = 0.0 if math.isfinite(wall) else math.inf
    oil_volume = chamber_oil(cap, annulus, axle.stroke)
    masses = corner_mass(
        body.dry_mass, oil_volume, bore, valve[V_MASS], valve[V_FLOW], line[L_BORE], line[L_HOSE_KG_M],
        line[L_TUBE_KG_M], axle.tube_length, axle.hose_length, volume, oils.density[0], checks,
        cap * speeds[speeds.size - 1], laws, axle.lines,
    )  # fmt: skip
    return CornerFacts(
        cap, annulus, wall, body.outer_diameter, body.retracted_length, body.extended_length, greatest_friction,
        opening, lowest, highest, stiffness, oil_mass, frequency, column,
        cylinder_leakage(cylinder, high, oils.viscosity[1], measured),
        valve_leakage(valve[V_LEAKAGE], valve[V_REFERENCE], high), masses[0], masses[1], masses[2],
        masses[3], masses[4], oil_volume, volume, 0.0, 0.0, 0.0,
    )  # fmt: skip


class CornerRows(NamedTuple):
    """What the kernels read of one axle and of the sizes on offer; rows as by `rows_of`, points as by `points_of`."""

    numbers: AxleNumbers
    points: Floats
    speeds: Floats
    cylinders: Floats
    lines: Floats
    valves: Floats


def corner_rows(axle: AxleTask, cylinders: Cylinders, lines: Lines, valves: Valves) -> CornerRows:
    """One axle's task and the catalogue as kernels read them."""
    return CornerRows(
        axle_numbers(axle), points_of(axle), axle.speeds, rows_of(cylinders), rows_of(lines), rows_of(valves)
    )


@njit(**KERNEL)
def corner_misses(
    rows: CornerRows,
    gains: Floats,
    transitions: Floats,
    oils: Oils,
    high: float,
    low: float,
    back: float,
    makeup: float,
    modulus: float,
    drops: Floats,
    factors: Factors,
    laws: MassLaws,
    measured: MeasuredCorner,
    limit: float,
    worst: float,
    halves: NDArray[np.int64],
    gas: Floats,
    uses: Floats,
    at: Floats,
    misses: Floats,
) -> None:
    """Fill misses, [half], with what each half lacks: its uses beyond 1, none counted above `worst`, added up.

    halves: [half, (cylinder, spool, line, valve, checks)]; gas: [half, (chamber's use, uses of GAS_TESTS)], nothing
    where there is no gas spring; uses, at: work space, one a constraint.
    """
    for k in range(halves.shape[0]):
        c, line, valve = halves[k, 0], halves[k, 2], halves[k, 3]
        facts = judge_corner(
            rows.numbers, rows.points, rows.speeds, rows.cylinders[c], rows.lines[line], rows.valves[valve],
            gains[valve], transitions[valve], oils, high, low, back, makeup, modulus, drops[c, line], factors, laws,
            measured, limit, halves[k, 1], halves[k, 4] == 1, uses, at,
        )  # fmt: skip
        uses[CHAMBER_PRESSURE] = max(uses[CHAMBER_PRESSURE], gas[k, 0])
        for test in range(GAS_TESTS):
            uses[uses.size - GAS_TESTS + test] = gas[k, 1 + test]
        misses[k] = 0.0
        stalled = uses[0] > 1.0 + 1e-9
        for j in range(uses.size):
            over = uses[j] - 1.0
            miss = 0.0 if over <= 0.0 else (over if over < worst else worst)  # what is no number counts as the worst
            if j == 1 and stalled:
                # no opening moves the load: the valve counts as half of what it should be
                miss = 1.0 + min(uses[0] - 1.0, worst)
            elif j == 1 and facts.annulus == 0.0 and facts.lowest_chamber <= 0.0:
                miss = 0.0
            elif (j == 2 or j == 3) and stalled and facts.annulus > 0.0:
                # nor have chamber pressures a value, but in a single-acting chamber
                miss = 0.0
            misses[k] += miss


def corner_use(
    rows: CornerRows,
    gains: Floats,
    transitions: Floats,
    oils: Oils,
    settings: Settings,
    drops: Floats,
    factors: Factors,
    laws: MassLaws,
    measured: MeasuredCorner,
    relief: float,
    s: int,
    c: int,
    spool: int,
    line: int,
    valve: int,
    checks: bool,
    gas: GasNumbers | None = None,
) -> tuple[Floats, Floats, CornerFacts]:
    """(use of each of CONSTRAINTS, the load point that sets it or -1, facts) of one half, feasible or not.

    A use is need over allowance, 1 at the limit; cavitation's is 1 + (limit − pressure)/supply. Every test the search
    makes is made here without early exit. gas: the corner's gas spring, where it has one.
    """
    uses, at = np.empty(len(CONSTRAINTS)), np.empty(len(CONSTRAINTS))
    high = float(settings.high[s])
    facts = judge_corner(
        rows.numbers, rows.points, rows.speeds, rows.cylinders[c], rows.lines[line], rows.valves[valve], gains[valve],
        transitions[valve], oils, high, float(settings.supply_low[s]), float(settings.back[s]),
        float(settings.makeup[s]), float(settings.modulus[s]), drops[c, line], factors, laws, measured, relief * high,
        spool, checks, uses, at,
    )  # fmt: skip
    if gas is None:
        return uses, at, CornerFacts(*facts)
    if gas.chamber_use > uses[CHAMBER_PRESSURE]:
        uses[CHAMBER_PRESSURE], at[CHAMBER_PRESSURE] = gas.chamber_use, -1.0
    uses[-GAS_TESTS:] = gas.uses
    held = {"store_mass": gas.store_mass, "orifice_mass": gas.orifice_mass, "store_oil": gas.store_oil}
    highest = max(facts.highest_chamber, gas.spring.bump_pressure)
    return uses, at, CornerFacts(*facts)._replace(highest_chamber=highest, **held)
