"""A copper winding: its wire, resistance, motor constant and temperature, whatever machine it sits in.

Knows round wire by gauge, how many turns fill a window, what force and field a winding's copper gives, and how its
resistance feeds its own heating. Does not know where the field comes from nor what carries the heat away. Compiled
functions take scalars, or arrays where they hold no branch.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import KERNEL, WITHIN
from models.quantity import ZERO_CELSIUS

COPPER_RESISTIVITY = 1e-6 / 58.0
"""Resistivity of annealed copper at 20 °C, Ω·m. Source: [iec60028]."""

COPPER_COEFFICIENT = 0.00393
"""Growth of its resistance, 1/K, referred to 20 °C. Source: [iec60028]."""

COPPER_DENSITY = 8960.0
"""kg/m³. Source: [memory], handbook value."""

COPPER_HEAT_CAPACITY = 385.0
"""J/(kg·K). Source: [memory], handbook value."""

REFERENCE = ZERO_CELSIUS + 20.0
"""Temperature, K, to which resistances and motor constants without another word refer."""


@njit(**KERNEL)
def wire_diameter(gauge: float) -> float:
    """Bare diameter, m, of round wire of American gauge `gauge`; −3 stands for 0000.

    Source: [astm_b258], d = 0.127 mm·92^((36 − n)/39).
    """
    return 0.127e-3 * 92.0 ** ((36.0 - gauge) / 39.0)


@njit(**KERNEL)
def resistance_factor(temperature: float) -> float:
    """Resistance at `temperature` (K) over resistance at 20 °C. Source: [iec60028]."""
    return 1.0 + COPPER_COEFFICIENT * (temperature - REFERENCE)


@njit(**KERNEL)
def wire_resistance(length: float, diameter: float, temperature: float) -> float:
    """Resistance, Ω, of `length` m of round copper wire of bare `diameter` m at `temperature` K."""
    return COPPER_RESISTIVITY * length / (0.25 * math.pi * diameter * diameter) * resistance_factor(temperature)


@njit(**KERNEL)
def wire_mass(length: float, diameter: float) -> float:
    """Mass of copper, kg, in `length` m of wire of bare `diameter` m, insulation not counted."""
    return COPPER_DENSITY * length * 0.25 * math.pi * diameter * diameter


def insulated_diameter(diameter: float, growth: float, exponent: float) -> float:
    """Diameter over the enamel, m. growth: m it adds to a 1 mm wire; it falls as (d/1 mm)^exponent.

    Source: [estimate], recalled single-build enamel fitted; valid 0.05 to 5 mm.
    """
    return diameter + growth * (diameter / 1e-3) ** exponent


@njit(**KERNEL)
def motor_constant(field: float, copper_volume: float) -> float:
    """Force per root watt, N/√W at 20 °C, of `copper_volume` m³ that sees `field` T across its wires.

    It does not depend on the wire's gauge: K = B·√(V/ρ), from F = B·l·I and P = I²·ρ·l²/V. Source: derived.
    """
    return field * math.sqrt(copper_volume / COPPER_RESISTIVITY)


@njit(**KERNEL)
def motor_constant_of(force: float, current: float, resistance: float) -> float:
    """Force per root watt, N/√W, of a winding that gives `force` N at `current` A through `resistance` Ω."""
    return force / (current * math.sqrt(resistance))


@njit(**KERNEL)
def mean_field(motor_constant: float, copper_volume: float) -> float:
    """Field, T, that a winding of known motor constant (N/√W at 20 °C) sees in the mean over its copper, m³."""
    return motor_constant * math.sqrt(COPPER_RESISTIVITY / copper_volume)


def coil_volume(inner_diameter: float, outer_diameter: float, length: float, fill: float) -> float:
    """Copper, m³, of a cylindrical coil; diameters and length in m, `fill` copper over winding space."""
    return 0.25 * math.pi * (outer_diameter**2 - inner_diameter**2) * length * fill


def hot_winding_temperature(ambient: float, thermal_resistance: float, loss: float) -> float:
    """Steady temperature, K, of a winding driven by constant current; infinite at and past runaway.

    ambient: K; thermal_resistance: K/W winding to ambient; loss: W the same current makes at 20 °C.
    Source: derived, T = Ta + R·P·(1 + α·(T − 20 °C)) solved for T.
    """
    feedback = COPPER_COEFFICIENT * thermal_resistance * loss
    if feedback >= 1.0:
        return math.inf
    return (ambient + thermal_resistance * loss * (1.0 - COPPER_COEFFICIENT * REFERENCE)) / (1.0 - feedback)


def runaway_loss(thermal_resistance: float) -> float:
    """Loss at 20 °C, W, at which constant current heats a winding without end: 1/(α·R), R in K/W. Source: derived."""
    return 1.0 / (COPPER_COEFFICIENT * thermal_resistance)


def allowed_loss(limit: float, ambient: float, thermal_resistance: float) -> float:
    """Loss at 20 °C, W, that brings a winding to `limit` K in the end: the inverse of `hot_winding_temperature`."""
    return (limit - ambient) / (thermal_resistance * resistance_factor(limit))


def adiabatic_time(loss: float, heat_capacity: float, start: float, limit: float, voltage_driven: bool) -> float:
    """Time, s, in which a mass of `heat_capacity` J/K that keeps all its heat goes from `start` to `limit` K.

    loss: W at `start`. At constant voltage the loss falls as the resistance rises, at constant current it grows.
    Source: derived, ∫ C·dT/P(T).
    """
    rise = limit - start
    slope = COPPER_COEFFICIENT / resistance_factor(start)
    if voltage_driven:
        return heat_capacity / loss * (rise + 0.5 * slope * rise * rise)
    return heat_capacity / loss * math.log1p(slope * rise) / slope


@njit(**KERNEL)
def time_to_limit(
    loss: float,
    voltage_driven: bool,
    limit: float,
    ambient: float,
    link: float,
    conductance: float,
    winding_capacity: float,
    case_capacity: float,
    longest: float,
) -> float:
    """Time, s, a cold winding in its case needs to reach `limit` K; infinite when it has not by `longest` s.

    loss: W at 20 °C; link: W/K winding to case; conductance: W/K case to ambient; capacities: J/K.
    Fourth-order steps of a fiftieth of the winding's own time constant, the last one shortened by interpolation.
    Source: two heat balances with the loss of [iec60028] at constant voltage or current.
    """
    step = 0.02 / (link / winding_capacity + (link + conductance) / case_capacity)
    step = min(step, 0.02 * winding_capacity * max(limit - ambient, 1.0) / loss)
    time, winding, case = 0.0, ambient, ambient
    while time < longest:
        w, c = winding, case
        slopes_w, slopes_c = 0.0, 0.0
        rate_w, rate_c = 0.0, 0.0
        for stage in range(4):
            if stage > 0:
                part = 0.5 if stage < 3 else 1.0
                w, c = winding + part * step * rate_w, case + part * step * rate_c
            factor = resistance_factor(w)
            heat = loss / factor if voltage_driven else loss * factor
            rate_w = (heat - link * (w - c)) / winding_capacity
            rate_c = (link * (w - c) - conductance * (c - ambient)) / case_capacity
            weight = 1.0 if stage in (0, 3) else 2.0
            slopes_w += weight * rate_w
            slopes_c += weight * rate_c
        next_winding = winding + step * slopes_w / 6.0
        if next_winding >= limit:
            return time + step * (limit - winding) / (next_winding - winding)
        winding, case, time = next_winding, case + step * slopes_c / 6.0, time + step
    return math.inf


@njit(**WITHIN)
def choose_wire(
    window: float,
    space: float,
    most_turns: float,
    packing: float,
    bare: NDArray[np.float64],
    insulated: NDArray[np.float64],
) -> tuple[int, int, int, float]:
    """The wire that gives a window the most turns its supply can drive: (index of gauge, strands, turns, fill).

    window: m² the conductors of one phase pass through; space: m, its smallest side, which must take two wires;
    most_turns: the turns at which the supply's voltage is used up, at least 1; packing: cross-section of insulated
    wire over window; bare, insulated: diameters, m, of the gauges from thick to thin. Wires lie in parallel strands
    where one thick wire would make too many turns. Fill is copper over window. Index −1: no gauge fits.
    """
    first, last = 0, len(insulated)
    while first < last:
        middle = (first + last) // 2
        if 2.0 * insulated[middle] > space:
            first = middle + 1
        else:
            last = middle
    if first == len(insulated):
        return -1, 0, 0, 0.0
    full = packing * window / (0.25 * math.pi)
    chosen, strands = first, 1
    turns = math.floor(full / (insulated[first] * insulated[first]))
    if turns > most_turns:
        turns = math.floor(most_turns)
        strands = math.floor(full / (turns * insulated[first] * insulated[first]))
    else:
        low, high = first, len(insulated) - 1
        while low < high:
            middle = (low + high + 1) // 2
            if math.floor(full / (insulated[middle] * insulated[middle])) <= most_turns:
                low = middle
            else:
                high = middle - 1
        chosen = low
        turns = math.floor(full / (insulated[chosen] * insulated[chosen]))
    if turns < 1:
        return -1, 0, 0, 0.0
    fill = turns * strands * 0.25 * math.pi * bare[chosen] * bare[chosen] / window
    return chosen, strands, turns, fill
