"""Friction and leakage of sliding seals: the elastomer ring that grips, and the clearance seal that leaks.

Knows: one seal on one diameter. Does not know: how many seals a cylinder carries (cylinder.py adds them up), wear, or
the friction coefficient of a real pair, which no source gives and which the caller passes in.
"""

import math

from numba import njit

from models.compiled import KERNEL


@njit(**KERNEL)
def squeeze_load(section: float, squeeze: float, modulus: float) -> float:
    """Line load (N/m) of a squeezed elastomer ring at rest: E·d·(1.25·e^1.5 + 50·e^6).

    `section` d m, `squeeze` e = compression/section, 0 to 0.4, `modulus` E Pa (of the compound, about 3 to 10 MPa).
    Source: [lindley1967], recalled.
    """
    return modulus * section * (1.25 * squeeze**1.5 + 50.0 * squeeze**6)


@njit(**KERNEL)
def elastomer_seal_friction(
    diameter: float,
    section: float,
    squeeze: float,
    pressure: float,
    modulus: float,
    friction_coefficient: float,
    contact_fraction: float,
) -> float:
    """Running friction (N) of an elastomer ring sliding on `diameter` (m), under `pressure` (Pa) across it.

    µ·π·D·(squeeze line load + |p|·d·contact_fraction): the squeeze of `squeeze_load` plus the pressure that drives the
    ring against the moving face over `contact_fraction` of its `section`. Break-out is up to three times this.
    Source: [lindley1967] for the squeeze; the pressure term is customary, its coefficients `estimated`.
    """
    line_load = squeeze_load(section, squeeze, modulus) + abs(pressure) * section * contact_fraction
    return friction_coefficient * math.pi * diameter * line_load


@njit(**KERNEL)
def clearance_leakage(
    diameter: float,
    clearance: float,
    pressure_drop: float,
    dynamic_viscosity: float,
    length: float,
    eccentricity: float,
) -> float:
    """Leakage (m³/s) through an annular gap, with the sign of `pressure_drop` (Pa).

    `clearance` m is radial, `length` m along the gap, `eccentricity` 0 (centred) to 1 (touching, 2.5 times the flow).
    Laminar, gap thin against the diameter. Source: [fox_mcdonald], example 8.1; [merritt1967] for the eccentricity.
    """
    gap = math.pi * diameter * clearance**3 * (1.0 + 1.5 * eccentricity**2)
    return gap * pressure_drop / (12.0 * dynamic_viscosity * length)


@njit(**KERNEL)
def clearance_friction(
    diameter: float, clearance: float, length: float, dynamic_viscosity: float, velocity: float
) -> float:
    """Viscous drag (N) of a centred clearance seal, with the sign of `velocity` (m/s): µ·π·D·L·v/c.

    Source: Couette flow; derived. A gap pressed to one side drags more and, at rest, sticks: not covered.
    """
    return dynamic_viscosity * math.pi * diameter * length * velocity / clearance
