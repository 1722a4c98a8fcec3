"""A fixed-displacement pump: delivery and torque with losses that follow pressure, speed and viscosity.

Displacement is per radian (m³/rad), speed in rad/s, pressure rise in Pa. The coefficients come from `fluids_data/pumps`
and are estimates below 1 cm³/rev; a user's measured pump replaces them.
"""

from __future__ import annotations

from numba import njit

from models.compiled import KERNEL


@njit(**KERNEL)
def delivery(displacement: float, speed: float, pressure: float, dynamic_viscosity: float, slip: float) -> float:
    """Delivered flow, m³/s: D·ω − slip·D·Δp/µ. Negative when the slip exceeds the displacement.

    Source: [wilson1950], laminar slip.
    """
    return displacement * (speed - slip * pressure / dynamic_viscosity)


@njit(**KERNEL)
def speed_for_delivery(
    displacement: float, flow: float, pressure: float, dynamic_viscosity: float, slip: float
) -> float:
    """Shaft speed in rad/s that delivers `flow` m³/s; inverse of `delivery`."""
    return flow / displacement + slip * pressure / dynamic_viscosity


@njit(**KERNEL)
def shaft_torque(
    displacement: float,
    speed: float,
    pressure: float,
    dynamic_viscosity: float,
    viscous_drag: float,
    coulomb: float,
    constant_pressure: float,
) -> float:
    """Torque at the shaft, N·m: D·(Δp·(1 + coulomb) + drag·µ·ω + constant).

    viscous_drag, coulomb: dimensionless; constant_pressure: seal and bearing drag as a pressure, Pa.
    Source: [wilson1950], with a constant term.
    """
    return displacement * (pressure * (1.0 + coulomb) + viscous_drag * dynamic_viscosity * speed + constant_pressure)


@njit(**KERNEL)
def overall_efficiency(pressure: float, flow: float, torque: float, speed: float) -> float:
    """Hydraulic power out over shaft power in: Δp·Q/(T·ω)."""
    return pressure * flow / (torque * speed)
