"""A gas spring on a cylinder's chamber: the nitrogen that gives a rate, its pressures over the travel, its orifice.

Knows: one chamber of given area open to one gas volume, the load that rests on it, and a sharp-edged orifice between
both. Motion is fast (no heat), load and temperature are slow. Does not know: which accumulator holds the gas, the
valve, or the vehicle. Pressures are gauge unless a name says absolute; temperatures are kelvin.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import KERNEL
from models.hydraulics.accumulator import (
    GAS_CONSTANT,
    IDEAL_EXPONENT,
    Nitrogen,
    expanded_density,
    nitrogen,
    nitrogen_density,
)
from models.hydraulics.orifice import orifice_drop, transition_flow
from models.hydraulics.valve import DISCHARGE
from models.quantity import ATMOSPHERE

Floats = NDArray[np.float64]

ROUND_LAMINAR = 0.2
"""Laminar discharge parameter δ of a round hole, Cd = δ·√Re. Source: [merritt1967], from memory."""

GAUSSIAN_DRAG = math.sqrt(8.0 / math.pi)
"""E|v|³/σ³ of a Gaussian: v·|v| is best replaced by this times σ·v. Source: least mean square; derived."""

SLOPE_STEP = 0.05
"""Half the step in pressure, as a share, over which the gas's modulus is taken."""


@njit(**KERNEL)
def isentropic_modulus(gas: Nitrogen, pressure_absolute: float, temperature: float) -> float:
    """Bulk modulus of nitrogen without heat, ρ·(∂p/∂ρ) at constant entropy, Pa; γ·p for an ideal gas.

    `pressure_absolute` Pa, `temperature` K; NaN outside the table. Source: [span2000].
    """
    low, high = pressure_absolute * (1.0 - SLOPE_STEP), pressure_absolute * (1.0 + SLOPE_STEP)
    thin = expanded_density(gas, pressure_absolute, temperature, low, True)
    dense = expanded_density(gas, pressure_absolute, temperature, high, True)
    return (high - low) / math.log(dense / thin)


@njit(**KERNEL)
def squeezed_pressure(gas: Nitrogen, pressure_absolute: float, temperature: float, share: float) -> float:
    """Absolute pressure (Pa) after nitrogen was squeezed or let out, without heat, to `share` of its volume.

    NaN outside the table or for a share not above zero. Secant on the logarithms, which are nearly proportional.
    Source: [span2000].
    """
    if share <= 0.0:
        return math.nan
    wanted = math.log(nitrogen_density(gas, pressure_absolute, temperature) / share)
    x0, y0 = math.log(pressure_absolute), math.log(share)
    x1 = x0 - 1.4 * y0
    y1 = math.nan
    for _ in range(60):
        y1 = math.log(expanded_density(gas, pressure_absolute, temperature, math.exp(x1), True)) - wanted
        if math.isnan(y1):  # a step beyond the table
            x1 = 0.5 * (x0 + x1)
            continue
        if abs(y1) <= 1e-12 or y1 == y0:
            break
        x0, x1, y0 = x1, x1 - y1 * (x1 - x0) / (y1 - y0), y1
    return math.exp(x1) if abs(y1) < 1e-6 else math.nan  # a NaN is not below either


class GasSpring(NamedTuple):
    """A gas spring at rest and over its travel. `volume` and `rate` hold at the charge temperature; NaN: off the table.

    Pressures Pa gauge, volumes m³, mass kg, rates N/m. `bump_pressure` is met in the cold, `droop_pressure` in the
    heat: the load sets the pressure at rest, so cold gas is the smaller and the stiffer.
    """

    static_pressure: float
    gas_mass: float
    volume: float
    cold_volume: float
    hot_volume: float
    rate: float
    cold_rate: float
    hot_rate: float
    bump_pressure: float
    droop_pressure: float


def gas_spring(
    force: float,
    area: float,
    rate: float,
    bump: float,
    droop: float,
    charge_temperature: float,
    cold: float,
    hot: float,
) -> GasSpring:
    """The nitrogen that gives a chamber of `area` m² under `force` N the fast `rate` N/m: V = B·A²/rate at rest.

    B is the modulus without heat, so that V = n·p·A²/rate with the real gas's own n. bump, droop: travel of the piston
    from rest, m; `rate` holds at `charge_temperature`, K. A load whose pressure lies outside the table is told with the
    ideal gas's figures and pressures over the travel that are NaN. Source: dF/dx = A²·dp/dV; [span2000].
    """
    gas, absolute = nitrogen(), force / area + ATMOSPHERE
    states = [(isentropic_modulus(gas, absolute, t), nitrogen_density(gas, absolute, t)) for t in
              (charge_temperature, cold, hot)]  # fmt: skip
    if not all(math.isfinite(modulus) and math.isfinite(density) for modulus, density in states):
        states = [(IDEAL_EXPONENT * absolute, absolute / (GAS_CONSTANT * t)) for t in (charge_temperature, cold, hot)]
    volume = states[0][0] * area * area / rate
    mass = states[0][1] * volume
    cold_volume, hot_volume = (mass / density for _, density in states[1:])
    cold_rate, hot_rate = (
        modulus * area * area / v for (modulus, _), v in zip(states[1:], (cold_volume, hot_volume), strict=True)
    )
    return GasSpring(
        absolute - ATMOSPHERE,
        mass,
        volume,
        cold_volume,
        hot_volume,
        rate,
        cold_rate,
        hot_rate,
        squeezed_pressure(gas, absolute, cold, 1.0 - area * bump / cold_volume) - ATMOSPHERE,
        squeezed_pressure(gas, absolute, hot, 1.0 + area * droop / hot_volume) - ATMOSPHERE,
    )


def precharges(gas: Nitrogen, gas_mass: float, shells: Floats, temperature: float) -> Floats:
    """Pressure (Pa absolute) of `gas_mass` kg alone in each of the `shells` (m³) at `temperature` K.

    Outside the table the gas counts as ideal: below it that holds to 0.1 %, above it the figure only tells that no
    shell so small will do. Source: [span2000], by repeated substitution of the compressibility.
    """
    found = np.empty(shells.size)
    _fill_precharges(gas, gas_mass, shells, temperature, found)
    return found


@njit(**KERNEL)
def _fill_precharges(gas: Nitrogen, gas_mass: float, shells: Floats, temperature: float, found: Floats) -> None:
    lowest = math.exp(gas.log_pressures[0])
    for i in range(shells.size):
        ideal = gas_mass / shells[i] * GAS_CONSTANT * temperature
        pressure = ideal
        for _ in range(60):
            if not pressure > lowest:
                break
            before = pressure
            pressure = ideal * pressure / (nitrogen_density(gas, pressure, temperature) * GAS_CONSTANT * temperature)
            if not abs(pressure - before) > 1e-13 * before:
                break
        found[i] = pressure if pressure > 0.0 else ideal


@njit(**KERNEL)
def orifice_resistance(bore: float, flow_rms: float, density: float, dynamic_viscosity: float) -> float:
    """Pressure over flow (Pa·s/m³) of a round sharp-edged orifice of `bore` m, linearised for a Gaussian flow.

    The drop a·(Q·|Q| + Q·Qt) becomes a·(√(8/π)·σ + Qt)·Q, σ the rms flow (m³/s): the straight line with the least mean
    square error, which takes up the same mean power. Source: derived; orifice as in `orifice.orifice_drop`.
    """
    area = 0.25 * math.pi * bore * bore
    viscous = transition_flow(area, bore, DISCHARGE, ROUND_LAMINAR, density, dynamic_viscosity)
    return density / (2.0 * (DISCHARGE * area) ** 2) * (GAUSSIAN_DRAG * flow_rms + viscous)


@njit(**KERNEL)
def orifice_bore(resistance: float, flow_rms: float, density: float, dynamic_viscosity: float) -> float:
    """Bore (m) of the orifice whose `orifice_resistance` is `resistance`, to 1e-12; all arguments above zero."""
    low, high = 1e-6, 1.0
    for _ in range(80):
        middle = math.sqrt(low * high)
        if orifice_resistance(middle, flow_rms, density, dynamic_viscosity) > resistance:
            low = middle
        else:
            high = middle
        if high < low * (1.0 + 1e-12):
            break
    return high


@njit(**KERNEL)
def damping_orifice_drop(bore: float, flow: float, density: float, dynamic_viscosity: float) -> float:
    """Drop (Pa) over the round orifice at `flow` m³/s, not linearised."""
    area = 0.25 * math.pi * bore * bore
    return orifice_drop(flow, area, bore, DISCHARGE, ROUND_LAMINAR, density, dynamic_viscosity)


@njit(**KERNEL)
def in_series(first: float, second: float) -> float:
    """Stiffness of two springs one behind the other, N/m."""
    return first * second / (first + second)
