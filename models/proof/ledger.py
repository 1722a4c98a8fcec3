"""What the run's energies are: stored at an instant, and the ledger of a whole run.

Stored energy is computed from the states; what went in and out was integrated beside them. That the two agree tests the
integration, not a definition.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from models.proof import layout as at
from models.proof.circuit import stored_oil
from models.proof.mixture import mixture, oil_numbers, pressure_of
from models.quantity import ATMOSPHERE

Floats = NDArray[np.float64]


def oil_and_energy(circuit: tuple[Floats, Floats, Floats], y: Floats, inputs: Floats) -> tuple[float, float, float]:
    """(oil outside the reservoir as m³ at atmospheric pressure, energy in the oil J, energy in the motion J).

    circuit: corners, centre, accumulator table; inputs: the row of the instant. Energy of oil counts from the
    reservoir's; the gas is counted by the work it took (`W_GAS`).
    """
    c, z, table = circuit
    n = c.shape[0]
    e = n * at.SLOTS
    base_enthalpy = z[at.RESERVOIR]
    mixed = oil_numbers(z[at.MODULUS], z[at.MODULUS_SLOPE], z[at.AIR], z[at.AIR_EXPONENT])
    oil, stored, moving = 0.0, 0.0, 0.0

    def hold(state: float, volume: float, wall: float) -> None:
        nonlocal oil, stored
        p = pressure_of(state, z[at.FLOOR])
        v, _, _, h = mixture(p, mixed)
        gauge = p - ATMOSPHERE
        amount = (volume + wall * gauge) / v
        oil += amount
        stored += amount * (h - gauge * v - base_enthalpy) + 0.5 * wall * gauge * gauge

    imposed = z[at.IMPOSED] > 0.5
    body = y[e + at.HEAVE : e + at.HEAVE + 3]
    for i in range(n):
        k, row = i * at.SLOTS, c[i]
        arms = row[at.ARM_HEAVE : at.ARM_HEAVE + 3]
        wheel = y[k + at.WHEEL]
        travel = float(arms @ body) - wheel
        piston = row[at.RATIO] * travel
        if imposed:
            piston = inputs[i, 0]
        elif row[at.ARRANGED] == at.SEAT:
            piston = row[at.RATIO] * float(arms @ body) - y[k + at.EXTRA]
        hold(y[k + at.P1], row[at.CAP_VOLUME] + row[at.CAP] * piston, row[at.HOSE])
        hold(y[k + at.P2], row[at.ANNULUS_VOLUME] - row[at.ANNULUS] * piston, row[at.HOSE])
        moving += row[at.STATIC_FORCE] * piston
        if row[at.ARRANGED] == at.GAS:
            p = pressure_of(y[k + at.EXTRA], z[at.FLOOR])
            oil -= row[at.GAS_VOLUME] * (row[at.GAS_PRESSURE] / p) ** (1.0 / row[at.GAS_EXPONENT])
        if imposed:
            continue
        moving += 0.5 * row[at.UNSPRUNG] * y[k + at.WHEEL_RATE] ** 2 + 0.5 * row[at.SPRING] * travel**2
        depth = max(-row[at.BUMP] - travel, travel - row[at.DROOP], 0.0)
        moving += 0.5 * row[at.STOP] * depth**2
        press = row[at.TYRE] * (wheel - inputs[i, 0])
        limit = row[at.TYRE_STATIC]
        pressed = 0.5 * press**2 / row[at.TYRE] if press <= limit else limit * (press - 0.5 * limit) / row[at.TYRE]
        moving += pressed
        if row[at.BAR] > 0.0:
            j = int(row[at.PARTNER])
            other = float(c[j, at.ARM_HEAVE : at.ARM_HEAVE + 3] @ body) - y[j * at.SLOTS + at.WHEEL]
            moving += 0.125 * row[at.BAR] * (travel - other) ** 2
        if row[at.ARRANGED] == at.SEAT:
            moving += 0.5 * row[at.SEAT_MASS] * y[k + at.EXTRA_RATE] ** 2
            moving += 0.5 * row[at.SEAT_SPRING] * (y[k + at.EXTRA] - row[at.RATIO] * wheel) ** 2
    masses = np.array([z[at.BODY_MASS], z[at.PITCH_INERTIA], z[at.ROLL_INERTIA]])
    moving += 0.5 * float(masses @ y[e + at.HEAVE_RATE : e + at.HEAVE_RATE + 3] ** 2)
    moving += 0.5 * z[at.INERTIA] * y[e + at.SHAFT] ** 2
    rail = pressure_of(y[e + at.RAIL], z[at.FLOOR])
    held = stored_oil(table, z[at.GAS_LOW], z[at.GAS_STEP], rail / y[e + at.GAS_HEAT])[0]
    hold(y[e + at.RAIL], z[at.RAIL_VOLUME] + held, 0.0)
    hold(y[e + at.PORT_P], z[at.PORT_P_VOLUME], 0.0)
    hold(y[e + at.PORT_T], z[at.PORT_T_VOLUME], 0.0)
    return oil, stored, moving


def energy_terms(work: Floats, stored: float, imposed: bool) -> tuple[tuple[str, float], ...]:
    """The run's energies by name, J: what came in is positive, heat and what was stored negative; they sum to nothing.

    work: integrals of the powers; stored: gain of the energies of oil and motion.
    """
    outside = -work[at.W_PISTON] + work[at.W_FRICTION] if imposed else 0.0
    return (
        ("motor shaft", float(work[at.W_MACHINE])),
        ("road", float(work[at.W_ROAD])),
        ("loads on the body", float(work[at.W_LOAD])),
        ("imposed motion", float(outside)),
        ("pump losses", -float(work[at.W_SHAFT] - work[at.W_PUMP])),
        ("valves and corner lines", -float(work[at.W_VALVE])),
        ("supply line", -float(work[at.W_SUPPLY])),
        ("return line and filter", -float(work[at.W_RETURN])),
        ("relief", -float(work[at.W_RELIEF])),
        ("leakage", -float(work[at.W_SEAL])),
        ("damping orifices", -float(work[at.W_ORIFICE])),
        ("seal friction", -float(work[at.W_FRICTION])),
        ("dampers and stops", -float(work[at.W_DAMPER])),
        ("work on accumulator gas", -float(work[at.W_GAS])),
        ("stored in oil, springs and motion", -stored),
    )


def closes_to(terms: tuple[tuple[str, float], ...]) -> float:
    """What the terms leave over, as a share of the energy that passed through."""
    through = 0.5 * math.fsum(abs(value) for _, value in terms)
    return math.fsum(value for _, value in terms) / max(through, 1e-12)
