"""The warnings a sizing raises: about people first, then about the design, then about its data.

Each function looks at one matter and returns the warnings it finds. Thresholds come from rules.csv or the spec; texts,
signal words, sources and advice from warnings.toml. Nothing here says that a design is harmless.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

import fluids_data
from models import oil
from models.hydraulics.lines import combined_modulus, hose_modulus, surge_pressure, wave_speed
from models.hydraulics.pressure_equipment import piping_category, sep_product, vessel_category
from models.quantity import ATMOSPHERE, UNITS, ZERO_CELSIUS, plain
from models.sizing.account import BAR, Account, leakage
from models.sizing.carrying_cautions import gas_spring_cautions, gas_springs, sinking
from models.sizing.catalogue import rule
from models.sizing.describe import fastest_disturbance
from models.sizing.design import Constraint, Design
from models.sizing.task import PARALLEL, relief_factor
from models.warning import DesignWarning, by_severity, warn

MICRO_PUMP_CM3_REV = 1.0
CLOSE_TO_LIMIT = 0.8
NOTABLE_SHARE = 0.03
LINE_OIL_SHARE = 0.3
"""Below this displacement loss data are few; from this share of a limit a warning is given; from this share of the
sprung mass the plant's own is told; from this share of the reduced mass the oil in the lines is. Source: [estimate]."""

WIDE_DEAD_BAND = 0.05
"""Dead band of a valve, share of its stroke either side of mid, beyond which it is told. Source: [common_practice]."""

CUSTOMARY_RATIO = 3.0


def cautions(state: Account, design: Design) -> tuple[DesignWarning, ...]:
    """Every warning of a plant, by severity."""
    found: list[DesignWarning] = list(state.tables.task.demand.warnings)
    for look in (_people, _vessel_and_piping, _heat_and_battery, _medium, _central, _standing):
        found += look(state, design)
    for index, axle in enumerate(state.tables.task.demand.axles):
        found += _corner(state, design, index, axle.position)
    found += _data(state, design)
    return by_severity(found)


def _people(state: Account, design: Design) -> Iterator[DesignWarning]:
    top = relief_factor() * design.supply_pressure / BAR
    threshold = rule("injection_pressure")
    if top >= threshold:
        yield warn(
            "injection_pressure",
            "design.supply_pressure",
            f"oil at up to {top:.4g} bar can pass through skin; a jet from a pinhole is hard to see",
            top,
            threshold,
            "bar",
        )
    centre = design.centre
    if centre.accumulator_volume > 0.0:
        yield warn(
            "stored_energy",
            "design.centre.accumulator",
            f"the accumulator still holds {plain(centre.stored_energy)} J after the pump stops",
            centre.stored_energy,
            0.0,
            "J",
        )
        yield warn("nitrogen_only", "design.centre.accumulator", "charge with nitrogen only, never with air or oxygen")
    for where, _, gas in gas_springs(design):
        yield warn(
            "stored_energy",
            f"design.{where}.gas",
            f"each {where} corner accumulator holds up to {plain(gas.stored_energy, 4)} J, and "
            f"{gas.static_pressure / BAR:.4g} bar for as long as the vehicle stands on it: take the weight off the "
            "wheels and vent the corner before opening anything",
            gas.stored_energy,
            0.0,
            "J",
        )
        if centre.accumulator_volume == 0.0:
            yield warn("nitrogen_only", f"design.{where}.gas", "charge with nitrogen only, never with air or oxygen")
    if centre.accumulator_volume > 0.0:
        yield warn(
            "accumulator_isolation",
            "design.centre.accumulator",
            "at stop the accumulator must be vented to the reservoir or shut off, and its circuit says so",
        )
    factor = state.tables.task.factors.burst
    for where, constraint in _named(state, "pressure_rating"):
        if constraint.use > CLOSE_TO_LIMIT:
            yield warn(
                "hose_burst",
                f"design.{where}.line",
                f"the weaker of hose, tube and valve is rated {constraint.allowance:.4g} bar (burst over "
                f"{factor:g}) at "
                f"{constraint.need:.4g} bar",
                constraint.need,
                constraint.allowance,
                "bar",
            )


def _vessel_and_piping(state: Account, design: Design) -> Iterator[DesignWarning]:
    top = relief_factor() * design.supply_pressure
    centre = design.centre
    if centre.accumulator_volume > 0.0:
        yield _vessel("design.centre.accumulator", "", top, centre.accumulator_volume)
    for where, _, gas in gas_springs(design):
        yield _vessel(f"design.{where}.gas", f"each {where} corner accumulator, ", top, gas.accumulator_volume)
    bore = max(
        [c.line_bore for c in (design.front, design.rear) if c is not None]
        + [float(state.tables.task.catalogue.tubes.bore[state.plant.return_tube])]
    )
    category = piping_category(top, bore)
    yield warn(
        "ped_piping",
        "design.parts",
        f"bore {bore * 1e3:.3g} mm at {top / BAR:.4g} bar: "
        + ("sound engineering practice, no CE mark for it" if category == "SEP" else category.replace("_", " ")),
        bore * 1e3,
        200.0,
        "mm",
    )


def _vessel(concerns: str, which: str, top: float, volume: float) -> DesignWarning:
    category = vessel_category(top, volume)
    product = top / BAR * UNITS["l"].from_si(volume)
    text = {
        "SEP": "sound engineering practice: instructions, no CE mark for it",
        "out_of_scope": "below 0.5 bar: out of scope",
    }.get(category, f"category {category}: conformity assessment")
    return warn(
        "ped_vessel",
        concerns,
        f"{which}{plain(product, 4)} bar·L ({UNITS['l'].from_si(volume):.4g} L at {top / BAR:.4g} bar): {text}. A road "
        "vehicle's own equipment is excluded, a model or a test rig is not",
        product,
        sep_product(),
        "bar·L",
    )


def _heat_and_battery(state: Account, design: Design) -> Iterator[DesignWarning]:
    spec, centre, totals = state.tables.task.spec, design.centre, design.totals
    hot = centre.oil_temperature - ZERO_CELSIUS
    touch = rule("touch_temperature_10s")
    if hot >= rule("touch_temperature_8h"):
        seconds = "10 s" if hot >= touch else "long contact"
        threshold = touch if hot >= touch else rule("touch_temperature_8h")
        yield warn(
            "touch_temperature",
            "design.centre.reservoir",
            f"bare metal runs at about {hot:.3g} °C; the burn threshold for {seconds} is {threshold:g} °C",
            hot,
            threshold,
            "°C",
        )
    alarm = rule("oil_temperature_alarm")
    limit = spec.oil_hot - ZERO_CELSIUS
    if hot > alarm or centre.cooler_heat > 0.0:
        yield warn(
            "oil_temperature",
            "design.centre.oil_temperature",
            f"oil settles at {hot:.3g} °C"
            + (
                f"; the reservoir alone cannot carry the heat: a cooler for {plain(centre.cooler_heat, 4)} W is "
                "counted in"
                if centre.cooler_heat > 0.0
                else ""
            ),
            hot,
            min(alarm, limit),
            "°C",
        )
    burning = _flammability(design.medium)
    if not burning.startswith("does not burn"):
        yield warn("fire", "design.medium", f"{design.medium_label}: {burning}")
    if spec.bus.peak_current is not None and totals.peak_current > CLOSE_TO_LIMIT * spec.bus.peak_current:
        yield warn(
            "battery_current",
            "design.totals.peak_current",
            f"the plant draws up to {totals.peak_current:.4g} A of the {spec.bus.peak_current:.4g} A the bus may give",
            totals.peak_current,
            spec.bus.peak_current,
            "A",
        )
    if spec.bus.energy is not None:
        yield warn(
            "battery_handling",
            "spec.bus",
            f"at mean power the battery lasts {totals.run_time / 3600.0 if totals.run_time else 0.0:.3g} h; "
            "fuse it at the pack "
            "and keep oil and heat off the cells",
        )
    class_b = rule("voltage_class_b")
    if spec.bus.voltage > class_b:
        yield warn(
            "voltage_class_b", "spec.bus.voltage", f"{spec.bus.voltage:g} V can kill", spec.bus.voltage, class_b, "V"
        )


def _flammability(medium: str) -> str:
    media = fluids_data.load_media()
    return media[medium].flammability if medium in media else "burns; a mist from a leak ignites easily"


def _medium(state: Account, design: Design) -> Iterator[DesignWarning]:
    task = state.tables.task
    spec, medium = task.spec, task.medium
    cold, hot = (s.kinematic_viscosity * 1e6 for s in (task.cold, task.hot))
    thick, thin = rule("pump_viscosity_max"), rule("pump_viscosity_min")
    if cold > thick:
        yield warn(
            "viscosity_too_high_cold",
            "spec.oil_cold",
            f"{cold:.4g} mm²/s at the coldest start; pumps accept about {thick:g}",
            cold,
            thick,
            "mm²/s",
        )
    if hot < thin:
        yield warn(
            "viscosity_too_low_hot",
            "spec.oil_hot",
            f"{hot:.3g} mm²/s when hot; pumps should not run loaded below about {thin:g}",
            hot,
            thin,
            "mm²/s",
        )
    for temperature in (spec.oil_cold, spec.oil_hot):
        if oil.is_outside_data_span(medium, temperature):
            points = [t - ZERO_CELSIUS for t, _ in medium.viscosity_points]
            outside = points[0] if temperature - ZERO_CELSIUS < points[0] else points[-1]
            yield warn(
                "viscosity_outside_data",
                "spec.medium",
                f"viscosity at {temperature - ZERO_CELSIUS:.3g} °C is carried on by ASTM D341 beyond its data points",
                temperature - ZERO_CELSIUS,
                outside,
                "°C",
            )
    if medium.pressure_viscosity is None:
        yield warn(
            "no_pressure_viscosity", "spec.medium", f"no pressure coefficient is known for {medium.label}; none applied"
        )
    pressure = 0.5 * design.supply_pressure + ATMOSPHERE
    stiff = oil.bulk_modulus(medium, pressure - ATMOSPHERE, spec.oil_hot)
    share = float(task.settings.modulus[state.choice.setting]) / stiff
    if share < 0.8:
        yield warn(
            "entrained_air",
            "spec.entrained_air_fraction",
            f"free air leaves the oil column {100 * share:.3g} % of its modulus at mid pressure; bias the "
            "return, vent the circuit",
            100 * share,
            80.0,
            "%",
        )
    yield warn("cleanliness", "design.parts", "servo and proportional valves want ISO 4406 class 16/14/11 to 18/16/13")


def _central(state: Account, design: Design) -> Iterator[DesignWarning]:
    task, centre = state.tables.task, design.centre
    least = float(task.catalogue.pumps.min_inlet[state.choice.pump])
    inlet = centre.inlet_pressure_cold + ATMOSPHERE
    if inlet < least + 0.5 * (ATMOSPHERE - least):
        yield warn(
            "suction_inlet",
            "design.centre.suction_line",
            f"{inlet / BAR:.3g} bar absolute at the pump inlet in cold oil; it needs {least / BAR:.3g}",
            inlet / BAR,
            least / BAR,
            "bar",
        )
    displacement = UNITS["cm3_rev"].from_si(centre.displacement)
    if displacement < MICRO_PUMP_CM3_REV and task.spec.measured.pump is None:
        yield warn(
            "micro_pump",
            "design.centre.pump",
            f"{displacement:.3g} cm³/rev; computed efficiency {centre.pump_efficiency:.2f}, pumps of this "
            "size spread from 0.3 to "
            f"0.75. Standby takes {plain(design.totals.standby_power)} W. Measure yours and post it under 'measured'",
            displacement,
            MICRO_PUMP_CM3_REV,
            "cm³/rev",
        )
    for name, speed, key in (
        ("supply", centre.supply_velocity, "pressure_velocity_high"),
        ("return", centre.return_velocity, "return_velocity_high"),
        ("suction", centre.suction_velocity, "suction_velocity_high"),
    ):
        if speed > rule(key) * (1 + 1e-9):
            yield warn(
                "line_velocity",
                f"design.centre.{name}_line",
                f"oil runs at {speed:.3g} m/s in the {name} line",
                speed,
                rule(key),
                "m/s",
            )
    if centre.accumulator_volume > 0.0:
        span = max(abs(task.spec.oil_hot - ZERO_CELSIUS - 20.0), abs(task.spec.oil_cold - ZERO_CELSIUS - 20.0))
        if span >= 20.0:
            yield warn(
                "accumulator_temperature",
                "design.centre.precharge",
                f"charged at 20 °C to {centre.precharge / BAR:.4g} bar; the gas works {span:.3g} K away from "
                "that, as counted",
                span,
                20.0,
                "K",
            )
    for constraint in state.constraints:
        if constraint.name == "motor_torque" and constraint.use > 0.95:
            yield warn(
                "motor_thermal",
                "design.centre.motor",
                "at highest pressure the motor runs at its continuous torque; its winding has no reserve",
                constraint.need,
                constraint.allowance,
                "N·m",
            )


def _standing(state: Account, design: Design) -> Iterator[DesignWarning]:
    spec, demand = state.tables.task.spec, state.tables.task.demand
    yield warn(
        "loss_of_pressure",
        "design",
        "with power or pressure lost the actuators push no more; the springs must do"
        if spec.weight_carried_by == "spring"
        else "with power or pressure lost the actuators are steered no more, and what they carry sinks onto its stops",
    )
    lost = leakage(state)
    if spec.weight_carried_by == "actuator":
        yield warn(
            "load_holding",
            "spec.weight_carried_by",
            "the cylinders carry the weight: at key-off it sinks by leakage"
            + sinking(design)
            + " or drops with a burst line; pilot-operated checks "
            "or normally closed valves at the cylinders are needed and are not in the parts list",
            lost * 6e4,
            0.0,
            "L/min",
        )
    yield warn(
        "fatigue_not_covered",
        "design.parts",
        f"walls and rods are checked against burst at {spec.safety.burst_factor:g} and buckling at "
        f"{spec.safety.buckling_factor:g}; pressure cycles are another matter",
    )
    if spec.corners_fitted != "one":
        yield warn("road_use", "design", "a changed suspension on a road vehicle needs the approval of the authority")
    yield warn("local_regulations", "design", "follow local regulations and have licensed practice check the design")
    sprung = sum(axle.corners * spec.axle(axle.position).sprung_mass for axle in demand.axles)
    share = design.totals.mass / sprung
    if share > NOTABLE_SHARE:
        counted = (
            "a bench rig's plant stands beside it and is not counted in"
            if spec.corners_fitted == "one"
            else f"{plain(demand.plant_mass, 4)} kg of it is counted in the sprung mass the sizing used"
        )
        yield warn(
            "plant_mass",
            "design.totals.mass",
            f"the plant weighs {plain(design.totals.mass, 4)} kg, {100 * share:.3g} % of the sprung mass it serves; "
            f"{counted}",
            100 * share,
            100 * NOTABLE_SHARE,
            "%",
        )


def _corner(state: Account, design: Design, index: int, where: str) -> Iterator[DesignWarning]:
    task = state.tables.task
    corner = design.front if where == "front" else design.rear
    if corner is None:
        return
    named = {c.name: c for c in state.constraints if c.concerns == where}
    axle, facts = task.axles[index], state.facts[index]
    at = f"design.{where}"
    cavitation = named.get("cavitation")
    if cavitation is not None and not cavitation.met:
        yield warn(
            "cavitation",
            f"{at}.lowest_chamber_pressure",
            f"a chamber falls to {cavitation.allowance:.3g} bar (gauge) under the load of '{cavitation.governed_by}'",
            cavitation.allowance,
            cavitation.need,
            "bar",
        )
    if corner.anti_cavitation_checks:
        yield warn(
            "anti_cavitation_checks",
            f"{at}.anti_cavitation_checks",
            "the chamber that an overrunning load would empty is fed through checks from the biased return",
        )
    highest = max(corner.blocked_rod_side_pressure, corner.highest_chamber_pressure)
    if "cavitation" in named and not corner.single_acting and highest > design.supply_pressure * (1 + 1e-9):
        factor = task.factors.burst * relief_factor() * design.supply_pressure / highest
        yield warn(
            "intensification",
            f"{at}.blocked_rod_side_pressure",
            f"with one port shut the rod side sees {highest / BAR:.4g} bar from a supply of "
            f"{design.supply_pressure / BAR:.4g}; "
            f"the barrel's burst factor is then {factor:.2g}",
            highest / BAR,
            design.supply_pressure / BAR,
            "bar",
        )
    if corner.buckling_factor < 1.25 * task.factors.buckling:
        yield warn(
            "buckling_margin",
            f"{at}.buckling_factor",
            f"the extended rod buckles at {corner.buckling_factor:.3g} times the greatest thrust; asked is "
            f"{task.factors.buckling:g}, a side load would take from it",
            corner.buckling_factor,
            task.factors.buckling,
            "1",
        )
    limit = task.spec.safety.friction_fraction
    if corner.friction_over_force > limit:
        yield warn(
            "seal_friction",
            f"{at}.seal_friction",
            f"seals rub with {plain(corner.seal_friction)} N ({plain(corner.break_out_friction)} N to break out), "
            f"{corner.friction_over_force:.2f} of the rms force; "
            + (
                "thinner oil or a wider gap would rub less and leak more"
                if corner.seal == "clearance"
                else "a clearance seal would rub less and leak"
            ),
            corner.friction_over_force,
            limit,
            "1",
        )
    error, wanted = fastest_disturbance(state, index)
    if error > wanted:
        yield warn(
            "velocity_disturbance", f"{at}.velocity_disturbance_force", corner.acts_as_because, error, wanted, "N"
        )
    own = state.tables.task.spec.measured.valve
    if own is not None and own.dead_band > WIDE_DEAD_BAND:
        crossing = 2.0 * own.dead_band / (np.pi * own.bandwidth)
        yield warn(
            "valve_dead_band",
            "spec.measured.valve.dead_band",
            f"at {at}, each time the flow turns the spool crosses {2.0 * own.dead_band:.2g} of its half stroke, which "
            f"takes about {crossing * 1e3:.2g} ms at its fastest; the proof runs with it",
            own.dead_band,
            WIDE_DEAD_BAND,
            "1",
        )
    if corner.stiffness_ratio < CUSTOMARY_RATIO:
        yield warn(
            "natural_frequency",
            f"{at}.natural_frequency",
            f"oil column {plain(corner.natural_frequency)} Hz, {corner.stiffness_ratio:.2g} times the duty's "
            f"{plain(axle.bandwidth)} Hz",
            corner.stiffness_ratio,
            CUSTOMARY_RATIO,
            "1",
        )
    if corner.valve_bandwidth_ratio < CUSTOMARY_RATIO:
        yield warn(
            "valve_bandwidth",
            f"{at}.valve_bandwidth",
            f"valve {plain(corner.valve_bandwidth)} Hz, {corner.valve_bandwidth_ratio:.2g} times the duty's "
            f"{plain(axle.bandwidth)} Hz",
            corner.valve_bandwidth_ratio,
            CUSTOMARY_RATIO,
            "1",
        )
    if corner.gas is not None:
        yield from gas_spring_cautions(state, corner, corner.gas, at)
    if axle.arrangement == PARALLEL and facts.line_oil_mass > LINE_OIL_SHARE * axle.mass:
        yield warn(
            "line_inertia",
            f"{at}.line_oil_mass",
            f"oil in the lines weighs {plain(facts.line_oil_mass)} kg at the piston, against {plain(axle.mass)} kg "
            "of body and wheel; "
            "a shorter or wider line weighs less",
            facts.line_oil_mass,
            LINE_OIL_SHARE * axle.mass,
            "kg",
        )
    yield from _surge(state, index, at)
    axle_of = task.demand.axles[index]
    stroke = max(duty.stroke for duty in axle_of.duties)
    if (
        axle.arrangement == PARALLEL
        and stroke > axle.stroke * (1 + 1e-9)
        and not _told_by_demand(state, axle_of.position)
    ):
        yield warn(
            "stroke_exceeds_travel",
            f"{at}.stroke",
            f"the motion needs {stroke * 1e3:.4g} mm of stroke, the suspension gives {axle.stroke * 1e3:.4g}: "
            "it will bottom",
            stroke * 1e3,
            axle.stroke * 1e3,
            "mm",
        )
    ratios = (task.spec.safety.stiffness_ratio, task.spec.safety.valve_bandwidth_ratio)
    if min(ratios) < CUSTOMARY_RATIO or task.factors.stiffness_ratio < ratios[0]:
        yield warn(
            "stiffness_relaxed",
            "spec.safety",
            f"ratios kept: oil column {task.factors.stiffness_ratio:g}, valve {task.factors.valve_ratio:g}; "
            "customary is "
            f"{CUSTOMARY_RATIO:g} to 4",
            min(task.factors.stiffness_ratio, task.factors.valve_ratio),
            CUSTOMARY_RATIO,
            "1",
        )


def _told_by_demand(state: Account, position: str) -> bool:
    # the ride sets the motion against the nearer stop, which says more than the whole travel
    return any(
        warning.code == "stroke_exceeds_travel" and warning.concerns.startswith(f"demand.{position}.")
        for warning in state.tables.task.demand.warnings
    )


def _surge(state: Account, index: int, at: str) -> Iterator[DesignWarning]:
    task, choice = state.tables.task, state.choice.corners[index]
    axle, facts, lines = task.axles[index], state.facts[index], task.catalogue.lines
    bore = float(lines.bore[choice.line])
    velocity = facts.cap * float(axle.speeds.max()) / (0.25 * np.pi * bore**2)
    modulus = combined_modulus(
        task.hot.bulk_modulus_tangent_adiabatic, hose_modulus(bore, float(lines.expansion[choice.line]))
    )
    speed = wave_speed(modulus, task.hot.density)
    closing = 0.35 / float(task.catalogue.valves.bandwidth[choice.valve])
    surge = surge_pressure(velocity, task.hot.density, speed, axle.tube_length + axle.hose_length, closing)
    rating = float(lines.rating[choice.line])
    top = float(task.settings.high[state.choice.setting]) + surge
    if top > rating:
        yield warn(
            "surge_pressure",
            f"{at}.line",
            f"shutting the valve in {closing * 1e3:.3g} ms adds {surge / BAR:.3g} bar to the line: "
            f"{top / BAR:.4g} bar in all",
            top / BAR,
            rating / BAR,
            "bar",
        )


def _named(state: Account, name: str) -> Iterator[tuple[str, Constraint]]:
    for constraint in state.constraints:
        if constraint.name == name:
            yield constraint.concerns, constraint


def _data(state: Account, design: Design) -> Iterator[DesignWarning]:
    for kind, code, words in (
        ("estimated", "estimated_data", "estimated by the developers"),
        ("memory", "remembered_data", "recalled and not looked up"),
    ):
        parts = [p for p in design.parts if p.kind == kind]
        if parts:
            share = 100 * sum(p.mass for p in parts) / design.totals.mass
            names = ", ".join(p.part for p in parts)
            yield warn(
                code,
                "design.parts",
                f"{len(parts)} parts, {share:.3g} % of the mass, rest on sizes or data {words}: {names}",
                share,
                0.0,
                "%",
            )
