"""The central unit's options: pump with motor and control, main lines, accumulators, reservoir sizes.

Each pump–motor pair becomes a few numbers per supply pressure: greatest flow, mass, and bus and shaft power as a
quadratic of the flow drawn. Pairs that another of the same control equals or betters throughout are dropped. What an
accumulator gives and what a tube passes is tabulated once per pressure. Knows nothing of cylinders.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from models.hydraulics.accumulator import Nitrogen, delivery_per_volume, gas_mass, pressure_at
from models.hydraulics.lines import line_pressure_drop
from models.hydraulics.pump import delivery, shaft_torque
from models.quantity import ATMOSPHERE
from models.sizing.catalogue import Accumulators, Floats, Motors, Pumps, Tubes
from models.sizing.task import Oils

RELIEF, UNLOADING, SPEED = 0, 1, 2
"""Pump controls by number, in the order of `task.CONTROLS`."""

IDLE_PRESSURE_SHARE = 0.03
IDLE_PRESSURE_LEAST = 1e5
"""Pressure an unloaded pump circulates at: share of the supply, and least, Pa. Source: [estimate]."""

MAIN_JOINTS = 6
"""Connectors in each central line. Source: [estimate]."""

UNIT_COLUMNS = 17
(
    U_PUMP, U_MOTOR, U_CONTROL, U_SPEED, U_QMAX, U_MASS, U_QMIN,
    U_BUS0, U_BUS1, U_BUS2, U_SHAFT0, U_SHAFT1, U_SHAFT2, U_COLD0, U_COLD1, U_COLD2, U_TUBES,
) = range(UNIT_COLUMNS)  # fmt: skip
"""Columns of a unit row. Bus and shaft power in hot oil and bus power in cold are c0 + c1·q + c2·q², q ≥ QMIN."""


class UnitLaws(NamedTuple):
    """Estimated masses kg = a·x^n of the unit's small parts, in L/min and W, and the connector law in mm."""

    relief: float
    relief_power: float
    unloading: float
    unloading_power: float
    coupling: float
    coupling_power: float
    joint: float
    joint_power: float


class UnitTask(NamedTuple):
    """Margins, lines and inlet conditions of the central unit."""

    torque_margin: float
    suction_length: float
    supply_length: float
    suction_velocity: float
    supply_velocity: float


@njit(cache=True, error_model="numpy")
def tube_capacity(
    tubes: Tubes, length: float, allowance: float, velocity_limit: float, oils: Oils, rating: float
) -> Floats:
    """Greatest flow of each tube at `allowance` loss (Pa) in cold and in hot oil and at `velocity_limit`; 0 if too weak.

    Two bends and the connectors count as K = 0.5 each. Found by bisection on the loss, which rises with flow.
    """
    result = np.zeros(tubes.bore.size)
    for i in range(tubes.bore.size):
        if tubes.rating[i] < rating:
            continue
        area = 0.25 * math.pi * tubes.bore[i] ** 2
        high = area * velocity_limit
        low = 0.0
        for _ in range(50):
            middle = 0.5 * (low + high) if low > 0.0 else high
            loss = max(
                line_pressure_drop(
                    middle, tubes.bore[i], length, 0.0, 0.5 * MAIN_JOINTS, oils.density[0], oils.viscosity[0],
                    tubes.roughness[i],
                ),
                line_pressure_drop(
                    middle, tubes.bore[i], length, 0.0, 0.5 * MAIN_JOINTS, oils.density[1], oils.viscosity[1],
                    tubes.roughness[i],
                ),
            )  # fmt: skip
            if loss <= allowance:
                low = middle
                if middle == high:
                    break
            else:
                high = middle
                if low == 0.0:
                    low = 1e-12 * area
        result[i] = low
    return result


@njit(cache=True, error_model="numpy")
def line_mass(tubes: Tubes, i: int, length: float, density: float, joint: float, joint_power: float) -> float:
    """Wet mass of a central line of tube row `i`, connectors included, kg."""
    oil = 0.25 * math.pi * tubes.bore[i] ** 2 * length * density
    return tubes.kg_m[i] * length + oil + MAIN_JOINTS * joint * (tubes.bore[i] * 1e3) ** joint_power


@njit(cache=True, error_model="numpy")
def lightest_tube(capacity: Floats, flow: float) -> int:
    """First tube (they are sorted by mass) that passes `flow`; -1 when none does."""
    for i in range(capacity.size):
        if capacity[i] >= flow:
            return i
    return -1


@njit(cache=True, error_model="numpy")
def speed_quadratic(
    displacement: float,
    offset: float,
    constant: float,
    slope: float,
    motor: tuple[float, float, float, float, float],
    share: float,
) -> tuple[float, float, float, float, float, float]:
    """Bus and shaft power of a pump at speed n = q/D + offset with torque constant + slope·n, as quadratics in q.

    motor: (copper loss/rated torque², iron loss/rated speed, electronics fraction, standby, 1/rated speed). `share` of
    the iron loss is linear in speed, the rest square. Returns bus c0, c1, c2 and shaft c0, c1, c2.
    """
    copper, iron_slope, iron_square = motor[0], motor[1] * share, motor[1] * (1.0 - share) * motor[4]
    a0 = copper * constant * constant
    a1 = constant + 2.0 * copper * constant * slope + iron_slope
    a2 = slope + copper * slope * slope + iron_square
    gain = 1.0 + motor[2]
    d = displacement
    bus = (
        gain * (a0 + a1 * offset + a2 * offset * offset) + motor[3],
        gain * (a1 + 2.0 * a2 * offset) / d,
        gain * a2 / (d * d),
    )
    shaft = (
        constant * offset + slope * offset * offset,
        (constant + 2.0 * slope * offset) / d,
        slope / (d * d),
    )
    return bus[0], bus[1], bus[2], shaft[0], shaft[1], shaft[2]


@njit(cache=True, error_model="numpy")
def unit_power(unit: Floats, start: int, flow: float) -> float:
    """Power of a unit at `flow` m³/s from the quadratic that starts at column `start`, W."""
    q = max(flow, unit[U_QMIN])
    return unit[start] + unit[start + 1] * q + unit[start + 2] * q * q


@njit(cache=True, error_model="numpy")
def quadratic_below(a: Floats, b: Floats, start: int, low: float, high: float) -> bool:
    """Whether power of unit `a` is at most that of `b` for every flow in [low, high].

    Powers rise with flow and are flat below QMIN, so ends, both QMINs and the vertex of the difference suffice.
    """
    for q in (low, high, min(max(a[U_QMIN], low), high), min(max(b[U_QMIN], low), high)):
        if unit_power(a, start, q) > unit_power(b, start, q):
            return False
    c1, c2 = a[start + 1] - b[start + 1], a[start + 2] - b[start + 2]
    if c2 != 0.0:
        vertex = min(max(-0.5 * c1 / c2, low), high)
        if unit_power(a, start, vertex) > unit_power(b, start, vertex):
            return False
    return True


UNIT_FAULTS = ("", "pump_pressure", "pump_speed", "pump_delivery", "motor_torque", "cold_start_torque", "main_line")
"""What `unit_row` may find wrong, by number."""


@njit(cache=True, error_model="numpy")
def unit_row(
    pumps: Pumps,
    p: int,
    motors: Motors,
    m: int,
    control: int,
    tubes: Tubes,
    supply: Floats,
    suction: Floats,
    pressure: float,
    oils: Oils,
    task: UnitTask,
    laws: UnitLaws,
    iron_share: float,
    row: Floats,
) -> int:
    """Fill `row` for pump `p`, motor `m` and `control` at `pressure`; returns the first fault of UNIT_FAULTS, 0 none.

    supply, suction: greatest flow of each tube in that line. The row is filled whatever the fault, with the widest tube
    where none passes the flow, so that a user's own parts can be judged.
    """
    row[:] = 0.0
    d = pumps.displacement[p]
    speed = min(motors.rated_speed[m], pumps.max_speed[p])
    fault = 0
    if pumps.max_pressure[p] < pressure * (1.0 - 1e-12):
        fault = 1
    elif speed < pumps.min_speed[p]:
        fault = 2
    flow = delivery(d, speed, pressure, oils.viscosity[1], pumps.slip[p])
    if fault == 0 and flow <= 0.0:
        fault = 3
    hot = shaft_torque(d, speed, pressure, oils.viscosity[1], pumps.drag[p], pumps.coulomb[p], pumps.constant[p])
    cold = shaft_torque(d, speed, pressure, oils.viscosity[0], pumps.drag[p], pumps.coulomb[p], pumps.constant[p])
    if fault == 0 and hot * task.torque_margin > motors.rated_torque[m]:
        fault = 4
    if fault == 0 and cold > motors.peak_torque[m]:
        fault = 5
    if fault != 0 and flow <= 0.0:
        flow = 1e-12
    supply_tube, suction_tube = lightest_tube(supply, flow), lightest_tube(suction, flow)
    if fault == 0 and (supply_tube < 0 or suction_tube < 0):
        fault = 6
    if supply_tube < 0:
        supply_tube = int(np.argmax(supply))
    if suction_tube < 0:
        suction_tube = int(np.argmax(suction))
    l_min = flow * 6e4
    power = motors.rated_torque[m] * motors.rated_speed[m]
    mass = (
        pumps.mass[p]
        + motors.mass[m]
        + laws.relief * l_min**laws.relief_power
        + laws.coupling * power**laws.coupling_power
        + line_mass(tubes, supply_tube, task.supply_length, oils.density[0], laws.joint, laws.joint_power)
        + line_mass(tubes, suction_tube, task.suction_length, oils.density[0], laws.joint, laws.joint_power)
    )
    if control == UNLOADING:
        mass += laws.unloading * l_min**laws.unloading_power
    row[U_PUMP], row[U_MOTOR], row[U_CONTROL], row[U_SPEED], row[U_QMAX] = p, m, control, speed, flow
    row[U_MASS], row[U_TUBES] = mass, supply_tube * 1000.0 + suction_tube
    copper = motors.copper_loss[m] / motors.rated_torque[m] ** 2
    iron = motors.iron_loss[m] / motors.rated_speed[m]
    motor = (copper, iron, motors.electronics_fraction[m], motors.standby[m], 1.0 / motors.rated_speed[m])
    base = d * (pressure * (1.0 + pumps.coulomb[p]) + pumps.constant[p])
    for t in range(2):
        slope = d * pumps.drag[p] * oils.viscosity[t]
        offset = pumps.slip[p] * pressure / oils.viscosity[t]
        b0, b1, b2, s0, s1, s2 = speed_quadratic(d, offset, base, slope, motor, iron_share)
        loaded_flow = d * (speed - offset)
        loaded = b0 + b1 * loaded_flow + b2 * loaded_flow**2
        shaft = s0 + s1 * loaded_flow + s2 * loaded_flow**2
        if control == RELIEF:
            b0, b1, b2, s0, s1, s2 = loaded, 0.0, 0.0, shaft, 0.0, 0.0
        elif control == UNLOADING:
            idle_pressure = max(IDLE_PRESSURE_SHARE * pressure, IDLE_PRESSURE_LEAST)
            idle_base = d * (idle_pressure * (1.0 + pumps.coulomb[p]) + pumps.constant[p])
            i0, i1, i2, j0, j1, j2 = speed_quadratic(d, 0.0, idle_base, slope, motor, iron_share)
            full = d * speed
            idle = i0 + i1 * full + i2 * full**2
            idle_shaft = j0 + j1 * full + j2 * full**2
            b0, b1, b2 = idle, (loaded - idle) / flow, 0.0
            s0, s1, s2 = idle_shaft, (shaft - idle_shaft) / flow, 0.0
        elif t == 1:
            row[U_QMIN] = max(0.0, d * (pumps.min_speed[p] - offset))
        if t == 1:
            row[U_BUS0], row[U_BUS1], row[U_BUS2] = b0, b1, b2
            row[U_SHAFT0], row[U_SHAFT1], row[U_SHAFT2] = s0, s1, s2
        else:
            row[U_COLD0], row[U_COLD1], row[U_COLD2] = b0, b1, b2
    return fault


@njit(cache=True, error_model="numpy")
def suction_table(pumps: Pumps, tubes: Tubes, oils: Oils, task: UnitTask) -> Floats:
    """Greatest flow of each tube in the suction line of each pump, [pump, tube], m³/s."""
    suction = np.zeros((pumps.mass.size, tubes.bore.size))
    for p in range(pumps.mass.size):
        if p > 0 and pumps.min_inlet[p] == pumps.min_inlet[p - 1]:
            suction[p] = suction[p - 1]
        else:
            inlet = ATMOSPHERE - pumps.min_inlet[p]
            suction[p] = tube_capacity(tubes, task.suction_length, inlet, task.suction_velocity, oils, 0.0)
    return suction


@njit(cache=True, error_model="numpy")
def build_units(
    pumps: Pumps,
    motors: Motors,
    tubes: Tubes,
    suction: Floats,
    controls: Floats,
    pressure: float,
    allowance: float,
    relief: float,
    oils: Oils,
    task: UnitTask,
    laws: UnitLaws,
    iron_share: float,
) -> Floats:
    """Undominated pump–motor–control units at one supply pressure, [row, UNIT_COLUMNS], by control and mass.

    A pair is left out when its motor lacks the torque (continuous in hot oil, peak in cold), the pump is outside its
    pressure or speed, delivers nothing, or no tube feeds it.
    """
    supply = tube_capacity(tubes, task.supply_length, allowance, task.supply_velocity, oils, relief * pressure)
    rows = np.empty((pumps.mass.size * motors.mass.size * controls.size, UNIT_COLUMNS))
    count = 0
    for p in range(pumps.mass.size):
        for m in range(motors.mass.size):
            for control in controls:
                fault = unit_row(
                    pumps, p, motors, m, control, tubes, supply, suction[p], pressure, oils, task, laws, iron_share,
                    rows[count],
                )  # fmt: skip
                if fault == 0:
                    count += 1
                else:
                    break
    return keep_best_units(rows[:count])


@njit(cache=True, error_model="numpy")
def keep_best_units(rows: Floats) -> Floats:
    """Drop every unit that another of the same control equals or betters: mass, flow, and power at every flow."""
    order = np.argsort(rows[:, U_MASS], kind="mergesort")
    kept = np.empty_like(rows)
    count = 0
    for control in (RELIEF, UNLOADING, SPEED):
        start = count
        for position in order:
            row = rows[position]
            if row[U_CONTROL] != control:
                continue
            beaten = False
            for other in range(start, count):
                a = kept[other]
                if (
                    a[U_QMAX] >= row[U_QMAX]
                    and quadratic_below(a, row, U_BUS0, 0.0, row[U_QMAX])
                    and quadratic_below(a, row, U_SHAFT0, 0.0, row[U_QMAX])
                    and quadratic_below(a, row, U_COLD0, 0.0, row[U_QMAX])
                    and unit_power(a, U_BUS0, a[U_QMAX]) <= unit_power(row, U_BUS0, row[U_QMAX])
                    and unit_power(a, U_COLD0, a[U_QMAX]) <= unit_power(row, U_COLD0, row[U_QMAX])
                ):
                    beaten = True
                    break
            if not beaten:
                kept[count] = row
                count += 1
    return kept[:count].copy()


@njit(cache=True, error_model="numpy")
def store_table(
    gas: Nitrogen,
    accumulators: Accumulators,
    high: float,
    low: float,
    precharge_ratio: float,
    charge_temperature: float,
    cold: float,
    hot: float,
    relief: float,
) -> tuple[float, float, float]:
    """What a cubic metre of accumulator does between two rail pressures: (delivered, oil held at high, precharge).

    The precharge, at `charge_temperature`, is the one that reaches `precharge_ratio` of `low` in the hot gas; delivery
    is fast (isentropic real nitrogen), the lesser of cold and hot; oil held is the greater. Zero delivered when the
    cold gas would not hold. Pressures gauge Pa, temperatures K. Source: [coolprop] nitrogen; [common_practice] 0.9.
    """
    hot_mass = gas_mass(gas, precharge_ratio * low, hot, 1.0)
    precharge = pressure_at(gas, hot_mass, charge_temperature)
    delivered, held = math.inf, 0.0
    for temperature in (cold, hot):
        gives = delivery_per_volume(gas, precharge, charge_temperature, high, low, temperature, True)
        if not gives > 0.0:
            return 0.0, 1.0, precharge
        delivered = min(delivered, gives)
        full = gas_mass(gas, high, temperature, 1.0)
        held = max(held, 1.0 - hot_mass / full)
    return delivered, held, precharge
