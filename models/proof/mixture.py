"""Oil with free air as one barotropic liquid: volume, stiffness and enthalpy at a pressure, in closed form.

Amounts are counted as volume at atmospheric pressure, so that what leaves one volume enters the next to the last bit.
The pressure state W = p - c/p keeps every pressure above zero. The stiffness is that of `models.oil`; a test compares.
"""

from __future__ import annotations

import math

from numba import njit

from models.proof.compiled import COMPILED
from models.quantity import ATMOSPHERE

Oil = tuple[float, float, float, float, float, float, float]


@njit(**COMPILED)
def oil_numbers(modulus: float, slope: float, air: float, exponent: float) -> Oil:
    """What `mixture` asks of an oil, its divisions made once.

    modulus: of the liquid at atmospheric pressure, Pa, rising by `slope` per pascal, which may not be 1; air: share of
    free air by volume at atmospheric pressure, compressed with `exponent`, above 1.
    """
    bend = 1.0 / exponent
    return modulus, slope, air, 1.0 / modulus, bend, 1.0 / (slope - 1.0), 1.0 / (1.0 - bend)


@njit(**COMPILED)
def mixture(pressure: float, oil: Oil) -> tuple[float, float, float, float]:
    """(relative volume, tangent compressibility 1/Pa, its slope, enthalpy J per reference m³) at `pressure`, Pa.

    oil: as `oil_numbers` gives it. Enthalpy is ∫v dp from atmospheric pressure. Source: gas law and Murnaghan's volume
    (1 + K'·z)^(-1/K'), its root as a fraction of two quadratics; derived.
    """
    modulus, slope, air, yielding, bend, work_share, gas_share = oil
    gauge = pressure - ATMOSPHERE
    z = gauge * yielding
    x = slope * z
    bent = slope * slope * (1.0 / 6.0) + 1.0 / 12.0
    even, odd = 1.0 + x + z * z * bent, z * (0.5 + 0.25 * x)
    whole = 1.0 / (even + odd)
    liquid = (even - odd) * whole
    stiff = modulus + slope * gauge
    soft = 1.0 / stiff
    # the fraction's own slope, so that no oil is lost between volume and stiffness
    first_slope = (odd * (slope + 2.0 * z * bent) - even * (0.5 + 0.5 * x)) * (2.0 * whole * whole * yielding)
    second_slope = (1.0 + slope) * liquid * (soft * soft)
    work = (stiff * liquid - modulus) * work_share
    thin = 1.0 / pressure
    gas = air * math.exp(math.log(ATMOSPHERE * thin) * bend)
    v = gas + (1.0 - air) * liquid
    dv = -gas * (bend * thin) + (1.0 - air) * first_slope
    ddv = gas * (bend * (1.0 + bend) * thin * thin) + (1.0 - air) * second_slope
    enthalpy = (1.0 - air) * work + (pressure * gas - air * ATMOSPHERE) * gas_share
    part = 1.0 / v
    give = -dv * part
    return v, give, give * give - ddv * part, enthalpy


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
