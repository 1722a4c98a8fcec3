"""The three-phase tubular linear machine: a rod of opposed magnets with pole pieces in a smooth tube of ring coils.

Knows the field a periodic rod sets up in the winding, its losses in the tube, and that either the magnets or the
winding must be longer than the other by the stroke. The winding has no iron teeth, so no detent force; current follows
the field's fundamental. Shares the magnetic circuit and the heat path with the direct coil (`coil`).
"""

from __future__ import annotations

import functools
import itertools
import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import INNER, KERNEL
from models.drive.electronics import THREE_PHASE_VOLTAGE
from models.drive.winding import COPPER_DENSITY, COPPER_RESISTIVITY
from models.electric.catalogue import choices, magnets
from models.electric.coil import VACUUM_PERMEABILITY, fill_heat, pole_flux


@njit(**KERNEL)
def fundamental_field(flux: float, pole: float, pitch: float, radius: float, fringe: float) -> float:
    """Amplitude, T, of the fundamental of the radial field at `radius` m of a rod with a pole every `pitch` m.

    flux: Wb of each pole; pole: its length, m; fringe: m. Source: derived, Fourier series of level poles whose edges
    are spread by exp(−|z|/fringe).
    """
    level = flux / (2.0 * math.pi * radius * pole)
    spread = math.pi * fringe / pitch
    return 4.0 / math.pi * level * math.sin(0.5 * math.pi * pole / pitch) / (1.0 + spread * spread)


@njit(**INNER)
def iron_coefficients(mass: float, flux_density: float, wave: float, fixed: Any) -> tuple[float, float]:
    """Loss of a back iron per m/s of mean |v| and per (m/s)² of v²: mass kg, T, wavelength m. Source: [estimate]."""
    cycles = 1.0 / (50.0 * wave)
    weight = mass * flux_density * flux_density
    return weight * fixed.tube_hysteresis_loss * cycles, weight * fixed.tube_eddy_loss * cycles * cycles


@njit(**KERNEL)
def build_tubular(
    row: NDArray[np.void],
    k: int,
    diameter: float,
    pitch_share: float,
    pole_share: float,
    thickness_share: float,
    poles: float,
    long_winding: bool,
    grade: Any,
    stroke: float,
    fixed: Any,
) -> None:
    """Write machine `k` of `row`: mover `diameter` m, pole pitch and winding thickness as shares of it, pole pieces as
    a share of the pitch, `poles` facing the winding."""
    clearance = max(fixed.clearance_min, fixed.clearance_share * diameter)
    thickness, pitch = thickness_share * diameter, pitch_share * diameter
    pole = pole_share * pitch
    magnet = pitch - pole
    bore = diameter + 2.0 * (clearance + thickness)
    radius = 0.5 * (bore - thickness)
    half = pole_flux(grade.remanence, fixed.recoil_permeability, diameter, magnet, 0.5 * pole, bore)
    half = min(fixed.useful_flux * half, 0.5 * fixed.saturation * math.pi * diameter * pole)
    field = fundamental_field(2.0 * half, pole, pitch, radius, fixed.tubular_fringe * (clearance + thickness))
    facing = poles * pitch
    winding = facing + stroke if long_winding else facing
    rod = facing if long_winding else facing + stroke
    turn = 2.0 * math.pi * radius
    copper = turn * thickness * winding
    wall = max(fixed.wall_min, half / (math.pi * bore * fixed.saturation))
    body = winding + 2.0 * thickness
    outer = bore + 2.0 * wall
    section = 0.25 * math.pi * diameter * diameter
    tube = 0.25 * math.pi * (outer * outer - bore * bore) * body * fixed.iron_density
    # one turn per phase in series over the whole winding; only the part that faces magnets makes force
    row[k].window = thickness * winding / 3.0
    row[k].wire_space = min(thickness, pitch / 3.0)
    row[k].turn_resistance = COPPER_RESISTIVITY * turn / row[k].window
    row[k].turn_force = math.sqrt(1.5) * turn * field * fixed.winding_factor * facing / winding
    row[k].motor_constant = row[k].turn_force / math.sqrt(row[k].turn_resistance)
    row[k].mid_share, row[k].end_share = 1.0, 1.0
    row[k].phases, row[k].voltage_share = 3.0, THREE_PHASE_VOLTAGE
    pairs = 0.5 * winding / pitch
    inductance = 6.0 * VACUUM_PERMEABILITY * turn * pitch / (math.pi**2 * pairs * (clearance + thickness))
    row[k].electric_time = inductance / row[k].turn_resistance
    row[k].copper_mass = copper * COPPER_DENSITY
    row[k].magnet_mass = section * rod * (1.0 - pole_share) * grade.density
    row[k].iron_mass = section * rod * pole_share * fixed.iron_density + tube
    active = 0.6 * row[k].copper_mass + row[k].magnet_mass + row[k].iron_mass
    row[k].housing_mass = fixed.housing_share * active
    row[k].transmission_mass = 0.0
    row[k].moving_mass = section * rod * fixed.iron_density + 0.3 * row[k].housing_mass
    row[k].inertance = 0.0
    row[k].outer_diameter, row[k].body_length = outer, body
    row[k].retracted_length = max(body, rod) + fixed.rod_allowance * outer
    fill_heat(row, k, bore, winding, thickness, row[k].magnet_mass, fixed)
    density = half / (math.pi * bore * wall)
    row[k].iron_linear, row[k].iron_square = iron_coefficients(tube * facing / winding, density, 2.0 * pitch, fixed)
    row[k].efficiency = 1.0
    limit = row[k].motor_constant * math.sqrt(copper * COPPER_RESISTIVITY) * fixed.peak_current_density
    row[k].force_limit = limit
    row[k].friction = fixed.direct_friction_share * limit
    row[k].force_continuous, row[k].velocity_limit, row[k].bandwidth_limit = math.inf, math.inf, math.inf
    row[k].magnet_slope, row[k].magnet_limit = grade.slope, grade.limit
    row[k].magnet_coupling = fixed.magnet_coupling_inside
    row[k].winding_limit = math.inf
    row[k].fixed_voltage, row[k].drive_loss, row[k].drive_standby = 0.0, 0.0, 0.0


TOPICS = ("mover_diameter", "pole_pitch", "pole_share", "winding_thickness", "poles", "long_winding")


@functools.cache
def tubular_shapes() -> NDArray[np.float64]:
    """Every combination of proportions but the diameter, one a row, columns as TOPICS after the first."""
    return np.array(list(itertools.product(*(choices("tubular", topic) for topic in TOPICS[1:]))))


@njit(**KERNEL)
def build_tubulars(
    row: NDArray[np.void],
    diameter: float,
    shapes: NDArray[np.float64],
    grades: NDArray[np.void],
    stroke: float,
    fixed: Any,
) -> None:
    """Write every machine of one mover diameter (m) for a stroke (m) into `row`: shapes by grades, grades fastest."""
    for s in range(shapes.shape[0]):
        pitch, pole, thickness = shapes[s, 0], shapes[s, 1], shapes[s, 2]
        poles, long_winding = shapes[s, 3], shapes[s, 4] > 0.5
        for g in range(len(grades)):
            k = s * len(grades) + g
            build_tubular(row, k, diameter, pitch, pole, thickness, poles, long_winding, grades[g], stroke, fixed)


def describe_tubular(number: int) -> dict[str, float | str]:
    """The choices behind candidate `number`: magnet grade, diameter in m, proportions."""
    grades, shapes = tuple(magnets()), tubular_shapes()
    place, shape = divmod(number // len(grades), len(shapes))
    values = (choices("tubular", TOPICS[0])[place], *shapes[shape].tolist())
    return {"magnet": grades[number % len(grades)], **dict(zip(TOPICS, values, strict=True))}
