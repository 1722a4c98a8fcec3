"""The linear car: heave, pitch, roll and four wheels, under road heights and a ride law.

A car that is alike left and right falls into two planes that do not know each other: heave and pitch, driven by the
mean of the two tracks, and roll, driven by half their difference. Each plane is one side of the car. A single corner,
or an axle alone, is the same with fewer masses. Small motions about the static height: no end stops, no lift-off, tyres
without damping. Axes as in ISO 8855: heights up; pitch positive nose down, roll positive left side up.
"""

from __future__ import annotations

import enum
import functools
import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import hessenberg, matrix_balance

from models.ride.control import CornerLaw
from models.ride.vehicle import Arrangement, Corner, Vehicle

Floats = NDArray[np.float64]


class Row(enum.IntEnum):
    """Outputs of one corner, at the wheel, in order; a force is positive when it pushes body and wheel apart."""

    BODY_ACCELERATION = 0
    TRAVEL = 1  # body height less wheel height: positive extends
    TRAVEL_RATE = 2
    TYRE = 3  # wheel height less road height: negative compresses
    CONTROL_FORCE = 4  # what the ride law adds to springs and dampers
    FORCE = 5  # what the actuator carries, without the weight
    SUPPLY_TRAVEL = 6  # what the supply must move: the actuator's own travel, or the oil as travel
    SUPPLY_RATE = 7


ROWS = len(Row)


@dataclass(frozen=True)
class Plane:
    """One plane of the car as x' = A·x + B·r, y = C·x + D·r, with r the road heights under its axles.

    Rows of y: `ROWS` for each corner in turn, then the accelerations of the body's own freedoms (heave, or heave and
    pitch, or roll), then the sum of the fitted corners' supply rates at the actuators.
    """

    name: str
    corners: tuple[Corner, ...]
    body_freedoms: int
    a: Floats
    b: Floats
    c: Floats
    d: Floats

    @property
    def body_row(self) -> int:
        """First row of the body's own accelerations."""
        return len(self.corners) * ROWS

    @property
    def supply_sum_row(self) -> int:
        return self.body_row + self.body_freedoms

    @functools.cached_property
    def hessenberg(self) -> tuple[Floats, Floats, Floats]:
        """A, B and C in coordinates that make A upper Hessenberg, balanced first so that no unit rules the rounding."""
        balanced, (scale, _) = matrix_balance(self.a, permute=False, separate=True)
        matrix, turn = hessenberg(balanced, calc_q=True)
        into, out = turn.T @ (self.b / scale[:, None]), (self.c * scale) @ turn
        return np.ascontiguousarray(matrix), np.ascontiguousarray(into), np.ascontiguousarray(out)

    @functools.cached_property
    def eigenvalues(self) -> NDArray[np.complex128]:
        values: NDArray[np.complex128] = np.linalg.eigvals(self.a).astype(complex)
        return values

    @property
    def growth(self) -> float:
        """Largest real part of the eigenvalues, 1/s: negative when the plane is stable."""
        return float(np.max(self.eigenvalues.real))


def planes(vehicle: Vehicle, laws: tuple[CornerLaw | None, ...]) -> tuple[Plane, ...]:
    """The planes of a vehicle whose corners obey `laws`, one for each axle; None is an actuator without force.

    The first plane is the mean of left and right; the second, where there are two sides, half their difference.
    """
    if vehicle.single or len(vehicle.corners) == 1:
        corner = vehicle.corners[0]
        first = _plane("heave", vehicle, laws, np.ones((1, 1)), np.array([[corner.sprung_mass]]), False)
    else:
        front, rear = vehicle.corners
        half = front.sprung_mass + rear.sprung_mass
        ahead = vehicle.wheelbase * rear.sprung_mass / half
        arms = np.array([[1.0, -ahead], [1.0, vehicle.wheelbase - ahead]])
        first = _plane("pitch", vehicle, laws, arms, np.diag([half, 0.5 * vehicle.pitch_inertia]), False)
    if vehicle.single:
        return (first,)
    arms = np.full((len(vehicle.corners), 1), 0.5 * vehicle.track)
    return first, _plane("roll", vehicle, laws, arms, np.array([[0.5 * vehicle.roll_inertia]]), True)


def passive_planes(vehicle: Vehicle) -> tuple[Plane, ...]:
    """The same vehicle with its reference dampers, springs that carry the weight, and no actuator."""
    corners = tuple(replace(corner, damping=corner.reference_damping, orifice=0.0) for corner in vehicle.corners)
    return planes(replace(vehicle, corners=corners, arrangement="parallel"), (None,) * len(corners))


def _plane(
    name: str, vehicle: Vehicle, laws: tuple[CornerLaw | None, ...], arms: Floats, body: Floats, rolling: bool
) -> Plane:
    """Assemble one plane. arms: height of each corner per unit of each body freedom; body: its mass matrix.

    Every signal is a row over (x, r); x holds body freedoms, wheel heights, their rates, then the law's own states.
    """
    corners = vehicle.corners
    freedoms, wheels = body.shape[0], len(corners)
    places = freedoms + wheels
    extra = [
        0 if law is None else law.states + _supply_states(vehicle.arrangement, c)
        for c, law in zip(corners, laws, strict=True)
    ]
    size = 2 * places + sum(extra)
    width = size + wheels
    unit = np.eye(width)
    heights, rates = unit[:places], unit[places : 2 * places]
    rows = np.zeros((size, width))
    rows[:places] = rates
    outputs = np.zeros((wheels * ROWS + freedoms + 1, width))
    on_body = np.zeros((freedoms, width))
    state = 2 * places
    for j, (corner, law) in enumerate(zip(corners, laws, strict=True)):
        out = outputs[j * ROWS : (j + 1) * ROWS]
        body_rate = arms[j] @ rates[:freedoms]
        travel = arms[j] @ heights[:freedoms] - heights[freedoms + j]
        rate = body_rate - rates[freedoms + j]
        tyre = heights[freedoms + j] - unit[size + j]
        control, control_rate = np.zeros(width), None
        if law is not None:
            command = law.gains @ np.array([travel, body_rate, tyre, rates[freedoms + j]])
            control, control_rate, state = _filtered(law, command, rows, unit, state)
        spring = corner.spring + (2.0 * corner.anti_roll / vehicle.track**2 if rolling else 0.0)
        between = control - spring * travel - corner.damping * rate
        on_body += np.outer(arms[j], between)
        rows[places + freedoms + j] = (-corner.tyre * tyre - between) / corner.unsprung_mass
        out[Row.TRAVEL], out[Row.TRAVEL_RATE], out[Row.TYRE] = travel, rate, tyre
        out[Row.CONTROL_FORCE] = control
        state = _supply(vehicle.arrangement, corner, out, control_rate, rows, unit, state)
        if corner.fitted:
            outputs[-1] += corner.ratio * out[Row.SUPPLY_RATE]
    accelerations = np.linalg.solve(body, on_body)
    rows[places : places + freedoms] = accelerations
    for j in range(wheels):
        outputs[j * ROWS + Row.BODY_ACCELERATION] = arms[j] @ accelerations
    outputs[wheels * ROWS : -1] = accelerations
    return Plane(
        name,
        corners,
        freedoms,
        *(
            np.ascontiguousarray(part)
            for part in (rows[:, :size], rows[:, size:], outputs[:, :size], outputs[:, size:])
        ),
    )


def _filtered(
    law: CornerLaw, command: Floats, rows: Floats, unit: Floats, state: int
) -> tuple[Floats, Floats | None, int]:
    """Pass a command through low cut and lag: the force, its rate where it has one, the next free state."""
    if law.low_cut > 0.0:
        slow = unit[state]
        rows[state] = 2.0 * math.pi * law.low_cut * (command - slow)
        command = command - slow
        state += 1
    if math.isinf(law.bandwidth):
        return command, None, state
    force = unit[state]
    rows[state] = 2.0 * math.pi * law.bandwidth * (command - force)
    return force, rows[state].copy(), state + 1


def _supply_states(arrangement: Arrangement, corner: Corner) -> int:
    return 1 if arrangement == "corner_accumulator" and corner.fitted and corner.orifice > 0.0 else 0


def _supply(
    arrangement: Arrangement,
    corner: Corner,
    out: Floats,
    control_rate: Floats | None,
    rows: Floats,
    unit: Floats,
    state: int,
) -> int:
    """Fill what the actuator carries and what its supply must move; returns the next free state.

    parallel: the actuator moves with the wheel and gives the control force alone. series: it carries the spring's force
    and moves the spring's seat, by control force over spring rate. corner_accumulator: the chamber holds spring,
    orifice and control force; the oil that the valve adds, as travel u, makes the control force k·u + c·u'.
    """
    travel, rate, control = out[Row.TRAVEL], out[Row.TRAVEL_RATE], out[Row.CONTROL_FORCE]
    if arrangement == "parallel" or not corner.fitted:
        out[Row.FORCE], out[Row.SUPPLY_TRAVEL], out[Row.SUPPLY_RATE] = control, travel, rate
        return state
    out[Row.FORCE] = control - corner.spring * travel - corner.orifice * rate
    if corner.orifice > 0.0:
        moved = unit[state]
        rows[state] = (control - corner.spring * moved) / corner.orifice
        out[Row.SUPPLY_TRAVEL], out[Row.SUPPLY_RATE] = moved, rows[state]
        return state + 1
    if control_rate is None:
        raise ValueError("an actuator in series with a spring needs a bandwidth: an instant force is an infinite speed")
    out[Row.SUPPLY_TRAVEL], out[Row.SUPPLY_RATE] = control / corner.spring, control_rate / corner.spring
    return state
