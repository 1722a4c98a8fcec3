"""The plain way to search: every design reckoned whole, in flat NumPy arrays or one by one with the `fluids` library.

The same constraints and numbers as the search's, written once over an `Ops` of array or of scalar functions, with
nothing hoisted out and nothing passed over. Tubes of the central lines are chosen from the search's own table of what
each passes, which is a present to the plain way. Used by `search_speed.py` alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import fluids
import numpy as np

from models.sizing.central import IDLE_PRESSURE_LEAST, IDLE_PRESSURE_SHARE, RELIEF, SPEED, UNLOADING
from models.sizing.corner import (
    CLEARANCE_ECCENTRICITY,
    CLEARANCE_LENGTH,
    DEAD_VOLUME_SHARE,
    JOINTS_PER_LINE,
    MEAN_CHAMBER_SHARE,
    PROPORTIONS,
    SEAL_CONTACT,
    SEAL_MODULUS,
    SMALLEST_WALL,
    STEEL_DENSITY,
    STEEL_MODULUS,
    STEEL_TENSILE,
    STEEL_YIELD,
    WALL_SHARE,
    WALL_STEP,
)
from models.sizing.plant import burst_volume
from models.sizing.search import RESERVOIR_VOLUMES, Tables, unit_laws, unit_options
from models.sizing.task import AxleTask, relief_factor

Drop = Callable[..., Any]


@dataclass(frozen=True)
class Ops:
    """The functions that differ between arrays and scalars."""

    sqrt: Any
    ceil: Any
    maximum: Any
    minimum: Any
    where: Any
    drop: Drop


def array_drop(
    flow: Any, bore: Any, length: float, k1: Any, k: Any, density: float, viscosity: float, rough: Any
) -> Any:
    """Loss of a line over arrays: laminar, Colebrook by three Newton steps, blended between Re 2000 and 4000."""
    speed = flow / (0.25 * math.pi * bore * bore)
    reynolds = np.maximum(density * speed * bore / viscosity, 1e-9)
    rest, viscous = rough / bore / 3.7, 2.51 / reynolds
    x = -1.8 * np.log10(rest**1.11 + 6.9 / reynolds)
    scale = 2.0 / math.log(10.0)
    for _ in range(3):
        inner = np.maximum(rest + viscous * x, 1e-12)
        x = x - (x + scale * np.log(inner)) / (1.0 + scale * viscous / inner)
    share = np.clip((reynolds - 2000.0) / 2000.0, 0.0, 1.0)
    share = share * share * (3.0 - 2.0 * share)
    factor = (1.0 - share) * 64.0 / reynolds + share / (x * x)
    head = 0.5 * density * speed * speed
    return (factor * length / bore + k) * head + k1 * 0.5 * viscosity * speed / bore


def library_drop(
    flow: float, bore: float, length: float, k1: float, k: float, density: float, viscosity: float, rough: float
) -> float:
    """Loss of a line with `fluids`, called anew for each."""
    speed = flow / (0.25 * math.pi * bore * bore)
    reynolds = fluids.Reynolds(V=speed, D=bore, rho=density, mu=viscosity)
    if reynolds <= 0.0:
        return 0.0
    factor = fluids.friction_factor(reynolds, rough / bore)
    total = fluids.K_from_f(factor, length, bore) + k + k1 / reynolds
    return float(fluids.dP_from_K(total, density, speed))


ARRAYS = Ops(np.sqrt, np.ceil, np.maximum, np.minimum, np.where, array_drop)
SCALARS = Ops(math.sqrt, math.ceil, max, min, lambda c, a, b: a if c else b, library_drop)


def corner(
    ops: Ops, tables: Tables, axle: AxleTask, s: Any, c: Any, line: Any, valve: Any, spool: Any, checks: Any
) -> Any:
    """(whether every constraint of one axle's corners holds, their key's eight numbers)."""
    task, laws = tables.task, tables.laws
    cylinders, lines, valves = task.catalogue.cylinders, task.catalogue.lines, task.catalogue.valves
    settings, factors, oils = task.settings, task.factors, task.oils
    high, low, back = settings.high[s], settings.supply_low[s], settings.back[s]
    limit = relief_factor() * high
    bore, rod, through = cylinders.bore[c], cylinders.rod[c], cylinders.through[c]
    quarter = 0.25 * math.pi
    cap, annulus = quarter * (bore * bore - through * rod * rod), quarter * (bore * bore - rod * rod)
    glands, gap, inside = 1.0 + through, cylinders.clearance[c], MEAN_CHAMBER_SHARE * high
    length = CLEARANCE_LENGTH * bore
    tight = gap > 0.0
    some_gap = ops.where(tight, gap, 1.0)

    def grip(diameter: Any, section: Any, squeeze: Any) -> Any:
        load = SEAL_MODULUS * section * (1.25 * squeeze**1.5 + 50.0 * squeeze**6) + inside * section * SEAL_CONTACT
        return cylinders.friction_coefficient[c] * math.pi * diameter * load

    constant = ops.where(
        tight,
        0.0,
        grip(bore, cylinders.bore_section[c], cylinders.bore_squeeze[c])
        + glands * grip(rod, cylinders.rod_section[c], cylinders.rod_squeeze[c]),
    )
    leak = ops.where(
        tight,
        math.pi * (bore + glands * rod) * gap**3 * (1.0 + 1.5 * CLEARANCE_ECCENTRICITY**2) * inside
        / (12.0 * oils.viscosity[1] * length),
        0.0,
    )  # fmt: skip
    burst = factors.burst * limit
    bearable = burst < STEEL_TENSILE
    ratio = ops.where(bearable, (STEEL_TENSILE + burst) / ops.where(bearable, STEEL_TENSILE - burst, 1.0), 1.0)
    needed = ops.maximum(0.5 * bore * (ops.sqrt(ratio) - 1.0), ops.maximum(SMALLEST_WALL, WALL_SHARE * bore))
    outer = bore + 2.0 * ops.ceil(needed / WALL_STEP - 1e-9) * WALL_STEP
    shape = PROPORTIONS
    piston = ops.maximum(shape.piston * bore, shape.piston_minimum)
    gland = ops.maximum(shape.gland * bore, shape.gland_minimum)
    end = ops.where(through, gland, ops.maximum(shape.cap * bore, shape.cap_minimum))
    mount, chamber = shape.mount * rod, axle.stroke + piston
    retracted = chamber + gland + end + mount + through * axle.stroke
    rod_length = chamber + gland + 0.5 * mount + through * (gland + axle.stroke)
    mounts = quarter * 4.0 * rod * rod * 0.5 * mount
    metal = quarter * (outer**2 - bore**2) * chamber + quarter * (outer**2 - rod**2) * gland
    metal = metal + quarter * (outer**2 - through * rod**2) * end + mounts
    metal = metal + quarter * (bore**2 - rod**2) * piston + quarter * rod**2 * rod_length
    oil = 0.5 * axle.stroke * (cap + annulus)
    slenderness = (retracted + axle.stroke) / (0.25 * rod)
    euler = math.pi**2 * STEEL_MODULUS / (slenderness * slenderness)
    column = (
        quarter
        * rod
        * rod
        * ops.where(euler <= 0.5 * STEEL_YIELD, euler, STEEL_YIELD * (1.0 - 0.25 * STEEL_YIELD / euler))
    )
    line_bore, tube_bore = lines.bore[line], lines.tube_bore[line]
    volume = quarter * (tube_bore * tube_bore * axle.tube_length + line_bore * line_bore * axle.hose_length)
    inertance = oils.density[0] / quarter * (axle.tube_length / tube_bore**2 + axle.hose_length / line_bore**2)
    modulus, hose = settings.modulus[s], axle.hose_length * lines.expansion[line]
    alpha = ((volume + DEAD_VOLUME_SHARE * cap * axle.stroke) / modulus + hose) * modulus / cap
    beta = ((volume + DEAD_VOLUME_SHARE * annulus * axle.stroke) / modulus + hose) * modulus / annulus
    root = ops.sqrt(cap / annulus)
    place = ops.minimum(ops.maximum((root * (axle.stroke + beta) - alpha) / (1.0 + root), 0.0), axle.stroke)
    stiffness = cap * modulus / (place + alpha) + annulus * modulus / (axle.stroke - place + beta)
    mass_seen = axle.mass + inertance * (cap * cap + annulus * annulus)
    frequency = ops.sqrt(stiffness / mass_seen) / (2.0 * math.pi)
    peak = float(axle.speeds[-1])
    ok = bearable & (outer <= axle.outer_limit) & (retracted <= axle.length_limit)
    ok = ok & (column >= factors.buckling * high * cap) & (frequency >= factors.stiffness_ratio * axle.bandwidth)
    ok = ok & (valves.bandwidth[valve] >= factors.valve_ratio * axle.bandwidth)
    ok = ok & (lines.rating[line] >= limit) & (valves.rating[valve] >= high)
    bends = axle.bends * 0.066 * (1.0 + 3.9 / (tube_bore / 0.0254) ** 0.3) + 0.5 * JOINTS_PER_LINE
    scale = ops.where(spool == 1, annulus / cap, 1.0)
    makeup = ops.where(checks, settings.makeup[s], -1e30)
    for t in range(2):
        per_speed = ops.where(tight, oils.viscosity[t] * math.pi * (bore + glands * rod) * length / some_gap, 0.0)
        ok = ok & (constant + per_speed * peak <= axle.force_rms)
        gain, transition = tables.gains[valve, t], tables.transitions[valve, t]
        for i in range(axle.force.size):
            speed, side = float(axle.speeds[axle.speed_index[i]]), float(axle.direction[i])
            force = float(axle.force[i]) * factors.force
            extends = side > 0.0 or (side == 0.0 and force >= 0.0)
            inlet_area, outlet_area = (cap, annulus) if extends else (annulus, cap)
            load = force * (1.0 if extends else -1.0) + (constant + per_speed * speed if side != 0.0 else 0.0)
            losses = []
            for area in (inlet_area, outlet_area):
                tube = ops.drop(
                    area * speed, tube_bore, axle.tube_length, axle.bends * 800.0, bends, oils.density[t],
                    oils.viscosity[t], lines.roughness[line],
                )  # fmt: skip
                losses.append(tube + ops.drop(
                    area * speed, line_bore, axle.hose_length, 0.0, 0.0, oils.density[t], oils.viscosity[t],
                    lines.roughness[line],
                ))  # fmt: skip
            for supply in (low, high):
                stall = supply * inlet_area - back * outlet_area
                if speed == 0.0:
                    inlet = 0.5 * (supply + back)
                    outlet = (inlet * inlet_area - load) / outlet_area
                    opens = load <= stall
                else:
                    rest = (supply - losses[0]) * inlet_area - (back + losses[1]) * outlet_area - load
                    moves = rest > 0.0
                    rest = ops.where(moves, rest, 1.0)
                    flow_in, flow_out = inlet_area * speed, outlet_area * speed
                    scale_in, scale_out = (1.0, scale) if extends else (scale, 1.0)
                    gain_in, gain_out = gain * scale_in, gain * scale_out
                    term_in = (flow_in**2 + flow_in * transition * scale_in) / gain_in**2
                    term_out = (flow_out**2 + flow_out * transition * scale_out) / gain_out**2
                    square = (inlet_area * term_in + outlet_area * term_out) / rest
                    inlet = supply - losses[0] - term_in / square
                    fed = inlet < makeup
                    inlet = ops.where(fed, makeup, inlet)
                    outlet = ops.where(
                        fed, (makeup * inlet_area - load) / outlet_area, back + losses[1] + term_out / square
                    )
                    over = outlet - back - losses[1]
                    square = ops.where(fed, term_out / ops.where(over > 0.0, over, 1e-30), square)
                    opens = moves & (square <= factors.opening**2) & (load <= stall)
                ok = ok & (inlet <= limit) & (outlet <= limit)
                if supply is low:
                    ok = ok & opens & (inlet >= factors.lowest_chamber) & (outlet >= factors.lowest_chamber)
    rated = valves.rated_flow[valve] * 6e4
    spill = valves.leakage[valve] * ops.sqrt(high / valves.reference_pressure[valve])
    joints = JOINTS_PER_LINE * laws.joint * (line_bore * 1e3) ** laws.joint_power
    mass = metal * STEEL_DENSITY + oil * oils.density[0] + valves.mass[valve] + laws.block * rated**laws.block_power
    mass = mass + laws.sensor * (bore * 1e3) ** laws.sensor_power + 2.0 * (
        lines.tube_kg_m[line] * axle.tube_length + lines.hose_kg_m[line] * axle.hose_length
        + volume * oils.density[0] + joints
    )  # fmt: skip
    mass = mass + checks * 2.0 * laws.check * (cap * peak * 6e4) ** laws.check_power
    n = axle.corners
    return ok, (
        n * mass, cap, annulus, (cap - annulus) * axle.stroke * n, n * (leak + spill), n * valves.holding_power[valve],
        n * valves.peak_power[valve], n * (oil + 2.0 * volume),
    )  # fmt: skip


def whole(ops: Ops, tables: Tables, design: dict[str, Any]) -> tuple[Any, Any, Any, Any]:
    """(feasible, mass, mean power, peak current) of designs given by catalogue rows; arrays or scalars alike."""
    task, p, s = tables.task, tables.plant, design["setting"]
    oils, laws, options = task.oils, unit_laws(), unit_options(task)
    pumps, motors, stores = task.catalogue.pumps, task.catalogue.motors, task.catalogue.accumulators
    sides, ok = [], True
    for index, axle in enumerate(task.axles):
        side = task.demand.axles[index].position
        met, key = corner(ops, tables, axle, s, *(design[f"{side} {k}"] for k in PARTS))
        ok = ok & met
        sides.append(key)
    front, rear = sides
    pump, motor, control, a = design["pump"], design["motor"], design["control"], design["store"]
    high = task.settings.high[s]
    speed = ops.minimum(motors.rated_speed[motor], pumps.max_speed[pump])
    d, slip = pumps.displacement[pump], pumps.slip[pump]
    most = d * (speed - slip * high / oils.viscosity[1])
    ok = ok & (pumps.max_pressure[pump] >= high) & (speed >= pumps.min_speed[pump]) & (most > 0.0)
    most = ops.maximum(most, 1e-12)
    base = high * (1.0 + pumps.coulomb[pump]) + pumps.constant[pump]
    torque = [d * (base + pumps.drag[pump] * oils.viscosity[t] * speed) for t in range(2)]
    ok = ok & (torque[1] * options.torque_margin <= motors.rated_torque[motor])
    ok = ok & (torque[0] <= motors.peak_torque[motor])
    supply, served = _tube(ops, options.supply[task.settings.pressure[s]], options.supply_mass, most)
    suction, fed = _tube(ops, options.suction[pump], options.suction_mass, most)
    ok = ok & served & fed
    unit_mass = (
        pumps.mass[pump] + motors.mass[motor] + supply + suction + laws.relief * (most * 6e4) ** laws.relief_power
        + laws.coupling * (motors.rated_torque[motor] * motors.rated_speed[motor]) ** laws.coupling_power
        + ops.where(
            control == UNLOADING,
            laws.unloading * (most * 6e4) ** laws.unloading_power,
            laws.check * (most * 6e4) ** laws.check_power,
        )
    )  # fmt: skip

    def drawn(n: Any, pressure: Any, t: int) -> tuple[Any, Any]:
        shaft_torque = d * (
            pressure * (1.0 + pumps.coulomb[pump]) + pumps.constant[pump] + pumps.drag[pump] * oils.viscosity[t] * n
        )
        iron, pace = motors.iron_loss[motor] * n / motors.rated_speed[motor], n / motors.rated_speed[motor]
        loss = motors.copper_loss[motor] * (shaft_torque / motors.rated_torque[motor]) ** 2
        loss = loss + iron * (options.iron_share + (1.0 - options.iron_share) * pace)
        bus = (1.0 + motors.electronics_fraction[motor]) * (shaft_torque * n + loss) + motors.standby[motor]
        return bus, shaft_torque * n

    idle_pressure = ops.maximum(IDLE_PRESSURE_SHARE * high, IDLE_PRESSURE_LEAST)

    def power(flow: Any, t: int) -> tuple[Any, Any]:
        full, idle = drawn(speed, high, t), drawn(speed, idle_pressure, t)
        slowest = ops.maximum(flow / d + slip * high / oils.viscosity[t], pumps.min_speed[pump])
        if t == 0:
            least = ops.maximum(d * pumps.min_speed[pump] - d * slip * high / oils.viscosity[1], 0.0)
            slowest = ops.maximum(flow, least) / d + slip * high / oils.viscosity[0]
        turned = drawn(slowest, high, t)
        return tuple(  # type: ignore[return-value]
            ops.where(control == SPEED, turned[k], ops.where(
                control == RELIEF, full[k], idle[k] + (full[k] - idle[k]) * flow / most
            ))
            for k in range(2)
        )  # fmt: skip

    leak = front[4] + rear[4]
    usable = most / p.flow_margin - leak
    duties, volume = task.duties, stores.volume[a]
    bus, heat = (p.standby_share * x for x in power(leak, 1))
    peak, mean, needed = 0.0, 0.0, 0.0
    for k in range(duties.share.size):
        flows = [0.0, 0.0, 0.0, 0.0]
        step = duties.in_step[k]
        for j, key in enumerate((front, rear)):
            n = duties.corners[j]
            swept = n * duties.velocity_peak[k, j]
            flows[0] = flows[0] + swept * (step * key[1] + (1.0 - step) * key[2])
            flows[1] = flows[1] + swept * (step * key[2] + (1.0 - step) * key[1])
            flows[2] = flows[2] + n * duties.velocity_mean[k, j] * 0.5 * (key[1] + key[2])
            if duties.burst[k] > 0.0:
                flows[3] = (
                    flows[3] + n * (key[1] * duties.path_out[k, j] + key[2] * duties.path_in[k, j]) / duties.burst[k]
                )
        if duties.burst[k] == 0.0:
            flows[3] = flows[2]
        peak, mean = ops.maximum(peak, ops.maximum(flows[0], flows[1])), ops.maximum(mean, flows[2])
        stored = _BURST[ops](flows[0], flows[1], duties.ripple[k], flows[3], duties.burst[k], usable)
        needed = ops.maximum(needed, stored)
        at_mean = power(ops.minimum(flows[2] + leak, most), 1)
        bus = bus + duties.share[k] * at_mean[0]
        heat = heat + duties.share[k] * (at_mean[1] + duties.absorbed[k])
    heat = ops.maximum(heat, 0.0)
    without = volume <= 0.0
    ok = ok & ops.where(without, peak <= usable * (1 + 1e-12), mean <= usable * (1 + 1e-12))
    gives = tables.delivered[s] * volume * ops.where(control == UNLOADING, p.unloading_reserve, 1.0)
    ratio = (high + 101325.0) / (tables.precharge[s] + 101325.0)
    bears = (stores.max_pressure[a] >= high) & (stores.max_ratio[a] >= ratio) & (needed <= gives * (1 + 1e-12))
    ok = ok & ops.where(without, (task.settings.window[s] == 0) & (control != UNLOADING), bears & (gives > 0.0))
    pump_mean = ops.where(control == RELIEF, most, mean + leak)
    store_oil = tables.held[s] * volume
    lowest, difference = pump_mean * p.dwell, front[3] + rear[3] + store_oil
    oil = lowest + difference + p.swelling * (lowest + difference + front[7] + rear[7])
    back_flow = ops.maximum(peak, pump_mean)
    back_line, passed = _tube(ops, tables.return_capacity[s], tables.return_mass, back_flow)
    ok = ok & passed
    cooled = design["cooled"]
    size = _size(oil * (1.0 + p.air_share), RESERVOIR_VOLUMES)
    size = ops.where(cooled, size, ops.maximum(size, _size(heat, tables.conductance * p.temperature_rise)))
    ok = ok & (size < RESERVOIR_VOLUMES.size)
    size = ops.minimum(size, RESERVOIR_VOLUMES.size - 1)
    cooler = ops.where(cooled, heat, 0.0)
    mass = front[0] + rear[0] + unit_mass + stores.mass[a] + (store_oil + oil) * p.oil_density + back_line
    mass = mass + p.filter_mass * (back_flow * p.filter_flow_factor * 6e4) ** p.filter_power
    mass = mass + p.reservoir_mass * (RESERVOIR_VOLUMES[size] * 1e3) ** p.reservoir_power
    mass = mass + p.cooler_mass * (cooler * 1e-3) ** p.cooler_power
    total = bus + front[5] + rear[5] + p.fan_share * cooler
    at = ops.where((control == SPEED) & without, ops.minimum(peak + leak, most), most)
    top = ops.maximum(power(at, 1)[0], power(at, 0)[0]) + front[6] + rear[6] + p.fan_share * cooler
    current = top / p.voltage
    return ok & (current <= p.current_limit) & (mass <= p.mass_limit), mass, total, current


PARTS = ("cylinder", "line", "valve", "spool", "checks")


def _tube(ops: Ops, capacity: Any, masses: Any, flow: Any) -> tuple[Any, Any]:
    if ops is ARRAYS:
        lightest = np.where(capacity >= np.asarray(flow)[..., None], masses, np.inf).min(axis=-1)
        return np.where(np.isfinite(lightest), lightest, 0.0), np.isfinite(lightest)
    fitting = [m for c, m in zip(capacity.tolist(), masses.tolist(), strict=True) if c >= flow]
    return (min(fitting), True) if fitting else (0.0, False)


def _size(needed: Any, sizes: Any) -> Any:
    return np.searchsorted(sizes, needed)


def _array_burst(out: Any, back: Any, frequency: float, mean: Any, duration: float, pump: Any) -> Any:
    drift = np.maximum(0.0, mean - pump) * duration
    if frequency <= 0.0:
        return drift
    humps, lull = [], 0.0
    for peak in (out, back):
        angle = np.arcsin(np.clip(pump / peak, 0.0, 1.0))
        humps.append(np.where(peak <= pump, 0.0, 2.0 * peak * np.cos(angle) - pump * (math.pi - 2.0 * angle)))
        lull = lull + pump * angle - peak * (1.0 - np.cos(angle))
    worst = np.maximum(np.maximum(humps[0], humps[1]), humps[0] + humps[1] - lull)
    return drift + worst / (2.0 * math.pi * frequency)


_BURST: dict[Ops, Any] = {ARRAYS: _array_burst, SCALARS: burst_volume}
