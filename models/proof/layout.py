"""Where each number of the circuit stands: columns of the arrays that the compiled functions read and write.

Arrays with named columns instead of records: the kernels stay small to compile. Units are SI; pressures of states are
absolute, those of settings gauge. Knows no physics.
"""

from __future__ import annotations

SLOTS = 8
P1, P2, SPOOL, SPOOL_RATE, EXTRA, EXTRA_RATE, WHEEL, WHEEL_RATE = range(SLOTS)
"""A corner's states: cap and annulus pressure, spool (1 is full stroke) and its rate, what the arrangement adds (seat
in line with the spring and its rate, or the gas pressure behind the orifice), wheel height and its rate."""

CENTRE_SLOTS = 11
HEAVE, PITCH, ROLL, HEAVE_RATE, PITCH_RATE, ROLL_RATE, RAIL, PORT_P, PORT_T, SHAFT, GAS_HEAT = range(CENTRE_SLOTS)
"""States after the corners': the body, its rates, pressure at pump and accumulator, at the valves' P and T, shaft
speed, and the gas temperature over that of gas that never met its wall."""

NONE, SEAT, GAS = range(3)
"""What stands in a corner's extra states: nothing (`parallel`), the spring's seat (`series`), a corner accumulator."""

(
    CAP, ANNULUS, CAP_VOLUME, ANNULUS_VOLUME, HOSE, RATIO, GAIN_A, GAIN_B, TRANSITION_A, TRANSITION_B, UNDERLAP,
    SPOOL_OMEGA, SPOOL_DAMPING, SPOOL_SPEED, LINE_LAMINAR, LINE_TURBULENT, COULOMB, BREAK_OUT, STICK_SPEED,
    STRIBECK_SPEED, VISCOUS, PISTON_LEAK, GLAND_LEAK, CHECK, CHECK_CRACK, ARRANGED, SEAT_MASS, SEAT_SPRING,
    GAS_VOLUME, GAS_PRESSURE, GAS_EXPONENT, ORIFICE, UNSPRUNG, SPRING, DAMPING, TYRE, TYRE_STATIC, BUMP, DROOP, STOP,
    STOP_LOSS, BAR, PARTNER,
    ARM_HEAVE, ARM_PITCH, ARM_ROLL, STATIC_FORCE, LAW_TRAVEL, LAW_BODY, LAW_TYRE, LAW_WHEEL, LAW_LOW_CUT, LAW_BANDWIDTH,
    FORCE_GAIN, FITTED, FORCE_FLOOR, LAW_SPRING, LAW_DAMPER, GLAND_CAP,
    POSITION_GAIN, LEAD, KNOWN_FRICTION, YIELD_SHARE, DEAD_BAND,
) = range(64)  # fmt: skip
CORNER_COLUMNS = 64
"""Constants of a corner. Volumes at static height with line and dead volume; HOSE m³/Pa; gains m³/s per √Pa at full
opening; UNDERLAP: opening every edge keeps at null; DEAD_BAND: stroke from mid that opens nothing; LINE_*: drop =
laminar·Q + turbulent·Q²; leaks m³/s per Pa; STOP N/m with relative loss STOP_LOSS s/m; BAR N/m against the PARTNER
corner; LAW_*: the ride law at the wheel, its corner frequencies as shares taken up in a sample, with what spring and
orifice in line with the actuator add to the force wanted; FORCE_GAIN 1/s of the pressure feedback; LEAD: seconds by
which the velocity feed-forward runs ahead; KNOWN_FRICTION N, what of the running friction is asked in addition;
YIELD_SHARE: of a change asked of a gas spring, what is taken up in a sample."""

(
    MODULUS, MODULUS_SLOPE, AIR, AIR_EXPONENT, FLOOR, RAIL_VOLUME, PORT_P_VOLUME, PORT_T_VOLUME, SUPPLY_LAMINAR,
    SUPPLY_TURBULENT, RETURN_LAMINAR, RETURN_TURBULENT, RESERVOIR, RELIEF_CRACK, RELIEF_GAIN, DISPLACEMENT, SLIP,
    VISCOSITY, DRAG, COULOMB_PUMP, CONSTANT_PUMP, INERTIA, SPEED_GAIN, IDLE, RATED_TORQUE, RATED_SPEED, COPPER, IRON,
    ELECTRONICS, STANDBY, GAS_TIME, GAS_LOW, GAS_STEP, BODY_MASS, PITCH_INERTIA, ROLL_INERTIA, IMPOSED, PEAK_TORQUE,
    LEAST_SPEED, MOST_SPEED, BUS_POWER, OTHER_POWER, HIGH, CUT_IN, CONTROL, RAIL_GAIN, RAIL_INTEGRAL, FLOW_SHARE,
    LAW_HOLDS, START_SPEED, LEAK,
) = range(51)  # fmt: skip
CENTRE_COLUMNS = 51
"""Constants of the centre: oil (modulus at zero gauge and its slope, free air and its exponent; FLOOR Pa², the constant
c of the pressure state W = p - c/p), volumes, lines, relief, pump, machine, accumulator table, body, pump
control; START_SPEED: the shaft's when nothing moves; LEAK: what the rail loses then, m³/s."""

(
    LOADED, SHAFT_TARGET, TORQUE_LIMIT, TORQUE_AHEAD,
) = range(4)  # fmt: skip
ORDERS = 4
"""What the centre's controller holds between samples."""

POWERS = 16
(
    W_PUMP, W_PISTON, W_VALVE, W_SUPPLY, W_RETURN, W_RELIEF, W_SEAL, W_GAS, W_FRICTION, W_DAMPER, W_ROAD, W_SHAFT,
    W_MACHINE, W_BUS, W_ORIFICE, W_LOAD,
) = range(POWERS)  # fmt: skip
"""Powers that the run integrates, W."""

FLOWS = 5
F_SUPPLY, F_PUMP, F_CHECK, F_RELIEF, F_RETURN = range(FLOWS)
"""Flows of the centre at an instant, m³/s: into the corners, from the pump, through anti-cavitation checks, relief,
return."""

PARTS = 30
(
    D11, D12, D1P, D1T, D1X, D1V, D1E, D22, D21, D2P, D2T, D2X, D2V, QP1, QP2, QPX, QT1, QT2, QTX, LIFT1, LIFT2,
    FRICTION, STIFFNESS, DAMPER, TYRE_NOW, SPOOL_PULL, DE1, DEE, LIFTE, ACTUATOR,
) = range(PARTS)  # fmt: skip
"""Partial derivatives of one corner, in pressures; LIFT: of the pressure state's own stretch; ACTUATOR: its
force beyond the weight's, friction counted."""

CENTRE_PARTS = 15
(
    DPP, DPS, DTT, DSS, DSP, DSW, DWS, DWW, LIFTP, LIFTT, LIFTS, CAPACITY_P, CAPACITY_T, CAPACITY_S, LOAD_TORQUE,
) = range(CENTRE_PARTS)  # fmt: skip
"""Partial derivatives of the centre; CAPACITY: m³/Pa of a node, oil at reference density;
LOAD_TORQUE: the pump's, N·m."""

CORNER_TRACES = 10
(
    T_FORCE, T_WANTED, T_P1, T_P2, T_SPOOL, T_ORDER, T_TRAVEL, T_SPEED, T_TYRE, T_BODY,
) = range(CORNER_TRACES)  # fmt: skip
"""What is kept of a corner at each sample: actuator force beyond the weight's and the one wanted, N; chamber pressures,
Pa gauge; spool and unlimited order; wheel travel; piston speed; tyre load change; body acceleration above the wheel."""

CENTRE_TRACES = 13
(
    T_RAIL, T_PORT_P, T_PORT_T, T_SHAFT, T_TORQUE, T_BUS, T_SUPPLY, T_PUMP, T_CHECK, T_HEAVE, T_PITCH, T_ROLL, T_LIMIT,
) = range(CENTRE_TRACES)  # fmt: skip
"""What is kept of the centre: pressures Pa gauge, shaft rad/s, machine torque N·m and its limit, bus W, flows m³/s,
body accelerations."""
