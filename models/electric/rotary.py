"""A three-phase rotary machine on a screw, a lever or a belt, and the geared positional servo on a lever.

Knows the machine table the hydraulic pump's motor is chosen from too, what a transmission does to force, speed, inertia
and mass, and the classes of positional servos. The reflected inertia is an inerter between the actuator's ends. What
the tables do not say (copper share, rotor, mean turn) is estimated from the machine's mass and flagged so.
"""

from __future__ import annotations

import functools
import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

import fluids_data
from models.compiled import KERNEL
from models.drive.electronics import THREE_PHASE_VOLTAGE
from models.drive.machine import LINEAR_IRON_SHARE, machine_diameter, rotor_inertia
from models.drive.winding import COPPER_DENSITY, COPPER_HEAT_CAPACITY, COPPER_RESISTIVITY, REFERENCE, resistance_factor
from models.electric.candidate import MACHINE
from models.electric.catalogue import Transmission, column, constants, transmissions

MOTOR_COLUMNS = (
    "rated_torque_nm", "rated_speed_rpm", "max_speed_rpm", "peak_torque_nm", "mass_kg", "copper_loss_w", "iron_loss_w",
    "thermal_resistance_k_w",
)  # fmt: skip

SCREW, LEVER, BELT = 0, 1, 2
KINDS = {"screw": SCREW, "lever": LEVER, "belt": BELT}


@functools.cache
def motors() -> NDArray[np.void]:
    """Rotary machines by rising mass, as rows of MACHINE on a transmission of 1 m of travel per radian that weighs
    nothing and loses nothing; not to be written to."""
    fixed, table = constants(), [column("motors", name) for name in MOTOR_COLUMNS]
    order = np.argsort(table[4], kind="stable")
    torque, speed, fastest, peak, mass, copper_loss, iron_loss, resistance = (values[order] for values in table)
    rows = np.zeros(len(order), MACHINE)
    diameter = machine_diameter(mass, fixed["rotary_density"], fixed["rotary_length_ratio"])
    length = fixed["rotary_length_ratio"] * diameter
    copper, fill = fixed["rotary_copper_share"] * mass, fixed["rotary_fill"]
    cold_loss = copper_loss / resistance_factor(REFERENCE + fixed["rotary_rating_rise"])
    constant = torque / np.sqrt(cold_loss)
    pitch = math.pi * fixed["rotary_gap_diameter"] * diameter / (2.0 * fixed["rotary_pole_pairs"])
    turn = 2.0 * fixed["rotary_stack"] * length + 2.4 * pitch
    rows["window"] = copper / COPPER_DENSITY / (3.0 * turn * fill)
    rows["turn_resistance"] = COPPER_RESISTIVITY * turn / rows["window"]
    rows["turn_force"] = constant * np.sqrt(rows["turn_resistance"] / fill)
    rows["motor_constant"] = constant / math.sqrt(fill)
    rows["mid_share"] = rows["end_share"] = rows["efficiency"] = 1.0
    rows["wire_space"] = fixed["rotary_slot"] * diameter
    rows["phases"], rows["voltage_share"] = 3.0, THREE_PHASE_VOLTAGE
    rated = torque * speed
    rows["electric_time"] = fixed["rotary_reactance"] * rated / (cold_loss * fixed["rotary_pole_pairs"] * speed) / fill
    rows["copper_mass"] = copper / fill
    rows["magnet_mass"] = fixed["rotary_magnet_share"] * mass
    rows["housing_mass"] = fixed["housing_share"] * mass
    rows["iron_mass"] = mass - copper - rows["magnet_mass"] - rows["housing_mass"]
    rows["inertance"] = rotor_inertia(mass, diameter, fixed["rotary_rotor_mass"], fixed["rotary_rotor_diameter"])
    rows["outer_diameter"] = rows["case_diameter"] = diameter
    rows["body_length"] = rows["retracted_length"] = rows["case_length"] = length
    rows["link"] = 1.0 / (fixed["rotary_inner_share"] * resistance)
    rows["winding_capacity"] = rows["copper_mass"] * COPPER_HEAT_CAPACITY
    rows["case_capacity"] = (mass - copper) * fixed["solid_heat_capacity"]
    rows["iron_linear"] = LINEAR_IRON_SHARE * iron_loss / speed
    rows["iron_square"] = (1.0 - LINEAR_IRON_SHARE) * iron_loss / speed**2
    rows["force_limit"], rows["velocity_limit"] = peak, fastest
    rows["force_continuous"] = rows["winding_limit"] = math.inf
    rows["magnet_slope"], rows["magnet_limit"] = fixed["rotary_magnet_slope"], fixed["rotary_magnet_limit"]
    rows["magnet_coupling"] = fixed["magnet_coupling_rotor"]
    return rows


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


def gear_mass(torque: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mass, kg, of a gear stage that gives `torque` N·m at its output. Source: [estimate]."""
    found: NDArray[np.float64] = constants()["gear_mass"] * torque ** constants()["gear_mass_exponent"]
    return found


PARTS = np.dtype(
    [
        (name, np.float64)
        for name in (
            "travel",  # m per radian of the machine
            "mass",  # kg
            "inertia",  # kg·m² at the machine
            "fastest",  # rad/s the machine may turn
            "strongest",  # N it bears at most, for other reasons than the machine
            "stiffness",  # N/m
            "length",  # m it adds to the machine's own, drawn in
            "efficiency",
        )
    ]
)
"""A transmission made for a force and a stroke."""


@functools.lru_cache(maxsize=64)
def made_transmissions(stroke: float, force: float) -> NDArray[np.void]:
    """The usable transmissions made for a stroke (m) and a force (N); not to be written to."""
    return transmission_parts(transmission_numbers(stroke), force, stroke)


def transmission_parts(gears: NDArray[np.float64], force: float, stroke: float) -> NDArray[np.void]:
    """What carries `force` N over `stroke` m: a record of PARTS for each of `gears` (`transmission_numbers`).

    Source: [estimate]; a screw's section follows from its load and its lead, gear and lever masses from the torque they
    pass.
    """
    fixed, (kind, travel, _, ratio, efficiency) = constants(), gears.T
    screw, lever = kind == SCREW, kind == LEVER
    lead = 2.0 * math.pi * travel / fixed["screw_lead_ratio"]
    diameter = np.maximum(max(fixed["screw_diameter_min"], math.sqrt(force / fixed["screw_stress"])), lead)
    shaft = fixed["iron_density"] * 0.25 * math.pi * diameter**2 * (stroke + 6.0 * diameter)
    nut = fixed["screw_nut_factor"] * fixed["iron_density"] * diameter**3
    stage = gear_mass(force * travel * ratio)
    share = np.where(lever, fixed["lever_mass_share"], fixed["belt_mass_share"])
    geared = np.where(ratio > 1.0, stage, 0.0) + share * stage
    slack = np.where(lever, fixed["lever_compliance"], fixed["belt_compliance"])
    slack = np.where(screw, fixed["screw_compliance"], slack)
    pulley = travel * ratio
    parts = np.zeros(len(gears), PARTS)
    parts["travel"], parts["efficiency"] = travel, efficiency
    parts["mass"] = fixed["transmission_mass_min"] + np.where(screw, shaft + nut, geared)
    parts["inertia"] = np.where(screw, 0.125 * shaft * diameter**2, 0.0)
    parts["fastest"] = np.where(screw, 2.0 * fixed["screw_surface_speed"] / diameter, math.inf)
    parts["strongest"] = np.where(kind == BELT, fixed["belt_tension"] * pulley**2, math.inf)
    parts["stiffness"] = force / (slack * stroke)
    parts["length"] = np.where(screw, stroke, 0.0)
    return parts


@njit(**KERNEL)
def build_rotaries(
    rows: NDArray[np.void], machines: NDArray[np.void], gears: NDArray[np.void], friction: float
) -> None:
    """Write every pairing of machines (of `motors`) and gears (of PARTS) into `rows`, gears fastest; friction: N."""
    for m in range(len(machines)):
        machine = machines[m]
        for t in range(len(gears)):
            gear, k = gears[t], m * len(gears) + t
            rows[k] = machine
            row, travel = rows[k], gear.travel
            row.motor_constant = machine.motor_constant / travel
            row.turn_force = machine.turn_force / travel
            row.transmission_mass, row.moving_mass = gear.mass, 0.5 * gear.mass
            # acts between the two ends of the actuator, as an inerter does
            row.inertance = (machine.inertance + gear.inertia) / (travel * travel)
            row.retracted_length = machine.retracted_length + gear.length
            row.iron_linear = machine.iron_linear / travel
            row.iron_square = machine.iron_square / (travel * travel)
            row.friction, row.efficiency = friction, gear.efficiency
            row.force_limit = min(machine.force_limit / travel, gear.strongest)
            row.velocity_limit = min(machine.velocity_limit, gear.fastest) * travel
            row.bandwidth_limit = math.sqrt(gear.stiffness / row.inertance) / (2.0 * math.pi)


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
