"""Flow through a sharp-edged restriction, signed, from creeping to turbulent flow.

Knows: one orifice of given area between two pressures, with a viscous floor so that small openings and cold oil do not
pass the turbulent flow they cannot pass; its inverse; the flow coefficient in the trade's older unit. Does not know:
spools and rated flows (valve.py), lines (lines.py), or the oil (density and viscosity are arguments).

The drop is the sum of an inertial and a viscous part,

    Δp = ρ/(2·Cd²·A²)·(Q² + |Q|·Qt),   Qt = (Cd/δ)²·ν·A/Dh,

which is Q = Cd·A·√(2Δp/ρ) at high and Cd = δ·√Re at low Reynolds number, smooth and odd through zero.
"""

import math

from numba import njit

from models.compiled import KERNEL

GALLON = 3.785411784e-3
"""US gallon in m³, exact by definition."""
PSI = 6894.757293168361
"""Pound-force per square inch in Pa."""
WATER_DENSITY = 999.016
"""Density of water at 60 °F in kg/m³, the reference of specific gravity."""


@njit(**KERNEL)
def transition_flow(
    area: float, hydraulic_diameter: float, discharge: float, laminar: float, density: float, dynamic_viscosity: float
) -> float:
    """Flow (m³/s) at which the viscous part of the drop equals the inertial one.

    `area` m² of all parallel openings, `hydraulic_diameter` m of one of them (the bore of a round hole, twice the
    height of a slot), `discharge` Cd and `laminar` δ dimensionless, `density` kg/m³, `dynamic_viscosity` Pa·s.
    Merritt gives δ = 0.2 for a round hole and 0.157 for a slot (recalled).
    Source: [merritt1967], laminar discharge coefficient Cd = δ·√Re, section on orifices.
    """
    return (discharge / laminar) ** 2 * (dynamic_viscosity / density) * area / hydraulic_diameter


@njit(**KERNEL)
def orifice_flow(
    pressure_drop: float,
    area: float,
    hydraulic_diameter: float,
    discharge: float,
    laminar: float,
    density: float,
    dynamic_viscosity: float,
) -> float:
    """Flow (m³/s) with the sign of `pressure_drop` (Pa); the other arguments as in `transition_flow`.

    Any sign and size of `pressure_drop`; a closed orifice (`area` 0) passes nothing.
    Source: [merritt1967], orifice equation with the viscous floor of this file's opening.
    """
    if area <= 0.0 or pressure_drop == 0.0:
        return 0.0
    viscous = transition_flow(area, hydraulic_diameter, discharge, laminar, density, dynamic_viscosity)
    inertial = 2.0 * (discharge * area) ** 2 * abs(pressure_drop) / density
    flow = 2.0 * inertial / (viscous + math.sqrt(viscous * viscous + 4.0 * inertial))
    return math.copysign(flow, pressure_drop)


@njit(**KERNEL)
def orifice_drop(
    flow: float,
    area: float,
    hydraulic_diameter: float,
    discharge: float,
    laminar: float,
    density: float,
    dynamic_viscosity: float,
) -> float:
    """Pressure drop (Pa) with the sign of `flow` (m³/s): the inverse of `orifice_flow`. `area` must be above zero."""
    viscous = transition_flow(area, hydraulic_diameter, discharge, laminar, density, dynamic_viscosity)
    return density / (2.0 * (discharge * area) ** 2) * flow * (abs(flow) + viscous)


@njit(**KERNEL)
def orifice_area(flow: float, pressure_drop: float, discharge: float, density: float) -> float:
    """Area (m²) that passes `flow` (m³/s) at `pressure_drop` (Pa) when turbulent; both above zero.

    Source: [merritt1967], orifice equation.
    """
    return flow / (discharge * math.sqrt(2.0 * pressure_drop / density))


def flow_coefficient(flow: float, pressure_drop: float, density: float) -> float:
    """The flow coefficient Cv in US gal/min at 1 psi of water, from `flow` m³/s at `pressure_drop` Pa.

    Source: [esposito], example 8.5: Cv = Q/√(Δp/SG).
    """
    gallons_a_minute = flow / GALLON * 60.0
    return gallons_a_minute / math.sqrt(pressure_drop / PSI / (density / WATER_DENSITY))


def relief_area(
    flow: float, set_pressure: float, overpressure: float, back_pressure: float, discharge: float, density: float
) -> float:
    """Seat area (m²) a relief valve needs to pass `flow` (m³/s) of liquid.

    `set_pressure` Pa gauge; `overpressure` is the accumulation allowed as a share of it (0.1 customary);
    `back_pressure` Pa gauge at the outlet; `discharge` is the valve's coefficient, corrected for back pressure.
    Source: [api520], part I, sizing for liquid relief, capacity certified.
    """
    return orifice_area(flow, set_pressure * (1.0 + overpressure) - back_pressure, discharge, density)
