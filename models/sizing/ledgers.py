"""Ledgers of a plant: pressure, flow, power, heat and mass, each from its own terms, none from a remainder alone.

Power is built from the pump and machine equations, not from the quadratics the search used, so that its residual tests
them. Every ledger's terms sum to its total.
"""

from __future__ import annotations

import math

import numpy as np

from models.drive.machine import bus_power, machine_loss
from models.hydraulics.pump import delivery, shaft_torque, speed_for_delivery
from models.quantity import plain
from models.sizing.account import BAR, L_MIN, Account, leakage
from models.sizing.central import (
    IDLE_PRESSURE_LEAST,
    IDLE_PRESSURE_SHARE,
    RELIEF,
    U_QMAX,
    U_SPEED,
    UNLOADING,
)
from models.sizing.corner import spool_point
from models.sizing.design import Ledger, Term
from models.sizing.halves import friction_of
from models.sizing.parts import parts_list


def ledger(name: str, unit: str, total: float, terms: list[tuple[str, float]], about: str) -> Ledger:
    """A ledger with its residual, (total − Σ terms) over the greatest of them."""
    scale = max(abs(total), *(abs(v) for _, v in terms), 1e-300)
    residual = (total - math.fsum(v for _, v in terms)) / scale
    return Ledger(name, unit, float(total), tuple(Term(n, float(v)) for n, v in terms), float(residual), about)


def pressure_ledger(state: Account, index: int) -> Ledger:
    """Supply pressure at the worst load point, spent from the rail through the load back to the reservoir, bar.

    Pressures of the emptying side are referred to the filling side by the ratio of areas.
    """
    tables, task, corner = state.tables, state.tables.task, state.choice.corners[index]
    axle, facts, s = task.axles[index], state.facts[index], state.choice.setting
    settings, c, line = task.settings, corner.cylinder, corner.line
    i = int(state.points[index][1])
    if i < 0:
        i = int(np.argmax(np.abs(axle.force)))
    v = int(axle.speed_index[i])
    speed = float(axle.speeds[v])
    makeup = float(settings.makeup[s]) if corner.checks else -math.inf
    high, low, back = float(settings.high[s]), float(settings.supply_low[s]), float(settings.back[s])
    side = axle.direction[i] if axle.direction[i] != 0.0 else (1.0 if axle.force[i] >= 0 else -1.0)
    if facts.annulus == 0.0:
        return _one_sided_ledger(state, index, i, speed)
    found = []
    for t in range(2):
        constant, per_speed = friction_of(
            task.catalogue.cylinders, c, facts.cap, high, task.oils.viscosity[t], tables.measured
        )
        friction = constant + per_speed * speed if speed > 0.0 else 0.0
        drops = tables.drops[index][c, line, :, t, v]
        opening, inlet, outlet, _, _ = spool_point(
            float(axle.force[i]) * task.factors.force, float(axle.direction[i]), speed, facts.cap, facts.annulus,
            corner.spool == 1, tables.gains[corner.valve, t], tables.transitions[corner.valve, t], friction, drops[0],
            drops[1], low, back, makeup,
        )  # fmt: skip
        found.append((opening, inlet, outlet, friction, drops))
    opening, inlet, outlet, friction, drops = max(found, key=lambda item: item[0])
    cap_fills = side > 0.0
    inlet_area, outlet_area = (facts.cap, facts.annulus) if cap_fills else (facts.annulus, facts.cap)
    drop_in, drop_out = (drops[0], drops[1]) if cap_fills else (drops[1], drops[0])
    ratio = outlet_area / inlet_area
    allowance = float(settings.line_allowance[s])
    bias = float(settings.bias[s])
    rail = float(settings.low[s])
    load = float(axle.force[i]) * task.factors.force * side
    if not math.isfinite(opening):
        lacking = rail - allowance - drop_in - (load + friction) / inlet_area - ratio * (drop_out + back)
        return ledger(
            f"pressure, {task.demand.axles[index].position}", "bar", rail / BAR,
            [
                ("load", load / inlet_area / BAR), ("seal friction", friction / inlet_area / BAR),
                ("lines and return", (allowance + drop_in + ratio * (drop_out + back)) / BAR),
                ("lacking", lacking / BAR),
            ],
            "no opening moves this load: the negative term is what the supply lacks",
        )  # fmt: skip
    terms = [
        ("supply line, loss allowed", allowance),
        ("valve, meter-in", low - drop_in - inlet),
        ("corner line in", drop_in),
        ("load", load / inlet_area),
        ("seal friction", friction / inlet_area),
        ("corner line out", ratio * drop_out),
        ("valve, meter-out", ratio * (outlet - drop_out - back)),
        ("return line and filter, loss allowed", ratio * allowance),
        ("return bias", ratio * bias),
    ]
    if speed <= 0.0:
        terms = [t for t in terms if "line in" not in t[0] and "line out" not in t[0]]
        terms[1] = ("valve, shut: supply side", low - inlet)
        terms[4] = ("valve, shut: return side", ratio * (outlet - back))
        terms[3] = ("seal friction (at rest)", 0.0)
    return ledger(
        f"pressure, {task.demand.axles[index].position}", "bar", rail / BAR, [(n, v / BAR) for n, v in terms],
        f"lowest rail pressure at {plain(axle.force[i], 4)} N, {axle.direction[i] * speed:.4g} m/s, "
        f"{'cold' if found[0][0] >= found[1][0] else 'hot'} "
        "oil; emptying side referred to the filling side's area",
    )  # fmt: skip


def _one_sided_ledger(state: Account, index: int, i: int, speed: float) -> Ledger:
    """`pressure_ledger` of a single-acting cylinder: supply to load while it fills, load to return while it empties."""
    tables, task, corner = state.tables, state.tables.task, state.choice.corners[index]
    axle, facts, settings, s = task.axles[index], state.facts[index], task.settings, state.choice.setting
    high, low, back = float(settings.high[s]), float(settings.supply_low[s]), float(settings.back[s])
    load, direction = float(axle.force[i]) * task.factors.force / facts.cap, float(axle.direction[i])
    found = []
    for t in range(2):
        constant, per_speed = friction_of(
            task.catalogue.cylinders, corner.cylinder, facts.cap, high, task.oils.viscosity[t], tables.measured
        )
        friction = (constant + per_speed * speed) / facts.cap if speed > 0.0 else 0.0
        drop = float(tables.drops[index][corner.cylinder, corner.line, 0, t, int(axle.speed_index[i])])
        found.append((friction, drop if speed > 0.0 else 0.0))
    friction, drop = max(found, key=sum)
    allowance, rail, bias = float(settings.line_allowance[s]), float(settings.low[s]), float(settings.bias[s])
    name = f"pressure, {task.demand.axles[index].position}"
    if direction < 0.0:
        terms = [
            ("seal friction", friction), ("corner line out", drop), ("valve, meter-out", load - friction - drop - back),
            ("return line and filter, loss allowed", allowance), ("return bias", bias),
        ]  # fmt: skip
        total, about = load, "pressure of the load, spent on the way to the reservoir"
    else:
        valve = low - drop - load - friction
        terms = [
            ("supply line, loss allowed", allowance), ("valve, meter-in", valve), ("corner line in", drop),
            ("load", load), ("seal friction", friction),
        ]  # fmt: skip
        total, about = rail, "lowest rail pressure, spent on the way to the load"
    where = f"{about}, at {plain(axle.force[i], 4)} N, {direction * speed:.4g} m/s; rod side vented, port B plugged"
    return ledger(name, "bar", total / BAR, [(n, v / BAR) for n, v in terms], where)


def state_flows(state: Account) -> list[tuple[float, float]]:
    """(share of time, pump flow wanted) of each duty and of standby, leakage included, m³/s."""
    duties, lost = state.tables.task.duties, leakage(state)
    flows = [(float(share), float(flow) + lost) for share, flow in zip(duties.share, state.flows[:, 2], strict=True)]
    return [*flows, (state.tables.task.demand.standby_share, lost)]


def lacking_flow(state: Account) -> float:
    """Share-of-time mean of the flow the pump cannot give, m³/s; 0 for a feasible plant."""
    greatest = float(state.unit[U_QMAX])
    return sum(share * max(0.0, wanted - greatest) for share, wanted in state_flows(state))


def corner_mean_flows(state: Account) -> list[tuple[str, float]]:
    """Share-of-time mean supply flow into each axle's cylinders, m³/s."""
    found: list[tuple[str, float]] = []
    for index, axle in enumerate(state.tables.task.demand.axles):
        facts = state.facts[index]
        speed = sum(d.share_of_time * d.velocity_mean_abs for d in axle.duties)
        found.append((axle.position, axle.corners * 0.5 * (facts.cap + facts.annulus) * speed))
    return found


def flow_ledger(state: Account) -> Ledger:
    """Pump delivery in the share-of-time mean, and where it goes, L/min."""
    pump = pump_account(state)
    terms = [(f"{where} cylinders", flow / L_MIN) for where, flow in corner_mean_flows(state)]
    for index, axle in enumerate(state.tables.task.demand.axles):
        facts = state.facts[index]
        terms.append((f"{axle.position} valves, null leakage", axle.corners * facts.valve_leakage / L_MIN))
        terms.append((f"{axle.position} seals, leakage", axle.corners * facts.seal_leakage / L_MIN))
    terms.append(("over the relief valve", pump["spill"] / L_MIN))
    lack = lacking_flow(state)
    if lack > 0.0:
        terms.append(("not delivered, pump too small", -lack / L_MIN))
    return ledger("flow", "L/min", pump["delivered"] / L_MIN, terms, "share-of-time mean under pressure, hot oil")


def pump_account(state: Account) -> dict[str, float]:
    """Share-of-time means of the pump and motor, from their own equations: powers W, flows m³/s.

    Keys: bus, electronics, copper and iron together as machine, pump (loss), idle (circulated unloaded), hydraulic
    (delivered under pressure times pressure), delivered, spill, shaft.
    """
    task, choice = state.tables.task, state.choice
    pumps, motors, p, m = task.catalogue.pumps, task.catalogue.motors, choice.pump, choice.motor
    pressure, viscosity = float(task.settings.high[choice.setting]), float(task.oils.viscosity[1])
    d, slip = float(pumps.displacement[p]), float(pumps.slip[p])
    full = float(state.unit[U_SPEED])
    total = dict.fromkeys(
        ("bus", "electronics", "machine", "pump", "idle", "hydraulic", "delivered", "spill", "shaft"), 0.0
    )

    def add(share: float, speed: float, head: float, wanted: float, idle: bool) -> None:
        torque = shaft_torque(d, speed, head, viscosity, pumps.drag[p], pumps.coulomb[p], pumps.constant[p])
        shaft = torque * speed
        loss = machine_loss(
            torque, speed, motors.rated_torque[m], motors.rated_speed[m], motors.copper_loss[m], motors.iron_loss[m]
        )
        bus = bus_power(shaft, loss, motors.electronics_fraction[m], motors.standby[m])
        # where the pump slips more than it displaces, the pressure is not reached and nothing comes out
        flow = d * speed if idle else max(0.0, float(delivery(d, speed, head, viscosity, slip)))
        total["bus"] += share * bus
        total["machine"] += share * loss
        total["electronics"] += share * (bus - shaft - loss)
        total["shaft"] += share * shaft
        total["pump"] += share * (shaft - flow * head)
        if idle:
            total["idle"] += share * flow * head
        else:
            total["hydraulic"] += share * flow * head
            total["delivered"] += share * flow
            total["spill"] += share * max(0.0, flow - wanted)

    greatest = float(state.unit[U_QMAX])
    for share, wanted in state_flows(state):
        flow = min(wanted, greatest)
        if choice.control == RELIEF:
            add(share, full, pressure, flow, False)
        elif choice.control == UNLOADING:
            part = flow / greatest
            add(share * part, full, pressure, greatest, False)
            add(share * (1.0 - part), full, max(IDLE_PRESSURE_SHARE * pressure, IDLE_PRESSURE_LEAST), 0.0, True)
        else:
            speed = max(speed_for_delivery(d, flow, pressure, viscosity, slip), float(pumps.min_speed[p]))
            add(share, speed, pressure, flow, False)
    return total


def power_ledger(state: Account) -> Ledger:
    """Mean electric power and where it goes, W."""
    task, pump = state.tables.task, pump_account(state)
    pressure = float(task.settings.high[state.choice.setting])
    terms = [
        ("motor electronics", pump["electronics"]),
        ("motor, copper and iron", pump["machine"]),
        ("pump, slip and friction", pump["pump"]),
        ("idle circulation", pump["idle"]),
        ("over the relief valve", pump["spill"] * pressure),
        ("valve coils and electronics", float(state.keys[0][5] + state.keys[1][5])),
        ("cooler fan", state.tables.plant.fan_share * state.plant.cooler_heat),
    ]
    flows = dict(corner_mean_flows(state))
    for index, axle in enumerate(task.demand.axles):
        facts, n = state.facts[index], axle.corners
        speed = sum(d.share_of_time * d.velocity_mean_abs for d in axle.duties)
        work = n * sum(d.share_of_time * d.mean_power for d in axle.duties)
        friction = n * facts.friction * speed
        supplied = pressure * flows[axle.position]
        terms += [
            (f"{axle.position} valves and seals, leakage", n * (facts.valve_leakage + facts.seal_leakage) * pressure),
            (f"{axle.position} cylinders, seal friction", friction),
            (f"{axle.position} cylinders, work on the wheel", work),
            (f"{axle.position} valves and lines, throttling", supplied - friction - work),
        ]
    lack = lacking_flow(state)
    if lack > 0.0:
        terms.append(("not delivered, pump too small", -lack * pressure))
    return ledger("power", "W", state.plant.power, terms, "share-of-time mean, hot oil; bus to wheel")


def heat_ledger(state: Account) -> Ledger:
    """Heat in the mean: what the bus and the road put in, and where it leaves, W."""
    pump, plant = pump_account(state), state.plant
    task = state.tables.task
    absorbed = float(np.dot(task.duties.share, task.duties.absorbed))
    fan = state.tables.plant.fan_share * plant.cooler_heat
    coils = float(state.keys[0][5] + state.keys[1][5])
    by_reservoir = plant.heat - plant.cooler_heat
    terms = [
        ("reservoir to the air", by_reservoir),
        ("cooler to the air", plant.cooler_heat),
        ("motor to the air", pump["machine"]),
        ("motor electronics to the air", pump["electronics"]),
        ("valve coils and electronics to the air", coils),
        ("cooler fan", fan),
    ]
    net = pump["shaft"] + absorbed - plant.heat
    if abs(net) > 1e-9 * plant.power:
        terms.append(("work on the wheel, not heat", net))
    total = plant.power + absorbed
    return ledger("heat", "W", total, terms, "electric power plus what the actuators absorb from the road, mean")


def mass_ledger(state: Account) -> Ledger:
    """Mass of every part, kg, against the search's own sum."""
    terms = [(part.part, part.mass) for part in parts_list(state)]
    return ledger("mass", "kg", state.plant.mass, terms, "mounted, wet; battery, controller and brackets not counted")


def all_ledgers(state: Account) -> tuple[Ledger, ...]:
    """Pressure of each axle, flow, power, heat and mass."""
    pressures = [pressure_ledger(state, i) for i in range(len(state.choice.corners))]
    return (*pressures, flow_ledger(state), power_ledger(state), heat_ledger(state), mass_ledger(state))
