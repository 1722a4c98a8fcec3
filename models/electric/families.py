"""The four kinds of actuator, each as a stream of candidates and a way back from a candidate's number to its choices.

Knows what each family is called, what it can and cannot do by its nature, and in what order its candidates come: groups
whose lightest member grows, so that a search may stop. Judges nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, partial
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from models.drive.electronics import THREE_PHASE_VOLTAGE
from models.electric.candidate import MACHINE
from models.electric.catalogue import choices, constants, coolings, magnet_records
from models.electric.coil import blank_rows, build_coils, coil_shapes, describe_coil, magnetics
from models.electric.rotary import (
    build_rotaries,
    describe_rotary,
    describe_servo,
    made_transmissions,
    motors,
    servos,
)
from models.electric.tubular import build_tubulars, describe_tubular, tubular_shapes

FamilyName = Literal["direct_coil", "tubular", "rotary", "servo"]
Rows = NDArray[np.void]
MOTORS_A_GROUP = 6


class Group(NamedTuple):
    """Candidates that share a size: the number of the first, how many there are, bounds on all of them, and a callable
    that writes them as rows of MACHINE, into the array of the group written before.

    strongest: none bears a greater load, N, be it driven and helped by its own rubbing; slimmest: no outer diameter is
    less, m.
    """

    first: int
    size: int
    strongest: float
    slimmest: float
    build: Callable[[], Rows]


@dataclass(frozen=True)
class Family:
    """A kind of actuator.

    groups(stroke, force, every_size) lists its candidates by rising size, and may leave out sizes too small to reach
    the force (N) unless every one is asked for; row(number, stroke, force) rebuilds one; describe(number, stroke) tells
    its choices; depends_on_force: its masses follow the largest force; sets_force: it can control force, not position
    only; parts: pieces of one actuator with its drive.
    """

    name: FamilyName
    label: str
    groups: Callable[[float, float, bool], list[Group]]
    row: Callable[[int, float, float], Rows]
    describe: Callable[[int, float], dict[str, float | str]]
    coolings: tuple[str, ...]
    depends_on_force: bool
    sets_force: bool
    parts: int


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


def slimmest_winding(family: Literal["coil", "tubular"], diameter: float) -> float:
    """Bound, m, below every outer diameter of a mover `diameter` m: its thinnest winding, the tube's wall left out."""
    fixed, thinnest = magnetics(), min(choices(family, "winding_thickness"))
    clearance = max(float(fixed["clearance_min"]), float(fixed["clearance_share"]) * diameter)
    return diameter + 2.0 * (clearance + thinnest * diameter)


class Wound(NamedTuple):
    """How a family whose size is its mover's diameter is made: its name in the data room, its proportions, its phases,
    voltage over bus voltage, the bound on its force, and what writes all machines of one diameter."""

    kind: Literal["coil", "tubular"]
    shapes: Callable[[], NDArray[np.float64]]
    phases: float
    voltage_share: float
    greatest_force: Callable[[float], float]
    build: Callable[..., None]


COIL = Wound("coil", coil_shapes, 1.0, 1.0, greatest_coil_force, build_coils)
TUBULAR = Wound("tubular", tubular_shapes, 3.0, THREE_PHASE_VOLTAGE, greatest_tubular_force, build_tubulars)


@cache
def _sizes(wound: Wound) -> tuple[tuple[float, float, float], ...]:
    """Every mover diameter, m, with its bounds: strongest, N, and slimmest, m."""
    diameters = choices(wound.kind, "mover_diameter")
    return tuple((d, wound.greatest_force(d), slimmest_winding(wound.kind, d)) for d in diameters)


def _wound_groups(wound: Wound, stroke: float, force: float, every_size: bool) -> list[Group]:
    shapes, grades, fixed = wound.shapes(), magnet_records(), magnetics()
    rows = blank_rows(len(shapes), wound.phases, wound.voltage_share)

    def build(diameter: float) -> Rows:
        wound.build(rows, diameter, shapes, grades, stroke, fixed)
        return rows

    return [
        Group(place * len(rows), len(rows), strongest, slimmest, partial(build, diameter))
        for place, (diameter, strongest, slimmest) in enumerate(_sizes(wound))
        if strongest >= force or every_size
    ]


def _wound_row(wound: Wound, number: int, stroke: float, force: float) -> Rows:
    shapes, grades = wound.shapes(), magnet_records()
    (place, shape), grade = divmod(number // len(grades), len(shapes)), number % len(grades)
    rows, diameter = blank_rows(1, wound.phases, wound.voltage_share), _sizes(wound)[place][0]
    wound.build(rows, diameter, shapes[shape : shape + 1], grades, stroke, magnetics())
    return rows[grade : grade + 1]


def _rotary_groups(stroke: float, force: float, every_size: bool) -> list[Group]:
    machines, gears = motors(), made_transmissions(stroke, force)
    buffer, rubbing = np.zeros(MOTORS_A_GROUP * len(gears), MACHINE), constants()["geared_friction_share"] * force
    shortest = float((gears["travel"] * gears["efficiency"]).min())

    def build(some: Rows) -> Rows:
        rows = buffer[: len(some) * len(gears)]
        build_rotaries(rows, some, gears, rubbing)
        return rows

    groups = []
    for start in range(0, len(machines), MOTORS_A_GROUP):
        some = machines[start : start + MOTORS_A_GROUP]
        strongest, slimmest = float(some["force_limit"].max()) / shortest, float(some["outer_diameter"].min())
        groups.append(Group(start * len(gears), len(some) * len(gears), strongest, slimmest, partial(build, some)))
    return groups


def _rotary_row(number: int, stroke: float, force: float) -> Rows:
    gears = made_transmissions(stroke, force)
    motor, gear = divmod(number, len(gears))
    rows = np.zeros(1, MACHINE)
    build_rotaries(
        rows, motors()[motor : motor + 1], gears[gear : gear + 1], constants()["geared_friction_share"] * force
    )
    return rows


def _servo_groups(stroke: float, force: float, every_size: bool) -> list[Group]:
    rows = servos(stroke)
    return [Group(0, len(rows), math.inf, 0.0, lambda: rows)]


def _servo_row(number: int, stroke: float, force: float) -> Rows:
    return servos(stroke)[number : number + 1]


ALL_COOLINGS = tuple(coolings())

FAMILIES: Mapping[FamilyName, Family] = {
    family.name: family
    for family in (
        Family(
            "direct_coil",
            "moving-magnet direct coil",
            partial(_wound_groups, COIL),
            partial(_wound_row, COIL),
            lambda number, stroke: describe_coil(number),
            ALL_COOLINGS,
            depends_on_force=False,
            sets_force=True,
            parts=2,
        ),
        Family(
            "tubular",
            "three-phase tubular linear machine",
            partial(_wound_groups, TUBULAR),
            partial(_wound_row, TUBULAR),
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
