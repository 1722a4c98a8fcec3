"""The search's second half: front half × rear half × central unit × accumulator at every supply setting.

What is kept is the exact front of undominated plants over mass, mean electric power and peak current, from which the
least under any objective that rises with these is read. A pair is passed over only when bounds on its best mass, power
and current are already beaten by a plant in the front. `plant` is the one account of a whole plant's numbers.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from models.sizing.catalogue import Accumulators, Floats
from models.sizing.central import (
    RELIEF,
    SPEED,
    U_BUS0,
    U_COLD0,
    U_CONTROL,
    U_MASS,
    U_QMAX,
    U_SHAFT0,
    UNLOADING,
    lightest_tube,
    unit_power,
)
from models.sizing.task import Duties

DESIGN_COLUMNS = 5
"""Columns of a plant in the front: setting, front half row, rear half row, unit row, accumulator row."""


class PlantTask(NamedTuple):
    """Limits, margins and estimated masses of the whole plant; SI, unbounded limits 1e30."""

    flow_margin: float
    unloading_reserve: float
    dwell: float
    air_share: float
    swelling: float  # expansion times temperature rise of the oil
    oil_density: float
    heat_capacity: float
    temperature_rise: float  # oil limit over ambient, K
    voltage: float
    current_limit: float
    mass_limit: float
    standby_share: float
    filter_flow_factor: float  # rated over actual flow, for cold oil
    filter_mass: float
    filter_power: float
    reservoir_mass: float
    reservoir_power: float
    cooler_mass: float
    cooler_power: float
    fan_share: float  # fan watts per watt the cooler rejects
    return_length: float


class Plant(NamedTuple):
    """Numbers of one plant. Power W, flow m³/s, mass kg; `ok` False with `fault` naming what fails (0 none)."""

    fault: int
    mass: float
    power: float
    current: float
    pump_mean: float
    peak_flow: float
    heat: float
    cooler_heat: float
    store_needed: float
    reservoir: int
    return_tube: int
    filter_flow: float


FAULTS = ("", "pump_flow", "accumulator", "return_line", "reservoir", "current", "mass")
"""Names of `Plant.fault`."""


@njit(cache=True, error_model="numpy")
def burst_volume(out: float, back: float, frequency: float, mean: float, duration: float, pump: float) -> float:
    """Largest cumulative excess of demand over pump flow, m³.

    Demand is a half sine of peak `out` while extending and of peak `back` while retracting (m³/s) at `frequency`, of
    mean `mean` during a burst of `duration`; `pump` is what the pump gives the corners. With no frequency it is steady.
    The worst window holds one hump, or both with the lull between; a pump below the burst's mean adds its lack over
    the duration. Source: derived.
    """
    drift = max(0.0, mean - pump) * duration
    if frequency <= 0.0:
        return drift
    omega = 2.0 * math.pi * frequency
    first = hump(out, pump) / omega
    second = hump(back, pump) / omega
    lull = 0.0
    for peak in (out, back):
        angle = math.asin(min(1.0, pump / peak)) if peak > 0.0 else 0.5 * math.pi
        lull += (pump * angle - peak * (1.0 - math.cos(angle))) / omega
    return drift + max(first, second, first + second - lull)


@njit(cache=True, error_model="numpy")
def hump(peak: float, pump: float) -> float:
    """∫ of peak·sin θ − pump over the part of a half sine above the pump flow, in m³/s·rad."""
    if peak <= pump:
        return 0.0
    angle = math.asin(max(pump, 0.0) / peak)
    return 2.0 * peak * math.cos(angle) - pump * (math.pi - 2.0 * angle)


@njit(cache=True, error_model="numpy")
def duty_flows(duties: Duties, d: int, front: Floats, rear: Floats) -> tuple[float, float, float, float]:
    """Supply flows of duty `d` for two halves' keys: peak while the in-step corners extend, peak while they retract,
    mean, and mean during the burst, m³/s, leakage not counted. A corner takes its cap area times v extending and its
    annulus times v retracting, whatever the load does."""
    out, back, mean, burst = 0.0, 0.0, 0.0, 0.0
    step = duties.in_step[d]
    for axle in range(2):
        key = front if axle == 0 else rear
        cap, annulus, n = key[1], key[2], duties.corners[axle]
        speed = n * duties.velocity_peak[d, axle]
        out += speed * (step * cap + (1.0 - step) * annulus)
        back += speed * (step * annulus + (1.0 - step) * cap)
        mean += n * duties.velocity_mean[d, axle] * 0.5 * (cap + annulus)
        if duties.burst[d] > 0.0:
            burst += n * (cap * duties.path_out[d, axle] + annulus * duties.path_in[d, axle]) / duties.burst[d]
    return out, back, mean, burst if duties.burst[d] > 0.0 else mean


@njit(cache=True, error_model="numpy")
def plant(
    front: Floats,
    rear: Floats,
    unit: Floats,
    store_mass: float,
    store_volume: float,
    delivered: float,
    held: float,
    duties: Duties,
    flows: Floats,
    task: PlantTask,
    return_capacity: Floats,
    return_mass: Floats,
    reservoirs: Floats,
    conductance: Floats,
) -> Plant:
    """All numbers of one plant.

    front, rear: keys of the halves; store_*: accumulator (volume 0: none); delivered, held: per volume at this setting;
    flows: [duty, (out, back, mean, burst)] of this pair; return_capacity, return_mass: by tube; reservoirs (m³) with
    their conductance to the air at the oil limit (W/K), rising.
    """
    leak = front[4] + rear[4]
    usable = unit[U_QMAX] / task.flow_margin - leak
    peak, mean_flow, needed = 0.0, 0.0, 0.0
    bus = task.standby_share * unit_power(unit, U_BUS0, leak)
    shaft = task.standby_share * unit_power(unit, U_SHAFT0, leak)
    absorbed = 0.0
    for d in range(flows.shape[0]):
        peak = max(peak, flows[d, 0], flows[d, 1])
        mean_flow = max(mean_flow, flows[d, 2])
        if store_volume > 0.0:
            needed = max(
                needed,
                burst_volume(flows[d, 0], flows[d, 1], duties.ripple[d], flows[d, 3], duties.burst[d], usable),
            )
        share = duties.share[d]
        bus += share * unit_power(unit, U_BUS0, min(flows[d, 2] + leak, unit[U_QMAX]))
        shaft += share * unit_power(unit, U_SHAFT0, min(flows[d, 2] + leak, unit[U_QMAX]))
        absorbed += share * duties.absorbed[d]
    control = unit[U_CONTROL]
    store_oil = held * store_volume
    usable_store = delivered * store_volume * (task.unloading_reserve if control == UNLOADING else 1.0)
    fault = 0
    if (mean_flow if store_volume > 0.0 else peak) > usable * (1.0 + 1e-12):
        fault = 1
    elif needed > usable_store * (1.0 + 1e-12) or (control == UNLOADING and store_volume <= 0.0):
        fault = 2
    pump_mean = unit[U_QMAX] if control == RELIEF else mean_flow + leak
    heat = max(0.0, shaft + absorbed)
    difference = front[3] + rear[3] + store_oil
    elsewhere = front[7] + rear[7]
    lowest = pump_mean * task.dwell
    oil = lowest + difference + task.swelling * (lowest + difference + elsewhere)
    size = int(np.searchsorted(reservoirs, oil * (1.0 + task.air_share)))
    if size >= reservoirs.size:
        size = reservoirs.size - 1
        fault = fault if fault != 0 else 4
    cooler = max(0.0, heat - conductance[size] * task.temperature_rise)
    return_flow = max(peak, pump_mean)
    tube = lightest_tube(return_capacity, return_flow)
    if tube < 0:
        tube = return_capacity.size - 1
        fault = fault if fault != 0 else 3
    filter_flow = return_flow * task.filter_flow_factor
    mass = (
        front[0]
        + rear[0]
        + unit[U_MASS]
        + store_mass
        + store_oil * task.oil_density
        + return_mass[tube]
        + task.filter_mass * (filter_flow * 6e4) ** task.filter_power
        + task.reservoir_mass * (reservoirs[size] * 1e3) ** task.reservoir_power
        + oil * task.oil_density
    )
    if cooler > 0.0:
        mass += task.cooler_mass * (cooler * 1e-3) ** task.cooler_power
    power = bus + front[5] + rear[5] + task.fan_share * cooler
    if control == SPEED and store_volume <= 0.0:
        at = min(peak + leak, unit[U_QMAX])
    else:
        at = unit[U_QMAX]
    top = max(unit_power(unit, U_BUS0, at), unit_power(unit, U_COLD0, at)) + front[6] + rear[6]
    top += task.fan_share * cooler
    current = top / task.voltage
    if fault == 0 and current > task.current_limit * (1.0 + 1e-12):
        fault = 5
    if fault == 0 and mass > task.mass_limit * (1.0 + 1e-12):
        fault = 6
    return Plant(fault, mass, power, current, pump_mean, peak, heat, cooler, needed, size, tube, filter_flow)


@njit(cache=True, error_model="numpy")
def beaten(front: Floats, count: int, mass: float, power: float, current: float) -> bool:
    """Whether a plant of the front is at least as good in all three."""
    for i in range(count):
        if front[i, 0] <= mass and front[i, 1] <= power and front[i, 2] <= current:
            if i > 0:
                for k in range(3):
                    front[i, k], front[i - 1, k] = front[i - 1, k], front[i, k]
                for k in range(3, front.shape[1]):
                    front[i, k], front[i - 1, k] = front[i - 1, k], front[i, k]
            return True
    return False


@njit(cache=True, error_model="numpy")
def insert(front: Floats, count: int, row: Floats) -> int:
    """Put `row` into the front and take out what it beats; returns the new count."""
    kept = 0
    for i in range(count):
        if not (row[0] <= front[i, 0] and row[1] <= front[i, 1] and row[2] <= front[i, 2]):
            if kept != i:
                front[kept] = front[i]
            kept += 1
    front[kept] = row
    return kept + 1


@njit(cache=True, error_model="numpy")
def pair_base(
    front: Floats, rear: Floats, peak: float, mean: float, task: PlantTask, capacity: Floats, return_mass: Floats
) -> float:
    """Lower bound on the mass of any plant around a pair of halves, without unit, store and cooler, kg."""
    lowest = mean * task.dwell
    difference = front[3] + rear[3]
    oil = lowest + difference + task.swelling * (lowest + difference + front[7] + rear[7])
    flow = max(peak, mean)
    tube = lightest_tube(capacity, flow)
    if tube < 0:
        return math.inf
    return (
        front[0]
        + rear[0]
        + return_mass[tube]
        + task.filter_mass * (flow * task.filter_flow_factor * 6e4) ** task.filter_power
        + task.reservoir_mass * (oil * (1.0 + task.air_share) * 1e3) ** task.reservoir_power
        + oil * task.oil_density
    ) * (1.0 - 1e-12)


@njit(cache=True, error_model="numpy")
def join(
    front_keys: Floats,
    front_first: Floats,
    rear_keys: Floats,
    rear_first: Floats,
    units: Floats,
    unit_first: Floats,
    setting_order: Floats,
    setting_pressure: Floats,
    setting_window: Floats,
    setting_high: Floats,
    accumulators: Accumulators,
    delivered: Floats,
    held: Floats,
    precharge: Floats,
    duties: Duties,
    task: PlantTask,
    return_capacity: Floats,
    return_mass: Floats,
    reservoirs: Floats,
    conductance: Floats,
    capacity: int,
) -> tuple[Floats, int, int, int]:
    """The exact front: (rows, count, plants evaluated, plants feasible).

    Row: mass, power, current, then DESIGN_COLUMNS. units of pressure p: unit_first[p] to unit_first[p+1]; delivered,
    held, precharge by setting; return_capacity, return_mass: [setting, tube]; accumulators sorted by mass. Only the
    narrowest window may go without a store, for there the ripple of a supply without one is assumed. -1 count:
    `capacity` was too small.
    """
    best = np.empty((capacity, 3 + DESIGN_COLUMNS))
    count, evaluated, feasible = 0, 0, 0
    flows = np.empty((duties.share.size, 4))
    row = np.empty(3 + DESIGN_COLUMNS)
    for s in setting_order:
        p = int(setting_pressure[s])
        u0, u1 = int(unit_first[p]), int(unit_first[p + 1])
        if u0 == u1:
            continue
        lightest = math.inf
        for u in range(u0, u1):
            lightest = min(lightest, units[u, U_MASS])
        for f in range(int(front_first[s]), int(front_first[s + 1])):
            for r in range(int(rear_first[s]), int(rear_first[s + 1])):
                front, rear = front_keys[f], rear_keys[r]
                leak = front[4] + rear[4]
                valves = front[5] + rear[5]
                ideal, peak, mean = 0.0, 0.0, 0.0
                for d in range(duties.share.size):
                    flows[d, 0], flows[d, 1], flows[d, 2], flows[d, 3] = duty_flows(duties, d, front, rear)
                    ideal += duties.share[d] * (flows[d, 2] + leak)
                    peak, mean = max(peak, flows[d, 0], flows[d, 1]), max(mean, flows[d, 2])
                ideal = setting_high[s] * (ideal + task.standby_share * leak) + valves
                surges = (front[6] + rear[6]) / task.voltage
                base = pair_base(front, rear, peak, mean + leak, task, return_capacity[s], return_mass)
                if beaten(best, count, base + lightest, ideal, surges):
                    continue
                for u in range(u0, u1):
                    unit = units[u]
                    usable = unit[U_QMAX] / task.flow_margin - leak
                    if mean > usable * (1.0 + 1e-12):
                        continue
                    bus = valves + task.standby_share * unit_power(unit, U_BUS0, leak)
                    for d in range(duties.share.size):
                        bus += duties.share[d] * unit_power(unit, U_BUS0, flows[d, 2] + leak)
                    bus *= 1.0 - 1e-12
                    control = unit[U_CONTROL]
                    at = unit[U_QMAX]
                    if control == SPEED:
                        at = min(at, peak + leak)
                    top = max(unit_power(unit, U_BUS0, at), unit_power(unit, U_COLD0, at)) / task.voltage + surges
                    top *= 1.0 - 1e-12
                    if beaten(best, count, base + unit[U_MASS], bus, top):
                        continue
                    needed, smallest = -1.0, math.inf
                    for a in range(accumulators.volume.size):
                        volume = accumulators.volume[a]
                        if volume <= 0.0:
                            if setting_window[s] != 0 or control == UNLOADING or peak > usable * (1.0 + 1e-12):
                                continue
                        else:
                            if (
                                volume >= smallest
                                or accumulators.max_pressure[a] < setting_high[s]
                                or accumulators.max_ratio[a] < (setting_high[s] + 1e5) / (precharge[s] + 1e5)
                                or delivered[s] <= 0.0
                            ):
                                continue
                            if needed < 0.0:
                                needed = 0.0
                                for d in range(duties.share.size):
                                    needed = max(
                                        needed,
                                        burst_volume(
                                            flows[d, 0],
                                            flows[d, 1],
                                            duties.ripple[d],
                                            flows[d, 3],
                                            duties.burst[d],
                                            usable,
                                        ),
                                    )
                            gives = delivered[s] * volume * (task.unloading_reserve if control == UNLOADING else 1.0)
                            if needed > gives * (1.0 + 1e-12):
                                continue
                            smallest = volume
                        evaluated += 1
                        state = plant(
                            front, rear, unit, accumulators.mass[a], volume, delivered[s], held[s], duties, flows, task,
                            return_capacity[s], return_mass, reservoirs, conductance,
                        )  # fmt: skip
                        if state.fault != 0:
                            continue
                        feasible += 1
                        if beaten(best, count, state.mass, state.power, state.current):
                            continue
                        if count == capacity:
                            return best, -1, evaluated, feasible
                        row[0], row[1], row[2] = state.mass, state.power, state.current
                        row[3], row[4], row[5], row[6], row[7] = s, f, r, u, a
                        count = insert(best, count, row)
    return best[:count].copy(), count, evaluated, feasible
