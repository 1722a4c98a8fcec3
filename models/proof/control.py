"""The sampled controllers: each corner's force (or position), and the pump's.

The force loop asks of the oil column the rate that the force wanted needs, adds the flow that the piston's own velocity
will take when the spool has followed (velocity feed-forward, gain one, led by the spool's lag) and feeds the force
error back from the pressures with one gain; what the seals will rub away is asked in addition, as far as it is known.
With a spring between actuator and wheel, its seat is placed where the force wanted beyond the passive one needs it; a
gas spring behind an orifice is fed by what it takes and gives up, and else left to itself. The opening follows from the
valve's law at the pressures of the moment. Gains come from the design (`plant`). Sensors are taken as exact.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.drive.machine import torque_within
from models.hydraulics.pump import shaft_torque
from models.proof import layout as at
from models.proof.compiled import COMPILED
from models.proof.corner import edge, spool_opening
from models.proof.mixture import Oil, mixture
from models.quantity import ATMOSPHERE

Floats = NDArray[np.float64]

FILTERS = 6
F_SLOW, F_LAGGED, F_BEFORE, F_WANTED, F_SPEED, F_YIELDING = range(FILTERS)
"""What a corner's controller remembers: low cut, lag, force asked at the sample before, force wanted, speed before, and
the change asked of a gas spring, lagged as its orifice leads."""

KEPT = 3
K_INTEGRAL, K_DRAWN, K_AHEAD = range(KEPT)
"""What the pump's controller remembers: rail integral rad/s; flow that the spools draw at full pressure, m³/s; what of
it a speed-controlled pump gives ahead: all of it, or with a store its mean."""

SMOOTH_OPENING = 0.01
"""Opening asked at which most of a valve's dead band is crossed. Source: [estimate]."""

TRACKS_FORCE, HOLDS_POSITION, PASSIVE = range(3)
"""What a corner's controller does with its reference: force, piston position, valve shut."""

RELIEF, UNLOADING, SPEED = range(3)


@njit(**COMPILED)
def law_force(c: Floats, kept: Floats, travel: float, body: float, tyre: float, wheel: float) -> float:
    """The ride law's force at the wheel, N, through its low cut and lag, both exact for a held command."""
    command = c[at.LAW_TRAVEL] * travel + c[at.LAW_BODY] * body + c[at.LAW_TYRE] * tyre + c[at.LAW_WHEEL] * wheel
    if c[at.LAW_LOW_CUT] > 0.0:
        kept[F_SLOW] += (command - kept[F_SLOW]) * c[at.LAW_LOW_CUT]
        command -= kept[F_SLOW]
    kept[F_LAGGED] += (command - kept[F_LAGGED]) * c[at.LAW_BANDWIDTH]
    return kept[F_LAGGED]


@njit(**COMPILED)
def opening_for(
    c: Floats, z: Floats, flow_in: float, p1: float, p2: float, give1: float, give2: float, port: float, tank: float
) -> float:
    """Spool order that makes the force change at `flow_in` N/s, motion of the piston already counted in."""
    floor = c[at.FORCE_FLOOR]
    if flow_in >= 0.0:
        fill = c[at.GAIN_A] * math.sqrt(max(port - p1, floor)) * c[at.CAP] / give1
        drain = c[at.GAIN_B] * math.sqrt(max(p2 - tank, floor)) * c[at.ANNULUS] / give2
    else:
        fill = c[at.GAIN_A] * math.sqrt(max(p1 - tank, floor)) * c[at.CAP] / give1
        drain = c[at.GAIN_B] * math.sqrt(max(port - p2, floor)) * c[at.ANNULUS] / give2
    return flow_in / (fill + drain)


@njit(**COMPILED)
def corner_order(
    c: Floats,
    z: Floats,
    oil: Oil,
    p1: float,
    p2: float,
    port: float,
    tank: float,
    piston: float,
    speed: float,
    passive: float,
    wanted: float,
    mode: int,
    step: float,
    kept: Floats,
) -> tuple[float, float]:
    """(spool order from -1 to 1, order before that limit) for a dynamic force `wanted`, N, or a piston position, m.

    oil: as `mixture` takes it; p1, p2, port, tank: absolute pressures; speed: the piston's, m/s; passive: what of the
    force wanted a spring between would give with the valve shut, N.
    """
    soft1, soft2 = mixture(p1, oil)[1], mixture(p2, oil)[1]
    give1 = max(c[at.CAP_VOLUME] + c[at.CAP] * piston, 0.02 * c[at.CAP_VOLUME]) * soft1 + c[at.HOSE]
    give2 = max(c[at.ANNULUS_VOLUME] - c[at.ANNULUS] * piston, 0.02 * c[at.ANNULUS_VOLUME]) * soft2 + c[at.HOSE]
    if c[at.ARRANGED] == at.GAS:
        give1 += c[at.GAS_VOLUME] / (c[at.GAS_EXPONENT] * c[at.GAS_PRESSURE])
    if mode == HOLDS_POSITION:
        stiffness = c[at.CAP] * c[at.CAP] / give1 + c[at.ANNULUS] * c[at.ANNULUS] / give2
        rate = stiffness * c[at.POSITION_GAIN] * (wanted - piston)
    else:
        column = c[at.CAP] * c[at.CAP] / give1 + c[at.ANNULUS] * c[at.ANNULUS] / give2
        placed = c[at.ARRANGED] == at.SEAT and z[at.IMPOSED] < 0.5
        if not placed:  # a seat is placed whatever rubs
            wanted += (
                c[at.KNOWN_FRICTION] * speed / math.sqrt(speed * speed + c[at.STRIBECK_SPEED] * c[at.STRIBECK_SPEED])
            )
        active = wanted - passive
        force = (p1 - ATMOSPHERE) * c[at.CAP] - (p2 - ATMOSPHERE) * c[at.ANNULUS] - c[at.STATIC_FORCE]
        ahead = (active - kept[F_BEFORE]) / step
        kept[F_BEFORE] = active
        if placed:
            spring = c[at.SEAT_SPRING]
            rate = column * (ahead / spring + c[at.FORCE_GAIN] * (active / spring - piston))
        elif c[at.ARRANGED] == at.GAS:
            kept[F_YIELDING] += (ahead + c[at.FORCE_GAIN] * (wanted - force) - kept[F_YIELDING]) * c[at.YIELD_SHARE]
            rate = kept[F_YIELDING]
        else:
            coming = speed + c[at.LEAD] * (speed - kept[F_SPEED]) / step
            kept[F_SPEED] = speed
            rate = ahead + column * coming + c[at.FORCE_GAIN] * (wanted - force)
    order = opening_for(c, z, rate, p1, p2, give1, give2, port, tank)
    if c[at.DEAD_BAND] > 0.0:  # the spool is sent across it, smoothly where nothing is asked
        over = order / math.sqrt(order * order + SMOOTH_OPENING * SMOOTH_OPENING)
        order = c[at.DEAD_BAND] * over + (1.0 - c[at.DEAD_BAND]) * order
    return min(max(order, -1.0), 1.0), order


@njit(**COMPILED)
def flow_drawn(c: Floats, spool: float, drop_a: float, drop_b: float) -> float:
    """Flow, m³/s, that a corner's spool takes from P where it stands, with these pressure drops to its chambers.

    From the pressure the rail should have: the flow at the pressure it has would leave a low rail low."""
    opened = spool_opening(spool, c[at.DEAD_BAND])[0]
    open_a, open_b = max(opened, 0.0) + c[at.UNDERLAP], max(-opened, 0.0) + c[at.UNDERLAP]
    laminar, turbulent = c[at.LINE_LAMINAR], c[at.LINE_TURBULENT]
    flow_a = edge(max(drop_a, 0.0), c[at.GAIN_A], c[at.TRANSITION_A], open_a, laminar, turbulent)[0]
    flow_b = edge(max(drop_b, 0.0), c[at.GAIN_B], c[at.TRANSITION_B], open_b, laminar, turbulent)[0]
    return flow_a + flow_b if c[at.FITTED] > 0.5 else 0.0


@njit(**COMPILED)
def centre_orders(z: Floats, rail: float, omega: float, kept: Floats, step: float, centre: Floats) -> None:
    """Set pump loading, shaft speed and torque limit for the next sample; kept: see K_INTEGRAL."""
    gauge = rail - ATMOSPHERE
    control = int(z[at.CONTROL])
    target = z[at.MOST_SPEED]
    if control == UNLOADING:
        if gauge >= z[at.HIGH]:
            centre[at.LOADED] = 0.0
        elif gauge <= z[at.CUT_IN]:
            centre[at.LOADED] = 1.0
    elif control == SPEED:
        error = z[at.HIGH] - gauge
        kept[K_AHEAD] += (kept[K_DRAWN] - kept[K_AHEAD]) * z[at.FLOW_SHARE]
        ahead = kept[K_AHEAD] / z[at.DISPLACEMENT] + z[at.SLIP] * gauge / z[at.VISCOSITY]
        wish = ahead + z[at.RAIL_GAIN] * error + kept[K_INTEGRAL]
        target = min(max(wish, z[at.LEAST_SPEED]), z[at.MOST_SPEED])
        # a shaft that cannot brake, or has no more torque, is not to be asked for ever less, or more
        asked = centre[at.TORQUE_AHEAD] + z[at.SPEED_GAIN] * (target - omega)
        spent = (asked < 0.0 and error < 0.0) or (asked > centre[at.TORQUE_LIMIT] and error > 0.0)
        if not spent and (wish == target or (wish > target) == (error < 0.0)):
            whole = kept[K_INTEGRAL] + z[at.RAIL_INTEGRAL] * error * step
            kept[K_INTEGRAL] = min(max(whole, -z[at.MOST_SPEED]), z[at.MOST_SPEED])
    against = gauge if centre[at.LOADED] > 0.5 else z[at.IDLE]
    centre[at.SHAFT_TARGET] = target
    centre[at.TORQUE_AHEAD] = shaft_torque(
        z[at.DISPLACEMENT], omega, against, z[at.VISCOSITY], z[at.DRAG], z[at.COULOMB_PUMP], z[at.CONSTANT_PUMP]
    )
    limit = z[at.PEAK_TORQUE]
    if z[at.BUS_POWER] > 0.0:
        give = (z[at.BUS_POWER] - z[at.STANDBY] - z[at.OTHER_POWER]) / (1.0 + z[at.ELECTRONICS])
        for _ in range(2):  # at the speed now, then at the speed that so much torque may reach in a sample
            quickest = omega + max(limit - centre[at.TORQUE_AHEAD], 0.0) / z[at.INERTIA] * step
            most = torque_within(give, quickest, z[at.RATED_TORQUE], z[at.RATED_SPEED], z[at.COPPER], z[at.IRON])
            limit = min(limit, most)
    centre[at.TORQUE_LIMIT] = limit
