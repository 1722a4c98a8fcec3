"""The duties `manoeuvre` and `lift`: the body held level under acceleration, and raised, held and lowered.

Slow against the wheels: forces follow from statics, speeds from a half-cosine rise. Suspension links take the part of a
load transfer that acts through the roll centre; nothing is known of dive and squat geometry, so the actuators take all
of a pitching moment. Unsprung masses are left out of the load transfer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from models.demand import AxleDuty
from models.duty import Lift, Manoeuvre
from models.quantity import on_wire
from models.ride.motion import Burst, Trace, traced_duty
from models.ride.outcome import DutyOutcome, lift_off_warning, stroke_warning
from models.ride.supply import held, supply_trace, there_and_back
from models.ride.vehicle import Corner, Vehicle
from models.spec import Position
from models.warning import DesignWarning

Floats = NDArray[np.float64]

RISE_SAMPLES = 64
"""Samples of a rise from nothing to full."""


@dataclass(frozen=True)
class CourseTrace:
    """The course of one axle's actuator, at the actuator."""

    position: Position
    time: tuple[Annotated[float, on_wire("s")], ...]
    force: tuple[Annotated[float, on_wire("n")], ...]
    travel: tuple[Annotated[float, on_wire("mm")], ...]
    velocity: tuple[Annotated[float, on_wire("m_s")], ...]


@dataclass(frozen=True)
class LevelAxle:
    """What holding level asks at one axle; for the corner that asks most, at the wheel."""

    position: Position
    load_transfer: Annotated[float, on_wire("n", about="Largest change of a wheel's load")]
    through_links: Annotated[float, on_wire("n", about="The part of it that the links carry, through the roll centre")]
    force: Annotated[float, on_wire("n", about="Suspension force to hold the body level")]
    travel: Annotated[float, on_wire("mm", about="Suspension travel, as the tyre gives way")]
    hold_force: Annotated[float, on_wire("n", about="Held by the actuator at full acceleration, without the weight")]
    roll_without: Annotated[float | None, on_wire("deg", about="Roll of the body on its springs and bars instead")]


@dataclass(frozen=True)
class ManoeuvreAnswer:
    """A manoeuvre: load transfer and what holding level takes."""

    label: str
    kind: str
    axles: tuple[LevelAxle, ...]
    traces: tuple[CourseTrace, ...]


@dataclass(frozen=True)
class LiftAxle:
    """What lifting asks at one axle, at the wheel."""

    position: Position
    travel: Annotated[float, on_wire("mm")]
    spring_force: Annotated[float, on_wire("n", about="What the spring no longer carries at full height")]
    hold_force: Annotated[float, on_wire("n", about="Held by the actuator at full height, without the weight")]


@dataclass(frozen=True)
class LiftAnswer:
    """A lift: travel and the forces that hold it up."""

    label: str
    kind: str
    axles: tuple[LiftAxle, ...]
    traces: tuple[CourseTrace, ...]


def manoeuvre(vehicle: Vehicle, duty: Manoeuvre) -> DutyOutcome[ManoeuvreAnswer]:
    """The duty `manoeuvre`: every fitted axle holds the rolling moment of its own sprung mass, or of all when alone.

    A turn may go either way; the longitudinal acceleration has the sign given, positive forward.
    """
    time, course = there_and_back(duty.rise_time, duty.hold, RISE_SAMPLES)
    duties, axles, traces, warnings = {}, [], [], []
    loads = {corner.position: _loads(vehicle, corner, duty) for corner in vehicle.fitted}
    in_step = _in_step([load.travels(corner) for corner in vehicle.fitted if (load := loads[corner.position])])
    for corner in vehicle.fitted:
        load = loads[corner.position]
        bar = 2.0 * corner.anti_roll / vehicle.track**2
        courses = [
            held(
                supply_trace(
                    vehicle.arrangement,
                    corner,
                    time,
                    (load.pitching + side * load.rolling + bar * side * load.leaning / corner.tyre) * course,
                    (load.pitching + side * load.leaning) / corner.tyre * course,
                ),
                duty.rise_time,
                duty.hold,
            )
            for side in (1.0, -1.0)
        ]
        busiest = max(courses, key=lambda trace: float(np.max(np.abs(trace.force))))
        axle_duty = _course_duty(
            duty.label, duty.kind, duty.share_of_time, corner, courses, duty.rise_time, in_step, _held_force(busiest)
        )
        duties[corner.position] = axle_duty
        traces.append(_course_trace(corner, busiest))
        transfer = abs(load.pitching) + abs(load.leaning)
        axles.append(
            LevelAxle(
                position=corner.position,
                load_transfer=transfer,
                through_links=abs(load.leaning - load.rolling),
                force=abs(load.pitching) + abs(load.rolling),
                travel=transfer / corner.tyre,
                hold_force=_held_force(busiest),
                roll_without=_roll_without(vehicle, duty.lateral_acceleration)
                if duty.lateral_acceleration > 0.0
                else None,
            )
        )
        warnings += _limits(f"demand.{corner.position}.{duty.label}", corner, transfer / corner.tyre, transfer)
    return DutyOutcome(ManoeuvreAnswer(duty.label, duty.kind, tuple(axles), tuple(traces)), duties, tuple(warnings))


@dataclass(frozen=True)
class _Loads:
    """Changes at one corner of an axle, N: of suspension force by pitch and by roll, and of wheel load by roll."""

    pitching: float
    rolling: float
    leaning: float

    def travels(self, corner: Corner) -> tuple[float, float]:
        """Travel of the corner on either side."""
        return (self.pitching + self.leaning) / corner.tyre, (self.pitching - self.leaning) / corner.tyre


def _loads(vehicle: Vehicle, corner: Corner, duty: Manoeuvre) -> _Loads:
    alone = len(vehicle.fitted) == 1
    height = vehicle.cg_height
    masses = vehicle.corners if alone else (corner,)
    rolling = sum(2.0 * c.sprung_mass * (height - c.roll_centre_height) for c in masses)
    links = 2.0 * corner.sprung_mass * corner.roll_centre_height
    lateral = duty.lateral_acceleration / vehicle.track
    pitching = 0.0
    if duty.longitudinal_acceleration != 0.0:
        rearward = 1.0 if corner.position == "rear" else -1.0
        moment = vehicle.body_mass * duty.longitudinal_acceleration * height
        pitching = rearward * moment / (2.0 * vehicle.wheelbase)
    return _Loads(pitching, rolling * lateral, (rolling + links) * lateral)


def _roll_without(vehicle: Vehicle, acceleration: float) -> float:
    """Steady roll of the body on springs, bars and tyres with no actuator force, rad; toppling weight left out."""
    stiffness, moment = 0.0, 0.0
    for corner in vehicle.corners:
        rate = corner.spring + 2.0 * corner.anti_roll / vehicle.track**2
        series = rate * corner.tyre / (rate + corner.tyre)
        stiffness += 0.5 * series * vehicle.track**2
        moment += 2.0 * corner.sprung_mass * acceleration * (vehicle.cg_height - corner.roll_centre_height)
    return moment / stiffness


def _in_step(travels: list[tuple[float, float]]) -> float:
    """Share of all corner travel that extends."""
    flat = [travel for pair in travels for travel in pair]
    total = sum(abs(travel) for travel in flat)
    return sum(max(travel, 0.0) for travel in flat) / total if total > 0.0 else 0.5


def lift(vehicle: Vehicle, duty: Lift) -> DutyOutcome[LiftAnswer]:
    """The duty `lift`: all fitted corners raise the body together.

    Tyres keep their load but for the body's acceleration; how far a spring in series gives way to that is left out.
    """
    time, course = there_and_back(duty.time, duty.hold, RISE_SAMPLES)
    since_turn = np.minimum(time, time[-1] - time)
    moving = (since_turn < duty.time * (1.0 - 1e-9)) | (duty.hold == 0.0)
    acceleration = 0.5 * (math.pi / duty.time) ** 2 * duty.height * np.cos(math.pi * since_turn / duty.time) * moving
    duties, axles, traces, warnings = {}, [], [], []
    for corner in vehicle.fitted:
        statics = supply_trace(vehicle.arrangement, corner, time, np.zeros_like(time), duty.height * course)
        moved = replace(statics, force=statics.force + corner.sprung_mass * acceleration)
        trace = held(moved, duty.time, duty.hold)
        duties[corner.position] = _course_duty(
            duty.label, duty.kind, duty.share_of_time, corner, [trace], duty.time, 1.0, _held_force(statics)
        )
        axles.append(LiftAxle(corner.position, duty.height, corner.spring * duty.height, _held_force(statics)))
        traces.append(_course_trace(corner, trace))
        if duty.height > corner.droop:
            warnings.append(stroke_warning(f"demand.{corner.position}.{duty.label}", duty.height, corner.droop))
    return DutyOutcome(LiftAnswer(duty.label, duty.kind, tuple(axles), tuple(traces)), duties, tuple(warnings))


def _course_duty(
    label: str,
    kind: str,
    share: float,
    corner: Corner,
    courses: list[Trace],
    rise_time: float,
    in_step: float,
    hold_force: float,
) -> AxleDuty:
    frequency = 0.5 / rise_time
    out = max(0.0, *(float(np.max(trace.travel)) for trace in courses))
    back = max(0.0, *(-float(np.min(trace.travel)) for trace in courses))
    return traced_duty(
        label,
        kind,
        share,
        corner.ratio,
        tuple(courses),
        Burst(rise_time, out, back),
        frequency,
        frequency,
        0.0,
        in_step,
        hold_force=hold_force,
    )


def _held_force(trace: Trace) -> float:
    """Force in the middle of the course, where it is held."""
    return float(trace.force[trace.time.size // 2])


def _limits(place: str, corner: Corner, travel: float, transfer: float) -> list[DesignWarning]:
    found = []
    if travel > min(corner.bump, corner.droop):
        found.append(stroke_warning(place, travel, min(corner.bump, corner.droop)))
    if transfer > corner.static_tyre_load:
        found.append(lift_off_warning(place, transfer, corner.static_tyre_load))
    return found


def _course_trace(corner: Corner, trace: Trace) -> CourseTrace:
    return CourseTrace(
        corner.position,
        tuple(trace.time.tolist()),
        tuple((trace.force / corner.ratio).tolist()),
        tuple((trace.travel * corner.ratio).tolist()),
        tuple((trace.velocity * corner.ratio).tolist()),
    )
