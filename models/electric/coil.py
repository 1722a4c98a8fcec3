"""The moving-magnet direct coil: a magnet with two poles slides in two coils wound against each other, inside a steel
tube that closes the field.

Knows the magnetic circuit, the field's spread beyond the poles, and what every part weighs. The coil stands still, so
no current crosses a moving joint. Lumped: one magnet, two gaps, a stated share of useful flux; the tube is made thick
enough not to saturate, the force of the coil's own field on iron is neglected, and so is the pull to one side.
"""

from __future__ import annotations

import functools
import itertools
import math
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import INNER, KERNEL
from models.drive.winding import COPPER_DENSITY, COPPER_HEAT_CAPACITY, COPPER_RESISTIVITY
from models.electric.catalogue import as_record, choices, constants, magnets

VACUUM_PERMEABILITY = 4e-7 * math.pi


class Magnetics(NamedTuple):
    """Constants of magnetic circuits and of the build, SI; ids of machines.csv."""

    saturation: float
    recoil_permeability: float
    useful_flux: float
    coil_fringe: float
    tubular_fringe: float
    winding_factor: float
    clearance_min: float
    clearance_share: float
    wall_min: float
    housing_share: float
    direct_friction_share: float
    iron_density: float
    aluminium_density: float
    solid_heat_capacity: float
    winding_conductivity: float
    winding_contact: float
    solid_tube_loss: float
    tube_hysteresis_loss: float
    tube_eddy_loss: float
    magnet_coupling_inside: float
    peak_current_density: float
    rod_allowance: float


@functools.cache
def magnetics() -> np.void:
    """The constants, from the data room, as a record."""
    return as_record(Magnetics(*(constants()[name] for name in Magnetics._fields)))


@njit(**KERNEL)
def pole_flux(
    remanence: float, permeability: float, diameter: float, magnet: float, pole: float, tube_bore: float
) -> float:
    """Flux, Wb, of an axially magnetised cylinder that leaves by a pole piece, crosses to a steel tube and returns.

    remanence: T; permeability: relative, of recoil; diameter: m of magnet and poles; magnet, pole: lengths, m, the pole
    as far as it belongs to this magnet; tube_bore: m. Two gaps in series; each is taken half a gap longer than its pole
    on both sides for the fringe. Leakage is not counted. Source: derived, lumped magnetic circuit.
    """
    area = 0.25 * math.pi * diameter * diameter
    gap = 0.5 * (tube_bore - diameter)
    inner = magnet / (VACUUM_PERMEABILITY * permeability * area)
    outer = math.log(tube_bore / diameter) / (2.0 * math.pi * VACUUM_PERMEABILITY * (pole + gap))
    return remanence * area * inner / (inner + 2.0 * outer)


@njit(**KERNEL)
def captured_flux(offset: float, coil: float, pole: float, fringe: float) -> float:
    """Share of a pole's flux that crosses a coil whose middle is `offset` m away: 1 when the coil is long.

    coil, pole: lengths, m; fringe: m. The field is level over the pole, its edges spread by exp(−|z|/fringe), with a
    fringe of about the gap. Source: derived, convolution of the two; [estimate] for the fringe.
    """
    return _flux_before(0.5 * coil - offset, pole, fringe) - _flux_before(-0.5 * coil - offset, pole, fringe)


@njit(**INNER)
def _flux_before(position: float, pole: float, fringe: float) -> float:
    return (_edge(position + 0.5 * pole, fringe) - _edge(position - 0.5 * pole, fringe)) / pole


@njit(**INNER)
def _edge(distance: float, fringe: float) -> float:
    tail = 0.5 * fringe * math.exp(-abs(distance) / fringe)
    return tail if distance < 0.0 else distance + tail


@njit(**INNER)
def fill_heat(
    row: NDArray[np.void], k: int, bore: float, length: float, thickness: float, magnet: float, fixed: Any
) -> None:
    """Heat paths of a winding bonded into a tube of `bore` m, `length` and `thickness` m, and what stores heat.

    A winding heated evenly and cooled on one side lies t/(3·k·A) above it in the mean. Source: derived.
    """
    area = math.pi * bore * length
    film = thickness / (3.0 * fixed.winding_conductivity) + 1.0 / fixed.winding_contact
    row[k].link = area / film
    row[k].winding_capacity = row[k].copper_mass * COPPER_HEAT_CAPACITY
    solid = row[k].iron_mass + 0.5 * magnet + row[k].housing_mass
    row[k].case_capacity = solid * fixed.solid_heat_capacity
    row[k].case_diameter = row[k].outer_diameter
    row[k].case_length = row[k].body_length


@njit(**KERNEL)
def build_coil(
    row: NDArray[np.void],
    k: int,
    diameter: float,
    magnet_share: float,
    pole_share: float,
    thickness_share: float,
    over_length: float,
    grade: Any,
    stroke: float,
    fixed: Any,
) -> None:
    """Write machine `k` of `row`: mover `diameter` m, shares of it for magnet, pole and winding, each half of the coil
    `over_length` times pole and stroke. The magnet is at least so long that the halves do not meet."""
    clearance = max(fixed.clearance_min, fixed.clearance_share * diameter)
    thickness, pole = thickness_share * diameter, pole_share * diameter
    bore = diameter + 2.0 * (clearance + thickness)
    half = over_length * (pole + stroke)
    magnet = max(magnet_share * diameter, half - pole)
    flux = fixed.useful_flux * pole_flux(grade.remanence, fixed.recoil_permeability, diameter, magnet, pole, bore)
    flux = min(flux, fixed.saturation * math.pi * diameter * pole)
    fringe = fixed.coil_fringe * (clearance + thickness)
    turn = math.pi * (bore - thickness)
    middle = captured_flux(0.0, half, pole, fringe)
    end = captured_flux(0.5 * stroke, half, pole, fringe)
    quarter = captured_flux(0.25 * stroke, half, pole, fringe)
    space = 2.0 * half * thickness
    copper = space * turn
    wall = max(fixed.wall_min, flux / (math.pi * bore * fixed.saturation))
    body = magnet + pole + half + 2.0 * wall
    outer = bore + 2.0 * wall
    poles = 2.0 * 0.25 * math.pi * diameter * diameter * pole
    tube = 0.25 * math.pi * (outer * outer - bore * bore) * body
    row[k].turn_force = flux * middle / half
    row[k].turn_resistance = COPPER_RESISTIVITY * turn / space
    row[k].motor_constant = row[k].turn_force / math.sqrt(row[k].turn_resistance)
    row[k].mid_share, row[k].end_share = quarter / middle, end / middle
    row[k].window, row[k].wire_space = space, thickness
    row[k].phases, row[k].voltage_share = 1.0, 1.0
    inductance = VACUUM_PERMEABILITY * turn * half / (24.0 * (clearance + thickness))
    row[k].electric_time = inductance / row[k].turn_resistance
    row[k].copper_mass = copper * COPPER_DENSITY
    row[k].magnet_mass = 0.25 * math.pi * diameter * diameter * magnet * grade.density
    row[k].iron_mass = (poles + tube) * fixed.iron_density
    active = 0.6 * row[k].copper_mass + row[k].magnet_mass + row[k].iron_mass
    row[k].housing_mass = fixed.housing_share * active
    row[k].transmission_mass = 0.0
    row[k].moving_mass = row[k].magnet_mass + poles * fixed.iron_density + 0.3 * row[k].housing_mass
    row[k].inertance = 0.0
    row[k].outer_diameter, row[k].body_length = outer, body
    row[k].retracted_length = body + fixed.rod_allowance * outer
    fill_heat(row, k, bore, 2.0 * half, thickness, row[k].magnet_mass, fixed)
    swept = tube * fixed.iron_density
    cycle = 2.0 * (magnet + pole) * 50.0
    row[k].iron_linear = 0.0
    row[k].iron_square = fixed.solid_tube_loss * swept / (cycle * cycle)
    row[k].efficiency = 1.0
    volume = copper * COPPER_RESISTIVITY
    row[k].force_limit = row[k].motor_constant * math.sqrt(volume) * fixed.peak_current_density
    row[k].friction = fixed.direct_friction_share * row[k].force_limit
    row[k].force_continuous = math.inf
    row[k].velocity_limit, row[k].bandwidth_limit = math.inf, math.inf
    row[k].magnet_slope, row[k].magnet_limit = grade.slope, grade.limit
    row[k].magnet_coupling = fixed.magnet_coupling_inside
    row[k].winding_limit = math.inf
    row[k].fixed_voltage, row[k].drive_loss, row[k].drive_standby = 0.0, 0.0, 0.0


TOPICS = ("mover_diameter", "magnet_length", "pole_length", "winding_thickness", "over_length")


@functools.cache
def coil_shapes() -> NDArray[np.float64]:
    """Every combination of proportions but the diameter, one a row, columns as TOPICS after the first."""
    return np.array(list(itertools.product(*(choices("coil", topic) for topic in TOPICS[1:]))))


@njit(**KERNEL)
def build_coils(
    row: NDArray[np.void],
    diameter: float,
    shapes: NDArray[np.float64],
    grades: NDArray[np.void],
    stroke: float,
    fixed: Any,
) -> None:
    """Write every coil of one mover diameter (m) for a stroke (m) into `row`: shapes by grades, grades fastest."""
    for s in range(shapes.shape[0]):
        for g in range(len(grades)):
            k = s * len(grades) + g
            build_coil(
                row, k, diameter, shapes[s, 0], shapes[s, 1], shapes[s, 2], shapes[s, 3], grades[g], stroke, fixed
            )


def describe_coil(number: int) -> dict[str, float | str]:
    """The choices behind candidate `number`: magnet grade, diameter in m, proportions over the diameter."""
    grades, shapes = tuple(magnets()), coil_shapes()
    place, shape = divmod(number // len(grades), len(shapes))
    values = (choices("coil", TOPICS[0])[place], *shapes[shape].tolist())
    return {"magnet": grades[number % len(grades)], **dict(zip(TOPICS, values, strict=True))}
