"""Oil with free air as one barotropic liquid: volume, stiffness and enthalpy at a pressure, in closed form.

Amounts are counted as volume at atmospheric pressure, so that what leaves one volume enters the next to the last bit.
The pressure state W = p - c/p keeps every pressure above zero. The stiffness is that of `models.oil`; a test compares.
"""

from __future__ import annotations

import math

from numba import njit

from models.quantity import ATMOSPHERE


@njit(cache=True, error_model="numpy")
def mixture(
    pressure: float, modulus: float, slope: float, air: float, exponent: float
) -> tuple[float, float, float, float]:
    """(relative volume, tangent modulus Pa, its slope, enthalpy J per reference m³) at `pressure` Pa absolute.

    modulus: of the liquid at atmospheric pressure, rising by `slope` per pascal; air: share of free air by volume at
    atmospheric pressure, compressed with `exponent`. Enthalpy is ∫v dp from atmospheric pressure. Source: gas law and
    Murnaghan's volume to third order in p/modulus; derived.
    """
    gauge = pressure - ATMOSPHERE
    z = gauge / modulus
    second = 0.5 * (1.0 + slope)
    third = (1.0 + slope) * (1.0 + 2.0 * slope) / 6.0
    liquid = 1.0 - z * (1.0 - z * (second - z * third))
    first_slope = -(1.0 - z * (2.0 * second - 3.0 * third * z)) / modulus
    second_slope = (2.0 * second - 6.0 * third * z) / (modulus * modulus)
    work = gauge * (1.0 - z * (0.5 - z * (second / 3.0 - 0.25 * z * third)))
    gas = math.exp(math.log(ATMOSPHERE / pressure) / exponent)
    bend = 1.0 / exponent
    v = air * gas + (1.0 - air) * liquid
    dv = -air * gas * bend / pressure + (1.0 - air) * first_slope
    ddv = air * gas * bend * (1.0 + bend) / (pressure * pressure) + (1.0 - air) * second_slope
    enthalpy = (1.0 - air) * work + air * (pressure * gas - ATMOSPHERE) / (1.0 - bend)
    return v, -v / dv, -1.0 + v * ddv / (dv * dv), enthalpy


@njit(cache=True, error_model="numpy")
def pressure_of(state: float, floor: float) -> float:
    """Absolute pressure of a pressure state W: the positive root of p - floor/p = W."""
    if state >= 0.0:
        return 0.5 * (state + math.sqrt(state * state + 4.0 * floor))
    return 2.0 * floor / (math.sqrt(state * state + 4.0 * floor) - state)


@njit(cache=True, error_model="numpy")
def state_of(pressure: float, floor: float) -> float:
    """Pressure state W = p - floor/p of an absolute pressure."""
    return pressure - floor / pressure
