"""From the account of a chosen plant to the arrays of the circuit: every constant of the run, and where it comes from.

Component laws are evaluated here by the functions the sizing uses. Line losses become two-term laws, drop = a·Q + b·Q²,
exact while the flow is laminar and fitted where it is not. What no table gives is estimated and named below. Not
modelled: waves and inertia in lines (a valve closing at once gives no surge here), heat between parts during the run.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models import oil
from models.demand import Demand
from models.hydraulics.accumulator import gas_mass, isentrope, nitrogen, nitrogen_density
from models.hydraulics.filter import element_drop
from models.hydraulics.gas_spring import isentropic_modulus
from models.hydraulics.lines import line_pressure_drop
from models.hydraulics.pump import delivery
from models.hydraulics.seals import clearance_leakage
from models.hydraulics.valve import metering_edge
from models.proof import layout as at
from models.proof.control import RELIEF, SPEED, UNLOADING
from models.proof.mixture import mixture, oil_numbers
from models.quantity import ATMOSPHERE, UNITS
from models.ride.vehicle import Corner, Vehicle, vehicle_of
from models.sizing.account import Account, line_tubes
from models.sizing.catalogue import rule
from models.sizing.central import IDLE_PRESSURE_LEAST, IDLE_PRESSURE_SHARE, MAIN_JOINTS, U_SPEED
from models.sizing.corner import (
    CLEARANCE_ECCENTRICITY,
    CLEARANCE_LENGTH,
    DEAD_VOLUME_SHARE,
    barrel,
    corner_line_drop,
    line_volume,
)
from models.sizing.corner_store import corner_spring
from models.sizing.halves import friction_of
from models.sizing.search import CHARGE_TEMPERATURE, FAN_SHARE
from models.sizing.task import CHECK_DROP_BAR, SERIES, relief_factor
from models.spec import Position, Spec

Floats = NDArray[np.float64]

AIR_EXPONENT = 1.4
"""Free air under fast changes, adiabatic; as the sizing takes it."""

SPOOL_DAMPING_RATIO = 0.8
SPOOL_LARGE_SIGNAL = 0.5
"""A spool is of second order, its 90° lag at the bandwidth; the fastest it moves, as a share of stroke times 2π
bandwidth. Source: [estimate]."""

SAMPLES_OF_SPOOL = 10.0
SAMPLES_OF_OIL = 4.0
SAMPLE_BOUNDS = (0.2e-3, 1e-3)
"""Samples of the controllers in one swing at the spool's bandwidth, and of the wheel on its oil column; seconds between
samples at the least and most. A loop that samples an oil column more slowly than that shakes it. Source: [estimate]."""

SEAT_GAIN = 0.125
"""Feedback of a spring seat's position over the gain of a plain position control: a light seat on a seal that sticks
hunts with more, and what is fed ahead places it already. Source: [estimate]."""

STICK_SHARE = 0.002
STRIBECK_SHARE = 0.02
"""Speeds at which break-out friction is fully there and has mostly gone, shares of the duty's peak.
Source: [estimate]."""

FRICTION_KNOWN = 0.7
"""Share of the running friction that the controller knows and asks in addition; the rest varies with wear and warmth.
Source: [estimate]."""

STOP_RATE = 4.0
STOP_LOSS = 1.0
"""End stop: rate over the tyre's; loss as the share of force per peak speed of the duty. Source: [estimate]."""

SPIN_UP = 0.05
"""Seconds a motor needs to full speed at peak torque: gives the inertia of machine and pump. Source: [estimate]."""

SHAFT_BANDWIDTH = 30.0
"""Bandwidth of the motor's speed loop, Hz. Source: [estimate]."""

RELIEF_BAND = 0.05
RELIEF_OVER = 0.10
"""A relief-held supply cracks this share below its pressure; a guarding relief passes all flow this share above its
setting. Source: [common_practice]."""

GAS_SECONDS = 12.0
"""Thermal time constant of the gas in a one-litre accumulator, growing with the cube root of volume.
Source: [estimate]."""

CHECK_CRACK = 0.1e5
"""Drop at which an anti-cavitation check opens, Pa. Source: [estimate]."""

MEAN_FLOW_SECONDS = 1.0
"""With a store a speed-controlled pump gives the mean flow ahead, over about so long; without one all of the flow.
Its rail feedback reaches full speed at half the rail window, where the shaft can follow. Source: [estimate]."""

SLOWEST_RAIL = 2.0 * math.pi * 0.1
"""Least corner frequency of the rail's integral, rad/s, else that at which a rail fed no more empties through the
null leakage. Source: [estimate]."""

TABLE_POINTS = 400


@dataclass(frozen=True)
class Circuit:
    """The arrays of a run and what was decided about it."""

    corners: Floats
    centre: Floats
    gas: Floats
    names: tuple[str, ...]
    positions: tuple[Position, ...]
    axles: tuple[int, ...]
    """Index of each corner's axle in the demand; -1 for an axle without actuators."""
    vehicle: Vehicle
    sample: float
    """Seconds between samples of the controllers."""
    temperature: float


def two_term_law(drop: Callable[[float], float], flow: float) -> tuple[float, float]:
    """(a, b) of drop = a·Q + b·Q² for a line whose loss is `drop(Q)`, up to `flow` m³/s.

    a is the slope at creeping flow; b meets the loss at `flow`, or comes from the loss beyond the laminar part.
    """
    if flow <= 0.0:
        return drop(1e-12) / 1e-12, 0.0
    small = 1e-4 * flow
    laminar = drop(small) / small
    top = drop(flow)
    turbulent = (top - laminar * flow) / (flow * flow)
    return laminar, max(turbulent, 0.0)


def circuit_of(
    state: Account,
    spec: Spec,
    demand: Demand,
    temperature: float,
    corners: tuple[tuple[Position, float], ...] | None = None,
) -> Circuit:
    """The circuit of a chosen plant with its oil at `temperature` K.

    corners: (axle, side: +1 left, -1 right) of each; None takes all of the vehicle.
    """
    vehicle = vehicle_of(spec, demand.plant_mass)
    if corners is None:
        sides = (0.0,) if vehicle.single else (1.0, -1.0)
        corners = tuple((corner.position, side) for corner in vehicle.corners for side in sides)
    places = {axle.position: i for i, axle in enumerate(demand.axles)}
    high = float(state.tables.task.settings.high[state.choice.setting])
    matter = oil.state(state.tables.task.medium, 0.5 * high, temperature)
    rows = np.zeros((len(corners), at.CORNER_COLUMNS))
    for i, (position, side) in enumerate(corners):
        corner = vehicle.corner(position)
        _mechanics(rows[i], vehicle, corner, side)
        if position in places:
            _hydraulics(rows[i], state, places[position], corner, matter, temperature)
        else:
            _plain(rows[i])
        for j, (other, _) in enumerate(corners):
            if other == position and j != i:
                rows[i, at.PARTNER] = j
    sample = _sample_time(rows, oil.bulk_modulus(state.tables.task.medium, 0.5 * high, temperature))
    rows[:, at.LEAD] = rows[:, at.SPOOL_DAMPING] / rows[:, at.SPOOL_OMEGA] + 0.5 * sample
    springs = rows[:, at.ARRANGED] == at.GAS
    give = rows[springs, at.GAS_VOLUME] / (rows[springs, at.GAS_EXPONENT] * rows[springs, at.GAS_PRESSURE])
    rows[springs, at.YIELD_SHARE] = -np.expm1(-sample * rows[springs, at.ORIFICE] / give)
    rows[:, at.FORCE_GAIN] = np.minimum(0.25 * rows[:, at.SPOOL_OMEGA], 0.25 / sample)
    seats = rows[:, at.ARRANGED] == at.SEAT
    rows[seats, at.FORCE_GAIN] = SEAT_GAIN * rows[seats, at.POSITION_GAIN]
    centre, gas = _centre(state, vehicle, matter, temperature, sample)
    names = {1.0: "left", -1.0: "right", 0.0: ""}
    return Circuit(
        rows,
        centre,
        gas,
        tuple(f"{position} {names[side]}".strip() for position, side in corners),
        tuple(position for position, _ in corners),
        tuple(places.get(position, -1) for position, _ in corners),
        vehicle,
        sample,
        temperature,
    )


def _sample_time(rows: Floats, modulus: float) -> float:
    """Seconds between samples of the controllers, by the quicker of spool and wheel on its oil (`modulus`, Pa)."""
    fitted = rows[rows[:, at.FITTED] > 0.5]
    oil_rate = fitted[:, at.CAP] ** 2 / (fitted[:, at.CAP_VOLUME] / modulus + fitted[:, at.HOSE])
    oil_rate += fitted[:, at.ANNULUS] ** 2 / (fitted[:, at.ANNULUS_VOLUME] / modulus + fitted[:, at.HOSE])
    swing = fitted[:, at.RATIO] * np.sqrt(oil_rate / fitted[:, at.UNSPRUNG])
    swing[fitted[:, at.ARRANGED] != at.NONE] = 0.0  # a spring stands between the column and the wheel
    quickest = max(SAMPLES_OF_SPOOL * fitted[:, at.SPOOL_OMEGA].max(), SAMPLES_OF_OIL * swing.max())
    return float(np.clip(2.0 * math.pi / quickest, *SAMPLE_BOUNDS))


def _mechanics(row: Floats, vehicle: Vehicle, corner: Corner, side: float) -> None:
    ahead = 0.0
    if len(vehicle.corners) == 2 and not vehicle.single:
        front, rear = vehicle.corners
        ahead = vehicle.wheelbase * rear.sprung_mass / (front.sprung_mass + rear.sprung_mass)
    arm = ahead if corner.position == "front" else ahead - vehicle.wheelbase
    parallel = vehicle.arrangement == "parallel" or not corner.fitted
    row[at.RATIO] = corner.ratio
    row[at.UNSPRUNG], row[at.TYRE], row[at.TYRE_STATIC] = corner.unsprung_mass, corner.tyre, corner.static_tyre_load
    row[at.SPRING] = corner.spring if parallel else 0.0
    row[at.DAMPING] = corner.damping if parallel else corner.damping - corner.orifice
    row[at.BUMP], row[at.DROOP] = corner.bump, corner.droop
    row[at.STOP] = STOP_RATE * corner.tyre
    row[at.STOP_LOSS] = STOP_LOSS / math.sqrt(corner.tyre / corner.unsprung_mass) / min(corner.bump, corner.droop)
    if not vehicle.single:
        row[at.BAR] = 2.0 * corner.anti_roll / vehicle.track**2
        row[at.ARM_PITCH] = -arm if len(vehicle.corners) == 2 else 0.0
        row[at.ARM_ROLL] = 0.5 * vehicle.track * side
    row[at.ARM_HEAVE] = 1.0


def _plain(row: Floats) -> None:
    """A corner without actuator: closed chambers that touch nothing."""
    row[at.CAP_VOLUME] = row[at.ANNULUS_VOLUME] = 1.0
    row[at.STICK_SPEED] = row[at.STRIBECK_SPEED] = 1.0
    row[at.TRANSITION_A] = row[at.TRANSITION_B] = 1.0
    row[at.SPOOL_OMEGA], row[at.SPOOL_DAMPING], row[at.SPOOL_SPEED] = 1.0, 2.0, 1.0


def _hydraulics(
    row: Floats, state: Account, index: int, corner: Corner, matter: oil.OilState, temperature: float
) -> None:
    task, tables = state.tables.task, state.tables
    choice, facts, axle = state.choice.corners[index], state.facts[index], task.axles[index]
    catalogue, c, line, valve = task.catalogue, choice.cylinder, choice.line, choice.valve
    cylinders, lines, valves = catalogue.cylinders, catalogue.lines, catalogue.valves
    high = float(task.settings.high[state.choice.setting])
    bore, rod, through = float(cylinders.bore[c]), float(cylinders.rod[c]), bool(cylinders.through[c])
    cap, annulus = facts.cap, facts.annulus
    density, viscosity = matter.density, matter.dynamic_viscosity
    peak = float(axle.speeds.max())
    row[at.FITTED] = 1.0
    row[at.CAP], row[at.ANNULUS] = cap, annulus
    pipe = line_volume(lines.bore[line], lines.tube_bore[line], axle.tube_length, axle.hose_length)
    dead = DEAD_VOLUME_SHARE * axle.stroke
    below, above = corner.bump * corner.ratio, corner.droop * corner.ratio
    if axle.arrangement == SERIES:
        below = above = 0.5 * axle.stroke
    row[at.CAP_VOLUME], row[at.ANNULUS_VOLUME] = cap * (below + dead) + pipe, annulus * (above + dead) + pipe
    row[at.HOSE] = axle.hose_length * lines.expansion[line]

    edge = metering_edge(float(valves.rated_flow[valve]), 1.0, density, viscosity)
    scale = annulus / cap if choice.spool == 1 or annulus == 0.0 else 1.0
    row[at.GAIN_A], row[at.TRANSITION_A] = edge
    row[at.GAIN_B], row[at.TRANSITION_B] = edge.gain * scale, edge.transition * scale
    leak = facts.valve_leakage / (1.0 + scale)
    row[at.UNDERLAP] = math.sqrt((leak * leak + leak * edge.transition) / (0.5 * high)) / edge.gain
    own = task.spec.measured.valve
    row[at.DEAD_BAND] = own.dead_band if own is not None else 0.0
    omega = 2.0 * math.pi * float(valves.bandwidth[valve])
    row[at.SPOOL_OMEGA], row[at.SPOOL_DAMPING] = omega, 2.0 * SPOOL_DAMPING_RATIO
    row[at.SPOOL_SPEED] = SPOOL_LARGE_SIGNAL * omega

    def loss(flow: float) -> float:
        return float(
            corner_line_drop(
                flow, lines.bore[line], lines.tube_bore[line], axle.tube_length, axle.hose_length, axle.bends,
                lines.roughness[line], density, viscosity,
            )
        )  # fmt: skip

    row[at.LINE_LAMINAR], row[at.LINE_TURBULENT] = two_term_law(loss, cap * peak)

    running, per_speed = friction_of(cylinders, c, cap, high, viscosity, tables.measured)
    row[at.COULOMB], row[at.VISCOUS] = running, per_speed
    row[at.BREAK_OUT] = running * float(cylinders.break_out[c])
    row[at.KNOWN_FRICTION] = FRICTION_KNOWN * running
    row[at.STICK_SPEED], row[at.STRIBECK_SPEED] = STICK_SHARE * peak, STRIBECK_SHARE * peak
    gap = float(cylinders.clearance[c])
    if tables.measured.leakage_per_pressure >= 0.0:
        row[at.GLAND_LEAK] = row[at.GLAND_CAP] = tables.measured.leakage_per_pressure
    elif gap > 0.0:
        length = CLEARANCE_LENGTH * bore
        row[at.PISTON_LEAK] = clearance_leakage(bore, gap, 1.0, viscosity, length, CLEARANCE_ECCENTRICITY)
        row[at.GLAND_LEAK] = clearance_leakage(rod, gap, 1.0, viscosity, length, CLEARANCE_ECCENTRICITY)
        row[at.GLAND_CAP] = row[at.GLAND_LEAK] if through else 0.0
    if annulus == 0.0:
        _vent(row)
    if choice.checks:
        row[at.CHECK_CRACK] = CHECK_CRACK
        row[at.CHECK] = cap * peak / (UNITS["bar"].to_si(CHECK_DROP_BAR) - CHECK_CRACK)
    row[at.STATIC_FORCE] = task.demand.axles[index].static_force
    row[at.FORCE_FLOOR] = 0.02 * high
    row[at.POSITION_GAIN] = 2.0 * math.pi * min(facts.frequency, float(valves.bandwidth[valve])) / 3.0
    _arrange(row, state, index, corner, bore, rod, through, high, temperature)


def _vent(row: Floats) -> None:
    """A rod side open to the air and port B plugged: a chamber that touches nothing; what passes the piston is lost."""
    row[at.ANNULUS_VOLUME] = row[at.TRANSITION_B] = 1.0
    row[at.GAIN_B] = row[at.GLAND_LEAK] = 0.0
    row[at.GLAND_CAP] += row[at.PISTON_LEAK]
    row[at.PISTON_LEAK] = 0.0


def _arrange(
    row: Floats, state: Account, index: int, corner: Corner, bore: float, rod: float, through: bool, high: float,
    temperature: float,
) -> None:  # fmt: skip
    """What stands between actuator and wheel: nothing, the spring and its seat, or a gas spring behind an orifice."""
    spec = state.tables.task.spec
    arrangement = spec.arrangement or "parallel"
    if arrangement == "parallel":
        return
    rate, resistance = corner.spring / corner.ratio**2, corner.orifice / corner.ratio**2
    row[at.LAW_SPRING] = corner.spring
    if arrangement == "series":
        body = barrel(bore, rod, through, state.tables.task.axles[index].stroke, high, spec.safety.burst_factor)[1]
        row[at.ARRANGED], row[at.SEAT_MASS], row[at.SEAT_SPRING] = at.SEAT, body.moving_mass, rate
        return
    row[at.LAW_DAMPER] = corner.orifice
    cap = row[at.CAP]
    spring = corner_spring(state.tables.task, index, float(cap))
    pressure, gas = spring.static_pressure + ATMOSPHERE, nitrogen()
    row[at.ARRANGED], row[at.GAS_PRESSURE] = at.GAS, pressure
    row[at.GAS_EXPONENT] = isentropic_modulus(gas, pressure, temperature) / pressure
    row[at.GAS_VOLUME] = spring.gas_mass / nitrogen_density(gas, pressure, temperature)
    row[at.ORIFICE] = cap * cap / resistance if resistance > 0.0 else 1e-3 * cap * cap / row[at.COULOMB]


def _centre(
    state: Account, vehicle: Vehicle, matter: oil.OilState, temperature: float, sample: float
) -> tuple[Floats, Floats]:
    task, choice = state.tables.task, state.choice
    catalogue, spec, s = task.catalogue, task.spec, choice.setting
    pumps, motors, tubes = catalogue.pumps, catalogue.motors, catalogue.tubes
    p, m = choice.pump, choice.motor
    high, low = float(task.settings.high[s]), float(task.settings.low[s])
    density, viscosity = matter.density, matter.dynamic_viscosity
    z = np.zeros(at.CENTRE_COLUMNS)
    z[at.MODULUS] = oil.bulk_modulus(task.medium, 0.0, temperature)
    z[at.MODULUS_SLOPE] = task.medium.bulk_pressure_slope
    z[at.AIR], z[at.AIR_EXPONENT], z[at.FLOOR] = spec.entrained_air_fraction, AIR_EXPONENT, ATMOSPHERE**2
    supply, _, back = line_tubes(state)
    length = spec.layout.supply_line or 0.0
    bus = spec.bus

    def line(tube: int) -> Callable[[float], float]:
        return lambda flow: float(
            line_pressure_drop(
                flow, tubes.bore[tube], length, 0.0, 0.5 * MAIN_JOINTS, density, viscosity, tubes.roughness[tube]
            )
        )

    most = float(state.unit[U_SPEED])
    full = float(delivery(float(pumps.displacement[p]), most, high, viscosity, float(pumps.slip[p])))
    peak = max(state.plant.peak_flow, full)
    area = 0.25 * math.pi * tubes.bore**2
    z[at.PORT_P_VOLUME] = max(0.5 * float(area[supply]) * length, 1e-8)
    z[at.RAIL_VOLUME] = z[at.PORT_P_VOLUME]
    z[at.PORT_T_VOLUME] = max(float(area[back]) * length, 1e-8)
    z[at.SUPPLY_LAMINAR], z[at.SUPPLY_TURBULENT] = two_term_law(line(supply), peak)
    a, b = two_term_law(line(back), peak)
    element = element_drop(
        1.0, viscosity, state.plant.filter_flow, UNITS["mm2_s"].to_si(30.0) * density,
        UNITS["bar"].to_si(rule("filter_drop_rated")),
    )  # fmt: skip
    z[at.RETURN_LAMINAR], z[at.RETURN_TURBULENT] = a + element, b
    z[at.RESERVOIR] = float(task.settings.bias[s])

    control = (RELIEF, UNLOADING, SPEED)[choice.control]
    setting = high * (1.0 - RELIEF_BAND) if control == RELIEF else relief_factor() * high
    band = RELIEF_BAND * high if control == RELIEF else RELIEF_OVER * setting
    z[at.RELIEF_CRACK], z[at.RELIEF_GAIN] = setting, max(full, 1e-9) / band
    z[at.DISPLACEMENT], z[at.SLIP], z[at.VISCOSITY] = float(pumps.displacement[p]), float(pumps.slip[p]), viscosity
    z[at.DRAG], z[at.COULOMB_PUMP] = float(pumps.drag[p]), float(pumps.coulomb[p])
    z[at.CONSTANT_PUMP] = float(pumps.constant[p])
    z[at.IDLE] = max(IDLE_PRESSURE_SHARE * high, IDLE_PRESSURE_LEAST)
    z[at.RATED_TORQUE], z[at.RATED_SPEED] = float(motors.rated_torque[m]), float(motors.rated_speed[m])
    z[at.PEAK_TORQUE] = float(motors.peak_torque[m])
    z[at.INERTIA] = z[at.PEAK_TORQUE] * SPIN_UP / z[at.RATED_SPEED]
    z[at.SPEED_GAIN] = 2.0 * math.pi * SHAFT_BANDWIDTH * z[at.INERTIA]
    z[at.COPPER], z[at.IRON] = float(motors.copper_loss[m]), float(motors.iron_loss[m])
    z[at.ELECTRONICS], z[at.STANDBY] = float(motors.electronics_fraction[m]), float(motors.standby[m])
    z[at.MOST_SPEED] = most
    z[at.LEAST_SPEED] = float(pumps.min_speed[p]) if control == SPEED else most
    z[at.BUS_POWER] = bus.peak_current * bus.voltage if bus.peak_current is not None else 0.0
    z[at.OTHER_POWER] = float(state.keys[0][5] + state.keys[1][5]) + FAN_SHARE * state.plant.cooler_heat
    z[at.HIGH], z[at.CONTROL] = high, control
    z[at.CUT_IN] = low + state.tables.plant.unloading_reserve * (high - low)

    gas = accumulator_table(state, temperature, high)
    z[at.GAS_LOW] = math.log(0.3 * max(low, 1e5))
    z[at.GAS_STEP] = (math.log(2.0 * high) - z[at.GAS_LOW]) / (TABLE_POINTS - 1)
    volume = float(catalogue.accumulators.volume[choice.accumulator])
    z[at.GAS_TIME] = GAS_SECONDS * (volume / 1e-3) ** (1.0 / 3.0) if volume > 0.0 else 1e9
    mixed = oil_numbers(z[at.MODULUS], z[at.MODULUS_SLOPE], z[at.AIR], z[at.AIR_EXPONENT])
    yielding = mixture(high + ATMOSPHERE, mixed)[1]
    at_high = (math.log(high + ATMOSPHERE) - z[at.GAS_LOW]) / z[at.GAS_STEP]
    give = 2.0 * z[at.RAIL_VOLUME] * yielding + float(np.interp(at_high, np.arange(TABLE_POINTS), gas[:, 1])) / high
    fast = 0.25 * 2.0 * math.pi * SHAFT_BANDWIDTH * give / z[at.DISPLACEMENT]
    z[at.RAIL_GAIN] = min(most / (0.5 * (high - low)), fast)
    leak = float(state.keys[0][4] + state.keys[1][4])
    z[at.RAIL_INTEGRAL] = z[at.RAIL_GAIN] * max(leak / (2.0 * high * give), SLOWEST_RAIL)
    holding = leak / z[at.DISPLACEMENT] + z[at.SLIP] * high / z[at.VISCOSITY]
    z[at.START_SPEED], z[at.LEAK] = min(max(holding, z[at.LEAST_SPEED]), most), leak
    z[at.FLOW_SHARE] = -math.expm1(-sample / MEAN_FLOW_SECONDS) if volume > 0.0 else 1.0

    sides = vehicle.sides
    z[at.BODY_MASS] = vehicle.body_mass
    z[at.PITCH_INERTIA] = vehicle.pitch_inertia if len(vehicle.corners) == 2 and not vehicle.single else 1.0
    z[at.ROLL_INERTIA] = vehicle.roll_inertia if sides == 2 else 1.0
    return z, gas


def accumulator_table(state: Account, temperature: float, high: float) -> Floats:
    """[point, (oil m³, its slope over ln p, gas temperature over the wall's)] along the isentrope through `high`.

    The gas settled at `temperature` K at the highest rail pressure; points at equal steps of ln(absolute pressure) from
    0.3 of the lowest rail pressure to twice the highest. All zero without an accumulator. Source: [span2000].
    """
    tables, choice = state.tables, state.choice
    task, s = tables.task, choice.setting
    low = float(task.settings.low[s])
    volume = float(task.catalogue.accumulators.volume[choice.accumulator])
    logs = np.linspace(math.log(0.3 * max(low, 1e5)), math.log(2.0 * high), TABLE_POINTS)
    table = np.zeros((TABLE_POINTS, 3))
    table[:, 2] = 1.0
    precharge = float(tables.precharge[s])
    if volume <= 0.0 or not math.isfinite(precharge):
        return table
    gas = nitrogen()
    mass = gas_mass(gas, precharge, CHARGE_TEMPERATURE, volume)
    return isentrope_table(mass, volume, high + ATMOSPHERE, temperature, logs)


def isentrope_table(mass: float, volume: float, settled: float, temperature: float, logs: Floats) -> Floats:
    """The table of `mass` kg of nitrogen in a shell of `volume` m³, at `temperature` K at `settled` Pa absolute."""
    gas = nitrogen()
    table = np.zeros((logs.size, 3))
    warmth, dense = isentrope(gas, settled, temperature, np.exp(logs))
    known = np.isfinite(dense)
    held = np.where(known, volume - mass / np.where(known, dense, 1.0), 0.0)
    # the poppet closes smoothly within a hundredth of the shell
    soft = 0.01 * volume
    table[:, 0] = np.where(known, 0.5 * (held + np.sqrt(held * held + soft * soft)), 0.0)
    first = int(np.argmax(known))
    table[:first, 0] = table[first, 0]
    table[:, 1] = np.gradient(table[:, 0], logs)
    table[0, 1] = table[-1, 1] = 0.0
    table[:, 2] = np.where(known, warmth, temperature) / temperature
    table[:first, 2] = table[first, 2]
    return table
