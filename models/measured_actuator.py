"""An electric actuator the user has measured, as posted: what was read on the bench, and whether it can all be true.

Knows the fields, their bounds, and how force, current, resistance, voltage and copper hang together; numbers that
contradict each other are refused, named. What they mean is told in `electric`.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Annotated, Self

from pydantic import Field, model_validator

import fluids_data
from models.drive.winding import (
    COPPER_DENSITY,
    COPPER_RESISTIVITY,
    mean_field,
    motor_constant_of,
    wire_diameter,
)
from models.quantity import ZERO_CELSIUS, Input, contradiction, on_wire

LEAST_RISE = 5.0
"""Rise over the air, K, that a winding must be allowed. Source: [estimate]."""

STRONGEST_FIELD = 1.5
"""Mean field, T, no winding beside a permanent magnet sees. Source: [memory], remanence of sintered magnets."""


class MeasuredActuator(Input):
    """A coil-and-magnet actuator on the bench: what was measured, and what is known of its winding."""

    label: Annotated[str, Field(max_length=80)] = "measured actuator"
    force: Annotated[float, on_wire("n", 1e-3, 1e6, "Force at `current_a`, mid-stroke")]
    current: Annotated[float, on_wire("a", 1e-3, 5_000.0, "Current of the force measurement")]
    resistance: Annotated[float, on_wire("ohm", 1e-4, 1e5, "Resistance at 20 °C")]
    voltage: Annotated[float, on_wire("v", 0.5, 1_000.0, "Supply it is driven from")]
    mass: Annotated[float, on_wire("kg", 1e-3, 2_000.0, "Complete")]
    travel: Annotated[float, on_wire("mm", 0.1, 1_000.0, "End to end")]
    turns: Annotated[int | None, Field(ge=1, le=1_000_000, description="Turns of the coil")] = None
    wire_gauge: Annotated[float | None, on_wire("", -3.0, 50.0, "American gauge of its wire")] = None
    coil_inner_diameter: Annotated[float | None, on_wire("mm", 0.5, 1_000.0, "Inside of the winding")] = None
    coil_outer_diameter: Annotated[float | None, on_wire("mm", 0.6, 1_500.0, "Outside of the winding")] = None
    coil_length: Annotated[float | None, on_wire("mm", 0.5, 2_000.0, "Length of the winding")] = None
    copper_mass: Annotated[float | None, on_wire("kg", 1e-5, 1_000.0, "Copper of the winding alone")] = None
    temperature_limit: Annotated[float, on_wire("c", 40.0, 250.0, "Highest winding temperature")] = ZERO_CELSIUS + 130.0
    ambient: Annotated[float, on_wire("c", -40.0, 60.0, "Air around it")] = ZERO_CELSIUS + 20.0

    @model_validator(mode="after")
    def _can_all_be_true(self) -> Self:
        if self.voltage / self.resistance < 0.95 * self.current:
            raise contradiction(
                "voltage_v, resistance_ohm and current_a contradict each other: {volts:.4g} V through {ohms:.4g} Ω "
                "gives {most:.4g} A, not {amps:.4g} A",
                at=["current_a"],
                volts=self.voltage,
                ohms=self.resistance,
                most=self.voltage / self.resistance,
                amps=self.current,
            )
        if self.temperature_limit - self.ambient < LEAST_RISE:
            raise contradiction(
                "temperature_limit_c must lie at least {rise:g} K above ambient_c, or no heat leaves the winding",
                at=["temperature_limit_c"],
                rise=LEAST_RISE,
            )
        inner, outer = self.coil_inner_diameter, self.coil_outer_diameter
        if inner is not None and outer is not None and outer <= inner:
            raise contradiction(
                "coil_outer_diameter_mm must exceed coil_inner_diameter_mm", at=["coil_outer_diameter_mm"]
            )
        self._check_copper()
        return self

    def _check_copper(self) -> None:
        found = copper_volume(self)
        if found.volume * COPPER_DENSITY > self.mass:
            raise contradiction(
                "mass_kg is {mass:.4g}, but the copper alone ({how}) weighs {copper:.4g} kg",
                at=["mass_kg"],
                mass=self.mass,
                how=found.origin,
                copper=found.volume * COPPER_DENSITY,
            )
        wound = _wound_length(self)
        if wound is not None and self.wire_gauge is not None:
            ohms = COPPER_RESISTIVITY * wound / _wire_area(self.wire_gauge)
            if not 0.7 < self.resistance / ohms < 1.4:
                raise contradiction(
                    "resistance_ohm is {given:.4g}, but turns, wire_gauge and the coil's diameters give {ohms:.4g} Ω",
                    at=["resistance_ohm"],
                    given=self.resistance,
                    ohms=ohms,
                )
        if self.copper_mass is not None and self.wire_gauge is not None:
            area = _wire_area(self.wire_gauge)
            wire = self.resistance * area * area / COPPER_RESISTIVITY * COPPER_DENSITY
            if not 0.7 < self.copper_mass / wire < 1.4:
                raise contradiction(
                    "copper_mass_kg is {given:.4g}, but resistance_ohm of that wire_gauge is {wire:.4g} kg of copper",
                    at=["copper_mass_kg"],
                    given=self.copper_mass,
                    wire=wire,
                )
        constant = motor_constant_of(self.force, self.current, self.resistance)
        field = mean_field(constant, found.volume)
        if field > STRONGEST_FIELD:
            raise contradiction(
                "force_n, current_a, resistance_ohm and the copper ({how}, {copper:.4g} kg) contradict each other: "
                "together they ask for a mean field of {field:.3g} T, more than a magnet gives ({most:g} T)",
                at=["force_n"],
                how=found.origin,
                copper=found.volume * COPPER_DENSITY,
                field=field,
                most=STRONGEST_FIELD,
            )


@dataclass(frozen=True)
class Copper:
    """Copper of a winding, m³, and from which of the user's numbers it follows."""

    volume: float
    origin: str
    estimated: bool


@functools.cache
def usual_fill() -> float:
    """Copper over winding space of a wound coil, where it is not known."""
    rows = fluids_data.load_table("machines").rows
    return next(row.number("value") for row in rows if row.text("id") == "rotary_fill")


def _wire_area(gauge: float) -> float:
    return 0.25 * math.pi * float(wire_diameter(gauge)) ** 2


def _wound_length(given: MeasuredActuator) -> float | None:
    """Length of wire, m, from turns and diameters."""
    if given.turns is None or given.coil_inner_diameter is None or given.coil_outer_diameter is None:
        return None
    return given.turns * math.pi * 0.5 * (given.coil_inner_diameter + given.coil_outer_diameter)


def copper_volume(given: MeasuredActuator) -> Copper:
    """The copper, by the best of the numbers given: its mass; wire and resistance; turns and diameters with the
    resistance; the coil's own size at a usual fill; at worst a quarter of the mass."""
    if given.copper_mass is not None:
        return Copper(given.copper_mass / COPPER_DENSITY, "copper_mass_kg", False)
    if given.wire_gauge is not None:
        area = _wire_area(given.wire_gauge)
        return Copper(given.resistance * area * area / COPPER_RESISTIVITY, "wire_gauge and resistance_ohm", False)
    wound = _wound_length(given)
    if wound is not None:
        volume = COPPER_RESISTIVITY * wound * wound / given.resistance
        return Copper(volume, "turns, diameters and resistance_ohm", False)
    inner, outer, length = given.coil_inner_diameter, given.coil_outer_diameter, given.coil_length
    if inner is not None and outer is not None and length is not None:
        volume = 0.25 * math.pi * (outer**2 - inner**2) * length * usual_fill()
        return Copper(volume, "the coil's size at a usual fill", True)
    return Copper(0.25 * given.mass / COPPER_DENSITY, "a quarter of mass_kg, for want of better", True)
