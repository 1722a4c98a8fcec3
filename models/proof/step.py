"""One step in time: a linearly implicit formula of second order whose equations are solved by corners and a border.

Three stages, L-stable, order two for any matrix, the third stage measuring the error. Each corner's unknowns are
eliminated first; what is left couples body, rail, ports and shaft. Source: [shampine_reichelt1997], the modified
Rosenbrock pair of order 2 and 3.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.proof import layout as at
from models.proof.compiled import COMPILED

Floats = NDArray[np.float64]

GAMMA = 1.0 / (2.0 + math.sqrt(2.0))
E32 = 6.0 + math.sqrt(2.0)
"""Constants of the formula."""

BLOCK = 4
"""Unknowns of a corner's block at most: two pressures, wheel speed, what the arrangement adds."""


@njit(**COMPILED)
def factor(
    c: Floats, z: Floats, parts: Floats, cparts: Floats, g: float, lu: Floats, x: Floats, border: Floats
) -> None:
    """Factor I - g·J, reciprocals on the diagonals.

    lu: [corner, 4, 4]; x: [corner, 3, 4], answers of the block to body speed, P and T; border: 7 by 7."""
    n = c.shape[0]
    imposed = z[at.IMPOSED] > 0.5
    for k in range(at.BORDER):
        for col in range(at.BORDER):
            border[k, col] = 0.0
    for k in range(3):
        mass = z[at.BODY_MASS] if k == 0 else (z[at.PITCH_INERTIA] if k == 1 else z[at.ROLL_INERTIA])
        border[k, k] = 1.0 if imposed else mass
    border[at.B_P, at.B_P] = 1.0 - g * cparts[at.DPP]
    border[at.B_P, at.B_RAIL] = -g * cparts[at.DPS]
    border[at.B_T, at.B_T] = 1.0 - g * cparts[at.DTT]
    border[at.B_RAIL, at.B_RAIL] = 1.0 - g * cparts[at.DSS]
    border[at.B_RAIL, at.B_P] = -g * cparts[at.DSP]
    border[at.B_RAIL, at.B_SHAFT] = -g * cparts[at.DSW]
    border[at.B_SHAFT, at.B_RAIL] = -g * cparts[at.DWS]
    border[at.B_SHAFT, at.B_SHAFT] = 1.0 - g * cparts[at.DWW]
    for i in range(n):
        r, p, d, xi = c[i, at.RATIO], parts[i], lu[i], x[i]
        kind = int(c[i, at.ARRANGED])
        block = 3 if kind == at.NONE else 4
        cap, annulus = c[i, at.CAP], c[i, at.ANNULUS]
        friction, stiffness = p[at.FRICTION], p[at.STIFFNESS]
        for k in range(BLOCK):
            for col in range(BLOCK):
                d[k, col] = 0.0
            for col in range(3):
                xi[col, k] = 0.0
        d[0, 0], d[0, 1], d[1, 0], d[1, 1] = 1.0 - g * p[at.D11], -g * p[at.D12], -g * p[at.D21], 1.0 - g * p[at.D22]
        d[3, 3], d[2, 2] = 1.0, 1.0
        xi[1, 0], xi[1, 1] = -g * p[at.D1P], -g * p[at.D2P]
        xi[2, 0], xi[2, 1] = -g * p[at.D1T], -g * p[at.D2T]
        if kind == at.GAS:
            d[0, 3], d[3, 0], d[3, 3] = -g * p[at.D1E], -g * p[at.DE1], 1.0 - g * p[at.DEE]
        own = p[at.DAMPER] + g * stiffness
        if not imposed:
            d[2, 2] = c[i, at.UNSPRUNG] + g * (own + g * p[at.TYRE_NOW])
            if kind == at.SEAT:
                d[0, 3], d[1, 3] = g * p[at.D1V], g * p[at.D2V]
                d[3, 0], d[3, 1] = g * cap, -g * annulus
                d[3, 3] = c[i, at.SEAT_MASS] + g * (friction + g * c[i, at.SEAT_SPRING])
                d[3, 2] = -g * g * c[i, at.SEAT_SPRING] * r
                d[2, 3] = -g * g * c[i, at.SEAT_SPRING] * r
                d[2, 2] += g * g * c[i, at.SEAT_SPRING] * r * r
                xi[0, 0], xi[0, 1] = -g * p[at.D1V] * r, -g * p[at.D2V] * r
                xi[0, 3], xi[0, 2] = -g * friction * r, -g * own
            else:
                d[0, 2], d[1, 2] = g * p[at.D1V] * r, g * p[at.D2V] * r
                d[2, 0], d[2, 1] = g * r * cap, -g * r * annulus
                d[2, 2] += g * r * r * friction
                xi[0, 0], xi[0, 1] = -g * p[at.D1V] * r, -g * p[at.D2V] * r
                xi[0, 2] = -g * (own + r * r * friction)
        for k in range(block):
            d[k, k] = 1.0 / d[k, k]
            for row in range(k + 1, block):
                if d[row, k] != 0.0:
                    part = d[row, k] * d[k, k]
                    d[row, k] = part
                    for col in range(k + 1, block):
                        d[row, col] -= part * d[k, col]
        for k in range(3):
            solve_block(d, xi[k], block)
        reach(c[i], p, g, imposed, cparts[at.CAPACITY_P], cparts[at.CAPACITY_T], border, xi)
    for k in range(at.BORDER):
        border[k, k] = 1.0 / border[k, k]
        for row in range(k + 1, at.BORDER):
            if border[row, k] != 0.0:
                part = border[row, k] * border[k, k]
                border[row, k] = part
                for col in range(k + 1, at.BORDER):
                    border[row, col] -= part * border[k, col]


@njit(**COMPILED)
def solve_block(d: Floats, b: Floats, block: int) -> None:
    """Solve one corner's factored block in place."""
    for k in range(1, block):
        for col in range(k):
            b[k] -= d[k, col] * b[col]
    for k in range(block - 1, -1, -1):
        for col in range(k + 1, block):
            b[k] -= d[k, col] * b[col]
        b[k] *= d[k, k]


@njit(**COMPILED)
def pull_on_body(c: Floats, p: Floats, g: float, x: Floats) -> float:
    """g times the change of the force on the body with a corner's unknowns `x`, body speed apart."""
    r = c[at.RATIO]
    own = p[at.DAMPER] + g * p[at.STIFFNESS]
    total = r * (c[at.CAP] * x[0] - c[at.ANNULUS] * x[1]) + own * x[2]
    if int(c[at.ARRANGED]) == at.SEAT:
        return g * (total + r * p[at.FRICTION] * x[3])
    return g * (total + r * r * p[at.FRICTION] * x[2])


@njit(**COMPILED)
def reach(
    c: Floats, p: Floats, g: float, imposed: bool, p_give: float, t_give: float, border: Floats, xi: Floats
) -> None:
    """Take one eliminated corner into the border matrix."""
    arms = (c[at.ARM_HEAVE], c[at.ARM_PITCH], c[at.ARM_ROLL])
    if not imposed:
        r = c[at.RATIO]
        self_pull = -g * (p[at.DAMPER] + g * p[at.STIFFNESS] + r * r * p[at.FRICTION])
        on_body = pull_on_body(c, p, g, xi[0]) - self_pull
        on_p, on_t = pull_on_body(c, p, g, xi[1]), pull_on_body(c, p, g, xi[2])
        for a in range(3):
            for b in range(3):
                border[a, b] += arms[a] * arms[b] * on_body
            border[a, at.B_P] += arms[a] * on_p
            border[a, at.B_T] += arms[a] * on_t
    for a in range(3):
        draw = p[at.QP1] * xi[0, 0] + p[at.QP2] * xi[0, 1]
        give = p[at.QT1] * xi[0, 0] + p[at.QT2] * xi[0, 1]
        border[at.B_P, a] -= g * p_give * draw * arms[a]
        border[at.B_T, a] += g * t_give * give * arms[a]
    border[at.B_P, at.B_P] -= g * p_give * (p[at.QP1] * xi[1, 0] + p[at.QP2] * xi[1, 1])
    border[at.B_P, at.B_T] -= g * p_give * (p[at.QP1] * xi[2, 0] + p[at.QP2] * xi[2, 1])
    border[at.B_T, at.B_P] += g * t_give * (p[at.QT1] * xi[1, 0] + p[at.QT2] * xi[1, 1])
    border[at.B_T, at.B_T] += g * t_give * (p[at.QT1] * xi[2, 0] + p[at.QT2] * xi[2, 1])


@njit(**COMPILED)
def solve(
    c: Floats,
    z: Floats,
    parts: Floats,
    cparts: Floats,
    g: float,
    lu: Floats,
    x: Floats,
    border: Floats,
    b: Floats,
    rhs: Floats,
    k: Floats,
) -> None:
    """k = (I - g·J)^-1 rhs with the factors of `factor`, both over the states; `b` is work space of the border."""
    n = c.shape[0]
    e = n * at.SLOTS
    imposed = z[at.IMPOSED] > 0.5
    for a in range(3):
        mass = z[at.BODY_MASS] if a == 0 else (z[at.PITCH_INERTIA] if a == 1 else z[at.ROLL_INERTIA])
        b[a] = rhs[e + at.HEAVE_RATE + a] * (1.0 if imposed else mass)
    b[at.B_P] = rhs[e + at.PORT_P] / cparts[at.LIFTP]
    b[at.B_T] = rhs[e + at.PORT_T] / cparts[at.LIFTT]
    b[at.B_RAIL] = rhs[e + at.RAIL] / cparts[at.LIFTS]
    b[at.B_SHAFT] = rhs[e + at.SHAFT]
    for i in range(n):
        base, p = i * at.SLOTS, parts[i]
        bending = c[i, at.SPOOL_OMEGA] * c[i, at.SPOOL_DAMPING]
        turn = rhs[base + at.SPOOL_RATE] - g * p[at.SPOOL_PULL] * rhs[base + at.SPOOL]
        k[base + at.SPOOL_RATE] = turn / (1.0 + g * (bending + g * p[at.SPOOL_PULL]))
        kx = rhs[base + at.SPOOL] + g * k[base + at.SPOOL_RATE]
        k[base + at.SPOOL] = kx
        xb = k[base + at.EXTRA : base + at.EXTRA + BLOCK]
        xb[0] = rhs[base + at.P1] / p[at.LIFT1] + g * p[at.D1X] * kx
        xb[1] = rhs[base + at.P2] / p[at.LIFT2] + g * p[at.D2X] * kx
        r, kind = c[i, at.RATIO], int(c[i, at.ARRANGED])
        xb[2], xb[3] = rhs[base + at.WHEEL_RATE], 0.0
        held = 0.0
        if kind == at.GAS:
            xb[3] = rhs[base + at.EXTRA] / p[at.LIFTE]
        if not imposed:
            body = 0.0
            for a in range(3):
                body += c[i, at.ARM_HEAVE + a] * rhs[e + at.HEAVE + a]
            wheel = rhs[base + at.WHEEL]
            held = p[at.STIFFNESS] * (body - wheel)
            xb[2] = c[i, at.UNSPRUNG] * rhs[base + at.WHEEL_RATE] + g * (held - p[at.TYRE_NOW] * wheel)
            if kind == at.SEAT:
                bent = c[i, at.SEAT_SPRING] * (rhs[base + at.EXTRA] - r * wheel)
                xb[3] = c[i, at.SEAT_MASS] * rhs[base + at.EXTRA_RATE] - g * bent
                xb[2] += g * r * bent
        solve_block(lu[i], xb, 3 if kind == at.NONE else 4)
        if not imposed:
            lifted = pull_on_body(c[i], p, g, xb) - g * held
            for a in range(3):
                b[a] += c[i, at.ARM_HEAVE + a] * lifted
        b[at.B_P] -= g * cparts[at.CAPACITY_P] * (p[at.QP1] * xb[0] + p[at.QP2] * xb[1] + p[at.QPX] * kx)
        b[at.B_T] += g * cparts[at.CAPACITY_T] * (p[at.QT1] * xb[0] + p[at.QT2] * xb[1] + p[at.QTX] * kx)
    for row in range(1, at.BORDER):
        for col in range(row):
            b[row] -= border[row, col] * b[col]
    for row in range(at.BORDER - 1, -1, -1):
        for col in range(row + 1, at.BORDER):
            b[row] -= border[row, col] * b[col]
        b[row] *= border[row, row]
    for i in range(n):
        base, p = i * at.SLOTS, parts[i]
        xb = k[base + at.EXTRA : base + at.EXTRA + BLOCK]
        body = c[i, at.ARM_HEAVE] * b[0] + c[i, at.ARM_PITCH] * b[1] + c[i, at.ARM_ROLL] * b[2]
        for row in range(BLOCK):
            xb[row] -= x[i, 0, row] * body + x[i, 1, row] * b[at.B_P] + x[i, 2, row] * b[at.B_T]
        p1, p2, wheel, extra = xb[0], xb[1], xb[2], xb[3]
        k[base + at.P1], k[base + at.P2] = p1 * p[at.LIFT1], p2 * p[at.LIFT2]
        kind = int(c[i, at.ARRANGED])
        k[base + at.EXTRA], k[base + at.EXTRA_RATE] = 0.0, 0.0
        if kind == at.GAS:
            k[base + at.EXTRA] = extra * p[at.LIFTE]
        elif kind == at.SEAT:
            k[base + at.EXTRA_RATE] = extra
            k[base + at.EXTRA] = rhs[base + at.EXTRA] + g * extra
        k[base + at.WHEEL_RATE] = wheel
        k[base + at.WHEEL] = rhs[base + at.WHEEL] + g * wheel
    for a in range(3):
        k[e + at.HEAVE_RATE + a] = b[a]
        k[e + at.HEAVE + a] = rhs[e + at.HEAVE + a] + g * b[a]
    k[e + at.PORT_P], k[e + at.PORT_T] = b[at.B_P] * cparts[at.LIFTP], b[at.B_T] * cparts[at.LIFTT]
    k[e + at.RAIL], k[e + at.SHAFT] = b[at.B_RAIL] * cparts[at.LIFTS], b[at.B_SHAFT]
    k[e + at.GAS_HEAT] = rhs[e + at.GAS_HEAT]
