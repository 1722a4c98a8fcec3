"""The demand of a whole spec: every duty worked out and gathered by axle, with the answers people read.

The one place that knows all kinds of duty. Which duty governs which requirement, and the mix by share of time, stand
here; so do the three arrangements side by side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Annotated

from models.demand import AxleDuty, Demand, OperatingPoint, axle_demand, motion_duty, power_parts
from models.duty import Bump, Duty, Lift, Manoeuvre, Rig, Road, SuspensionVelocity
from models.quantity import on_wire, plain
from models.ride.bumping import BumpAnswer, pass_bump
from models.ride.driving import drive
from models.ride.levelling import LiftAnswer, ManoeuvreAnswer, lift, manoeuvre
from models.ride.outcome import DutyOutcome, stroke_warning
from models.ride.road_answer import RoadAnswer
from models.ride.shaking import RigAnswer, body_frequency_warning, shake
from models.ride.vehicle import Corner, Vehicle, vehicle_of
from models.spec import Position, Spec
from models.warning import DesignWarning, by_severity, warn

DutyAnswer = RoadAnswer | RigAnswer | BumpAnswer | ManoeuvreAnswer | LiftAnswer


@dataclass(frozen=True)
class Governing:
    """The duty that asks most of one axle's actuators, for each requirement, by its label; none where none asks it."""

    position: Position
    force: str
    velocity: str
    power: str
    stroke: str
    bandwidth: str
    mean_velocity: str
    burst: str | None
    hold: str | None


@dataclass(frozen=True)
class AxleMix:
    """Means over operating time, standby counted, for one actuator of an axle."""

    position: Position
    velocity_mean_abs: Annotated[
        float, on_wire("m_s", about="Mean |v|; times the mean piston area the mean supply flow")
    ]
    mean_power: Annotated[float, on_wire("w", about="Mechanical; negative: absorbed, a source of heat")]
    power_delivered: Annotated[float, on_wire("w")]
    power_absorbed: Annotated[float, on_wire("w")]


@dataclass(frozen=True)
class Mix:
    """Means over operating time, of each axle's actuator and of all together."""

    axles: tuple[AxleMix, ...]
    standby_share: Annotated[float, on_wire("")]
    mean_power: Annotated[float, on_wire("w", about="Of all actuators")]
    power_delivered: Annotated[float, on_wire("w")]
    power_absorbed: Annotated[float, on_wire("w")]


@dataclass(frozen=True)
class RideAnswer:
    """What the actuators must do and what the ride becomes; `demand` is what the sizing reads."""

    demand: Demand
    duties: tuple[DutyAnswer, ...]
    governing: tuple[Governing, ...]
    mix: Mix


def build_demand(spec: Spec, plant_mass: float = 0.0) -> Demand:
    """The demand of a completed spec.

    plant_mass: kg of plant the vehicle carries beyond the masses given; a quarter of it goes to each corner of a
    vehicle, none to a bench rig (`corners_fitted` "one"). Forces that a `suspension_velocity` duty states are inertial
    and grow with the sprung mass. A duty whose ride law is unstable is left out and named in `unmet`.
    """
    return ride_answer(spec, plant_mass).demand


def ride_answer(spec: Spec, plant_mass: float = 0.0) -> RideAnswer:
    """The demand of a completed spec with every duty's answer, what governs, and the mix by share of time."""
    vehicle = vehicle_of(spec, plant_mass)
    outcomes = [_work_out(spec, vehicle, duty) for duty in spec.duty]
    warnings = [warning for outcome in outcomes for warning in outcome.warnings]
    warnings += _vehicle_warnings(spec, vehicle)
    added = 0.0 if vehicle.single else plant_mass / 4.0
    axles = tuple(
        axle_demand(
            spec, position, added, [outcome.axles[position] for outcome in outcomes if position in outcome.axles]
        )
        for position in spec.positions
    )
    standby = max(0.0, 1.0 - sum(duty.share_of_time for duty in spec.duty))
    unmet = tuple(shortfall for outcome in outcomes for shortfall in outcome.unmet)
    demand = Demand(axles, standby, plant_mass, by_severity(warnings), unmet)
    answers = tuple(outcome.answer for outcome in outcomes if outcome.answer is not None)
    governing = tuple(_governing(axle.position, axle.duties) for axle in axles if axle.duties)
    return RideAnswer(demand, answers, governing, _mix(demand))


def _work_out(spec: Spec, vehicle: Vehicle, duty: Duty) -> DutyOutcome[DutyAnswer]:
    match duty:
        case SuspensionVelocity():
            return _stated_motion(spec, vehicle, duty)
        case Road():
            return drive(vehicle, duty)
        case Rig():
            return shake(vehicle, duty)
        case Bump():
            return pass_bump(vehicle, duty)
        case Manoeuvre():
            return manoeuvre(vehicle, duty)
        case Lift():
            return lift(vehicle, duty)


def _stated_motion(spec: Spec, vehicle: Vehicle, duty: SuspensionVelocity) -> DutyOutcome[DutyAnswer]:
    duties: dict[Position, AxleDuty] = {}
    warnings: list[DesignWarning] = []
    for corner in vehicle.fitted:
        given = spec.axle(corner.position).sprung_mass
        stated = motion_duty(spec, corner.position, duty, corner.sprung_mass / given, [] if duties else warnings)
        travel, available = 0.5 * stated.stroke / corner.ratio, min(corner.bump, corner.droop)
        if travel > available * (1.0 + 1e-9):
            warnings.append(stroke_warning(f"demand.{corner.position}.{duty.label}", travel, available))
        duties[corner.position] = rearranged(stated, vehicle, corner)
    return DutyOutcome(None, duties, tuple(warnings))


def rearranged(stated: AxleDuty, vehicle: Vehicle, corner: Corner) -> AxleDuty:
    """A stated motion as the vehicle's arrangement turns it; `parallel` leaves it as it is.

    The stated force is what the actuator adds to a passive suspension, at the duty's frequency. In `series` its seat
    moves by that force over the spring's rate, in `corner_accumulator` its oil by force over spring and orifice; in
    both the actuator carries the passive force too, added as if they peaked together.
    """
    if vehicle.arrangement == "parallel":
        return stated
    omega = 2.0 * math.pi * stated.frequency
    ratio2 = corner.ratio**2
    stiffness = math.hypot(corner.spring, omega * corner.orifice) / ratio2

    def carried(force: float, velocity: float) -> float:
        return force + stiffness * velocity / omega

    force, velocity = carried(stated.force_peak, stated.velocity_peak), omega * stated.force_peak / stiffness
    force_rms = math.hypot(stated.force_rms, stiffness * stated.velocity_rms / omega)
    velocity_rms = omega * stated.force_rms / stiffness
    scale = velocity / stated.velocity_peak
    delivered, absorbed = power_parts(force_rms * velocity_rms, 0.0)
    return replace(
        stated,
        points=tuple(OperatingPoint(f * force, v * velocity) for f in (1.0, -1.0) for v in (1.0, -1.0)),
        force_peak=force,
        force_rms=force_rms,
        velocity_peak=velocity,
        velocity_rms=velocity_rms,
        velocity_mean_abs=stated.velocity_mean_abs * velocity_rms / stated.velocity_rms,
        stroke=stated.stroke * scale,
        mean_power=0.0,
        mean_power_bound=force_rms * velocity_rms,
        burst_path_out=stated.burst_path_out * scale,
        burst_path_in=stated.burst_path_in * scale,
        power_delivered=delivered,
        power_absorbed=absorbed,
        wheel_velocity_peak=stated.velocity_peak,
        wheel_velocity_rms=stated.velocity_rms,
        control_force_rms=stated.force_rms,
    )


def _vehicle_warnings(spec: Spec, vehicle: Vehicle) -> list[DesignWarning]:
    found = []
    if vehicle.arrangement == "series":
        for corner in vehicle.fitted:
            if spec.axle(corner.position).retained_damping == 0.0:
                message = (
                    f"no damper is retained: {plain(corner.damping, 4)} N·s/m at the wheel are taken to stand there"
                )
                found.append(warn("series_damper", f"demand.{corner.position}", message, corner.damping, None, "N·s/m"))
    if len(spec.duty) == 1 and isinstance(spec.duty[0], Rig):
        notices = [body_frequency_warning(corner, spec.duty[0]) for corner in vehicle.fitted]
        found += [notice for notice in notices if notice is not None]
    return found


def _governing(position: Position, duties: tuple[AxleDuty, ...]) -> Governing:
    def label(value: str) -> str:
        return max(duties, key=lambda duty: abs(getattr(duty, value))).label

    power = max(duties, key=lambda duty: max(abs(p.force * p.velocity) for p in duty.points)).label
    longest = max(duties, key=lambda duty: max(duty.burst_path_out, duty.burst_path_in))
    held = any(duty.hold_force != 0.0 for duty in duties)
    return Governing(
        position,
        force=label("force_peak"),
        velocity=label("velocity_peak"),
        power=power,
        stroke=label("stroke"),
        bandwidth=label("bandwidth"),
        mean_velocity=label("velocity_mean_abs"),
        burst=longest.label if longest.burst_duration > 0.0 else None,
        hold=label("hold_force") if held else None,
    )


def _mix(demand: Demand) -> Mix:
    axles = []
    for axle in demand.axles:
        weights = [duty.share_of_time * duty.moving_share for duty in axle.duties]

        def mean(name: str, duties: tuple[AxleDuty, ...] = axle.duties, weights: list[float] = weights) -> float:
            return sum(w * getattr(duty, name) for w, duty in zip(weights, duties, strict=True))

        axles.append(
            AxleMix(
                axle.position,
                mean("velocity_mean_abs"),
                mean("mean_power"),
                mean("power_delivered"),
                mean("power_absorbed"),
            )
        )
    corners = [axle.corners for axle in demand.axles]

    def total(name: str) -> float:
        return sum(count * getattr(axle, name) for count, axle in zip(corners, axles, strict=True))

    return Mix(
        tuple(axles), demand.standby_share, total("mean_power"), total("power_delivered"), total("power_absorbed")
    )
