"""A gas-loaded accumulator with real nitrogen: what it holds, delivers and stores.

Knows: one gas volume over oil, charged at one temperature and used at another, emptied fast (without heat) or slowly
(at constant temperature). Does not know: its shell, its type's limits, or the circuit. Nitrogen comes from the table
in fluids_data, interpolated between its points; the ideal gas stands beside it for comparison only.

Pressures are gauge unless a name says absolute; temperatures are kelvin. The compiled functions return NaN outside the
table; `check_range` raises OutOfRange for the callers that want to know.
"""

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

import fluids_data
from models.compiled import INNER, KERNEL
from models.quantity import ATMOSPHERE, UNITS, ZERO_CELSIUS, OutOfRange

GAS_CONSTANT = 296.803
"""Specific gas constant of nitrogen, J/(kg·K)."""
IDEAL_EXPONENT = 1.4
_CP = 3.5 * GAS_CONSTANT
_CV = 2.5 * GAS_CONSTANT


class Nitrogen(NamedTuple):
    """The table as arrays: `temperatures` (K) and `log_pressures` (ln of Pa absolute) span it; on [T, p] stand the
    compressibility Z, and entropy and internal energy less those of an ideal gas, which vary little between points."""

    temperatures: NDArray[np.float64]
    log_pressures: NDArray[np.float64]
    compressibility: NDArray[np.float64]
    entropy: NDArray[np.float64]
    energy: NDArray[np.float64]


@cache
def nitrogen() -> Nitrogen:
    """The nitrogen table. Source: [span2000], in fluids_data."""
    table = fluids_data.load_table("nitrogen")
    kelvin = np.array(table.numbers("temperature_c")) + ZERO_CELSIUS
    pascal = np.array(table.numbers("pressure_bar")) * UNITS["bar"].factor
    temperatures, pressures = np.unique(kelvin), np.unique(pascal)
    shape = (len(temperatures), len(pressures))

    def grid(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.ascontiguousarray(values.reshape(shape))

    density = np.array(table.numbers("density_kg_m3"))
    entropy = np.array(table.numbers("entropy_j_kg_k"))
    energy = np.array(table.numbers("internal_energy_j_kg"))
    return Nitrogen(
        temperatures,
        np.log(pressures),
        grid(pascal / (density * GAS_CONSTANT * kelvin)),
        grid(entropy - _CP * np.log(kelvin) + GAS_CONSTANT * np.log(pascal)),
        grid(energy - _CV * kelvin),
    )


@njit(**INNER)
def _interval(knots: NDArray[np.float64], value: float) -> int:
    """Number of the interval between rising knots that holds `value`, by halving: numpy's own takes long to compile."""
    low, high = 0, knots.size - 1
    while high - low > 1:
        middle = (low + high) // 2
        if knots[middle] < value:
            low = middle
        else:
            high = middle
    return low


@njit(**KERNEL)
def _between(gas: Nitrogen, values: NDArray[np.float64], log_pressure: float, temperature: float) -> float:
    t, p = gas.temperatures, gas.log_pressures
    if not (t[0] <= temperature <= t[-1] and p[0] <= log_pressure <= p[-1]):
        return math.nan
    i, j = _interval(t, temperature), _interval(p, log_pressure)
    a = (temperature - t[i]) / (t[i + 1] - t[i])
    b = (log_pressure - p[j]) / (p[j + 1] - p[j])
    low = (1.0 - b) * values[i, j] + b * values[i, j + 1]
    high = (1.0 - b) * values[i + 1, j] + b * values[i + 1, j + 1]
    return (1.0 - a) * low + a * high


@njit(**KERNEL)
def nitrogen_density(gas: Nitrogen, pressure_absolute: float, temperature: float) -> float:
    """Density (kg/m³) at `pressure_absolute` (Pa) and `temperature` (K); NaN outside the table. Source: [span2000]."""
    z = _between(gas, gas.compressibility, math.log(pressure_absolute), temperature)
    return pressure_absolute / (z * GAS_CONSTANT * temperature)


@njit(**KERNEL)
def nitrogen_entropy(gas: Nitrogen, pressure_absolute: float, temperature: float) -> float:
    """Specific entropy (J/(kg·K)), CoolProp's reference; NaN outside the table. Source: [span2000]."""
    log_pressure = math.log(pressure_absolute)
    return (
        _between(gas, gas.entropy, log_pressure, temperature)
        + _CP * math.log(temperature)
        - GAS_CONSTANT * log_pressure
    )


@njit(**KERNEL)
def nitrogen_energy(gas: Nitrogen, pressure_absolute: float, temperature: float) -> float:
    """Specific internal energy (J/kg), CoolProp's reference; NaN outside the table. Source: [span2000]."""
    return _between(gas, gas.energy, math.log(pressure_absolute), temperature) + _CV * temperature


@njit(**KERNEL)
def isentropic_temperature(
    gas: Nitrogen, pressure_absolute: float, temperature: float, end_pressure_absolute: float
) -> float:
    """Temperature (K) after a change of pressure without heat; NaN when it leaves the table. Source: [span2000]."""
    target = nitrogen_entropy(gas, pressure_absolute, temperature)
    low, high = gas.temperatures[0], gas.temperatures[-1]
    lowest = nitrogen_entropy(gas, end_pressure_absolute, low)
    highest = nitrogen_entropy(gas, end_pressure_absolute, high)
    if not lowest <= target <= highest:
        return math.nan
    for _ in range(60):
        middle = 0.5 * (low + high)
        if nitrogen_entropy(gas, end_pressure_absolute, middle) < target:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def isentrope(
    gas: Nitrogen, pressure_absolute: float, temperature: float, ends: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(temperatures K, densities kg/m³) after changes without heat to each of `ends`, Pa absolute; NaN off the table.

    Source: [span2000].
    """
    found = np.empty((2, ends.size))
    _isentrope(gas, pressure_absolute, temperature, ends, found)
    return found[0], found[1]


@njit(**KERNEL)
def _isentrope(
    gas: Nitrogen,
    pressure_absolute: float,
    temperature: float,
    ends: NDArray[np.float64],
    found: NDArray[np.float64],
) -> None:
    for i in range(ends.size):
        found[0, i] = isentropic_temperature(gas, pressure_absolute, temperature, ends[i])
        found[1, i] = nitrogen_density(gas, ends[i], found[0, i])


@njit(**KERNEL)
def lowest_expansion_pressure(gas: Nitrogen, pressure_absolute: float, temperature: float) -> float:
    """Pressure (Pa absolute) down to which gas can expand without heat before it leaves the table's cold end."""
    target = nitrogen_entropy(gas, pressure_absolute, temperature)
    low, high = gas.log_pressures[0], gas.log_pressures[-1]
    for _ in range(60):
        middle = 0.5 * (low + high)
        if nitrogen_entropy(gas, math.exp(middle), gas.temperatures[0]) > target:
            low = middle
        else:
            high = middle
    return math.exp(high)


@njit(**INNER)
def expanded_density(
    gas: Nitrogen, pressure_absolute: float, temperature: float, end_pressure_absolute: float, fast: bool
) -> float:
    """Density (kg/m³) after a change of pressure, `fast` without heat or slow at constant temperature."""
    end = temperature
    if fast:
        end = isentropic_temperature(gas, pressure_absolute, temperature, end_pressure_absolute)
    return nitrogen_density(gas, end_pressure_absolute, end)


@njit(**KERNEL)
def delivery_ratio(gas: Nitrogen, high: float, low: float, temperature: float, fast: bool) -> float:
    """Oil delivered from `high` to `low` (Pa) per gas volume at `high`, the gas at `temperature` (K) to begin with.

    Source: mass balance with [span2000].
    """
    start = nitrogen_density(gas, high + ATMOSPHERE, temperature)
    return start / expanded_density(gas, high + ATMOSPHERE, temperature, low + ATMOSPHERE, fast) - 1.0


@njit(**KERNEL)
def gas_mass(gas: Nitrogen, precharge: float, charge_temperature: float, volume: float) -> float:
    """Mass (kg) of nitrogen that fills `volume` (m³) at `precharge` (Pa) and `charge_temperature` (K)."""
    return nitrogen_density(gas, precharge + ATMOSPHERE, charge_temperature) * volume


@njit(**KERNEL)
def pressure_at(gas: Nitrogen, density: float, temperature: float) -> float:
    """Pressure (Pa gauge) of nitrogen of `density` (kg/m³) at `temperature` (K): a closed gas side warmed or cooled.

    NaN outside the table. Source: [span2000], inverted.
    """
    low, high = gas.log_pressures[0], gas.log_pressures[-1]
    lowest = nitrogen_density(gas, math.exp(low), temperature)
    highest = nitrogen_density(gas, math.exp(high), temperature)
    if not lowest <= density <= highest:
        return math.nan
    for _ in range(60):
        middle = 0.5 * (low + high)
        if nitrogen_density(gas, math.exp(middle), temperature) < density:
            low = middle
        else:
            high = middle
    return math.exp(0.5 * (low + high)) - ATMOSPHERE


@njit(**KERNEL)
def delivery_per_volume(
    gas: Nitrogen,
    precharge: float,
    charge_temperature: float,
    high: float,
    low: float,
    temperature: float,
    fast: bool,
) -> float:
    """Oil an accumulator delivers from `high` to `low` (Pa), per gas volume of the empty accumulator.

    Charged to `precharge` (Pa) at `charge_temperature` (K); the gas has settled at `temperature` (K) at the high
    pressure. An accumulator that runs empty on the way gives only what it held; 0 when `high` does not fill it.
    Source: mass balance with [span2000].
    """
    filled = nitrogen_density(gas, precharge + ATMOSPHERE, charge_temperature)
    full = filled / nitrogen_density(gas, high + ATMOSPHERE, temperature)
    spent = filled / expanded_density(gas, high + ATMOSPHERE, temperature, low + ATMOSPHERE, fast)
    return max(min(spent, 1.0) - full, 0.0)


def check_range(pressure: float, temperature: float) -> None:
    """Raise OutOfRange when nitrogen at `pressure` (Pa gauge) and `temperature` (K) lies outside the table."""
    gas = nitrogen()
    bar = UNITS["bar"].factor
    low, high = math.exp(gas.log_pressures[0]), math.exp(gas.log_pressures[-1])
    if not low <= pressure + ATMOSPHERE <= high:
        given = (pressure + ATMOSPHERE) / bar
        raise OutOfRange("absolute pressure of nitrogen", given, low / bar, high / bar, "bar", "span2000")
    cold, hot = float(gas.temperatures[0]) - ZERO_CELSIUS, float(gas.temperatures[-1]) - ZERO_CELSIUS
    if not cold <= temperature - ZERO_CELSIUS <= hot:
        raise OutOfRange("temperature of nitrogen", temperature - ZERO_CELSIUS, cold, hot, "°C", "span2000")


def check_expansion(pressure: float, temperature: float, end_pressure: float) -> None:
    """Raise OutOfRange when nitrogen expanding fast to `end_pressure` (Pa gauge) gets too cold for the table."""
    bar = UNITS["bar"].factor
    lowest = lowest_expansion_pressure(nitrogen(), pressure + ATMOSPHERE, temperature) - ATMOSPHERE
    if end_pressure < lowest:
        name = "pressure of nitrogen after a fast expansion"
        raise OutOfRange(name, end_pressure / bar, lowest / bar, None, "bar", "span2000")


def required_gas_volume(
    volume: float,
    high: float,
    low: float,
    precharge_ratio: float,
    charge_temperature: float,
    temperature: float,
    fast: bool = True,
) -> float:
    """Gas volume (m³) of an empty accumulator that delivers `volume` (m³) from `high` to `low` (Pa).

    Precharged to `precharge_ratio`·`low` at `charge_temperature` (K), used at `temperature` (K). Infinite when it
    delivers nothing. Raises OutOfRange when the nitrogen leaves its table. Source: `delivery_per_volume`.
    """
    precharge = precharge_ratio * low
    for pressure, warmth in ((precharge, charge_temperature), (high, temperature), (low, temperature)):
        check_range(pressure, warmth)
    if fast:
        check_expansion(high, temperature, low)
    share = delivery_per_volume(nitrogen(), precharge, charge_temperature, high, low, temperature, fast)
    return volume / share if share > 0.0 else math.inf


def ideal_delivery_ratio(high: float, low: float, exponent: float) -> float:
    """Oil delivered from `high` to `low` (Pa) per gas volume at `high` by an ideal gas of polytropic `exponent`."""
    return float(((high + ATMOSPHERE) / (low + ATMOSPHERE)) ** (1.0 / exponent)) - 1.0


def ideal_required_gas_volume(volume: float, high: float, low: float, precharge: float, exponent: float) -> float:
    """Gas volume (m³) by the ideal gas, every step of the same `exponent` (1 isothermal): for comparison.

    Source: [sullivan], example 12.4.
    """
    power = 1.0 / exponent
    charge = precharge + ATMOSPHERE
    share = (charge / (low + ATMOSPHERE)) ** power - (charge / (high + ATMOSPHERE)) ** power
    return float(volume / share)


def brode_energy(pressure: float, volume: float) -> float:
    """Energy (J) set free by a bursting gas volume at `pressure` (Pa gauge): Δp·V/(γ − 1), the most cautious figure.

    Source: Brode (1959), recalled.
    """
    return pressure * volume / (IDEAL_EXPONENT - 1.0)


def ideal_isentropic_energy(pressure: float, volume: float) -> float:
    """Work (J) an ideal gas at `pressure` (Pa gauge) gives expanding without heat to the atmosphere.

    Source: isentropic work of an ideal gas with γ = 1.4.
    """
    absolute = pressure + ATMOSPHERE
    left = (ATMOSPHERE / absolute) ** ((IDEAL_EXPONENT - 1.0) / IDEAL_EXPONENT)
    return float(absolute * volume / (IDEAL_EXPONENT - 1.0) * (1.0 - left))


@cache
def _vented() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    table = fluids_data.load_table("nitrogen_vented")
    return np.array(table.numbers("entropy_j_kg_k")), np.array(table.numbers("internal_energy_j_kg"))


def stored_energy(pressure: float, temperature: float, volume: float) -> float:
    """Work (J) nitrogen in `volume` (m³) at `pressure` (Pa) and `temperature` (K) gives expanding to the atmosphere.

    Without heat, real gas, partly liquid at the end of a long expansion. Raises OutOfRange when the gas lies outside
    its table. Source: first law with [span2000].
    """
    check_range(pressure, temperature)
    gas, absolute = nitrogen(), pressure + ATMOSPHERE
    entropies, energies = _vented()
    vented = float(np.interp(nitrogen_entropy(gas, absolute, temperature), entropies, energies))
    mass = nitrogen_density(gas, absolute, temperature) * volume
    return float(mass * (nitrogen_energy(gas, absolute, temperature) - vented))


def delivered_energy(pressure: float, temperature: float, end_pressure: float, volume: float) -> float:
    """Work (J) nitrogen filling `volume` (m³) at `pressure` (Pa) and `temperature` (K) gives up to `end_pressure`.

    Without heat, real gas. Raises OutOfRange when either state lies outside the table.
    Source: first law with [span2000].
    """
    gas = nitrogen()
    check_range(pressure, temperature)
    check_range(end_pressure, temperature)
    check_expansion(pressure, temperature, end_pressure)
    start, end = pressure + ATMOSPHERE, end_pressure + ATMOSPHERE
    colder = isentropic_temperature(gas, start, temperature, end)
    mass = nitrogen_density(gas, start, temperature) * volume
    return float(mass * (nitrogen_energy(gas, start, temperature) - nitrogen_energy(gas, end, colder)))
