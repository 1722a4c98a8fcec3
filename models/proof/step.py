"""One step in time: a linearly implicit formula of second order whose equations are solved by corners and a border.

Three stages, L-stable, order two for any matrix, the third stage measuring the error. Each corner's unknowns are
eliminated first; what is left couples body, rail, ports and shaft. Blocks are small enough to be inverted in closed
form, so that a solution is a few sums of products. Source: [shampine_reichelt1997], the modified Rosenbrock pair of
order 2 and 3.
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

BLOCK_FACTORS = 37
INVERSE, TO_EXTRA, OF_EXTRA, BY_BODY, BY_P, BY_T, PULL, EXTRA_PIVOT, SPOOL_PIVOT, ORDER_PULL = (
    0, 9, 12, 15, 19, 23, 27, 31, 32, 33,
)  # fmt: skip
LIFT = 34
"""Columns of a corner's factors. Its unknowns are cap and annulus pressure, wheel speed and what the arrangement adds.
INVERSE: of the first three by rows, the fourth eliminated; TO_EXTRA, OF_EXTRA: the fourth's column and row over its
pivot; BY_BODY, BY_P, BY_T: answers of all four to the body's speed above the corner and to the pressures at P and T;
PULL: change of the force on the body with each of the four, times the step's share; EXTRA_PIVOT, SPOOL_PIVOT and the
three of LIFT (of both pressures and the gas's): reciprocals; ORDER_PULL: the spool's pull back, times the share."""

BORDER_FACTORS = 27
BODY, BODY_BY, PORT_BY, PORTS, RAIL_PIVOT, SHAFT_PIVOT = 0, 9, 15, 21, 25, 26
"""Columns of the border's factors: inverse of the body's three by three; its answers to P and T; what P and T feel of
the body, two rows of three; inverse of what is left of P and T; reciprocals."""


@njit(**COMPILED)
def inverse(
    a: float, b: float, c: float, d: float, e: float, f: float, g: float, h: float, i: float
) -> tuple[float, float, float, float, float, float, float, float, float]:
    """Inverse of the matrix whose rows are (a, b, c), (d, e, f), (g, h, i), by its cofactors, by rows."""
    x, y, z = e * i - f * h, f * g - d * i, d * h - e * g
    s = 1.0 / (a * x + b * y + c * z)
    return (
        x * s, (c * h - b * i) * s, (b * f - c * e) * s,
        y * s, (a * i - c * g) * s, (c * d - a * f) * s,
        z * s, (b * g - a * h) * s, (a * e - b * d) * s,
    )  # fmt: skip


@njit(**COMPILED)
def factor(c: Floats, z: Floats, parts: Floats, cparts: Floats, g: float, blocks: Floats, border: Floats) -> None:
    """Fill blocks, [corner, BLOCK_FACTORS], and border, [BORDER_FACTORS], with the factors of I - g·J."""
    imposed = z[at.IMPOSED] > 0.5
    p_give, t_give = g * cparts[at.CAPACITY_P], g * cparts[at.CAPACITY_T]
    m00, m11, m22 = z[at.BODY_MASS], z[at.PITCH_INERTIA], z[at.ROLL_INERTIA]
    if imposed:
        m00, m11, m22 = 1.0, 1.0, 1.0
    m01, m02, m12 = 0.0, 0.0, 0.0
    p0, p1, p2, t0, t1, t2 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    draw0, draw1, draw2, give0, give1, give2 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    tt, pt, tp = 1.0 - g * cparts[at.DTT], 0.0, 0.0
    shaft = 1.0 / (1.0 - g * cparts[at.DWW])
    rail = 1.0 / (1.0 - g * cparts[at.DSS] - g * cparts[at.DSW] * g * cparts[at.DWS] * shaft)
    pp = 1.0 - g * cparts[at.DPP] - g * cparts[at.DPS] * g * cparts[at.DSP] * rail
    border[SHAFT_PIVOT], border[RAIL_PIVOT] = shaft, rail
    for i in range(c.shape[0]):
        r, kind = c[i, at.RATIO], int(c[i, at.ARRANGED])
        cap, annulus = g * c[i, at.CAP], g * c[i, at.ANNULUS]
        friction, own = parts[i, at.FRICTION], parts[i, at.DAMPER] + g * parts[i, at.STIFFNESS]
        e11, e12 = 1.0 - g * parts[i, at.D11], -g * parts[i, at.D12]
        e21, e22 = -g * parts[i, at.D21], 1.0 - g * parts[i, at.D22]
        e13, e23, e31, e32, e33 = 0.0, 0.0, 0.0, 0.0, 1.0
        a1, a2, a3, f1, f2, f3, pivot = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0
        b1, b2, b3, b4 = 0.0, 0.0, 0.0, 0.0
        by1, by2 = g * parts[i, at.D1V], g * parts[i, at.D2V]
        pull3, pull4 = g * own, 0.0
        if kind == at.GAS:
            a1, f1, pivot = -g * parts[i, at.D1E], -g * parts[i, at.DE1], 1.0 - g * parts[i, at.DEE]
        if not imposed:
            e33 = c[i, at.UNSPRUNG] + g * (own + g * parts[i, at.TYRE_NOW])
            b1, b2, b3 = -by1 * r, -by2 * r, -g * own
            if kind == at.SEAT:
                spring = g * g * c[i, at.SEAT_SPRING]
                a1, a2, a3, f1, f2, f3 = by1, by2, -spring * r, cap, -annulus, -spring * r
                pivot = c[i, at.SEAT_MASS] + g * friction + spring
                e33 += spring * r * r
                b4 = -g * friction * r
                pull4 = g * r * friction
            else:
                e13, e23, e31, e32 = by1 * r, by2 * r, r * cap, -r * annulus
                e33 += g * r * r * friction
                pull3 += g * r * r * friction
                b3 = -pull3
        pull1, pull2 = r * cap, -r * annulus
        over = 1.0 / pivot
        a1, a2, a3 = a1 * over, a2 * over, a3 * over
        u11, u12, u13, u21, u22, u23, u31, u32, u33 = inverse(
            e11 - a1 * f1, e12 - a1 * f2, e13 - a1 * f3,
            e21 - a2 * f1, e22 - a2 * f2, e23 - a2 * f3,
            e31 - a3 * f1, e32 - a3 * f2, e33 - a3 * f3,
        )  # fmt: skip
        f1, f2, f3 = f1 * over, f2 * over, f3 * over
        b1, b2, b3 = b1 - a1 * b4, b2 - a2 * b4, b3 - a3 * b4
        x1, x2, x3 = u11 * b1 + u12 * b2 + u13 * b3, u21 * b1 + u22 * b2 + u23 * b3, u31 * b1 + u32 * b2 + u33 * b3
        x4 = b4 * over - (f1 * x1 + f2 * x2 + f3 * x3)
        b1, b2 = -g * parts[i, at.D1P], -g * parts[i, at.D2P]
        y1, y2, y3 = u11 * b1 + u12 * b2, u21 * b1 + u22 * b2, u31 * b1 + u32 * b2
        y4 = -(f1 * y1 + f2 * y2 + f3 * y3)
        b1, b2 = -g * parts[i, at.D1T], -g * parts[i, at.D2T]
        v1, v2, v3 = u11 * b1 + u12 * b2, u21 * b1 + u22 * b2, u31 * b1 + u32 * b2
        v4 = -(f1 * v1 + f2 * v2 + f3 * v3)

        blocks[i, INVERSE], blocks[i, INVERSE + 1], blocks[i, INVERSE + 2] = u11, u12, u13
        blocks[i, INVERSE + 3], blocks[i, INVERSE + 4], blocks[i, INVERSE + 5] = u21, u22, u23
        blocks[i, INVERSE + 6], blocks[i, INVERSE + 7], blocks[i, INVERSE + 8] = u31, u32, u33
        blocks[i, TO_EXTRA], blocks[i, TO_EXTRA + 1], blocks[i, TO_EXTRA + 2] = a1, a2, a3
        blocks[i, OF_EXTRA], blocks[i, OF_EXTRA + 1], blocks[i, OF_EXTRA + 2] = f1, f2, f3
        blocks[i, BY_BODY], blocks[i, BY_BODY + 1] = x1, x2
        blocks[i, BY_BODY + 2], blocks[i, BY_BODY + 3] = x3, x4
        blocks[i, BY_P], blocks[i, BY_P + 1], blocks[i, BY_P + 2], blocks[i, BY_P + 3] = y1, y2, y3, y4
        blocks[i, BY_T], blocks[i, BY_T + 1], blocks[i, BY_T + 2], blocks[i, BY_T + 3] = v1, v2, v3, v4
        blocks[i, PULL], blocks[i, PULL + 1], blocks[i, PULL + 2], blocks[i, PULL + 3] = pull1, pull2, pull3, pull4
        blocks[i, EXTRA_PIVOT] = over
        back = g * parts[i, at.SPOOL_PULL]
        blocks[i, ORDER_PULL] = back
        blocks[i, SPOOL_PIVOT] = 1.0 / (1.0 + g * (c[i, at.SPOOL_OMEGA] * c[i, at.SPOOL_DAMPING] + back))
        blocks[i, LIFT], blocks[i, LIFT + 1] = 1.0 / parts[i, at.LIFT1], 1.0 / parts[i, at.LIFT2]
        blocks[i, LIFT + 2] = 1.0 / parts[i, at.LIFTE] if kind == at.GAS else 0.0

        arm0, arm1, arm2 = c[i, at.ARM_HEAVE], c[i, at.ARM_PITCH], c[i, at.ARM_ROLL]
        if not imposed:
            on_body = pull1 * x1 + pull2 * x2 + pull3 * x3 + pull4 * x4
            on_body += g * (own + r * r * friction)
            on_p = pull1 * y1 + pull2 * y2 + pull3 * y3 + pull4 * y4
            on_t = pull1 * v1 + pull2 * v2 + pull3 * v3 + pull4 * v4
            m00, m01, m02 = m00 + arm0 * arm0 * on_body, m01 + arm0 * arm1 * on_body, m02 + arm0 * arm2 * on_body
            m11, m12, m22 = m11 + arm1 * arm1 * on_body, m12 + arm1 * arm2 * on_body, m22 + arm2 * arm2 * on_body
            p0, p1, p2 = p0 + arm0 * on_p, p1 + arm1 * on_p, p2 + arm2 * on_p
            t0, t1, t2 = t0 + arm0 * on_t, t1 + arm1 * on_t, t2 + arm2 * on_t
        from_p1, from_p2 = p_give * parts[i, at.QP1], p_give * parts[i, at.QP2]
        to_t1, to_t2 = t_give * parts[i, at.QT1], t_give * parts[i, at.QT2]
        draw, give = from_p1 * x1 + from_p2 * x2, to_t1 * x1 + to_t2 * x2
        draw0, draw1, draw2 = draw0 - draw * arm0, draw1 - draw * arm1, draw2 - draw * arm2
        give0, give1, give2 = give0 + give * arm0, give1 + give * arm1, give2 + give * arm2
        pp -= from_p1 * y1 + from_p2 * y2
        pt -= from_p1 * v1 + from_p2 * v2
        tp += to_t1 * y1 + to_t2 * y2
        tt += to_t1 * v1 + to_t2 * v2
    u11, u12, u13, u21, u22, u23, u31, u32, u33 = inverse(m00, m01, m02, m01, m11, m12, m02, m12, m22)
    border[BODY], border[BODY + 1], border[BODY + 2] = u11, u12, u13
    border[BODY + 3], border[BODY + 4], border[BODY + 5] = u21, u22, u23
    border[BODY + 6], border[BODY + 7], border[BODY + 8] = u31, u32, u33
    x1, x2, x3 = u11 * p0 + u12 * p1 + u13 * p2, u21 * p0 + u22 * p1 + u23 * p2, u31 * p0 + u32 * p1 + u33 * p2
    y1, y2, y3 = u11 * t0 + u12 * t1 + u13 * t2, u21 * t0 + u22 * t1 + u23 * t2, u31 * t0 + u32 * t1 + u33 * t2
    border[BODY_BY], border[BODY_BY + 1], border[BODY_BY + 2] = x1, x2, x3
    border[BODY_BY + 3], border[BODY_BY + 4], border[BODY_BY + 5] = y1, y2, y3
    border[PORT_BY], border[PORT_BY + 1], border[PORT_BY + 2] = draw0, draw1, draw2
    border[PORT_BY + 3], border[PORT_BY + 4], border[PORT_BY + 5] = give0, give1, give2
    pp -= draw0 * x1 + draw1 * x2 + draw2 * x3
    pt -= draw0 * y1 + draw1 * y2 + draw2 * y3
    tp -= give0 * x1 + give1 * x2 + give2 * x3
    tt -= give0 * y1 + give1 * y2 + give2 * y3
    over = 1.0 / (pp * tt - pt * tp)
    border[PORTS], border[PORTS + 1] = tt * over, -pt * over
    border[PORTS + 2], border[PORTS + 3] = -tp * over, pp * over


@njit(**COMPILED)
def solve(
    c: Floats,
    z: Floats,
    parts: Floats,
    cparts: Floats,
    g: float,
    blocks: Floats,
    border: Floats,
    rhs: Floats,
    k: Floats,
) -> None:
    """k = (I - g·J)^-1 rhs with the factors of `factor`, both over the states."""
    n = c.shape[0]
    e = n * at.SLOTS
    imposed = z[at.IMPOSED] > 0.5
    m0, m1, m2 = rhs[e + at.HEAVE_RATE], rhs[e + at.PITCH_RATE], rhs[e + at.ROLL_RATE]
    if not imposed:
        m0, m1, m2 = m0 * z[at.BODY_MASS], m1 * z[at.PITCH_INERTIA], m2 * z[at.ROLL_INERTIA]
    shaft = rhs[e + at.SHAFT] * border[SHAFT_PIVOT]
    rail = (rhs[e + at.RAIL] / cparts[at.LIFTS] + g * cparts[at.DSW] * shaft) * border[RAIL_PIVOT]
    p = rhs[e + at.PORT_P] / cparts[at.LIFTP] + g * cparts[at.DPS] * rail
    t = rhs[e + at.PORT_T] / cparts[at.LIFTT]
    p_give, t_give = g * cparts[at.CAPACITY_P], g * cparts[at.CAPACITY_T]
    for i in range(n):
        base = i * at.SLOTS
        turn = rhs[base + at.SPOOL_RATE] - blocks[i, ORDER_PULL] * rhs[base + at.SPOOL]
        turn *= blocks[i, SPOOL_PIVOT]
        spool = rhs[base + at.SPOOL] + g * turn
        k[base + at.SPOOL_RATE], k[base + at.SPOOL] = turn, spool
        b1 = rhs[base + at.P1] * blocks[i, LIFT] + g * parts[i, at.D1X] * spool
        b2 = rhs[base + at.P2] * blocks[i, LIFT + 1] + g * parts[i, at.D2X] * spool
        b3, b4, held = rhs[base + at.WHEEL_RATE], 0.0, 0.0
        kind = int(c[i, at.ARRANGED])
        if kind == at.GAS:
            b4 = rhs[base + at.EXTRA] * blocks[i, LIFT + 2]
        arm0, arm1, arm2 = c[i, at.ARM_HEAVE], c[i, at.ARM_PITCH], c[i, at.ARM_ROLL]
        if not imposed:
            wheel = rhs[base + at.WHEEL]
            height = arm0 * rhs[e + at.HEAVE] + arm1 * rhs[e + at.PITCH] + arm2 * rhs[e + at.ROLL]
            held = g * parts[i, at.STIFFNESS] * (height - wheel)
            b3 = c[i, at.UNSPRUNG] * b3 + held - g * parts[i, at.TYRE_NOW] * wheel
            if kind == at.SEAT:
                bent = g * c[i, at.SEAT_SPRING] * (rhs[base + at.EXTRA] - c[i, at.RATIO] * wheel)
                b4 = c[i, at.SEAT_MASS] * rhs[base + at.EXTRA_RATE] - bent
                b3 += c[i, at.RATIO] * bent
        b1, b2, b3 = b1 - blocks[i, TO_EXTRA] * b4, b2 - blocks[i, TO_EXTRA + 1] * b4, b3 - blocks[i, TO_EXTRA + 2] * b4
        x1 = blocks[i, INVERSE] * b1 + blocks[i, INVERSE + 1] * b2 + blocks[i, INVERSE + 2] * b3
        x2 = blocks[i, INVERSE + 3] * b1 + blocks[i, INVERSE + 4] * b2 + blocks[i, INVERSE + 5] * b3
        x3 = blocks[i, INVERSE + 6] * b1 + blocks[i, INVERSE + 7] * b2 + blocks[i, INVERSE + 8] * b3
        x4 = b4 * blocks[i, EXTRA_PIVOT]
        x4 -= blocks[i, OF_EXTRA] * x1 + blocks[i, OF_EXTRA + 1] * x2 + blocks[i, OF_EXTRA + 2] * x3
        k[base + at.P1], k[base + at.P2], k[base + at.WHEEL_RATE], k[base + at.EXTRA] = x1, x2, x3, x4
        if not imposed:
            lifted = blocks[i, PULL] * x1 + blocks[i, PULL + 1] * x2 + blocks[i, PULL + 2] * x3
            lifted += blocks[i, PULL + 3] * x4 - held
            m0, m1, m2 = m0 + arm0 * lifted, m1 + arm1 * lifted, m2 + arm2 * lifted
        p -= p_give * (parts[i, at.QP1] * x1 + parts[i, at.QP2] * x2 + parts[i, at.QPX] * spool)
        t += t_give * (parts[i, at.QT1] * x1 + parts[i, at.QT2] * x2 + parts[i, at.QTX] * spool)
    y0 = border[BODY] * m0 + border[BODY + 1] * m1 + border[BODY + 2] * m2
    y1 = border[BODY + 3] * m0 + border[BODY + 4] * m1 + border[BODY + 5] * m2
    y2 = border[BODY + 6] * m0 + border[BODY + 7] * m1 + border[BODY + 8] * m2
    p -= border[PORT_BY] * y0 + border[PORT_BY + 1] * y1 + border[PORT_BY + 2] * y2
    t -= border[PORT_BY + 3] * y0 + border[PORT_BY + 4] * y1 + border[PORT_BY + 5] * y2
    p, t = border[PORTS] * p + border[PORTS + 1] * t, border[PORTS + 2] * p + border[PORTS + 3] * t
    y0 -= border[BODY_BY] * p + border[BODY_BY + 3] * t
    y1 -= border[BODY_BY + 1] * p + border[BODY_BY + 4] * t
    y2 -= border[BODY_BY + 2] * p + border[BODY_BY + 5] * t
    rail += g * cparts[at.DSP] * border[RAIL_PIVOT] * p
    shaft += g * cparts[at.DWS] * border[SHAFT_PIVOT] * rail
    for i in range(n):
        base = i * at.SLOTS
        body = c[i, at.ARM_HEAVE] * y0 + c[i, at.ARM_PITCH] * y1 + c[i, at.ARM_ROLL] * y2
        x1 = k[base + at.P1] - blocks[i, BY_BODY] * body - blocks[i, BY_P] * p - blocks[i, BY_T] * t
        x2 = k[base + at.P2] - blocks[i, BY_BODY + 1] * body - blocks[i, BY_P + 1] * p - blocks[i, BY_T + 1] * t
        wheel = k[base + at.WHEEL_RATE] - blocks[i, BY_BODY + 2] * body
        wheel -= blocks[i, BY_P + 2] * p + blocks[i, BY_T + 2] * t
        extra = k[base + at.EXTRA] - blocks[i, BY_BODY + 3] * body - blocks[i, BY_P + 3] * p - blocks[i, BY_T + 3] * t
        k[base + at.P1], k[base + at.P2] = x1 * parts[i, at.LIFT1], x2 * parts[i, at.LIFT2]
        kind = int(c[i, at.ARRANGED])
        k[base + at.EXTRA], k[base + at.EXTRA_RATE] = 0.0, 0.0
        if kind == at.GAS:
            k[base + at.EXTRA] = extra * parts[i, at.LIFTE]
        elif kind == at.SEAT:
            k[base + at.EXTRA_RATE] = extra
            k[base + at.EXTRA] = rhs[base + at.EXTRA] + g * extra
        k[base + at.WHEEL_RATE] = wheel
        k[base + at.WHEEL] = rhs[base + at.WHEEL] + g * wheel
    k[e + at.HEAVE_RATE], k[e + at.PITCH_RATE], k[e + at.ROLL_RATE] = y0, y1, y2
    k[e + at.HEAVE] = rhs[e + at.HEAVE] + g * y0
    k[e + at.PITCH] = rhs[e + at.PITCH] + g * y1
    k[e + at.ROLL] = rhs[e + at.ROLL] + g * y2
    k[e + at.PORT_P], k[e + at.PORT_T] = p * cparts[at.LIFTP], t * cparts[at.LIFTT]
    k[e + at.RAIL], k[e + at.SHAFT] = rail * cparts[at.LIFTS], shaft
    k[e + at.GAS_HEAT] = rhs[e + at.GAS_HEAT]
