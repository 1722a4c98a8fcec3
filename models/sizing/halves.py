"""The search's first half: every cylinder, spool, line and valve of one axle at every supply setting.

A half is kept when it keeps every constraint, and then only when no other half of the same setting is at least as good
in everything through which it meets the rest of the plant (mass, both areas, difference area, leakage, valve power,
oil). Both steps are exact: what is dropped cannot be part of any optimum. Line losses depend on no setting and are
computed once, outside.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from models.hydraulics.cylinder import buckling_load
from models.sizing.catalogue import Cylinders, Floats, Lines, Valves
from models.sizing.corner import (
    BREAK_OUT,
    STEEL_MODULUS,
    STEEL_YIELD,
    MassLaws,
    areas,
    barrel,
    corner_line_drop,
    corner_mass,
    friction_terms,
    line_inertance,
    line_volume,
    oil_frequency,
    seal_leakage,
    spool_point,
    valve_leakage,
)
from models.sizing.task import AxleTask, Factors, Oils, Settings

STAGES = ("friction", "wall_or_diameter", "length", "buckling", "force", "stiffness", "line_force", "valve", "points")
"""Tests of a half in the order the kernel makes them; the nearest miss is the one that came furthest by the least."""

KEYS = 8
"""Columns of a half's key: mass, cap area, annulus area, difference area, leakage, holding W, peak W, oil."""


class MeasuredCorner(NamedTuple):
    """The user's measured cylinder: break-away as a pressure on the cap side and leakage per pressure; -1: none."""

    breakaway: float
    leakage_per_pressure: float


@njit(cache=True, error_model="numpy")
def line_drop_table(axle: AxleTask, cylinders: Cylinders, lines: Lines, oils: Oils) -> Floats:
    """Loss of one corner line, [cylinder, line, side (cap, annulus), oil (cold, hot), speed], Pa."""
    drops = np.zeros((cylinders.bore.size, lines.bore.size, 2, 2, axle.speeds.size))
    for c in range(cylinders.bore.size):
        cap, annulus = areas(cylinders.bore[c], cylinders.rod[c], cylinders.through[c])
        for line in range(lines.bore.size):
            for t in range(2):
                for v in range(axle.speeds.size):
                    for side in range(2):
                        flow = (cap if side == 0 else annulus) * axle.speeds[v]
                        drops[c, line, side, t, v] = corner_line_drop(
                            flow, lines.bore[line], lines.tube_bore[line], axle.tube_length, axle.hose_length,
                            axle.bends, lines.roughness[line], oils.density[t], oils.viscosity[t],
                        )  # fmt: skip
    return drops


@njit(cache=True, error_model="numpy")
def friction_of(
    cylinders: Cylinders, c: int, cap: float, pressure: float, viscosity: float, measured: MeasuredCorner
) -> tuple[float, float]:
    """Running friction of cylinder row `c` as (N, N per m/s); a measured break-away replaces the seal formulas."""
    if measured.breakaway >= 0.0:
        return measured.breakaway * cap / BREAK_OUT, 0.0
    return friction_terms(
        cylinders.bore[c], cylinders.rod[c], cylinders.through[c], cylinders.clearance[c], cylinders.bore_section[c],
        cylinders.bore_squeeze[c], cylinders.rod_section[c], cylinders.rod_squeeze[c],
        cylinders.friction_coefficient[c], pressure, viscosity,
    )  # fmt: skip


@njit(cache=True, error_model="numpy")
def cylinder_leakage(
    cylinders: Cylinders, c: int, pressure: float, viscosity: float, measured: MeasuredCorner
) -> float:
    """Leakage of cylinder row `c` at supply `pressure` in hot oil, m³/s."""
    if measured.leakage_per_pressure >= 0.0:
        return measured.leakage_per_pressure * pressure
    return seal_leakage(
        cylinders.bore[c], cylinders.rod[c], cylinders.through[c], cylinders.clearance[c], pressure, viscosity
    )


@njit(cache=True, error_model="numpy")
def least_gain(
    axle: AxleTask,
    drops: Floats,
    cap: float,
    annulus: float,
    matched: bool,
    constant: Floats,
    per_speed: Floats,
    supply: float,
    back: float,
    makeup: float,
    opening: float,
    force: float,
) -> float:
    """Lower bound on the valve gain that serves every point, without viscous loss in the edges; inf when none does.

    Points so far overrunning that a make-up check could feed them are left to the full test.
    """
    square = 0.0
    scale = annulus / cap if matched else 1.0
    for i in range(axle.force.size):
        speed = axle.speeds[axle.speed_index[i]]
        v = axle.speed_index[i]
        side = axle.direction[i]
        for t in range(2):
            if side == 0.0:
                hold = axle.force[i] * force
                if hold > supply * cap - back * annulus or -hold > supply * annulus - back * cap:
                    return math.inf
                continue
            load = axle.force[i] * force * side + constant[t] + per_speed[t] * speed
            extends = side > 0.0
            inlet = cap if extends else annulus
            outlet = annulus if extends else cap
            if load < makeup * inlet - back * outlet:
                continue
            drop_in, drop_out = (drops[0, t, v], drops[1, t, v]) if extends else (drops[1, t, v], drops[0, t, v])
            rest = (supply - drop_in) * inlet - (back + drop_out) * outlet - load
            if rest <= 0.0:
                return math.inf
            scale_in, scale_out = (1.0, scale) if extends else (scale, 1.0)
            need = (inlet * (inlet * speed / scale_in) ** 2 + outlet * (outlet * speed / scale_out) ** 2) / rest
            square = max(square, need)
    return math.sqrt(square) / opening


@njit(cache=True, error_model="numpy")
def points_pass(
    axle: AxleTask,
    drops: Floats,
    cap: float,
    annulus: float,
    matched: bool,
    gain: Floats,
    transition: Floats,
    constant: Floats,
    per_speed: Floats,
    low: float,
    high: float,
    back: float,
    makeup: float,
    factors: Factors,
    chamber_limit: float,
) -> int:
    """0 when every point keeps opening, cavitation and chamber pressure; 1 opening, 2 cavitation, 3 chamber pressure.

    `makeup` -inf: no anti-cavitation checks. Opening and cavitation at the lowest supply, chambers at the highest.
    """
    for i in range(axle.force.size):
        v = axle.speed_index[i]
        speed = axle.speeds[v]
        for t in range(2):
            friction = constant[t] + per_speed[t] * speed
            opening, inlet, outlet, _, _ = spool_point(
                axle.force[i] * factors.force, axle.direction[i], speed, cap, annulus, matched, gain[t], transition[t],
                friction, drops[0, t, v], drops[1, t, v], low, back, makeup,
            )  # fmt: skip
            if not opening <= factors.opening:
                return 1
            if inlet < factors.lowest_chamber or outlet < factors.lowest_chamber:
                return 2
            _, inlet, outlet, _, _ = spool_point(
                axle.force[i] * factors.force, axle.direction[i], speed, cap, annulus, matched, gain[t], transition[t],
                friction, drops[0, t, v], drops[1, t, v], high, back, makeup,
            )  # fmt: skip
            if inlet > chamber_limit or outlet > chamber_limit:
                return 3
    return 0


@njit(cache=True, error_model="numpy")
def least_of_families(
    valves: Valves, gains: Floats, bound: float, high: float, bandwidth: float, laws: MassLaws, least: Floats
) -> None:
    """Least mass with block, leakage, holding and peak power of the valves that may serve, by family; inf: none may."""
    least[:] = math.inf
    for v in range(valves.mass.size):
        if gains[v].max() < bound * (1 - 1e-12) or valves.rating[v] < high or valves.bandwidth[v] < bandwidth:
            continue
        best = least[valves.family[v]]
        best[0] = min(best[0], valves.mass[v] + laws.block * (valves.rated_flow[v] * 6e4) ** laws.block_power)
        best[1] = min(best[1], valve_leakage(valves.leakage[v], valves.reference_pressure[v], high))
        best[2] = min(best[2], valves.holding_power[v])
        best[3] = min(best[3], valves.peak_power[v])


@njit(cache=True, error_model="numpy")
def promising(
    keys: Floats,
    start: int,
    end: int,
    row: Floats,
    n: int,
    mass: float,
    leak: float,
    least: Floats,
    open_families: Floats,
) -> bool:
    """Mark the valve families whose best conceivable half is not yet beaten; False when none is left.

    row: key with areas, difference and oil set; mass, leak: one corner's without its valve.
    """
    left = False
    for family in range(least.shape[0]):
        open_families[family] = False
        if least[family, 0] == math.inf:
            continue
        row[0] = n * (mass + least[family, 0]) * (1 - 1e-12)
        row[4], row[5], row[6] = n * (leak + least[family, 1]), n * least[family, 2], n * least[family, 3]
        open_families[family] = not any_as_good(keys, start, end, row)
        left = left or open_families[family]
    return left


@njit(cache=True, error_model="numpy")
def any_as_good(keys: Floats, start: int, end: int, row: Floats) -> bool:
    """Whether a row of keys[start:end) equals or betters `row` in every key."""
    for other in range(start, end):
        good = True
        for k in range(KEYS):
            if keys[other, k] > row[k]:
                good = False
                break
        if good:
            return True
    return False


@njit(cache=True, error_model="numpy")
def drop_beaten(choices: Floats, keys: Floats, start: int, end: int, row: Floats) -> int:
    """Take out of [start, end) every row that `row` equals or betters in every key; returns the new end."""
    kept = start
    for other in range(start, end):
        good = True
        for k in range(KEYS):
            if row[k] > keys[other, k]:
                good = False
                break
        if not good:
            if kept != other:
                choices[kept], keys[kept] = choices[other], keys[other]
            kept += 1
    return kept


@njit(cache=True, error_model="numpy")
def note_miss(
    nearest: Floats, stage: float, miss: float, s: int, c: int, spool: int, line: int, valve: int, checks: bool
) -> None:
    """Remember a refused half when it came further than any before, or as far with a smaller miss."""
    if stage > nearest[0] or (stage == nearest[0] and miss < nearest[1]):
        nearest[0], nearest[1], nearest[2], nearest[3] = stage, miss, s, c
        nearest[4], nearest[5], nearest[6], nearest[7] = spool, line, valve, 1.0 if checks else 0.0


@njit(cache=True, error_model="numpy")
def enumerate_halves(
    axle: AxleTask,
    cylinders: Cylinders,
    lines: Lines,
    valves: Valves,
    gains: Floats,
    transitions: Floats,
    oils: Oils,
    settings: Settings,
    drops: Floats,
    factors: Factors,
    laws: MassLaws,
    measured: MeasuredCorner,
    spools: Floats,
    plain: bool,
    checked: bool,
    relief: float,
    capacity: int,
) -> tuple[Floats, Floats, Floats, int, int, Floats]:
    """All undominated halves: (choices, keys, first row of each setting, halves evaluated, halves feasible, nearest).

    choices: [row, (cylinder, spool, line, valve, checks)]; keys: [row, KEYS]; rows of setting s run from
    first[s] to first[s+1]. gains, transitions: [valve, oil]. spools: 0 symmetric, 1 matched. Evaluated -1: more than
    `capacity` rows would be needed. A cylinder or line whose best conceivable key a kept half already equals or betters
    is passed over whole. nearest: the refused half that came furthest, (stage, miss, setting, cylinder, spool, line,
    valve, checks), line and valve -1 where it fell before they were tried.
    """
    nearest = np.full(8, -1.0)
    choices = np.empty((capacity, 5), np.int64)
    keys = np.empty((capacity, KEYS))
    first = np.zeros(settings.high.size + 1, np.int64)
    rows, evaluated, feasible = 0, 0, 0
    constant, per_speed = np.empty(2), np.empty(2)
    family_best = np.empty((int(valves.family.max()) + 1, 4))
    no_drop = np.zeros((2, 2, axle.speeds.size))
    row, least = np.empty(KEYS), np.empty_like(family_best)
    open_families = np.zeros(family_best.shape[0], np.bool_)
    peak_speed = axle.speeds.max()
    strongest = gains.max()
    bandwidth = factors.valve_ratio * axle.bandwidth
    n = axle.corners
    volumes, inertances, line_masses = np.empty(lines.bore.size), np.empty(lines.bore.size), np.empty(lines.bore.size)
    for line in range(lines.bore.size):
        volumes[line] = line_volume(lines.bore[line], lines.tube_bore[line], axle.tube_length, axle.hose_length)
        inertances[line] = line_inertance(
            lines.bore[line], lines.tube_bore[line], axle.tube_length, axle.hose_length, oils.density[0]
        )
        line_masses[line] = corner_mass(
            0.0, 0.0, 0.0, 0.0, 0.0, lines.bore[line], lines.hose_kg_m[line], lines.tube_kg_m[line], axle.tube_length,
            axle.hose_length, volumes[line], oils.density[0], False, 0.0, laws,
        )[2]  # fmt: skip
    for s in range(settings.high.size):
        start = rows
        high, low, back = settings.high[s], settings.supply_low[s], settings.back[s]
        limit = relief * high
        lightest_line, smallest_line = math.inf, math.inf
        for line in range(lines.bore.size):
            if lines.rating[line] >= limit:
                lightest_line = min(lightest_line, line_masses[line])
                smallest_line = min(smallest_line, volumes[line])
        if lightest_line == math.inf:
            first[s + 1] = rows
            continue
        for c in range(cylinders.bore.size):
            bore, rod, through = cylinders.bore[c], cylinders.rod[c], cylinders.through[c]
            cap, annulus = areas(bore, rod, through)
            for t in range(2):
                constant[t], per_speed[t] = friction_of(cylinders, c, cap, high, oils.viscosity[t], measured)
            friction = max(constant[0], constant[1]) + max(per_speed[0], per_speed[1]) * peak_speed
            if friction > axle.force_rms:
                note_miss(nearest, 0, friction / axle.force_rms, s, c, spools[0], -1, -1, False)
                continue
            wall, body = barrel(bore, rod, through, axle.stroke, limit, factors.burst)
            if not math.isfinite(wall) or body.outer_diameter > axle.outer_limit * (1 + 1e-12):
                note_miss(nearest, 1, body.outer_diameter / axle.outer_limit, s, c, spools[0], -1, -1, False)
                continue
            if body.retracted_length > axle.length_limit * (1 + 1e-12):
                note_miss(nearest, 2, body.retracted_length / axle.length_limit, s, c, spools[0], -1, -1, False)
                continue
            column = buckling_load(rod, body.extended_length, STEEL_MODULUS, STEEL_YIELD, 1.0)
            if column < factors.buckling * high * cap:
                note_miss(nearest, 3, factors.buckling * high * cap / column, s, c, spools[0], -1, -1, False)
                continue
            leak = cylinder_leakage(cylinders, c, high, oils.viscosity[1], measured)
            bare = corner_mass(
                body.dry_mass, body.oil_volume, bore, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, oils.density[0], False, 0.0,
                laws,
            )  # fmt: skip
            for spool in spools:
                matched = spool == 1
                if through and matched:
                    continue
                bound = least_gain(
                    axle, no_drop, cap, annulus, matched, constant, per_speed, low, back, settings.makeup[s],
                    factors.opening, factors.force,
                )  # fmt: skip
                if not bound <= strongest:
                    area = min(cap, annulus)
                    miss = axle.force_peak * factors.force / (low * area) if bound == math.inf else bound / strongest
                    note_miss(nearest, 4, miss, s, c, spool, -1, -1, False)
                    continue
                least_of_families(valves, gains, bound, high, bandwidth, laws, least)
                corner = bare[0] + bare[3]
                row[1], row[2], row[3] = cap, annulus, (cap - annulus) * axle.stroke * n
                row[7] = n * (body.oil_volume + 2.0 * smallest_line)
                if not promising(keys, start, rows, row, n, corner + lightest_line, leak, least, open_families):
                    continue
                for line in range(lines.bore.size):
                    if lines.rating[line] < limit:
                        continue
                    row[7] = n * (body.oil_volume + 2.0 * volumes[line])
                    if not promising(keys, start, rows, row, n, corner + line_masses[line], leak, least, open_families):
                        continue
                    _, _, frequency = oil_frequency(
                        cap, annulus, axle.stroke, settings.modulus[s], volumes[line], axle.hose_length,
                        lines.expansion[line], inertances[line], axle.mass,
                    )  # fmt: skip
                    if frequency < factors.stiffness_ratio * axle.bandwidth:
                        miss = factors.stiffness_ratio * axle.bandwidth / frequency
                        note_miss(nearest, 5, miss, s, c, spool, line, -1, False)
                        continue
                    need = least_gain(
                        axle, drops[c, line], cap, annulus, matched, constant, per_speed, low, back,
                        settings.makeup[s], factors.opening, factors.force,
                    )  # fmt: skip
                    if not need < math.inf:
                        note_miss(nearest, 6, 1.0 / lines.bore[line], s, c, spool, line, -1, False)
                        continue
                    family_best[:, :] = math.inf
                    for valve in range(valves.mass.size):
                        if gains[valve].max() < need * (1 - 1e-12) or valves.rating[valve] < high:
                            continue
                        if valves.bandwidth[valve] < bandwidth:
                            note_miss(nearest, 7, bandwidth / valves.bandwidth[valve], s, c, spool, line, valve, False)
                            continue
                        if not open_families[valves.family[valve]]:
                            continue
                        spill = valve_leakage(valves.leakage[valve], valves.reference_pressure[valve], high)
                        best = family_best[valves.family[valve]]
                        block = laws.block * (valves.rated_flow[valve] * 6e4) ** laws.block_power
                        if (
                            best[0] <= valves.mass[valve] + block
                            and best[1] <= spill
                            and best[2] <= valves.holding_power[valve]
                            and best[3] <= valves.peak_power[valve]
                        ):
                            continue
                        evaluated += 1
                        use_checks = not plain
                        if plain:
                            verdict = points_pass(
                                axle, drops[c, line], cap, annulus, matched, gains[valve], transitions[valve],
                                constant, per_speed, low, high, back, -math.inf, factors, limit,
                            )  # fmt: skip
                            if verdict != 0:
                                if verdict == 1 or not checked:
                                    miss = need / gains[valve].max()
                                    note_miss(nearest, 8, miss, s, c, spool, line, valve, False)
                                    continue
                                use_checks = True
                        if use_checks:
                            verdict = points_pass(
                                axle, drops[c, line], cap, annulus, matched, gains[valve], transitions[valve],
                                constant, per_speed, low, high, back, settings.makeup[s], factors, limit,
                            )  # fmt: skip
                            if verdict != 0:
                                note_miss(nearest, 8, need / gains[valve].max(), s, c, spool, line, valve, True)
                                continue
                        feasible += 1
                        if not use_checks:
                            best[0], best[1] = valves.mass[valve] + block, spill
                            best[2], best[3] = valves.holding_power[valve], valves.peak_power[valve]
                        mass = 0.0
                        for part in corner_mass(
                            body.dry_mass, body.oil_volume, bore, valves.mass[valve], valves.rated_flow[valve],
                            lines.bore[line], lines.hose_kg_m[line], lines.tube_kg_m[line], axle.tube_length,
                            axle.hose_length, volumes[line], oils.density[0], use_checks, cap * peak_speed, laws,
                        ):  # fmt: skip
                            mass += part
                        row[0] = n * mass
                        row[4], row[5], row[6] = (
                            n * (leak + spill), n * valves.holding_power[valve], n * valves.peak_power[valve],
                        )  # fmt: skip
                        if any_as_good(keys, start, rows, row):
                            continue
                        rows = drop_beaten(choices, keys, start, rows, row)
                        if rows == capacity:
                            return choices, keys, first, -1, feasible, nearest
                        choices[rows, 0], choices[rows, 1], choices[rows, 2] = c, spool, line
                        choices[rows, 3], choices[rows, 4] = valve, 1 if use_checks else 0
                        keys[rows] = row
                        rows += 1
        first[s + 1] = rows
    return choices[:rows], keys[:rows], first, evaluated, feasible, nearest


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


@njit(cache=True, error_model="numpy")
def corner_use(
    axle: AxleTask,
    cylinders: Cylinders,
    lines: Lines,
    valves: Valves,
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
) -> tuple[Floats, Floats, CornerFacts]:
    """(use of each of CONSTRAINTS, the load point that sets it or -1, facts) of one half, feasible or not.

    A use is need over allowance, 1 at the limit; cavitation's is 1 + (limit − pressure)/supply. Every test the search
    makes is made here without early exit.
    """
    uses, at = np.zeros(12), np.full(12, -1.0)
    high, low, back = settings.high[s], settings.supply_low[s], settings.back[s]
    limit = relief * high
    makeup = settings.makeup[s] if checks else -math.inf
    bore, rod, through = cylinders.bore[c], cylinders.rod[c], cylinders.through[c]
    cap, annulus = areas(bore, rod, through)
    wall, body = barrel(bore, rod, through, axle.stroke, limit, factors.burst)
    column = buckling_load(rod, body.extended_length, STEEL_MODULUS, STEEL_YIELD, 1.0)
    volume = line_volume(lines.bore[line], lines.tube_bore[line], axle.tube_length, axle.hose_length)
    inertance = line_inertance(
        lines.bore[line], lines.tube_bore[line], axle.tube_length, axle.hose_length, oils.density[0]
    )
    stiffness, oil_mass, frequency = oil_frequency(
        cap, annulus, axle.stroke, settings.modulus[s], volume, axle.hose_length, lines.expansion[line], inertance,
        axle.mass,
    )  # fmt: skip
    opening, lowest, highest, greatest_friction = 0.0, math.inf, -math.inf, 0.0
    for t in range(2):
        constant, per_speed = friction_of(cylinders, c, cap, high, oils.viscosity[t], measured)
        greatest_friction = max(greatest_friction, constant + per_speed * axle.speeds.max())
        for i in range(axle.force.size):
            v = axle.speed_index[i]
            speed = axle.speeds[v]
            friction = constant + per_speed * speed
            for supply in (low, high):
                x, inlet, outlet, share, _ = spool_point(
                    axle.force[i] * factors.force, axle.direction[i], speed, cap, annulus, spool == 1, gains[valve, t],
                    transitions[valve, t], friction, drops[c, line, 0, t, v], drops[c, line, 1, t, v], supply, back,
                    makeup,
                )  # fmt: skip
                if supply == low:
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
    uses[4] = max(limit / lines.rating[line], high / valves.rating[valve])
    uses[5] = factors.buckling * high * cap / column
    uses[6] = body.outer_diameter / axle.outer_limit
    uses[7] = body.retracted_length / axle.length_limit
    uses[8] = factors.stiffness_ratio * axle.bandwidth / frequency
    uses[9] = factors.valve_ratio * axle.bandwidth / valves.bandwidth[valve]
    uses[10] = greatest_friction / axle.force_rms
    uses[11] = 0.0 if math.isfinite(wall) else math.inf
    masses = corner_mass(
        body.dry_mass, body.oil_volume, bore, valves.mass[valve], valves.rated_flow[valve], lines.bore[line],
        lines.hose_kg_m[line], lines.tube_kg_m[line], axle.tube_length, axle.hose_length, volume, oils.density[0],
        checks, cap * axle.speeds.max(), laws,
    )  # fmt: skip
    facts = CornerFacts(
        cap, annulus, wall, body.outer_diameter, body.retracted_length, body.extended_length, greatest_friction,
        opening, lowest, highest, stiffness, oil_mass, frequency, column,
        cylinder_leakage(cylinders, c, high, oils.viscosity[1], measured),
        valve_leakage(valves.leakage[valve], valves.reference_pressure[valve], high), masses[0], masses[1], masses[2],
        masses[3], masses[4], body.oil_volume, volume,
    )  # fmt: skip
    return uses, at, facts
