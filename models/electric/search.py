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

from models.compiled import INNER, KERNEL
from models.drive.electronics import drive_size
from models.drive.winding import REFERENCE, resistance_factor
from models.electric.candidate import Fit, active_mass, fit
from models.electric.operation import burst_temperature, coolest, mean_losses, operate, settle

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
        ("tried", np.int64),
        ("reached", np.int64),
    ]
)
"""Designs kept for one case; cases are numbered load × coolings + cooling."""


def empty_fronts(cases: int) -> NDArray[np.void]:
    """Room for the results of `cases` loads times coolings."""
    fronts = np.zeros(cases, FRONT)
    fronts["closest"] = math.inf
    fronts["closest_number"] = -1
    return fronts


def finished(fronts: NDArray[np.void], lightest: float, heaviest: float) -> bool:
    """Whether candidates of `lightest` kg and more weigh over `heaviest` times the least in every case."""
    return bool(np.all(fronts["count"] > 0) and np.all(lightest > heaviest * fronts["mass"][:, 0]))


def force_worth(fronts: NDArray[np.void], force: float) -> float:
    """Force limit, N, below which no candidate comes nearer to `force` N than the nearest found of every open case."""
    open_cases = fronts["closest"][fronts["count"] == 0]
    return float(force / open_cases.max()) if len(open_cases) else math.inf


@njit(**INNER)
def _position(fronts: NDArray[np.void], case: int, mass: float) -> int:
    # how many kept designs weigh no more than `mass`
    low, high = 0, fronts[case].count
    while low < high:
        middle = (low + high) // 2
        if fronts[case].mass[middle] <= mass:
            low = middle + 1
        else:
            high = middle
    return low


@njit(**INNER)
def beaten(fronts: NDArray[np.void], case: int, mass: float, power: float) -> bool:
    """Whether a kept design is as light and as thrifty."""
    place = _position(fronts, case, mass)
    return place > 0 and fronts[case].power[place - 1] <= power


@njit(**KERNEL)
def keep(fronts: NDArray[np.void], case: int, number: int, mass: float, power: float) -> None:
    """Put a design that is not beaten among those kept, and drop those it beats."""
    place = _position(fronts, case, mass)
    while place > 0 and fronts[case].mass[place - 1] == mass:
        place -= 1
    count, last = fronts[case].count, place
    while last < count and fronts[case].power[last] >= power:
        last += 1
    left = count - last
    if place + 1 + left > FRONT_SIZE:
        raise OverflowError("more designs to keep than there is room for")
    shift = place + 1 - last
    if shift > 0:
        for k in range(count - 1, last - 1, -1):
            fronts[case].mass[k + shift] = fronts[case].mass[k]
            fronts[case].power[k + shift] = fronts[case].power[k]
            fronts[case].number[k + shift] = fronts[case].number[k]
    elif shift < 0:
        for k in range(last, count):
            fronts[case].mass[k + shift] = fronts[case].mass[k]
            fronts[case].power[k + shift] = fronts[case].power[k]
            fronts[case].number[k + shift] = fronts[case].number[k]
    fronts[case].mass[place], fronts[case].power[place], fronts[case].number[place] = mass, power, number
    fronts[case].count = place + 1 + left


@njit(**KERNEL)
def worst_ratio(found: Fit, continuous: float) -> float:
    """The greatest need over ability of the limits that do not depend on heat."""
    return max(
        found.force, found.speed, found.voltage, found.power, found.bandwidth, found.size, found.inertance, continuous
    )


@njit(**INNER)
def heat_ratio(row: Any, cooling: Any, supply: Any, copper: float, case_heat: float, most: float) -> float:
    """Root of the copper loss over the most that settles below the limits: how many times too much force, for heat.

    1 when it settles; `most` when the ratio is at least that (finite or not).
    """
    if _settles(row, cooling, supply, copper, case_heat):
        return 1.0
    low, high = 0.0 if most == math.inf else 1.0 / (most * most), 1.0
    if not _settles(row, cooling, supply, low * copper, case_heat):
        return most
    for _ in range(30):
        middle = 0.5 * (low + high)
        if _settles(row, cooling, supply, middle * copper, case_heat):
            low = middle
        else:
            high = middle
    return math.sqrt(1.0 / low) if low > 0.0 else most


@njit(**INNER)
def _settles(row: Any, cooling: Any, supply: Any, copper: float, case_heat: float) -> bool:
    bound = coolest(row, cooling, supply, copper, case_heat)
    return settle(row, cooling, supply, copper, case_heat, bound).settles


@njit(**INNER)
def consider(
    row: Any,
    number: int,
    supply: Any,
    coolings: NDArray[np.void],
    heaviest: float,
    loads: NDArray[np.void],
    wires: NDArray[np.float64],
    fronts: NDArray[np.void],
) -> None:
    """Judge candidate `number` under every load and cooling."""
    shell = active_mass(row, 0.0)
    for which in range(len(loads)):
        load = loads[which]
        if _hopeless(row, supply, coolings, heaviest, loads, fronts, which, shell):
            continue
        found = fit(row, load, supply, wires, 1.0)
        if worst_ratio(found, 0.0) > 1.0:
            continue
        copper, case_heat, force = mean_losses(row, load, supply, found.fill)
        if force <= row.force_continuous:
            _compete(row, number, supply, coolings, heaviest, loads, fronts, which, found, copper, case_heat)


@njit(**INNER)
def _hopeless(
    row: Any,
    supply: Any,
    coolings: NDArray[np.void],
    heaviest: float,
    loads: NDArray[np.void],
    fronts: NDArray[np.void],
    which: int,
    shell: float,
) -> bool:
    # whether a candidate misses the peak force, or is beaten or too heavy in every case with its copper weighing
    # nothing, its wire filling all that packing allows, no inertia to move, and the winding at ambient
    load = loads[which]
    if load.force_peak * row.efficiency > row.force_limit * row.end_share:
        return True
    constant = (row.motor_constant * row.mid_share * supply.motor_factor) ** 2 * supply.packing
    weaker = 1.0 + row.magnet_slope * (supply.ambient - REFERENCE)
    force = load.mean_square * row.efficiency * row.efficiency
    least = force / constant * resistance_factor(supply.ambient) / (weaker * weaker) + load.mean_power
    for case in range(which * len(coolings), (which + 1) * len(coolings)):
        if fronts[case].count == 0:
            return False
        if not (shell > heaviest * fronts[case].mass[0] or beaten(fronts, case, shell, least)):
            return False
    return True


@njit(**INNER)
def _compete(
    row: Any,
    number: int,
    supply: Any,
    coolings: NDArray[np.void],
    heaviest: float,
    loads: NDArray[np.void],
    fronts: NDArray[np.void],
    which: int,
    found: Fit,
    copper: float,
    case_heat: float,
) -> None:
    # a candidate that reaches every peak against those kept, under each cooling
    load = loads[which]
    base = active_mass(row, found.fill)
    cold = 1.0 + row.magnet_slope * (supply.ambient - REFERENCE)
    ambient_factor = resistance_factor(supply.ambient) / (cold * cold)
    least = copper * ambient_factor + case_heat
    least += load.mean_power
    area = math.pi * row.case_diameter * row.case_length
    for c in range(len(coolings)):
        cooling, case = coolings[c], which * len(coolings) + c
        fronts[case].tried += 1
        lightest = base + cooling.fixed_mass + cooling.mass_per_area * area
        if fronts[case].count > 0 and lightest > heaviest * fronts[case].mass[0]:
            continue
        if beaten(fronts, case, lightest, least + cooling.fixed_power):
            continue
        drive_mass, standby = 0.0, row.drive_standby
        if row.drive_loss == 0.0:
            drive = drive_size(found.peak_power, 0.0, supply.drive)
            drive_mass, standby = drive.mass, drive.standby
        if beaten(fronts, case, lightest + drive_mass, least + standby + cooling.fixed_power):
            continue
        bound = coolest(row, cooling, supply, copper, case_heat)
        if not bound.settles:
            continue
        weaker = 1.0 + row.magnet_slope * (bound.magnet - REFERENCE)
        warmer = least + copper * (resistance_factor(bound.winding) / (weaker * weaker) - ambient_factor)
        if beaten(fronts, case, lightest + drive_mass, warmer + standby + cooling.fixed_power):
            continue
        heated = settle(row, cooling, supply, copper, case_heat, bound)
        if not heated.settles:
            continue
        if burst_temperature(row, load, supply, found.fill, heated) > min(supply.winding_limit, row.winding_limit):
            continue
        work = operate(row, load, cooling, supply, found, copper, case_heat, heated)
        fronts[case].reached += 1
        if not beaten(fronts, case, work.mass, work.bus):
            keep(fronts, case, number, work.mass, work.bus)


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
        consider(rows[k], first + k, supply, coolings, heaviest, loads, wires, fronts)
        lightest = min(lightest, active_mass(rows[k], 0.0))
    return lightest


@njit(**KERNEL)
def nearest_of_all(
    rows: NDArray[np.void],
    first: int,
    supply: Any,
    coolings: NDArray[np.void],
    heaviest: float,
    loads: NDArray[np.void],
    wires: NDArray[np.float64],
    fronts: NDArray[np.void],
) -> None:
    """For every case without a design, the candidate whose worst need over ability is least.

    From the last row to the first: the largest proportions, which miss least, soon leave little to look at closely.
    """
    cases = len(coolings)
    for k in range(len(rows) - 1, -1, -1):
        row = rows[k]
        for which in range(len(loads)):
            stop = 0.0
            for case in range(which * cases, (which + 1) * cases):
                if fronts[case].count == 0:
                    stop = max(stop, fronts[case].closest)
            if stop == 0.0 or loads[which].force_peak * row.efficiency > stop * row.force_limit * row.end_share:
                continue
            found = fit(row, loads[which], supply, wires, stop)
            if worst_ratio(found, 0.0) >= stop:
                continue
            copper, case_heat, force = mean_losses(row, loads[which], supply, found.fill)
            worst = worst_ratio(found, force / row.force_continuous)
            for c in range(cases):
                case = which * cases + c
                if fronts[case].count > 0 or worst >= fronts[case].closest:
                    continue
                ratio = heat_ratio(row, coolings[c], supply, copper, case_heat, fronts[case].closest)
                if max(worst, ratio) < fronts[case].closest:
                    fronts[case].closest, fronts[case].closest_number = max(worst, ratio), first + k
