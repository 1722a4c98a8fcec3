"""The four kinds of actuator, each as a stream of candidates and a way back from a candidate's number to its choices.

Knows what each family is called, what it can and cannot do by its nature, and in what order its candidates come: groups
whose lightest member grows, so that a search may stop. Judges nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from models.electric.candidate import MACHINE
from models.electric.catalogue import choices, constants, coolings, magnet_records
from models.electric.coil import build_coils, coil_shapes, describe_coil, magnetics
from models.electric.rotary import (
    build_constants,
    build_rotaries,
    describe_rotary,
    describe_servo,
    motors,
    servos,
    transmission_numbers,
)
from models.electric.tubular import build_tubulars, describe_tubular, tubular_shapes

FamilyName = Literal["direct_coil", "tubular", "rotary", "servo"]
Rows = NDArray[np.void]
MOTORS_A_GROUP = 6


@dataclass(frozen=True)
class Family:
    """A kind of actuator.

    groups(stroke, force, largest_first, least) yields (first number, rows) of MACHINE for a largest force (N), the
    array used again by the next group; it may leave out what cannot reach least(), N, asked before each group;
    row(number, stroke, force) rebuilds one; describe(number, stroke) tells its choices; depends_on_force: its masses
    follow the largest force; sets_force: it can control force, not position only; parts: pieces of one actuator with
    its drive.
    """

    name: FamilyName
    label: str
    groups: Callable[[float, float, bool, Callable[[], float]], Iterator[tuple[int, Rows]]]
    row: Callable[[int, float, float], Rows]
    describe: Callable[[int, float], dict[str, float | str]]
    coolings: tuple[str, ...]
    depends_on_force: bool
    sets_force: bool
    parts: int


def _order(count: int, largest_first: bool) -> range:
    return range(count - 1, -1, -1) if largest_first else range(count)


def _remanent_flux(diameter: float) -> float:
    """Most flux, Wb, that the strongest grade gives through the mover's section."""
    return float(magnet_records()["remanence"].max()) * 0.25 * math.pi * diameter**2


def greatest_coil_force(diameter: float) -> float:
    """Bound, N, on the force limit of every direct coil of a mover `diameter` m: 2·flux·thickness·current density."""
    thickness = max(choices("coil", "winding_thickness")) * diameter
    return 2.0 * _remanent_flux(diameter) * thickness * constants()["peak_current_density"]


def greatest_tubular_force(diameter: float) -> float:
    """Bound, N, on the force limit of every tubular machine of a mover `diameter` m: 2·√2·flux·poles·thickness·density.

    Both bounds follow from a level field whose flux is the magnet's own and whose fringe is nothing.
    """
    thickness = max(choices("tubular", "winding_thickness")) * diameter
    poles = max(choices("tubular", "poles"))
    return 2.0 * math.sqrt(2.0) * _remanent_flux(diameter) * poles * thickness * constants()["peak_current_density"]


def _coil_groups(
    stroke: float, force: float, largest_first: bool, least: Callable[[], float]
) -> Iterator[tuple[int, Rows]]:
    shapes, grades, fixed = coil_shapes(), magnet_records(), magnetics()
    rows = np.zeros(len(shapes) * len(grades), MACHINE)
    diameters = choices("coil", "mover_diameter")
    for place in _order(len(diameters), largest_first):
        if greatest_coil_force(diameters[place]) < least():
            continue
        build_coils(rows, diameters[place], shapes, grades, stroke, fixed)
        yield place * len(rows), rows


def _coil_row(number: int, stroke: float, force: float) -> Rows:
    shapes, grades = coil_shapes(), magnet_records()
    (place, shape), grade = divmod(number // len(grades), len(shapes)), number % len(grades)
    rows = np.zeros(1, MACHINE)
    diameter = choices("coil", "mover_diameter")[place]
    build_coils(rows, diameter, shapes[shape : shape + 1], grades[grade : grade + 1], stroke, magnetics())
    return rows


def _tubular_groups(
    stroke: float, force: float, largest_first: bool, least: Callable[[], float]
) -> Iterator[tuple[int, Rows]]:
    shapes, grades, fixed = tubular_shapes(), magnet_records(), magnetics()
    rows = np.zeros(len(shapes) * len(grades), MACHINE)
    diameters = choices("tubular", "mover_diameter")
    for place in _order(len(diameters), largest_first):
        if greatest_tubular_force(diameters[place]) < least():
            continue
        build_tubulars(rows, diameters[place], shapes, grades, stroke, fixed)
        yield place * len(rows), rows


def _tubular_row(number: int, stroke: float, force: float) -> Rows:
    shapes, grades = tubular_shapes(), magnet_records()
    (place, shape), grade = divmod(number // len(grades), len(shapes)), number % len(grades)
    rows = np.zeros(1, MACHINE)
    diameter = choices("tubular", "mover_diameter")[place]
    build_tubulars(rows, diameter, shapes[shape : shape + 1], grades[grade : grade + 1], stroke, magnetics())
    return rows


def _rotary_groups(
    stroke: float, force: float, largest_first: bool, least: Callable[[], float]
) -> Iterator[tuple[int, Rows]]:
    machines, gears, fixed = motors(), transmission_numbers(stroke), build_constants()
    buffer = np.zeros(MOTORS_A_GROUP * len(gears), MACHINE)
    for place in _order(-(-len(machines) // MOTORS_A_GROUP), largest_first):
        start = place * MOTORS_A_GROUP
        group = machines[start : start + MOTORS_A_GROUP]
        rows = buffer[: len(group) * len(gears)]
        build_rotaries(rows, group, gears, force, stroke, fixed)
        yield start * len(gears), rows


def _rotary_row(number: int, stroke: float, force: float) -> Rows:
    gears = transmission_numbers(stroke)
    motor, gear = divmod(number, len(gears))
    rows = np.zeros(1, MACHINE)
    build_rotaries(rows, motors()[motor : motor + 1], gears[gear : gear + 1], force, stroke, build_constants())
    return rows


def _servo_groups(
    stroke: float, force: float, largest_first: bool, least: Callable[[], float]
) -> Iterator[tuple[int, Rows]]:
    yield 0, servos(stroke)


def _servo_row(number: int, stroke: float, force: float) -> Rows:
    return servos(stroke)[number : number + 1]


ALL_COOLINGS = tuple(coolings())

FAMILIES: Mapping[FamilyName, Family] = {
    family.name: family
    for family in (
        Family(
            "direct_coil",
            "moving-magnet direct coil",
            _coil_groups,
            _coil_row,
            lambda number, stroke: describe_coil(number),
            ALL_COOLINGS,
            depends_on_force=False,
            sets_force=True,
            parts=2,
        ),
        Family(
            "tubular",
            "three-phase tubular linear machine",
            _tubular_groups,
            _tubular_row,
            lambda number, stroke: describe_tubular(number),
            ALL_COOLINGS,
            depends_on_force=False,
            sets_force=True,
            parts=2,
        ),
        Family(
            "rotary",
            "three-phase rotary machine on screw, lever or belt",
            _rotary_groups,
            _rotary_row,
            describe_rotary,
            ALL_COOLINGS,
            depends_on_force=True,
            sets_force=True,
            parts=3,
        ),
        Family(
            "servo",
            "geared positional servo",
            _servo_groups,
            _servo_row,
            describe_servo,
            tuple(name for name, cooling in coolings().items() if cooling.liquid < 0.5),
            depends_on_force=False,
            sets_force=False,
            parts=2,
        ),
    )
}
