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

from models.compiled import INNER
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
def fit(row: Any, load: Any, supply: Any, wires: NDArray[np.float64], stop: float) -> Fit:
    """Need over ability of a machine under the peaks of its load, and the wire that suits the bus.

    The machine's force at a point is the load's with the reflected mass added, through the transmission, and friction.
    stop: give up once a ratio, or a lower bound on one, passes this, with those not yet reckoned at 1 or 0; infinite
    for all of them.
    """
    wound, points, peaks = row.fixed_voltage == 0.0, load.points, load.peaks
    derate = 1.0 if wound else min(1.0, supply.voltage / row.fixed_voltage)
    size = max(row.outer_diameter / supply.diameter_limit, row.retracted_length / supply.length_limit)
    inertance = row.inertance / load.inertance_limit
    speed = load.velocity_peak / (row.velocity_limit * derate)
    wanted = load.bandwidth * supply.bandwidth_ratio
    force, voltage, power, bandwidth, peak, reached = 0.0, 1.0, 1.0, 1.0, 0.0, 0.0
    gauge, strands, turns, fill = 0, 1, 0, 1.0
    if max(max(size, inertance), max(speed, wanted / row.bandwidth_limit)) > stop:
        return Fit(
            force, speed, voltage, power, wanted / row.bandwidth_limit, size, inertance, gauge, strands, turns, fill,
            peak, reached,
        )  # fmt: skip
    hot = resistance_factor(min(supply.winding_limit, row.winding_limit))
    turn_force = row.turn_force * supply.motor_factor
    end_force, ohms = turn_force * row.end_share, row.turn_resistance * hot / supply.fill_low
    need, line, volts = 0.0, 0.0, 0.0
    for k in range(peaks):
        velocity, drives = points[k, 1], points[k, 3] > 0.5
        here = _machine_force(row, points, k, supply)
        need = max(need, here)
        if wound:
            # of one turn, hot, at the fill it has at least
            back, drop = turn_force * velocity, here / end_force * ohms
            volts = max(volts, back + drop if drives else max(back, drop))
        else:
            line = max(line, here / row.force_limit + velocity / row.velocity_limit)
    force = need / (row.force_limit * row.end_share * derate)
    available = supply.voltage * row.voltage_share
    voltage = volts / available if wound else line / derate
    constant = (row.motor_constant * supply.motor_factor * row.end_share) ** 2 / hot
    # at standstill, the wire filling all it can; with as many turns as the bus can drive
    most = max(supply.packing, supply.fill_low) if wound else 1.0
    power = need * need / (constant * most) / load.peak_power
    least = need / end_force * voltage / supply.phase_current if wound and voltage <= 1.0 else 0.0
    if max(max(force, voltage), max(power, least)) <= stop:
        if wound:
            fill = supply.fill_low
            if voltage <= 1.0:
                gauge, strands, turns, fill = choose_wire(
                    row.window, row.wire_space, 1.0 / voltage, supply.packing, wires[0], wires[1]
                )
                if gauge < 0:
                    voltage, fill = math.inf, supply.fill_low
                voltage = max(voltage, need / (end_force * max(float(turns), 1.0)) / supply.phase_current)
        for k in range(peaks):
            velocity, here = points[k, 1], _machine_force(row, points, k, supply)
            flow = here * here / (constant * fill) + row.iron_linear * velocity + row.iron_square * velocity * velocity
            peak = max(peak, flow + here * velocity if points[k, 3] > 0.5 else flow - here * velocity)
        reached = row.bandwidth_limit
        if turns > 0:
            resistive = turns * need / end_force * row.turn_resistance * hot / fill
            electric_time = row.electric_time * fill / hot
            reached = min(reached, force_bandwidth(available, resistive, electric_time, supply.loop_bandwidth))
        bandwidth = wanted / reached if reached > 0.0 else math.inf
        power = peak / load.peak_power
        if load.peak_power < math.inf and power <= stop:
            power = peak_bus_power(row, supply, peak) / load.peak_power
    return Fit(
        force, speed, max(voltage, least), power, bandwidth, size, inertance, gauge, strands, turns, fill, peak, reached
    )


@njit(**INNER)
def _machine_force(row: Any, points: Any, k: int, supply: Any) -> float:
    # N the machine itself gives at a point of its load
    through = points[k, 0] + row.inertance * points[k, 2]
    through = through / row.efficiency if points[k, 3] > 0.5 else through * row.efficiency
    return through + row.friction * supply.friction_factor


@njit(**INNER)
def peak_bus_power(row: Any, supply: Any, terminal_power: float) -> float:
    """Power from the bus, W, for `terminal_power` W at the machine, through its own drive or one sized for it."""
    if row.drive_loss > 0.0:
        return terminal_power * (1.0 + row.drive_loss) + row.drive_standby
    drive = drive_size(terminal_power, 0.0, supply.drive)
    return terminal_power * (1.0 + drive.loss_fraction) + drive.standby


@njit(**INNER)
def active_mass(row: Any, fill: float) -> float:
    """Mass, kg, of a machine with its transmission, without drive and cooling."""
    return row.copper_mass * fill + row.magnet_mass + row.iron_mass + row.housing_mass + row.transmission_mass
