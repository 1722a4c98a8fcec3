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
from models.electric.candidate import MACHINE
from models.electric.catalogue import as_record, choices, constants, magnet_records, magnets

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


@njit(**INNER)
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


@njit(**INNER)
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


@functools.cache
def _blank(shapes: int, phases: float, voltage_share: float, coupling: float) -> NDArray[np.void]:
    grades = magnet_records()
    rows = np.zeros((shapes, len(grades)), MACHINE)
    for name in ("mid_share", "end_share", "efficiency"):
        rows[name] = 1.0
    for name in ("force_continuous", "velocity_limit", "bandwidth_limit", "winding_limit"):
        rows[name] = math.inf
    rows["phases"], rows["voltage_share"], rows["magnet_coupling"] = phases, voltage_share, coupling
    rows["magnet_slope"], rows["magnet_limit"] = grades["slope"], grades["limit"]
    return rows.reshape(-1)


def blank_rows(shapes: int, phases: float, voltage_share: float) -> NDArray[np.void]:
    """Rows of MACHINE for `shapes` shapes by every magnet grade, grades fastest, holding what no size changes: no gear,
    no inertance, no limit but force and heat."""
    return _blank(shapes, phases, voltage_share, constants()["magnet_coupling_inside"]).copy()


@njit(**INNER)
def fill_common(
    row: Any, bore: float, outer: float, body: float, length: float, thickness: float, copper: float, fixed: Any
) -> None:
    """What follows for every winding bonded into a tube of `bore` and `outer` diameter, m, `body` m long, once magnet
    and iron masses and the turn stand in `row`: constants, limits, heat paths, what stores heat.

    length, thickness: m, of the winding; copper: m³ of its space. A winding heated evenly and cooled on one side lies
    t/(3·k·A) above it in the mean. Source: derived.
    """
    row.motor_constant = row.turn_force / math.sqrt(row.turn_resistance)
    row.copper_mass = copper * COPPER_DENSITY
    row.housing_mass = fixed.housing_share * (0.6 * row.copper_mass + row.magnet_mass + row.iron_mass)
    row.outer_diameter, row.body_length = outer, body
    row.case_diameter, row.case_length = outer, body
    film = thickness / (3.0 * fixed.winding_conductivity) + 1.0 / fixed.winding_contact
    row.link = math.pi * bore * length / film
    row.winding_capacity = row.copper_mass * COPPER_HEAT_CAPACITY
    solid = row.iron_mass + 0.5 * row.magnet_mass + row.housing_mass
    row.case_capacity = solid * fixed.solid_heat_capacity
    row.force_limit = row.motor_constant * math.sqrt(copper * COPPER_RESISTIVITY) * fixed.peak_current_density
    row.friction = fixed.direct_friction_share * row.force_limit


@njit(**KERNEL)
def build_coils(
    rows: NDArray[np.void],
    diameter: float,
    shapes: NDArray[np.float64],
    grades: NDArray[np.void],
    stroke: float,
    fixed: Any,
) -> None:
    """Write every coil of one mover diameter (m) for a stroke (m) into `rows` of `blank_rows`: shapes by grades, grades
    fastest.

    A shape: shares of the diameter for magnet, pole and winding, and each half of the coil over pole and stroke. The
    magnet is at least so long that the halves do not meet.
    """
    clearance = max(fixed.clearance_min, fixed.clearance_share * diameter)
    section = 0.25 * math.pi * diameter * diameter
    for s in range(shapes.shape[0]):
        pole, thickness = shapes[s, 1] * diameter, shapes[s, 2] * diameter
        bore = diameter + 2.0 * (clearance + thickness)
        half = shapes[s, 3] * (pole + stroke)
        magnet = max(shapes[s, 0] * diameter, half - pole)
        per_tesla = fixed.useful_flux * pole_flux(1.0, fixed.recoil_permeability, diameter, magnet, pole, bore)
        fringe = fixed.coil_fringe * (clearance + thickness)
        turn = math.pi * (bore - thickness)
        middle = captured_flux(0.0, half, pole, fringe)
        end_share = captured_flux(0.5 * stroke, half, pole, fringe) / middle
        mid_share = captured_flux(0.25 * stroke, half, pole, fringe) / middle
        space = 2.0 * half * thickness
        turn_resistance = COPPER_RESISTIVITY * turn / space
        inductance = VACUUM_PERMEABILITY * turn * half / (24.0 * (clearance + thickness))
        poles = 2.0 * section * pole
        cycle = 2.0 * (magnet + pole) * 50.0
        for g in range(len(grades)):
            row, grade = rows[s * len(grades) + g], grades[g]
            flux = min(per_tesla * grade.remanence, fixed.saturation * math.pi * diameter * pole)
            wall = max(fixed.wall_min, flux / (math.pi * bore * fixed.saturation))
            body = magnet + pole + half + 2.0 * wall
            outer = bore + 2.0 * wall
            tube = 0.25 * math.pi * (outer * outer - bore * bore) * body
            row.turn_force, row.turn_resistance = flux * middle / half, turn_resistance
            row.mid_share, row.end_share = mid_share, end_share
            row.window, row.wire_space = space, thickness
            row.electric_time = inductance / turn_resistance
            row.magnet_mass = section * magnet * grade.density
            row.iron_mass = (poles + tube) * fixed.iron_density
            row.iron_square = fixed.solid_tube_loss * tube * fixed.iron_density / (cycle * cycle)
            fill_common(row, bore, outer, body, 2.0 * half, thickness, space * turn, fixed)
            row.moving_mass = row.magnet_mass + poles * fixed.iron_density + 0.3 * row.housing_mass
            row.retracted_length = body + fixed.rod_allowance * outer


TOPICS = ("mover_diameter", "magnet_length", "pole_length", "winding_thickness", "over_length")


@functools.cache
def coil_shapes() -> NDArray[np.float64]:
    """Every combination of proportions but the diameter, one a row, columns as TOPICS after the first."""
    return np.array(list(itertools.product(*(choices("coil", topic) for topic in TOPICS[1:]))))


def describe_coil(number: int) -> dict[str, float | str]:
    """The choices behind candidate `number`: magnet grade, diameter in m, proportions over the diameter."""
    grades, shapes = tuple(magnets()), coil_shapes()
    place, shape = divmod(number // len(grades), len(shapes))
    values = (choices("coil", TOPICS[0])[place], *shapes[shape].tolist())
    return {"magnet": grades[number % len(grades)], **dict(zip(TOPICS, values, strict=True))}
