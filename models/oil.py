"""A hydraulic medium at a pressure and a temperature: viscosity, density, stiffness, heat, and the air it carries.

Knows: one liquid as a record of plain SI numbers, from the tables or from two viscosity points of the user's own. Does
not know: which media exist, what they suit, or what flows where. Pressures are gauge unless a name says absolute;
temperatures are kelvin. Outside a medium's validity every function of temperature raises OutOfRange.
"""

from __future__ import annotations

import dataclasses
import functools
import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

import fluids_data
from models.compiled import ALLOCATING
from models.quantity import ATMOSPHERE, UNITS, ZERO_CELSIUS, OutOfRange

Points = tuple[tuple[float, float], ...]

TABULATED_AT = ZERO_CELSIUS + 20.0
"""Temperature at which fluids_data gives heat capacity, conductivity and bulk modulus of a medium."""
SECANT_TO = 200e5
"""Pressure (Pa) to which its secant modulus reaches."""


@dataclass(frozen=True)
class Medium:
    """A liquid as plain numbers.

    Each of the `_points` is ((kelvin, value), …) in order of rising temperature, two or more: `viscosity_points` m²/s
    at atmospheric pressure, joined by ASTM D341; `density_points` kg/m³, `heat_capacity_points` J/(kg·K) and
    `conductivity_points` W/(m·K), joined by straight lines. The two bulk moduli (Pa) are tangents at atmospheric
    pressure and `bulk_temperature`; both gain `bulk_pressure_slope` per pascal, and the isothermal one changes by
    `bulk_temperature_slope` Pa/K there, the other in proportion. `pressure_viscosity` 1/Pa is Barus' coefficient,
    None where nobody knows it. `air_solubility` is
    Bunsen's coefficient, volumes of air at atmospheric pressure per volume of liquid and atmosphere. Valid from
    `lowest_temperature` to `highest_temperature`.
    """

    id: str
    label: str
    viscosity_points: Points
    density_points: Points
    heat_capacity_points: Points
    conductivity_points: Points
    bulk_modulus_isothermal: float
    bulk_modulus_adiabatic: float
    bulk_temperature: float
    bulk_pressure_slope: float
    bulk_temperature_slope: float
    pressure_viscosity: float | None
    air_solubility: float
    lowest_temperature: float
    highest_temperature: float
    source: str


@dataclass(frozen=True)
class OilState:
    """A medium at one pressure and temperature; SI."""

    density: float
    kinematic_viscosity: float
    dynamic_viscosity: float
    bulk_modulus_tangent_adiabatic: float
    heat_capacity: float
    conductivity: float


def check_temperature(medium: Medium, temperature: float) -> None:
    """Raise OutOfRange when `temperature` (K) is outside the medium's validity."""
    if not medium.lowest_temperature <= temperature <= medium.highest_temperature:
        low, high = medium.lowest_temperature - ZERO_CELSIUS, medium.highest_temperature - ZERO_CELSIUS
        raise OutOfRange(f"temperature of {medium.label}", temperature - ZERO_CELSIUS, low, high, "°C", medium.source)


def is_outside_data_span(medium: Medium, temperature: float) -> bool:
    """Whether `temperature` (K) lies beyond the medium's viscosity points, where D341 is carried on, not measured."""
    return not medium.viscosity_points[0][0] <= temperature <= medium.viscosity_points[-1][0]


def _segment(points: Points, temperature: float) -> tuple[tuple[float, float], tuple[float, float]]:
    for low, high in itertools.pairwise(points[:-1]):
        if temperature <= high[0]:
            return low, high
    return points[-2], points[-1]


def _linear(points: Points, temperature: float) -> float:
    (t1, y1), (t2, y2) = _segment(points, temperature)
    return y1 + (y2 - y1) * (temperature - t1) / (t2 - t1)


def _walther(viscosity: float) -> float:
    return math.log10(math.log10(viscosity * 1e6 + 0.7))


def kinematic_viscosity(medium: Medium, temperature: float) -> float:
    """Kinematic viscosity (m²/s) at `temperature` (K) and atmospheric pressure.

    log10 log10(ν + 0.7) falls in a straight line with log10 T, ν in mm²/s, through the two points that enclose the
    temperature, or the outer two. Below 2 mm²/s the standard adds terms to ν + 0.7; they are below 1 % at 1 mm²/s
    between near points and are left out. Raises OutOfRange outside validity.
    Source: [astm_d341], equation (1) without the low-viscosity terms.
    """
    check_temperature(medium, temperature)
    (t1, v1), (t2, v2) = _segment(medium.viscosity_points, temperature)
    w1, w2 = _walther(v1), _walther(v2)
    walther = w1 + (w2 - w1) * math.log(temperature / t1) / math.log(t2 / t1)
    return float((10.0 ** (10.0**walther) - 0.7) * 1e-6)


def dynamic_viscosity(medium: Medium, pressure: float, temperature: float) -> float:
    """Dynamic viscosity (Pa·s) at `pressure` (Pa) and `temperature` (K), rising as exp(α·p) where α is known.

    Source: Barus' law (1893), recalled; the coefficient with the medium. Raises OutOfRange outside validity.
    """
    atmospheric = kinematic_viscosity(medium, temperature) * _linear(medium.density_points, temperature)
    return atmospheric * math.exp((medium.pressure_viscosity or 0.0) * pressure)


def density(medium: Medium, pressure: float, temperature: float) -> float:
    """Density (kg/m³) at `pressure` (Pa) and `temperature` (K). Raises OutOfRange outside validity.

    Thermal expansion along the density points; compression by the isothermal modulus that rises with pressure.
    Source: Murnaghan's equation, the integral of K = K0 + K'·p; derived.
    """
    check_temperature(medium, temperature)
    zero, slope = medium.bulk_modulus_isothermal * _warmth(medium, temperature), medium.bulk_pressure_slope
    return _linear(medium.density_points, temperature) / (1.0 - _compressed_by(zero, slope, pressure))


def heat_capacity(medium: Medium, temperature: float) -> float:
    """Specific heat capacity (J/(kg·K)) at `temperature` (K). Raises OutOfRange outside validity."""
    check_temperature(medium, temperature)
    return _linear(medium.heat_capacity_points, temperature)


def conductivity(medium: Medium, temperature: float) -> float:
    """Thermal conductivity (W/(m·K)) at `temperature` (K). Raises OutOfRange outside validity."""
    check_temperature(medium, temperature)
    return _linear(medium.conductivity_points, temperature)


def cubical_expansion(medium: Medium, temperature: float) -> float:
    """Coefficient of cubical expansion (1/K) at `temperature` (K): −(dρ/dT)/ρ. Raises OutOfRange outside validity."""
    check_temperature(medium, temperature)
    (t1, d1), (t2, d2) = _segment(medium.density_points, temperature)
    return (d1 - d2) / (t2 - t1) / _linear(medium.density_points, temperature)


def _warmth(medium: Medium, temperature: float) -> float:
    # exponential in temperature with the tabulated slope at the tabulated temperature: no modulus turns negative
    rate = medium.bulk_temperature_slope / medium.bulk_modulus_isothermal
    return math.exp(rate * (temperature - medium.bulk_temperature))


def _compressed_by(modulus: float, slope: float, pressure: float) -> float:
    # relative loss of volume, 1 − V/V0
    if slope == 0.0:
        return -math.expm1(-pressure / modulus)
    return -math.expm1(-math.log1p(slope * pressure / modulus) / slope)


def secant_from_tangent(tangent: float, slope: float, pressure: float) -> float:
    """Secant modulus (Pa) from zero to `pressure` (Pa): p/(1 − V/V0), where the tangent is `tangent` + `slope`·p.

    Source: definition of the secant modulus with Murnaghan's volume; derived.
    """
    if pressure == 0.0:
        return tangent
    return pressure / _compressed_by(tangent, slope, pressure)


def tangent_from_secant(secant: float, slope: float, pressure: float) -> float:
    """Tangent modulus (Pa) at zero pressure whose secant to `pressure` (Pa) is `secant`: inverts `secant_from_tangent`.

    Source: derived; fixed-point steps on secant ≈ tangent + (slope + 1)/2·p, which converge for p well below secant.
    """
    tangent = secant
    for _ in range(60):
        tangent += secant - secant_from_tangent(tangent, slope, pressure)
    return tangent


def bulk_modulus(
    medium: Medium, pressure: float, temperature: float, secant: bool = False, adiabatic: bool = True
) -> float:
    """Bulk modulus (Pa) of the liquid without free air at `pressure` (Pa) and `temperature` (K).

    Tangent for small changes about the pressure, `secant` for the whole way from atmospheric pressure; `adiabatic` for
    anything faster than seconds. Raises OutOfRange outside validity.
    Source: the medium's data at atmospheric pressure, linear in pressure, exponential in temperature.
    """
    check_temperature(medium, temperature)
    slope = medium.bulk_pressure_slope
    zero = medium.bulk_modulus_adiabatic if adiabatic else medium.bulk_modulus_isothermal
    zero *= _warmth(medium, temperature)
    return secant_from_tangent(zero, slope, pressure) if secant else zero + slope * pressure


def state(medium: Medium, pressure: float, temperature: float) -> OilState:
    """The medium at `pressure` (Pa) and `temperature` (K). Raises OutOfRange outside validity."""
    dynamic = dynamic_viscosity(medium, pressure, temperature)
    mass = density(medium, pressure, temperature)
    return OilState(
        density=mass,
        kinematic_viscosity=dynamic / mass,
        dynamic_viscosity=dynamic,
        bulk_modulus_tangent_adiabatic=bulk_modulus(medium, pressure, temperature),
        heat_capacity=heat_capacity(medium, temperature),
        conductivity=conductivity(medium, temperature),
    )


@njit(**ALLOCATING)
def free_air_fraction(
    air_fraction: float | NDArray[np.float64],
    pressure_absolute: float | NDArray[np.float64],
    exponent: float,
    air_solubility: float,
    dissolved_share: float,
) -> float | NDArray[np.float64]:
    """Share of the mixture's volume that is gas at `pressure_absolute` (Pa absolute); numbers or arrays.

    `air_fraction` is the free air's share at atmospheric pressure. Above that pressure the liquid can take up
    `air_solubility` volumes per atmosphere more (Henry); `dissolved_share` is how much of it has gone in: 0 for what
    moves faster than air dissolves (seconds to minutes), 1 for oil that has stood. The rest shrinks with
    `exponent`: 1 isothermal, which small bubbles are, to 1.4 adiabatic.
    Source: Henry's and the gas law; derived. Bubbles bursting out of solution below atmospheric pressure not covered.
    """
    atmospheres = pressure_absolute / ATMOSPHERE
    taken_up = dissolved_share * air_solubility * np.maximum(atmospheres - 1.0, 0.0) * (1.0 - air_fraction)
    gas = np.maximum(air_fraction - taken_up, 0.0) * atmospheres ** (-1.0 / exponent)
    return gas / (gas + 1.0 - air_fraction)


@njit(**ALLOCATING)
def effective_bulk_modulus(
    liquid_modulus: float | NDArray[np.float64],
    air_fraction: float | NDArray[np.float64],
    pressure_absolute: float | NDArray[np.float64],
    exponent: float,
    air_solubility: float,
    dissolved_share: float,
) -> float | NDArray[np.float64]:
    """Tangent modulus (Pa) of a liquid with free air: 1/Be = 1/Bl + (Vg/Vt)/(n·p); numbers or arrays.

    `liquid_modulus` Pa; the other arguments as in `free_air_fraction`. Stiffens with pressure, softens with air.
    Source: [merritt1967], effective bulk modulus; the gas volume by `free_air_fraction`.
    """
    gas = free_air_fraction(air_fraction, pressure_absolute, exponent, air_solubility, dissolved_share)
    return 1.0 / (1.0 / liquid_modulus + gas / (exponent * pressure_absolute))


def compression(volume: float, pressure_change: float, secant_modulus: float) -> float:
    """Change of `volume` (m³, negative when squeezed) under `pressure_change` (Pa): −V·Δp/B.

    Source: [esposito], example 2.11.
    """
    return -volume * pressure_change / secant_modulus


def trapped_pressure_rise(modulus: float, expansion: float, temperature_rise: float) -> float:
    """Pressure rise (Pa) of a liquid locked in a rigid space and warmed by `temperature_rise` (K): B·α·ΔT.

    `modulus` Pa isothermal, container included, `expansion` 1/K, less the container's own where that counts.
    Source: common practice; derived.
    """
    return modulus * expansion * temperature_rise


def medium_from_points(id: str, label: str, viscosity_points: Points, base: Medium) -> Medium:
    """The user's own oil: its viscosity points ((K, m²/s), …, rising temperature) on everything else of `base`.

    Raises ValueError unless there are two points or more, temperatures rise and viscosities fall.
    """
    pairs = itertools.pairwise(viscosity_points)
    ordered = all(cold[0] < warm[0] and cold[1] > warm[1] for cold, warm in pairs)
    if len(viscosity_points) < 2 or not ordered or viscosity_points[-1][1] <= 0.31e-6:
        raise ValueError("an oil needs two viscosities above 0.31 mm²/s that fall as the temperature rises")
    return dataclasses.replace(base, id=id, label=label, viscosity_points=viscosity_points)


@functools.cache
def medium_from_data(id: str) -> Medium:
    """A medium of fluids_data by its id. Raises KeyError for an id the data do not hold.

    Heat capacity and conductivity are tabulated at 20 °C with a slope, density at its reference temperature with a
    cubical expansion; the isothermal modulus as a secant from 0 to 200 bar at 20 °C, the adiabatic one as a tangent at
    atmospheric pressure. Source: media.toml, where each number carries its own.
    """
    data = fluids_data.load_media()[id]
    number = data.number
    lowest, highest = number("lowest_c") + ZERO_CELSIUS, number("highest_c") + ZERO_CELSIUS
    if data.table is not None:
        viscosity, dense, heat, conducts = _tabulated(data.table)
    else:
        viscosity = tuple(
            (p.temperature_c + ZERO_CELSIUS, UNITS["mm2_s"].to_si(p.viscosity_mm2_s)) for p in data.viscosity
        )
        reference = number("density_kg_m3")
        expands = -reference * number("expansion_per_k")
        dense = _straight(reference, expands, number("reference_temperature_c") + ZERO_CELSIUS, lowest, highest)
        heat = _straight(
            number("heat_capacity_j_kg_k"), number("heat_capacity_slope_j_kg_k2"), TABULATED_AT, lowest, highest
        )
        conducts = _straight(
            number("conductivity_w_m_k"), number("conductivity_slope_w_m_k2"), TABULATED_AT, lowest, highest
        )
    mega, slope = UNITS["mpa"].factor, number("bulk_pressure_slope")
    barus = "pressure_viscosity_per_pa"
    return Medium(
        id=id,
        label=data.label,
        viscosity_points=viscosity,
        density_points=dense,
        heat_capacity_points=heat,
        conductivity_points=conducts,
        bulk_modulus_isothermal=tangent_from_secant(number("bulk_isothermal_secant_mpa") * mega, slope, SECANT_TO),
        bulk_modulus_adiabatic=number("bulk_adiabatic_tangent_mpa") * mega,
        bulk_temperature=TABULATED_AT,
        bulk_pressure_slope=slope,
        bulk_temperature_slope=number("bulk_temperature_slope_mpa_k") * mega,
        pressure_viscosity=number(barus) if barus in data.properties else None,
        air_solubility=number("air_solubility"),
        lowest_temperature=lowest,
        highest_temperature=highest,
        source=data.properties["lowest_c"].source,
    )


def _straight(value: float, slope: float, at: float, lowest: float, highest: float) -> Points:
    return (lowest, value + slope * (lowest - at)), (highest, value + slope * (highest - at))


def _tabulated(name: str) -> tuple[Points, Points, Points, Points]:
    table = fluids_data.load_table(name)
    kelvin = [celsius + ZERO_CELSIUS for celsius in table.numbers("temperature_c")]

    def points(values: Iterable[float]) -> Points:
        return tuple(zip(kelvin, values, strict=True))

    dense = table.numbers("density_kg_m3")
    dynamic = [UNITS["mpa_s"].to_si(value) for value in table.numbers("viscosity_mpa_s")]
    kinematic = points(mu / rho for mu, rho in zip(dynamic, dense, strict=True))
    heat, conducts = table.numbers("heat_capacity_j_kg_k"), table.numbers("conductivity_w_m_k")
    return kinematic, points(dense), points(heat), points(conducts)
