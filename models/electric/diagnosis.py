"""What a measured actuator's numbers mean: its field, its heat, what holds it back, what the same mass could do.

Knows the readings (`measured`) and the best direct coils of the search's own choices for comparison. A gain is the
factor by which the continuous force would grow if that one thing were as better practice has it; the greatest names
what limits the actuator.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import KERNEL
from models.drive.winding import (
    COPPER_COEFFICIENT,
    COPPER_DENSITY,
    adiabatic_time,
    mean_field,
    motor_constant_of,
    resistance_factor,
    runaway_loss,
    time_to_limit,
)
from models.electric.catalogue import constants, coolings, magnet_label
from models.electric.families import FAMILIES
from models.electric.measured import HeatPaths, coil_shape, heat_paths, held_loss
from models.electric.sizing_records import Miss
from models.measured_actuator import MeasuredActuator, copper_volume
from models.quantity import on_wire, plain

GOOD_FIELD = (0.2, 0.5)
"""Mean field, T, over all copper that good practice reaches. Source: [common_practice]."""

GOOD_COPPER_SHARE = 0.3
"""Copper over the mass of a well balanced moving-magnet actuator. Source: [estimate]."""

LONGEST = 36_000.0
"""Time, s, after which a winding that has not reached its limit is taken never to."""

LEAST_END_SHARE = 0.8
"""Force at the end of the stroke over mid-stroke that a better coil must keep. Source: [estimate]."""


@dataclass(frozen=True)
class TimeToLimit:
    """How long the winding lasts from cold to its limit. The two bounds keep all heat in the copper alone, and in all
    of the actuator; None: never."""

    current: Annotated[float, on_wire("a")]
    power: Annotated[float, on_wire("w", about="At 20 °C")]
    copper_alone: Annotated[float, on_wire("s")]
    whole_mass: Annotated[float, on_wire("s")]
    expected: Annotated[float | None, on_wire("s", about="Two nodes, the resistance following the temperature")]


@dataclass(frozen=True)
class WouldGain:
    """Factor on the continuous force if one thing were as better practice has it, the rest unchanged."""

    field: Annotated[float, on_wire("", about="Mean field raised to the middle of good practice")]
    copper: Annotated[float, on_wire("", about="Copper raised to its share in a balanced design")]
    cooling: Annotated[float, on_wire("", about="Winding bonded, fins and moving air")]
    travel: Annotated[float, on_wire("", about="A quarter of the travel")]


@dataclass(frozen=True)
class BetterCoil:
    """The direct coil of the same mass and travel with the greatest motor constant, among the search's choices."""

    motor_constant: Annotated[float, on_wire("n_sqrt_w")]
    mean_field: Annotated[float, on_wire("t")]
    copper_mass: Annotated[float, on_wire("kg")]
    described: str


@dataclass(frozen=True)
class AgainstDemand:
    """The measured actuator on one axle's demand: what it would have to give off, and what it misses."""

    meets: bool
    dissipation: Annotated[float | None, on_wire("w", about="Mean copper loss, hot; null: no steady state")]
    winding_temperature: Annotated[float | None, on_wire("c")]
    misses: tuple[Miss, ...]


@dataclass(frozen=True)
class Diagnosis:
    """Everything the readings tell."""

    motor_constant: Annotated[float, on_wire("n_sqrt_w")]
    force_constant: Annotated[float, on_wire("n_a")]
    force_per_mass: Annotated[float, on_wire("n_kg", about="Measured force over the actuator's own mass")]
    motor_constant_per_mass: Annotated[float, on_wire("n_sqrt_w_kg", about="Force per root watt and mass")]
    power_at_current: Annotated[float, on_wire("w", about="For the measured force, at 20 °C")]
    copper_mass: Annotated[float, on_wire("kg")]
    copper_from: str
    mean_field: Annotated[float, on_wire("t", about="Over all of its copper")]
    at_current: TimeToLimit
    at_voltage: TimeToLimit
    continuous_force: Annotated[float, on_wire("n", about="Held for ever in still air")]
    continuous_power: Annotated[float, on_wire("w", about="Its loss then, hot")]
    runaway_current: Annotated[float, on_wire("a", about="Constant current above which no temperature is steady")]
    winding_to_body: Annotated[float, on_wire("k_w")]
    body_to_air: Annotated[float, on_wire("k_w")]
    gains: WouldGain
    limited_by: str
    better: BetterCoil | None
    explanation: tuple[str, ...]
    estimated: tuple[str, ...]


def diagnose(given: MeasuredActuator) -> Diagnosis:
    """What the readings tell. The input has refused numbers that contradict each other."""
    copper = copper_volume(given)
    constant = motor_constant_of(given.force, given.current, given.resistance)
    field = mean_field(constant, copper.volume)
    paths = _as_it_is(given)
    held = held_loss(given, paths)
    resistance = 1.0 / paths.link + 1.0 / paths.conductance
    better, short = _better_coil(given.mass, given.travel), _better_coil(given.mass, 0.25 * given.travel)
    gains = _gains(given, field, copper.volume * COPPER_DENSITY, held, better, short)
    names = {"field": gains.field, "copper": gains.copper, "cooling": gains.cooling, "travel": gains.travel}
    limit = max(names, key=lambda name: names[name])
    at_voltage = _time(given, paths, given.voltage / given.resistance, True)
    return Diagnosis(
        motor_constant=constant,
        force_constant=given.force / given.current,
        force_per_mass=given.force / given.mass,
        motor_constant_per_mass=constant / given.mass,
        power_at_current=given.current**2 * given.resistance,
        copper_mass=copper.volume * COPPER_DENSITY,
        copper_from=copper.origin,
        mean_field=field,
        at_current=_time(given, paths, given.current, False),
        at_voltage=at_voltage,
        continuous_force=constant * math.sqrt(held),
        continuous_power=held * float(resistance_factor(given.temperature_limit)),
        runaway_current=math.sqrt(runaway_loss(resistance) / given.resistance),
        winding_to_body=1.0 / paths.link,
        body_to_air=1.0 / paths.conductance,
        gains=gains,
        limited_by=limit,
        better=better,
        explanation=_explanation(given, constant, field, at_voltage, paths, names, limit, better),
        estimated=_estimated(given),
    )


def _as_it_is(given: MeasuredActuator) -> HeatPaths:
    return heat_paths(given, copper_volume(given), constants()["dry_winding_contact"], 0.0, 1.0)


def _time(given: MeasuredActuator, paths: HeatPaths, current: float, voltage_driven: bool) -> TimeToLimit:
    """From ambient to the limit; the loss is reckoned at 20 °C, and at ambient for the closed forms."""
    loss = current**2 * given.resistance
    factor = float(resistance_factor(given.ambient))
    cold = loss / factor if voltage_driven else loss * factor
    span = (given.ambient, given.temperature_limit, voltage_driven)
    expected = time_to_limit(
        loss,
        voltage_driven,
        given.temperature_limit,
        given.ambient,
        paths.link,
        paths.conductance,
        paths.winding_capacity,
        paths.rest_capacity,
        LONGEST,
    )
    return TimeToLimit(
        current=current,
        power=loss,
        copper_alone=adiabatic_time(cold, paths.winding_capacity, *span),
        whole_mass=adiabatic_time(cold, paths.winding_capacity + paths.rest_capacity, *span),
        expected=float(expected) if math.isfinite(expected) else None,
    )


def _gains(
    given: MeasuredActuator,
    field: float,
    copper_mass: float,
    held: float,
    better: BetterCoil | None,
    short: BetterCoil | None,
) -> WouldGain:
    cooled = coolings()["finned_moving_air"]
    bonded = heat_paths(
        given, copper_volume(given), constants()["winding_contact"], cooled.air_speed, cooled.area_factor
    )
    travel = short.motor_constant / better.motor_constant if better is not None and short is not None else 1.0
    return WouldGain(
        field=max(1.0, math.sqrt(GOOD_FIELD[0] * GOOD_FIELD[1]) / field),
        copper=max(1.0, math.sqrt(GOOD_COPPER_SHARE * given.mass / copper_mass)),
        cooling=math.sqrt(held_loss(given, bonded) / held),
        travel=max(1.0, travel),
    )


@njit(**KERNEL)
def strongest(rows: NDArray[np.void], mass: float, fill: float, end_share: float) -> tuple[int, float]:
    """(place, motor constant N/√W) of the strongest machine of at most `mass` kg at a copper `fill` that keeps
    `end_share` of its force at the stroke's end; (−1, 0) when none is light enough."""
    place, best = -1, 0.0
    for k in range(len(rows)):
        row: Any = rows[k]
        weight = row.copper_mass * fill + row.magnet_mass + row.iron_mass + row.housing_mass
        constant = row.motor_constant * math.sqrt(fill)
        if weight <= mass and row.end_share >= end_share and constant > best:
            place, best = k, constant
    return place, best


@functools.lru_cache(maxsize=64)
def _better_coil(mass: float, travel: float) -> BetterCoil | None:
    family, fill = FAMILIES["direct_coil"], constants()["rotary_fill"]
    number, best, copper = -1, 0.0, 0.0
    for group in family.groups(travel, 0.0, False):
        rows = group.build()
        place, constant = strongest(rows, mass, fill, LEAST_END_SHARE)
        if constant > best:
            number, best, copper = group.first + place, constant, float(rows[place]["copper_mass"]) * fill
    if number < 0:
        return None
    said = family.describe(number, travel)
    return BetterCoil(
        motor_constant=best,
        mean_field=float(mean_field(best, copper / COPPER_DENSITY)),
        copper_mass=copper,
        described=f"{magnet_label(str(said['magnet']))} magnet of {1e3 * float(said['mover_diameter']):g} mm "
        "in a steel tube",
    )


def _explanation(
    given: MeasuredActuator,
    constant: float,
    field: float,
    at_voltage: TimeToLimit,
    paths: HeatPaths,
    gains: dict[str, float],
    limit: str,
    better: BetterCoil | None,
) -> tuple[str, ...]:
    low, high = GOOD_FIELD
    said = [
        f"Its copper sees {field:.3g} T in the mean; good practice reaches {low:g} to {high:g} T.",
        f"At {given.voltage:g} V it draws {at_voltage.current:.3g} A and turns {_two(at_voltage.power)} W into heat.",
    ]
    if at_voltage.expected is None:
        said.append("Its winding stays below its limit even so.")
    else:
        span = at_voltage.whole_mass - at_voltage.copper_alone
        lies = (at_voltage.expected - at_voltage.copper_alone) / span
        part = "little" if lies < 0.25 else "part" if lies < 0.75 else "most"
        said.append(
            f"It reaches its limit in about {_two(at_voltage.expected)} s: {_two(at_voltage.copper_alone)} s if the "
            f"copper kept all heat, {_two(at_voltage.whole_mass)} s if the whole mass shared it at once. From winding "
            f"to body lead {plain(paths.link, 2)} W/K, so {part} of the body's capacity takes part in that time."
        )
    said.append(
        f"What limits it most is {limit}: as better practice has it, the continuous force would be "
        f"{gains[limit]:.2g} times as great."
    )
    if better is not None:
        said.append(
            f"A moving-magnet coil of the same mass and travel can reach {plain(better.motor_constant)} N/√W against "
            f"{constant:.3g}: the same force for {(constant / better.motor_constant) ** 2:.2g} of the heat."
        )
    return tuple(said)


def _two(value: float) -> str:
    """A number to two digits, written out."""
    return f"{float(f'{value:.2g}'):.10g}"


def _estimated(given: MeasuredActuator) -> tuple[str, ...]:
    copper = copper_volume(given)
    named = ["heat from winding to body and from body to air"]
    if copper.estimated:
        named.append(f"copper: {copper.origin}")
    if coil_shape(given, copper).estimated:
        named.append("the coil's shape")
    return tuple(named)


def measured_against(given: MeasuredActuator, load: np.void) -> AgainstDemand:
    """Whether a measured actuator meets one axle's load (a record of `loads.LOAD`), in still air on its own supply."""
    constant = motor_constant_of(given.force, given.current, given.resistance)
    force_constant = given.force / given.current
    paths = _as_it_is(given)
    held = held_loss(given, paths)
    points = load["points"][: load["peaks"]]
    hot = given.resistance * float(resistance_factor(given.temperature_limit))
    # driven, the back-voltage helps; driving, it takes from the supply
    volts = [
        force / force_constant * hot + (force_constant * speed if drives else 0.0)
        for force, speed, _, drives in points.tolist()
    ]
    loss = float(load["mean_square"]) / constant**2
    needs = {
        "travel": float(load["stroke"]) / given.travel,
        "voltage": max(volts) / given.voltage,
        "heat": math.sqrt(loss / held),
    }
    misses = tuple(Miss(given.label, name, ratio) for name, ratio in needs.items() if ratio > 1.0)
    resistance = 1.0 / paths.link + 1.0 / paths.conductance
    feedback = COPPER_COEFFICIENT * resistance * loss
    temperature = None
    if feedback < 1.0:
        cold = float(resistance_factor(given.ambient))
        temperature = given.ambient + resistance * loss * cold / (1.0 - feedback)
    return AgainstDemand(
        meets=not misses,
        dissipation=loss * float(resistance_factor(temperature)) if temperature is not None else None,
        winding_temperature=temperature,
        misses=misses,
    )
