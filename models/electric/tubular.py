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

from models.compiled import KERNEL, WITHIN
from models.drive.winding import COPPER_RESISTIVITY
from models.electric.catalogue import choices, magnets
from models.electric.coil import VACUUM_PERMEABILITY, fill_common, pole_flux


@njit(**WITHIN)
def fundamental_field(flux: float, pole: float, pitch: float, radius: float, fringe: float) -> float:
    """Amplitude, T, of the fundamental of the radial field at `radius` m of a rod with a pole every `pitch` m.

    flux: Wb of each pole; pole: its length, m; fringe: m. Source: derived, Fourier series of level poles whose edges
    are spread by exp(−|z|/fringe).
    """
    level = flux / (2.0 * math.pi * radius * pole)
    spread = math.pi * fringe / pitch
    return 4.0 / math.pi * level * math.sin(0.5 * math.pi * pole / pitch) / (1.0 + spread * spread)


@njit(**WITHIN)
def iron_coefficients(mass: float, flux_density: float, wave: float, fixed: Any) -> tuple[float, float]:
    """Loss of a back iron per m/s of mean |v| and per (m/s)² of v²: mass kg, T, wavelength m. Source: [estimate]."""
    cycles = 1.0 / (50.0 * wave)
    weight = mass * flux_density * flux_density
    return weight * fixed.tube_hysteresis_loss * cycles, weight * fixed.tube_eddy_loss * cycles * cycles


@njit(**KERNEL)
def build_tubulars(
    rows: NDArray[np.void],
    diameter: float,
    shapes: NDArray[np.float64],
    grades: NDArray[np.void],
    stroke: float,
    fixed: Any,
) -> None:
    """Write every machine of one mover diameter (m) for a stroke (m) into `rows` of `blank_rows`: shapes by grades,
    grades fastest.

    A shape: pole pitch over the diameter, pole pieces over the pitch, winding thickness over the diameter, poles that
    face the winding, and whether the winding (1) or the row of magnets (0) is longer by the stroke.
    """
    clearance = max(fixed.clearance_min, fixed.clearance_share * diameter)
    section = 0.25 * math.pi * diameter * diameter
    for s in range(shapes.shape[0]):
        pitch, thickness, long_winding = shapes[s, 0] * diameter, shapes[s, 2] * diameter, shapes[s, 4] > 0.5
        pole = shapes[s, 1] * pitch
        bore = diameter + 2.0 * (clearance + thickness)
        radius = 0.5 * (bore - thickness)
        per_tesla = pole_flux(1.0, fixed.recoil_permeability, diameter, pitch - pole, 0.5 * pole, bore)
        per_weber = fundamental_field(2.0, pole, pitch, radius, fixed.tubular_fringe * (clearance + thickness))
        facing = shapes[s, 3] * pitch
        winding = facing + stroke if long_winding else facing
        rod = facing if long_winding else facing + stroke
        turn = 2.0 * math.pi * radius
        body = winding + 2.0 * thickness
        # one turn per phase in series over the whole winding; only the part that faces magnets makes force
        window = thickness * winding / 3.0
        turn_resistance = COPPER_RESISTIVITY * turn / window
        per_field = math.sqrt(1.5) * turn * fixed.winding_factor * facing / winding
        pairs = 0.5 * winding / pitch
        inductance = 6.0 * VACUUM_PERMEABILITY * turn * pitch / (math.pi**2 * pairs * (clearance + thickness))
        for g in range(len(grades)):
            row, grade = rows[s * len(grades) + g], grades[g]
            half = fixed.useful_flux * per_tesla * grade.remanence
            half = min(half, 0.5 * fixed.saturation * math.pi * diameter * pole)
            wall = max(fixed.wall_min, half / (math.pi * bore * fixed.saturation))
            outer = bore + 2.0 * wall
            tube = 0.25 * math.pi * (outer * outer - bore * bore) * body * fixed.iron_density
            row.window, row.wire_space = window, min(thickness, pitch / 3.0)
            row.turn_resistance, row.turn_force = turn_resistance, per_field * per_weber * half
            row.electric_time = inductance / turn_resistance
            row.magnet_mass = section * rod * (1.0 - shapes[s, 1]) * grade.density
            row.iron_mass = section * rod * shapes[s, 1] * fixed.iron_density + tube
            fill_common(row, bore, outer, body, winding, thickness, turn * thickness * winding, fixed)
            row.moving_mass = section * rod * fixed.iron_density + 0.3 * row.housing_mass
            row.retracted_length = max(body, rod) + fixed.rod_allowance * outer
            density = half / (math.pi * bore * wall)
            row.iron_linear, row.iron_square = iron_coefficients(tube * facing / winding, density, 2.0 * pitch, fixed)


TOPICS = ("mover_diameter", "pole_pitch", "pole_share", "winding_thickness", "poles", "long_winding")


@functools.cache
def tubular_shapes() -> NDArray[np.float64]:
    """Every combination of proportions but the diameter, one a row, columns as TOPICS after the first."""
    return np.array(list(itertools.product(*(choices("tubular", topic) for topic in TOPICS[1:]))))


def describe_tubular(number: int) -> dict[str, float | str]:
    """The choices behind candidate `number`: magnet grade, diameter in m, proportions."""
    grades, shapes = tuple(magnets()), tubular_shapes()
    place, shape = divmod(number // len(grades), len(shapes))
    values = (choices("tubular", TOPICS[0])[place], *shapes[shape].tolist())
    return {"magnet": grades[number % len(grades)], **dict(zip(TOPICS, values, strict=True))}
