"""The three arrangements side by side: what the actuator must do beside a spring, in line with it, or on a gas spring.

Gives the numbers from which a hydraulic judgement follows; takes none itself. Whether a valve can make the actuator a
force actuator depends on the oil's stiffness, which is not known here: with k_oil the stiffness that resists a lagging
valve is k_oil alone in `parallel`, and k_oil in series with `spring_between` otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from models.demand import AxleDemand
from models.quantity import on_wire
from models.ride.build import RideAnswer, ride_answer
from models.ride.road_answer import RoadAnswer
from models.ride.vehicle import ARRANGEMENTS, Arrangement, Corner, Vehicle, vehicle_of
from models.spec import Position, Spec, complete


@dataclass(frozen=True)
class ArrangementAxle:
    """One axle's actuator in one arrangement, at the actuator; largest over all duties unless said otherwise."""

    position: Position
    spring_between: Annotated[
        float | None, on_wire("n_mm", about="Spring or gas spring between actuator and wheel; none in parallel")
    ]
    damping_beside: Annotated[float, on_wire("n_s_m", about="Damper beside the actuator, kept or assumed")]
    orifice_damping: Annotated[float, on_wire("n_s_m", about="Damping that a corner accumulator's orifice must give")]
    static_force: Annotated[float, on_wire("n", about="Weight the actuator carries")]
    force_peak: Annotated[float, on_wire("n", about="Weight included")]
    force_rms: Annotated[float, on_wire("n", about="Dynamic part")]
    force_control_rms: Annotated[float | None, on_wire("n", about="What the ride law adds, on the first road")]
    velocity_peak: Annotated[float, on_wire("m_s", about="Of the supply: piston, spring seat, or oil as piston travel")]
    velocity_rms: Annotated[float, on_wire("m_s")]
    velocity_mean_abs: Annotated[float, on_wire("m_s", about="Over operating time, standby counted")]
    wheel_velocity_rms: Annotated[float, on_wire("m_s", about="Wheel against body: what disturbs a held force")]
    wheel_velocity_peak: Annotated[float, on_wire("m_s")]
    stroke: Annotated[float, on_wire("mm", about="Travel of the supply, peak to peak")]
    bandwidth: Annotated[float, on_wire("hz", about="Frequency up to which force must be controlled")]
    mean_power: Annotated[float, on_wire("w", about="Over operating time, standby counted; negative: absorbed")]
    body_frequency: Annotated[float, on_wire("hz")]
    wheel_frequency: Annotated[float, on_wire("hz")]


@dataclass(frozen=True)
class ArrangementView:
    """One arrangement: what it asks and what ride it gives."""

    arrangement: str
    carries_weight: bool
    speed_of_control: str
    """"fast-active" above twice the wheel frequency, "slow-active" below it."""
    axles: tuple[ArrangementAxle, ...]
    reduction: Annotated[float | None, on_wire("", about="Of body acceleration on the first road; none without a road")]
    answer: RideAnswer


def compare_arrangements(
    spec: Spec, plant_mass: float = 0.0, among: Sequence[Arrangement] = ARRANGEMENTS
) -> tuple[ArrangementView, ...]:
    """The demand in all three arrangements, or those of `among`, for a spec as posted.

    What the spec leaves open is filled for each in turn. Duties with an unstable law are missing from a view's axles;
    an axle left without duties is missing itself.
    """
    views = []
    for arrangement in among:
        weight = spec.weight_carried_by if arrangement == "parallel" else "actuator"
        turned, _ = complete(spec.model_copy(update={"arrangement": arrangement, "weight_carried_by": weight}))
        vehicle, answer = vehicle_of(turned, plant_mass), ride_answer(turned, plant_mass)
        road = next((duty for duty in answer.duties if isinstance(duty, RoadAnswer)), None)
        axles = tuple(
            _axle(vehicle, vehicle.corner(axle.position), axle, answer, road)
            for axle in answer.demand.axles
            if axle.duties
        )
        fast = bool(axles) and all(axle.bandwidth >= 1.9 * axle.wheel_frequency for axle in axles)
        views.append(
            ArrangementView(
                arrangement,
                vehicle.carries_weight,
                "fast-active" if fast and arrangement == "parallel" else "slow-active",
                axles,
                road.reduction if road is not None else None,
                answer,
            )
        )
    return tuple(views)


def _axle(
    vehicle: Vehicle, corner: Corner, axle: AxleDemand, answer: RideAnswer, road: RoadAnswer | None
) -> ArrangementAxle:
    duties = axle.duties
    mix = next(mix for mix in answer.mix.axles if mix.position == axle.position)
    square = corner.ratio**2
    ridden = next((a for a in road.axles if a.position == axle.position), None) if road is not None else None

    def wheel(name: str, plain: str) -> float:
        return max(v if (v := getattr(d, name)) is not None else getattr(d, plain) for d in duties)

    return ArrangementAxle(
        position=axle.position,
        spring_between=None if vehicle.arrangement == "parallel" else corner.spring / square,
        damping_beside=(corner.damping - corner.orifice) / square,
        orifice_damping=corner.orifice / square,
        static_force=axle.static_force,
        force_peak=max(d.force_peak for d in duties),
        force_rms=max(d.force_rms for d in duties),
        force_control_rms=ridden.control_force / corner.ratio if ridden is not None else None,
        velocity_peak=max(d.velocity_peak for d in duties),
        velocity_rms=max(d.velocity_rms for d in duties),
        velocity_mean_abs=mix.velocity_mean_abs,
        wheel_velocity_rms=wheel("wheel_velocity_rms", "velocity_rms"),
        wheel_velocity_peak=wheel("wheel_velocity_peak", "velocity_peak"),
        stroke=max(d.stroke for d in duties),
        bandwidth=max(d.bandwidth for d in duties),
        mean_power=mix.mean_power,
        body_frequency=corner.body_frequency,
        wheel_frequency=corner.wheel_frequency,
    )
