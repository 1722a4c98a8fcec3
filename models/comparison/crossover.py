"""What would change the verdict: both sides computed along one axis, and where one overtakes the other.

Knows five axes and how each moves a scenario: vehicle scale (Froude), supply duty, share of the weight on a parallel
spring, motor constant, friction. Knows the two sides only as functions of a scenario that return their figures.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Annotated, Literal

from models.comparison.side import SideFigures, electric_sides
from models.demand import AxleDemand, AxleDuty, Demand, OperatingPoint
from models.electric.choose import size_families
from models.electric.sizing_records import Choices, Surroundings
from models.quantity import STANDARD_GRAVITY, contradiction, on_wire

Axis = Literal["vehicle_scale", "supply_duty", "spring_share", "motor_constant", "friction"]
Metric = Literal["mass", "mean_power", "peak_current", "heat_per_corner"]
METRICS: tuple[Metric, ...] = ("mass", "mean_power", "peak_current", "heat_per_corner")


BOUNDS: dict[Axis, tuple[float, float]] = {
    "vehicle_scale": (0.02, 50.0),
    "supply_duty": (0.001, 1.0),
    "spring_share": (0.0, 1.0),
    "motor_constant": (0.05, 20.0),
    "friction": (0.0, 100.0),
}
"""How far each axis goes."""

USUAL: dict[Axis, tuple[float, float]] = {
    "vehicle_scale": (0.2, 5.0),
    "supply_duty": (0.02, 1.0),
    "spring_share": (0.0, 1.0),
    "motor_constant": (0.3, 3.0),
    "friction": (0.0, 4.0),
}
"""Ends of an axis where none are asked for. Source: [estimate]."""

EVENLY: frozenset[Axis] = frozenset({"spring_share", "friction"})
"""Axes walked in equal steps; the others in equal ratios."""

MEANS: dict[Axis, str] = {
    "vehicle_scale": "length over the vehicle's own, by Froude's law",
    "supply_duty": "shares of time of all duties over the spec's own",
    "spring_share": "share of the weight on a parallel spring",
    "motor_constant": "factor on every machine's motor constant",
    "friction": "factor on the friction of every machine, guide, seal ring and pump",
}


def axis_values(axis: Axis, low: float | None, high: float | None, points: int) -> tuple[float, ...]:
    """The values to compute between the ends, both included; None takes the usual end."""
    start, end = USUAL[axis][0] if low is None else low, USUAL[axis][1] if high is None else high
    last = points - 1
    if axis in EVENLY or start == 0.0:
        return tuple(start + (end - start) * k / last for k in range(points))
    return tuple(start * (end / start) ** (k / last) for k in range(points))


def refuse_bad_ends(axis: Axis, low: float | None, high: float | None) -> None:
    """Raise the error of input whose ends do not span a part of the axis."""
    start, end = USUAL[axis][0] if low is None else low, USUAL[axis][1] if high is None else high
    if start >= end:
        raise contradiction("low ({low:g}) must lie below high ({high:g})", low=start, high=end)
    least, most = BOUNDS[axis]
    if start < least or end > most:
        raise contradiction("the axis {axis} goes from {least:g} to {most:g}", axis=axis, least=least, most=most)


@dataclass(frozen=True)
class Scenario:
    """A demand and its surroundings, moved along one axis. Factors are on every machine's motor constant and on all
    friction; `scale` is the length scale already applied to the demand."""

    demand: Demand
    surroundings: Surroundings
    choices: Choices = field(default_factory=Choices)
    spring_share: float = 1.0
    motor_constant_factor: float = 1.0
    friction_factor: float = 1.0
    scale: float = 1.0


def moved(scenario: Scenario, axis: Axis, value: float) -> Scenario:
    """The scenario at `value` of an axis.

    With the scale the battery grows as energy does, the bus voltage stays, and limits of size grow with the length.
    """
    if axis == "vehicle_scale":
        return dataclasses.replace(
            scenario,
            demand=scaled_demand(scenario.demand, value),
            surroundings=_scaled_surroundings(scenario.surroundings, value),
            scale=scenario.scale * value,
        )
    if axis == "supply_duty":
        return dataclasses.replace(scenario, demand=with_duty(scenario.demand, value))
    if axis == "spring_share":
        return dataclasses.replace(scenario, demand=with_spring(scenario.demand, value), spring_share=value)
    if axis == "motor_constant":
        return dataclasses.replace(scenario, motor_constant_factor=value)
    return dataclasses.replace(scenario, friction_factor=value)


def scaled_demand(demand: Demand, scale: float) -> Demand:
    """The demand of a vehicle `scale` times as long, every length alike.

    Source: Froude's law: time and velocity with the root of the length, mass and force with its cube, stiffness with
    its square, power with its 3.5th power.
    """
    root = math.sqrt(scale)
    force, velocity, power = scale**3, root, scale**3.5
    axles = tuple(
        dataclasses.replace(
            axle,
            sprung_mass=axle.sprung_mass * force,
            unsprung_mass=axle.unsprung_mass * force,
            wheel_rate=axle.wheel_rate * scale**2,
            tyre_rate=axle.tyre_rate * scale**2,
            static_force=axle.static_force * force,
            stroke_available=axle.stroke_available * scale,
            duties=tuple(
                dataclasses.replace(
                    duty,
                    points=tuple(OperatingPoint(p.force * force, p.velocity * velocity) for p in duty.points),
                    force_peak=duty.force_peak * force,
                    force_rms=duty.force_rms * force,
                    velocity_peak=duty.velocity_peak * velocity,
                    velocity_rms=duty.velocity_rms * velocity,
                    velocity_mean_abs=duty.velocity_mean_abs * velocity,
                    stroke=duty.stroke * scale,
                    frequency=duty.frequency / root,
                    bandwidth=duty.bandwidth / root,
                    mean_power=duty.mean_power * power,
                    mean_power_bound=duty.mean_power_bound * power,
                    burst_path_out=duty.burst_path_out * scale,
                    burst_path_in=duty.burst_path_in * scale,
                    burst_duration=duty.burst_duration * root,
                    ripple_frequency=duty.ripple_frequency / root,
                    power_delivered=duty.power_delivered * power,
                    power_absorbed=duty.power_absorbed * power,
                    wheel_velocity_peak=_times(duty.wheel_velocity_peak, velocity),
                    wheel_velocity_rms=_times(duty.wheel_velocity_rms, velocity),
                    hold_force=duty.hold_force * force,
                )
                for duty in axle.duties
            ),
        )
        for axle in demand.axles
    )
    return dataclasses.replace(demand, axles=axles, plant_mass=demand.plant_mass * force)


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


def _scaled_surroundings(surroundings: Surroundings, scale: float) -> Surroundings:
    return dataclasses.replace(
        surroundings,
        energy=_times(surroundings.energy, scale**4),
        peak_current=_times(surroundings.peak_current, scale**3.5),
        outer_diameter=_times(surroundings.outer_diameter, scale),
        retracted_length=_times(surroundings.retracted_length, scale),
    )


def with_duty(demand: Demand, factor: float) -> Demand:
    """The demand with every duty's share of time multiplied by `factor`, at most 1; what is left is standby."""
    axles = tuple(
        dataclasses.replace(
            axle,
            duties=tuple(dataclasses.replace(d, share_of_time=d.share_of_time * factor) for d in axle.duties),
        )
        for axle in demand.axles
    )
    active = sum(duty.share_of_time for duty in axles[0].duties)
    return dataclasses.replace(demand, axles=axles, standby_share=max(0.0, 1.0 - active))


def with_spring(demand: Demand, share: float) -> Demand:
    """The demand when a parallel spring carries `share` of the weight and the actuators the rest."""
    return dataclasses.replace(demand, axles=tuple(_axle_with_spring(axle, share) for axle in demand.axles))


def _axle_with_spring(axle: AxleDemand, share: float) -> AxleDemand:
    static = (1.0 - share) * axle.sprung_mass * STANDARD_GRAVITY / axle.travel_ratio
    step = static - axle.static_force

    def loaded(duty: AxleDuty) -> AxleDuty:
        points = tuple(OperatingPoint(p.force + step, p.velocity) for p in duty.points)
        peak = max(abs(p.force) for p in points)
        return dataclasses.replace(duty, points=points, force_peak=peak, hold_force=duty.hold_force + step)

    return dataclasses.replace(axle, static_force=static, duties=tuple(loaded(duty) for duty in axle.duties))


def electric_side(scenario: Scenario) -> SideFigures:
    """The best all-electric side of a scenario: one spring share, its factors on motor constant and friction."""
    choices = dataclasses.replace(
        scenario.choices,
        spring_shares=(scenario.spring_share,),
        motor_constant_factor=scenario.choices.motor_constant_factor * scenario.motor_constant_factor,
        friction_factor=scenario.choices.friction_factor * scenario.friction_factor,
    )
    return electric_sides(size_families(scenario.demand, scenario.surroundings, choices))[0]


@dataclass(frozen=True)
class CurvePoint:
    """Both sides at one value of the axis; a figure is None where that side is not feasible."""

    value: Annotated[float, on_wire("", about="On the axis")]
    hydraulic_feasible: bool
    electric_feasible: bool
    hydraulic_label: str
    electric_label: str
    hydraulic_mass: Annotated[float | None, on_wire("kg")]
    electric_mass: Annotated[float | None, on_wire("kg")]
    hydraulic_mean_power: Annotated[float | None, on_wire("w")]
    electric_mean_power: Annotated[float | None, on_wire("w")]
    hydraulic_peak_current: Annotated[float | None, on_wire("a")]
    electric_peak_current: Annotated[float | None, on_wire("a")]
    hydraulic_heat_per_corner: Annotated[float | None, on_wire("w")]
    electric_heat_per_corner: Annotated[float | None, on_wire("w")]


@dataclass(frozen=True)
class Crossing:
    """Where one side overtakes the other in `metric`: between `low` and `high`, at about `value`."""

    metric: Metric
    value: Annotated[float, on_wire("", about="On the axis, between its neighbours computed")]
    low: Annotated[float, on_wire("")]
    high: Annotated[float, on_wire("")]
    below: Literal["hydraulic", "electric"]
    above: Literal["hydraulic", "electric"]


@dataclass(frozen=True)
class Crossover:
    """Both sides along an axis, every crossing found, and what is to be said of each metric."""

    axis: Axis
    means: str
    points: tuple[CurvePoint, ...]
    crossings: tuple[Crossing, ...]
    statements: tuple[str, ...]


def crossover(
    scenario: Scenario,
    axis: Axis,
    values: Sequence[float],
    hydraulic: Callable[[Scenario], SideFigures],
    electric: Callable[[Scenario], SideFigures] = electric_side,
    progress: Callable[[int, int], None] | None = None,
    workers: int = 2,
) -> Crossover:
    """Compute both sides at every value, in rising order, and find where they cross.

    progress(done, all) is called after each point, in order; when it raises, what is not begun is given up. The sides
    are called from `workers` threads at once.
    """

    def both(value: float) -> CurvePoint:
        there = moved(scenario, axis, value)
        return _point(value, hydraulic(there), electric(there))

    ordered, points = sorted(values), []
    with ThreadPoolExecutor(max_workers=workers) as pool:
        waiting = [pool.submit(both, value) for value in ordered]
        try:
            for point in waiting:
                points.append(point.result())
                if progress is not None:
                    progress(len(points), len(ordered))
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    found = tuple(crossing for metric in METRICS for crossing in _crossings(points, metric))
    statements = tuple(_statement(points, metric, found, axis) for metric in METRICS)
    return Crossover(axis, MEANS[axis], tuple(points), found, statements + _feasibility(points, axis))


def _point(value: float, hydraulic: SideFigures, electric: SideFigures) -> CurvePoint:
    def told(side: SideFigures, metric: Metric) -> float | None:
        number: float | None = getattr(side, metric)
        return number if side.feasible else None

    return CurvePoint(
        value=value,
        hydraulic_feasible=hydraulic.feasible,
        electric_feasible=electric.feasible,
        hydraulic_label=hydraulic.label,
        electric_label=electric.label,
        hydraulic_mass=told(hydraulic, "mass"),
        electric_mass=told(electric, "mass"),
        hydraulic_mean_power=told(hydraulic, "mean_power"),
        electric_mean_power=told(electric, "mean_power"),
        hydraulic_peak_current=told(hydraulic, "peak_current"),
        electric_peak_current=told(electric, "peak_current"),
        hydraulic_heat_per_corner=told(hydraulic, "heat_per_corner"),
        electric_heat_per_corner=told(electric, "heat_per_corner"),
    )


def _lead(point: CurvePoint, metric: Metric) -> float | None:
    """Logarithm of hydraulic over electric, positive where the electric side is ahead; None where it has no meaning."""
    hydraulic, electric = getattr(point, f"hydraulic_{metric}"), getattr(point, f"electric_{metric}")
    if hydraulic is None or electric is None or hydraulic <= 0.0 or electric <= 0.0:
        return None
    return math.log(hydraulic / electric)


def _crossings(points: Sequence[CurvePoint], metric: Metric) -> list[Crossing]:
    """Sign changes of the lead between neighbours, placed by a straight line in it."""
    found = []
    told = [(point.value, lead) for point in points if (lead := _lead(point, metric)) is not None]
    for (low, before), (high, after) in pairwise(told):
        if (before > 0.0) == (after > 0.0):
            continue
        part = before / (before - after)
        value = low * (high / low) ** part if low > 0.0 else low + part * (high - low)
        below: Literal["hydraulic", "electric"] = "electric" if before > 0.0 else "hydraulic"
        above: Literal["hydraulic", "electric"] = "hydraulic" if before > 0.0 else "electric"
        found.append(Crossing(metric, value, low, high, below, above))
    return found


OFTEN = 3
"""Changes of the lead beyond which they are counted, not told one by one."""

TOLD: dict[Metric, str] = {
    "mass": "mounted mass",
    "mean_power": "mean power",
    "peak_current": "peak current",
    "heat_per_corner": "heat per corner",
}


def _statement(points: Sequence[CurvePoint], metric: Metric, found: Sequence[Crossing], axis: Axis) -> str:
    name, along = TOLD[metric], axis.replace("_", " ")
    here = [crossing for crossing in found if crossing.metric == metric]
    if len(here) == 1:
        only = here[0]
        return f"in {name} {only.below} leads below {along} {only.value:.3g}, {only.above} above it"
    if len(here) > OFTEN:
        span = f"{here[0].value:.3g} and {here[-1].value:.3g}"
        return f"in {name} the two are close: the lead changes {len(here)} times along {along} between {span}"
    if here:
        places = "; ".join(f"at {c.value:.3g} from {c.below} to {c.above}" for c in here)
        return f"in {name} the lead changes along {along} {places}"
    leads = [(abs(lead), lead, point.value) for point in points if (lead := _lead(point, metric)) is not None]
    if not leads:
        return f"in {name} there is no lead along {along}: at no value do both sides have a figure"
    least, lead, value = min(leads)
    ahead = "electric" if lead > 0.0 else "hydraulic"
    return (
        f"in {name} {ahead} leads all along {along}, at the least by a factor of {math.exp(least):.3g} at {value:.3g}"
    )


def _feasibility(points: Sequence[CurvePoint], axis: Axis) -> tuple[str, ...]:
    along, said = axis.replace("_", " "), []
    for side in ("hydraulic", "electric"):
        able = [getattr(point, f"{side}_feasible") for point in points]
        if not any(able):
            said.append(f"the {side} side meets the demand at no value of {along}")
        for number, (before, after) in enumerate(pairwise(points)):
            if able[number] != able[number + 1]:
                change = "begins" if able[number + 1] else "ceases"
                between = f"between {along} {before.value:.3g} and {after.value:.3g}"
                said.append(f"the {side} side {change} to meet the demand {between}")
    return tuple(said)
