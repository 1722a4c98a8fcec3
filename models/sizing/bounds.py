"""What no plant of a unit can better: bounds by which the join passes over units before it tries them.

Each bound is on all three results at once, for one pair of halves or for the least of each number over many. Exact: a
unit is given up only when its best conceivable plant is infeasible or no better than one found. Knows numbers only.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from models.compiled import INNER
from models.quantity import ATMOSPHERE
from models.sizing.catalogue import Floats
from models.sizing.central import (
    SPEED,
    U_BUS0,
    U_COLD0,
    U_CONTROL,
    U_MASS,
    U_QMAX,
    U_SHAFT0,
    U_TOP,
    UNLOADING,
    lightest_tube,
    unit_power,
)
from models.sizing.halves import KEYS
from models.sizing.plant import W_ABSORBED, W_BURST, W_DURATION, W_MEAN, W_SHARE, PlantTask, fill_flows, store_needed
from models.sizing.task import Duties

S_PRESSURE, S_WINDOW, S_HIGH, S_DELIVERED, S_HELD, S_PRECHARGE = range(6)
"""Columns of a supply setting: pressure number, window number, highest pressure, and its `store_table`."""

A_VOLUME, A_MAX_PRESSURE, A_MAX_RATIO, A_MASS = range(4)
"""Columns of `rows_of(accumulators)`, the fields of `Accumulators`."""

(
    B_LEAK, B_VALVES, B_SURGES, B_PEAK, B_MEAN, B_MASS, B_TANK, B_OPTIONAL, B_GIVES,
) = range(9)  # fmt: skip
ASKED = 9
"""Columns of what a pair of halves, or the least of many, asks of a unit: leakage, valves' mean and peak power, peak
and mean flow, least mass without unit, store, tank and cooler, least mass of a tank that holds the oil, whether a plant
may go without a store, and what a store gives per volume."""

BELOW = 1.0 - 1e-12
"""Factor on lower bounds that are summed in another order than the number they bound."""

SLACK = 1.0 + 1e-9
"""Factor on limits tested ahead of `plant_numbers`, which decides."""


FRONT_COLUMNS = 6
"""Columns of the front while it grows: mass, power, current, the plant's number, and the least power and current of
this and all lighter plants. Rows stand by mass."""


@njit(**INNER)
def beaten(best: Floats, count: int, mass: float, power: float, current: float, hints: Floats, k: int) -> bool:
    """Whether one of the first `count` plants of the front is at least as good in all three.

    hints[k]: row of the front to look at first, left where one was found.
    """
    last = hints[k]
    if last < count and best[last, 0] <= mass and best[last, 1] <= power and best[last, 2] <= current:
        return True
    low, high = 0, count
    while low < high:
        middle = (low + high) // 2
        if best[middle, 0] <= mass:
            low = middle + 1
        else:
            high = middle
    if low == 0 or best[low - 1, 4] > power or best[low - 1, 5] > current:
        return False
    for i in range(low - 1, -1, -1):
        if best[i, 1] <= power and best[i, 2] <= current:
            hints[k] = i
            return True
    return False


@njit(**INNER)
def insert(best: Floats, count: int, mass: float, power: float, current: float, number: int) -> int:
    """Put a plant that is not beaten into the front and take out what it beats; returns the new count."""
    kept, place = 0, 0
    for i in range(count):
        if mass <= best[i, 0] and power <= best[i, 1] and current <= best[i, 2]:
            continue
        if kept != i:
            for k in range(4):
                best[kept, k] = best[i, k]
        kept += 1
        if best[kept - 1, 0] <= mass:
            place = kept
    for i in range(kept, place, -1):
        for k in range(4):
            best[i, k] = best[i - 1, k]
    best[place, 0], best[place, 1], best[place, 2], best[place, 3] = mass, power, current, number
    for i in range(kept + 1):
        best[i, 4], best[i, 5] = best[i, 1], best[i, 2]
        if i > 0:
            best[i, 4], best[i, 5] = min(best[i, 4], best[i - 1, 4]), min(best[i, 5], best[i - 1, 5])
    return kept + 1


@njit(**INNER)
def extremes(keys: Floats, start: int, end: int, least: Floats, most: Floats) -> None:
    """Fill `least` and `most` with the extremes of every key over rows [start, end)."""
    for k in range(KEYS):
        least[k], most[k] = math.inf, -math.inf
        for i in range(start, end):
            least[k], most[k] = min(least[k], keys[i, k]), max(most[k], keys[i, k])


@njit(**INNER)
def ask(
    front: Floats,
    rear: Floats,
    optional: float,
    gives: float,
    duties: Duties,
    task: PlantTask,
    return_capacity: Floats,
    return_mass: Floats,
    flows: Floats,
    asked: Floats,
) -> None:
    """Fill `flows` and `asked` (B_*) for two keys: a pair's, or the least of each number over many halves.

    optional: 1 when a plant may go without a store; gives: what a store delivers per volume. A relief-held pump only
    runs at more than the mean flow counted here.
    """
    leak = front[4] + rear[4]
    peak, mean = fill_flows(duties, front, rear, flows)
    lowest = (mean + leak) * task.dwell
    difference = front[3] + rear[3]
    oil = lowest + difference + task.swelling * (lowest + difference + front[7] + rear[7])
    flow = max(peak, mean + leak)
    tube = lightest_tube(return_capacity, return_mass, flow)
    asked[B_LEAK], asked[B_VALVES], asked[B_SURGES] = leak, front[5] + rear[5], front[6] + rear[6]
    asked[B_PEAK], asked[B_MEAN] = peak, mean
    asked[B_OPTIONAL], asked[B_GIVES] = optional, gives
    asked[B_TANK] = task.reservoir_mass * (oil * (1.0 + task.air_share) * 1e3) ** task.reservoir_power * BELOW
    asked[B_MASS] = math.inf
    if tube >= 0:
        asked[B_MASS] = (
            front[0]
            + rear[0]
            + return_mass[tube]
            + task.filter_mass * (flow * task.filter_flow_factor * 6e4) ** task.filter_power
            + oil * task.oil_density
        ) * BELOW


@njit(**INNER)
def least_store(flows: Floats, usable: float, gives: float, stores: Floats) -> float:
    """Least mass of a store that gives what is needed beside a pump that gives `usable` m³/s; inf when none does.

    gives: delivered per volume; stores: as `hopeless` takes them. The lack over the burst is a lower bound on the need,
    cheap to find; the full need is found only when a store could cover that.
    """
    needed = 0.0
    for d in range(flows.shape[0]):
        needed = max(needed, (flows[d, W_BURST] - usable) * flows[d, W_DURATION])
    if stores.shape[0] == 0 or stores[stores.shape[0] - 1, 0] * gives < needed:
        return math.inf
    needed = store_needed(flows, usable)
    for a in range(stores.shape[0]):
        if not stores[a, 0] * gives < needed:
            return stores[a, 1]
    return math.inf


@njit(**INNER)
def gives_of(unit: Floats, asked: Floats, task: PlantTask) -> float:
    """What a store delivers per volume under a unit's control, not less than `plant_numbers` reckons."""
    return asked[B_GIVES] * (task.unloading_reserve if unit[U_CONTROL] == UNLOADING else 1.0) * SLACK


@njit(forceinline=True, **INNER)
def hopeless(
    unit: Floats,
    flows: Floats,
    asked: Floats,
    stores: Floats,
    task: PlantTask,
    reservoirs: Floats,
    conductance: Floats,
    best: Floats,
    count: int,
    hints: Floats,
    k: int,
) -> bool:
    """Whether no plant of this unit and what is asked of it can be both feasible and outside the front.

    Everything here is a lower bound on what `plant_numbers` finds. stores: [(volume, least mass with its oil of it and
    all larger ones)], by volume, of those that bear the setting; hints, k: as in `beaten`.
    """
    leak, peak = asked[B_LEAK], asked[B_PEAK]
    usable = unit[U_QMAX] / task.flow_margin - leak
    if asked[B_MEAN] > usable * SLACK or asked[B_MASS] == math.inf:
        return True
    stored = asked[B_OPTIONAL] == 0.0 or unit[U_CONTROL] == UNLOADING or peak > usable * SLACK
    mean = task.standby_share * unit_power(unit, U_BUS0, leak)
    for d in range(flows.shape[0]):
        mean += flows[d, W_SHARE] * unit_power(unit, U_BUS0, flows[d, W_MEAN] + leak)
    top = unit[U_TOP]
    if unit[U_CONTROL] == SPEED and not stored:
        at = min(peak + leak, unit[U_QMAX])
        top = max(unit_power(unit, U_BUS0, at), unit_power(unit, U_COLD0, at))
    mean, top = (mean + asked[B_VALVES]) * BELOW, (top + asked[B_SURGES]) * BELOW
    mass, tank = asked[B_MASS] + unit[U_MASS], asked[B_TANK]
    if beaten(best, count, mass + tank, mean, top / task.voltage, hints, k):
        return True
    if mass + tank > task.mass_limit * SLACK or top > task.voltage * task.current_limit * SLACK:
        return True
    heat = task.standby_share * unit_power(unit, U_SHAFT0, leak)
    for d in range(flows.shape[0]):
        heat += flows[d, W_SHARE] * (unit_power(unit, U_SHAFT0, flows[d, W_MEAN] + leak) + flows[d, W_ABSORBED])
    heat = max(0.0, heat) * BELOW
    fan = task.fan_share * heat
    cooler = task.cooler_mass * (heat * 1e-3) ** task.cooler_power
    size, high, large = 0, reservoirs.size, math.inf
    while size < high:
        middle = (size + high) // 2
        if conductance[middle] * task.temperature_rise < heat:
            size = middle + 1
        else:
            high = middle
    if size < reservoirs.size:
        large = max(tank, task.reservoir_mass * (reservoirs[size] * 1e3) ** task.reservoir_power * BELOW)
    if stored:
        mass += least_store(flows, usable, gives_of(unit, asked, task), stores)
        if mass == math.inf:
            return True
    return beaten(best, count, mass + tank + cooler, mean + fan, (top + fan) / task.voltage, hints, k) and (
        large == math.inf or beaten(best, count, mass + large, mean, top / task.voltage, hints, k)
    )


@njit(**INNER)
def bearing_stores(setting: Floats, stores: Floats, by_volume: Floats, density: float, bearing: Floats) -> int:
    """Fill `bearing` for `hopeless` with the accumulators that bear a setting; returns how many."""
    count = 0
    for a in by_volume:
        if stores[a, A_VOLUME] > 0.0 and bears(setting, stores[a]):
            bearing[count, 0] = stores[a, A_VOLUME]
            bearing[count, 1] = stores[a, A_MASS] + setting[S_HELD] * stores[a, A_VOLUME] * density
            count += 1
    for k in range(count - 2, -1, -1):
        bearing[k, 1] = min(bearing[k, 1], bearing[k + 1, 1])
    return count


@njit(**INNER)
def bears(setting: Floats, store: Floats) -> bool:
    """Whether an accumulator bears a setting's highest pressure and its ratio to the precharge, and delivers at all."""
    ratio = (setting[S_HIGH] + ATMOSPHERE) / (setting[S_PRECHARGE] + ATMOSPHERE)
    return store[A_MAX_PRESSURE] >= setting[S_HIGH] and store[A_MAX_RATIO] >= ratio and setting[S_DELIVERED] > 0.0


@njit(**INNER)
def promising(
    units: Floats,
    tried: Floats,
    length: int,
    flows: Floats,
    asked: Floats,
    stores: Floats,
    task: PlantTask,
    reservoirs: Floats,
    conductance: Floats,
    best: Floats,
    count: int,
    hints: Floats,
    left: Floats,
) -> int:
    """Fill `left` with those of the first `length` unit rows in `tried` that are not hopeless; returns how many."""
    found = int(np.int64(0))
    for k in range(length):
        u = tried[k]
        if not hopeless(units[u], flows, asked, stores, task, reservoirs, conductance, best, count, hints, u):
            left[found] = u
            found += 1
    return found
