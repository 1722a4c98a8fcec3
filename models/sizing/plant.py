"""One whole plant's numbers: two halves, a central unit, an accumulator, a reservoir, with or without a cooler.

`plant_numbers` is the one account the search and the design read. Each of its three results (mass, mean electric power,
peak current) rises with every number of a half and of a store, so a half another betters throughout can belong to no
better plant. Knows numbers, not which parts they come from.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from models.compiled import INNER, KERNEL
from models.sizing.catalogue import Floats
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


@njit(**KERNEL)
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
        angle = math.asin(min(1.0, max(-1.0, pump / peak))) if peak > 0.0 else 0.5 * math.pi
        lull += (pump * angle - peak * (1.0 - math.cos(angle))) / omega
    return drift + max(first, second, first + second - lull)


@njit(**KERNEL)
def hump(peak: float, pump: float) -> float:
    """∫ of peak·sin θ − pump over the part of a half sine above the pump flow, in m³/s·rad."""
    if peak <= pump:
        return 0.0
    angle = math.asin(max(pump, 0.0) / peak)
    return 2.0 * peak * math.cos(angle) - pump * (math.pi - 2.0 * angle)


W_OUT, W_BACK, W_MEAN, W_BURST, W_SHARE, W_ABSORBED, W_RIPPLE, W_DURATION = range(8)
"""Columns of a duty's flows: what `duty_flows` returns, then its share of time, the mechanical power it takes up from
the road (W), its ripple frequency (Hz) and the length of its burst (s)."""


@njit(**KERNEL)
def fill_flows(duties: Duties, front: Floats, rear: Floats, flows: Floats) -> tuple[float, float]:
    """Fill `flows` [duty, W_*] for two halves' keys; (peak, greatest mean) over all duties, m³/s.

    Leakage is not counted. A corner takes its cap area times v extending and its annulus times v retracting, whatever
    the load does.
    """
    peak, greatest = 0.0, 0.0
    for d in range(flows.shape[0]):
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
        row = flows[d]
        row[W_OUT], row[W_BACK], row[W_MEAN], row[W_BURST] = out, back, mean, burst if duties.burst[d] > 0.0 else mean
        row[W_SHARE], row[W_ABSORBED] = duties.share[d], duties.absorbed[d]
        row[W_RIPPLE], row[W_DURATION] = duties.ripple[d], duties.burst[d]
        peak, greatest = max(peak, out, back), max(greatest, mean)
    return peak, greatest


def duty_flows(duties: Duties, d: int, front: Floats, rear: Floats) -> tuple[float, float, float, float]:
    """Supply flows of duty `d` for two halves' keys: peak while the in-step corners extend, peak while they retract,
    mean, and mean during the burst, m³/s; see `fill_flows`."""
    flows = np.empty((duties.share.size, 8))
    fill_flows(duties, front, rear, flows)
    out, back, mean, burst = flows[d, :4].tolist()
    return out, back, mean, burst


@njit(**INNER)
def store_needed(flows: Floats, pump: float) -> float:
    """Volume a store must give beside a pump that gives the corners `pump` m³/s, the greatest over the duties, m³."""
    needed = 0.0
    for d in range(flows.shape[0]):
        row = flows[d]
        volume = burst_volume(row[W_OUT], row[W_BACK], row[W_RIPPLE], row[W_BURST], row[W_DURATION], pump)
        needed = max(needed, volume)
    return needed


@njit(**KERNEL)
def plant_numbers(
    front: Floats,
    rear: Floats,
    unit: Floats,
    store_mass: float,
    store_volume: float,
    delivered: float,
    held: float,
    flows: Floats,
    task: PlantTask,
    return_capacity: Floats,
    return_mass: Floats,
    reservoirs: Floats,
    conductance: Floats,
    cooled: bool,
) -> Plant:
    """All numbers of one plant.

    front, rear: keys of the halves; store_*: accumulator (volume 0: none); delivered, held: per volume at this setting;
    flows: [duty, W_*] of this pair; return_capacity, return_mass: by tube; reservoirs (m³) with
    their conductance to the air at the oil limit (W/K), rising. Not `cooled`: the reservoir is the smallest that holds
    the oil and gives off all heat. `cooled`: it is the smallest that holds the oil, and a cooler takes all heat; what
    its walls give off is in reserve. Were the cooler spared that much, a plant with more oil could need less cooler,
    and no half could be ruled out for its oil.
    """
    leak = front[4] + rear[4]
    usable = unit[U_QMAX] / task.flow_margin - leak
    peak, mean_flow, needed = 0.0, 0.0, 0.0
    standby = min(leak, unit[U_QMAX])
    bus = task.standby_share * unit_power(unit, U_BUS0, standby)
    heat = task.standby_share * unit_power(unit, U_SHAFT0, standby)
    for d in range(flows.shape[0]):
        peak = max(peak, flows[d, W_OUT], flows[d, W_BACK])
        mean_flow = max(mean_flow, flows[d, W_MEAN])
        drawn = min(flows[d, W_MEAN] + leak, unit[U_QMAX])
        bus += flows[d, W_SHARE] * unit_power(unit, U_BUS0, drawn)
        heat += flows[d, W_SHARE] * (unit_power(unit, U_SHAFT0, drawn) + flows[d, W_ABSORBED])
    heat = max(0.0, heat)
    if store_volume > 0.0:
        needed = store_needed(flows, usable)
    control = unit[U_CONTROL]
    store_oil = held * store_volume
    usable_store = delivered * store_volume * (task.unloading_reserve if control == UNLOADING else 1.0)
    fault = 0
    if (mean_flow if store_volume > 0.0 else peak) > usable * (1.0 + 1e-12):
        fault = 1
    elif needed > usable_store * (1.0 + 1e-12) or (control == UNLOADING and store_volume <= 0.0):
        fault = 2
    pump_mean = unit[U_QMAX] if control == RELIEF else mean_flow + leak
    lowest = pump_mean * task.dwell
    difference = front[3] + rear[3] + store_oil
    oil = lowest + difference + task.swelling * (lowest + difference + front[7] + rear[7])
    size = 0
    while size < reservoirs.size - 1 and (
        reservoirs[size] < oil * (1.0 + task.air_share)
        or (not cooled and conductance[size] * task.temperature_rise < heat)
    ):
        size += 1
    cooler = heat if cooled else 0.0
    return_flow = max(peak, pump_mean)
    tube = lightest_tube(return_capacity, return_mass, return_flow)
    if fault == 0 and tube < 0:
        fault = 3
    if fault == 0 and (
        reservoirs[size] < oil * (1.0 + task.air_share)
        or (not cooled and conductance[size] * task.temperature_rise < heat)
    ):
        fault = 4
    if tube < 0:
        tube = return_capacity.size - 1
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
    at = unit[U_QMAX]
    if control == SPEED and store_volume <= 0.0:
        at = min(peak + leak, at)
    top = max(unit_power(unit, U_BUS0, at), unit_power(unit, U_COLD0, at)) + front[6] + rear[6]
    current = (top + task.fan_share * cooler) / task.voltage
    if fault == 0 and current > task.current_limit * (1.0 + 1e-12):
        fault = 5
    if fault == 0 and mass > task.mass_limit * (1.0 + 1e-12):
        fault = 6
    return Plant(fault, mass, power, current, pump_mean, peak, heat, cooler, needed, size, tube, filter_flow)


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
    cooled: bool | None = None,
) -> Plant:
    """`plant_numbers` at the flows of these duties (`flows` itself is not read).

    Without `cooled`, with a cooler only when the tank that holds the oil cannot give off the heat.
    """
    filled = np.empty((duties.share.size, 8))
    fill_flows(duties, front, rear, filled)
    rest = (
        front, rear, unit, store_mass, store_volume, delivered, held, filled, task, return_capacity, return_mass,
        reservoirs, conductance,
    )  # fmt: skip
    with_cooler = plant_numbers(*rest, True)
    if cooled is None:
        cooled = bool(conductance[with_cooler.reservoir] * task.temperature_rise < with_cooler.heat)
    return Plant(*(with_cooler if cooled else plant_numbers(*rest, False)))
