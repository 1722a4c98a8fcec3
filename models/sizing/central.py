"""The central unit's options: pump with motor and control, main lines, accumulators.

Each pump–motor pair becomes a few numbers per supply pressure: greatest flow, mass, and bus and shaft power as a
quadratic of the flow drawn. What an accumulator gives and what a tube passes is tabulated once per pressure. Knows
nothing of cylinders.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from models.compiled import INNER, KERNEL
from models.hydraulics.accumulator import Nitrogen, delivery_per_volume, gas_mass, pressure_at
from models.hydraulics.lines import line_pressure_drop
from models.hydraulics.pump import delivery, shaft_torque
from models.quantity import ATMOSPHERE
from models.sizing.catalogue import Accumulators, Floats, Pumps, Tubes
from models.sizing.task import Oils

RELIEF, UNLOADING, SPEED = 0, 1, 2
"""Pump controls by number, in the order of `task.CONTROLS`."""

IDLE_PRESSURE_SHARE = 0.03
IDLE_PRESSURE_LEAST = 1e5
"""Pressure an unloaded pump circulates at: share of the supply, and least, Pa. Source: [estimate]."""

MAIN_JOINTS = 6
"""Connectors in each central line. Source: [estimate]."""

UNIT_COLUMNS = 18
(
    U_PUMP, U_MOTOR, U_CONTROL, U_SPEED, U_QMAX, U_MASS, U_QMIN,
    U_BUS0, U_BUS1, U_BUS2, U_SHAFT0, U_SHAFT1, U_SHAFT2, U_COLD0, U_COLD1, U_COLD2, U_TUBES, U_TOP,
) = range(UNIT_COLUMNS)  # fmt: skip
"""Columns of a unit row. Bus and shaft power in hot oil and bus power in cold are c0 + c1·q + c2·q², q ≥ QMIN; TOP is
bus power at QMAX, the greater of hot and cold oil; TUBES is 1000 times the supply tube's row plus the suction tube's.
"""

(
    P_DISPLACEMENT, P_MAX_PRESSURE, P_MAX_SPEED, P_MIN_SPEED, P_SLIP, P_DRAG, P_COULOMB, P_CONSTANT, P_MASS, P_INLET,
) = range(10)  # fmt: skip
"""Columns of `rows_of(pumps)`, the fields of `Pumps`."""

M_SPEED, M_TORQUE, M_PEAK, M_MASS, M_COPPER, M_IRON, M_ELECTRONICS, M_STANDBY = range(8)
"""Columns of `rows_of(motors)`, the fields of `Motors`."""

NO_FLOW = 1e-18
"""Greatest flow in m³/s that stands for none: the pump slips as much as it displaces, or more."""

UNIT_FAULTS = ("", "pump_pressure", "pump_speed", "pump_delivery", "motor_torque", "cold_start_torque", "main_line")
"""What `unit_row` may find wrong, by number."""


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
    check: float
    check_power: float


class UnitTask(NamedTuple):
    """Margins, lines and inlet conditions of the central unit."""

    torque_margin: float
    suction_length: float
    supply_length: float
    suction_velocity: float
    supply_velocity: float


def rows_of(parts: tuple[Floats, ...]) -> Floats:
    """A part's columns as [row, field], always the same array type whatever the table's: kernels compile once."""
    return np.ascontiguousarray(np.array(parts, dtype=np.float64).T)


def row_of(parts: tuple[Floats, ...], i: int) -> Floats:
    """Row `i` of a part's columns."""
    return np.array([column[i] for column in parts], dtype=np.float64)


@njit(**INNER)
def tube_loss(flow: float, bore: float, roughness: float, length: float, density: float, viscosity: float) -> float:
    """Loss of a central line at `flow` m³/s, Pa. Two bends and the connectors count as K = 0.5 each."""
    return line_pressure_drop(flow, bore, length, 0.0, 0.5 * MAIN_JOINTS, density, viscosity, roughness)


@njit(**INNER)
def tube_flow(
    bore: float, roughness: float, length: float, allowance: float, fastest: float, density: float, viscosity: float
) -> float:
    """Flow at which a central line loses `allowance` Pa, at most `fastest`, m³/s; never above the exact one.

    False position on logarithms, the stale end's value halved. Loss grows at least as fast as flow, so the flow that
    would do were they proportional is a lower end.
    """
    loss = tube_loss(fastest, bore, roughness, length, density, viscosity)
    if loss <= allowance:
        return fastest
    x1, y1 = math.log(fastest), math.log(loss / allowance)
    x0, y0 = x1 - y1, 0.0
    side, excess = 0, -1.0
    for trial in range(100):
        x = x0 if trial == 0 else (x0 * y1 - x1 * y0) / (y1 - y0)
        y = math.log(tube_loss(math.exp(x), bore, roughness, length, density, viscosity) / allowance)
        if y <= 0.0:
            x0, y0, excess = x, y, y
            y1 = 0.5 * y1 if side < 0 else y1
            side = -1
        else:
            x1, y1 = x, y
            y0 = 0.5 * y0 if side > 0 else y0
            side = 1
        if excess > -1e-12 or x1 - x0 < 1e-14 * abs(x1):
            break
    return math.exp(x0)


def tube_capacity(
    tubes: Tubes, length: float, allowance: float, velocity_limit: float, oils: Oils, rating: float
) -> Floats:
    """Greatest flow of each tube at `allowance` loss (Pa), cold and hot, and at `velocity_limit`; 0 if too weak."""
    result = np.zeros(tubes.bore.size)
    fill_capacity(tubes, length, allowance, velocity_limit, oils, rating, result)
    return result


@njit(**KERNEL)
def fill_capacity(
    tubes: Tubes, length: float, allowance: float, velocity_limit: float, oils: Oils, rating: float, result: Floats
) -> None:
    """Fill result as `tube_capacity` gives it; tubes that are too weak are left as they are."""
    for i in range(tubes.bore.size):
        if tubes.rating[i] >= rating:
            flow = 0.25 * math.pi * tubes.bore[i] ** 2 * velocity_limit
            for t in range(2):
                flow = tube_flow(
                    tubes.bore[i], tubes.roughness[i], length, allowance, flow, oils.density[t], oils.viscosity[t]
                )
            result[i] = flow


@njit(**KERNEL)
def line_mass(tubes: Tubes, i: int, length: float, density: float, joint: float, joint_power: float) -> float:
    """Wet mass of a central line of tube row `i`, connectors included, kg."""
    oil = 0.25 * math.pi * tubes.bore[i] ** 2 * length * density
    return tubes.kg_m[i] * length + oil + MAIN_JOINTS * joint * (tubes.bore[i] * 1e3) ** joint_power


def line_masses(tubes: Tubes, length: float, density: float, laws: UnitLaws) -> Floats:
    """Wet mass of a central line of each tube, kg."""
    return np.array(
        [line_mass(tubes, i, length, density, laws.joint, laws.joint_power) for i in range(tubes.bore.size)]
    )


@njit(**INNER)
def lightest_tube(capacity: Floats, mass: Floats, flow: float) -> int:
    """The lightest tube that passes `flow`; -1 when none does."""
    best = -1
    for i in range(capacity.size):
        if capacity[i] >= flow and (best < 0 or mass[i] < mass[best]):
            best = i
    return best


@njit(**INNER)
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
    return (
        gain * (a0 + a1 * offset + a2 * offset * offset) + motor[3],
        gain * (a1 + 2.0 * a2 * offset) / d,
        gain * a2 / (d * d),
        constant * offset + slope * offset * offset,
        (constant + 2.0 * slope * offset) / d,
        slope / (d * d),
    )


@njit(**KERNEL)
def unit_power(unit: Floats, start: int, flow: float) -> float:
    """Power of a unit at `flow` m³/s from the quadratic that starts at column `start`, W."""
    q = max(flow, unit[U_QMIN])
    return unit[start] + unit[start + 1] * q + unit[start + 2] * q * q


@njit(**INNER)
def power_columns(
    pump: Floats, motor: Floats, control: int, pressure: float, viscosity: Floats, iron_share: float, row: Floats
) -> None:
    """Fill the powers of `row`, whose speed and greatest flow stand. pump, motor: rows as by `rows_of`."""
    d, speed, flow = pump[P_DISPLACEMENT], row[U_SPEED], row[U_QMAX]
    numbers = (
        motor[M_COPPER] / motor[M_TORQUE] ** 2,
        motor[M_IRON] / motor[M_SPEED],
        motor[M_ELECTRONICS],
        motor[M_STANDBY],
        1.0 / motor[M_SPEED],
    )
    base = d * (pressure * (1.0 + pump[P_COULOMB]) + pump[P_CONSTANT])
    idle_pressure = max(IDLE_PRESSURE_SHARE * pressure, IDLE_PRESSURE_LEAST)
    idle_base = d * (idle_pressure * (1.0 + pump[P_COULOMB]) + pump[P_CONSTANT])
    row[U_QMIN] = 0.0
    for t in range(2):
        slope = d * pump[P_DRAG] * viscosity[t]
        offset = pump[P_SLIP] * pressure / viscosity[t]
        b0, b1, b2, s0, s1, s2 = speed_quadratic(d, offset, base, slope, numbers, iron_share)
        if control == SPEED:
            if t == 1:
                row[U_QMIN] = max(0.0, d * (pump[P_MIN_SPEED] - offset))
        else:
            loaded_flow = d * (speed - offset)
            loaded = b0 + b1 * loaded_flow + b2 * loaded_flow**2
            shaft = s0 + s1 * loaded_flow + s2 * loaded_flow**2
            b0, b1, b2, s0, s1, s2 = loaded, 0.0, 0.0, shaft, 0.0, 0.0
            if control == UNLOADING:
                full = d * speed
                i0, i1, i2, j0, j1, j2 = speed_quadratic(d, 0.0, idle_base, slope, numbers, iron_share)
                b0, s0 = i0 + i1 * full + i2 * full**2, j0 + j1 * full + j2 * full**2
                b1, s1 = (loaded - b0) / flow, (shaft - s0) / flow
        if t == 1:
            row[U_BUS0], row[U_BUS1], row[U_BUS2] = b0, b1, b2
            row[U_SHAFT0], row[U_SHAFT1], row[U_SHAFT2] = s0, s1, s2
        else:
            row[U_COLD0], row[U_COLD1], row[U_COLD2] = b0, b1, b2
    row[U_TOP] = max(unit_power(row, U_BUS0, flow), unit_power(row, U_COLD0, flow))


@njit(**INNER)
def pump_torque(pump: Floats, speed: float, pressure: float, viscosity: float) -> float:
    """Torque of a pump row at `speed` and `pressure`, N·m."""
    return shaft_torque(
        pump[P_DISPLACEMENT], speed, pressure, viscosity, pump[P_DRAG], pump[P_COULOMB], pump[P_CONSTANT]
    )


@njit(**KERNEL)
def unit_numbers(
    pump: Floats,
    motor: Floats,
    control: int,
    supply: Floats,
    suction: Floats,
    supply_mass: Floats,
    suction_mass: Floats,
    pressure: float,
    viscosity: Floats,
    torque_margin: float,
    laws: UnitLaws,
    iron_share: float,
    row: Floats,
) -> int:
    """Fill all of `row` but the part numbers; returns the first fault of UNIT_FAULTS, 0 none.

    pump, motor: rows as by `rows_of`; supply, suction: greatest flow of each tube in that line, *_mass its wet mass;
    viscosity: cold, hot. Filled whatever the fault, with the widest tube where none passes the flow, so that a user's
    own parts can be judged.
    """
    speed = min(motor[M_SPEED], pump[P_MAX_SPEED])
    flow = delivery(pump[P_DISPLACEMENT], speed, pressure, viscosity[1], pump[P_SLIP])
    fault = 0
    if pump[P_MAX_PRESSURE] < pressure * (1.0 - 1e-12):
        fault = 1
    elif speed < pump[P_MIN_SPEED]:
        fault = 2
    elif flow <= 0.0:
        fault = 3
    elif pump_torque(pump, speed, pressure, viscosity[1]) * torque_margin > motor[M_TORQUE]:
        fault = 4
    elif pump_torque(pump, speed, pressure, viscosity[0]) > motor[M_PEAK]:
        fault = 5
    flow = max(flow, NO_FLOW)
    supply_tube = lightest_tube(supply, supply_mass, flow)
    suction_tube = lightest_tube(suction, suction_mass, flow)
    if fault == 0 and (supply_tube < 0 or suction_tube < 0):
        fault = 6
    for i in range(supply.size):
        if supply_tube < 0 or (supply[supply_tube] < flow and supply[i] > supply[supply_tube]):
            supply_tube = i
        if suction_tube < 0 or (suction[suction_tube] < flow and suction[i] > suction[suction_tube]):
            suction_tube = i
    row[U_CONTROL], row[U_SPEED], row[U_QMAX] = control, speed, flow
    row[U_TUBES] = supply_tube * 1000.0 + suction_tube
    row[U_MASS] = (
        pump_side_mass(pump, flow, supply_mass[supply_tube], suction_mass[suction_tube], laws)
        + motor_side_mass(motor, laws)
        + outlet_mass(control, flow, laws)
    )
    power_columns(pump, motor, control, pressure, viscosity, iron_share, row)
    return fault


@njit(**INNER)
def pump_side_mass(pump: Floats, flow: float, supply_line: float, suction_line: float, laws: UnitLaws) -> float:
    """Pump, relief valve and both lines, kg."""
    return pump[P_MASS] + laws.relief * (flow * 6e4) ** laws.relief_power + supply_line + suction_line


@njit(**INNER)
def motor_side_mass(motor: Floats, laws: UnitLaws) -> float:
    """Motor with electronics, and coupling, kg."""
    return motor[M_MASS] + laws.coupling * (motor[M_TORQUE] * motor[M_SPEED]) ** laws.coupling_power


@njit(**INNER)
def outlet_mass(control: int, flow: float, laws: UnitLaws) -> float:
    """What keeps the rail from driving a pump that stands still: the unloading valve with its check, or a check, kg."""
    if control == UNLOADING:
        return laws.unloading * (flow * 6e4) ** laws.unloading_power
    return laws.check * (flow * 6e4) ** laws.check_power


def suction_table(pumps: Pumps, tubes: Tubes, oils: Oils, task: UnitTask) -> Floats:
    """Greatest flow of each tube in the suction line of each pump, [pump, tube], m³/s."""
    inlets, which = np.unique(pumps.min_inlet, return_inverse=True)
    return np.array(
        [
            tube_capacity(tubes, task.suction_length, ATMOSPHERE - inlet, task.suction_velocity, oils, 0.0)
            for inlet in inlets.tolist()
        ]
    )[which]


@njit(**KERNEL)
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
