"""The warnings an all-electric design raises.

Each rests on the design's own figures; texts, signal words, sources and advice stand in warnings.toml. Nothing here
says that a design is harmless.
"""

from __future__ import annotations

from collections.abc import Iterator

import fluids_data
from models.electric.catalogue import estimated_rows
from models.electric.design import ElectricMachine
from models.electric.sizing_records import ElectricDesign, Surroundings
from models.quantity import ZERO_CELSIUS, plain
from models.warning import DesignWarning, by_severity, warn

NOTABLE_INERTANCE = 0.25
"""Reflected mass over the most allowed from which a notice is given. Source: [estimate]."""

CUSTOMARY_RATIO = 3.0
"""Bandwidth of an actuator over its duty's that is customary. Source: [common_practice]."""


def electric_cautions(design: ElectricDesign, surroundings: Surroundings) -> tuple[DesignWarning, ...]:
    """Every warning of a design, by severity; none for a design without machines."""
    if not design.machines:
        return ()
    found = [*_vehicle(design, surroundings)]
    for machine in design.machines:
        found += _machine(machine, design)
    rows = estimated_rows()
    found.append(
        warn(
            "estimated_data",
            "comparison.electric",
            f"{len(rows)} constants of machines, drives and batteries are estimates: {', '.join(rows[:6])} and others",
            float(len(rows)),
            None,
            "constants",
        )
    )
    return by_severity(found)


def _vehicle(design: ElectricDesign, surroundings: Surroundings) -> Iterator[DesignWarning]:
    at = "comparison.electric"
    limit = fluids_data.load_rules()["voltage_class_b"].value
    if surroundings.voltage > limit:
        yield warn("voltage_class_b", at, "the drives' bus is of voltage class B", surroundings.voltage, limit, "V")
    if design.spring_share < 1.0:
        yield warn(
            "loss_of_power",
            at,
            f"without power the actuators let go of {1.0 - design.spring_share:.0%} of the weight",
            100.0 * (1.0 - design.spring_share),
            0.0,
            "% of the weight",
        )
    else:
        yield warn("loss_of_power", at, "without power the body stays on its springs but loses the machines' damping")
    if design.family in ("direct_coil", "tubular"):
        yield warn("magnet_handling", at, f"the {design.label} holds strong magnets")
    if not design.sets_force:
        yield warn("position_only", at, f"the {design.label} cannot set a force")


def _machine(machine: ElectricMachine, design: ElectricDesign) -> Iterator[DesignWarning]:
    at = f"comparison.electric.{machine.position}"
    if not machine.hottest_duty_may_last:
        yield warn(
            "winding_burst",
            at,
            f"the duty '{machine.hottest_duty}' alone would take the {machine.position} {design.label} past a limit",
        )
    share = machine.inertance / machine.inertance_limit
    if share > NOTABLE_INERTANCE:
        yield warn(
            "reflected_inertia",
            at,
            f"the {machine.position} machine shows {plain(machine.inertance)} kg between body and wheel",
            machine.inertance,
            machine.inertance_limit,
            "kg",
        )
    if machine.bandwidth < CUSTOMARY_RATIO * machine.bandwidth_needed:
        yield warn(
            "force_bandwidth",
            at,
            f"the {machine.position} machine's force follows to {plain(machine.bandwidth)} Hz only",
            machine.bandwidth / machine.bandwidth_needed,
            CUSTOMARY_RATIO,
            "times the duty's bandwidth",
        )
    touch = fluids_data.load_rules()["touch_temperature_1s"].value
    surface = machine.case_temperature - ZERO_CELSIUS
    if surface > touch:
        yield warn("touch_temperature", at, f"the {machine.position} machine's case is hot", surface, touch, "°C")
