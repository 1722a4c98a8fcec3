"""The search's first part: every cylinder, spool, line and valve of one axle at every supply setting.

A half is kept when it keeps every constraint, and then only when no other half of the same setting is at least as good
in everything through which it meets the rest of the plant (its key: mass, both areas, difference area, leakage, valve
power, oil). Both steps are exact: what is dropped can be part of no better plant (see `join`). What depends on neither
line nor valve is computed once per pressure, what depends on no setting once in all.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from models.compiled import INNER, KERNEL
from models.sizing.catalogue import Floats
from models.sizing.corner import (
    MassLaws,
    corner_mass,
    oil_column,
    spool_point,
)
from models.sizing.corner_store import STORE_MASS, STORE_OIL, STORE_OK
from models.sizing.half_tables import (
    F_ANNULUS,
    F_BODY_MASS,
    F_CAP,
    F_FRICTION,
    F_LEAK,
    F_MISS,
    F_MOVING,
    F_OIL,
    F_SENSORS,
    F_STAGE,
)
from models.sizing.halves import (
    C_THROUGH,
    KEYS,
    L_BORE,
    L_EXPANSION,
    L_RATING,
    V_BANDWIDTH,
    V_FAMILY,
    V_HOLDING,
    V_PEAK,
    AxleNumbers,
)
from models.sizing.task import Factors

STAGES = (
    "friction", "wall_or_diameter", "length", "buckling", "gas_spring", "force", "stiffness", "line_force", "valve",
    "points",
)  # fmt: skip
"""Tests of a half in the order the kernel makes them; the nearest miss is the one that came furthest by the least."""

H_PRESSURE, H_HIGH, H_LOW, H_BACK, H_MAKEUP, H_MODULUS = range(6)
"""Columns of a supply setting: pressure number, highest at the pump, lowest at P, highest at T, what a check holds, and
the oil's effective modulus."""


@njit(**INNER)
def one_sided_gain(
    points: Floats, speeds: Floats, drops: Floats, fact: Floats, low: float, back: float, opening: float, force: float
) -> float:
    """`least_gain` of a single-acting cylinder, whose load drives it back through the other edge."""
    cap, square = fact[F_CAP], 0.0
    for i in range(points.shape[0]):
        load, side, v = points[i, 0] * force, points[i, 1], int(points[i, 2])
        if side == 0.0 or speeds[v] == 0.0:
            if load > low * cap:
                return math.inf
            continue
        flow = cap * speeds[v]
        for t in range(2):
            chamber = (load + side * (fact[F_FRICTION + t] + fact[F_FRICTION + 2 + t] * speeds[v])) / cap
            drop = low - chamber if side > 0.0 else chamber - back
            drop -= drops[0, t, v]
            if drop <= 0.0:
                return math.inf
            square = max(square, flow * flow / drop)
    return math.sqrt(square) / opening


@njit(**INNER)
def least_gain(
    points: Floats,
    speeds: Floats,
    drops: Floats,
    fact: Floats,
    matched: bool,
    low: float,
    back: float,
    makeup: float,
    opening: float,
    force: float,
) -> float:
    """Lower bound on the valve gain that serves every point, without viscous loss in the edges; inf when none does.

    Points so far overrunning that a make-up check could feed them are left to the full test. drops: of `line_drops` for
    one cylinder and line; force: factor on every load.
    """
    cap, annulus = fact[F_CAP], fact[F_ANNULUS]
    if annulus == 0.0:
        return one_sided_gain(points, speeds, drops, fact, low, back, opening, force)
    scale = annulus / cap if matched else 1.0
    square = 0.0
    for i in range(points.shape[0]):
        load, side, v = points[i, 0] * force, points[i, 1], int(points[i, 2])
        if side == 0.0:
            if load > low * cap - back * annulus or -load > low * annulus - back * cap:
                return math.inf
            continue
        fill = 0 if side > 0.0 else 1
        inlet, outlet = (cap, annulus) if side > 0.0 else (annulus, cap)
        scale_in, scale_out = (1.0, scale) if side > 0.0 else (scale, 1.0)
        flow_in, flow_out = inlet * speeds[v] / scale_in, outlet * speeds[v] / scale_out
        work = inlet * flow_in * flow_in + outlet * flow_out * flow_out
        for t in range(2):
            resisting = load * side + fact[F_FRICTION + t] + fact[F_FRICTION + 2 + t] * speeds[v]
            if resisting < makeup * inlet - back * outlet:
                continue
            rest = (low - drops[fill, t, v]) * inlet - (back + drops[1 - fill, t, v]) * outlet - resisting
            if rest <= 0.0:
                return math.inf
            square = max(square, work / rest)
    return math.sqrt(square) / opening


@njit(**INNER)
def points_pass(
    points: Floats,
    speeds: Floats,
    drops: Floats,
    fact: Floats,
    matched: bool,
    gain: Floats,
    transition: Floats,
    low: float,
    high: float,
    back: float,
    makeup: float,
    factors: Factors,
    chamber_limit: float,
) -> bool:
    """Whether every point keeps opening and cavitation at the lowest supply, and chamber pressure at every supply.

    `makeup` -inf: no anti-cavitation checks.
    """
    cap, annulus = fact[F_CAP], fact[F_ANNULUS]
    for i in range(points.shape[0]):
        load, side, v = points[i, 0] * factors.force, points[i, 1], int(points[i, 2])
        for t in range(2):
            friction = fact[F_FRICTION + t] + fact[F_FRICTION + 2 + t] * speeds[v]
            for k in range(2):
                opening, inlet, outlet, share, _ = spool_point(
                    load, side, speeds[v], cap, annulus, matched, gain[t], transition[t], friction, drops[0, t, v],
                    drops[1, t, v], low if k == 0 else high, back, makeup,
                )  # fmt: skip
                if inlet > chamber_limit or outlet > chamber_limit:
                    return False
                if k == 1:
                    continue
                if not (opening <= factors.opening and share <= 1.0):
                    return False
                if inlet < factors.lowest_chamber or outlet < factors.lowest_chamber:
                    return False
                # No chamber can hold more than the full supply with the load on the other side leaves it.
                extends = side > 0.0 or (side == 0.0 and load >= 0.0)
                fill, empty = (cap, annulus) if extends else (annulus, cap)
                pushing = -load if extends else load
                if max(high, makeup, back) * fill + pushing <= chamber_limit * empty * (1.0 - 1e-9) and (
                    max(high, makeup, back) <= chamber_limit
                ):
                    break
    return True


@njit(**INNER)
def any_as_good(keys: Floats, start: int, end: int, row: Floats, guess: int) -> int:
    """A row of keys[start:end) that equals or betters `row` in every key, looked for first at `guess`; -1: none."""
    for step in range(start - 1, end):
        other = guess if step < start else step
        if other < start or other >= end:
            continue
        good = True
        for k in range(KEYS):
            if keys[other, k] > row[k]:
                good = False
                break
        if good:
            return other
    return -1


@njit(**INNER)
def keep(choices: Floats, keys: Floats, start: int, end: int, row: Floats, choice: Floats) -> int:
    """Add a half to [start, end) unless one there equals or betters it; take out those it betters. The new end."""
    if any_as_good(keys, start, end, row, start) >= 0:
        return end
    kept = start
    for other in range(start, end):
        good = True
        for k in range(KEYS):
            if row[k] > keys[other, k]:
                good = False
                break
        if not good:
            if kept != other:
                for k in range(KEYS):
                    keys[kept, k] = keys[other, k]
                for k in range(choice.size):
                    choices[kept, k] = choices[other, k]
            kept += 1
    for k in range(KEYS):
        keys[kept, k] = row[k]
    for k in range(choice.size):
        choices[kept, k] = choice[k]
    return kept + 1


@njit(**INNER)
def note_miss(
    nearest: Floats, stage: float, miss: float, s: int, c: int, spool: int, line: int, valve: int, checks: float
) -> None:
    """Remember a refused half when it came further than any before, or as far with a smaller miss."""
    if stage > nearest[0] or (stage == nearest[0] and miss < nearest[1]):
        nearest[0], nearest[1], nearest[2], nearest[3] = stage, miss, s, c
        nearest[4], nearest[5], nearest[6], nearest[7] = spool, line, valve, checks


@njit(**INNER)
def mark_promising(
    keys: Floats,
    start: int,
    end: int,
    row: Floats,
    n: int,
    mass: float,
    leak: float,
    least: Floats,
    promising: Floats,
    guesses: Floats,
) -> bool:
    """Mark the valve families whose best conceivable half no kept half equals or betters; False when none is left.

    row: key with areas, difference and oil set; mass, leak: one corner's without its valve; least: by family, the least
    mass, leakage, holding and peak power of valves that may serve, infinite where none may; guesses: by family, the row
    that last bettered one.
    """
    left = False
    for family in range(least.shape[0]):
        promising[family] = 0.0
        if least[family, 0] < math.inf:
            row[0] = n * (mass + least[family, 0]) * (1 - 1e-12)
            row[4], row[5], row[6] = n * (leak + least[family, 1]), n * least[family, 2], n * least[family, 3]
            found = any_as_good(keys, start, end, row, guesses[family])
            if found >= 0:
                guesses[family] = found
            else:
                promising[family] = 1.0
                left = True
    return left


@njit(**INNER)
def valve_bounds(
    valves: Floats,
    valve_table: Floats,
    strength: Floats,
    gain: float,
    bandwidth: float,
    least: Floats,
    promising: Floats,
) -> float:
    """Fill `least` by family over the valves that may serve; the least miss of bandwidth when none may, else 0.

    strength: greatest gain of each valve, cold or hot; gain: lower bound on the gain needed. A miss is infinite where
    no valve is strong enough and bears the pressure either.
    """
    for family in range(least.shape[0]):
        promising[family] = 1.0
        for k in range(4):
            least[family, k] = math.inf
    miss = math.inf
    for v in range(valves.shape[0]):
        if strength[v] < gain * (1 - 1e-12) or valve_table[v, 1] == math.inf:
            continue
        if valves[v, V_BANDWIDTH] < bandwidth:
            miss = min(miss, bandwidth / valves[v, V_BANDWIDTH])
            continue
        miss = 0.0
        best = least[int(valves[v, V_FAMILY])]
        best[0], best[1] = min(best[0], valve_table[v, 0]), min(best[1], valve_table[v, 1])
        best[2], best[3] = min(best[2], valves[v, V_HOLDING]), min(best[3], valves[v, V_PEAK])
    return miss


@njit(**INNER)
def try_valves(
    axle: AxleNumbers,
    points: Floats,
    speeds: Floats,
    valves: Floats,
    gains: Floats,
    transitions: Floats,
    strength: Floats,
    setting: Floats,
    fact: Floats,
    valve_table: Floats,
    line_mass: float,
    drops: Floats,
    factors: Factors,
    laws: MassLaws,
    plain: bool,
    checked: bool,
    limit: float,
    need: float,
    promising: Floats,
    family_best: Floats,
    keys: Floats,
    choices: Floats,
    start: int,
    end: int,
    row: Floats,
    choice: Floats,
    nearest: Floats,
    tally: Floats,
) -> int:
    """Keep what deserves it of one cylinder, spool and line with every valve; the new end of the setting's rows.

    need: lower bound on the gain; row, choice: scratch, with what the valve does not change filled in, row[0] and
    row[4] being one corner's mass without line and valve and leakage without valve. family_best: scratch.
    """
    n, s = axle.corners, int(choice[5])
    bare, leak = row[0], row[4]
    cap, peak_speed = fact[F_CAP], speeds[speeds.size - 1]
    for family in range(family_best.shape[0]):
        for k in range(4):
            family_best[family, k] = math.inf
    for v in range(valves.shape[0]):
        if strength[v] < need * (1 - 1e-12) or valve_table[v, 1] == math.inf:
            continue
        if valves[v, V_BANDWIDTH] < factors.valve_ratio * axle.bandwidth:
            miss = factors.valve_ratio * axle.bandwidth / valves[v, V_BANDWIDTH]
            note_miss(nearest, 8.0, miss, s, choice[0], choice[1], choice[2], v, 0.0)
            continue
        best = family_best[int(valves[v, V_FAMILY])]
        if promising[int(valves[v, V_FAMILY])] == 0.0 or (
            best[0] <= valve_table[v, 0]
            and best[1] <= valve_table[v, 1]
            and best[2] <= valves[v, V_HOLDING]
            and best[3] <= valves[v, V_PEAK]
        ):
            continue
        tally[0] += 1
        # Checks only add mass: they are tried where the plain corner falls short.
        passed, use_checks = False, False
        for attempt in range(2):
            use_checks = attempt == 1
            if not passed and (checked if use_checks else plain):
                passed = points_pass(
                    points, speeds, drops, fact, choice[1] == 1, gains[v], transitions[v], setting[H_LOW],
                    setting[H_HIGH], setting[H_BACK], setting[H_MAKEUP] if use_checks else -math.inf, factors, limit,
                )  # fmt: skip
                if passed:
                    break
        if not passed:
            note_miss(nearest, 9.0, need / strength[v], s, choice[0], choice[1], choice[2], v, 1.0 if checked else 0.0)
            continue
        tally[1] += 1
        if not use_checks:
            best[0], best[1] = valve_table[v, 0], valve_table[v, 1]
            best[2], best[3] = valves[v, V_HOLDING], valves[v, V_PEAK]
        mass = bare + valve_table[v, 0] + line_mass + fact[F_SENSORS]
        if use_checks:
            mass += check_mass(cap * peak_speed, laws)
        row[0], row[4] = n * mass, n * (leak + valve_table[v, 1])
        row[5], row[6] = n * valves[v, V_HOLDING], n * valves[v, V_PEAK]
        choice[3], choice[4] = v, 1 if use_checks else 0
        end = keep(choices, keys, start, end, row, choice)
        if end == keys.shape[0]:
            break
    row[0], row[4] = bare, leak
    return end


@njit(**INNER)
def try_lines(
    axle: AxleNumbers,
    points: Floats,
    speeds: Floats,
    lines: Floats,
    valves: Floats,
    gains: Floats,
    transitions: Floats,
    strength: Floats,
    setting: Floats,
    fact: Floats,
    line_table: Floats,
    valve_table: Floats,
    drops: Floats,
    factors: Factors,
    laws: MassLaws,
    plain: bool,
    checked: bool,
    limit: float,
    shell: Floats,
    lightest_line: float,
    smallest_line: float,
    least: Floats,
    promising: Floats,
    guesses: Floats,
    family_best: Floats,
    keys: Floats,
    choices: Floats,
    start: int,
    end: int,
    row: Floats,
    choice: Floats,
    nearest: Floats,
    tally: Floats,
) -> int:
    """Keep what deserves it of one cylinder, spool and corner accumulator with every line and valve; the new end.

    shell: its row of the store table; lightest_line, smallest_line: least mass and oil of the lines that bear the
    setting; the rest as in `try_valves`.
    """
    n, s, c, spool, none = axle.corners, int(choice[5]), choice[0], choice[1], np.int64(-1)
    body = fact[F_BODY_MASS] + shell[STORE_MASS]
    bare, oil = body + fact[F_SENSORS], fact[F_OIL] + shell[STORE_OIL]
    low, back, makeup, matched = setting[H_LOW], setting[H_BACK], setting[H_MAKEUP], choice[1] == 1
    row[7] = n * (oil + axle.lines * smallest_line)
    if not mark_promising(keys, start, end, row, n, bare + lightest_line, fact[F_LEAK], least, promising, guesses):
        return end
    for line in range(lines.shape[0]):
        if lines[line, L_RATING] < limit:
            continue
        row[7] = n * (oil + axle.lines * line_table[line, 1])
        if not mark_promising(
            keys, start, end, row, n, bare + line_table[line, 0], fact[F_LEAK], least, promising, guesses
        ):
            continue
        _, _, frequency = oil_column(
            axle.arrangement, axle.spring, fact[F_CAP], fact[F_ANNULUS], axle.stroke, setting[H_MODULUS],
            line_table[line, 1], axle.hose_length, lines[line, L_EXPANSION], line_table[line, 2], axle.mass,
            fact[F_MOVING],
        )  # fmt: skip
        if frequency < factors.stiffness_ratio * axle.bandwidth:
            miss = factors.stiffness_ratio * axle.bandwidth / frequency
            note_miss(nearest, 6.0, miss, s, c, spool, line, none, 0.0)
            continue
        need = least_gain(points, speeds, drops[line], fact, matched, low, back, makeup, factors.opening, factors.force)
        if not need < math.inf:
            note_miss(nearest, 7.0, 1.0 / lines[line, L_BORE], s, c, spool, line, none, 0.0)
            continue
        row[0], row[4] = body, fact[F_LEAK]
        choice[2] = line
        end = try_valves(
            axle, points, speeds, valves, gains, transitions, strength, setting, fact, valve_table,
            line_table[line, 0], drops[line], factors, laws, plain, checked, limit, need, promising, family_best, keys,
            choices, start, end, row, choice, nearest, tally,
        )  # fmt: skip
        if end == keys.shape[0]:
            break
    return end


@njit(**INNER)
def check_mass(flow: float, laws: MassLaws) -> float:
    """Both anti-cavitation checks of a corner for `flow` m³/s, kg."""
    return corner_mass(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, True, flow, laws, 2.0)[4]


HalvesFound = tuple[Floats, Floats, Floats, Floats, Floats]
HalvesRoom = tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats, Floats]


def halves_room(
    speeds: Floats, valves: Floats, gains: Floats, settings: Floats, capacity: int
) -> tuple[HalvesFound, HalvesRoom]:
    """What `enumerate_halves` fills with at most `capacity` halves, and what it works in.

    The room: a key, a choice, no drop, each valve's strength at its best, and of each valve family the best kept, the
    least, what is promising and where a guess begins.
    """
    families = 1 + max(0, int(valves[:, V_FAMILY].max()))
    found = (
        np.empty((capacity, 7), np.int64),
        np.empty((capacity, KEYS)),
        np.zeros(settings.shape[0] + 1, np.int64),
        np.zeros(2),
        np.full(8, -1.0),
    )
    room = (
        np.empty(KEYS),
        np.zeros(7, np.int64),
        np.zeros((2, 2, speeds.size)),
        gains.max(axis=1),
        np.empty((families, 4)),
        np.empty((families, 4)),
        np.empty(families),
        np.zeros(families, np.int64),
    )
    return found, room


@njit(**KERNEL)
def enumerate_halves(
    axle: AxleNumbers,
    points: Floats,
    speeds: Floats,
    cylinders: Floats,
    lines: Floats,
    valves: Floats,
    gains: Floats,
    transitions: Floats,
    settings: Floats,
    facts: Floats,
    line_table: Floats,
    valve_table: Floats,
    drops: Floats,
    factors: Factors,
    laws: MassLaws,
    spools: Floats,
    plain: bool,
    checked: bool,
    relief: float,
    stores: Floats,
    found: HalvesFound,
    room: HalvesRoom,
) -> None:
    """Fill found with all undominated halves; found and room: of `halves_room`.

    found: (choices, keys, first row of each setting, (halves evaluated, feasible), nearest).
    choices: [row, (cylinder, spool, line, valve, checks, setting, corner accumulator)]; keys: [row, KEYS]; rows of
    setting s run from first[s] to first[s+1], and first[-1] is -1 when there are more rows than room. settings:
    [setting, H_*]; facts, line_table, valve_table: of `half_tables`; gains, transitions: [valve, oil]; spools: 0
    symmetric, 1 matched; stores: of `corner_store.shell_table`. A cylinder or line whose best conceivable key a kept
    half already equals or betters is passed over whole. nearest: the refused half that came furthest, (stage, miss,
    setting, cylinder, spool, line, valve, checks), line and valve -1 where it fell before they were tried.
    """
    choices, keys, first, tally, nearest = found
    row, choice, no_drop, strength, family_best, least, promising, guesses = room
    capacity, n, strongest = keys.shape[0], axle.corners, 0.0
    for v in range(valves.shape[0]):
        strongest = max(strongest, strength[v])
    end, none = np.int64(0), np.int64(-1)  # a plain 0 or -1 would compile the callees once more for that very number
    for s in range(settings.shape[0]):
        start, setting, p = end, settings[s], int(settings[s, H_PRESSURE])
        low, back, makeup = setting[H_LOW], setting[H_BACK], setting[H_MAKEUP]
        limit = relief * setting[H_HIGH]
        # Where a plain corner fails, one whose checks hold less than the lowest pressure allowed fails too.
        checks_help = checked and (makeup >= factors.lowest_chamber or not plain)
        lightest_line, smallest_line = math.inf, math.inf
        for line in range(lines.shape[0]):
            if lines[line, L_RATING] >= limit:
                lightest_line = min(lightest_line, line_table[line, 0])
                smallest_line = min(smallest_line, line_table[line, 1])
        choice[5] = s
        for c in range(cylinders.shape[0] if lightest_line < math.inf else 0):
            fact = facts[p, c]
            if fact[F_STAGE] >= 0.0:
                note_miss(nearest, fact[F_STAGE], fact[F_MISS], s, c, spools[0], none, none, 0.0)
                continue
            row[1], row[2], row[3] = fact[F_CAP], fact[F_ANNULUS], (fact[F_CAP] - fact[F_ANNULUS]) * axle.stroke * n
            for spool in spools:
                matched = spool == 1
                if matched and cylinders[c, C_THROUGH] > 0.5:
                    continue
                bound = least_gain(
                    points, speeds, no_drop, fact, matched, low, back, makeup, factors.opening, factors.force
                )
                if not bound <= strongest:
                    area = min(fact[F_CAP], fact[F_ANNULUS]) if fact[F_ANNULUS] > 0.0 else fact[F_CAP]
                    miss = axle.force_peak * factors.force / (low * area) if bound == math.inf else bound / strongest
                    note_miss(nearest, 5.0, miss, s, c, spool, none, none, 0.0)
                    continue
                miss = valve_bounds(
                    valves, valve_table[p], strength, bound, factors.valve_ratio * axle.bandwidth, least, promising
                )
                if miss > 0.0:
                    if miss < math.inf:
                        note_miss(nearest, 8.0, miss, s, c, spool, none, none, 0.0)
                    continue
                for store in range(stores.shape[2]):
                    shell = stores[p, c, store]
                    if shell[STORE_OK] == 0.0:
                        continue
                    choice[0], choice[1], choice[6] = c, spool, store
                    end = try_lines(
                        axle, points, speeds, lines, valves, gains, transitions, strength, setting, fact,
                        line_table, valve_table[p], drops[c], factors, laws, plain, checks_help, limit, shell,
                        lightest_line, smallest_line, least, promising, guesses, family_best, keys, choices, start, end,
                        row, choice, nearest, tally,
                    )  # fmt: skip
                    if end == capacity:
                        first[first.size - 1] = -1
                        return
        first[s + 1] = end
