"""The whole circuit at an instant: corners, body, rail with accumulator, ports, pump, relief, return line.

`rates` gives the time derivative of every state, the partial derivatives the integrator needs, and the powers whose
integrals make the ledger. Pressure drops of the central lines are two-term laws fitted to the lines' own (`plant`).
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.drive.machine import bus_power, machine_loss
from models.hydraulics.pump import delivery, shaft_torque
from models.proof import layout as at
from models.proof.compiled import COMPILED
from models.proof.corner import corner_rates
from models.proof.mixture import mixture, oil_numbers, pressure_of
from models.quantity import ATMOSPHERE

Floats = NDArray[np.float64]


@njit(**COMPILED)
def line_flow(drop: float, laminar: float, turbulent: float) -> tuple[float, float]:
    """(flow, its slope) of a line whose drop is laminar·Q + turbulent·Q², odd."""
    root = math.sqrt(laminar * laminar + 4.0 * turbulent * abs(drop))
    return 2.0 * drop / (laminar + root), 1.0 / root


@njit(**COMPILED)
def stored_oil(table: Floats, low: float, step: float, pressure: float) -> tuple[float, float, float]:
    """(oil in the accumulator m³, its slope m³/Pa, temperature over the wall's) at an absolute `pressure`.

    table: the isentrope, [point, (oil, slope over ln p, temperature over the wall's)] at equal steps of ln p from
    `low`; beyond its ends the end values hold.
    """
    place = (math.log(pressure) - low) / step
    last = table.shape[0] - 1
    if place <= 0.0:
        return table[0, 0], 0.0, table[0, 2]
    if place >= last:
        return table[last, 0], 0.0, table[last, 2]
    k = int(place)
    t = place - k
    y0, y1, m0, m1 = table[k, 0], table[k + 1, 0], table[k, 1] * step, table[k + 1, 1] * step
    d = y1 - y0
    a, b = 3.0 * d - 2.0 * m0 - m1, m0 + m1 - 2.0 * d
    oil = y0 + t * (m0 + t * (a + t * b))
    slope = (m0 + t * (2.0 * a + 3.0 * t * b)) / (step * pressure)
    return oil, slope, table[k, 2] + t * (table[k + 1, 2] - table[k, 2])


@njit(**COMPILED)
def machine_torque(z: Floats, centre: Floats, omega: float) -> tuple[float, float]:
    """(torque N·m of the speed loop within its limit, its slope over the shaft's speed)."""
    machine = centre[at.TORQUE_AHEAD] + z[at.SPEED_GAIN] * (centre[at.SHAFT_TARGET] - omega)
    if machine > centre[at.TORQUE_LIMIT]:
        return centre[at.TORQUE_LIMIT], 0.0
    if machine < 0.0:
        return 0.0, 0.0
    return machine, -z[at.SPEED_GAIN]


@njit(**COMPILED)
def machine_bus(z: Floats, machine: float, omega: float) -> float:
    """Power drawn from the bus, W: machine with its losses, electronics, valves and fan."""
    loss = machine_loss(machine, omega, z[at.RATED_TORQUE], z[at.RATED_SPEED], z[at.COPPER], z[at.IRON])
    return bus_power(machine * omega, loss, z[at.ELECTRONICS], z[at.STANDBY]) + z[at.OTHER_POWER]


@njit(**COMPILED)
def rates(
    c: Floats,
    z: Floats,
    table: Floats,
    y: Floats,
    orders: Floats,
    centre: Floats,
    inputs: Floats,
    slopes: Floats,
    since: float,
    dy: Floats,
    parts: Floats,
    cparts: Floats,
    power: Floats,
    flows: Floats,
    with_parts: bool,
) -> None:
    """Fill dy, partials, powers and flows at state `y`, `since` seconds after the sample whose inputs are given.

    orders: spool orders; centre: what the centre's controller holds; inputs, slopes: [corner, (road height | piston
    travel, piston speed)] and then the body's three loads, with their rates of change.
    """
    n = c.shape[0]
    e = n * at.SLOTS
    floor = z[at.FLOOR]
    liquid = oil_numbers(z[at.MODULUS], z[at.MODULUS_SLOPE], z[at.AIR], z[at.AIR_EXPONENT])
    ps = pressure_of(y[e + at.RAIL], floor)
    pp = pressure_of(y[e + at.PORT_P], floor)
    pt = pressure_of(y[e + at.PORT_T], floor)
    vs, soft_s, _, hs = mixture(ps, liquid)
    vp, soft_p, bend_p, hp = mixture(pp, liquid)
    vt, soft_t, bend_t, ht = mixture(pt, liquid)
    reservoir = z[at.RESERVOIR]
    hr = reservoir
    for k in range(at.POWERS):
        power[k] = 0.0
    imposed = z[at.IMPOSED] > 0.5

    lift0, lift1, lift2 = 0.0, 0.0, 0.0
    into, out, fed = 0.0, 0.0, 0.0
    dpp, dtt = 0.0, 0.0
    for i in range(n):
        base = i * at.SLOTS
        arm0, arm1, arm2 = c[i, at.ARM_HEAVE], c[i, at.ARM_PITCH], c[i, at.ARM_ROLL]
        height = arm0 * y[e + at.HEAVE] + arm1 * y[e + at.PITCH] + arm2 * y[e + at.ROLL]
        height_rate = arm0 * y[e + at.HEAVE_RATE] + arm1 * y[e + at.PITCH_RATE] + arm2 * y[e + at.ROLL_RATE]
        bar = 0.0
        if c[i, at.BAR] > 0.0:
            j = int(c[i, at.PARTNER])
            other = c[j, at.ARM_HEAVE] * y[e + at.HEAVE] + c[j, at.ARM_PITCH] * y[e + at.PITCH]
            other += c[j, at.ARM_ROLL] * y[e + at.ROLL] - y[j * at.SLOTS + at.WHEEL]
            bar = 0.5 * (height - y[base + at.WHEEL] - other)
        x0, v0 = inputs[i, 0], inputs[i, 1]
        accel = slopes[i, 1]
        road, road_rate = x0 + slopes[i, 0] * since, slopes[i, 0]
        travel, speed = x0 + (v0 + 0.5 * accel * since) * since, v0 + accel * since
        force, qp, qt, qc = corner_rates(
            c[i], z, liquid, y, base, orders[i], road, road_rate, travel, speed, height, height_rate, bar,
            pp, pt, hp, ht, hr, dy, parts[i], power, with_parts,
        )  # fmt: skip
        into, out, fed = into + qp, out + qt, fed + qc
        if with_parts:
            dpp -= parts[i, at.QP1] + parts[i, at.QP2]
            dtt += parts[i, at.QT1] + parts[i, at.QT2]
        lift0 += arm0 * force
        lift1 += arm1 * force
        lift2 += arm2 * force

    for k in range(3):
        load = inputs[n, 0] if k == 0 else (inputs[n, 1] if k == 1 else inputs[n + 1, 0])
        load += since * (slopes[n, 0] if k == 0 else (slopes[n, 1] if k == 1 else slopes[n + 1, 0]))
        lift = lift0 if k == 0 else (lift1 if k == 1 else lift2)
        mass = z[at.BODY_MASS] if k == 0 else (z[at.PITCH_INERTIA] if k == 1 else z[at.ROLL_INERTIA])
        speed = y[e + at.HEAVE_RATE + k]
        power[at.W_LOAD] += load * speed
        dy[e + at.HEAVE + k] = 0.0 if imposed else speed
        dy[e + at.HEAVE_RATE + k] = 0.0 if imposed else (lift + load) / mass

    omega = y[e + at.SHAFT]
    loaded = centre[at.LOADED] > 0.5
    against = ps - ATMOSPHERE if loaded else z[at.IDLE]
    q_pump, leak_slope, drive = 0.0, 0.0, 0.0
    if loaded:
        q_pump = delivery(z[at.DISPLACEMENT], omega, against, z[at.VISCOSITY], z[at.SLIP])
        leak_slope, drive = -z[at.DISPLACEMENT] * z[at.SLIP] / z[at.VISCOSITY], z[at.DISPLACEMENT]
        if q_pump <= 0.0:
            q_pump, leak_slope, drive = 0.0, 0.0, 0.0
    over = ps - ATMOSPHERE - z[at.RELIEF_CRACK]
    q_relief, relief_slope = 0.0, 0.0
    if over > 0.0:
        q_relief, relief_slope = z[at.RELIEF_GAIN] * over, z[at.RELIEF_GAIN]
    q_supply, supply_slope = line_flow(ps - pp, z[at.SUPPLY_LAMINAR], z[at.SUPPLY_TURBULENT])
    q_return, return_slope = line_flow(pt - ATMOSPHERE - reservoir, z[at.RETURN_LAMINAR], z[at.RETURN_TURBULENT])

    cooler = 1.0 / y[e + at.GAS_HEAT]
    oil, oil_slope, relative = stored_oil(table, z[at.GAS_LOW], z[at.GAS_STEP], ps * cooler)
    heat_rate = (1.0 / relative - y[e + at.GAS_HEAT]) / z[at.GAS_TIME]
    gas_give = oil_slope * cooler
    dy[e + at.GAS_HEAT] = heat_rate

    rail_share = 1.0 / ((z[at.RAIL_VOLUME] + oil) * soft_s + gas_give)
    as_, ap, at_ = vs * rail_share, vp / (z[at.PORT_P_VOLUME] * soft_p), vt / (z[at.PORT_T_VOLUME] * soft_t)
    ps_rate = as_ * (q_pump - q_relief - q_supply) + gas_give * (ps * cooler) * heat_rate * rail_share
    pp_rate = ap * (q_supply - into)
    pt_rate = at_ * (out - q_return)
    over_s, over_p, over_t = 1.0 / ps, 1.0 / pp, 1.0 / pt
    ls, lp, lt = 1.0 + floor * over_s * over_s, 1.0 + floor * over_p * over_p, 1.0 + floor * over_t * over_t
    dy[e + at.RAIL], dy[e + at.PORT_P], dy[e + at.PORT_T] = ls * ps_rate, lp * pp_rate, lt * pt_rate

    pace = omega / (abs(omega) + 0.01 * z[at.RATED_SPEED])
    torque = shaft_torque(
        z[at.DISPLACEMENT], omega, against, z[at.VISCOSITY], z[at.DRAG], z[at.COULOMB_PUMP], z[at.CONSTANT_PUMP]
    )
    torque *= pace
    machine, machine_slope = machine_torque(z, centre, omega)
    cparts[at.LOAD_TORQUE] = torque
    dy[e + at.SHAFT] = (machine - torque) / z[at.INERTIA]

    if with_parts:
        lift_s = -2.0 * over_s * (1.0 - 1.0 / ls)
        lift_p = -2.0 * over_p * (1.0 - 1.0 / lp)
        lift_t = -2.0 * over_t * (1.0 - 1.0 / lt)
        cparts[at.DPP] = -ap * (supply_slope + dpp) + (lift_p - bend_p / soft_p) * pp_rate
        cparts[at.DPS] = ap * supply_slope
        cparts[at.DTT] = -at_ * (return_slope + dtt) + (lift_t - bend_t / soft_t) * pt_rate
        cparts[at.DSS] = as_ * (leak_slope - relief_slope - supply_slope) + lift_s * ps_rate
        cparts[at.DSP], cparts[at.DSW] = as_ * supply_slope, as_ * drive
        cparts[at.DWS] = -z[at.DISPLACEMENT] * (1.0 + z[at.COULOMB_PUMP]) * pace / z[at.INERTIA] if loaded else 0.0
        cparts[at.DWW] = (machine_slope - z[at.DISPLACEMENT] * z[at.DRAG] * z[at.VISCOSITY]) / z[at.INERTIA]
        cparts[at.LIFTS], cparts[at.LIFTP], cparts[at.LIFTT] = ls, lp, lt
        cparts[at.CAPACITY_P], cparts[at.CAPACITY_T], cparts[at.CAPACITY_S] = ap, at_, as_

    power[at.W_PUMP] = q_pump * (hs - hr)
    power[at.W_SUPPLY] = q_supply * (hs - hp)
    power[at.W_RETURN] = q_return * (ht - hr)
    power[at.W_RELIEF] = q_relief * (hs - hr)
    power[at.W_GAS] += (ps - ATMOSPHERE) * gas_give * (ps_rate - ps * cooler * heat_rate)
    power[at.W_SHAFT] = torque * omega
    power[at.W_MACHINE] = machine * omega
    power[at.W_BUS] = machine_bus(z, machine, omega)
    flows[at.F_SUPPLY], flows[at.F_PUMP], flows[at.F_CHECK] = into, q_pump, fed
    flows[at.F_RELIEF], flows[at.F_RETURN] = q_relief, q_return
