"""The duty `rig`: an eccentric shakes one corner through its tyre, at a frequency or swept between two.

Harmonic motion of the linear corner: with the passive damper, under the ride law, and with the body held still. Knows
where the tyre's load swing reaches its static load: there the follower lifts off and the numbers end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from models.demand import AxleDuty
from models.duty import Rig
from models.quantity import STANDARD_GRAVITY, on_wire, plain
from models.ride.driving import active_planes, ride_law, settles
from models.ride.linear import ROWS, Plane, Row, passive_planes
from models.ride.motion import Burst, Trace, traced_duty
from models.ride.outcome import DutyOutcome, lift_off_warning, stroke_warning, unstable_outcome
from models.ride.response import Complexes, frequency_response
from models.ride.vehicle import Corner, Vehicle
from models.spec import Position
from models.warning import DesignWarning, warn

Floats = NDArray[np.float64]

SWEEP_POINTS = 60
"""Frequencies taken in a sweep, evenly spaced."""

CYCLE_SAMPLES = 48
"""Samples of one cycle."""

LIFT_OFF_SPAN = (0.05, 20.0)
"""Span searched for lift-off: from this share of the body's frequency to this multiple of the wheel's."""

BODY_FREQUENCY_SHARE = 0.25
"""How near to the body's own frequency a shaken corner counts as balanced by its spring."""


@dataclass(frozen=True)
class RigAxle:
    """A corner of one axle on the eccentric; lists follow `frequency`. Amplitudes, at the wheel."""

    position: Position
    frequency: tuple[Annotated[float, on_wire("hz")], ...]
    body_motion: tuple[Annotated[float, on_wire("mm")], ...]
    body_motion_passive: tuple[Annotated[float, on_wire("mm")], ...]
    control_force: tuple[Annotated[float, on_wire("n")], ...]
    hold_still_force: tuple[Annotated[float, on_wire("n", about="Actuator force that keeps the body still")], ...]
    travel: tuple[Annotated[float, on_wire("mm")], ...]
    tyre_load: tuple[Annotated[float, on_wire("n", about="Swing of the tyre's load")], ...]
    tyre_load_passive: tuple[Annotated[float, on_wire("n")], ...]
    tyre_load_static: Annotated[float, on_wire("n")]
    lift_off_frequency: Annotated[float | None, on_wire("hz", about="Under the duty; None: not within reach")]
    lift_off_frequency_passive: Annotated[float | None, on_wire("hz")]
    lift_off_frequency_held: Annotated[float | None, on_wire("hz", about="With the body held still")]
    lift_off_frequency_rigid: Annotated[float, on_wire("hz", about="Of a rigid follower: sqrt(g/throw)/2π")]


@dataclass(frozen=True)
class RigAnswer:
    """A rig duty: the body with and without the actuator, and where contact ends."""

    label: str
    kind: str
    held_still: bool
    axles: tuple[RigAxle, ...]


def shake(vehicle: Vehicle, duty: Rig) -> DutyOutcome[RigAnswer]:
    """The duty `rig`: each fitted axle's corner in turn, alone; on a vehicle the other corners stand meanwhile."""
    last = duty.frequency_to if duty.frequency_to is not None else duty.frequency
    count = SWEEP_POINTS if duty.frequency_to is not None else 1
    frequency = np.linspace(duty.frequency, last, count)
    corners_in_all = vehicle.sides * len(vehicle.fitted)
    duties, axles, warnings = {}, [], []
    for corner in vehicle.fitted:
        alone = replace(vehicle, corners=(corner,), single=True)
        law = ride_law(duty.control)
        active, passive = active_planes(alone, law)[0], passive_planes(alone)[0]
        if not duty.hold_body_still and not settles((active,)):
            return unstable_outcome(duty.label, law, active.growth)
        throw = duty.eccentricity
        now = _held(corner, frequency, vehicle) if duty.hold_body_still else frequency_response(active, frequency, 0.0)
        before, still = frequency_response(passive, frequency, 0.0), _held(corner, frequency, vehicle)
        swing = corner.tyre * throw * np.abs(now[:, Row.TYRE])
        contact = swing <= corner.static_tyre_load
        used = contact if duty.hold_body_still and np.any(contact) else np.ones_like(contact)
        duties[corner.position] = _axle_duty(
            duty, vehicle, corner, frequency[used], throw * now[used], 1.0 / corners_in_all, law.bandwidth
        )
        place = f"demand.{corner.position}.{duty.label}"
        warnings += _warnings(place, corner, throw * now[used], swing)
        axles.append(
            RigAxle(
                position=corner.position,
                frequency=_values(frequency),
                body_motion=_values(throw * _body_motion(now, frequency)),
                body_motion_passive=_values(throw * _body_motion(before, frequency)),
                control_force=_values(throw * np.abs(now[:, Row.CONTROL_FORCE])),
                hold_still_force=_values(throw * np.abs(still[:, Row.CONTROL_FORCE])),
                travel=_values(throw * np.abs(now[:, Row.TRAVEL])),
                tyre_load=_values(swing),
                tyre_load_passive=_values(corner.tyre * throw * np.abs(before[:, Row.TYRE])),
                tyre_load_static=corner.static_tyre_load,
                lift_off_frequency=lift_off(corner, throw, None if duty.hold_body_still else active),
                lift_off_frequency_passive=lift_off(corner, throw, passive),
                lift_off_frequency_held=lift_off(corner, throw, None),
                lift_off_frequency_rigid=rigid_lift_off(throw),
            )
        )
    return DutyOutcome(RigAnswer(duty.label, duty.kind, duty.hold_body_still, tuple(axles)), duties, tuple(warnings))


def rigid_lift_off(throw: float) -> float:
    """Frequency in Hz at which a free mass leaves a rigid eccentric of `throw` m: sqrt(g/e)/2π. Derived."""
    return math.sqrt(STANDARD_GRAVITY / throw) / (2.0 * math.pi)


def lift_off(corner: Corner, throw: float, plane: Plane | None) -> float | None:
    """Lowest frequency in Hz at which the tyre's load swing reaches its static load; None when none does.

    plane: the corner's response; None for a body held still.
    """
    low, high = LIFT_OFF_SPAN
    frequency = np.geomspace(low * corner.body_frequency, high * corner.wheel_frequency, 600)
    for _ in range(4):
        tyre = _held_tyre(corner, frequency) if plane is None else _tyre(plane, frequency)
        over = np.flatnonzero(corner.tyre * throw * tyre > corner.static_tyre_load)
        if over.size == 0:
            return None
        k = int(over[0])
        if k == 0:
            break
        frequency = np.linspace(frequency[k - 1], frequency[k], 65)
    return float(frequency[k])


def _tyre(plane: Plane, frequency: Floats) -> Floats:
    return np.abs(frequency_response(plane, frequency, 0.0)[:, Row.TYRE])


def _held_tyre(corner: Corner, frequency: Floats) -> Floats:
    """Tyre deflection per throw of a body held still: the wheel hangs on its tyre alone. Infinite at that mode."""
    square = corner.unsprung_mass * (2.0 * math.pi * frequency) ** 2
    with np.errstate(divide="ignore"):
        return square / np.abs(corner.tyre - square)


def _held(corner: Corner, frequency: Floats, vehicle: Vehicle) -> Complexes:
    """Outputs of the corner per throw when the actuator holds the body still: nothing acts between body and wheel."""
    omega = 2.0 * math.pi * frequency
    square = corner.unsprung_mass * omega**2
    gap = np.where(np.abs(corner.tyre - square) > 1e-9 * corner.tyre, corner.tyre - square, 1e-9 * corner.tyre)
    wheel = corner.tyre / gap
    rate = -1j * omega * wheel
    out = np.zeros((frequency.size, ROWS), dtype=complex)
    out[:, Row.TRAVEL], out[:, Row.TRAVEL_RATE], out[:, Row.TYRE] = -wheel, rate, wheel - 1.0
    out[:, Row.CONTROL_FORCE] = -corner.spring * wheel + corner.damping * rate
    if vehicle.arrangement == "parallel":
        out[:, Row.FORCE], out[:, Row.SUPPLY_TRAVEL], out[:, Row.SUPPLY_RATE] = out[:, Row.CONTROL_FORCE], -wheel, rate
        return out
    out[:, Row.FORCE] = (corner.damping - corner.orifice) * rate
    moved = out[:, Row.CONTROL_FORCE] / (corner.spring + 1j * omega * corner.orifice)
    out[:, Row.SUPPLY_TRAVEL], out[:, Row.SUPPLY_RATE] = moved, 1j * omega * moved
    return out


def _body_motion(response: Complexes, frequency: Floats) -> Floats:
    return np.abs(response[:, Row.BODY_ACCELERATION]) / (2.0 * math.pi * frequency) ** 2


def _axle_duty(
    duty: Rig,
    vehicle: Vehicle,
    corner: Corner,
    frequency: Floats,
    response: Complexes,
    moving_share: float,
    bandwidth: float,
) -> AxleDuty:
    """The duty of cycles at each frequency, each for as long as the others."""
    phase = np.exp(2j * math.pi * np.arange(CYCLE_SAMPLES + 1) / CYCLE_SAMPLES)

    def course(row: Row) -> Floats:
        return np.real(response[:, row, None] * phase)

    force, travel, velocity = course(Row.FORCE), course(Row.SUPPLY_TRAVEL), course(Row.SUPPLY_RATE)
    wheel = control = None
    if vehicle.arrangement != "parallel":
        wheel, control = course(Row.TRAVEL_RATE).ravel(), course(Row.CONTROL_FORCE).ravel()
    # Equal times at each frequency: one cycle of each, laid end to end in units of its own cycle.
    cycles = np.arange(frequency.size)[:, None] + np.arange(CYCLE_SAMPLES + 1) / CYCLE_SAMPLES
    trace = Trace(cycles.ravel(), force.ravel(), travel.ravel(), velocity.ravel(), wheel, control)
    fastest = int(np.argmax(np.abs(response[:, Row.SUPPLY_RATE])))
    top = float(frequency[fastest])
    return traced_duty(
        duty.label,
        duty.kind,
        duty.share_of_time,
        corner.ratio,
        (trace,),
        Burst(0.0, 0.0, 0.0),
        top,
        top if duty.hold_body_still else bandwidth,
        top,
        1.0,
        moving_share=moving_share,
    )


def _warnings(place: str, corner: Corner, response: Complexes, swing: Floats) -> list[DesignWarning]:
    found = []
    travel = float(np.max(np.abs(response[:, Row.TRAVEL])))
    available = min(corner.bump, corner.droop)
    if travel > available:
        found.append(stroke_warning(place, travel, available))
    if float(np.max(swing)) > corner.static_tyre_load:
        found.append(lift_off_warning(place, float(np.max(swing)), corner.static_tyre_load))
    return found


def body_frequency_warning(corner: Corner, duty: Rig) -> DesignWarning | None:
    """A warning when the corner is shaken only near its body's own frequency."""
    own = corner.body_frequency
    if duty.frequency_to is not None or abs(duty.frequency - own) > BODY_FREQUENCY_SHARE * own:
        return None
    message = (
        f"the eccentric turns at {plain(duty.frequency, 4)} Hz, near the body's own {plain(own, 4)} Hz, "
        "and no other duty is named"
    )
    return warn("body_frequency_duty", f"demand.{corner.position}.{duty.label}", message, duty.frequency, own, "Hz")


def _values(array: Floats) -> tuple[float, ...]:
    return tuple(array.tolist())
