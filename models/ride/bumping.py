"""The duty `bump`: a (1 - cos) bump that both wheels of an axle meet together, the rear ones later.

The linear car in its pitch plane, in the time domain and exact at each sample: the bump is a steady (1 - cos) motion
that begins, less the same begun one period later, so that the response follows from one matrix exponential.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import KERNEL
from models.demand import AxleDuty
from models.duty import Bump
from models.quantity import on_wire
from models.ride.driving import active_planes, growth_of, ride_law, settles
from models.ride.linear import ROWS, Plane, Row, passive_planes
from models.ride.motion import Burst, Trace, traced_duty
from models.ride.outcome import DutyOutcome, lift_off_warning, stroke_warning, unstable_outcome
from models.ride.vehicle import Corner, Vehicle
from models.spec import Position
from models.warning import DesignWarning

Floats = NDArray[np.float64]

BODY_CYCLES = 4.0
"""Periods of the body followed after the last wheel has left the bump."""

MOST_SAMPLES = 4096
DRAWN_SAMPLES = 240

BURST_SHARE = 0.95
"""Share of the actuator's path that counts as the burst."""


@dataclass(frozen=True)
class BumpTrace:
    """One axle's corner over time: at the wheel, but force and velocity at the actuator."""

    position: Position
    time: tuple[Annotated[float, on_wire("s")], ...]
    road: tuple[Annotated[float, on_wire("mm")], ...]
    body_acceleration: tuple[Annotated[float, on_wire("m_s2")], ...]
    body_acceleration_passive: tuple[Annotated[float, on_wire("m_s2")], ...]
    travel: tuple[Annotated[float, on_wire("mm")], ...]
    travel_passive: tuple[Annotated[float, on_wire("mm")], ...]
    force: tuple[Annotated[float, on_wire("n")], ...]
    velocity: tuple[Annotated[float, on_wire("m_s")], ...]


@dataclass(frozen=True)
class BumpAxle:
    """Largest values at one axle's corner, at the wheel."""

    position: Position
    body_acceleration: Annotated[float, on_wire("m_s2")]
    body_acceleration_passive: Annotated[float, on_wire("m_s2")]
    travel_in: Annotated[float, on_wire("mm", about="Largest compression")]
    travel_out: Annotated[float, on_wire("mm", about="Largest extension")]
    travel_in_passive: Annotated[float, on_wire("mm")]
    travel_out_passive: Annotated[float, on_wire("mm")]
    tyre_unload: Annotated[float, on_wire("n", about="Largest loss of tyre load")]
    tyre_load_static: Annotated[float, on_wire("n")]


@dataclass(frozen=True)
class BumpAnswer:
    """A bump: largest values against the passive car, and their course."""

    label: str
    kind: str
    road_velocity: Annotated[float, on_wire("m_s", about="Largest vertical velocity of the bump: π·h·V/L")]
    road_acceleration: Annotated[float, on_wire("m_s2", about="Largest vertical acceleration: 2π²·h·V²/L²")]
    axles: tuple[BumpAxle, ...]
    traces: tuple[BumpTrace, ...]


def bump_velocity(height: float, length: float, speed: float) -> float:
    """Largest vertical velocity of a (1 - cos) bump, m/s. Derived from its form."""
    return math.pi * height * speed / length


def bump_acceleration(height: float, length: float, speed: float) -> float:
    """Largest vertical acceleration of a (1 - cos) bump, m/s². Derived from its form."""
    return 2.0 * math.pi**2 * height * (speed / length) ** 2


def pass_bump(vehicle: Vehicle, duty: Bump) -> DutyOutcome[BumpAnswer]:
    """The duty `bump` of a completed spec."""
    law = ride_law(duty.control)
    car = active_planes(vehicle, law)
    growth = growth_of(car)
    if not settles(car):
        return unstable_outcome(duty.label, law, growth)
    time = _times(vehicle, duty)
    now, before = (bump_response(plane, vehicle, duty, time) for plane in (car[0], passive_planes(vehicle)[0]))
    step = _in_step(now, vehicle)
    duties, axles, traces, warnings = {}, [], [], []
    for j, corner in enumerate(vehicle.corners):
        rows, old = now[:, j * ROWS : (j + 1) * ROWS], before[:, j * ROWS : (j + 1) * ROWS]
        axles.append(_axle_answer(corner, rows, old))
        traces.append(_drawn(corner, duty, time - j * vehicle.wheelbase / duty.speed, time, rows, old))
        if corner.fitted:
            duties[corner.position] = _axle_duty(duty, vehicle, corner, time, rows, step, law.bandwidth)
        warnings += _warnings(f"demand.{corner.position}.{duty.label}", corner, axles[-1])
    answer = BumpAnswer(
        duty.label,
        duty.kind,
        bump_velocity(duty.height, duty.length, duty.speed),
        bump_acceleration(duty.height, duty.length, duty.speed),
        tuple(axles),
        tuple(traces),
    )
    return DutyOutcome(answer, duties, tuple(warnings))


def _times(vehicle: Vehicle, duty: Bump) -> Floats:
    delay = vehicle.wheelbase / duty.speed if len(vehicle.corners) == 2 else 0.0
    body = max(1.0 / corner.body_frequency for corner in vehicle.corners)
    wheel = max(corner.wheel_frequency for corner in vehicle.corners)
    passing = duty.length / duty.speed
    total = passing + delay + BODY_CYCLES * body
    step = min(passing / 32.0, 1.0 / (20.0 * wheel))
    return np.linspace(0.0, total, min(MOST_SAMPLES, 1 + math.ceil(total / step)))


def bump_response(plane: Plane, vehicle: Vehicle, duty: Bump, time: Floats) -> Floats:
    """Outputs of a plane (shape: times, rows of C) over the bump; `time` in equal steps from the front's arrival."""
    passing = duty.length / duty.speed
    step = float(time[1] - time[0])
    total = np.zeros((time.size, plane.c.shape[0]))
    for axle in range(plane.b.shape[1]):
        start = axle * vehicle.wheelbase / duty.speed
        for begin, sign in ((start, 1.0), (start + passing, -1.0)):
            first = int(np.searchsorted(time, begin))
            if first < time.size:
                late = float(time[first]) - begin
                total[first:] += sign * _begun(plane, axle, duty.height, passing, late, step, time.size - first)
    return total


def _begun(plane: Plane, axle: int, height: float, period: float, late: float, step: float, count: int) -> Floats:
    """Outputs when the road under one axle follows h/2·(1 - cos) from rest: at `late`, then each `step`."""
    size = plane.a.shape[0]
    omega = 2.0 * math.pi / period
    whole = np.zeros((size + 3, size + 3))  # the plane, then h/2, h/2·cos, h/2·sin
    whole[:size, :size] = plane.a
    whole[:size, size] = plane.b[:, axle]
    whole[:size, size + 1] = -plane.b[:, axle]
    whole[size + 1, size + 2], whole[size + 2, size + 1] = -omega, omega
    state = np.zeros(size + 3)
    state[size] = state[size + 1] = 0.5 * height
    states = np.empty((count, size + 3))
    states[0] = exponential(whole * late) @ state
    _march(exponential(whole * step), states)
    road = states[:, size] - states[:, size + 1]
    outputs: Floats = np.einsum("ki,ri->kr", states[:, :size], plane.c) + road[:, None] * plane.d[:, axle]
    return outputs


@njit(**KERNEL)
def _march(advance: Floats, states: Floats) -> None:
    """Fill states, [step, state], from the second on: each `advance` times the one before."""
    size = states.shape[1]
    for k in range(1, states.shape[0]):
        for i in range(size):
            total = 0.0
            for j in range(size):
                total += advance[i, j] * states[k - 1, j]
            states[k, i] = total


def exponential(matrix: Floats) -> Floats:
    """Exponential of a small matrix: a Taylor series of the matrix scaled below one half, squared back.

    Error below 1e-13 of its norm for the sizes met here. Written out because a threaded library call on so small a
    matrix waits longer for its threads than it works.
    """
    norm = float(np.max(np.abs(matrix).sum(axis=1)))
    halvings = max(0, math.ceil(math.log2(max(norm, 1e-300))) + 1)
    scaled = matrix / 2.0**halvings
    result = term = np.eye(matrix.shape[0])
    for order in range(1, 15):
        term = scaled @ term / order
        result = result + term
    for _ in range(halvings):
        result = result @ result
    return result


def _in_step(response: Floats, vehicle: Vehicle) -> float:
    """Share of the corners that extend together when the supply of all of them is largest."""
    rates = np.stack(
        [response[:, j * ROWS + Row.SUPPLY_RATE] * c.ratio for j, c in enumerate(vehicle.corners) if c.fitted], axis=1
    )
    spread = np.abs(rates).sum(axis=1)
    k = int(np.argmax(spread))
    return float(np.maximum(rates[k], 0.0).sum() / spread[k]) if spread[k] > 0.0 else 0.5


def _axle_duty(
    duty: Bump, vehicle: Vehicle, corner: Corner, time: Floats, rows: Floats, in_step: float, bandwidth: float
) -> AxleDuty:
    """The duty of the course; burst and means are those of the part in which nearly all of its path lies."""
    rate = rows[:, Row.SUPPLY_RATE]
    path = np.concatenate([[0.0], np.cumsum(0.5 * (np.abs(rate[1:]) + np.abs(rate[:-1])) * np.diff(time))])
    cut = _nearly_all(path)
    out = float(np.trapezoid(np.maximum(rate[cut], 0.0), time[cut]))
    back = float(np.trapezoid(np.maximum(-rate[cut], 0.0), time[cut]))
    whole = _trace(vehicle, time, rows, slice(None))
    passing = duty.length / duty.speed
    return traced_duty(
        duty.label,
        duty.kind,
        duty.share_of_time,
        corner.ratio,
        (whole,),
        Burst(float(time[cut][-1] - time[cut][0]), out, back),
        1.0 / passing,
        bandwidth,
        1.0 / passing,
        in_step,
        counted=_trace(vehicle, time, rows, cut),
    )


def _nearly_all(path: Floats) -> slice:
    """The samples between which all but a little of a path is covered; all of them when there is no path."""
    if path[-1] == 0.0:
        return slice(None)
    rest = 0.5 * (1.0 - BURST_SHARE) * path[-1]
    begin = max(0, int(np.searchsorted(path, rest, side="right")) - 1)
    end = max(begin + 2, int(np.searchsorted(path, path[-1] - rest)))
    return slice(begin, end + 1)


def _trace(vehicle: Vehicle, time: Floats, rows: Floats, part: slice) -> Trace:
    wheel = control = None
    if vehicle.arrangement != "parallel":
        wheel, control = rows[part, Row.TRAVEL_RATE], rows[part, Row.CONTROL_FORCE]
    force, travel, rate = (rows[part, row] for row in (Row.FORCE, Row.SUPPLY_TRAVEL, Row.SUPPLY_RATE))
    return Trace(time[part], force, travel, rate, wheel, control)


def _axle_answer(corner: Corner, now: Floats, before: Floats) -> BumpAxle:
    def largest(values: Floats) -> float:
        return float(np.max(values))

    return BumpAxle(
        position=corner.position,
        body_acceleration=largest(np.abs(now[:, Row.BODY_ACCELERATION])),
        body_acceleration_passive=largest(np.abs(before[:, Row.BODY_ACCELERATION])),
        travel_in=max(0.0, largest(-now[:, Row.TRAVEL])),
        travel_out=max(0.0, largest(now[:, Row.TRAVEL])),
        travel_in_passive=max(0.0, largest(-before[:, Row.TRAVEL])),
        travel_out_passive=max(0.0, largest(before[:, Row.TRAVEL])),
        tyre_unload=max(0.0, corner.tyre * largest(now[:, Row.TYRE])),
        tyre_load_static=corner.static_tyre_load,
    )


def _warnings(place: str, corner: Corner, axle: BumpAxle) -> list[DesignWarning]:
    found = []
    for travel, available in ((axle.travel_in, corner.bump), (axle.travel_out, corner.droop)):
        if travel > available:
            found.append(stroke_warning(place, travel, available))
    if axle.tyre_unload > axle.tyre_load_static:
        found.append(lift_off_warning(place, axle.tyre_unload, axle.tyre_load_static))
    return found


def _drawn(corner: Corner, duty: Bump, since: Floats, time: Floats, now: Floats, before: Floats) -> BumpTrace:
    passing = duty.length / duty.speed
    inside = (since >= 0.0) & (since <= passing)
    road = np.where(inside, 0.5 * duty.height * (1.0 - np.cos(2.0 * math.pi * since / passing)), 0.0)
    kept = slice(None, None, max(1, math.ceil(time.size / DRAWN_SAMPLES)))

    def values(array: Floats) -> tuple[float, ...]:
        return tuple(array[kept].tolist())

    return BumpTrace(
        position=corner.position,
        time=values(time),
        road=values(road),
        body_acceleration=values(now[:, Row.BODY_ACCELERATION]),
        body_acceleration_passive=values(before[:, Row.BODY_ACCELERATION]),
        travel=values(now[:, Row.TRAVEL]),
        travel_passive=values(before[:, Row.TRAVEL]),
        force=values(now[:, Row.FORCE] / corner.ratio),
        velocity=values(now[:, Row.SUPPLY_RATE] * corner.ratio),
    )
