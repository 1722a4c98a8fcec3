"""A rotary electric machine and its electronics as both sides of the comparison use them: losses and input power.

Knows torque, speed, copper and iron loss; does not know how a winding is made (`winding`) nor what turns the shaft.
"""

from __future__ import annotations

from numba import njit

LINEAR_IRON_SHARE = 0.5
"""Share of the rated iron loss that grows with speed (hysteresis, bearings); the rest grows with its square (eddies).
Source: [estimate]."""


@njit(cache=True, error_model="numpy")
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


@njit(cache=True, error_model="numpy")
def bus_power(shaft_power: float, loss: float, electronics_fraction: float, standby_power: float) -> float:
    """Power drawn from the bus, W, by a motoring machine behind its electronics.

    shaft_power and loss: W of the machine; electronics_fraction: electronics loss as a share of the power passed on;
    standby_power: W the electronics draw at all times. Source: [estimate] constant fraction plus standby.
    """
    return (shaft_power + loss) * (1.0 + electronics_fraction) + standby_power
