"""What the user asks for: the vehicle, its duty, medium, bus, limits, layout, shelf stock and safety factors.

Every field is bounded. `Spec` is what was posted; `complete(spec)` fills what was left open and lists each default
it used, so that an answer never rests on a silent assumption. Axes and corners follow ISO 8855 and the trade's usage:
x forward, y left, z up; corners fl, fr, rl, rr. Values "per corner" are for one corner of that axle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from models.budget import ElectricBudget
from models.duty import Duty, Manoeuvre, Rig, Road, SuspensionVelocity
from models.duty_defaults import AxleScale, FleetScale, complete_duty
from models.quantity import ZERO_CELSIUS, Input, contradiction, on_wire
from models.shelf import Measured, OwnMedium, Stock

Position = Literal["front", "rear"]
POSITIONS: tuple[Position, ...] = ("front", "rear")

LIGHTEST_WHEEL = 0.002
"""Least unsprung over sprung mass that counts as a wheel; below it lies a slip of units."""

LEAST_REFERENCE = 0.005
"""Least damping ratio of a passive vehicle on a random road; below it the resonances have no finite answer of use."""

ARRANGEMENT_REASONS = {
    "parallel": "a spring beside the actuator carries the weight",
    "series": "the actuator stands in line with the spring and carries what it carries",
    "corner_accumulator": "the gas spring works through the actuator's chamber",
}


class Axle(Input):
    """One axle's corners, per corner."""

    sprung_mass: Annotated[float, on_wire("kg", 0.02, 20_000.0, "Sprung mass on one corner")]
    unsprung_mass: Annotated[float, on_wire("kg", 0.002, 3_000.0, "Unsprung mass of one corner")]
    wheel_rate: Annotated[float, on_wire("n_mm", 0.001, 2_000.0, "Spring rate at the wheel, one corner")]
    tyre_rate: Annotated[float, on_wire("n_mm", 0.01, 5_000.0, "Vertical rate of the tyre")]
    retained_damping: Annotated[
        float, on_wire("n_s_m", 0.0, 100_000.0, "Damping at the wheel that stays beside the actuator")
    ] = 0.0
    reference_damping: Annotated[
        float | None,
        on_wire("n_s_m", 0.0, 100_000.0, "Damping of the passive vehicle to compare with; default ζ = 0.3"),
    ] = None
    anti_roll_rate: Annotated[
        float, on_wire("nm_deg", 0.0, 1e6, "Roll stiffness of this axle's anti-roll bar, per degree of body roll")
    ] = 0.0
    roll_centre_height: Annotated[float, on_wire("mm", -500.0, 2_000.0, "Height of the roll centre")] = 0.0
    actuator_travel_per_wheel_travel: Annotated[
        float, on_wire("", 0.1, 2.0, "Actuator travel divided by wheel travel, R: force at the wheel is R times force")
    ] = 1.0
    bump_travel: Annotated[float, on_wire("mm", 0.5, 600.0, "Wheel travel from static height to the bump stop")]
    droop_travel: Annotated[float, on_wire("mm", 0.5, 600.0, "Wheel travel from static height to full droop")]

    @model_validator(mode="after")
    def _tyre_is_stiffer(self) -> Self:
        if self.tyre_rate < self.wheel_rate:
            raise contradiction(
                "tyre_rate_n_mm ({tyre}) is softer than wheel_rate_n_mm ({wheel}); a tyre carries the spring",
                at=["tyre_rate_n_mm"],
                tyre=self.tyre_rate / 1e3,
                wheel=self.wheel_rate / 1e3,
            )
        if self.unsprung_mass < LIGHTEST_WHEEL * self.sprung_mass:
            raise contradiction(
                "unsprung_mass_kg ({wheel}) is less than {share} of sprung_mass_kg ({body}): a wheel without mass has "
                "no motion to compute; check the units",
                at=["unsprung_mass_kg"],
                wheel=self.unsprung_mass,
                share=LIGHTEST_WHEEL,
                body=self.sprung_mass,
            )
        return self


class Bus(Input):
    """The electric supply that drives the pump motor and the valves."""

    voltage: Annotated[float, on_wire("v", 3.0, 1_000.0, "Nominal voltage")]
    peak_current: Annotated[float | None, on_wire("a", 0.1, 5_000.0, "Largest current the supply may give")] = None
    energy: Annotated[float | None, on_wire("wh", 0.1, 1e6, "Energy of the battery; gives the run time")] = None


class Limits(Input):
    """Bounds on the design; what is not given is not bounded."""

    pressure: Annotated[float | None, on_wire("bar", 2.0, 400.0, "Highest supply pressure")] = None
    mass: Annotated[float | None, on_wire("kg", 0.05, 5_000.0, "Most the plant may weigh, wet")] = None
    cylinder_outer_diameter: Annotated[float | None, on_wire("mm", 3.0, 300.0, "Largest barrel diameter")] = None
    retracted_length: Annotated[float | None, on_wire("mm", 5.0, 3_000.0, "Longest cylinder, pin to pin, in")] = None
    surface_temperature: Annotated[float | None, on_wire("c", 30.0, 120.0, "Hottest surface allowed")] = None


class Layout(Input):
    """Lengths of the lines and where the valves sit."""

    supply_line: Annotated[float | None, on_wire("mm", 10.0, 30_000.0, "Pump to valves; default wheelbase/4")] = None
    suction_line: Annotated[float | None, on_wire("mm", 5.0, 10_000.0, "Reservoir to pump; default wheelbase/10")] = (
        None
    )
    front_line: Annotated[float | None, on_wire("mm", 5.0, 30_000.0, "Valve to a front cylinder, each of two")] = None
    rear_line: Annotated[float | None, on_wire("mm", 5.0, 30_000.0, "Valve to a rear cylinder, each of two")] = None
    hose: Annotated[
        float | None, on_wire("mm", 0.0, 5_000.0, "Flexible part of each corner line; default bump + droop, times 3")
    ] = None
    bends_per_line: Annotated[int, Field(ge=0, le=20, description="90° bends in each corner line")] = 3


class Safety(Input):
    """Factors and ratios the sizing keeps; customary values, each to be changed by who answers for the design."""

    buckling_factor: Annotated[float, on_wire("", 1.5, 10.0, "Euler or Johnson load over greatest thrust")] = 3.5
    burst_factor: Annotated[float, on_wire("", 2.0, 10.0, "Burst over highest pressure, cylinders, tubes, hoses")] = 4.0
    stiffness_ratio: Annotated[float, on_wire("", 1.0, 10.0, "Hydraulic natural frequency over duty frequency")] = 3.0
    valve_bandwidth_ratio: Annotated[float, on_wire("", 1.0, 10.0, "Valve bandwidth over duty frequency")] = 3.0
    valve_opening: Annotated[float, on_wire("", 0.3, 1.0, "Largest opening at any operating point")] = 0.9
    lowest_chamber_pressure: Annotated[
        float, on_wire("bar", -0.9, 20.0, "Lowest chamber pressure (gauge) that counts as free of cavitation")
    ] = 0.0
    line_loss_fraction: Annotated[
        float, on_wire("", 0.005, 0.3, "Loss allowed in the supply line and, again, in the return, of supply pressure")
    ] = 0.05
    flow_margin: Annotated[float, on_wire("", 1.0, 3.0, "Pump flow over the flow needed")] = 1.1
    torque_margin: Annotated[float, on_wire("", 1.0, 3.0, "Motor torque over the torque needed")] = 1.15
    precharge_ratio: Annotated[float, on_wire("", 0.5, 0.95, "Precharge over lowest working pressure, hot")] = 0.9
    reservoir_dwell: Annotated[
        float, on_wire("s", 5.0, 600.0, "Reservoir oil over mean pump flow; 60 s is common on mobile plant")
    ] = 30.0
    friction_fraction: Annotated[float, on_wire("", 0.01, 1.0, "Seal friction over rms force that earns a warning")] = (
        0.1
    )


Medium = str | OwnMedium


class Spec(Input):
    """A vehicle or bench rig, what its actuators must do, and what the design may use."""

    name: Annotated[str, Field(max_length=120, description="A label; not part of the sizing's id")] = ""
    corners_fitted: Literal["four", "front", "rear", "one"] = "four"
    front: Axle | None = None
    rear: Axle | None = None
    wheelbase: Annotated[float | None, on_wire("mm", 50.0, 15_000.0, "Wheelbase")] = None
    track: Annotated[float | None, on_wire("mm", 30.0, 4_000.0, "Track")] = None
    cg_height: Annotated[float | None, on_wire("mm", 5.0, 4_000.0, "Height of the centre of gravity")] = None
    pitch_inertia: Annotated[
        float | None, on_wire("kg_m2", 1e-6, 1e7, "Of the sprung mass; default: front and rear move independently")
    ] = None
    roll_inertia: Annotated[
        float | None, on_wire("kg_m2", 1e-6, 1e7, "Of the sprung mass; default radius of gyration 0.4 track")
    ] = None
    weight_carried_by: Annotated[
        Literal["spring", "actuator"] | None, Field(description="Default: the spring in 'parallel', else the actuator")
    ] = None
    arrangement: Annotated[
        Literal["parallel", "series", "corner_accumulator"] | None,
        Field(
            description="How the actuator sits to the spring; default 'parallel'; a demand left open answers all three"
        ),
    ] = None
    duty: Annotated[list[Duty], Field(min_length=1, max_length=12)]
    medium: Annotated[Medium, Field(description="Id of a medium, 'auto', or an own oil")] = "mineral_vg15"
    entrained_air_fraction: Annotated[float, on_wire("", 0.0, 0.1, "Free air by volume at atmospheric pressure")] = 0.01
    oil_cold: Annotated[float, on_wire("c", -50.0, 60.0, "Coldest oil to work with")] = ZERO_CELSIUS
    oil_hot: Annotated[float, on_wire("c", 20.0, 120.0, "Hottest oil allowed")] = ZERO_CELSIUS + 60.0
    ambient: Annotated[float, on_wire("c", -40.0, 60.0, "Air around the plant at its hottest")] = ZERO_CELSIUS + 30.0
    air_speed: Annotated[float, on_wire("m_s", 0.0, 60.0, "Air over reservoir and cooler")] = 0.0
    bus: Bus
    limits: Limits = Limits()
    layout: Layout = Layout()
    stock: Stock = Stock()
    measured: Measured = Measured()
    electric_budget: Annotated[
        ElectricBudget | None, Field(description="Allowances per corner; both sides of the comparison are held to them")
    ] = None
    objective: Literal["mass", "power", "balanced"] = "balanced"
    safety: Safety = Safety()

    @property
    def positions(self) -> tuple[Position, ...]:
        """Axles with actuators."""
        return (
            POSITIONS if self.corners_fitted == "four" else ("rear",) if self.corners_fitted == "rear" else ("front",)
        )

    @property
    def corners_per_axle(self) -> int:
        return 1 if self.corners_fitted == "one" else 2

    def axle(self, position: Position) -> Axle:
        """The axle at `position`; a valid spec has one wherever actuators are fitted."""
        axle = self.front if position == "front" else self.rear
        if axle is None:
            raise KeyError(position)
        return axle

    @model_validator(mode="after")
    def _complete_and_consistent(self) -> Self:
        for position in self.positions:
            if getattr(self, position) is None:
                raise contradiction(
                    "corners_fitted is '{fitted}', so '{position}' is needed",
                    at=[position],
                    fitted=self.corners_fitted,
                    position=position,
                )
        if self.corners_fitted != "one" and (self.wheelbase is None or self.track is None):
            raise contradiction(
                "wheelbase_mm and track_mm are needed unless corners_fitted is 'one'",
                at=["wheelbase_mm" if self.wheelbase is None else "track_mm"],
            )
        if self.oil_hot - self.oil_cold < 5.0:
            raise contradiction(
                "oil_hot_c must lie at least 5 K above oil_cold_c; given {cold:.6g} and {hot:.6g}",
                at=["oil_hot_c"],
                cold=self.oil_cold - ZERO_CELSIUS,
                hot=self.oil_hot - ZERO_CELSIUS,
            )
        if self.ambient >= self.oil_hot:
            raise contradiction("ambient_c must lie below oil_hot_c, or no heat leaves the oil", at=["ambient_c"])
        surface = self.limits.surface_temperature
        if surface is not None and surface <= self.ambient:
            raise contradiction(
                "surface_temperature_c must lie above ambient_c, or no heat leaves the surface",
                at=["limits", "surface_temperature_c"],
            )
        total = sum(duty.share_of_time for duty in self.duty)
        if total > 1.0 + 1e-9:
            raise contradiction("shares of time add up to {total:.6g}; they may not exceed 1", at=["duty"], total=total)
        if self.arrangement not in (None, "parallel") and self.weight_carried_by == "spring":
            raise contradiction(
                "in the arrangement '{arrangement}' the actuator carries the weight; leave weight_carried_by out",
                at=["weight_carried_by"],
                arrangement=self.arrangement,
            )
        if self.arrangement == "corner_accumulator" and self.stock.anti_cavitation == [True]:
            raise contradiction(
                "in the arrangement 'corner_accumulator' no anti-cavitation checks are fitted: each rebound would let "
                "oil into the chamber and pump the corner up",
                at=["stock", "anti_cavitation"],
            )
        for number, duty in enumerate(self.duty):
            if isinstance(duty, SuspensionVelocity):
                self._check_motion(duty, number)
            elif isinstance(duty, Rig):
                self._check_rig(duty, number)
            elif isinstance(duty, Manoeuvre):
                self._check_manoeuvre(duty, number)
            elif isinstance(duty, Road):
                self._check_road(duty)
        return self

    def _check_road(self, duty: Road) -> None:
        for position in POSITIONS:
            axle = self.front if position == "front" else self.rear
            if axle is None or axle.reference_damping is None:
                continue
            ratio = 0.5 * axle.reference_damping / math.sqrt(axle.wheel_rate * axle.sprung_mass)
            if ratio < LEAST_REFERENCE:
                raise contradiction(
                    "{position}: reference_damping_n_s_m is a damping ratio of {ratio:.2g}; the passive vehicle that "
                    "the road '{label}' is compared with needs {least} or more",
                    at=[position, "reference_damping_n_s_m"],
                    position=position,
                    ratio=ratio,
                    label=duty.label,
                    least=LEAST_REFERENCE,
                )

    def _check_motion(self, duty: SuspensionVelocity, number: int) -> None:
        fitted = self.corners_per_axle * len(self.positions)
        if duty.corners_in_step is not None and duty.corners_in_step > fitted:
            raise contradiction(
                "corners_in_step is {given}, but only {fitted} corners are fitted",
                at=["duty", number, "corners_in_step"],
                given=duty.corners_in_step,
                fitted=fitted,
            )
        for position in self.positions:
            if getattr(duty, position) is None:
                raise contradiction(
                    "the duty '{label}' says nothing of the {position} axle, where actuators are fitted",
                    at=["duty", number, position],
                    label=duty.label,
                    position=position,
                )

    def _check_manoeuvre(self, duty: Manoeuvre, number: int) -> None:
        if self.corners_fitted == "one":
            raise contradiction(
                "one corner alone cannot roll or pitch: a manoeuvre needs corners_fitted 'front', 'rear' or 'four'",
                at=["corners_fitted"],
            )
        if duty.longitudinal_acceleration != 0.0 and (self.front is None or self.rear is None):
            raise contradiction(
                "longitudinal_acceleration_m_s2 needs both axles described: their masses pitch together",
                at=["duty", number, "longitudinal_acceleration_m_s2"],
            )

    def _check_rig(self, duty: Rig, number: int) -> None:
        for position in self.positions:
            axle = self.axle(position)
            travel = axle.bump_travel + axle.droop_travel
            if 2.0 * duty.eccentricity > travel:
                raise contradiction(
                    "the eccentric's stroke, {stroke:.6g} mm, is more than the {travel:.6g} mm of {position} wheel "
                    "travel: a body held still would meet its stops",
                    at=["duty", number, "eccentricity_mm"],
                    stroke=2e3 * duty.eccentricity,
                    travel=1e3 * travel,
                    position=position,
                )


@dataclass(frozen=True)
class DefaultUsed:
    """A value the user left open: where it stands in the spec, what was taken, and why."""

    pointer: str
    value: float | str | bool
    reason: str


def complete(spec: Spec) -> tuple[Spec, tuple[DefaultUsed, ...]]:
    """The spec with every open value filled, and the defaults that were used, in the order of the fields."""
    used: list[DefaultUsed] = []
    changes: dict[str, Any] = {}
    for position in POSITIONS:
        axle = getattr(spec, position)
        if axle is None:
            continue
        if axle.reference_damping is None:
            damping = 0.6 * math.sqrt(axle.wheel_rate * axle.sprung_mass)
            axle = axle.model_copy(update={"reference_damping": damping})
            used.append(
                DefaultUsed(
                    f"/{position}/reference_damping_n_s_m", damping, "damping ratio 0.3 of the body on its spring"
                )
            )
        changes[position] = axle
    changes |= _complete_body(spec, used)
    changes["layout"] = _complete_layout(spec, used)
    changes["duty"] = _complete_duties(spec, changes["arrangement"], used)
    filled = spec.model_copy(update=changes)
    return filled, (*used, *_plain_defaults(spec, ""))


def _complete_body(spec: Spec, used: list[DefaultUsed]) -> dict[str, Any]:
    """Arrangement, height of the centre of gravity and inertias, where they are left open and mean something."""
    changes: dict[str, Any] = {"arrangement": spec.arrangement or "parallel"}
    if spec.arrangement is None:
        used.append(DefaultUsed("/arrangement", "parallel", ARRANGEMENT_REASONS["parallel"]))
    if spec.weight_carried_by is None:
        carrier = "spring" if changes["arrangement"] == "parallel" else "actuator"
        changes["weight_carried_by"] = carrier
        used.append(DefaultUsed("/weight_carried_by", carrier, ARRANGEMENT_REASONS[changes["arrangement"]]))
    if spec.corners_fitted == "one" or spec.track is None or spec.wheelbase is None:
        return changes
    masses = [axle.sprung_mass for axle in (spec.front, spec.rear) if axle is not None]
    total = 2.0 * sum(masses)
    if spec.cg_height is None:
        changes["cg_height"] = 0.4 * spec.track
        reason = "0.4 of the track, a static stability factor of 1.25; common practice, no source"
        used.append(DefaultUsed("/cg_height_mm", 400.0 * spec.track, reason))
    if spec.roll_inertia is None:
        changes["roll_inertia"] = total * (0.4 * spec.track) ** 2
        reason = "radius of gyration 0.4 of the track; common practice, no source"
        used.append(DefaultUsed("/roll_inertia_kg_m2", changes["roll_inertia"], reason))
    if spec.pitch_inertia is None and len(masses) == 2:
        changes["pitch_inertia"] = 2.0 * masses[0] * masses[1] / sum(masses) * spec.wheelbase**2
        reason = "mass times the distances of both axles from the centre of gravity: the axles move independently"
        used.append(DefaultUsed("/pitch_inertia_kg_m2", changes["pitch_inertia"], reason))
    return changes


def _complete_layout(spec: Spec, used: list[DefaultUsed]) -> Layout:
    base = spec.wheelbase if spec.wheelbase is not None else 1.0
    track = spec.track if spec.track is not None else base
    travel = max(spec.axle(p).bump_travel + spec.axle(p).droop_travel for p in spec.positions)
    corner_line = 0.5 * base + 0.5 * track if spec.corners_fitted != "one" else base
    chosen = {
        "supply_line": (0.25 * base, "a quarter of the wheelbase (1 m on a bench rig)"),
        "suction_line": (0.1 * base, "a tenth of the wheelbase (1 m on a bench rig)"),
        "front_line": (corner_line, "half the wheelbase plus half the track: valves at the centre"),
        "rear_line": (corner_line, "half the wheelbase plus half the track: valves at the centre"),
        "hose": (3.0 * travel, "three times the wheel travel"),
    }
    update = {}
    for name, (value, reason) in chosen.items():
        if getattr(spec.layout, name) is None:
            update[name] = value
            used.append(DefaultUsed(f"/layout/{name}_mm", value * 1e3, reason))
    return spec.layout.model_copy(update=update)


def _complete_duties(spec: Spec, arrangement: str, used: list[DefaultUsed]) -> list[Any]:
    scales = {}
    for position in spec.positions:
        axle = spec.axle(position)
        scales[position] = AxleScale(
            body_frequency=math.sqrt(axle.wheel_rate / axle.sprung_mass) / (2.0 * math.pi),
            wheel_frequency=math.sqrt((axle.wheel_rate + axle.tyre_rate) / axle.unsprung_mass) / (2.0 * math.pi),
            travel=min(axle.bump_travel, axle.droop_travel),
        )
    fleet = FleetScale(scales, spec.corners_per_axle * len(spec.positions), slow=arrangement != "parallel")
    filled = []
    for index, duty in enumerate(spec.duty):
        whole, defaults = complete_duty(duty, fleet)
        filled.append(whole)
        used += [DefaultUsed(f"/duty/{index}/{place}", value, reason) for place, value, reason in defaults]
    return filled


def _plain_defaults(record: Input, pointer: str) -> list[DefaultUsed]:
    """Fields left at their declared default, with the value taken, in wire units."""
    found: list[DefaultUsed] = []
    wire = record.model_dump(mode="json", by_alias=True)
    for name, field in type(record).model_fields.items():
        alias = field.alias or name
        value, here = getattr(record, name), f"{pointer}/{alias}"
        if isinstance(value, Input):
            found += _plain_defaults(value, here)
        elif isinstance(value, list):
            for index, item in enumerate(value):
                if isinstance(item, Input):
                    found += _plain_defaults(item, f"{here}/{index}")
        elif name not in record.model_fields_set and value is not None and wire[alias] != "":
            found.append(DefaultUsed(here, wire[alias], "declared default"))
    return found
