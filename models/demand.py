"""What each actuator must do: the one record that sizing, proof and the electric rival all read.

Everything here is at the actuator: a force is positive when it pushes body and wheel apart, a velocity when the
actuator extends. Points are what must be reached; means are over the share of time; a burst is what must be lived
through on stored oil or charge. Knows no hydraulics and no electric machine.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from models.duty import AxleMotion, SuspensionVelocity
from models.quantity import STANDARD_GRAVITY, on_wire
from models.spec import Position, Spec
from models.warning import DesignWarning, warn

ELLIPSE_POINTS = 16
"""Points taken on a force–velocity ellipse of stated phase, beside its two of peak velocity."""

MEAN_ABS_OF_PEAK = 2.0 / math.pi
"""Mean |v| over peak of a sinusoid."""

MEAN_ABS_OF_RMS = math.sqrt(2.0 / math.pi)
"""Mean |v| over rms of a Gaussian of zero mean."""


@dataclass(frozen=True)
class OperatingPoint:
    """A force and velocity one actuator must reach together."""

    force: Annotated[float, on_wire("n", about="Force, positive pushing body and wheel apart")]
    velocity: Annotated[float, on_wire("m_s", about="Velocity, positive extending")]


@dataclass(frozen=True)
class AxleDuty:
    """What one duty asks of each actuator of one axle."""

    label: str
    kind: str
    share_of_time: Annotated[float, on_wire("")]
    points: tuple[OperatingPoint, ...]
    force_peak: Annotated[float, on_wire("n", about="Largest force, static load included")]
    force_rms: Annotated[float, on_wire("n", about="Rms of the dynamic force")]
    velocity_peak: Annotated[float, on_wire("m_s")]
    velocity_rms: Annotated[float, on_wire("m_s")]
    velocity_mean_abs: Annotated[float, on_wire("m_s", about="Mean of |v|: sets the mean supply flow")]
    stroke: Annotated[float, on_wire("mm", about="Peak-to-peak travel of the motion")]
    frequency: Annotated[float, on_wire("hz", about="Frequency of the motion that sets stroke and ripple")]
    bandwidth: Annotated[float, on_wire("hz", about="Frequency up to which force must be controlled")]
    mean_power: Annotated[float, on_wire("w", about="Mean mechanical power given to the wheel; negative: absorbed")]
    mean_power_bound: Annotated[float, on_wire("w", about="Largest |mean power| when the phase is not stated")]
    burst_path_out: Annotated[float, on_wire("m", about="Path extended during the burst")]
    burst_path_in: Annotated[float, on_wire("m", about="Path retracted during the burst")]
    burst_duration: Annotated[float, on_wire("s", about="Length of the burst; 0: the duty is its own burst for ever")]
    ripple_frequency: Annotated[float, on_wire("hz", about="Frequency of flow ripple in the burst; 0: steady")]
    in_step_fraction: Annotated[float, on_wire("", about="Share of the corners that extend together")]
    power_delivered: Annotated[float, on_wire("w", about="Mean of the mechanical power while it is given")] = 0.0
    power_absorbed: Annotated[float, on_wire("w", about="Mean of the mechanical power while it is absorbed")] = 0.0
    wheel_velocity_peak: Annotated[
        float | None, on_wire("m_s", about="Of wheel against body, at the actuator; none: it is the velocity")
    ] = None
    wheel_velocity_rms: Annotated[float | None, on_wire("m_s")] = None
    control_force_rms: Annotated[
        float | None, on_wire("n", about="What the actuator adds to the passive forces it carries; none: all its force")
    ] = None
    hold_force: Annotated[float, on_wire("n", about="Force held steadily at the end of the motion")] = 0.0
    moving_share: Annotated[float, on_wire("", about="Share of the vehicle's corners that move; the rest stand")] = 1.0


@dataclass(frozen=True)
class AxleDemand:
    """One axle's corners as the sizing needs them, each duty in turn."""

    position: Position
    corners: int
    sprung_mass: Annotated[float, on_wire("kg", about="Per corner, plant included")]
    unsprung_mass: Annotated[float, on_wire("kg")]
    wheel_rate: Annotated[float, on_wire("n_mm")]
    tyre_rate: Annotated[float, on_wire("n_mm")]
    travel_ratio: Annotated[float, on_wire("", about="Actuator travel per wheel travel")]
    static_force: Annotated[float, on_wire("n", about="Weight on the actuator; 0 when a spring carries it")]
    stroke_available: Annotated[float, on_wire("mm", about="Bump plus droop, at the actuator")]
    duties: tuple[AxleDuty, ...]


@dataclass(frozen=True)
class Shortfall:
    """Something a proof found missing: `achieved` against `required`, and whether a larger margin can mend it."""

    what: str
    required: float
    achieved: float
    unit: str
    mendable_by: str | None


@dataclass(frozen=True)
class Demand:
    """What the actuators of the whole vehicle must do."""

    axles: tuple[AxleDemand, ...]
    standby_share: Annotated[float, on_wire("", about="Share of time in which nothing moves")]
    plant_mass: Annotated[float, on_wire("kg", about="Mass of the plant counted in the sprung masses")]
    warnings: tuple[DesignWarning, ...]
    unmet: tuple[Shortfall, ...] = ()

    @property
    def corners(self) -> int:
        return sum(axle.corners for axle in self.axles)


@dataclass(frozen=True)
class Margins:
    """Factors on the demand, raised only by the pipeline after a proof fell short."""

    force: Annotated[float, on_wire("", 1.0, 3.0)] = 1.0
    flow: Annotated[float, on_wire("", 1.0, 3.0)] = 1.0
    power: Annotated[float, on_wire("", 1.0, 3.0)] = 1.0


def axle_demand(spec: Spec, position: Position, added_mass: float, duties: Sequence[AxleDuty]) -> AxleDemand:
    """Gather one axle's duties; puts the static load on every point when the actuator carries the weight."""
    axle = spec.axle(position)
    ratio = axle.actuator_travel_per_wheel_travel
    sprung = axle.sprung_mass + added_mass
    static = sprung * STANDARD_GRAVITY / ratio if spec.weight_carried_by == "actuator" else 0.0
    return AxleDemand(
        position=position,
        corners=spec.corners_per_axle,
        sprung_mass=sprung,
        unsprung_mass=axle.unsprung_mass,
        wheel_rate=axle.wheel_rate,
        tyre_rate=axle.tyre_rate,
        travel_ratio=ratio,
        static_force=static,
        stroke_available=(axle.bump_travel + axle.droop_travel) * ratio,
        duties=tuple(_with_static_load(duty, static) for duty in duties),
    )


def _with_static_load(duty: AxleDuty, static: float) -> AxleDuty:
    if static == 0.0:
        return duty
    points = tuple(OperatingPoint(p.force + static, p.velocity) for p in duty.points)
    peak = max(abs(p.force) for p in points)
    return replace(duty, points=points, force_peak=peak, hold_force=duty.hold_force + static)


def motion_duty(
    spec: Spec, position: Position, duty: SuspensionVelocity, force_scale: float, warnings: list[DesignWarning]
) -> AxleDuty:
    """The duty `suspension_velocity` at one axle's actuator.

    Without a phase all four quadrants are points and the mean power is taken as zero, its bound given; with one, the
    points lie on that ellipse. With rms values the motion counts as Gaussian and the peaks as a burst; without, as a
    sinusoid at peak amplitude for ever.
    """
    motion: AxleMotion = getattr(duty, position)
    ratio = spec.axle(position).actuator_travel_per_wheel_travel
    velocity = motion.wheel_velocity * ratio
    force = motion.wheel_force * force_scale / ratio
    frequency = motion.frequency
    if frequency is None or duty.corners_in_step is None:
        raise ValueError("motion_duty needs a completed spec")
    gaussian = motion.wheel_velocity_rms is not None
    velocity_rms = (
        motion.wheel_velocity_rms * ratio if motion.wheel_velocity_rms is not None else velocity / math.sqrt(2)
    )
    force_rms = (
        motion.wheel_force_rms * force_scale / ratio if motion.wheel_force_rms is not None else force / math.sqrt(2)
    )
    mean_abs = MEAN_ABS_OF_RMS * velocity_rms if gaussian else MEAN_ABS_OF_PEAK * velocity
    if not gaussian:
        warnings.append(_sinusoidal_warning(duty))
    phase = motion.force_velocity_phase
    delivered, absorbed = power_parts(force_rms * velocity_rms, math.cos(phase) if phase is not None else 0.0)
    if phase is None:
        points = tuple(OperatingPoint(f * force, v * velocity) for f in (1.0, -1.0) for v in (1.0, -1.0))
        mean_power = 0.0
    else:
        points = ellipse_points(force, velocity, phase)
        mean_power = force_rms * velocity_rms * math.cos(phase)
    burst = duty.duration if duty.duration is not None else (3.0 / frequency if gaussian else 0.0)
    path = 0.5 * MEAN_ABS_OF_PEAK * velocity * burst
    fitted = spec.corners_per_axle * len(spec.positions)
    together = duty.corners_in_step / fitted
    return AxleDuty(
        label=duty.label,
        kind=duty.kind,
        share_of_time=duty.share_of_time,
        points=points,
        force_peak=force,
        force_rms=force_rms,
        velocity_peak=velocity,
        velocity_rms=velocity_rms,
        velocity_mean_abs=mean_abs,
        stroke=velocity / (math.pi * frequency),
        frequency=frequency,
        bandwidth=frequency,
        mean_power=mean_power,
        mean_power_bound=force_rms * velocity_rms,
        burst_path_out=path,
        burst_path_in=path,
        burst_duration=burst,
        ripple_frequency=frequency,
        in_step_fraction=max(together, 1.0 - together),
        power_delivered=delivered,
        power_absorbed=absorbed,
    )


def ellipse_points(force: float, velocity: float, phase: float) -> tuple[OperatingPoint, ...]:
    """Points of a force and a velocity of these amplitudes, velocity ahead by `phase` rad; in exact opposite pairs."""
    angles = [*(2.0 * math.pi * k / ELLIPSE_POINTS for k in range(ELLIPSE_POINTS // 2)), -phase]
    half = [(force * math.cos(a), velocity * math.cos(a + phase)) for a in angles]
    return tuple(OperatingPoint(sign * f, sign * v) for sign in (1.0, -1.0) for f, v in half)


def outermost(points: Iterable[OperatingPoint]) -> tuple[OperatingPoint, ...]:
    """The corners of the convex outline of some points; no other point lies outside it.

    What a valve and a cylinder can reach is a convex region of force and velocity (a force falls with the square of
    the speed), so a design that reaches these reaches all.
    """
    ordered = sorted({(p.velocity, p.force) for p in points})
    if len(ordered) < 3:
        return tuple(OperatingPoint(f, v) for v, f in ordered)
    sides: list[tuple[float, float]] = []
    for way in (ordered, ordered[::-1]):
        chain: list[tuple[float, float]] = []
        for point in way:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0.0:
                chain.pop()
            chain.append(point)
        sides += chain[:-1]
    return tuple(OperatingPoint(f, v) for v, f in sides)


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def power_parts(product: float, correlation: float) -> tuple[float, float]:
    """Means of the given and of the absorbed power, W, of a force and a velocity with `product` of rms values.

    correlation: their correlation coefficient, for sinusoids the cosine of the phase. Both kinds of motion split alike.
    """
    limited = min(1.0, max(-1.0, correlation))
    root, angle = math.sqrt(1.0 - limited * limited), math.acos(limited)
    given = product * (root + (math.pi - angle) * limited) / math.pi
    return given, given - product * limited


def _sinusoidal_warning(duty: SuspensionVelocity) -> DesignWarning:
    saving = 1.0 - (MEAN_ABS_OF_RMS / 3.0) / MEAN_ABS_OF_PEAK
    return warn(
        "sinusoidal_motion",
        f"demand.{duty.label}",
        "no wheel_velocity_rms_m_s given: the motion counts as a continuous sinusoid at peak velocity. A Gaussian "
        f"motion whose rms is a third of the peak would need {100 * saving:.0f} % less mean flow",
        MEAN_ABS_OF_PEAK,
        MEAN_ABS_OF_RMS / 3.0,
        "mean |v| over peak",
    )
