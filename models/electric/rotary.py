"""A three-phase rotary machine on a screw, a lever or a belt, and the geared positional servo on a lever.

Knows the machine table the hydraulic pump's motor is chosen from too, what a transmission does to force, speed, inertia
and mass, and the classes of positional servos. The reflected inertia is an inerter between the actuator's ends. What
the tables do not say (copper share, rotor, mean turn) is estimated from the machine's mass and flagged so.
"""

from __future__ import annotations

import functools
import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

import fluids_data
from models.compiled import INNER, KERNEL
from models.drive.electronics import THREE_PHASE_VOLTAGE
from models.drive.machine import LINEAR_IRON_SHARE, machine_diameter, reflected_mass, rotor_inertia
from models.drive.winding import COPPER_DENSITY, COPPER_HEAT_CAPACITY, COPPER_RESISTIVITY, REFERENCE, resistance_factor
from models.electric.candidate import MACHINE
from models.electric.catalogue import Transmission, as_record, column, constants, transmissions


class Build(NamedTuple):
    """Constants of rotary machines and transmissions, SI; ids of machines.csv."""

    rotary_inner_share: float
    rotary_density: float
    rotary_length_ratio: float
    rotary_rotor_diameter: float
    rotary_rotor_mass: float
    rotary_copper_share: float
    rotary_magnet_share: float
    rotary_pole_pairs: float
    rotary_rating_rise: float
    rotary_magnet_limit: float
    rotary_magnet_slope: float
    rotary_fill: float
    rotary_stack: float
    rotary_gap_diameter: float
    rotary_slot: float
    rotary_reactance: float
    housing_share: float
    iron_density: float
    solid_heat_capacity: float
    magnet_coupling_rotor: float
    transmission_mass_min: float
    belt_tension: float
    screw_stress: float
    screw_lead_ratio: float
    screw_diameter_min: float
    screw_nut_factor: float
    screw_surface_speed: float
    screw_compliance: float
    gear_mass: float
    gear_mass_exponent: float
    lever_mass_share: float
    lever_compliance: float
    belt_mass_share: float
    belt_compliance: float
    geared_friction_share: float


MOTOR_COLUMNS = (
    "rated_torque_nm", "rated_speed_rpm", "max_speed_rpm", "peak_torque_nm", "mass_kg", "copper_loss_w", "iron_loss_w",
    "thermal_resistance_k_w",
)  # fmt: skip

SCREW, LEVER, BELT = 0, 1, 2
KINDS = {"screw": SCREW, "lever": LEVER, "belt": BELT}


@functools.cache
def build_constants() -> np.void:
    """The constants, from the data room, as a record."""
    return as_record(Build(*(constants()[name] for name in Build._fields)))


@functools.cache
def motors() -> NDArray[np.float64]:
    """Rotary machines, one a row, columns as MOTOR_COLUMNS in SI, by rising mass."""
    rows = np.array([column("motors", name) for name in MOTOR_COLUMNS]).T
    return rows[np.argsort(rows[:, 4], kind="stable")]


@functools.cache
def motor_names() -> tuple[str, ...]:
    """Their ids in the same order."""
    order = np.argsort(column("motors", "mass_kg"), kind="stable")
    names = [row.text("id") for row in fluids_data.load_table("motors").rows]
    return tuple(names[k] for k in order)


@functools.lru_cache(maxsize=64)
def usable_transmissions(stroke: float) -> tuple[Transmission, ...]:
    """Transmissions whose lever, if they have one, makes the stroke (m) within its largest swing."""
    least = 0.5 * stroke / math.sin(constants()["lever_angle"])
    return tuple(t for t in transmissions() if t.kind != "lever" or t.arm >= least)


@functools.lru_cache(maxsize=64)
def transmission_numbers(stroke: float) -> NDArray[np.float64]:
    """The same as numbers: kind, travel per radian, arm, ratio, efficiency."""
    found = usable_transmissions(stroke)
    return np.array([(KINDS[t.kind], t.travel, t.arm, t.ratio, t.efficiency) for t in found])


@njit(**INNER)
def gear_mass(torque: float, fixed: Any) -> float:
    """Mass, kg, of a gear stage that gives `torque` N·m at its output. Source: [estimate]."""
    return fixed.gear_mass * torque**fixed.gear_mass_exponent


@njit(**INNER)
def transmission_parts(
    kind: float, travel: float, arm: float, ratio: float, force: float, stroke: float, fixed: Any
) -> tuple[float, float, float, float]:
    """(mass kg, inertia at the machine kg·m², compliance m over the stroke's length, highest machine speed rad/s) of
    what carries `force` N over `stroke` m.

    kind: SCREW, LEVER or BELT; travel: m/rad of the machine; arm: m; ratio: of the gear. Source: [estimate]; a screw's
    section follows from its load and its lead, gear and lever masses from the torque they pass.
    """
    if kind == SCREW:
        lead = 2.0 * math.pi * travel
        diameter = max(fixed.screw_diameter_min, math.sqrt(force / fixed.screw_stress), lead / fixed.screw_lead_ratio)
        shaft = fixed.iron_density * 0.25 * math.pi * diameter * diameter * (stroke + 6.0 * diameter)
        mass = fixed.transmission_mass_min + shaft + fixed.screw_nut_factor * fixed.iron_density * diameter**3
        return (
            mass,
            0.125 * shaft * diameter * diameter,
            fixed.screw_compliance,
            (2.0 * fixed.screw_surface_speed / diameter),
        )
    torque = force * travel * ratio
    one = gear_mass(torque, fixed)
    share = fixed.lever_mass_share if kind == LEVER else fixed.belt_mass_share
    compliance = fixed.lever_compliance if kind == LEVER else fixed.belt_compliance
    geared = one if ratio > 1.0 else 0.0
    return fixed.transmission_mass_min + geared + share * one, 0.0, compliance, math.inf


@njit(**INNER)
def build_rotary(
    row: NDArray[np.void], k: int, motor: NDArray[np.float64], gear: NDArray[np.float64], force: float, stroke: float,
    fixed: Any,
) -> None:  # fmt: skip
    """Write machine `k` of `row`: a motor (MOTOR_COLUMNS) on a transmission, for `force` N at most over `stroke` m."""
    torque, speed, mass, travel = motor[0], motor[1], motor[4], gear[1]
    diameter = machine_diameter(mass, fixed.rotary_density, fixed.rotary_length_ratio)
    length = fixed.rotary_length_ratio * diameter
    copper = fixed.rotary_copper_share * mass
    cold_loss = motor[5] / resistance_factor(REFERENCE + fixed.rotary_rating_rise)
    constant = torque / math.sqrt(cold_loss) / travel
    pitch = math.pi * fixed.rotary_gap_diameter * diameter / (2.0 * fixed.rotary_pole_pairs)
    turn = 2.0 * fixed.rotary_stack * length + 2.4 * pitch
    row[k].window = copper / COPPER_DENSITY / (3.0 * turn * fixed.rotary_fill)
    row[k].turn_resistance = COPPER_RESISTIVITY * turn / row[k].window
    row[k].turn_force = constant * math.sqrt(row[k].turn_resistance / fixed.rotary_fill)
    row[k].motor_constant = constant / math.sqrt(fixed.rotary_fill)
    row[k].mid_share, row[k].end_share = 1.0, 1.0
    row[k].wire_space = fixed.rotary_slot * diameter
    row[k].phases, row[k].voltage_share = 3.0, THREE_PHASE_VOLTAGE
    rated = torque * speed
    row[k].electric_time = (
        fixed.rotary_reactance * rated / (cold_loss * fixed.rotary_pole_pairs * speed) / fixed.rotary_fill
    )
    row[k].copper_mass = copper / fixed.rotary_fill
    row[k].magnet_mass = fixed.rotary_magnet_share * mass
    row[k].housing_mass = fixed.housing_share * mass
    row[k].iron_mass = mass - copper - row[k].magnet_mass - row[k].housing_mass
    parts, inertia, compliance, fastest = transmission_parts(gear[0], travel, gear[2], gear[3], force, stroke, fixed)
    row[k].transmission_mass = parts
    row[k].moving_mass = 0.5 * parts
    inertia += rotor_inertia(mass, diameter, fixed.rotary_rotor_mass, fixed.rotary_rotor_diameter)
    row[k].inertance = reflected_mass(inertia, travel)
    row[k].outer_diameter, row[k].body_length = diameter, length
    row[k].retracted_length = length + stroke if gear[0] == SCREW else length
    row[k].case_diameter, row[k].case_length = diameter, length
    row[k].link = 1.0 / (fixed.rotary_inner_share * motor[7])
    row[k].winding_capacity = row[k].copper_mass * COPPER_HEAT_CAPACITY
    row[k].case_capacity = (mass - copper) * fixed.solid_heat_capacity
    pace = 1.0 / (speed * travel)
    row[k].iron_linear = LINEAR_IRON_SHARE * motor[6] * pace
    row[k].iron_square = (1.0 - LINEAR_IRON_SHARE) * motor[6] * pace * pace
    row[k].friction = fixed.geared_friction_share * force
    row[k].efficiency = gear[4]
    row[k].force_limit = motor[3] / travel
    if gear[0] == BELT:
        pulley = travel * gear[3]
        row[k].force_limit = min(row[k].force_limit, fixed.belt_tension * pulley * pulley)
    row[k].force_continuous = math.inf
    row[k].velocity_limit = min(motor[2], fastest) * travel
    stiffness = force / (compliance * stroke)
    row[k].bandwidth_limit = math.sqrt(stiffness / row[k].inertance) / (2.0 * math.pi)
    row[k].magnet_slope, row[k].magnet_limit = fixed.rotary_magnet_slope, fixed.rotary_magnet_limit
    row[k].magnet_coupling = fixed.magnet_coupling_rotor
    row[k].winding_limit = math.inf
    row[k].fixed_voltage, row[k].drive_loss, row[k].drive_standby = 0.0, 0.0, 0.0


@njit(**KERNEL)
def build_rotaries(
    row: NDArray[np.void], motor: NDArray[np.float64], gears: NDArray[np.float64], force: float, stroke: float,
    fixed: Any,
) -> None:  # fmt: skip
    """Write every pairing of the given motors and transmissions into `row`, transmissions fastest."""
    for m in range(motor.shape[0]):
        for t in range(gears.shape[0]):
            build_rotary(row, m * gears.shape[0] + t, motor[m], gears[t], force, stroke, fixed)


def describe_rotary(number: int, stroke: float) -> dict[str, float | str]:
    """The choices behind candidate `number`: motor, transmission, travel per radian of the machine (m)."""
    found = usable_transmissions(stroke)
    motor, gear = divmod(number, len(found))
    return {"motor": motor_names()[motor], "transmission": found[gear].label, "travel_per_radian": found[gear].travel}


@functools.lru_cache(maxsize=16)
def servo_arms(stroke: float) -> tuple[float, ...]:
    """Lever arms, m, that make the stroke (m) within their largest swing."""
    return tuple(t.arm for t in usable_transmissions(stroke) if t.kind == "lever" and t.ratio == 1.0)


@functools.lru_cache(maxsize=16)
def servos(stroke: float) -> NDArray[np.void]:
    """Every positional servo class on every usable arm, as rows of MACHINE, arms fastest; not to be written to."""
    names = (
        "voltage_v", "stall_torque_nm", "no_load_speed_rpm", "stall_current_a", "idle_current_a",
        "position_bandwidth_hz", "mass_kg",
    )  # fmt: skip
    classes = np.array([column("servos", name) for name in names])
    arms = np.array(servo_arms(stroke))
    volts, torque, speed, stall, idle, bandwidth, mass = (np.repeat(c, len(arms)) for c in classes)
    arm, fixed = np.tile(arms, classes.shape[1]), constants()
    rows = np.zeros(len(arm), MACHINE)
    # the class's stall torque is what its friction leaves
    gross = torque * (1.0 + fixed["servo_friction_share"])
    rows["motor_constant"] = gross / np.sqrt(volts * stall) / arm
    rows["turn_force"], rows["turn_resistance"] = gross / stall / arm, volts / stall
    rows["mid_share"] = rows["end_share"] = rows["voltage_share"] = rows["phases"] = rows["efficiency"] = 1.0
    rows["copper_mass"], rows["magnet_mass"], rows["iron_mass"] = 0.1 * mass, 0.05 * mass, 0.3 * mass
    rows["housing_mass"], rows["transmission_mass"] = 0.55 * mass, fixed["servo_linkage_share"] * mass
    rows["moving_mass"] = 0.5 * rows["transmission_mass"]
    side = (4.0 * mass / (math.pi * fixed["servo_density"])) ** (1.0 / 3.0)
    for name in ("outer_diameter", "body_length", "retracted_length", "case_diameter", "case_length"):
        rows[name] = side
    rows["link"] = fixed["servo_film"] * 1.5 * math.pi * side**2 / fixed["servo_winding_share"]
    rows["winding_capacity"] = rows["copper_mass"] * COPPER_HEAT_CAPACITY
    rows["case_capacity"] = 0.9 * mass * fixed["solid_heat_capacity"]
    rows["friction"] = fixed["servo_friction_share"] * torque / arm
    rows["force_limit"], rows["velocity_limit"] = gross / arm, speed * arm
    rows["force_continuous"] = fixed["servo_continuous_share"] * gross / arm
    rows["bandwidth_limit"] = bandwidth
    rows["magnet_slope"], rows["magnet_limit"] = fixed["rotary_magnet_slope"], fixed["rotary_magnet_limit"]
    rows["magnet_coupling"] = fixed["magnet_coupling_rotor"]
    rows["winding_limit"], rows["fixed_voltage"] = fixed["servo_temperature_limit"], volts
    rows["drive_loss"] = 1.0 / fixed["servo_regulator_efficiency"] - 1.0
    rows["drive_standby"] = idle * volts * (1.0 + rows["drive_loss"])
    return rows


def describe_servo(number: int, stroke: float) -> dict[str, float | str]:
    """The choices behind candidate `number`: servo class and arm (m)."""
    arms = servo_arms(stroke)
    names = [row.text("id") for row in fluids_data.load_table("servos").rows]
    return {"servo": names[number // len(arms)], "arm": arms[number % len(arms)]}
