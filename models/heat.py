"""Heat from a body to still or moving air, and bodies that store heat.

Knows: air from −40 to 150 °C, free and forced convection on plates and cylinders, grey radiation, a box and a cylinder
as whole bodies, and one or two thermal masses in time. Does not know: what makes the heat. Temperatures are kelvin.

The compiled kernels take a film temperature on trust; `surface_conductance` and `steady_temperature` check the range.
"""

import math
from dataclasses import dataclass

from numba import njit
from scipy.optimize import brentq

from models.compiled import INNER, KERNEL
from models.quantity import ATMOSPHERE, STANDARD_GRAVITY, ZERO_CELSIUS, OutOfRange

STEFAN_BOLTZMANN = 5.670374419e-8
AIR_GAS_CONSTANT = 287.05
AIR_LOWEST = ZERO_CELSIUS - 40.0
AIR_HIGHEST = ZERO_CELSIUS + 150.0


@dataclass(frozen=True)
class Box:
    """A box standing on its base: `length`, `width`, `height` m. Its base exchanges heat when `base_exposed`."""

    length: float
    width: float
    height: float
    base_exposed: bool = True


@dataclass(frozen=True)
class Cylinder:
    """A cylinder: `diameter` and `length` m; its axis `upright` or level. Both ends exchange heat."""

    diameter: float
    length: float
    upright: bool = False


@njit(**KERNEL)
def air_properties(temperature: float) -> tuple[float, float, float]:
    """Conductivity (W/(m·K)), kinematic viscosity (m²/s) and Prandtl number of dry air at one atmosphere.

    `temperature` K, −40 to 150 °C: within 2.5 % there. Source: Sutherland's laws as in [ussa1976] (recalled), gas law;
    the heat capacity is a parabola through handbook values, within 0.4 %.
    """
    viscosity = 1.458e-6 * temperature**1.5 / (temperature + 110.4)
    conductivity = 2.64638e-3 * temperature**1.5 / (temperature + 245.4 * 10.0 ** (-12.0 / temperature))
    warm = temperature - 260.0
    heat_capacity = 1005.0 + 3.4e-4 * warm * warm
    density = ATMOSPHERE / (AIR_GAS_CONSTANT * temperature)
    return conductivity, viscosity / density, viscosity * heat_capacity / conductivity


@njit(**KERNEL)
def rayleigh_number(difference: float, size: float, film: float, viscosity: float, prandtl: float) -> float:
    """Rayleigh number of a gas: `difference` K between surface and air (any sign), `size` m, `film` K, ν m²/s."""
    return STANDARD_GRAVITY * abs(difference) / film * size**3 / viscosity**2 * prandtl


@njit(**KERNEL)
def nusselt_vertical_plate(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number on the height of a vertical plate, free convection, `rayleigh` 0.1 to 1e12.

    Source: [churchill_chu1975a], as in [cengel], table 9-1.
    """
    return (0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / (1.0 + (0.492 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)) ** 2


@njit(**KERNEL)
def nusselt_level_cylinder(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number on the diameter of a level cylinder, free convection, `rayleigh` to 1e12.

    Source: [churchill_chu1975b], as in [cengel], table 9-1.
    """
    return (0.6 + 0.387 * rayleigh ** (1.0 / 6.0) / (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)) ** 2


@njit(**KERNEL)
def nusselt_plate_up(rayleigh: float) -> float:
    """Mean Nusselt number on area/perimeter of a level plate, hot side up (or cold side down), `rayleigh` 1e4 to 1e11.

    0.54·Ra^(1/4) to 1e7 and 0.15·Ra^(1/3) from 1e8, joined smoothly between (the two differ by 6 % at 1e7).
    Below 1e4 the first is carried on down to Nu = 1. Source: McAdams, as in [cengel], table 9-1; the joint is ours.
    """
    laminar = max(0.54 * rayleigh**0.25, 1.0)
    if rayleigh <= 1e7:
        return laminar
    turbulent = 0.15 * rayleigh ** (1.0 / 3.0)
    share = min(math.log10(rayleigh) - 7.0, 1.0)
    share = share * share * (3.0 - 2.0 * share)
    return (1.0 - share) * laminar + share * turbulent


@njit(**KERNEL)
def nusselt_plate_down(rayleigh: float) -> float:
    """Mean Nusselt number on area/perimeter of a level plate, hot side down, `rayleigh` 1e5 to 1e11; never below 0.5.

    Source: McAdams, as in [cengel], table 9-1.
    """
    return max(0.27 * rayleigh**0.25, 0.5)


@njit(**KERNEL)
def nusselt_flat_plate(reynolds: float, prandtl: float) -> float:
    """Mean Nusselt number on the length of a plate in parallel flow, laminar then turbulent from Re 5e5.

    Source: [cengel], section 7-2 (0.664·Re^0.5, 0.037·Re^0.8 − 871).
    """
    if reynolds <= 5e5:
        return 0.664 * math.sqrt(reynolds) * prandtl ** (1.0 / 3.0)
    return (0.037 * reynolds**0.8 - 871.0) * prandtl ** (1.0 / 3.0)


@njit(**KERNEL)
def nusselt_cross_cylinder(reynolds: float, prandtl: float) -> float:
    """Mean Nusselt number on the diameter of a cylinder in cross flow, Re·Pr above 0.2; 0.3 in still air.

    Source: [churchill_bernstein1977].
    """
    body = 0.62 * math.sqrt(reynolds) * prandtl ** (1.0 / 3.0) / (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    return 0.3 + body * (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8


@njit(**KERNEL)
def radiation_coefficient(surface: float, surroundings: float, emissivity: float) -> float:
    """Radiative film coefficient (W/(m²·K)) of a small grey body in large surroundings; temperatures K.

    Source: Stefan–Boltzmann, factored: ε·σ·(Ts² + Ta²)·(Ts + Ta).
    """
    return emissivity * STEFAN_BOLTZMANN * (surface**2 + surroundings**2) * (surface + surroundings)


@njit(**INNER)
def _mixed(free: float, forced: float) -> float:
    # free and forced convection together: cubes add (Churchill; the usual exponent of 3)
    return (free**3 + forced**3) ** (1.0 / 3.0)


@njit(**KERNEL)
def box_conductance(
    length: float,
    width: float,
    height: float,
    base_exposed: bool,
    surface: float,
    ambient: float,
    air_speed: float,
    emissivity: float,
) -> float:
    """Heat given off per kelvin (W/K) by a box at `surface` K to air and surroundings at `ambient` K.

    Air moves along the length at `air_speed` m/s. Convection on each face, free and forced added by cubes, and
    radiation from all of them. Source: the correlations of this file.
    """
    film = 0.5 * (surface + ambient)
    conductivity, viscosity, prandtl = air_properties(film)
    difference = surface - ambient
    side, plate = 2.0 * (length + width) * height, length * width
    size = plate / (2.0 * (length + width))
    level = rayleigh_number(difference, size, film, viscosity, prandtl)
    facing_up, facing_down = nusselt_plate_up(level), nusselt_plate_down(level)
    if difference < 0.0:
        facing_up, facing_down = facing_down, facing_up
    upright = nusselt_vertical_plate(rayleigh_number(difference, height, film, viscosity, prandtl), prandtl)
    forced = conductivity / length * nusselt_flat_plate(air_speed * length / viscosity, prandtl)
    radiant = radiation_coefficient(surface, ambient, emissivity)
    total = side * (_mixed(conductivity / height * upright, forced) + radiant)
    total += plate * (_mixed(conductivity / size * facing_up, forced) + radiant)
    if base_exposed:
        total += plate * (_mixed(conductivity / size * facing_down, forced) + radiant)
    return total


@njit(**KERNEL)
def cylinder_conductance(
    diameter: float,
    length: float,
    upright: bool,
    surface: float,
    ambient: float,
    air_speed: float,
    emissivity: float,
) -> float:
    """Heat given off per kelvin (W/K) by a cylinder with both ends, in air that crosses it at `air_speed` m/s.

    The ends of a level cylinder count as vertical plates of its diameter, those of an upright one as level plates.
    Source: the correlations of this file.
    """
    film = 0.5 * (surface + ambient)
    conductivity, viscosity, prandtl = air_properties(film)
    difference = surface - ambient
    end = 0.25 * math.pi * diameter**2
    forced = conductivity / diameter * nusselt_cross_cylinder(air_speed * diameter / viscosity, prandtl)
    forced_end = conductivity / diameter * nusselt_flat_plate(air_speed * diameter / viscosity, prandtl)
    radiant = radiation_coefficient(surface, ambient, emissivity)
    if upright:
        tall = rayleigh_number(difference, length, film, viscosity, prandtl)
        free = conductivity / length * nusselt_vertical_plate(tall, prandtl)
        level = rayleigh_number(difference, 0.25 * diameter, film, viscosity, prandtl)
        scale = conductivity / (0.25 * diameter)
        ends = _mixed(scale * nusselt_plate_up(level), forced_end) + _mixed(
            scale * nusselt_plate_down(level), forced_end
        )
    else:
        across = rayleigh_number(difference, diameter, film, viscosity, prandtl)
        free = conductivity / diameter * nusselt_level_cylinder(across, prandtl)
        ends = 2.0 * _mixed(conductivity / diameter * nusselt_vertical_plate(across, prandtl), forced_end)
    return math.pi * diameter * length * (_mixed(free, forced) + radiant) + end * (ends + 2.0 * radiant)


def surface_conductance(
    body: Box | Cylinder, surface: float, ambient: float, air_speed: float, emissivity: float
) -> float:
    """Heat given off per kelvin (W/K) by a whole body at `surface` K in air at `ambient` K moving at `air_speed` m/s.

    Raises OutOfRange when the surface or the air lies outside −40 to 150 °C.
    """
    for name, temperature in (("surface temperature", surface), ("ambient temperature", ambient)):
        if not AIR_LOWEST <= temperature <= AIR_HIGHEST:
            raise OutOfRange(name, temperature - ZERO_CELSIUS, -40.0, 150.0, "°C", "ussa1976")
    if isinstance(body, Box):
        size = (body.length, body.width, body.height, body.base_exposed)
        return float(box_conductance(*size, surface, ambient, air_speed, emissivity))
    return float(
        cylinder_conductance(body.diameter, body.length, body.upright, surface, ambient, air_speed, emissivity)
    )


def steady_temperature(
    heat: float,
    body: Box | Cylinder,
    ambient: float,
    air_speed: float,
    emissivity: float,
    inner_conductance: float = math.inf,
) -> tuple[float, float]:
    """(inner, surface) temperatures (K) at which a body gives off `heat` (W, not negative).

    `inner_conductance` W/K lies between what makes the heat and the surface: infinite for a stirred thin-walled tank.
    Raises OutOfRange when the surface would pass 150 °C.
    """

    def surplus(surface: float) -> float:
        return surface_conductance(body, surface, ambient, air_speed, emissivity) * (surface - ambient) - heat

    if heat < 0.0:
        raise OutOfRange("heat given off", heat, 0.0, None, "W", "ussa1976")
    hottest = surplus(AIR_HIGHEST)
    if hottest < 0.0:
        raise OutOfRange("heat given off below 150 °C", heat, 0.0, heat + hottest, "W", "ussa1976")
    surface = float(brentq(surplus, ambient, AIR_HIGHEST, xtol=1e-9, rtol=1e-12))
    return surface + heat / inner_conductance, surface


def one_node_temperature(
    time: float, start: float, ambient: float, heat: float, conductance: float, capacity: float
) -> float:
    """Temperature (K) after `time` (s) of one mass of `capacity` J/K that takes `heat` W and loses `conductance` W/K.

    Source: first-order linear equation; exact.
    """
    final = ambient + heat / conductance
    return final + (start - final) * math.exp(-time * conductance / capacity)


def one_node_time(
    target: float, start: float, ambient: float, heat: float, conductance: float, capacity: float
) -> float:
    """Time (s) one mass needs from `start` to `target` (K); infinite when it never gets there. Inverts the above."""
    final = ambient + heat / conductance
    if target == start:
        return 0.0
    ratio = (final - target) / (final - start) if final != start else -1.0
    if not 0.0 < ratio <= 1.0:
        return math.inf
    return -math.log(ratio) * capacity / conductance


def two_node_temperatures(
    time: float,
    starts: tuple[float, float],
    ambient: float,
    heats: tuple[float, float],
    link: float,
    conductance: float,
    capacities: tuple[float, float],
) -> tuple[float, float]:
    """Temperatures (K) after `time` (s) of an inner and an outer mass: a winding in its housing, oil in its tank.

    `starts` K, `heats` W and `capacities` J/K of (inner, outer); `link` W/K between them, `conductance` W/K from the
    outer one to `ambient` K. Source: two linear equations, exact by their two real eigenvalues.
    """
    inner_rate, outer_rate = link / capacities[0], link / capacities[1]
    loss_rate = conductance / capacities[1]
    outer_final = ambient + (heats[0] + heats[1]) / conductance
    inner_final = outer_final + heats[0] / link
    trace = inner_rate + outer_rate + loss_rate
    spread = math.sqrt(trace * trace - 4.0 * inner_rate * loss_rate)
    slow, fast = 2.0 * inner_rate * loss_rate / (trace + spread), 0.5 * (trace + spread)
    inner, outer = starts[0] - inner_final, starts[1] - outer_final
    # the deviation x obeys x' = A·x; exp(A·t) from its two decay rates (Sylvester)
    slope_inner, slope_outer = inner_rate * (outer - inner), outer_rate * inner - (outer_rate + loss_rate) * outer
    decay_slow, decay_fast = math.exp(-slow * time), math.exp(-fast * time)
    weight = (decay_slow - decay_fast) / (fast - slow)
    keep = (fast * decay_slow - slow * decay_fast) / (fast - slow)
    return inner_final + keep * inner + weight * slope_inner, outer_final + keep * outer + weight * slope_outer
