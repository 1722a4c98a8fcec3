"""One corner of the circuit at an instant: edges, chambers, spool, piston, wheel; rates and their partial derivatives.

Every flow leaves one volume and enters another as the same amount of oil. Derivatives are those of the pressures, the
spool and the velocities; slow ones (volume with position, bar between wheels) are left out, which the integrator's
method allows.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.proof import layout as at
from models.proof.compiled import COMPILED
from models.proof.mixture import Oil, mixture, pressure_of
from models.quantity import ATMOSPHERE

Floats = NDArray[np.float64]


@njit(**COMPILED)
def edge(
    drop: float, gain: float, transition: float, opening: float, laminar: float, turbulent: float
) -> tuple[float, float, float]:
    """(flow, its slope over `drop`, its slope over `opening`) of a metering edge with a line in series.

    Solves drop = (Q² + Q·transition)/(gain·opening)² + laminar·Q + turbulent·Q², odd in the drop. Source: the edge of
    `models.hydraulics.valve` with `corner_line_drop` as two terms.
    """
    scale = gain * gain * opening * opening
    a = 1.0 + turbulent * scale
    b = transition + laminar * scale
    size = abs(drop)
    root = math.sqrt(b * b + 4.0 * a * scale * size)
    if root <= 0.0:
        return 0.0, 0.0, 0.0
    over = 1.0 / root
    flow = 2.0 * scale * size / (b + root)
    by_opening = 2.0 * gain * gain * opening * (size - flow * (turbulent * flow + laminar)) * over
    slope = scale * over
    if drop < 0.0:
        return -flow, slope, -by_opening
    return flow, slope, by_opening


@njit(**COMPILED)
def seal_friction(
    velocity: float, coulomb: float, break_out: float, stick_speed: float, stribeck_speed: float, viscous: float
) -> tuple[float, float]:
    """(friction N with the sign of `velocity`, its slope N·s/m): break-out falling to running, smooth through zero.

    Source: [estimate] shape; running and break-out force are the sizing's.
    """
    square, passing, sticking = velocity * velocity, stribeck_speed * stribeck_speed, stick_speed * stick_speed
    fade = 1.0 / (square + passing)
    level = coulomb + (break_out - coulomb) * passing * fade
    near = 1.0 / (square + sticking)
    turn = math.sqrt(near)
    slope = level * sticking * near * turn
    slope -= (break_out - coulomb) * 2.0 * square * turn * passing * fade * fade
    return (level * turn + viscous) * velocity, max(slope, 0.0) + viscous


@njit(**COMPILED)
def spool_acceleration(
    order: float, spool: float, rate: float, omega: float, damping: float, limit: float
) -> tuple[float, float]:
    """(acceleration 1/s² of a spool that follows `order`, its pull back 1/s²): second order, no faster than `limit`."""
    wish = omega / damping * (order - spool)
    pull = omega * omega
    if wish > limit:
        wish, pull = limit, 0.0
    elif wish < -limit:
        wish, pull = -limit, 0.0
    return omega * damping * (wish - rate), pull


@njit(**COMPILED)
def spool_opening(spool: float, dead_band: float) -> tuple[float, float]:
    """(opening with the sign of `spool`, 1 at full stroke; its slope) where `dead_band` of the stroke opens nothing."""
    wider = 1.0 / (1.0 - dead_band)
    beyond = abs(spool) - dead_band
    if beyond <= 0.0:
        return 0.0, wider if dead_band == 0.0 else 0.0
    return math.copysign(beyond * wider, spool), wider


@njit(**COMPILED)
def stop_force(
    travel: float, rate: float, bump: float, droop: float, stop: float, loss: float
) -> tuple[float, float, float]:
    """(force of the end stops, pushing body and wheel apart, its stiffness, its elastic part) at wheel `travel`.

    Travel is positive extended.
    Stiffness `stop` beyond either end, growing and shrinking with the speed of approach by `loss`, never pulling.
    Source: Hunt and Crossley's contact, linear; stiffness and loss [estimate].
    """
    depth = -bump - travel
    if depth > 0.0:
        grip = max(1.0 - loss * rate, 0.0)
        return stop * depth * grip, stop * grip, stop * depth
    depth = travel - droop
    if depth > 0.0:
        grip = max(1.0 + loss * rate, 0.0)
        return -stop * depth * grip, stop * grip, -stop * depth
    return 0.0, 0.0, 0.0


@njit(**COMPILED)
def corner_rates(
    c: Floats,
    z: Floats,
    oil: Oil,
    y: Floats,
    base: int,
    order: float,
    road: float,
    road_rate: float,
    imposed_travel: float,
    imposed_rate: float,
    body_height: float,
    body_rate: float,
    bar_travel: float,
    p_port: float,
    t_port: float,
    h_port: float,
    h_tank: float,
    h_reservoir: float,
    dy: Floats,
    part: Floats,
    power: Floats,
    with_parts: bool,
) -> tuple[float, float, float, float]:
    """Fill the corner's rates, partials too `with_parts`, add its powers; (force, flow from P, flow to T, make-up).

    Force: on the body, at the wheel, N, pushing body and wheel apart, beyond what holds the weight. Flows in reference
    volume.
    """
    floor = z[at.FLOOR]
    imposed = z[at.IMPOSED] > 0.5
    kind = int(c[at.ARRANGED])
    ratio, cap, annulus = c[at.RATIO], c[at.CAP], c[at.ANNULUS]
    p1, p2 = pressure_of(y[base + at.P1], floor), pressure_of(y[base + at.P2], floor)
    v1, soft1, bend1, h1 = mixture(p1, oil)
    v2, soft2, bend2, h2 = mixture(p2, oil)
    g1, g2 = p1 - ATMOSPHERE, p2 - ATMOSPHERE
    spool, spool_rate = y[base + at.SPOOL], y[base + at.SPOOL_RATE]
    wheel, wheel_rate = y[base + at.WHEEL], y[base + at.WHEEL_RATE]
    travel, rate = body_height - wheel, body_rate - wheel_rate
    piston, speed = ratio * travel, ratio * rate
    if imposed:
        piston, speed = imposed_travel, imposed_rate
    elif kind == at.SEAT:
        piston = ratio * body_height - y[base + at.EXTRA]
        speed = ratio * body_rate - y[base + at.EXTRA_RATE]

    opened, wider = spool_opening(spool, c[at.DEAD_BAND])
    forward, backward = max(opened, 0.0) + c[at.UNDERLAP], max(-opened, 0.0) + c[at.UNDERLAP]
    ahead, behind = (wider, 0.0) if spool > 0.0 else (0.0, wider)
    laminar, turbulent = c[at.LINE_LAMINAR], c[at.LINE_TURBULENT]
    q_pa, s_pa, x_pa = edge(p_port - p1, c[at.GAIN_A], c[at.TRANSITION_A], forward, laminar, turbulent)
    q_at, s_at, x_at = edge(p1 - t_port, c[at.GAIN_A], c[at.TRANSITION_A], backward, laminar, turbulent)
    q_pb, s_pb, x_pb = edge(p_port - p2, c[at.GAIN_B], c[at.TRANSITION_B], backward, laminar, turbulent)
    q_bt, s_bt, x_bt = edge(p2 - t_port, c[at.GAIN_B], c[at.TRANSITION_B], forward, laminar, turbulent)
    x_pa, x_bt = x_pa * ahead, x_bt * ahead
    x_at, x_pb = -x_at * behind, -x_pb * behind

    across, gland, gland1 = c[at.PISTON_LEAK], c[at.GLAND_LEAK], c[at.GLAND_CAP]
    q_seal, q_g1, q_g2 = across * (p1 - p2), gland1 * g1, gland * g2
    q_c1, q_c2, s_c1, s_c2 = 0.0, 0.0, 0.0, 0.0
    if c[at.CHECK] > 0.0:
        drop = t_port - p1 - c[at.CHECK_CRACK]
        if drop > 0.0:
            q_c1, s_c1 = c[at.CHECK] * drop, c[at.CHECK]
        drop = t_port - p2 - c[at.CHECK_CRACK]
        if drop > 0.0:
            q_c2, s_c2 = c[at.CHECK] * drop, c[at.CHECK]
    q_gas, conductance = 0.0, 0.0
    if kind == at.GAS:
        p_gas = pressure_of(y[base + at.EXTRA], floor)
        conductance = c[at.ORIFICE]
        q_gas = conductance * (p1 - p_gas)

    wall = c[at.HOSE]
    volume1 = max(c[at.CAP_VOLUME] + cap * piston, 0.02 * c[at.CAP_VOLUME]) + wall * g1
    volume2 = max(c[at.ANNULUS_VOLUME] - annulus * piston, 0.02 * c[at.ANNULUS_VOLUME]) + wall * g2
    share1, share2 = 1.0 / (volume1 * soft1 + wall), 1.0 / (volume2 * soft2 + wall)
    q1 = q_pa - q_at - q_seal - q_g1 + q_c1 - q_gas
    q2 = q_pb - q_bt + q_seal - q_g2 + q_c2
    p1_rate = (v1 * q1 - cap * speed) * share1
    p2_rate = (v2 * q2 + annulus * speed) * share2
    over1, over2 = 1.0 / p1, 1.0 / p2
    stretch1, stretch2 = 1.0 + floor * over1 * over1, 1.0 + floor * over2 * over2
    dy[base + at.P1], dy[base + at.P2] = stretch1 * p1_rate, stretch2 * p2_rate

    dy[base + at.SPOOL] = spool_rate
    dy[base + at.SPOOL_RATE], pull = spool_acceleration(
        order, spool, spool_rate, c[at.SPOOL_OMEGA], c[at.SPOOL_DAMPING], c[at.SPOOL_SPEED]
    )

    friction, friction_slope = 0.0, 0.0
    if c[at.FITTED] > 0.5:
        friction, friction_slope = seal_friction(
            speed, c[at.COULOMB], c[at.BREAK_OUT], c[at.STICK_SPEED], c[at.STRIBECK_SPEED], c[at.VISCOUS]
        )
    oil_force = g1 * cap - g2 * annulus
    actuator = oil_force - friction - c[at.STATIC_FORCE]
    dy[base + at.EXTRA], dy[base + at.EXTRA_RATE] = 0.0, 0.0
    de1, dee, lifte = 0.0, 0.0, 0.0
    on_body, on_wheel = ratio * actuator, ratio * actuator
    if kind == at.SEAT:
        give = c[at.SEAT_SPRING]
        spring = -give * (y[base + at.EXTRA] - ratio * wheel)
        dy[base + at.EXTRA] = y[base + at.EXTRA_RATE]
        dy[base + at.EXTRA_RATE] = (spring - actuator) / c[at.SEAT_MASS]
        on_wheel = ratio * spring
    elif kind == at.GAS:
        gas = c[at.GAS_VOLUME] * math.exp(math.log(c[at.GAS_PRESSURE] / p_gas) / c[at.GAS_EXPONENT])
        give = gas / (c[at.GAS_EXPONENT] * p_gas)
        vg, _, _, hg = mixture(p_gas, oil)
        stretch = 1.0 + floor / (p_gas * p_gas)
        gas_rate = vg * q_gas / give
        dy[base + at.EXTRA] = stretch * gas_rate
        de1, dee = vg * conductance / give, -vg * conductance / give
        lifte = stretch
        power[at.W_ORIFICE] += q_gas * (h1 - hg)
        power[at.W_GAS] += q_gas * (hg - h_reservoir)
    part[at.ACTUATOR] = actuator

    damper, stop, stiffness, tyre_now = 0.0, 0.0, 0.0, 0.0
    dy[base + at.WHEEL], dy[base + at.WHEEL_RATE] = 0.0, 0.0
    between, tyre = 0.0, 0.0
    if not imposed:
        stop, stop_stiffness, spring_part = stop_force(
            travel, rate, c[at.BUMP], c[at.DROOP], c[at.STOP], c[at.STOP_LOSS]
        )
        stiffness = c[at.SPRING] + stop_stiffness
        power[at.W_DAMPER] += (spring_part - stop) * rate
        damper = c[at.DAMPING] * rate
        between = stop - c[at.SPRING] * travel - damper - c[at.BAR] * bar_travel
        tyre = -c[at.TYRE] * (wheel - road)
        tyre_now = c[at.TYRE]
        if tyre < -c[at.TYRE_STATIC]:
            tyre, tyre_now = -c[at.TYRE_STATIC], 0.0
        dy[base + at.WHEEL] = wheel_rate
        dy[base + at.WHEEL_RATE] = (tyre - between - on_wheel) / c[at.UNSPRUNG]

    if with_parts:
        l1, l2 = v1 * share1, v2 * share2
        lift1, lift2 = -2.0 * over1 * (1.0 - 1.0 / stretch1), -2.0 * over2 * (1.0 - 1.0 / stretch2)
        part[at.D11] = (
            -l1 * (s_pa + s_at + across + gland1 + s_c1 + conductance) + (lift1 - bend1 * volume1 * share1) * p1_rate
        )
        part[at.D12], part[at.D1P], part[at.D1T] = l1 * across, l1 * s_pa, l1 * (s_at + s_c1)
        part[at.D1X], part[at.D1V], part[at.D1E] = l1 * (x_pa - x_at), -cap * share1, l1 * conductance
        part[at.D22] = -l2 * (s_pb + s_bt + across + gland + s_c2) + (lift2 - bend2 * volume2 * share2) * p2_rate
        part[at.D21], part[at.D2P], part[at.D2T] = l2 * across, l2 * s_pb, l2 * (s_bt + s_c2)
        part[at.D2X], part[at.D2V] = l2 * (x_pb - x_bt), annulus * share2
        part[at.QP1], part[at.QP2], part[at.QPX] = -s_pa, -s_pb, x_pa + x_pb
        part[at.QT1], part[at.QT2], part[at.QTX] = s_at + s_c1, s_bt + s_c2, x_at + x_bt
        part[at.LIFT1], part[at.LIFT2] = stretch1, stretch2
        part[at.DE1], part[at.DEE], part[at.LIFTE] = de1, dee, lifte
        part[at.FRICTION], part[at.STIFFNESS], part[at.DAMPER] = friction_slope, stiffness, c[at.DAMPING]
        part[at.TYRE_NOW], part[at.SPOOL_PULL] = tyre_now, pull

    power[at.W_VALVE] += (
        (q_pa * (h_port - h1) + q_at * (h1 - h_tank) + q_pb * (h_port - h2) + q_bt * (h2 - h_tank))
        + q_c1 * (h_tank - h1)
        + q_c2 * (h_tank - h2)
    )
    power[at.W_SEAL] += q_seal * (h1 - h2) + q_g1 * (h1 - h_reservoir) + q_g2 * (h2 - h_reservoir)
    power[at.W_PISTON] += oil_force * speed
    power[at.W_FRICTION] += friction * speed
    power[at.W_DAMPER] += damper * rate
    power[at.W_ROAD] += tyre * road_rate
    checks = q_c1 + q_c2
    return between + on_body, q_pa + q_pb, q_at + q_bt - checks, checks
