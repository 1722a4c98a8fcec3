"""The run: controller samples, adaptive steps between them, traces at the samples, integrals of powers and flows.

One compiled loop. It never accepts a step silently: a step that fails at the smallest size ends the run with `STALLED`,
a run of too many steps with `EXHAUSTED`, which the caller reports. Same arguments, same numbers.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.proof import layout as at
from models.proof.circuit import machine_bus, machine_torque, rates
from models.proof.compiled import COMPILED
from models.proof.control import F_WANTED, K_DRAWN, SPEED, centre_orders, corner_order, flow_drawn, law_force
from models.proof.corner import spool_acceleration
from models.proof.mixture import oil_numbers, pressure_of
from models.proof.step import BLOCK_FACTORS, BORDER_FACTORS, E32, GAMMA, factor, solve
from models.quantity import ATMOSPHERE

Floats = NDArray[np.float64]

DONE, STALLED, EXHAUSTED = range(3)
"""How a stretch of the run ended."""

SMALLEST_STEP = 1e-9
"""Step, s, below which nothing is accepted."""

Space = tuple[Floats, Floats, Floats, Floats, Floats, Floats, Floats, Floats, Floats]

COUNTS = 4
STEPS, REJECTED, STAGES, SAMPLES_DONE = range(COUNTS)


def workspace(corners: int) -> Space:
    """Arrays that a stretch of the run works in."""
    size = corners * at.SLOTS + at.CENTRE_SLOTS
    return (
        np.zeros((10, size)),
        np.zeros((2, corners, at.PARTS)),
        np.zeros((2, at.CENTRE_PARTS)),
        np.zeros((3, at.POWERS)),
        np.zeros((3, at.FLOWS)),
        np.zeros((corners, BLOCK_FACTORS)),
        np.zeros(BORDER_FACTORS),
        np.zeros(corners),
        np.zeros((corners + 2, 2)),
    )


def trace_room(samples: int, corners: int) -> tuple[Floats, Floats]:
    """Room for the traces, [sample, corner, CORNER_TRACES] and [sample, CENTRE_TRACES], each trace's samples in a row:
    what reads them afterwards reads one trace at a time.

    A sample more than asked keeps numba from taking a short or single-cornered one for an array of another layout, and
    compiling the run anew.
    """
    return (
        np.zeros((corners, at.CORNER_TRACES, samples + 1)).transpose(2, 0, 1)[:samples],
        np.zeros((at.CENTRE_TRACES, samples + 1)).T[:samples],
    )


@njit(**COMPILED)
def simulate(
    c: Floats,
    z: Floats,
    table: Floats,
    first: int,
    last: int,
    sample: float,
    largest: float,
    inputs: Floats,
    wanted: Floats,
    mode: int,
    tolerance: Floats,
    y: Floats,
    kept: Floats,
    kept_centre: Floats,
    centre: Floats,
    work: Floats,
    volumes: Floats,
    corner_trace: Floats,
    centre_trace: Floats,
    counts: Floats,
    most_steps: float,
    space: Space,
) -> int:
    """Run from sample `first` to `last`, changing y, what the controllers keep, integrals, traces and counts in place.

    inputs: [sample, corner + 2, 2] as in `rates`; wanted: [sample, corner] force or position beside the ride law;
    tolerance: of each state in one step; the squares of errors over tolerances may sum to 1. Returns DONE, STALLED, or
    EXHAUSTED after `most_steps`; counts[SAMPLES_DONE] says how far. space: from `workspace`, of no meaning outside.
    """
    n = c.shape[0]
    whole, part = n > 0, n < 0  # written as True and False, each would be compiled a version of its own
    e = n * at.SLOTS
    size = e + at.CENTRE_SLOTS
    imposed = z[at.IMPOSED] > 0.5
    vectors, partials, centre_partials, powers, all_flows, blocks, border, orders, slopes = space
    f0, f1, f2, k1, k2 = vectors[0], vectors[1], vectors[2], vectors[3], vectors[4]
    k3, rhs, trial, drift, scale = vectors[5], vectors[6], vectors[7], vectors[8], vectors[9]
    parts, parts_new = partials[0], partials[1]
    cparts, cparts_new = centre_partials[0], centre_partials[1]
    power, power_mid, power_new = powers[0], powers[1], powers[2]
    flows, flows_mid, flows_new = all_flows[0], all_flows[1], all_flows[2]
    loaded = -1.0
    for j in range(size):
        drift[j], scale[j] = 0.0, 1.0 / (6.0 * tolerance[j])
    h = min(largest, sample)
    for s in range(first, last):
        inp = inputs[s]
        for i in range(n + 2):
            slopes[i, 0] = (inputs[s + 1, i, 0] - inp[i, 0]) / sample
            slopes[i, 1] = (inputs[s + 1, i, 1] - inp[i, 1]) / sample
        take_sample(c, z, y, inp, wanted[s], mode, sample, kept, kept_centre, centre, orders, corner_trace[s])
        if s == first or centre[at.LOADED] != loaded:
            rates(c, z, table, y, orders, centre, inp, slopes, 0.0, f0, parts, cparts, power, flows, whole)
        else:
            new_orders(c, z, y, orders, centre, f0, parts, cparts, power)
        loaded = centre[at.LOADED]
        keep_traces(c, z, y, f0, parts, centre, power, flows, corner_trace[s], centre_trace[s])
        for i in range(n):
            drift[i * at.SLOTS + at.P1] = parts[i, at.LIFT1] * parts[i, at.D1V] * slopes[i, 1]
            drift[i * at.SLOTS + at.P2] = parts[i, at.LIFT2] * parts[i, at.D2V] * slopes[i, 1]
            if not imposed:
                drift[i * at.SLOTS + at.P1] = 0.0
                drift[i * at.SLOTS + at.P2] = 0.0
                drift[i * at.SLOTS + at.WHEEL_RATE] = parts[i, at.TYRE_NOW] * slopes[i, 0] / c[i, at.UNSPRUNG]
        since = 0.0
        while since < sample:
            left = sample - since
            dt = min(h, largest)
            if dt >= left * 0.999999:
                dt = left
            elif dt > 0.5 * left:
                dt = 0.5 * left
            g = GAMMA * dt
            factor(c, z, parts, cparts, g, blocks, border)
            for j in range(size):
                rhs[j] = f0[j] + g * drift[j]
            solve(c, z, parts, cparts, g, blocks, border, rhs, k1)
            worst = 0.0
            for stage in range(2):
                if stage == 0:
                    for j in range(size):
                        trial[j] = y[j] + 0.5 * dt * k1[j]
                    rates(
                        c, z, table, trial, orders, centre, inp, slopes, since + 0.5 * dt, f1, parts_new, cparts_new,
                        power_mid, flows_mid, part,
                    )  # fmt: skip
                    for j in range(size):
                        rhs[j] = f1[j] - k1[j]
                    solve(c, z, parts, cparts, g, blocks, border, rhs, k2)
                    for j in range(size):
                        k2[j] += k1[j]
                        trial[j] = y[j] + dt * k2[j]
                else:
                    rates(
                        c, z, table, trial, orders, centre, inp, slopes, since + dt, f2, parts_new, cparts_new,
                        power_new, flows_new, whole,
                    )  # fmt: skip
                    for j in range(size):
                        rhs[j] = f2[j] - E32 * (k2[j] - f1[j]) - 2.0 * (k1[j] - f0[j]) + g * drift[j]
                    solve(c, z, parts, cparts, g, blocks, border, rhs, k3)
                    for j in range(size):
                        miss = (k1[j] - 2.0 * k2[j] + k3[j]) * scale[j]
                        worst += miss * miss
                    worst *= dt * dt
            counts[STAGES] += 2
            if counts[STEPS] + counts[REJECTED] > most_steps:
                counts[SAMPLES_DONE] = s
                return EXHAUSTED
            if worst <= 1.0:
                for j in range(size):
                    y[j] = trial[j]
                    f0[j] = f2[j]
                # the formula's own quadrature: its second stage stands in the middle of the step
                for j in range(at.POWERS):
                    work[j] += dt * power_mid[j]
                    power[j] = power_new[j]
                for j in range(at.FLOWS):
                    volumes[j] += dt * flows_mid[j]
                    flows[j] = flows_new[j]
                parts, parts_new = parts_new, parts
                cparts, cparts_new = cparts_new, cparts
                since += dt
                if dt == left:
                    since = sample
                counts[STEPS] += 1
            else:
                counts[REJECTED] += 1
                if dt <= SMALLEST_STEP:
                    counts[SAMPLES_DONE] = s
                    return STALLED
            growth = 0.25
            if worst <= 1e9:
                growth = min(max(0.85 * (worst + 1e-18) ** (-1.0 / 6.0), 0.2), 4.0)
            grown = dt * growth
            if worst <= 1.0 and dt < h * 0.999:
                grown = max(h, grown)
            h = min(grown, largest)
        counts[SAMPLES_DONE] = s + 1
    return DONE


@njit(**COMPILED)
def take_sample(
    c: Floats,
    z: Floats,
    y: Floats,
    inputs: Floats,
    wanted: Floats,
    mode: int,
    sample: float,
    kept: Floats,
    kept_centre: Floats,
    centre: Floats,
    orders: Floats,
    corner_trace: Floats,
) -> None:
    """One sample of every controller: sets `orders` and `centre` for the time to the next, and the corners' traces.

    inputs, wanted: this sample's rows.
    """
    n = c.shape[0]
    e = n * at.SLOTS
    floor = z[at.FLOOR]
    law = z[at.LAW_HOLDS] > 0.5
    imposed = z[at.IMPOSED] > 0.5
    port = pressure_of(y[e + at.PORT_P], floor)
    tank = pressure_of(y[e + at.PORT_T], floor)
    oil = oil_numbers(z[at.MODULUS], z[at.MODULUS_SLOPE], z[at.AIR], z[at.AIR_EXPONENT])
    drawn, shaft_lag, runs_ahead = 0.0, z[at.INERTIA] / z[at.SPEED_GAIN], z[at.CONTROL] == SPEED
    for i in range(n):
        base = i * at.SLOTS
        travel, speed = 0.0, 0.0
        piston = inputs[i, 0]
        rate = inputs[i, 1]
        passive = 0.0
        if not imposed:
            body, body_rate = 0.0, 0.0
            for a in range(3):
                body += c[i, at.ARM_HEAVE + a] * y[e + at.HEAVE + a]
                body_rate += c[i, at.ARM_HEAVE + a] * y[e + at.HEAVE_RATE + a]
            wheel, wheel_rate = y[base + at.WHEEL], y[base + at.WHEEL_RATE]
            travel, speed = body - wheel, body_rate - wheel_rate
            piston, rate = c[i, at.RATIO] * travel, c[i, at.RATIO] * speed
            if c[i, at.ARRANGED] == at.SEAT:
                piston = c[i, at.RATIO] * body - y[base + at.EXTRA]
                rate = c[i, at.RATIO] * body_rate - y[base + at.EXTRA_RATE]
            if law and c[i, at.FITTED] > 0.5:
                force = law_force(c[i], kept[i], travel, body_rate, wheel - inputs[i, 0], wheel_rate)
                passive = -(c[i, at.LAW_SPRING] * travel + c[i, at.LAW_DAMPER] * speed) / c[i, at.RATIO]
                kept[i, F_WANTED] = force / c[i, at.RATIO] + passive
        else:
            travel = piston / c[i, at.RATIO]
        aim = wanted[i]
        if law:
            aim += kept[i, F_WANTED]
        p1, p2 = pressure_of(y[base + at.P1], floor), pressure_of(y[base + at.P2], floor)
        orders[i], raw = corner_order(
            c[i], z, oil, p1, p2, port, tank, piston, rate, passive, aim, mode, sample, kept[i]
        )
        if mode > 1 or c[i, at.FITTED] < 0.5:
            orders[i], raw = 0.0, 0.0
        if runs_ahead:
            soon = y[base + at.SPOOL] + shaft_lag * y[base + at.SPOOL_RATE]
            drawn += flow_drawn(c[i], soon, z[at.HIGH] + ATMOSPHERE - p1, z[at.HIGH] + ATMOSPHERE - p2)
        row = corner_trace[i]
        row[at.T_WANTED], row[at.T_ORDER] = aim, raw
        row[at.T_P1], row[at.T_P2] = p1 - ATMOSPHERE, p2 - ATMOSPHERE
        row[at.T_SPOOL], row[at.T_TRAVEL], row[at.T_SPEED] = y[base + at.SPOOL], travel, rate
        row[at.T_TYRE] = 0.0
        if not imposed:
            row[at.T_TYRE] = max(-c[i, at.TYRE] * (y[base + at.WHEEL] - inputs[i, 0]), -c[i, at.TYRE_STATIC])
    kept_centre[K_DRAWN] = drawn
    centre_orders(z, pressure_of(y[e + at.RAIL], floor), y[e + at.SHAFT], kept_centre, sample, centre)


@njit(**COMPILED)
def new_orders(
    c: Floats,
    z: Floats,
    y: Floats,
    orders: Floats,
    centre: Floats,
    dy: Floats,
    parts: Floats,
    cparts: Floats,
    power: Floats,
) -> None:
    """Bring rates up to date after a sample: only spools and shaft feel an order at once."""
    n = c.shape[0]
    for i in range(n):
        base = i * at.SLOTS
        dy[base + at.SPOOL_RATE], parts[i, at.SPOOL_PULL] = spool_acceleration(
            orders[i], y[base + at.SPOOL], y[base + at.SPOOL_RATE], c[i, at.SPOOL_OMEGA], c[i, at.SPOOL_DAMPING],
            c[i, at.SPOOL_SPEED],
        )  # fmt: skip
    omega = y[n * at.SLOTS + at.SHAFT]
    machine, slope = machine_torque(z, centre, omega)
    dy[n * at.SLOTS + at.SHAFT] = (machine - cparts[at.LOAD_TORQUE]) / z[at.INERTIA]
    cparts[at.DWW] = (slope - z[at.DISPLACEMENT] * z[at.DRAG] * z[at.VISCOSITY]) / z[at.INERTIA]
    power[at.W_MACHINE], power[at.W_BUS] = machine * omega, machine_bus(z, machine, omega)


@njit(**COMPILED)
def keep_traces(
    c: Floats,
    z: Floats,
    y: Floats,
    dy: Floats,
    parts: Floats,
    centre: Floats,
    power: Floats,
    flows: Floats,
    corners: Floats,
    row: Floats,
) -> None:
    """Write the traces of an instant that need rates: forces and accelerations of the corners, the centre's row."""
    n = c.shape[0]
    e = n * at.SLOTS
    floor = z[at.FLOOR]
    for i in range(n):
        corners[i, at.T_FORCE] = parts[i, at.ACTUATOR]
        total = 0.0
        for a in range(3):
            total += c[i, at.ARM_HEAVE + a] * dy[e + at.HEAVE_RATE + a]
        corners[i, at.T_BODY] = total
    row[at.T_RAIL] = pressure_of(y[e + at.RAIL], floor) - ATMOSPHERE
    row[at.T_PORT_P] = pressure_of(y[e + at.PORT_P], floor) - ATMOSPHERE
    row[at.T_PORT_T] = pressure_of(y[e + at.PORT_T], floor) - ATMOSPHERE
    omega = y[e + at.SHAFT]
    row[at.T_SHAFT] = omega
    row[at.T_TORQUE] = power[at.W_MACHINE] / max(omega, 1e-9)
    row[at.T_LIMIT] = centre[at.TORQUE_LIMIT]
    row[at.T_BUS], row[at.T_SUPPLY] = power[at.W_BUS], flows[at.F_SUPPLY]
    row[at.T_PUMP], row[at.T_CHECK] = flows[at.F_PUMP], flows[at.F_CHECK]
    for a in range(3):
        row[at.T_HEAVE + a] = dy[e + at.HEAVE_RATE + a]
