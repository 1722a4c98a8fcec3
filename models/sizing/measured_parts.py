"""The user's own valve and pump as rows of the catalogue, worked out from what was measured on them.

Knows which losses a single working point can tell apart, and which it cannot. Knows no table.
"""

from __future__ import annotations

import numpy as np

from models.hydraulics.valve import LAND_PRESSURE_DROP
from models.quantity import UNITS, OutOfRange
from models.shelf import MeasuredPump, MeasuredValve
from models.sizing.sizes import USER, Motors, Origin, Pumps, Valves

MEASURED_RATING = 350e5
"""Pressure rating taken for a part the user measured: theirs to know. Source: [user]."""


def measured_valve(valve: MeasuredValve) -> tuple[Valves, tuple[str, ...], tuple[Origin, ...]]:
    """The user's own valve as the only one. Rated drop is over both lands; power drawn is unknown and taken as nil."""
    flow = valve.rated_flow * (LAND_PRESSURE_DROP / (0.5 * valve.rated_pressure_drop)) ** 0.5
    row = (flow, valve.bandwidth, valve.null_leakage, valve.leakage_pressure, MEASURED_RATING, valve.mass, 0.0, 0.0)
    return Valves._make([*(np.array([v]) for v in row), np.zeros(1, np.int64)]), ("own valve, measured",), (USER,)


def measured_pump(
    pump: MeasuredPump, voltage: float, density: float
) -> tuple[tuple[Pumps, tuple[str, ...], tuple[Origin, ...]], tuple[Motors, tuple[str, ...], tuple[Origin, ...]]]:
    """The user's own pump with its motor, from one working point.

    Slip follows from the flow, at laminar slip; all other loss between bus and oil is put down to pressure-dependent
    friction, so that the drawn current comes out at the measured point. It runs up to the speed and torque measured.
    Raises OutOfRange when the point is impossible: more flow than displacement gives, or more power out than in.
    """
    full = pump.displacement * pump.speed
    if pump.flow > full:
        raise OutOfRange(
            "measured.pump.flow_l_min",
            UNITS["l_min"].from_si(pump.flow),
            None,
            UNITS["l_min"].from_si(full),
            "L/min",
            "user",
        )
    drawn, given = pump.current * voltage, pump.pressure * pump.flow
    if given > drawn:
        raise OutOfRange("measured.pump.current_a", pump.current, given / voltage, None, "A", "user")
    viscosity = pump.kinematic_viscosity * density
    slip = (pump.speed - pump.flow / pump.displacement) * viscosity / pump.pressure
    coulomb = drawn / (full * pump.pressure) - 1.0
    torque = drawn / pump.speed
    rating = MEASURED_RATING if pump.pressure > MEASURED_RATING else 1.25 * pump.pressure
    pumps_row = (pump.displacement, rating, pump.speed, 0.1 * pump.speed, slip, 0.0, coulomb, 0.0, pump.mass, 0.8e5)
    motor_row = (pump.speed, 1.5 * torque, 3.0 * torque, 0.0, 0.0, 0.0, 0.0, 0.0)
    return (
        (Pumps(*(np.array([v]) for v in pumps_row)), ("own pump, measured",), (USER,)),
        (Motors(*(np.array([v]) for v in motor_row)), ("its motor, measured with it",), (USER,)),
    )
