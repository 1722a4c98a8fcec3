"""The search's middle: every pump, motor and control at one supply pressure, less those that cannot matter.

A unit is left out when no plant of it and the least halves of its pressure can be feasible and outside the front found
so far, or when another of the same control is at least as good in everything a plant can draw on. Both are exact.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import INNER
from models.hydraulics.pump import delivery
from models.sizing.bounds import hopeless
from models.sizing.catalogue import Floats
from models.sizing.central import (
    M_PEAK,
    M_SPEED,
    M_TORQUE,
    P_DISPLACEMENT,
    P_MAX_PRESSURE,
    P_MAX_SPEED,
    P_MIN_SPEED,
    P_SLIP,
    RELIEF,
    SPEED,
    U_BUS0,
    U_COLD0,
    U_CONTROL,
    U_MASS,
    U_MOTOR,
    U_PUMP,
    U_QMAX,
    U_QMIN,
    U_SHAFT0,
    U_SPEED,
    U_TOP,
    U_TUBES,
    UNIT_COLUMNS,
    UnitLaws,
    lightest_tube,
    motor_side_mass,
    outlet_mass,
    power_columns,
    pump_side_mass,
    pump_torque,
    unit_power,
)
from models.sizing.plant import PlantTask


class UnitOptions(NamedTuple):
    """All pumps and motors with the lines that serve them.

    pumps, motors: as by `rows_of`, motors of one speed in a row; controls: numbers of those allowed; supply: [pressure,
    tube] and suction: [pump, tube], greatest flows; *_mass: wet mass of each tube in that line; viscosity: cold, hot.
    """

    pumps: Floats
    motors: Floats
    controls: NDArray[np.int64]
    supply: Floats
    suction: Floats
    supply_mass: Floats
    suction_mass: Floats
    pressures: Floats
    viscosity: Floats
    torque_margin: float
    iron_share: float


@njit(**INNER)
def power_below(a: Floats, b: Floats, start: int, low: float, high: float) -> bool:
    """Whether power of unit `a` is at most that of `b` for every flow in [low, high].

    Each is flat up to its QMIN and a quadratic from there, so between the ends, both QMINs and the vertex of the
    difference nothing new can happen.
    """
    c1, c2 = a[start + 1] - b[start + 1], a[start + 2] - b[start + 2]
    vertex = -0.5 * c1 / c2 if c2 != 0.0 else low
    for trial in range(5):
        q = low
        if trial == 1:
            q = high
        elif trial == 2:
            q = a[U_QMIN]
        elif trial == 3:
            q = b[U_QMIN]
        elif trial == 4:
            q = vertex
        q = min(max(q, low), high)
        if unit_power(a, start, q) > unit_power(b, start, q):
            return False
    return True


D_LEAST, D_MEAN, D_PEAK, D_USEFUL = range(4)
"""Flows drawn at one pressure, m³/s: the least, the greatest mean, the least peak, and the greatest delivery of use."""


@njit(**INNER)
def serves_for(a: Floats, b: Floats, drawn: Floats) -> bool:
    """Whether unit `a` may stand in for `b` of the same control in any plant, and leave it no worse.

    drawn: D_* of the pressure; delivery beyond the greatest of use feeds nothing. A relief-held unit circulates all it
    delivers, so there more delivery is also more oil, a wider return and more heat: it may not deliver more. Only a
    speed-controlled unit draws its peak power at the peak flow, and only without a store.
    """
    if a[U_MASS] > b[U_MASS]:
        return False
    reach = min(b[U_QMAX], drawn[D_USEFUL])
    if a[U_QMAX] < reach or (a[U_CONTROL] == RELIEF and a[U_QMAX] > b[U_QMAX]):
        return False
    if unit_power(a, U_BUS0, drawn[D_LEAST]) > unit_power(b, U_BUS0, drawn[D_LEAST]) or a[U_TOP] > b[U_TOP]:
        return False
    mean = min(reach, drawn[D_MEAN])
    for trial in range(4):
        start, low, high = U_BUS0, drawn[D_LEAST], mean
        if trial == 1:
            start = U_SHAFT0
        elif trial >= 2:
            if a[U_CONTROL] != SPEED:
                break
            start, low, high = (U_BUS0 if trial == 2 else U_COLD0), min(drawn[D_PEAK], reach), reach
        if not power_below(a, b, start, low, high):
            return False
    return True


@njit(**INNER)
def admit(units: Floats, start: int, end: int, row: Floats, drawn: Floats) -> int:
    """Put `row` among the units [start, end) unless one of its control serves for it; take out those it serves for."""
    for i in range(start, end):
        if units[i, U_CONTROL] == row[U_CONTROL] and serves_for(units[i], row, drawn):
            return end
    left = start
    for i in range(start, end):
        if units[i, U_CONTROL] != row[U_CONTROL] or not serves_for(row, units[i], drawn):
            if left != i:
                for k in range(UNIT_COLUMNS):
                    units[left, k] = units[i, k]
            left += 1
    for k in range(UNIT_COLUMNS):
        units[left, k] = row[k]
    return left + 1


@njit(**INNER)
def units_of_pressure(
    n: int,
    options: UnitOptions,
    laws: UnitLaws,
    drawn: Floats,
    flows: Floats,
    asked: Floats,
    stores: Floats,
    task: PlantTask,
    reservoirs: Floats,
    conductance: Floats,
    best: Floats,
    count: int,
    units: Floats,
    end: int,
    row: Floats,
    hint: Floats,
) -> int:
    """Append to `units` from row `end` what may serve at pressure number `n`; the new end, -1 when there is no room.

    flows, asked, stores: the least any pair of halves of this pressure asks, for `hopeless`; best, count: the front.
    row, hint: work space.
    """
    start, pressure = end, options.pressures[n]
    first = np.int64(0)
    hint[0] = 0
    for p in range(options.pumps.shape[0]):
        pump = options.pumps[p]
        if pump[P_MAX_PRESSURE] < pressure * (1.0 - 1e-12):
            continue
        speed, flow, fits, hot, cold, body = -1.0, 0.0, False, 0.0, 0.0, 0.0
        for m in range(options.motors.shape[0]):
            motor = options.motors[m]
            if speed != min(motor[M_SPEED], pump[P_MAX_SPEED]):
                speed = min(motor[M_SPEED], pump[P_MAX_SPEED])
                flow = delivery(pump[P_DISPLACEMENT], speed, pressure, options.viscosity[1], pump[P_SLIP])
                supply_tube, suction_tube = -1, -1
                if speed >= pump[P_MIN_SPEED] and flow > 0.0:
                    supply_tube = lightest_tube(options.supply[n], options.supply_mass, flow)
                    suction_tube = lightest_tube(options.suction[p], options.suction_mass, flow)
                fits = supply_tube >= 0 and suction_tube >= 0
                if fits:
                    hot = pump_torque(pump, speed, pressure, options.viscosity[1]) * options.torque_margin
                    cold = pump_torque(pump, speed, pressure, options.viscosity[0])
                    body = pump_side_mass(
                        pump, flow, options.supply_mass[supply_tube], options.suction_mass[suction_tube], laws
                    )
                    row[U_PUMP], row[U_SPEED], row[U_QMAX] = p, speed, flow
                    row[U_TUBES] = supply_tube * 1000.0 + suction_tube
            if not fits or hot > motor[M_TORQUE] or cold > motor[M_PEAK]:
                continue
            row[U_MOTOR] = m
            for control in options.controls:
                row[U_CONTROL] = control
                row[U_MASS] = body + motor_side_mass(motor, laws) + outlet_mass(control, flow, laws)
                power_columns(pump, motor, control, pressure, options.viscosity, options.iron_share, row)
                if hopeless(row, flows, asked, stores, task, reservoirs, conductance, best, count, hint, first):
                    continue
                if end == units.shape[0]:
                    return -1
                end = admit(units, start, end, row, drawn)
    return end
