"""What the user already has: an oil, sizes on the shelf in place of tables, measured parts in place of estimates."""

from __future__ import annotations

import itertools
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from models.measured_actuator import MeasuredActuator
from models.quantity import Input, contradiction, on_wire


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
                raise contradiction(
                    "viscosity points must lie at least 5 K apart and fall with temperature", at=["viscosity"]
                )
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
    corner_accumulator_volume: list[Annotated[float, on_wire("l", 0.0001, 100.0)]] | None = Field(
        default=None, min_length=1, max_length=40, description="Gas springs of the arrangement corner_accumulator"
    )

    @model_validator(mode="after")
    def _spool_fits_rod(self) -> Self:
        if self.spool is not None and set(self.spool) == {"matched"} and set(self.rod_arrangement or ()) == {"through"}:
            raise contradiction(
                "a through rod leaves equal areas: a spool matched to their ratio is the symmetric one; allow that",
                at=["spool"],
            )
        return self


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
    dead_band: Annotated[
        float, on_wire("", 0.0, 0.4, "Share of the spool's stroke, either side of mid, over which it opens nothing")
    ] = 0.0
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
    electric_actuator: MeasuredActuator | None = Field(
        default=None, description="An electric actuator on the bench: told in the comparison, set against each corner"
    )
