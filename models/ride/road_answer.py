"""What a road duty answers: the ride against the passive car, the law that was used, spectra to draw. Records only."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from models.quantity import on_wire
from models.spec import Position


@dataclass(frozen=True)
class AxleGains:
    """Force between body and wheel per motion, at the wheel, before low cut and lag."""

    position: Position
    travel: Annotated[float, on_wire("n_m")]
    body_velocity: Annotated[float, on_wire("n_s_m")]
    tyre_deflection: Annotated[float, on_wire("n_m")]
    wheel_velocity: Annotated[float, on_wire("n_s_m")]


@dataclass(frozen=True)
class LawUsed:
    """The ride law as it acts: the weights asked for, or those the target led to."""

    name: str
    acceleration_weight: Annotated[float, on_wire("")]
    travel_weight: Annotated[float, on_wire("")]
    tyre_weight: Annotated[float, on_wire("")]
    skyhook_damping: Annotated[float, on_wire("")]
    wheel_damping: Annotated[float, on_wire("")]
    bandwidth: Annotated[float, on_wire("hz")]
    low_cut: Annotated[float, on_wire("hz")]
    growth: Annotated[float, on_wire("per_s", about="Largest real part of the car's eigenvalues; negative is stable")]
    gains: tuple[AxleGains, ...]


@dataclass(frozen=True)
class TargetAnswer:
    """What became of a wished reduction of body acceleration."""

    wished: Annotated[float, on_wire("")]
    reached: Annotated[float, on_wire("")]
    largest: Annotated[
        float, on_wire("", about="Largest reduction met in the search, travel and tyre load disregarded")
    ]
    met: bool
    forbidden_by: str | None
    statement: str


@dataclass(frozen=True)
class RideSpectrum:
    """One-sided spectra at one axle's corner, active and passive."""

    position: Position
    frequency: tuple[Annotated[float, on_wire("hz")], ...]
    body_acceleration: tuple[Annotated[float, on_wire("m2_s3")], ...]
    body_acceleration_passive: tuple[Annotated[float, on_wire("m2_s3")], ...]
    travel: tuple[Annotated[float, on_wire("mm2_hz")], ...]
    travel_passive: tuple[Annotated[float, on_wire("mm2_hz")], ...]
    force: tuple[Annotated[float, on_wire("n2_hz", about="At the actuator")], ...]


@dataclass(frozen=True)
class RoadAxle:
    """What the road does at one axle's corner, at the wheel; the actuator's part stands in the demand."""

    position: Position
    body_acceleration: Annotated[float, on_wire("m_s2", about="Rms, of the body above this wheel")]
    body_acceleration_passive: Annotated[float, on_wire("m_s2")]
    travel: Annotated[float, on_wire("mm", about="Rms")]
    travel_passive: Annotated[float, on_wire("mm")]
    travel_peak: Annotated[float, on_wire("mm", about="Expected largest over the drive, either way")]
    travel_available: Annotated[float, on_wire("mm", about="The smaller of bump and droop travel")]
    tyre_load: Annotated[float, on_wire("n", about="Rms of the tyre's load variation")]
    tyre_load_passive: Annotated[float, on_wire("n")]
    tyre_load_peak: Annotated[float, on_wire("n")]
    tyre_load_static: Annotated[float, on_wire("n")]
    control_force: Annotated[float, on_wire("n", about="Rms of what the ride law adds, at the wheel")]
    force_frequency_low: Annotated[float, on_wire("hz", about="5 % of the force's mean square lies below")]
    force_frequency_high: Annotated[float, on_wire("hz", about="95 % lies below")]
    road_power: Annotated[float, on_wire("w", about="Mean power the road feeds in")]
    damper_power: Annotated[float, on_wire("w", about="Mean power dampers turn to heat")]
    actuator_power: Annotated[float, on_wire("w", about="Mean power the actuator gives; negative: it absorbs")]
    wheel_invariant_frequency: Annotated[
        float, on_wire("hz", about="Where no actuator changes the body's acceleration per road height")
    ]
    travel_invariant_frequency: Annotated[
        float, on_wire("hz", about="Where no actuator changes travel per road height")
    ]


@dataclass(frozen=True)
class RoadAnswer:
    """A road duty: the ride against the passive car, rms values, and what moved the weights."""

    label: str
    kind: str
    law: LawUsed
    roughness: Annotated[float, on_wire("m3")]
    band_low: Annotated[float, on_wire("per_m")]
    band_high: Annotated[float, on_wire("per_m")]
    duration: Annotated[float, on_wire("s", about="Time the peaks are expected in")]
    body_acceleration: Annotated[float, on_wire("m_s2", about="Rms over the corners, unweighted")]
    body_acceleration_passive: Annotated[float, on_wire("m_s2")]
    body_acceleration_weighted: Annotated[
        float | None, on_wire("m_s2", about="Through Wk of ISO 2631-1; full-size vehicles only")
    ]
    body_acceleration_weighted_passive: Annotated[float | None, on_wire("m_s2")]
    reduction: Annotated[float, on_wire("", about="Of the weighted acceleration where there is one, else of the other")]
    heave_acceleration: Annotated[float, on_wire("m_s2")]
    pitch_acceleration: Annotated[float | None, on_wire("rad_s2")]
    roll_acceleration: Annotated[float | None, on_wire("rad_s2")]
    axles: tuple[RoadAxle, ...]
    target: TargetAnswer | None
    spectra: tuple[RideSpectrum, ...]
