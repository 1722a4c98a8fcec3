"""Which arrangement can make the actuator a force actuator, and how fast a valve that takes.

A valve that lags lets wheel motion strain what is stiff between valve and wheel: force error about K·v/(2π·bandwidth).
Set against the force the duty wants of the actuator, this gives the bandwidth a valve needs. Beside a spring K is the
oil column, taken as soft as may be (its natural frequency no more than force is controlled up to): the bandwidth is a
least one, necessary and seldom enough. With a spring or gas spring between, K is never above that spring's; with the
customary ratio of valve to control bandwidth the bandwidth is then a sufficient one. Seal friction is not counted.
Knows the ride's numbers and the valves' bandwidths; sizes nothing. Source of K·v/(2π·bandwidth): derived, as in
`hydraulics.stiffness.velocity_disturbance`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

import fluids_data
from models.demand import AxleDemand, AxleDuty, Shortfall
from models.hydraulics.stiffness import reduced_mass
from models.quantity import on_wire, plain
from models.ride.arrangement import ArrangementAxle, ArrangementView
from models.ride.build import DutyAnswer
from models.ride.road_answer import RoadAnswer
from models.sizing.asked import least_force
from models.spec import Position, Spec
from models.warning import DesignWarning


@dataclass(frozen=True)
class ValveNeed:
    """What keeping the force in hand takes of one axle's valves, at the duty where it takes most."""

    position: Position
    duty: str
    """Its label."""
    force_wanted: Annotated[float, on_wire("n", about="Rms the actuator adds in that duty, at the actuator")]
    wheel_velocity: Annotated[float, on_wire("m_s", about="Rms of wheel against body in that duty, at the actuator")]
    stiffness: Annotated[float, on_wire("n_mm", about="What wheel motion strains while the valve lags")]
    disturbance_bandwidth: Annotated[float, on_wire("hz", about="At which the force error equals the force wanted")]
    control_bandwidth: Annotated[float, on_wire("hz", about="What the duties need, at_most: times the customary ratio")]
    valve_bandwidth: Annotated[float, on_wire("hz", about="The greater of the two")]
    holds: Literal["at_least", "at_most"]
    """"at_least": a stiffer oil column needs more; "at_most": the spring between bounds it."""


@dataclass(frozen=True)
class ArrangementOutlook:
    """One arrangement: what its actuators must do, what ride it gives, and whether they can control force."""

    arrangement: str
    carries_weight: bool
    speed_of_control: str
    reduction: Annotated[float | None, on_wire("", about="Of body acceleration on the first road; none without a road")]
    axles: tuple[ArrangementAxle, ...]
    valves: tuple[ValveNeed, ...]
    fast_enough: tuple[str, ...]
    """Valves of the table, or the user's own, that are fast enough on every axle."""
    statement: str
    warnings: tuple[DesignWarning, ...]
    unmet: tuple[Shortfall, ...]


def outlook(view: ArrangementView, spec: Spec) -> ArrangementOutlook:
    """What one arrangement's numbers mean for its valves. `spec`: as posted; its safety ratios are kept."""
    needs = []
    for axle in view.axles:
        demand = next(demand for demand in view.answer.demand.axles if demand.position == axle.position)
        need = _need(axle, demand, view.answer.duties, spec)
        if need is not None:
            needs.append(need)
    fast = _fast_enough(max((need.valve_bandwidth for need in needs), default=math.inf), spec)
    return ArrangementOutlook(
        view.arrangement,
        view.carries_weight,
        view.speed_of_control,
        view.reduction,
        view.axles,
        tuple(needs),
        fast,
        _statement(view.arrangement, needs, fast, spec.safety.valve_bandwidth_ratio),
        view.answer.demand.warnings,
        view.answer.demand.unmet,
    )


def _need(axle: ArrangementAxle, demand: AxleDemand, answers: tuple[DutyAnswer, ...], spec: Spec) -> ValveNeed | None:
    """The need at the duty whose wheel motion is largest against the force wanted; None where no force is wanted."""
    wanted = [pair for pair in _forces_wanted(demand, answers) if pair[1] >= least_force(demand)]
    if not wanted:
        return None
    duty, force = max(wanted, key=lambda pair: _wheel_velocity(pair[0]) / pair[1])
    if axle.spring_between is None:
        mass = reduced_mass(demand.sprung_mass, demand.unsprung_mass, demand.travel_ratio)
        stiffness, ratio = mass * (2.0 * math.pi * axle.bandwidth) ** 2, 1.0
    else:
        stiffness, ratio = axle.spring_between, spec.safety.valve_bandwidth_ratio
    disturbance = stiffness * _wheel_velocity(duty) / (2.0 * math.pi * force)
    control = ratio * axle.bandwidth
    return ValveNeed(
        axle.position,
        duty.label,
        force,
        _wheel_velocity(duty),
        stiffness,
        disturbance,
        control,
        max(disturbance, control),
        "at_least" if axle.spring_between is None else "at_most",
    )


def _forces_wanted(demand: AxleDemand, answers: tuple[DutyAnswer, ...]) -> Iterator[tuple[AxleDuty, float]]:
    """Rms the actuator adds to a passive suspension in each duty; where none tells it apart, all its dynamic force."""
    told = iter(answers)  # one for each duty that was not stated as a motion, in the same order
    for duty in demand.duties:
        answer = next(told) if duty.kind != "suspension_velocity" else None
        if isinstance(answer, RoadAnswer):
            axle = next(axle for axle in answer.axles if axle.position == demand.position)
            yield duty, axle.control_force / demand.travel_ratio
        else:
            yield duty, duty.force_rms


def _wheel_velocity(duty: AxleDuty) -> float:
    return duty.wheel_velocity_rms if duty.wheel_velocity_rms is not None else duty.velocity_rms


def _fast_enough(bandwidth: float, spec: Spec) -> tuple[str, ...]:
    own = spec.measured.valve
    if own is not None:
        return ("your own valve",) if own.bandwidth >= bandwidth else ()
    rows = fluids_data.load_table("valves").rows
    return tuple(row.text("id") for row in rows if row.number("bandwidth_hz") >= bandwidth)


def _statement(arrangement: str, needs: list[ValveNeed], fast: tuple[str, ...], ratio: float) -> str:
    where = {
        "parallel": "Beside the spring",
        "series": "In line with the spring",
        "corner_accumulator": "On a gas spring at the corner",
    }[arrangement]
    if not needs:
        return f"{where} the duties ask no force of the actuators: there is nothing to control."
    need = max(needs, key=lambda one: one.valve_bandwidth)
    rule = (
        f"wheel motion of {need.wheel_velocity:.3g} m/s rms in '{need.duty}' on {plain(need.stiffness * 1e-3)} N/mm "
        f"against {plain(need.force_wanted)} N rms wanted"
        if need.disturbance_bandwidth >= need.control_bandwidth
        else f"force is controlled up to {plain(need.control_bandwidth)} Hz"
        if need.holds == "at_least"
        else f"{ratio:g} times the {plain(need.control_bandwidth / ratio)} Hz up to which force is controlled"
    )
    bound = (
        "at least, in proportion more where the oil column is stiffer than it must be"
        if need.holds == "at_least"
        else "at the most"
    )
    start = (
        f"{where} a force actuator needs a valve of {plain(need.valve_bandwidth)} Hz {bound} ({need.position}: {rule})"
    )
    if not fast:
        return f"{start}; no valve on offer is that fast: it follows position or levels, and is no force actuator."
    if need.holds == "at_least":
        return f"{start}; {_count(fast)} as fast, so that it may be one: the sizing tells."
    return f"{start}; {_count(fast)} as fast: it can be a force actuator, seal friction not counted."


def _count(fast: tuple[str, ...]) -> str:
    return f"{fast[0]} is" if len(fast) == 1 else f"{len(fast)} of the valves on offer are"
