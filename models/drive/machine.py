"""A rotary electric machine as both sides of the comparison use it: losses, input power, size and inertia.

Knows torque, speed, copper and iron loss; does not know how a winding is made (`winding`) nor what turns the shaft.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import INNER, KERNEL

Array = NDArray[np.float64]

LINEAR_IRON_SHARE = 0.5
"""Share of the rated iron loss that grows with speed (hysteresis, bearings); the rest grows with its square (eddies).
Source: [estimate]."""


@njit(**KERNEL)
def machine_loss(
    torque: float, speed: float, rated_torque: float, rated_speed: float, copper_loss: float, iron_loss: float
) -> float:
    """Loss of a permanent-magnet machine, W, any sign of torque (N·m) and speed (rad/s).

    copper_loss: W at rated torque, scaled with torque squared; iron_loss: W at rated speed, half linear, half square.
    Source: [common_practice] copper ∝ T², iron between ω and ω².
    """
    load = torque / rated_torque
    pace = abs(speed) / rated_speed
    return copper_loss * load * load + iron_loss * (0.5 * pace + 0.5 * pace * pace)


@njit(**KERNEL)
def torque_within(
    power: float, speed: float, rated_torque: float, rated_speed: float, copper_loss: float, iron_loss: float
) -> float:
    """Greatest motoring torque, N·m, at which a machine takes no more than `power` W at its terminals at `speed` rad/s.

    0 where its iron alone takes that. Source: the law of `machine_loss`, solved for the torque.
    """
    left = power - machine_loss(0.0, speed, rated_torque, rated_speed, copper_loss, iron_loss)
    if left <= 0.0:
        return 0.0
    copper = copper_loss / (rated_torque * rated_torque)
    return 2.0 * left / (speed + math.sqrt(speed * speed + 4.0 * copper * left))


@njit(**INNER)
def mean_iron_loss(mean_speed: float, rms_speed: float, rated_speed: float, iron_loss: float) -> float:
    """Mean iron loss, W, of a machine whose speed varies: mean of |ω| and rms, rad/s; iron_loss: W at rated speed.

    Source: the law of `machine_loss`, averaged.
    """
    mean, rms = mean_speed / rated_speed, rms_speed / rated_speed
    return iron_loss * (LINEAR_IRON_SHARE * mean + (1.0 - LINEAR_IRON_SHARE) * rms * rms)


def machine_diameter(mass: Array, density: float, length_ratio: float) -> Array:
    """Outer diameter, m, of a machine of `mass` kg: a cylinder of mean `density` kg/m³ and length/diameter ratio.

    Source: [estimate].
    """
    found: Array = (4.0 * mass / (math.pi * density * length_ratio)) ** (1.0 / 3.0)
    return found


def rotor_inertia(mass: Array, diameter: Array, rotor_mass_share: float, rotor_diameter_share: float) -> Array:
    """Moment of inertia, kg·m², of a rotor taken as a solid cylinder: shares of the machine's mass and diameter.

    Source: J = m·d²/8; the shares are [estimate].
    """
    rotor = rotor_diameter_share * diameter
    return 0.125 * rotor_mass_share * mass * rotor * rotor


@njit(**KERNEL)
def reflected_mass(inertia: float, travel_per_radian: float) -> float:
    """Mass, kg, that a moment of inertia (kg·m²) shows to what drives it through `travel_per_radian` m/rad.

    It acts between the two ends of the actuator, as an inerter does. A screw has lead/2π, a lever r/N. Source: derived.
    """
    return inertia / (travel_per_radian * travel_per_radian)


@njit(**KERNEL)
def bus_power(shaft_power: float, loss: float, electronics_fraction: float, standby_power: float) -> float:
    """Power drawn from the bus, W, by a motoring machine behind its electronics.

    shaft_power and loss: W of the machine; electronics_fraction: electronics loss as a share of the power passed on;
    standby_power: W the electronics draw at all times. Source: [estimate] constant fraction plus standby.
    """
    return (shaft_power + loss) * (1.0 + electronics_fraction) + standby_power
