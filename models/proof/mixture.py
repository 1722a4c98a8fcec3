"""Oil with free air as one barotropic liquid: volume, stiffness and enthalpy at a pressure, in closed form.

Amounts are counted as volume at atmospheric pressure, so that what leaves one volume enters the next to the last bit.
The pressure state W = p - c/p keeps every pressure above zero. The stiffness is that of `models.oil`; a test compares.
"""

from __future__ import annotations

import math

from numba import njit

from models.proof.compiled import COMPILED
from models.quantity import ATMOSPHERE


@njit(**COMPILED)
def mixture(
    pressure: float, modulus: float, slope: float, air: float, exponent: float
) -> tuple[float, float, float, float]:
    """(relative volume, tangent modulus Pa, its slope, enthalpy J per reference m³) at `pressure` Pa absolute.

    modulus: of the liquid at atmospheric pressure, rising by `slope` per pascal; air: share of free air by volume at
    atmospheric pressure, compressed with `exponent`. Enthalpy is ∫v dp from atmospheric pressure. Source: gas law and
    Murnaghan's volume (1 + K'·z)^(-1/K'), its root as a fraction of two quadratics; derived. `slope` may not be 1.
    """
    gauge = pressure - ATMOSPHERE
    z = gauge / modulus
    x = slope * z
    bent = slope * slope / 6.0 + 1.0 / 12.0
    even, odd = 1.0 + x + z * z * bent, z * (0.5 + 0.25 * x)
    whole = 1.0 / (even + odd)
    liquid = (even - odd) * whole
    stiff = modulus + slope * gauge
    # the fraction's own slope, so that no oil is lost between volume and stiffness
    first_slope = (odd * (slope + 2.0 * z * bent) - even * (0.5 + 0.5 * x)) * 2.0 * whole * whole / modulus
    second_slope = (1.0 + slope) * liquid / (stiff * stiff)
    work = (stiff * liquid - modulus) / (slope - 1.0)
    gas = math.exp(math.log(ATMOSPHERE / pressure) / exponent)
    bend = 1.0 / exponent
    v = air * gas + (1.0 - air) * liquid
    dv = -air * gas * bend / pressure + (1.0 - air) * first_slope
    ddv = air * gas * bend * (1.0 + bend) / (pressure * pressure) + (1.0 - air) * second_slope
    enthalpy = (1.0 - air) * work + air * (pressure * gas - ATMOSPHERE) / (1.0 - bend)
    return v, -v / dv, -1.0 + v * ddv / (dv * dv), enthalpy


@njit(**COMPILED)
def pressure_of(state: float, floor: float) -> float:
    """Absolute pressure of a pressure state W: the positive root of p - floor/p = W."""
    if state >= 0.0:
        return 0.5 * (state + math.sqrt(state * state + 4.0 * floor))
    return 2.0 * floor / (math.sqrt(state * state + 4.0 * floor) - state)


@njit(**COMPILED)
def state_of(pressure: float, floor: float) -> float:
    """Pressure state W = p - floor/p of an absolute pressure."""
    return pressure - floor / pressure
