"""The exact search: every candidate of a family against every load and cooling, keeping what no other beats.

Knows how candidates are judged and compared: a candidate stays when it reaches all limits and no other is both lighter
and thriftier, so the least mass, the least power and the best of both together all lie in what stays. A candidate is
passed over without computing its heat only when a lower bound of its mass and its power is already beaten, or when it
weighs more than the stated multiple of the lightest. Knows no geometry.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import INNER, KERNEL, WITHIN
from models.drive.electronics import drive_size
from models.drive.winding import REFERENCE, resistance_factor
from models.electric.candidate import Fit, active_mass, fit
from models.electric.operation import burst_temperature, mean_losses, operate, settle

FRONT_SIZE = 1024
"""Most designs kept for one load and cooling; more raise an error rather than be lost."""


FRONT = np.dtype(
    [
        ("number", np.int64, (FRONT_SIZE,)),
        ("mass", np.float64, (FRONT_SIZE,)),  # kg, rising
        ("power", np.float64, (FRONT_SIZE,)),  # W, falling
        ("count", np.int64),
        ("closest", np.float64),  # least worst need over ability, when asked for the nearest
        ("closest_number", np.int64),
        ("beat", np.int64),  # the one kept that beat the last candidate beaten
        ("tried", np.int64),
    ]
)
"""Designs kept for one load under one cooling; arrays of it are [load, cooling]."""


def empty_fronts(loads: int, coolings: int) -> NDArray[np.void]:
    """Room for the results of every load under every cooling."""
    fronts = np.zeros((loads, coolings), FRONT)
    fronts["closest"] = math.inf
    fronts["closest_number"] = -1
    return fronts


def finished(fronts: NDArray[np.void], lightest: float, heaviest: float) -> bool:
    """Whether candidates of `lightest` kg and more weigh over `heaviest` times the least in every case."""
    return bool(fronts["count"].min() > 0 and lightest > heaviest * fronts["mass"][..., 0].max())


@njit(**INNER)
def _position(front: Any, mass: float) -> int:
    # how many kept designs weigh no more than `mass`
    low, high, masses = 0, front.count, front.mass
    while low < high:
        middle = (low + high) // 2
        if masses[middle] <= mass:
            low = middle + 1
        else:
            high = middle
    return low


@njit(**INNER)
def beaten(front: Any, mass: float, power: float) -> bool:
    """Whether a kept design is as light and as thrifty; the one that beat the last candidate is asked first."""
    masses, powers, last = front.mass, front.power, front.beat
    if last < front.count and masses[last] <= mass and powers[last] <= power:
        return True
    place = _position(front, mass) - 1
    if place < 0 or powers[place] > power:
        return False
    front.beat = place
    return True


@njit(**WITHIN)
def keep(front: Any, number: int, mass: float, power: float) -> None:
    """Put a design that is not beaten among those kept, and drop those it beats."""
    masses, powers, numbers, count = front.mass, front.power, front.number, front.count
    place = _position(front, mass)
    while place > 0 and masses[place - 1] == mass:
        place -= 1
    last = place
    while last < count and powers[last] >= power:
        last += 1
    if last == place:
        if count == FRONT_SIZE:
            raise OverflowError("more designs to keep than there is room for")
        for k in range(count, place, -1):
            masses[k], powers[k], numbers[k] = masses[k - 1], powers[k - 1], numbers[k - 1]
        count += 1
    else:
        shift = last - place - 1
        count -= shift
        for k in range(place + 1, count):
            masses[k], powers[k], numbers[k] = masses[k + shift], powers[k + shift], numbers[k + shift]
    masses[place], powers[place], numbers[place] = mass, power, number
    front.count = count


@njit(**INNER)
def worst_ratio(found: Fit, continuous: float) -> float:
    """The greatest need over ability of the limits that do not depend on heat."""
    worst = continuous
    for ratio in (found.force, found.speed, found.voltage, found.power, found.bandwidth, found.size, found.inertance):
        worst = max(worst, ratio)
    return worst


@njit(**INNER)
def heat_ratio(
    row: Any, cooling: Any, supply: Any, copper: float, case_heat: float, least: float, most: float
) -> float:
    """Root of the copper loss over the most that settles below the limits: how many times too much force, for heat.

    `least`, from 1, where it is no more than that; `most` where it is at least that (finite or not).
    """
    if settle(row, cooling, supply, copper / (least * least), case_heat, math.inf).settles:
        return least
    low, high = 0.0 if most == math.inf else 1.0 / (most * most), 1.0
    if not settle(row, cooling, supply, low * copper, case_heat, math.inf).settles:
        return most
    for _ in range(30):
        middle = 0.5 * (low + high)
        if settle(row, cooling, supply, middle * copper, case_heat, math.inf).settles:
            low = middle
        else:
            high = middle
    return math.sqrt(1.0 / low) if low > 0.0 else most


@njit(**KERNEL)
def consider_all(
    rows: NDArray[np.void],
    first: int,
    supply: Any,
    coolings: NDArray[np.void],
    heaviest: float,
    loads: NDArray[np.void],
    wires: NDArray[np.float64],
    fronts: NDArray[np.void],
) -> float:
    """Judge candidates `first`, `first` + 1, … of MACHINE under every load and cooling; returns the least mass, kg."""
    lightest = math.inf
    for k in range(len(rows)):
        row = rows[k]
        shell = active_mass(row, 0.0)
        lightest = min(lightest, shell)
        # copper loss over mean square force, its wire filling all that packing allows, the winding at ambient
        constant = row.motor_constant * row.mid_share * supply.motor_factor
        constant *= 1.0 + row.magnet_slope * (supply.ambient - REFERENCE)
        constant /= row.efficiency
        per_square = resistance_factor(supply.ambient) / (constant * constant * supply.packing)
        for which in range(len(loads)):
            load, cases = loads[which], fronts[which]
            if load.force_peak * row.efficiency > row.force_limit * row.end_share:
                continue
            if _hopeless(heaviest, cases, shell, load.mean_square * per_square + load.mean_power):
                continue
            found = fit(row, load, supply, wires, 1.0)
            if worst_ratio(found, 0.0) <= 1.0:
                _compete(row, first + k, supply, coolings, heaviest, load, cases, found)
    return lightest


@njit(**WITHIN)
def _hopeless(heaviest: float, fronts: NDArray[np.void], shell: float, least: float) -> bool:
    # whether a candidate is beaten or too heavy in every case even if its copper weighed nothing (`shell` kg), it had
    # no inertia to move and its winding stayed at ambient (`least` W)
    hopeless = True
    for c in range(len(fronts)):
        front = fronts[c]
        if front.count == 0 or not (shell > heaviest * front.mass[0] or beaten(front, shell, least)):
            hopeless = False
            break
    return hopeless


@njit(**WITHIN)
def _compete(
    row: Any,
    number: int,
    supply: Any,
    coolings: NDArray[np.void],
    heaviest: float,
    load: Any,
    fronts: NDArray[np.void],
    found: Fit,
) -> None:
    # a candidate that reaches every peak against those kept, under each cooling
    copper, case_heat, force = mean_losses(row, load, supply, found.fill)
    if force > row.force_continuous:
        return
    cold = 1.0 + row.magnet_slope * (supply.ambient - REFERENCE)
    least = copper * resistance_factor(supply.ambient) / (cold * cold) + case_heat
    base, area = active_mass(row, found.fill), math.pi * row.case_diameter * row.case_length
    drive_mass, standby = -1.0, row.drive_standby
    for c in range(len(coolings)):
        cooling, front = coolings[c], fronts[c]
        front.tried += 1
        bare = base + cooling.fixed_mass + cooling.mass_per_area * area
        if front.count > 0 and bare > heaviest * front.mass[0]:
            continue
        if beaten(front, bare, least + load.mean_power + cooling.fixed_power):
            continue
        if drive_mass < 0.0:
            drive_mass = 0.0
            if row.drive_loss == 0.0:
                drive = drive_size(found.peak_power, 0.0, supply.drive)
                drive_mass, standby = drive.mass, drive.standby
        # the heat with which it is as thirsty as the thriftiest design no heavier
        lighter, bearable = _position(front, bare + drive_mass), math.inf
        if lighter > 0:
            bearable = front.power[lighter - 1] - load.mean_power - standby - cooling.fixed_power
        if least >= bearable:
            continue
        heated = settle(row, cooling, supply, copper, case_heat, bearable)
        if not heated.settles:
            continue
        if burst_temperature(row, load, supply, found.fill, heated) > min(supply.winding_limit, row.winding_limit):
            continue
        work = operate(row, load, cooling, supply, found, copper, case_heat, heated)
        if not beaten(front, work.mass, work.bus):
            keep(front, number, work.mass, work.bus)


@njit(**KERNEL)
def nearest_of_all(
    rows: NDArray[np.void],
    first: int,
    supply: Any,
    coolings: NDArray[np.void],
    loads: NDArray[np.void],
    wires: NDArray[np.float64],
    fronts: NDArray[np.void],
) -> None:
    """For every case without a design, the candidate whose worst need over ability is least."""
    for which in range(len(loads)):
        load, cases = loads[which], fronts[which]
        for k in range(len(rows)):
            row, stop = rows[k], 0.0
            for c in range(len(cases)):
                if cases[c].count == 0:
                    stop = max(stop, cases[c].closest)
            if stop == 0.0:
                break
            if load.force_peak * row.efficiency > stop * row.force_limit * row.end_share:
                continue
            found = fit(row, load, supply, wires, stop)
            if worst_ratio(found, 0.0) >= stop:
                continue
            copper, case_heat, force = mean_losses(row, load, supply, found.fill)
            worst = worst_ratio(found, force / row.force_continuous)
            for c in range(len(cases)):
                front = cases[c]
                if front.count == 0 and worst < front.closest:
                    ratio = heat_ratio(row, coolings[c], supply, copper, case_heat, max(1.0, worst), front.closest)
                    if max(worst, ratio) < front.closest:
                        front.closest, front.closest_number = max(worst, ratio), first + k
