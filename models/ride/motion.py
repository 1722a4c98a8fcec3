"""From a motion, random or traced, to the record of what one axle's actuators must do.

Everything that enters is at the wheel and for one corner; what leaves is at the actuator. Knows no duty and no car.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.demand import ELLIPSE_POINTS, MEAN_ABS_OF_RMS, AxleDuty, OperatingPoint, ellipse_points, power_parts

Floats = NDArray[np.float64]

EULER = 0.5772156649015329
FEWEST_PEAKS = 10.0
"""Peaks below which the asymptotic formula is not used: a shorter drive counts as one of so many."""

BURST_CYCLES = 3.0
"""Cycles at peak amplitude that a random motion must be lived through; as for a stated Gaussian motion."""


def peak_factor(duration: float, crossing_rate: float) -> float:
    """Expected largest value over the rms of a Gaussian motion of `duration` s that crosses upward so often a second.

    The number of maxima above the mean that count as independent is that of the upward crossings: all maxima, less the
    small ones a broad spectrum adds. Source: [cartwright1956], sqrt(2 ln N) + 0.5772/sqrt(2 ln N)
    """
    root = math.sqrt(2.0 * math.log(max(duration * crossing_rate, FEWEST_PEAKS)))
    return root + EULER / root


@dataclass(frozen=True)
class RandomMotion:
    """A Gaussian motion of one corner, at the wheel: rms values, expected peaks, and E[force·velocity]."""

    force: float
    force_peak: float
    velocity: float
    velocity_peak: float
    travel: float
    travel_peak: float
    power: float
    bandwidth: float
    in_step: float
    wheel_velocity: tuple[float, float] | None = None
    """Peak and rms of wheel against body, where the supply's velocity is another."""
    control_force: float | None = None
    """What the ride law adds, where the actuator carries passive forces beside it."""


def random_duty(label: str, kind: str, share: float, ratio: float, motion: RandomMotion) -> AxleDuty:
    """The duty of a Gaussian motion: points on the ellipse of equal likelihood through the expected peaks."""
    force, velocity = motion.force / ratio, motion.velocity * ratio
    force_peak, velocity_peak = motion.force_peak / ratio, motion.velocity_peak * ratio
    product = force * velocity
    correlation = motion.power / product if product > 0.0 else 0.0
    phase = math.acos(min(1.0, max(-1.0, correlation)))
    frequency = motion.velocity / (2.0 * math.pi * motion.travel) if motion.travel > 0.0 else 0.0
    burst = BURST_CYCLES / frequency if frequency > 0.0 else 0.0
    path = velocity_peak / math.pi * burst
    delivered, absorbed = power_parts(product, correlation)
    wheel = motion.wheel_velocity
    return AxleDuty(
        label=label,
        kind=kind,
        share_of_time=share,
        points=ellipse_points(force_peak, velocity_peak, phase),
        force_peak=force_peak,
        force_rms=force,
        velocity_peak=velocity_peak,
        velocity_rms=velocity,
        velocity_mean_abs=MEAN_ABS_OF_RMS * velocity,
        stroke=2.0 * motion.travel_peak * ratio,
        frequency=frequency,
        bandwidth=motion.bandwidth,
        mean_power=motion.power,
        mean_power_bound=product,
        burst_path_out=path,
        burst_path_in=path,
        burst_duration=burst,
        ripple_frequency=frequency,
        in_step_fraction=0.5 * (1.0 + motion.in_step),
        power_delivered=delivered,
        power_absorbed=absorbed,
        wheel_velocity_peak=wheel[0] * ratio if wheel is not None else None,
        wheel_velocity_rms=wheel[1] * ratio if wheel is not None else None,
        control_force_rms=motion.control_force / ratio if motion.control_force is not None else None,
    )


@dataclass(frozen=True)
class Trace:
    """A motion of one corner over time, at the wheel: arrays of equal length over rising `time`, from rest to rest."""

    time: Floats
    force: Floats
    travel: Floats  # what the supply moves
    velocity: Floats  # its rate
    wheel_velocity: Floats | None = None  # wheel against body, where that is another
    control: Floats | None = None  # what the ride law adds, where the force holds passive forces beside it


@dataclass(frozen=True)
class Burst:
    """The part of a traced motion that stored oil must carry: how long, and the paths out and in, at the wheel."""

    duration: float
    path_out: float
    path_in: float


def traced_duty(
    label: str,
    kind: str,
    share: float,
    ratio: float,
    traces: tuple[Trace, ...],
    burst: Burst,
    frequency: float,
    bandwidth: float,
    ripple: float,
    in_step: float,
    hold_force: float = 0.0,
    moving_share: float = 1.0,
    counted: Trace | None = None,
) -> AxleDuty:
    """The duty of a motion whose course is known; `traces` are the courses one corner may meet, each its own mean.

    Points are the corners of the convex outline of force and velocity over all courses. Means are the largest of them,
    or those of `counted` where only a part of the course counts.
    """
    force = np.concatenate([trace.force for trace in traces]) / ratio
    velocity = np.concatenate([trace.velocity for trace in traces]) * ratio
    travel = np.concatenate([trace.travel for trace in traces]) * ratio
    means = [_means(trace) for trace in (traces if counted is None else (counted,))]
    force_rms, velocity_rms, mean_abs = (max(mean[k] for mean in means) for k in range(3))
    working = max(means, key=lambda mean: abs(mean[3] + mean[4]))
    others = [trace.wheel_velocity for trace in traces if trace.wheel_velocity is not None]
    wheel = np.concatenate(others) * ratio if others else None
    controls = [_rms(t.time, t.control) for t in (traces if counted is None else (counted,)) if t.control is not None]
    return AxleDuty(
        label=label,
        kind=kind,
        share_of_time=share,
        points=outline(force, velocity),
        force_peak=float(np.max(np.abs(force))),
        force_rms=force_rms / ratio,
        velocity_peak=float(np.max(np.abs(velocity))),
        velocity_rms=velocity_rms * ratio,
        velocity_mean_abs=mean_abs * ratio,
        stroke=float(np.max(travel) - np.min(travel)),
        frequency=frequency,
        bandwidth=bandwidth,
        mean_power=working[3] - working[4],
        mean_power_bound=force_rms * velocity_rms,
        burst_path_out=burst.path_out * ratio,
        burst_path_in=burst.path_in * ratio,
        burst_duration=burst.duration,
        ripple_frequency=ripple,
        in_step_fraction=max(in_step, 1.0 - in_step),
        power_delivered=working[3],
        power_absorbed=working[4],
        wheel_velocity_peak=float(np.max(np.abs(wheel))) if wheel is not None else None,
        wheel_velocity_rms=math.sqrt(float(np.mean(wheel**2))) if wheel is not None else None,
        control_force_rms=max(controls) / ratio if controls else None,
        hold_force=hold_force / ratio,
        moving_share=moving_share,
    )


def _rms(time: Floats, values: Floats) -> float:
    return math.sqrt(float(np.trapezoid(values**2, time)) / float(time[-1] - time[0]))


def _means(trace: Trace) -> tuple[float, float, float, float, float]:
    """Rms of force and of velocity, mean |velocity|, mean power given and absorbed, over the trace."""
    length = float(trace.time[-1] - trace.time[0])

    def mean(values: Floats) -> float:
        return float(np.trapezoid(values, trace.time)) / length

    power = trace.force * trace.velocity
    return (
        math.sqrt(mean(trace.force**2)),
        math.sqrt(mean(trace.velocity**2)),
        mean(np.abs(trace.velocity)),
        mean(np.maximum(power, 0.0)),
        mean(np.maximum(-power, 0.0)),
    )


def outline(force: Floats, velocity: Floats, directions: int = ELLIPSE_POINTS) -> tuple[OperatingPoint, ...]:
    """The points of a cloud that lie furthest in each of `directions` directions of the (force, velocity) plane.

    Each axis is scaled by its own largest value, so that neither hides the other.
    """
    largest = max(float(np.max(np.abs(force))), 1e-300), max(float(np.max(np.abs(velocity))), 1e-300)
    angles = 2.0 * np.pi * np.arange(directions) / directions
    reach = np.outer(np.cos(angles), force / largest[0]) + np.outer(np.sin(angles), velocity / largest[1])
    chosen = list(dict.fromkeys(int(k) for k in np.argmax(reach, axis=1)))
    return tuple(OperatingPoint(float(force[k]), float(velocity[k])) for k in chosen)
