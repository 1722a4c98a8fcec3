"""What a duty does to the car over the run's length: roads, loads, imposed motions and wanted forces, sample by sample.

Everything random comes from a seed. A stated motion (`suspension_velocity`) is imposed between body and wheel with the
statistics it states; the other duties move the car itself. Knows no oil.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.fft import next_fast_len

from models.demand import AxleDuty, Demand
from models.duty import Bump, Duty, Lift, Manoeuvre, Rig, Road, SuspensionVelocity
from models.ride.control import CornerLaw, corner_law
from models.ride.driving import ride_law, road_input
from models.ride.road import draw_profile
from models.ride.supply import rise
from models.ride.vehicle import Vehicle
from models.spec import Position

Floats = NDArray[np.float64]

CYCLES = 40.0
"""Cycles after which a Gaussian motion repeats at the earliest."""

BAND = (0.5, 1.5)
"""Band of a stated Gaussian motion, as multiples of its frequency. Source: [estimate]: a narrow band keeps both the
stated velocity and the stated stroke."""


@dataclass(frozen=True)
class Course:
    """A duty's course. Arrays over samples 0 to N."""

    duty: Duty
    imposed: bool
    law: tuple[CornerLaw | None, ...]
    """Ride law of each corner; None asks no force."""
    inputs: Floats
    """[sample, corner + 2, 2]: road height, or piston travel and speed; then loads on heave, pitch and roll."""
    wanted: Floats
    """[sample, corner]: force asked beside the law, N."""
    seconds: float
    settle: float
    """Seconds at the beginning that no statistic counts."""


def course_of(
    vehicle: Vehicle,
    demand: Demand,
    duty: Duty,
    corners: tuple[tuple[Position, int], ...],
    sample: float,
    seconds: float,
    seed: int,
) -> Course:
    """The course of `duty` for corners (axle, index of the axle in the demand), at least `seconds` long."""
    samples = math.ceil(seconds / sample)
    match duty:
        case SuspensionVelocity():
            return _stated(demand, duty, corners, sample, samples, seed)
        case Road():
            return _road(vehicle, duty, corners, sample, samples, seed)
        case Rig():
            return _rig(vehicle, duty, corners, sample, samples)
        case Bump():
            return _bump(vehicle, duty, corners, sample, samples)
        case Manoeuvre():
            return _manoeuvre(vehicle, duty, corners, sample, samples)
        case Lift():
            return _lift(vehicle, duty, corners, sample, samples)


def _blank(duty: Duty, corners: int, sample: float, samples: int) -> Course:
    return Course(
        duty,
        False,
        (None,) * corners,
        np.zeros((samples + 1, corners + 2, 2)),
        np.zeros((samples + 1, corners)),
        samples * sample,
        0.0,
    )


def _laws(
    vehicle: Vehicle, duty: Road | Rig | Bump, corners: tuple[tuple[Position, int], ...]
) -> tuple[CornerLaw, ...]:
    law = ride_law(duty.control)
    return tuple(corner_law(law, vehicle.corner(position)) for position, _ in corners)


def _no_law(corners: tuple[tuple[Position, int], ...]) -> tuple[CornerLaw, ...]:
    """Nothing asked beside the passive forces, which actuators that carry the weight must give."""
    return tuple(CornerLaw(np.zeros(4)) for _ in corners)


def _duty_of(demand: Demand, axle: int, duty: Duty) -> AxleDuty:
    return next(d for d in demand.axles[axle].duties if d.label == duty.label and d.kind == duty.kind)


def _stated(
    demand: Demand,
    duty: SuspensionVelocity,
    corners: tuple[tuple[Position, int], ...],
    sample: float,
    samples: int,
    seed: int,
) -> Course:
    """Sinusoids at peak amplitude, or a Gaussian motion of the stated rms; force with the stated phase, or at right
    angles where none is stated, both swelling over the first cycle. Corners in step share one motion; the others move
    against it."""
    course = _blank(duty, len(corners), sample, samples)
    time: Floats = sample * np.arange(samples + 1, dtype=np.float64)
    together = duty.corners_in_step if duty.corners_in_step is not None else len(corners)
    drawn: dict[int, tuple[Floats, Floats, Floats]] = {}
    settle = max(1.0 / _duty_of(demand, axle, duty).frequency for _, axle in corners)
    swelling = 0.5 - 0.5 * np.cos(math.pi * np.minimum(time / settle, 1.0))  # a rig does not start at full speed
    settled = min(math.ceil(settle / sample), samples)
    for i, (_, axle) in enumerate(corners):
        stated = _duty_of(demand, axle, duty)
        motion = duty.front if demand.axles[axle].position == "front" else duty.rear
        side = 1.0 if i < together else -1.0
        lead = math.pi / 2.0 if motion is None or motion.force_velocity_phase is None else motion.force_velocity_phase
        if motion is not None and motion.wheel_velocity_rms is not None:
            if axle not in drawn:
                drawn[axle] = gaussian_motion(stated, lead, sample, samples, seed)
            speed, force, travel = drawn[axle]
        else:
            angle = 2.0 * math.pi * stated.frequency * time
            speed, force = stated.velocity_peak * np.cos(angle), stated.force_peak * np.cos(angle - lead)
            travel = stated.velocity_peak / (2.0 * math.pi * stated.frequency) * np.sin(angle)
        speed, force = swelling * speed, swelling * force
        # the travel between samples is that of a speed that changes evenly: sum it so that both agree
        even = np.concatenate([[0.0], np.cumsum(0.5 * sample * (speed[1:] + speed[:-1]))])
        course.inputs[:, i, 0] = side * (even + np.mean((travel - even)[settled:]))
        course.inputs[:, i, 1] = side * speed
        course.wanted[:, i] = side * force
    return replace(course, imposed=True, settle=settle)


def gaussian_motion(
    stated: AxleDuty, lead: float, sample: float, samples: int, seed: int
) -> tuple[Floats, Floats, Floats]:
    """(speed, force, travel) of a stated Gaussian motion at samples 0 to `samples`, `lead` rad the speed's.

    Equal amplitudes over the band, phases from `seed`; the rms over its period, the run or CYCLES cycles, is exact.
    """
    count = next_fast_len(max(samples, math.ceil(CYCLES / stated.frequency / sample)), real=True)
    bins = np.fft.rfftfreq(count, sample)
    chosen = np.flatnonzero((bins >= BAND[0] * stated.frequency) & (bins <= BAND[1] * stated.frequency))
    phase = 2.0 * math.pi * np.random.default_rng(seed).random(chosen.size)
    wave = np.zeros(bins.size, dtype=complex)
    wave[chosen] = count / math.sqrt(2.0 * chosen.size) * np.exp(1j * phase)
    slow = np.zeros(bins.size, dtype=complex)
    slow[chosen] = wave[chosen] / (2j * math.pi * bins[chosen])

    def course(spectrum: NDArray[np.complex128], size: float) -> Floats:
        return size * np.resize(np.fft.irfft(spectrum, count), samples + 1)

    speed = course(wave, stated.velocity_rms)
    return speed, course(wave * np.exp(-1j * lead), stated.force_rms), course(slow, stated.velocity_rms)


def _road(
    vehicle: Vehicle, duty: Road, corners: tuple[tuple[Position, int], ...], sample: float, samples: int, seed: int
) -> Course:
    course = _blank(duty, len(corners), sample, samples)
    seconds = samples * sample
    profile = draw_profile(road_input(duty), seconds, vehicle.track, vehicle.wheelbase, seed)
    time: Floats = sample * np.arange(samples + 1, dtype=np.float64)
    own = profile.time_step * np.arange(profile.front_left.size + 1)
    tracks: dict[tuple[Position, int], Floats] = {
        ("front", 0): profile.front_left,
        ("front", 1): profile.front_right,
        ("rear", 0): profile.rear_left,
        ("rear", 1): profile.rear_right,
    }
    seen: dict[Position, int] = {}
    slowest = min(corner.body_frequency for corner in vehicle.corners)
    fade = rise(time * slowest)
    for i, (position, _) in enumerate(corners):
        side = seen.get(position, 0)
        seen[position] = side + 1
        heights = tracks[position, side]
        course.inputs[:, i, 0] = np.interp(time, own, np.append(heights, heights[0]), period=None) * fade
    return replace(course, law=_laws(vehicle, duty, corners), settle=min(2.0 / slowest, 0.2 * seconds))


def _rig(vehicle: Vehicle, duty: Rig, corners: tuple[tuple[Position, int], ...], sample: float, samples: int) -> Course:
    course = _blank(duty, len(corners), sample, samples)
    time: Floats = sample * np.arange(samples + 1, dtype=np.float64)
    last = duty.frequency_to if duty.frequency_to is not None else duty.frequency
    sweep = duty.frequency + (last - duty.frequency) * time / time[-1]
    turned = 2.0 * math.pi * np.concatenate([[0.0], np.cumsum(0.5 * sample * (sweep[1:] + sweep[:-1]))])
    fade = rise(time * duty.frequency)
    course.inputs[:, 0, 0] = duty.eccentricity * np.sin(turned) * fade
    laws = _laws(vehicle, duty, corners)
    if duty.hold_body_still:
        corner = vehicle.corner(corners[0][0])
        still = CornerLaw(np.array([corner.spring, corner.damping, 0.0, -corner.damping]))
        laws = (still, *laws[1:])
    return replace(course, law=laws, settle=min(2.0 / duty.frequency, 0.2 * samples * sample))


def _bump(
    vehicle: Vehicle, duty: Bump, corners: tuple[tuple[Position, int], ...], sample: float, samples: int
) -> Course:
    course = _blank(duty, len(corners), sample, samples)
    time: Floats = sample * np.arange(samples + 1, dtype=np.float64)
    start = 0.1 * samples * sample
    for i, (position, _) in enumerate(corners):
        behind = vehicle.wheelbase if position == "rear" and len(vehicle.corners) == 2 else 0.0
        place = np.clip((duty.speed * (time - start) - behind) / duty.length, 0.0, 1.0)
        course.inputs[:, i, 0] = 0.5 * duty.height * (1.0 - np.cos(2.0 * math.pi * place))
    return replace(course, law=_laws(vehicle, duty, corners))


def _manoeuvre(
    vehicle: Vehicle, duty: Manoeuvre, corners: tuple[tuple[Position, int], ...], sample: float, samples: int
) -> Course:
    """Inertia force at the centre of gravity; the actuators are asked for the moments that keep the body level."""
    course = _blank(duty, len(corners), sample, samples)
    time: Floats = sample * np.arange(samples + 1, dtype=np.float64)
    total = min(samples * sample, 2.0 * duty.rise_time + duty.hold)
    level = np.minimum(rise(time / duty.rise_time), rise((total - time) / duty.rise_time))
    roll_arm = vehicle.cg_height - sum(c.roll_centre_height for c in vehicle.corners) / len(vehicle.corners)
    roll = vehicle.body_mass * duty.lateral_acceleration * roll_arm
    pitch = -vehicle.body_mass * duty.longitudinal_acceleration * vehicle.cg_height
    course.inputs[:, len(corners), 1] = pitch * level
    course.inputs[:, len(corners) + 1, 0] = roll * level
    fitted = [i for i, (_, axle) in enumerate(corners) if axle >= 0]
    sides = [1.0 if position not in [c[0] for c in corners[:i]] else -1.0 for i, (position, _) in enumerate(corners)]
    for i in fitted:
        corner = vehicle.corner(corners[i][0])
        force = -roll * sides[i] / (len(fitted) * 0.5 * vehicle.track)
        if len(vehicle.corners) == 2:
            force += (1.0 if corner.position == "front" else -1.0) * pitch / (vehicle.wheelbase * 2.0)
        course.wanted[:, i] = force * level / corner.ratio
    return replace(course, law=_no_law(corners))


def _lift(
    vehicle: Vehicle, duty: Lift, corners: tuple[tuple[Position, int], ...], sample: float, samples: int
) -> Course:
    """Rising by the height: the actuators carry what the springs let go."""
    course = _blank(duty, len(corners), sample, samples)
    time: Floats = sample * np.arange(samples + 1, dtype=np.float64)
    total = min(samples * sample, 2.0 * duty.time + duty.hold)
    level = np.minimum(rise(time / duty.time), rise((total - time) / duty.time))
    for i, (position, axle) in enumerate(corners):
        if axle >= 0:
            corner = vehicle.corner(position)
            course.wanted[:, i] = corner.spring * duty.height * level / corner.ratio
    return replace(course, law=_no_law(corners))
