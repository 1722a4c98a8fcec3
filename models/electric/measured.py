"""The heat of a measured actuator: its coil's shape, its paths to the air, the loss it holds.

Knows how long a coil lasts before it is too hot, from the readings (`measured_actuator`) alone. What is not measured
(heat paths, the coil's shape where it is not given) is estimated and said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from models.drive.winding import COPPER_DENSITY, COPPER_HEAT_CAPACITY, COPPER_RESISTIVITY, resistance_factor
from models.electric.catalogue import constants
from models.heat import AIR_HIGHEST, cylinder_conductance
from models.measured_actuator import Copper, MeasuredActuator


@dataclass(frozen=True)
class CoilShape:
    """Mean diameter, length and thickness of a coil, m; `estimated` where they follow from a usual proportion."""

    mean_diameter: float
    length: float
    thickness: float
    estimated: bool


def coil_shape(given: MeasuredActuator, copper: Copper) -> CoilShape:
    """The coil's shape as given, or one four times as long as thick round the mean turn its wire and turns tell."""
    inner, outer, length = given.coil_inner_diameter, given.coil_outer_diameter, given.coil_length
    fill = constants()["rotary_fill"]
    if inner is not None and outer is not None:
        thickness, mean = 0.5 * (outer - inner), 0.5 * (inner + outer)
        if length is None:
            length = copper.volume / fill / (math.pi * mean * thickness)
        return CoilShape(mean, length, thickness, given.coil_length is None)
    if given.turns is not None:
        wire = math.sqrt(given.resistance * copper.volume / COPPER_RESISTIVITY)
        mean = wire / (given.turns * math.pi)
    else:
        mean = 2.0 * (copper.volume / fill / math.pi) ** (1.0 / 3.0)
    thickness = math.sqrt(copper.volume / fill / (4.0 * math.pi * mean))
    return CoilShape(mean, 4.0 * thickness, thickness, True)


@dataclass(frozen=True)
class HeatPaths:
    """Two nodes of a measured actuator: link winding to the rest, and the rest to air, W/K; capacities, J/K."""

    link: float
    conductance: float
    winding_capacity: float
    rest_capacity: float


def heat_paths(
    given: MeasuredActuator, copper: Copper, contact: float, air_speed: float, area_factor: float
) -> HeatPaths:
    """Heat paths with `contact` W/(m²·K) under the winding, air moving at `air_speed` m/s over `area_factor` times the
    body's surface, the body 40 K over the air. The body is a cylinder of its mass at the mean density of steel, magnet
    and plastic (4500 kg/m³, 1.5 diameters long), or the coil's own size if that is greater. Source: [estimate]."""
    fixed, shape = constants(), coil_shape(given, copper)
    area = math.pi * shape.mean_diameter * shape.length
    link = area / (shape.thickness / (3.0 * fixed["winding_conductivity"]) + 1.0 / contact)
    diameter = max((4.0 * given.mass / (1.5 * math.pi * 4500.0)) ** (1.0 / 3.0), shape.mean_diameter + shape.thickness)
    length = max(1.5 * diameter, shape.length)
    surface = min(given.ambient + 40.0, 0.5 * (given.ambient + given.temperature_limit), AIR_HIGHEST)
    out = cylinder_conductance(diameter, length, True, surface, given.ambient, air_speed, fixed["case_emissivity"])
    mass = copper.volume * COPPER_DENSITY
    rest = (given.mass - mass) * fixed["solid_heat_capacity"]
    return HeatPaths(link, float(out) * area_factor, mass * COPPER_HEAT_CAPACITY, max(rest, 1e-9))


def held_loss(given: MeasuredActuator, paths: HeatPaths) -> float:
    """Loss at 20 °C, W, that brings the winding to its limit in the end."""
    resistance = 1.0 / paths.link + 1.0 / paths.conductance
    return (given.temperature_limit - given.ambient) / resistance / float(resistance_factor(given.temperature_limit))
