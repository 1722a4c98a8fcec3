"""One electric actuator as a row of numbers, whatever its family, and whether it reaches the peaks of its load.

Knows motor constant, masses, sizes, heat paths and losses of a candidate, and the wire that suits the bus. Does not
know how they follow from a geometry (`coil`, `tubular`, `rotary`), what heat does (`operation`), nor the `search`.
Forces and motor constants are at the actuator; a motor constant is N/√W at 20 °C for a winding filled wholly with
copper, so that √fill comes with the wire.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import INNER, KERNEL
from models.drive.electronics import DriveRegression, drive_size, force_bandwidth
from models.drive.winding import choose_wire, resistance_factor

FIELDS: tuple[str, ...] = (
    "motor_constant",  # N/√W, mid-stroke, fill 1
    "mid_share",  # force constant at the motion's rms travel over mid-stroke, half the stroke's end counted
    "end_share",  # force constant at the end of the stroke over mid-stroke
    "turn_force",  # N/A of one turn, mid-stroke
    "turn_resistance",  # Ω of one turn that fills its window with copper
    "window",  # m² for the conductors of one phase
    "wire_space",  # m, the window's smallest side
    "phases",
    "voltage_share",  # voltage of the equivalent two-terminal machine over bus voltage
    "electric_time",  # s, L/R at 20 °C, fill 1
    "copper_mass",  # kg at fill 1
    "magnet_mass",
    "iron_mass",
    "housing_mass",
    "transmission_mass",
    "moving_mass",  # kg that moves with the wheel's side
    "inertance",  # kg shown between the two ends
    "outer_diameter",
    "body_length",
    "retracted_length",
    "case_diameter",  # of the cylinder that gives off the heat
    "case_length",
    "link",  # W/K winding to case
    "winding_capacity",  # J/K at fill 1
    "case_capacity",
    "iron_linear",  # W per m/s of mean |v|
    "iron_square",  # W per (m/s)² of v²
    "friction",  # N
    "efficiency",  # of what transmits the force
    "force_limit",  # N, for moments
    "force_continuous",  # N rms allowed for other reasons than heat
    "velocity_limit",  # m/s
    "bandwidth_limit",  # Hz, mechanical
    "magnet_slope",  # 1/K
    "magnet_limit",  # K
    "magnet_coupling",  # magnet between case (0) and winding (1)
    "winding_limit",  # K, where lower than the insulation's
    "fixed_voltage",  # V of a machine sold wound; 0: wound for the bus
    "drive_loss",  # loss fraction of built-in electronics; 0: a drive is sized
    "drive_standby",  # W of built-in electronics
)

MACHINE = np.dtype([(name, np.float64) for name in FIELDS])
"""One candidate, SI; the comments at FIELDS say what each number is."""


class Supply(NamedTuple):
    """What surrounds every candidate: bus, air, limits and the factors a crossover may move.

    voltage: V, lowest under load; ambient, winding_limit, surface_limit: K; air_speed: m/s of the vehicle's own;
    diameter_limit, length_limit: m; bandwidth_ratio: bandwidth over the duty's, at least; phase_current: A a drive of
    this kind switches at most. Unbounded limits are infinite.
    """

    voltage: float
    ambient: float
    air_speed: float
    winding_limit: float
    surface_limit: float
    diameter_limit: float
    length_limit: float
    bandwidth_ratio: float
    regeneration: float
    motor_factor: float
    friction_factor: float
    packing: float
    fill_low: float
    emissivity: float
    loop_bandwidth: float
    phase_current: float
    drive: DriveRegression


class Fit(NamedTuple):
    """Whether a machine reaches its load, before heat: need over ability for each limit, and its winding."""

    force: float
    speed: float
    voltage: float
    power: float
    bandwidth: float
    size: float
    inertance: float
    gauge: int
    strands: int
    turns: int
    fill: float
    peak_power: float
    bandwidth_reached: float


@njit(**INNER)
def machine_force(row: Any, load: float, acceleration: float, drives: bool, friction_factor: float) -> float:
    """Force, N, the machine itself must give for `load` N at the actuator; the reflected mass is added to it."""
    through = load + row.inertance * acceleration
    through = through / row.efficiency if drives else through * row.efficiency
    return through + row.friction * friction_factor


@njit(**KERNEL)
def fit(row: Any, load: Any, supply: Any, wires: NDArray[np.float64], stop: float) -> Fit:
    """Need over ability of a machine under the peaks of its load, and the wire that suits the bus.

    stop: give up, with the later ratios at 1, once force, speed, size, inertance or the least peak power that any
    winding takes pass this; infinite for all of them.
    """
    size_ratio = max(row.outer_diameter / supply.diameter_limit, row.retracted_length / supply.length_limit)
    inertance_ratio = row.inertance / load.inertance_limit
    if max(size_ratio, inertance_ratio) > stop:
        return Fit(1.0, 1.0, 1.0, 1.0, 1.0, size_ratio, inertance_ratio, 0, 0, 0, supply.fill_low, 0.0, 0.0)
    derate = 1.0
    if row.fixed_voltage > 0.0:
        derate = min(1.0, supply.voltage / row.fixed_voltage)
    force, speed, line = 0.0, 0.0, 0.0
    for k in range(load.peaks):
        velocity, drives = load.points[k, 1], load.points[k, 3] > 0.5
        need = machine_force(row, load.points[k, 0], load.points[k, 2], drives, supply.friction_factor)
        force, speed = max(force, need), max(speed, velocity)
        line = max(line, need / row.force_limit + velocity / row.velocity_limit)
    force_ratio = force / (row.force_limit * row.end_share * derate)
    speed_ratio = speed / (row.velocity_limit * derate)
    hot = resistance_factor(min(supply.winding_limit, row.winding_limit))
    power_ratio = 0.0
    if stop < math.inf and load.peak_power < math.inf:
        full = 1.0 if row.fixed_voltage > 0.0 else supply.packing
        power_ratio = _peak_power(row, load, supply, full, hot) / load.peak_power  # electronics only add to it
    if max(force_ratio, speed_ratio, power_ratio) > stop:
        return Fit(
            force_ratio, speed_ratio, 1.0, power_ratio, 1.0, size_ratio, inertance_ratio, 0, 0, 0, supply.fill_low,
            0.0, 0.0,
        )  # fmt: skip
    turn_force = row.turn_force * supply.motor_factor
    gauge, strands, turns, fill = 0, 1, 0, 1.0
    available = supply.voltage * row.voltage_share
    if row.fixed_voltage > 0.0:
        voltage_ratio = line / derate
    else:
        voltage_ratio = _turn_voltage(row, load, supply, turn_force, hot) / available
        fill = supply.fill_low
        if voltage_ratio <= 1.0:
            gauge, strands, turns, fill = choose_wire(
                row.window, row.wire_space, 1.0 / voltage_ratio, supply.packing, wires[0], wires[1]
            )
            if gauge < 0:
                voltage_ratio, fill = math.inf, supply.fill_low
            current = force / (turn_force * row.end_share * max(turns, 1))
            voltage_ratio = max(voltage_ratio, current / supply.phase_current)
    peak = _peak_power(row, load, supply, fill, hot)
    reached = row.bandwidth_limit
    if turns > 0:
        resistive = turns * force / (turn_force * row.end_share) * row.turn_resistance * hot / fill
        electric_time = row.electric_time * fill / hot
        reached = min(reached, force_bandwidth(available, resistive, electric_time, supply.loop_bandwidth))
    bandwidth_ratio = load.bandwidth * supply.bandwidth_ratio / reached if reached > 0.0 else math.inf
    if load.peak_power < math.inf:
        power_ratio = peak_bus_power(row, supply, peak) / load.peak_power
    return Fit(
        force_ratio, speed_ratio, voltage_ratio, power_ratio, bandwidth_ratio, size_ratio,
        inertance_ratio, gauge, strands, turns, fill, peak, reached,
    )  # fmt: skip


@njit(**INNER)
def _turn_voltage(row: Any, load: Any, supply: Any, turn_force: float, hot: float) -> float:
    # voltage, V, the hot winding needs for each of its turns, at the fill it has at least
    volts = 0.0
    for k in range(load.peaks):
        velocity, drives = load.points[k, 1], load.points[k, 3] > 0.5
        need = machine_force(row, load.points[k, 0], load.points[k, 2], drives, supply.friction_factor)
        drop = need / (turn_force * row.end_share) * row.turn_resistance * hot / supply.fill_low
        volts = max(volts, turn_force * velocity + drop if drives else max(turn_force * velocity, drop))
    return volts


@njit(**INNER)
def _peak_power(row: Any, load: Any, supply: Any, fill: float, hot: float) -> float:
    # power, W, into the terminals at the worst point, winding hot, at the end of the stroke
    constant = (row.motor_constant * supply.motor_factor * row.end_share) ** 2 * fill / hot
    peak = 0.0
    for k in range(load.peaks):
        velocity, drives = load.points[k, 1], load.points[k, 3] > 0.5
        need = machine_force(row, load.points[k, 0], load.points[k, 2], drives, supply.friction_factor)
        flow = need * need / constant + row.iron_linear * velocity + row.iron_square * velocity * velocity
        peak = max(peak, flow + need * velocity if drives else flow - need * velocity)
    return peak


@njit(**INNER)
def peak_bus_power(row: Any, supply: Any, terminal_power: float) -> float:
    """Power from the bus, W, for `terminal_power` W at the machine, through its own drive or one sized for it."""
    if row.drive_loss > 0.0:
        return terminal_power * (1.0 + row.drive_loss) + row.drive_standby
    drive = drive_size(terminal_power, 0.0, supply.drive)
    return terminal_power * (1.0 + drive.loss_fraction) + drive.standby


@njit(**KERNEL)
def active_mass(row: Any, fill: float) -> float:
    """Mass, kg, of a machine with its transmission, without drive and cooling."""
    return row.copper_mass * fill + row.magnet_mass + row.iron_mass + row.housing_mass + row.transmission_mass
