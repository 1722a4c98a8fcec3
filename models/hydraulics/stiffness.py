"""How stiff the oil column is and what follows: natural frequency, and the force a lagging valve lets through.

The mass that counts between body and wheel is the reduced mass m_s·m_u/(m_s+m_u), with the oil in the lines, seen
through the piston, added to it. Knows numbers only.
"""

from __future__ import annotations

import math

from numba import njit

from models.compiled import KERNEL


@njit(**KERNEL)
def chamber_compliance(oil_volume: float, oil_modulus: float, hose_length: float, hose_expansion: float) -> float:
    """Volume a chamber with its line takes per pascal, m³/Pa.

    oil_volume: m³ of chamber, dead volume and line; oil_modulus: Pa, effective, free air included; hose_length in m
    with hose_expansion in m³ per metre and pascal.
    """
    return oil_volume / oil_modulus + hose_length * hose_expansion


@njit(**KERNEL)
def column_stiffness(
    cap: float, annulus: float, stroke: float, oil_modulus: float, cap_dead: float, annulus_dead: float
) -> float:
    """Least stiffness of the closed-in piston over its stroke, N/m.

    cap, annulus: areas m²; cap_dead, annulus_dead: compliance m³/Pa of everything on that side but the swept volume.
    K(x) = A1²/(A1·x/B + c1) + A2²/(A2·(S−x)/B + c2), least where the derivative vanishes, or at an end.
    Source: [merritt1967], both chambers; position of the least derived.
    """
    a, b = cap * oil_modulus, annulus * oil_modulus
    alpha, beta = cap_dead * oil_modulus / cap, annulus_dead * oil_modulus / annulus
    ratio = math.sqrt(a / b)
    position = min(max((ratio * (stroke + beta) - alpha) / (1.0 + ratio), 0.0), stroke)
    return a / (position + alpha) + b / (stroke - position + beta)


@njit(**KERNEL)
def reduced_mass(sprung_mass: float, unsprung_mass: float, travel_ratio: float) -> float:
    """Mass at the actuator of body against wheel, kg: m_s·m_u/(m_s+m_u)/R², R actuator travel per wheel travel."""
    return sprung_mass * unsprung_mass / (sprung_mass + unsprung_mass) / (travel_ratio * travel_ratio)


@njit(**KERNEL)
def natural_frequency(stiffness: float, mass: float) -> float:
    """Undamped frequency in Hz of `mass` (kg) on `stiffness` (N/m)."""
    return math.sqrt(stiffness / mass) / (2.0 * math.pi)


@njit(**KERNEL)
def velocity_disturbance(stiffness: float, velocity: float, frequency: float, bandwidth: float) -> float:
    """Amplitude of the force error that a valve lagging behind wheel motion leaves, N.

    A valve of first-order `bandwidth` (Hz) meters the oil that motion of amplitude `velocity` (m/s) at `frequency` (Hz)
    displaces, late; the rest strains the column: K·(v/ω)·ωτ/√(1+(ωτ)²), about K·v·τ. Source: derived.
    """
    lag = frequency / bandwidth
    return stiffness * velocity / (2.0 * math.pi * frequency) * lag / math.sqrt(1.0 + lag * lag)
