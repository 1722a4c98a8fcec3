"""What holds of a cylinder, a valve or a line by itself at each supply pressure: the tables a half search starts from.

Computed once, so that the search's inner loops read instead of compute. Knows one axle; tries no combination.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from models.compiled import KERNEL
from models.hydraulics.cylinder import buckling_load
from models.sizing.catalogue import Floats
from models.sizing.corner import (
    STEEL_MODULUS,
    STEEL_YIELD,
    MassLaws,
    barrel,
    chamber_oil,
    corner_mass,
    line_inertance,
    line_volume,
    valve_leakage,
    working_areas,
)
from models.sizing.halves import (
    C_BORE,
    C_ROD,
    C_THROUGH,
    L_BORE,
    L_HOSE_KG_M,
    L_TUBE_BORE,
    L_TUBE_KG_M,
    V_FLOW,
    V_LEAKAGE,
    V_MASS,
    V_RATING,
    V_REFERENCE,
    AxleNumbers,
    MeasuredCorner,
    cylinder_leakage,
    running_friction,
)
from models.sizing.task import Factors, Oils

F_STAGE, F_MISS, F_CAP, F_ANNULUS, F_LEAK, F_BODY_MASS, F_SENSORS, F_OIL, F_MOVING, F_FRICTION = range(10)
FACTS = F_FRICTION + 4
"""Columns of a cylinder at one pressure: stage it fails at (-1 none) and its miss, areas, leakage, wet and sensor mass,
oil, moving mass, and running friction as (N cold, N hot, N per m/s cold, hot)."""


def cylinder_room(pressures: Floats, cylinders: Floats) -> Floats:
    """Room for `cylinder_facts`."""
    return np.empty((pressures.size, cylinders.shape[0], FACTS))


@njit(**KERNEL)
def cylinder_facts(
    axle: AxleNumbers,
    peak_speed: float,
    cylinders: Floats,
    pressures: Floats,
    oils: Oils,
    factors: Factors,
    laws: MassLaws,
    measured: MeasuredCorner,
    relief: float,
    facts: Floats,
) -> None:
    """Fill facts, [pressure, cylinder, FACTS]: what holds of a cylinder at a supply pressure whatever line and valve it
    gets."""
    for p in range(pressures.size):
        high, limit = pressures[p], relief * pressures[p]
        for c in range(cylinders.shape[0]):
            bore, rod, through = cylinders[c, C_BORE], cylinders[c, C_ROD], cylinders[c, C_THROUGH] > 0.5
            cap, annulus = working_areas(bore, rod, through, axle.arrangement)
            oil = chamber_oil(cap, annulus, axle.stroke)
            greatest, fact = 0.0, facts[p, c]
            for t in range(2):
                constant, per_speed = running_friction(cylinders[c], cap, high, oils.viscosity[t], measured)
                fact[F_FRICTION + t], fact[F_FRICTION + 2 + t] = constant, per_speed
                greatest = max(greatest, constant + per_speed * peak_speed)
            wall, body = barrel(bore, rod, through, axle.stroke, limit, factors.burst)
            column = buckling_load(rod, body.extended_length, STEEL_MODULUS, STEEL_YIELD, 1.0)
            stage, miss = -1.0, 0.0
            if greatest > axle.force_rms:
                stage, miss = 0.0, greatest / axle.force_rms
            elif not math.isfinite(wall) or body.outer_diameter > axle.outer_limit * (1 + 1e-12):
                stage, miss = 1.0, body.outer_diameter / axle.outer_limit
            elif body.retracted_length > axle.length_limit * (1 + 1e-12):
                stage, miss = 2.0, body.retracted_length / axle.length_limit
            elif column < factors.buckling * high * cap:
                stage, miss = 3.0, factors.buckling * high * cap / column
            mass, _, _, sensors, _ = corner_mass(
                body.dry_mass, oil, bore, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, oils.density[0], False, 0.0, laws,
                axle.lines,
            )  # fmt: skip
            fact[F_STAGE], fact[F_MISS], fact[F_CAP], fact[F_ANNULUS] = stage, miss, cap, annulus
            fact[F_LEAK] = cylinder_leakage(cylinders[c], high, oils.viscosity[1], measured)
            fact[F_BODY_MASS], fact[F_SENSORS], fact[F_OIL] = mass, sensors, oil
            fact[F_MOVING] = body.moving_mass


def valve_facts(valves: Floats, pressures: Floats, laws: MassLaws) -> Floats:
    """[pressure, valve, (mass with block, null leakage)]; leakage infinite where it does not bear the pressure."""
    facts = np.empty((pressures.size, valves.shape[0], 2))
    _fill_valves(valves, pressures, laws, facts)
    return facts


@njit(**KERNEL)
def _fill_valves(valves: Floats, pressures: Floats, laws: MassLaws, facts: Floats) -> None:
    for v in range(valves.shape[0]):
        mass = corner_mass(
            0.0, 0.0, 0.0, valves[v, V_MASS], valves[v, V_FLOW], 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, False, 0.0, laws,
            2.0,
        )[1]  # fmt: skip
        for p in range(pressures.size):
            leak = valve_leakage(valves[v, V_LEAKAGE], valves[v, V_REFERENCE], pressures[p])
            facts[p, v, 0], facts[p, v, 1] = mass, leak if valves[v, V_RATING] >= pressures[p] else math.inf


def line_facts(axle: AxleNumbers, lines: Floats, density: float, laws: MassLaws) -> Floats:
    """[line, (wet mass of both with joints, oil in one, inertance)]."""
    facts = np.empty((lines.shape[0], 3))
    _fill_lines(axle, lines, density, laws, facts)
    return facts


@njit(**KERNEL)
def _fill_lines(axle: AxleNumbers, lines: Floats, density: float, laws: MassLaws, facts: Floats) -> None:
    for i in range(lines.shape[0]):
        volume = line_volume(lines[i, L_BORE], lines[i, L_TUBE_BORE], axle.tube_length, axle.hose_length)
        facts[i, 0] = corner_mass(
            0.0, 0.0, 0.0, 0.0, 0.0, lines[i, L_BORE], lines[i, L_HOSE_KG_M], lines[i, L_TUBE_KG_M], axle.tube_length,
            axle.hose_length, volume, density, False, 0.0, laws, axle.lines,
        )[2]  # fmt: skip
        facts[i, 1] = volume
        facts[i, 2] = line_inertance(
            lines[i, L_BORE], lines[i, L_TUBE_BORE], axle.tube_length, axle.hose_length, density
        )
