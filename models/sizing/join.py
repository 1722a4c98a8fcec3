"""The search's last part: front half × rear half × central unit × accumulator × cooling at every supply setting.

What is kept is the exact front of undominated plants over mass, mean electric power and peak current, from which the
least under any objective that rises with these is read. Pressures are visited in turn; units are sifted by `bounds` for
a pressure, a setting, each half and a pair before they are tried. Evaluates no physics itself.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numba import njit

from models.compiled import INNER, KERNEL
from models.sizing.bounds import (
    A_MASS,
    A_VOLUME,
    ASKED,
    B_LEAK,
    B_PEAK,
    BELOW,
    FRONT_COLUMNS,
    S_DELIVERED,
    S_HELD,
    S_PRESSURE,
    S_WINDOW,
    SLACK,
    ask,
    bearing_stores,
    bears,
    beaten,
    extremes,
    insert,
    promising,
)
from models.sizing.catalogue import Floats
from models.sizing.central import U_CONTROL, U_QMAX, UNIT_COLUMNS, UNLOADING, UnitLaws
from models.sizing.halves import KEYS
from models.sizing.plant import PlantTask, fill_flows, plant_numbers, store_needed
from models.sizing.task import Duties
from models.sizing.unit_search import D_LEAST, D_MEAN, D_PEAK, D_USEFUL, UnitOptions, units_of_pressure

SEEN = 24
"""Pairs of a setting remembered to pass over those one of them betters throughout."""

DESIGN_COLUMNS = 6
"""Columns of a design: setting, front half row, rear half row, unit row, accumulator row, cooled."""


@njit(**INNER)
def try_stores(
    front: Floats,
    rear: Floats,
    unit: Floats,
    stores: Floats,
    setting: Floats,
    flows: Floats,
    peak: float,
    task: PlantTask,
    return_capacity: Floats,
    return_mass: Floats,
    reservoirs: Floats,
    conductance: Floats,
    best: Floats,
    count: int,
    designs: Floats,
    hints: Floats,
    row: Floats,
    tally: Floats,
) -> int:
    """Put every plant of one pair and unit that belongs there into the front `best`; returns its new count.

    stores: by mass; designs: [number, DESIGN_COLUMNS] of every plant that was ever in the front; row: setting, halves
    and unit; tally: plants evaluated, feasible, and noted in `designs`.
    """
    usable = unit[U_QMAX] / task.flow_margin - front[4] - rear[4]
    gives = setting[S_DELIVERED] * (task.unloading_reserve if unit[U_CONTROL] == UNLOADING else 1.0)
    smallest, needed = math.inf, -1.0
    for a in range(stores.shape[0]):
        volume = stores[a, A_VOLUME]
        if volume >= smallest:  # a lighter and smaller one already serves, with less oil
            continue
        if volume <= 0.0:
            if setting[S_WINDOW] != 0.0 or unit[U_CONTROL] == UNLOADING or peak > usable * SLACK:
                continue
        else:
            if not bears(setting, stores[a]):
                continue
            if needed < 0.0:
                needed = store_needed(flows, usable)
            if needed > gives * volume * SLACK:
                continue
        for cooled in range(2):
            tally[0] += 1
            state = plant_numbers(
                front, rear, unit, stores[a, A_MASS], volume, setting[S_DELIVERED], setting[S_HELD], flows, task,
                return_capacity, return_mass, reservoirs, conductance, cooled == 1,
            )  # fmt: skip
            if 0 < state.fault < 3:
                break
            smallest = volume
            if state.fault == 0:
                tally[1] += 1
                if not beaten(best, count, state.mass, state.power, state.current, hints, row[3]):
                    number = int(tally[2])
                    tally[2] += 1
                    for k in range(4):
                        designs[number, k] = row[k]
                    designs[number, 4], designs[number, 5] = a, cooled
                    count = insert(best, count, state.mass, state.power, state.current, number)
            if state.heat <= 0.0:
                break
    return count


@njit(**INNER)
def pair_numbers(front: Floats, rear: Floats, flows: Floats, numbers: Floats) -> None:
    """Fill `numbers` with all through which a pair of halves meets a plant, each the worse the greater."""
    for i, k in enumerate((0, 3, 4, 5, 6, 7)):
        numbers[i] = front[k] + rear[k]
    for d in range(flows.shape[0]):
        for k in range(4):
            numbers[6 + 4 * d + k] = flows[d, k]


@njit(**INNER)
def seen_better(seen: Floats, length: int, numbers: Floats) -> bool:
    """Whether one of the first `length` pairs in `seen` is at least as good in every number."""
    for i in range(length):
        good = True
        for k in range(numbers.size):
            if seen[i, k] > numbers[k]:
                good = False
                break
        if good:
            return True
    return False


class Room(NamedTuple):
    """What the walk works in: of no meaning outside."""

    row: Floats
    drawn: Floats
    flows: Floats
    asked: Floats
    least: Floats
    most: Floats
    bearing: Floats
    widest: Floats
    any_store: Floats
    seen: Floats
    numbers: Floats
    every: Floats
    here: Floats
    of_front: Floats
    of_pair: Floats
    hints: Floats
    open_rear: Floats
    extreme: Floats
    unit: Floats
    hint: Floats


Joined = tuple[Floats, Floats, Floats, Floats, Floats]


def join_room(
    pressures: int, duties: int, stores: int, tubes: int, rears: int, capacity: int, unit_capacity: int
) -> tuple[Joined, Room]:
    """What `join` fills with at most `capacity` plants and `unit_capacity` units, and what it works in.

    Counts of pressures, duties, accumulators and return tubes; rears: most halves of the rear at one setting.
    """
    of_duties = 6 + 4 * duties
    joined = (
        np.zeros((capacity, FRONT_COLUMNS)),
        np.empty((capacity, DESIGN_COLUMNS), np.int64),
        np.empty((unit_capacity, UNIT_COLUMNS)),
        np.zeros((pressures, 2), np.int64),
        np.zeros(3),
    )
    room = Room(
        row=np.zeros(4, np.int64),
        drawn=np.empty(4),
        flows=np.empty((duties, 8)),
        asked=np.empty(ASKED),
        least=np.empty((2, KEYS)),
        most=np.empty((2, KEYS)),
        bearing=np.empty((stores, 2)),
        widest=np.empty(tubes),
        any_store=np.array([[math.inf, 0.0]]),
        seen=np.empty((SEEN, of_duties)),
        numbers=np.empty(of_duties),
        every=np.arange(unit_capacity),
        here=np.empty(unit_capacity, np.int64),
        of_front=np.empty(unit_capacity, np.int64),
        of_pair=np.empty(unit_capacity, np.int64),
        hints=np.zeros(unit_capacity, np.int64),
        open_rear=np.empty((max(1, rears), unit_capacity), np.bool_),
        extreme=np.empty((2, KEYS)),
        unit=np.empty(UNIT_COLUMNS),
        hint=np.zeros(1, np.int64),
    )
    return joined, room


@njit(**KERNEL)
def join(
    front_keys: Floats,
    front_first: Floats,
    rear_keys: Floats,
    rear_first: Floats,
    options: UnitOptions,
    laws: UnitLaws,
    pressure_order: Floats,
    settings: Floats,
    stores: Floats,
    by_volume: Floats,
    duties: Duties,
    task: PlantTask,
    return_capacity: Floats,
    return_mass: Floats,
    reservoirs: Floats,
    conductance: Floats,
    joined: Joined,
    room: Room,
) -> int:
    """Fill joined with the exact front and return how many plants it has; joined and room: of `join_room`.

    joined: (plants, designs, units, first and end unit of each pressure, (plants evaluated, feasible, designs)).
    A plant is (mass, power, current, its row in designs). settings: [setting, S_*]; return_capacity: [setting, tube];
    stores: [accumulator, A_*], by mass, by_volume: their numbers by volume. Only the narrowest window may go without a
    store, for there the ripple of a supply without one is assumed. -1: too little room.
    """
    best, designs, units, unit_first, tally = joined
    row, drawn, flows, asked, least, most = room.row, room.drawn, room.flows, room.asked, room.least, room.most
    bearing, widest, any_store, seen, numbers = room.bearing, room.widest, room.any_store, room.seen, room.numbers
    every, here, of_front, of_pair, hints = room.every, room.here, room.of_front, room.of_pair, room.hints
    open_rear, capacity = room.open_rear, best.shape[0]
    count, end = (
        int(np.int64(0)),
        int(np.int64(0)),
    )  # plain 0s would compile callees once more for that number
    for p in pressure_order:
        optional = gather(
            p, front_keys, front_first, rear_keys, rear_first, settings, return_capacity, least, most, widest,
            room.extreme,
        )  # fmt: skip
        unit_first[p, 0], unit_first[p, 1] = end, end
        if optional < 0.0:
            continue
        peak, mean = fill_flows(duties, most[0], most[1], flows)
        leak = most[0, 4] + most[1, 4]
        drawn[D_MEAN], drawn[D_USEFUL] = (mean + leak) * SLACK, (max(peak, mean) + leak) * task.flow_margin * SLACK
        ask(least[0], least[1], optional, 1.0, duties, task, widest, return_mass, flows, asked)
        drawn[D_LEAST], drawn[D_PEAK] = asked[B_LEAK] * BELOW, (asked[B_PEAK] + asked[B_LEAK]) * BELOW
        end = units_of_pressure(
            p, options, laws, drawn, flows, asked, any_store, task, reservoirs, conductance, best, count, units, end,
            room.unit, room.hint,
        )  # fmt: skip
        if end < 0:
            return -1
        unit_first[p, 1] = end
        u0 = unit_first[p, 0]
        for s in range(settings.shape[0]):
            f0, f1, r0, r1 = front_first[s], front_first[s + 1], rear_first[s], rear_first[s + 1]
            if settings[s, S_PRESSURE] != p or f0 == f1 or r0 == r1:
                continue
            setting, capacities = settings[s], return_capacity[s]
            optional, gives = 1.0 if setting[S_WINDOW] == 0.0 else 0.0, setting[S_DELIVERED]
            bear = bearing[: bearing_stores(setting, stores, by_volume, task.oil_density, bearing)]
            extremes(front_keys, f0, f1, least[0], most[0])
            extremes(rear_keys, r0, r1, least[1], most[1])
            ask(least[0], least[1], optional, gives, duties, task, capacities, return_mass, flows, asked)
            opened = promising(
                units, every[u0:], end - u0, flows, asked, bear, task, reservoirs, conductance, best, count, hints, here
            )
            pairs_seen = np.int64(0)
            for r in range(r0, r1 if opened > 0 else r0):
                ask(least[0], rear_keys[r], optional, gives, duties, task, capacities, return_mass, flows, asked)
                length = promising(
                    units, here, opened, flows, asked, bear, task, reservoirs, conductance, best, count, hints, of_pair
                )
                for k in range(end - u0):
                    open_rear[r - r0, k] = False
                for k in range(length):
                    open_rear[r - r0, of_pair[k] - u0] = True
            for f in range(f0, f1 if opened > 0 else f0):
                ask(front_keys[f], least[1], optional, gives, duties, task, capacities, return_mass, flows, asked)
                with_front = promising(
                    units, here, opened, flows, asked, bear, task, reservoirs, conductance, best, count, hints, of_front
                )
                for r in range(r0, r1):
                    length = np.int64(0)
                    for k in range(with_front):
                        if open_rear[r - r0, of_front[k] - u0]:
                            of_pair[length] = of_front[k]
                            length += 1
                    if length == 0:
                        continue
                    front, rear = front_keys[f], rear_keys[r]
                    ask(front, rear, optional, gives, duties, task, capacities, return_mass, flows, asked)
                    pair_numbers(front, rear, flows, numbers)
                    if seen_better(seen, min(pairs_seen, SEEN), numbers):
                        continue
                    for k in range(numbers.size):
                        seen[pairs_seen % SEEN, k] = numbers[k]
                    pairs_seen += 1
                    length = promising(
                        units,
                        of_pair,
                        length,
                        flows,
                        asked,
                        bear,
                        task,
                        reservoirs,
                        conductance,
                        best,
                        count,
                        hints,
                        of_pair,
                    )
                    row[0], row[1], row[2] = s, f, r
                    for k in range(length):
                        if tally[2] + 2 * stores.shape[0] > capacity:
                            return -1
                        row[3] = of_pair[k]
                        count = try_stores(
                            front, rear, units[of_pair[k]], stores, setting, flows, asked[B_PEAK], task, capacities,
                            return_mass, reservoirs, conductance, best, count, designs, hints, row, tally,
                        )  # fmt: skip
    return count


@njit(**INNER)
def gather(
    pressure: int,
    front_keys: Floats,
    front_first: Floats,
    rear_keys: Floats,
    rear_first: Floats,
    settings: Floats,
    return_capacity: Floats,
    least: Floats,
    most: Floats,
    widest: Floats,
    extreme: Floats,
) -> float:
    """Extremes of every key and of the tubes' capacity over the settings of one pressure that have a pair of halves.

    Returns 1 when one of them may go without a store, 0 when none may, -1 when none has a pair.
    """
    optional = -1.0
    low, high = extreme[0], extreme[1]
    for i in range(widest.size):
        widest[i] = 0.0
    for side in range(2):
        for k in range(KEYS):
            least[side, k], most[side, k] = math.inf, -math.inf
    for s in range(settings.shape[0]):
        if settings[s, S_PRESSURE] != pressure or front_first[s] == front_first[s + 1]:
            continue
        if rear_first[s] == rear_first[s + 1]:
            continue
        for side in range(2):
            if side == 0:
                extremes(front_keys, front_first[s], front_first[s + 1], low, high)
            else:
                extremes(rear_keys, rear_first[s], rear_first[s + 1], low, high)
            for k in range(KEYS):
                least[side, k], most[side, k] = min(least[side, k], low[k]), max(most[side, k], high[k])
        for i in range(widest.size):
            widest[i] = max(widest[i], return_capacity[s, i])
        optional = max(optional, 1.0 if settings[s, S_WINDOW] == 0.0 else 0.0)
    return optional
