"""An oil reservoir: how much it holds, how large and heavy a tank, how warm it runs, and what a cooler must add.

Knows: a rectangular sheet tank of well-stirred oil, so that its walls are as warm as the oil: cautious for touch, a
little generous for cooling. Does not know: where the heat comes from (it is a number), which parts share the oil, or
how air leaves it. Temperatures are kelvin.
"""

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from models.heat import AIR_HIGHEST, Box, one_node_time, surface_conductance


@dataclass(frozen=True)
class ReservoirVolumes:
    """Volumes (m³): oil left at the lowest level, what the level must also take up, and the tank's total."""

    lowest_oil: float
    cylinder_difference: float
    thermal_expansion: float
    highest_oil: float
    air_space: float
    total: float


@dataclass(frozen=True)
class HeatBalance:
    """A tank's heat at steady state. Power W, conductances W/K, temperatures K.

    `steady_temperature` is None where the tank alone would pass 150 °C; `cooler_conductance` is what a cooler must
    carry per kelvin above the air to hold the oil at its limit, 0 where the tank does it alone.
    """

    heat: float
    conductance_at_limit: float
    heat_lost_at_limit: float
    steady_temperature: float | None
    cooler_heat: float
    cooler_conductance: float


def reservoir_volumes(
    pump_flow: float,
    dwell_time: float,
    cylinder_difference: float,
    system_oil: float,
    expansion: float,
    temperature_rise: float,
    air_share: float,
) -> ReservoirVolumes:
    """What a reservoir must hold.

    At its lowest level, cold and with every cylinder out, the oil still dwells `dwell_time` s at `pump_flow` m³/s.
    Above that the level takes up `cylinder_difference` m³ (all cylinders in) and the expansion (`expansion` 1/K over
    `temperature_rise` K) of this oil and of `system_oil` m³ elsewhere; `air_share` of the oil's volume stays above it.
    Source: common practice (dwell, air space); mass balance, derived.
    """
    lowest = pump_flow * dwell_time
    swelling = expansion * max(temperature_rise, 0.0) * (lowest + cylinder_difference + system_oil)
    highest = lowest + cylinder_difference + swelling
    air = air_share * highest
    return ReservoirVolumes(lowest, cylinder_difference, swelling, highest, air, highest + air)


def tank_box(volume: float, length_per_width: float = 1.5, height_per_width: float = 1.0) -> Box:
    """A tank of `volume` (m³) with the given proportions (`estimated`), standing free."""
    width = (volume / (length_per_width * height_per_width)) ** (1.0 / 3.0)
    return Box(length_per_width * width, width, height_per_width * width)


def sheet_mass(box: Box, thickness: float, sheet_density: float, fittings_share: float) -> float:
    """Mass (kg) of an empty tank of sheet `thickness` m and `sheet_density` kg/m³.

    `fittings_share` is the mass of cap, baffle, gauge and feet over that of the sheet (`estimated` by the caller).
    """
    area = 2.0 * (box.length * box.width + box.length * box.height + box.width * box.height)
    return area * thickness * sheet_density * (1.0 + fittings_share)


def throttling_rise(pressure_drop: float, density: float, heat_capacity: float) -> float:
    """Temperature rise (K) of oil throttled through `pressure_drop` (Pa) without work: Δp/(ρ·cp).

    Source: [esposito], examples 11.2 and 11.3.
    """
    return pressure_drop / (density * heat_capacity)


def cooling_area(heat: float, coefficient: float, temperature_difference: float) -> float:
    """Surface (m²) that gives off `heat` (W) at a lumped `coefficient` (W/(m²·K)): the trade's check on a tank.

    Source: [sullivan], examples 14.5 to 14.7. `heat_balance` computes the coefficient instead of assuming it.
    """
    return heat / (coefficient * temperature_difference)


def heat_balance(
    heat: float,
    box: Box,
    oil_limit: float,
    ambient: float,
    air_speed: float,
    emissivity: float,
    further_conductance: float = 0.0,
) -> HeatBalance:
    """Steady state of a tank that must give off `heat` (W), its oil allowed up to `oil_limit` (K).

    `further_conductance` W/K is what lines and cylinders give off beside the tank. Raises OutOfRange when `oil_limit`
    or `ambient` lies outside −40 to 150 °C, ValueError when the limit is not above the air.
    Source: models.heat; steady balance.
    """
    if oil_limit <= ambient:
        raise ValueError("oil cannot give off heat below the temperature of the air")

    def lost(temperature: float) -> float:
        tank = surface_conductance(box, temperature, ambient, air_speed, emissivity)
        return (tank + further_conductance) * (temperature - ambient)

    at_limit = lost(oil_limit)
    steady = None
    if heat <= 0.0:
        steady = ambient
    elif lost(AIR_HIGHEST) >= heat:
        steady = float(brentq(lambda t: lost(t) - heat, ambient, AIR_HIGHEST, xtol=1e-9, rtol=1e-12))
    cooler = max(heat - at_limit, 0.0)
    spread = oil_limit - ambient
    return HeatBalance(heat, at_limit / spread, at_limit, steady, cooler, cooler / spread)


def warm_up_time(
    heat: float, capacity: float, conductance: float, start: float, target: float, ambient: float
) -> float:
    """Time (s) to warm oil and metal of `capacity` (J/K) from `start` to `target` (K) with `heat` (W) going in.

    `conductance` W/K as at the target, which makes the time a little long; infinite when it is never reached.
    Source: models.heat.one_node_time.
    """
    if heat + conductance * (ambient - start) <= 0.0 and target > start:
        return math.inf
    return one_node_time(target, start, ambient, heat, conductance, capacity)
