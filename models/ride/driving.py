"""The duty `road`: a car on a random road under its ride law, as points, means and peaks, the passive car beside it.

Seeks the target the user names. Knows the linear car only: bottoming and lift-off are warnings with their numbers.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from models.demand import AxleDuty, Shortfall
from models.duty import RideControl, Road
from models.quantity import plain
from models.ride.control import RideLaw, corner_law
from models.ride.linear import Plane, Row, passive_planes, planes
from models.ride.moments import AxleMoments, RideMoments, axle_spectrum, ride_moments
from models.ride.motion import RandomMotion, peak_factor, random_duty
from models.ride.outcome import DutyOutcome, extended_band_warning, lift_off_warning, stroke_warning, unstable_outcome
from models.ride.road import CLASS_ROUGHNESS, STANDARD_BAND, RoadInput
from models.ride.road_answer import AxleGains, LawUsed, RideSpectrum, RoadAnswer, RoadAxle, TargetAnswer
from models.ride.target import Goal, Reached, Trial, seek
from models.ride.vehicle import Corner, Vehicle
from models.warning import DesignWarning, warn

SPECTRUM_POINTS = 120
"""Frequencies of a drawn spectrum, evenly spaced on a logarithmic axis."""

LEAST_DECAY = 1e-3
"""Least decay of a swing, as a share of the body's own angular frequency, that counts as stable."""

CONTENT = (0.05, 0.95)
"""Shares of the force's variance below the two ends of its stated frequency content."""


def road_input(duty: Road) -> RoadInput:
    """The road of a completed duty."""
    if duty.band_low is None or duty.band_high is None:
        raise ValueError("the ride needs a completed duty")
    roughness = duty.roughness if duty.road_class is None else CLASS_ROUGHNESS[duty.road_class]
    if roughness is None:
        raise ValueError("a road needs a class or a roughness")
    return RoadInput(roughness, duty.speed, (duty.band_low, duty.band_high), duty.contact_patch)


def ride_law(control: RideControl) -> RideLaw:
    """The ride law of a completed duty."""
    if control.bandwidth is None or control.low_cut is None:
        raise ValueError("the ride needs a completed duty")
    return RideLaw(
        control.law,
        control.acceleration_weight,
        control.travel_weight,
        control.tyre_weight,
        control.skyhook_damping,
        control.wheel_damping,
        control.bandwidth,
        control.low_cut,
    )


def active_planes(vehicle: Vehicle, law: RideLaw) -> tuple[Plane, ...]:
    """The car with a ride law at every fitted corner; the others keep their reference dampers."""
    return planes(vehicle, tuple(corner_law(law, corner) if corner.fitted else None for corner in vehicle.corners))


def growth_of(car: tuple[Plane, ...]) -> float:
    """Largest growth rate of the car's planes, 1/s."""
    return max(plane.growth for plane in car)


def settles(car: tuple[Plane, ...]) -> bool:
    """Whether every swing of the car dies away, and not as slowly as if nothing damped it."""
    slowest = min(corner.body_frequency for corner in car[0].corners)
    return growth_of(car) < -LEAST_DECAY * 2.0 * math.pi * slowest


def drive(vehicle: Vehicle, duty: Road) -> DutyOutcome[RoadAnswer]:
    """The duty `road` of a completed spec: axle duties, the answer, warnings and what stayed unmet."""
    road, law = road_input(duty), ride_law(duty.control)
    duration = duty.duration if duty.duration is not None else (duty.distance or 0.0) / duty.speed
    passive_car = passive_planes(vehicle)
    passive = ride_moments(passive_car, vehicle, road)
    target, reached = None, None
    if duty.control.target_reduction is not None:
        reached = _seek(vehicle, road, law, passive, duration, duty.control.target_reduction)
        law = reached.law
        target = _target_answer(reached, vehicle, duty.control.target_reduction)
    car = active_planes(vehicle, law)
    growth = growth_of(car)
    if not settles(car):
        return unstable_outcome(duty.label, law, growth)
    active = ride_moments(car, vehicle, road)
    duties, axles, spectra, warnings = {}, [], [], []
    for index, (now, before) in enumerate(zip(active.axles, passive.axles, strict=True)):
        spectrum = _spectrum(car, passive_car, vehicle, road, index)
        axles.append(_axle_answer(now, before, duration, spectrum))
        spectra.append(spectrum)
        if now.corner.fitted:
            duties[now.corner.position] = _axle_duty(duty, vehicle, now, active.in_step, duration, law.bandwidth)
        warnings += _axle_warnings(duty.label, axles[-1])
    if road.band[0] < 0.99 * STANDARD_BAND[0] or road.band[1] > 1.01 * STANDARD_BAND[1]:
        warnings.append(extended_band_warning(duty.label, road.band, STANDARD_BAND))
    unmet: tuple[Shortfall, ...] = ()
    if target is not None and not target.met:
        warnings.append(
            warn("ride_target_unmet", f"demand.{duty.label}", target.statement, target.reached, target.wished, "1")
        )
        achieved = target.reached if reached is not None and reached.within else 0.0
        what = f"reduction of body acceleration within travel and tyre load, {duty.label}"
        unmet = (Shortfall(what, target.wished, achieved, "1", None),)
    full = vehicle.full_size
    answer = RoadAnswer(
        label=duty.label,
        kind=duty.kind,
        law=LawUsed(
            law.name,
            law.acceleration_weight,
            law.travel_weight,
            law.tyre_weight,
            law.skyhook_damping,
            law.wheel_damping,
            law.bandwidth,
            law.low_cut,
            growth,
            tuple(_gains(law, corner) for corner in vehicle.fitted),
        ),
        roughness=road.roughness,
        band_low=road.band[0],
        band_high=road.band[1],
        duration=duration,
        body_acceleration=active.body,
        body_acceleration_passive=passive.body,
        body_acceleration_weighted=active.weighted if full else None,
        body_acceleration_weighted_passive=passive.weighted if full else None,
        reduction=1.0 - _felt(active, vehicle) / _felt(passive, vehicle),
        heave_acceleration=active.heave,
        pitch_acceleration=active.pitch,
        roll_acceleration=active.roll,
        axles=tuple(axles),
        target=target,
        spectra=tuple(spectra),
    )
    return DutyOutcome(answer, duties, tuple(warnings), unmet)


def _gains(law: RideLaw, corner: Corner) -> AxleGains:
    travel, body, tyre, wheel = (float(gain) for gain in corner_law(law, corner).gains)
    return AxleGains(corner.position, travel, body, tyre, wheel)


def _felt(moments: RideMoments, vehicle: Vehicle) -> float:
    """The body acceleration a target speaks of: weighted where a person can be aboard."""
    return moments.weighted if vehicle.full_size else moments.body


def _seek(
    vehicle: Vehicle, road: RoadInput, law: RideLaw, passive: RideMoments, duration: float, wished: float
) -> Reached:
    tyre_before = [_peak(axle, Row.TYRE, duration) for axle in passive.axles]

    def trial(candidate: RideLaw) -> Trial:
        car = active_planes(vehicle, candidate)
        if not settles(car):
            return Trial(candidate, math.inf, math.inf, math.inf)
        moments = ride_moments(car, vehicle, road)
        travel = max(
            _peak(axle, Row.TRAVEL, duration) / min(axle.corner.bump, axle.corner.droop) for axle in moments.axles
        )
        tyre = max(
            _peak(axle, Row.TYRE, duration) / max(axle.corner.static_tyre_load / axle.corner.tyre, before)
            for axle, before in zip(moments.axles, tyre_before, strict=True)
        )
        return Trial(candidate, _felt(moments, vehicle) / _felt(passive, vehicle), travel, tyre)

    return seek(trial, law, Goal(1.0 - wished))


def _target_answer(reached: Reached, vehicle: Vehicle, wished: float) -> TargetAnswer:
    corner = vehicle.fitted[0]
    got, most = 1.0 - reached.ratio, 1.0 - reached.least
    if reached.forbidden_by is None:
        statement = (
            f"reached with travel_weight {reached.law.travel_weight:.4g}, tyre_weight {reached.law.tyre_weight:.4g}"
        )
        if reached.law.name == "skyhook":
            statement = f"reached with skyhook_damping {reached.law.skyhook_damping:.4g}"
        return TargetAnswer(wished, got, most, True, None, statement)
    if reached.forbidden_by == "invariant points":
        frequency = math.sqrt(corner.tyre / corner.unsprung_mass) / (2.0 * math.pi)
        statement = (
            f"not reached: this law comes to {100 * most:.3g} % at most. At {plain(frequency)} Hz the body's "
            f"acceleration per road height is tyre rate over sprung mass, {corner.tyre / corner.sprung_mass:.4g} 1/s², "
            "whatever the actuator does, and the force's lag and low cut leave little more elsewhere"
        )
    else:
        short = "the suspension travel" if reached.forbidden_by == "travel" else "the tyre's load"
        statement = f"not reached: {short} forbids it, the goal needs {reached.need:.3g} times what there is"
    if reached.within:
        statement += f"; within travel and tyre load the reduction comes to {100 * got:.3g} %"
    else:
        statement += (
            "; no strength of this law stays within travel and tyre load, so the demand holds for the law as given"
        )
    return TargetAnswer(wished, got, most, False, reached.forbidden_by, statement)


def _peak(axle: AxleMoments, row: Row, duration: float) -> float:
    return peak_factor(duration, axle.crossing_rate(row)) * axle.rms(row)


def _axle_duty(
    duty: Road, vehicle: Vehicle, axle: AxleMoments, in_step: float, duration: float, bandwidth: float
) -> AxleDuty:
    wheel, control = None, None
    if vehicle.arrangement != "parallel":
        control = axle.rms(Row.CONTROL_FORCE)
        wheel = (_peak(axle, Row.TRAVEL_RATE, duration), axle.rms(Row.TRAVEL_RATE))
    motion = RandomMotion(
        force=axle.rms(Row.FORCE),
        force_peak=_peak(axle, Row.FORCE, duration),
        velocity=axle.rms(Row.SUPPLY_RATE),
        velocity_peak=_peak(axle, Row.SUPPLY_RATE, duration),
        travel=axle.rms(Row.SUPPLY_TRAVEL),
        travel_peak=_peak(axle, Row.SUPPLY_TRAVEL, duration),
        power=axle.actuator_power,
        bandwidth=bandwidth,
        in_step=in_step,
        wheel_velocity=wheel,
        control_force=control,
    )
    return random_duty(duty.label, duty.kind, duty.share_of_time, axle.corner.ratio, motion)


def _axle_answer(now: AxleMoments, before: AxleMoments, duration: float, spectrum: RideSpectrum) -> RoadAxle:
    corner: Corner = now.corner
    low, high = _content(np.array(spectrum.frequency), np.array(spectrum.force))
    total = corner.sprung_mass + corner.unsprung_mass
    return RoadAxle(
        position=corner.position,
        body_acceleration=now.rms(Row.BODY_ACCELERATION),
        body_acceleration_passive=before.rms(Row.BODY_ACCELERATION),
        travel=now.rms(Row.TRAVEL),
        travel_passive=before.rms(Row.TRAVEL),
        travel_peak=_peak(now, Row.TRAVEL, duration),
        travel_available=min(corner.bump, corner.droop),
        tyre_load=corner.tyre * now.rms(Row.TYRE),
        tyre_load_passive=corner.tyre * before.rms(Row.TYRE),
        tyre_load_peak=corner.tyre * _peak(now, Row.TYRE, duration),
        tyre_load_static=corner.static_tyre_load,
        control_force=now.rms(Row.CONTROL_FORCE),
        force_frequency_low=low,
        force_frequency_high=high,
        road_power=now.road_power,
        damper_power=now.damper_power,
        actuator_power=now.actuator_power,
        wheel_invariant_frequency=math.sqrt(corner.tyre / corner.unsprung_mass) / (2.0 * math.pi),
        travel_invariant_frequency=math.sqrt(corner.tyre / total) / (2.0 * math.pi),
    )


def _axle_warnings(label: str, axle: RoadAxle) -> list[DesignWarning]:
    place = f"demand.{axle.position}.{label}"
    found = []
    if axle.travel_peak > axle.travel_available:
        found.append(stroke_warning(place, axle.travel_peak, axle.travel_available))
    if axle.tyre_load_peak > axle.tyre_load_static:
        found.append(lift_off_warning(place, axle.tyre_load_peak, axle.tyre_load_static))
    return found


def _spectrum(
    car: tuple[Plane, ...], passive: tuple[Plane, ...], vehicle: Vehicle, road: RoadInput, index: int
) -> RideSpectrum:
    frequency = np.geomspace(*road.frequencies, SPECTRUM_POINTS)
    now, before = (axle_spectrum(planes_, vehicle, road, frequency, index) for planes_ in (car, passive))
    corner = vehicle.corners[index]

    def values(array: NDArray[np.float64]) -> tuple[float, ...]:
        return tuple(array.tolist())

    return RideSpectrum(
        position=corner.position,
        frequency=values(frequency),
        body_acceleration=values(now[:, Row.BODY_ACCELERATION]),
        body_acceleration_passive=values(before[:, Row.BODY_ACCELERATION]),
        travel=values(now[:, Row.TRAVEL]),
        travel_passive=values(before[:, Row.TRAVEL]),
        force=values(now[:, Row.FORCE] / corner.ratio**2),
    )


def _content(frequency: NDArray[np.float64], force: NDArray[np.float64]) -> tuple[float, float]:
    """Frequencies below which the stated shares of the force's mean square lie, from its drawn spectrum."""
    pieces = 0.5 * (force[1:] + force[:-1]) * np.diff(frequency)
    below = np.concatenate([[0.0], np.cumsum(pieces)])
    if below[-1] <= 0.0:
        return 0.0, 0.0
    low, high = np.interp(CONTENT, below / below[-1], frequency)
    return float(low), float(high)
