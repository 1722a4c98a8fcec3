"""A hydraulic cylinder: areas, the pressures a load can drive into it, strength, stability, size and mass.

Knows: one single-rod or through-rod cylinder of steel as numbers. Does not know: the valve that feeds it (valve.py,
apart from the pressure balance a symmetric spool imposes), its seals (seals.py), the axle it belongs to, or fatigue:
a burst factor says nothing about cycles.

Signs: force is positive when the cylinder pushes body and wheel apart; pressures are gauge.
"""

import math
from typing import NamedTuple

from numba import njit

from models.compiled import KERNEL


class Proportions(NamedTuple):
    """Lengths of a cylinder's parts, in bores and rods, and the radial allowance of its ports. All `estimated`.

    `piston`, `gland`, `cap` in bores; `mount` (both mounts together) in rod diameters; `piston_minimum`,
    `gland_minimum`, `cap_minimum` m. The values follow ordinary tie-rod and welded practice, no source.
    """

    piston: float = 0.6
    gland: float = 0.9
    cap: float = 0.5
    mount: float = 2.0
    piston_minimum: float = 0.004
    gland_minimum: float = 0.006
    cap_minimum: float = 0.004


class Body(NamedTuple):
    """What a cylinder measures: lengths m, masses kg, oil m³ (both chambers full at mid stroke)."""

    barrel_length: float
    retracted_length: float
    extended_length: float
    outer_diameter: float
    dry_mass: float
    moving_mass: float
    oil_volume: float


@njit(**KERNEL)
def cap_area(bore: float, rod: float, through_rod: bool) -> float:
    """Piston area (m²) of the chamber that extends the cylinder; diameters m."""
    return 0.25 * math.pi * (bore * bore - (rod * rod if through_rod else 0.0))


@njit(**KERNEL)
def annulus_area(bore: float, rod: float) -> float:
    """Piston area (m²) of the rod side; diameters m."""
    return 0.25 * math.pi * (bore * bore - rod * rod)


@njit(**KERNEL)
def cylinder_force(cap_pressure: float, annulus_pressure: float, cap: float, annulus: float, friction: float) -> float:
    """Force (N) on the load, positive pushing: p1·A1 − p2·A2 − friction; `friction` (N) has the sign of the velocity.

    Source: force balance; [esposito], chapter 6.
    """
    return cap_pressure * cap - annulus_pressure * annulus - friction


@njit(**KERNEL)
def intensified_pressure(cap_pressure: float, pull: float, cap: float, annulus: float) -> float:
    """Rod-side pressure (Pa) when that side is shut: (p1·A1 + `pull`)/A2, above the supply on a single rod.

    `pull` N is the load's force in the direction of extension, positive overrunning. Source: force balance; derived.
    """
    return (cap_pressure * cap + pull) / annulus


@njit(**KERNEL)
def symmetric_spool_overrunning_limit(
    supply_pressure: float, return_pressure: float, cap: float, annulus: float
) -> float:
    """Largest force (N) pulling the rod out before the cap side runs dry, with equal metering edges, lossless.

    The return edge holds p2 − pr = (ps − p1)·(A2/A1)²; the cap side is at zero gauge when p2·A2 equals the pull:
    ps·A2³/A1² with no return pressure, whatever the opening. Source: orifice balance on both edges; derived.
    """
    return ((supply_pressure * (annulus / cap) ** 2) + return_pressure) * annulus


@njit(**KERNEL)
def wall_thickness(bore: float, pressure: float, strength: float, factor: float, minimum: float, step: float) -> float:
    """Barrel wall (m) whose bursting pressure is at least `factor` times `pressure` (Pa).

    Lamé: the hoop stress at the bore reaches `strength` (Pa, yield or tensile as the caller states) at
    `factor`·`pressure`. Not below `minimum`, rounded up to a multiple of `step`. Infinite when no wall will do.
    Source: Lamé, in [roark]. Static strength only.
    """
    load = factor * pressure
    if load >= strength:
        return math.inf
    needed = 0.5 * bore * (math.sqrt((strength + load) / (strength - load)) - 1.0)
    return math.ceil(max(needed, minimum) / step - 1e-9) * step


@njit(**KERNEL)
def buckling_load(
    rod: float, free_length: float, elastic_modulus: float, yield_strength: float, end_factor: float
) -> float:
    """Compressive force (N) at which a round rod of `free_length` (m) gives way.

    `end_factor`·`free_length` is the effective length (2 fixed-free, 1 pinned, 0.7, 0.5 fixed). Euler where slender,
    Johnson's parabola where stocky; they meet with one tangent at half the yield stress. The whole cylinder is taken as
    its rod, which is cautious. Source: [roark], columns (recalled); end factors common practice; [iso13725] asks for
    the user's own factor on top.
    """
    area = 0.25 * math.pi * rod * rod
    slenderness = end_factor * free_length / (0.25 * rod)
    euler = math.pi**2 * elastic_modulus / (slenderness * slenderness)
    if euler <= 0.5 * yield_strength:
        return area * euler
    return area * yield_strength * (1.0 - 0.25 * yield_strength / euler)


@njit(**KERNEL)
def cylinder_body(
    bore: float, rod: float, stroke: float, wall: float, through_rod: bool, density: float, shape: Proportions
) -> Body:
    """Lengths and masses of a cylinder of solid metal of `density` (kg/m³); all lengths m.

    A through rod has a second gland instead of a cap, and its free end needs a stroke of room beyond it, which
    `retracted_length` counts. Source: geometry; proportions `estimated`.
    """
    quarter = 0.25 * math.pi
    outer = bore + 2.0 * wall
    piston_length = max(shape.piston * bore, shape.piston_minimum)
    gland_length = max(shape.gland * bore, shape.gland_minimum)
    end_length = gland_length if through_rod else max(shape.cap * bore, shape.cap_minimum)
    mount_length = shape.mount * rod
    chamber = stroke + piston_length
    barrel = chamber + gland_length + end_length
    rod_length = chamber + gland_length + 0.5 * mount_length
    if through_rod:
        rod_length += gland_length + stroke
    retracted = barrel + mount_length + (stroke if through_rod else 0.0)
    tube = quarter * (outer**2 - bore**2) * chamber
    ends = quarter * (outer**2 - rod**2) * gland_length
    ends += quarter * (outer**2 - (rod**2 if through_rod else 0.0)) * end_length
    mounts = quarter * (2.0 * rod) ** 2 * 0.5 * mount_length
    moving = quarter * (bore**2 - rod**2) * piston_length + quarter * rod**2 * rod_length + 0.5 * mounts
    oil = 0.5 * stroke * (cap_area(bore, rod, through_rod) + annulus_area(bore, rod))
    return Body(
        barrel,
        retracted,
        retracted + stroke,
        outer,
        density * (tube + ends + moving + 0.5 * mounts),
        density * moving,
        oil,
    )
