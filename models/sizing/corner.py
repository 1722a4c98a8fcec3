"""One corner: what a cylinder, a spool, a line and a valve do together at every load point, and what they weigh.

The kernels of the search and the account of the chosen design call the same functions here, so that both mean the
same. All scalars SI; compiled.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from numba import njit

from models.compiled import INNER, KERNEL
from models.hydraulics.cylinder import Body, Proportions, annulus_area, cap_area, cylinder_body, wall_thickness
from models.hydraulics.lines import darby_loss, line_pressure_drop
from models.hydraulics.seals import clearance_friction, clearance_leakage, elastomer_seal_friction
from models.hydraulics.stiffness import chamber_compliance, column_stiffness, natural_frequency
from models.hydraulics.valve import meter

STEEL_DENSITY = 7850.0
STEEL_MODULUS = 206e9
STEEL_TENSILE = 490e6
STEEL_YIELD = 355e6
"""Cylinder steel E355: density kg/m³, elastic modulus, tensile and yield strength Pa. Source: [en10305]."""

WALL_STEP = 0.25e-3
SMALLEST_WALL = 0.5e-3
WALL_SHARE = 0.04
"""Barrel walls come in steps and never below a minimum or a share of the bore, for handling. Source: [estimate]."""

SEAL_MODULUS = 7e6
SEAL_CONTACT = 0.5
BREAK_OUT = 3.0
"""Squeezed rings: modulus Pa and share of the section pressed on by pressure, alike for elastomer and plastic-faced
seals; break-out over running friction of a user's own cylinder. Source: [estimate], [common_practice]; as in rules.csv
(a test compares)."""

CLEARANCE_ECCENTRICITY = 0.5
CLEARANCE_LENGTH = 1.0
"""Clearance seals: running eccentricity and length in bores. Source: [estimate]."""

JOINTS_PER_LINE = 4
DEAD_VOLUME_SHARE = 0.05
"""Connectors in each corner line; dead volume of each chamber as a share of the swept volume. Source: [estimate]."""

MEAN_CHAMBER_SHARE = 0.5
"""Chamber pressure over supply for seal friction and leakage: both chambers of a closed spool rest near half."""

PROPORTIONS = Proportions()

CONSTRAINTS = (
    "force",
    "valve_opening",
    "cavitation",
    "chamber_pressure",
    "pressure_rating",
    "buckling",
    "outer_diameter",
    "retracted_length",
    "stiffness",
    "valve_bandwidth",
    "seal_friction",
    "wall",
    "gas_volume",
    "gas_precharge",
    "gas_pressure",
    "gas_ratio",
)
"""What a corner must keep; `corner_use` returns the use of each, 1 at the limit."""


class MassLaws(NamedTuple):
    """Estimated masses kg = a·x^n of corner parts, in the units of mass_estimates.csv: L/min and mm."""

    block: float
    block_power: float
    joint: float
    joint_power: float
    sensor: float
    sensor_power: float
    check: float
    check_power: float


@njit(**KERNEL)
def barrel(bore: float, rod: float, through: bool, stroke: float, pressure: float, burst: float) -> tuple[float, Body]:
    """Wall and body of a cylinder whose barrel bursts at `burst` times `pressure`; wall infinite when none will do."""
    smallest = max(SMALLEST_WALL, WALL_SHARE * bore)
    wall = wall_thickness(bore, pressure, STEEL_TENSILE, burst, smallest, WALL_STEP)
    return wall, cylinder_body(bore, rod, stroke, wall, through, STEEL_DENSITY, PROPORTIONS)


@njit(**INNER)
def friction_terms(
    bore: float,
    rod: float,
    through: bool,
    clearance: float,
    bore_section: float,
    bore_squeeze: float,
    rod_section: float,
    rod_squeeze: float,
    coefficient: float,
    pressure: float,
    viscosity: float,
) -> tuple[float, float]:
    """Running seal friction as (constant N, N per m/s) at supply `pressure`; piston seal and each rod seal."""
    glands = 2.0 if through else 1.0
    inside = MEAN_CHAMBER_SHARE * pressure
    if clearance > 0.0:
        piston = clearance_friction(bore, clearance, CLEARANCE_LENGTH * bore, viscosity, 1.0)
        gland = clearance_friction(rod, clearance, CLEARANCE_LENGTH * bore, viscosity, 1.0)
        return 0.0, piston + glands * gland
    piston = elastomer_seal_friction(bore, bore_section, bore_squeeze, inside, SEAL_MODULUS, coefficient, SEAL_CONTACT)
    gland = elastomer_seal_friction(rod, rod_section, rod_squeeze, inside, SEAL_MODULUS, coefficient, SEAL_CONTACT)
    return piston + glands * gland, 0.0


@njit(**KERNEL)
def seal_leakage(bore: float, rod: float, through: bool, clearance: float, pressure: float, viscosity: float) -> float:
    """Flow past clearance seals at supply `pressure`, m³/s: the piston's and each gland's, the latter to the drain."""
    if clearance <= 0.0:
        return 0.0
    glands = 2.0 if through else 1.0
    inside = MEAN_CHAMBER_SHARE * pressure
    length = CLEARANCE_LENGTH * bore
    piston = clearance_leakage(bore, clearance, inside, viscosity, length, CLEARANCE_ECCENTRICITY)
    gland = clearance_leakage(rod, clearance, inside, viscosity, length, CLEARANCE_ECCENTRICITY)
    return piston + glands * gland


@njit(**KERNEL)
def valve_leakage(leakage: float, reference_pressure: float, pressure: float) -> float:
    """Null leakage at supply `pressure`, m³/s, by the orifice law from its rating. Source: [estimate]: worn edges."""
    return leakage * math.sqrt(pressure / reference_pressure)


@njit(**KERNEL)
def corner_line_drop(
    flow: float,
    bore: float,
    tube_bore: float,
    tube_length: float,
    hose_length: float,
    bends: int,
    roughness: float,
    density: float,
    viscosity: float,
) -> float:
    """Loss of one corner line at `flow` m³/s: tube with its bends and joints, hose in series. Pa.

    Source: Darcy–Weisbach; bends by Darby's three constants [fluids_library]; joints as sudden exits, K = 0.5 each.
    """
    k1, k = darby_loss(800.0, 0.066, 3.9, tube_bore)
    tube = line_pressure_drop(
        flow, tube_bore, tube_length, bends * k1, bends * k + 0.5 * JOINTS_PER_LINE, density, viscosity, roughness
    )
    return tube + line_pressure_drop(flow, bore, hose_length, 0.0, 0.0, density, viscosity, roughness)


@njit(**KERNEL)
def line_volume(bore: float, tube_bore: float, tube_length: float, hose_length: float) -> float:
    """Oil in one corner line, m³."""
    return 0.25 * math.pi * (tube_bore * tube_bore * tube_length + bore * bore * hose_length)


@njit(**INNER)
def line_inertance(bore: float, tube_bore: float, tube_length: float, hose_length: float, density: float) -> float:
    """ρ·L/A of one corner line, kg/m⁴; times a piston area squared it is the mass seen at the piston."""
    return density * 4.0 / math.pi * (tube_length / (tube_bore * tube_bore) + hose_length / (bore * bore))


@njit(**INNER)
def oil_column(
    arrangement: int,
    spring: float,
    cap: float,
    annulus: float,
    stroke: float,
    modulus: float,
    volume: float,
    hose_length: float,
    expansion: float,
    inertance: float,
    mass: float,
    moving: float,
) -> tuple[float, float, float]:
    """As `oil_frequency`, for what moves on the oil column in each arrangement.

    parallel: the reduced `mass` of body and wheel. series (1): piston and rod, `moving` kg, held by oil and `spring`
    (N/m) alike; body and wheel lie behind the spring and are slow. corner_accumulator (2): the oil in the line alone,
    on the chamber's compressibility: to fast motion the orifice shuts the gas off.
    """
    if arrangement == 0:
        return oil_frequency(cap, annulus, stroke, modulus, volume, hose_length, expansion, inertance, mass)
    if arrangement == 1:
        stiffness, oil_mass, _ = oil_frequency(
            cap, annulus, stroke, modulus, volume, hose_length, expansion, inertance, moving
        )
        return stiffness, oil_mass, natural_frequency(stiffness + spring, moving + oil_mass)
    swept = (1.0 + DEAD_VOLUME_SHARE) * cap * stroke
    stiffness = cap * cap / chamber_compliance(volume + swept, modulus, hose_length, expansion)
    oil_mass = inertance * cap * cap
    return stiffness, oil_mass, natural_frequency(stiffness, oil_mass)


@njit(**INNER)
def oil_frequency(
    cap: float,
    annulus: float,
    stroke: float,
    modulus: float,
    volume: float,
    hose_length: float,
    expansion: float,
    inertance: float,
    mass: float,
) -> tuple[float, float, float]:
    """Least column stiffness (N/m), mass of the oil in the lines seen at the piston (kg), natural frequency (Hz)."""
    cap_dead = chamber_compliance(volume + DEAD_VOLUME_SHARE * cap * stroke, modulus, hose_length, expansion)
    annulus_dead = chamber_compliance(volume + DEAD_VOLUME_SHARE * annulus * stroke, modulus, hose_length, expansion)
    stiffness = column_stiffness(cap, annulus, stroke, modulus, cap_dead, annulus_dead)
    oil_mass = inertance * (cap * cap + annulus * annulus)
    return stiffness, oil_mass, natural_frequency(stiffness, mass + oil_mass)


@njit(**KERNEL)
def one_sided_point(
    force: float,
    direction: float,
    flow: float,
    cap: float,
    gain: float,
    transition: float,
    friction: float,
    line_drop: float,
    supply: float,
    back: float,
) -> tuple[float, float, float, float, bool]:
    """`spool_point` of a single-acting cylinder on port A: P feeds it, A to T empties it, the load drives it back.

    Both pressures returned are the chamber's. The share is load over what the supply can lift or, emptying, return over
    chamber pressure. Source: [merritt1967] orifice law on one edge with the force balance. Derived.
    """
    if direction == 0.0 or flow <= 0.0:
        chamber = force / cap
        share = chamber / supply
        return 0.0 if share <= 1.0 else math.inf, chamber, chamber, share, False
    chamber = (force + friction * direction) / cap
    if direction > 0.0:
        share, drop = chamber / supply, supply - line_drop - chamber
    else:
        share, drop = back / chamber if chamber > 0.0 else 0.0, chamber - line_drop - back
        if chamber <= 0.0:  # told as cavitation: no bore and no pressure lets it pull
            return math.inf, chamber, chamber, share, False
    if drop <= 0.0:
        return math.inf, chamber, chamber, max(share, 1.0 - drop / supply), False
    return math.sqrt((flow * flow + flow * transition) / drop) / gain, chamber, chamber, share, False


@njit(**KERNEL)
def spool_point(
    force: float,
    direction: float,
    speed: float,
    cap: float,
    annulus: float,
    matched: bool,
    gain: float,
    transition: float,
    friction: float,
    cap_line_drop: float,
    annulus_line_drop: float,
    supply: float,
    back: float,
    makeup: float,
) -> tuple[float, float, float, float, bool]:
    """`meter` at one load point of a cylinder: (opening, inlet, outlet, load share, makeup), inlet the filling side.

    A standing load (direction 0) is met on the side it pushes against. `gain`, `transition`: the A edges; the B edges
    of a matched spool are smaller by annulus/cap. With no annulus the rod side is vented and port B plugged.
    """
    if annulus == 0.0:
        return one_sided_point(
            force, direction, cap * speed, cap, gain, transition, friction, cap_line_drop, supply, back
        )
    scale = annulus / cap if matched else 1.0
    side = direction if direction != 0.0 else (1.0 if force >= 0.0 else -1.0)
    if direction == 0.0:
        friction = 0.0
    load = force * side + friction
    if side > 0.0:
        return meter(
            load, cap * speed, annulus * speed, cap, annulus, gain, transition, gain * scale, transition * scale,
            cap_line_drop, annulus_line_drop, supply, back, makeup,
        )  # fmt: skip
    return meter(
        load, annulus * speed, cap * speed, annulus, cap, gain * scale, transition * scale, gain, transition,
        annulus_line_drop, cap_line_drop, supply, back, makeup,
    )  # fmt: skip


@njit(**INNER)
def corner_mass(
    body_mass: float,
    body_oil: float,
    bore: float,
    valve_mass: float,
    valve_flow: float,
    line_bore: float,
    hose_kg_m: float,
    tube_kg_m: float,
    tube_length: float,
    hose_length: float,
    volume: float,
    density: float,
    checks: bool,
    check_flow: float,
    laws: MassLaws,
    lines: float,
) -> tuple[float, float, float, float, float]:
    """Wet masses of one corner, kg: cylinder, valve with block, its `lines` with joints, sensors, checks.

    valve_flow, check_flow in m³/s; volume: oil in one line, m³.
    """
    l_min = 6e4
    cylinder = body_mass + body_oil * density
    valve = valve_mass + laws.block * (valve_flow * l_min) ** laws.block_power
    joints = JOINTS_PER_LINE * laws.joint * (line_bore * 1e3) ** laws.joint_power
    line = lines * (tube_kg_m * tube_length + hose_kg_m * hose_length + volume * density + joints)
    sensors = laws.sensor * (bore * 1e3) ** laws.sensor_power
    check = 2.0 * laws.check * (check_flow * l_min) ** laws.check_power if checks else 0.0
    return cylinder, valve, line, sensors, check


@njit(**KERNEL)
def areas(bore: float, rod: float, through: bool) -> tuple[float, float]:
    """Cap-side and rod-side piston areas, m²."""
    return cap_area(bore, rod, through), annulus_area(bore, rod)


@njit(**INNER)
def working_areas(bore: float, rod: float, through: bool, arrangement: int) -> tuple[float, float]:
    """`areas` that oil under pressure works on: on a corner accumulator the rod side is vented, its area 0."""
    cap, annulus = areas(bore, rod, through)
    return cap, annulus if arrangement != 2 else 0.0


@njit(**KERNEL)
def chamber_oil(cap: float, annulus: float, stroke: float) -> float:
    """Oil in the chambers at mid stroke, m³."""
    return 0.5 * stroke * (cap + annulus)
