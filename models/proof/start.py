"""The state a run begins from, and how finely its states are integrated."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.proof import layout as at
from models.proof.course import Course
from models.proof.mixture import state_of
from models.proof.plant import Circuit
from models.quantity import ATMOSPHERE

Floats = NDArray[np.float64]

PRESSURE_ERROR = 2e-4
MOTION_ERROR = 1e-4
"""Largest error of one step: of a pressure, as a share of the supply; of a motion, as a share of the travel and of the
speed that belongs to it."""


def first_state(circuit: Circuit, travel: Floats) -> Floats:
    """States at rest: spools shut, rail at its highest pressure, the pump feeding what leaks, chambers balanced under
    the weight.

    travel: piston travel of each corner at the start, m. A weight beyond what the supply can hold starts at full
    pressure.
    """
    c, z = circuit.corners, circuit.centre
    n = c.shape[0]
    y = np.zeros(n * at.SLOTS + at.CENTRE_SLOTS)
    floor, high = z[at.FLOOR], z[at.HIGH]
    for i in range(n):
        base = i * at.SLOTS
        p2 = 0.5 * (high + z[at.RESERVOIR])
        p1 = p2
        if c[i, at.FITTED] > 0.5:
            cap, annulus, weight = c[i, at.CAP], c[i, at.ANNULUS], c[i, at.STATIC_FORCE]
            # at null both chambers rest where leakage in and out agree: as near half the supply as the weight allows
            p2 = p2 if annulus > 0.0 else 0.0  # a vented rod side
            p1 = (weight + p2 * annulus) / cap
            if p1 > high and annulus == 0.0:
                p1 = high
            elif p1 > high:
                p1, p2 = high, max((high * cap - weight) / annulus, 0.0)
        y[base + at.P1], y[base + at.P2] = state_of(p1 + ATMOSPHERE, floor), state_of(p2 + ATMOSPHERE, floor)
        if c[i, at.ARRANGED] == at.GAS:
            y[base + at.EXTRA] = state_of(p1 + ATMOSPHERE, floor)
    e = n * at.SLOTS
    y[e + at.RAIL] = y[e + at.PORT_P] = state_of(high + ATMOSPHERE, floor)
    y[e + at.PORT_T] = state_of(z[at.RESERVOIR] + ATMOSPHERE, floor)
    y[e + at.SHAFT] = z[at.START_SPEED]
    y[e + at.GAS_HEAT] = 1.0
    return y


def tolerances(circuit: Circuit, factor: float = 1.0) -> Floats:
    """Largest error of each state in one step; `factor` scales all."""
    c, z = circuit.corners, circuit.centre
    n = c.shape[0]
    pressure = PRESSURE_ERROR * z[at.HIGH]
    out = np.full(n * at.SLOTS + at.CENTRE_SLOTS, 1.0)
    e = n * at.SLOTS
    for i in range(n):
        base = i * at.SLOTS
        reach = min(c[i, at.BUMP], c[i, at.DROOP])
        quick = np.sqrt((c[i, at.TYRE] + c[i, at.SPRING]) / c[i, at.UNSPRUNG])
        out[base + at.P1] = out[base + at.P2] = pressure
        out[base + at.SPOOL], out[base + at.SPOOL_RATE] = 1e-3, 1e-3 * c[i, at.SPOOL_OMEGA]
        out[base + at.EXTRA], out[base + at.EXTRA_RATE] = MOTION_ERROR * reach, MOTION_ERROR * reach * quick
        if c[i, at.ARRANGED] == at.GAS:
            out[base + at.EXTRA] = pressure
        out[base + at.WHEEL], out[base + at.WHEEL_RATE] = MOTION_ERROR * reach, MOTION_ERROR * reach * quick
    reach = float(np.min(np.minimum(c[:, at.BUMP], c[:, at.DROOP])))
    quick = float(np.sqrt(np.sum(c[:, at.TYRE]) / z[at.BODY_MASS]))
    arms = (1.0, float(np.max(np.abs(c[:, at.ARM_PITCH]))) or 1.0, float(np.max(np.abs(c[:, at.ARM_ROLL]))) or 1.0)
    for k, arm in enumerate(arms):
        out[e + at.HEAVE + k] = MOTION_ERROR * reach / arm
        out[e + at.HEAVE_RATE + k] = MOTION_ERROR * reach * quick / arm
    out[e + at.RAIL] = out[e + at.PORT_P] = pressure
    out[e + at.PORT_T] = pressure
    out[e + at.SHAFT], out[e + at.GAS_HEAT] = 1e-3 * z[at.MOST_SPEED], 1e-4
    return factor * out


def with_course(circuit: Circuit, course: Course) -> tuple[Floats, Floats]:
    """The circuit's arrays with the course's kind of motion and its ride laws written in."""
    c, z = circuit.corners.copy(), circuit.centre.copy()
    z[at.IMPOSED] = float(course.imposed)
    z[at.LAW_HOLDS] = float(any(law is not None for law in course.law))
    for i, law in enumerate(course.law):
        if law is None:
            continue
        c[i, at.LAW_TRAVEL : at.LAW_WHEEL + 1] = law.gains
        c[i, at.LAW_LOW_CUT], c[i, at.LAW_BANDWIDTH] = (
            -np.expm1(-2.0 * np.pi * frequency * circuit.sample) for frequency in (law.low_cut, law.bandwidth)
        )
    return c, z
