"""What the user asks for: the vehicle, its duty, medium, bus, limits, layout, shelf stock and safety factors.

Every field is bounded. `Spec` is what was posted; `complete(spec)` fills what was left open and lists each default
it used, so that an answer never rests on a silent assumption. Axes and corners follow ISO 8855 and the trade's usage:
x forward, y left, z up; corners fl, fr, rl, rr. Values "per corner" are for one corner of that axle.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from models.duty import Duty
from models.quantity import ZERO_CELSIUS, Input, on_wire

Position = Literal["front", "rear"]
POSITIONS: tuple[Position, ...] = ("front", "rear")


def _contradiction(message: str, **context: Any) -> PydanticCustomError:
    return PydanticCustomError("contradiction", message, context)  # type: ignore[arg-type]


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
            raise _contradiction(
                "tyre_rate_n_mm ({tyre}) is softer than wheel_rate_n_mm ({wheel}); a tyre carries the spring",
                tyre=self.tyre_rate / 1e3,
                wheel=self.wheel_rate / 1e3,
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


class ViscosityPoint(Input):
    """One measured kinematic viscosity."""

    temperature: Annotated[float, on_wire("c", -60.0, 150.0, "Temperature")]
    kinematic_viscosity: Annotated[float, on_wire("mm2_s", 0.5, 20_000.0, "Kinematic viscosity")]


class OwnMedium(Input):
    """The user's own oil: two or three viscosity points; the rest as a mineral oil of that kind, flagged estimated."""

    label: Annotated[str, Field(max_length=80)] = "own oil"
    density: Annotated[float, on_wire("kg_m3", 600.0, 1_500.0, "Density at 15 °C")]
    viscosity: Annotated[list[ViscosityPoint], Field(min_length=2, max_length=3)]
    pour_point: Annotated[float, on_wire("c", -80.0, 20.0, "Pour point")]

    @model_validator(mode="after")
    def _thins_with_heat(self) -> Self:
        points = sorted(self.viscosity, key=lambda p: p.temperature)
        for cold, warm in itertools.pairwise(points):
            if warm.temperature - cold.temperature < 5.0 or warm.kinematic_viscosity >= cold.kinematic_viscosity:
                raise _contradiction("viscosity points must lie at least 5 K apart and fall with temperature")
        return self


class Stock(Input):
    """Sizes on the user's shelf, in place of the tables. One size of each evaluates that very design."""

    bore: list[Annotated[float, on_wire("mm", 2.0, 200.0)]] | None = Field(default=None, min_length=1, max_length=40)
    rod: list[Annotated[float, on_wire("mm", 0.8, 150.0)]] | None = Field(default=None, min_length=1, max_length=40)
    rod_arrangement: list[Literal["single", "through"]] | None = Field(default=None, min_length=1, max_length=2)
    seal: list[Literal["elastomer", "clearance", "plastic_faced"]] | None = Field(
        default=None, min_length=1, max_length=3
    )
    pressure: list[Annotated[float, on_wire("bar", 2.0, 400.0)]] | None = Field(
        default=None, min_length=1, max_length=40
    )
    valve_rated_flow: list[Annotated[float, on_wire("l_min", 0.01, 500.0)]] | None = Field(
        default=None, min_length=1, max_length=40, description="At 35 bar a land"
    )
    spool: list[Literal["symmetric", "matched"]] | None = Field(default=None, min_length=1, max_length=2)
    anti_cavitation: list[bool] | None = Field(default=None, min_length=1, max_length=2)
    return_bias: list[Annotated[float, on_wire("bar", 0.0, 50.0)]] | None = Field(
        default=None, min_length=1, max_length=5
    )
    line_bore: list[Annotated[float, on_wire("mm", 0.5, 60.0)]] | None = Field(
        default=None, min_length=1, max_length=40
    )
    pump_displacement: list[Annotated[float, on_wire("cm3_rev", 0.005, 500.0)]] | None = Field(
        default=None, min_length=1, max_length=40
    )
    pump_control: list[Literal["relief", "unloading", "speed"]] | None = Field(default=None, min_length=1, max_length=3)
    motor_power: list[Annotated[float, on_wire("w", 1.0, 100_000.0)]] | None = Field(
        default=None, min_length=1, max_length=40
    )
    accumulator_volume: list[Annotated[float, on_wire("l", 0.0, 100.0)]] | None = Field(
        default=None, min_length=1, max_length=40, description="0 means none"
    )


class MeasuredPump(Input):
    """A pump the user measured at one working point."""

    displacement: Annotated[float, on_wire("cm3_rev", 0.005, 500.0, "Displacement")]
    speed: Annotated[float, on_wire("rpm", 50.0, 60_000.0, "Shaft speed of the measurement")]
    pressure: Annotated[float, on_wire("bar", 0.5, 400.0, "Pressure rise")]
    flow: Annotated[float, on_wire("l_min", 0.001, 1_000.0, "Delivered flow")]
    current: Annotated[float, on_wire("a", 0.01, 2_000.0, "Current drawn from the bus, motor and electronics included")]
    kinematic_viscosity: Annotated[float, on_wire("mm2_s", 0.5, 2_000.0, "Viscosity of the oil at the measurement")]
    mass: Annotated[float, on_wire("kg", 0.005, 500.0, "Mass of pump and motor")]


class MeasuredValve(Input):
    """A valve the user measured; used at every corner."""

    rated_flow: Annotated[float, on_wire("l_min", 0.01, 500.0, "Flow at full opening")]
    rated_pressure_drop: Annotated[float, on_wire("bar", 0.5, 350.0, "Drop over both lands at that flow")]
    bandwidth: Annotated[float, on_wire("hz", 0.5, 1_000.0, "Frequency of 90° lag at small signal")]
    null_leakage: Annotated[float, on_wire("l_min", 0.0, 20.0, "Supply flow at mid position")]
    leakage_pressure: Annotated[float, on_wire("bar", 1.0, 350.0, "Supply pressure of the leakage measurement")]
    mass: Annotated[float, on_wire("kg", 0.001, 100.0, "Mass")]


class MeasuredCylinder(Input):
    """Friction and leakage of the user's own cylinders."""

    breakaway_pressure: Annotated[float, on_wire("bar", 0.0, 50.0, "Pressure on the cap side that starts the piston")]
    leakage: Annotated[float, on_wire("l_min", 0.0, 10.0, "Leakage past piston and rod")] = 0.0
    leakage_pressure: Annotated[float, on_wire("bar", 1.0, 350.0, "Pressure of the leakage measurement")] = 1e7


class Measured(Input):
    """Measured parts replace the tables' estimates and their warnings."""

    pump: MeasuredPump | None = None
    valve: MeasuredValve | None = None
    cylinder: MeasuredCylinder | None = None


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
    weight_carried_by: Literal["spring", "actuator"] = "spring"
    arrangement: Literal["parallel"] = "parallel"
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
                raise _contradiction(
                    "corners_fitted is '{fitted}', so '{position}' is needed",
                    fitted=self.corners_fitted,
                    position=position,
                )
        if self.corners_fitted != "one" and (self.wheelbase is None or self.track is None):
            raise _contradiction("wheelbase_mm and track_mm are needed unless corners_fitted is 'one'")
        if self.oil_hot - self.oil_cold < 5.0:
            raise _contradiction(
                "oil_hot_c must lie at least 5 K above oil_cold_c; given {cold:.6g} and {hot:.6g}",
                cold=self.oil_cold - ZERO_CELSIUS,
                hot=self.oil_hot - ZERO_CELSIUS,
            )
        if self.ambient >= self.oil_hot:
            raise _contradiction("ambient_c must lie below oil_hot_c, or no heat leaves the oil")
        total = sum(duty.share_of_time for duty in self.duty)
        if total > 1.0 + 1e-9:
            raise _contradiction("shares of time add up to {total:.6g}; they may not exceed 1", total=total)
        for duty in self.duty:
            fitted = self.corners_per_axle * len(self.positions)
            if duty.corners_in_step is not None and duty.corners_in_step > fitted:
                raise _contradiction(
                    "corners_in_step is {given}, but only {fitted} corners are fitted",
                    given=duty.corners_in_step,
                    fitted=fitted,
                )
            for position in self.positions:
                if getattr(duty, position) is None:
                    raise _contradiction(
                        "the duty '{label}' says nothing of the {position} axle, where actuators are fitted",
                        label=duty.label,
                        position=position,
                    )
        return self


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
    changes["layout"] = _complete_layout(spec, used)
    changes["duty"] = [_complete_duty(spec, index, duty, used) for index, duty in enumerate(spec.duty)]
    filled = spec.model_copy(update=changes)
    return filled, (*used, *_plain_defaults(spec, ""))


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


def _complete_duty(spec: Spec, index: int, duty: Any, used: list[DefaultUsed]) -> Any:
    changes: dict[str, Any] = {}
    for position in spec.positions:
        motion = getattr(duty, position)
        if motion.frequency is None:
            axle = spec.axle(position)
            frequency = motion.wheel_velocity / (2.0 * math.pi * min(axle.bump_travel, axle.droop_travel))
            changes[position] = motion.model_copy(update={"frequency": frequency})
            used.append(
                DefaultUsed(
                    f"/duty/{index}/{position}/frequency_hz",
                    frequency,
                    "sinusoid of that peak velocity over the travel",
                )
            )
    if duty.corners_in_step is None:
        fitted = spec.corners_per_axle * len(spec.positions)
        changes["corners_in_step"] = fitted
        used.append(DefaultUsed(f"/duty/{index}/corners_in_step", fitted, "all corners together: the largest flow"))
    return duty.model_copy(update=changes)


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
