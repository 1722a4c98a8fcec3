"""What comes nearest when no plant keeps every requirement: the one whose misses, added up as shares, are least.

First the limits the user set (mass, current, diameter, length) are lifted: where that alone lets a plant serve, the one
that breaks them least is the answer, and only those limits are named. Otherwise the refused half that came furthest is
taken and improved one part at a time until no exchange of a single part lessens what is missing: near the least, not
proven least. Knows no physics.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Callable, Mapping, Sequence
from typing import TypeVar

import numpy as np

from models.sizing.account import (
    Account,
    Choice,
    CornerChoice,
    account,
    central_uses,
    corner_account,
    corner_gas,
    recentred,
)
from models.sizing.central import SPEED, U_CONTROL, U_MOTOR, U_PUMP, U_QMAX
from models.sizing.corner import CONSTRAINTS
from models.sizing.corner_store import GAS_TESTS
from models.sizing.halves import corner_misses
from models.sizing.search import Found, Tables, run_search
from models.sizing.task import CORNER_ACCUMULATOR, UNBOUNDED, Task, relief_factor

ROUNDS = 4
"""Rounds of exchanging one part at a time, at most."""

Chosen = TypeVar("Chosen", CornerChoice, Choice)

UNITS_TRIED = 48
"""Central units tried, about, of those that serve at a pressure, spread evenly by control and mass."""

WORST = 1e3
"""Use at which a miss stops counting for more: beyond it every design is equally hopeless in that respect."""


def nearest(found: Found) -> Account:
    """The plant that misses least, for a search that found none."""
    limits_only = _without_limits(found)
    return limits_only if limits_only is not None else _improved(found.tables)


def chosen(found: Found, row: np.ndarray) -> Choice:
    """The catalogue rows of a plant of the front."""
    tables = found.tables
    unit = tables.units[int(row[6])]
    corners = tuple(
        _half(tables.choices[index][int(row[4] if axle.position == "front" else row[5])])
        for index, axle in enumerate(tables.task.demand.axles)
    )
    return Choice(
        int(row[3]), corners, int(unit[U_PUMP]), int(unit[U_MOTOR]), int(unit[U_CONTROL]), int(row[7]), bool(row[8])
    )


def _half(row: np.ndarray) -> CornerChoice:
    return CornerChoice(int(row[0]), int(row[1]), int(row[2]), int(row[3]), bool(row[4]), int(row[6]))


def _without_limits(found: Found) -> Account | None:
    """The plant that breaks the user's own limits least, when nothing else stands in the way."""
    task, plant = found.tables.task, found.tables.plant
    limits, current = task.spec.limits, task.spec.bus.peak_current
    if limits.mass is limits.cylinder_outer_diameter is limits.retracted_length is current is None:
        return None
    free = run_search(_unlimited(task))
    if free.front.shape[0] == 0:
        return None

    @functools.cache
    def corners_miss(setting: int, index: int, half: int) -> float:
        corner = _half(free.tables.choices[index][half])
        uses, _, _ = corner_account(found.tables, index, setting, corner)
        return float(np.maximum(uses - 1.0, 0.0).sum())

    def miss(row: np.ndarray) -> float:
        sides = [int(row[4] if axle.position == "front" else row[5]) for axle in task.demand.axles]
        of_corners = sum(corners_miss(int(row[3]), i, half) for i, half in enumerate(sides))
        return max(0.0, row[0] / plant.mass_limit - 1.0) + max(0.0, row[2] / plant.current_limit - 1.0) + of_corners

    return account(found.tables, chosen(free, min(free.front, key=miss)))


def _unlimited(task: Task) -> Task:
    limits = task.spec.limits.model_copy(
        update={"mass": None, "cylinder_outer_diameter": None, "retracted_length": None}
    )
    bus = task.spec.bus.model_copy(update={"peak_current": None})
    return dataclasses.replace(
        task,
        spec=task.spec.model_copy(update={"limits": limits, "bus": bus}),
        axles=tuple(axle._replace(outer_limit=UNBOUNDED, length_limit=UNBOUNDED) for axle in task.axles),
    )


def _improved(tables: Tables) -> Account:
    """The nearest plant by exchanging parts: first the corners at the setting that suits them, then the centre."""
    task = tables.task
    setting = _start_setting(tables)
    corners = [_improved_corner(tables, i, setting, _start_corner(tables, i, setting)) for i in range(len(task.axles))]

    def corner_miss(setting: int) -> float:
        return sum(_corners_missing(tables, i, setting, (corner,))[0] for i, corner in enumerate(corners))

    better = min(range(task.settings.high.size), key=lambda s: (corner_miss(s), s != setting, s))
    if better != setting:
        corners = [_improved_corner(tables, i, better, corner) for i, corner in enumerate(corners)]
    return _improved_centre(tables, better, tuple(corners))


def _start_setting(tables: Tables) -> int:
    """A setting at which every axle has a half that serves; else that of the half that came furthest."""
    counts = np.array([np.diff(first) for first in tables.first])
    served = np.flatnonzero(np.all(counts > 0, axis=0))
    if served.size:
        return int(served[served.size // 2])
    empty = [miss for miss, keys in zip(tables.nearest, tables.keys, strict=True) if keys.shape[0] == 0]
    furthest = max(empty or tables.nearest, key=lambda miss: (miss[0], -miss[1]))
    return int(furthest[2]) if furthest[0] >= 0.0 else 0


def _start_corner(tables: Tables, index: int, setting: int) -> CornerChoice:
    first, catalogue = tables.first[index], tables.task.catalogue
    if first[setting + 1] > first[setting]:
        return _half(tables.choices[index][first[setting]])
    miss = tables.nearest[index]
    cylinder, spool = (int(miss[3]), int(miss[4])) if miss[0] >= 0.0 else (0, tables.task.spools[0])
    line = int(miss[5]) if miss[5] >= 0.0 else int(np.argmax(catalogue.lines.rating))
    valve = int(miss[6]) if miss[6] >= 0.0 else int(np.argmax(catalogue.valves.rated_flow))
    return _allowed(tables, CornerChoice(cylinder, spool, line, valve, bool(miss[7] > 0.0)))  # any shell to begin with


def _allowed(tables: Tables, corner: CornerChoice) -> CornerChoice:
    """The corner with a spool and checks that its rod and the stock allow: a through rod has a symmetric spool."""
    task = tables.task
    spool = 0 if task.catalogue.cylinders.through[corner.cylinder] else corner.spool
    spool = spool if spool in task.spools or task.catalogue.cylinders.through[corner.cylinder] else task.spools[0]
    checks = corner.checks if task.checks[int(corner.checks)] else not corner.checks
    return corner._replace(spool=spool, checks=checks)


def _corners_missing(tables: Tables, index: int, setting: int, corners: Sequence[CornerChoice]) -> list[float]:
    """What each of several corners of an axle lacks at a setting."""
    task, settings, s = tables.task, tables.task.settings, setting
    gas = np.zeros((len(corners), 1 + GAS_TESTS))
    if task.axles[index].arrangement == CORNER_ACCUMULATOR:
        for row, corner in zip(gas, corners, strict=True):
            spring = corner_gas(tables, index, setting, corner)
            assert spring is not None
            row[0], row[1:] = spring.chamber_use, spring.uses
    rows = np.array([(c.cylinder, c.spool, c.line, c.valve, int(c.checks)) for c in corners], np.int64)
    high, misses, space = float(settings.high[s]), np.empty(len(corners)), np.empty((2, len(CONSTRAINTS)))
    corner_misses(
        tables.corner_rows[index], tables.gains, tables.transitions, task.oils, high, float(settings.supply_low[s]),
        float(settings.back[s]), float(settings.makeup[s]), float(settings.modulus[s]), tables.drops[index],
        task.factors, tables.laws, tables.measured, relief_factor() * high, WORST, rows, gas, space[0], space[1],
        misses,
    )  # fmt: skip
    found: list[float] = misses.tolist()
    return found


def _improved_corner(tables: Tables, index: int, setting: int, start: CornerChoice) -> CornerChoice:
    catalogue = tables.task.catalogue
    sizes = {
        "cylinder": catalogue.cylinders.bore.size,
        "line": catalogue.lines.bore.size,
        "valve": catalogue.valves.mass.size,
        "spool": 2,
        "checks": 2,
        "store": catalogue.corner_accumulators.volume.size,
    }

    def with_part(corner: CornerChoice, part: str, row: int) -> CornerChoice:
        changed = corner._replace(**{part: bool(row) if part == "checks" else row})  # type: ignore[arg-type]
        return changed if part in ("line", "valve", "store") else _allowed(tables, changed)

    return _exchange(start, sizes, with_part, functools.partial(_corners_missing, tables, index, setting))


def _improved_centre(tables: Tables, setting: int, corners: tuple[CornerChoice, ...]) -> Account:
    """Pump, motor and control from the units that serve at this pressure, or, where none does, one by one."""
    task, catalogue = tables.task, tables.task.catalogue
    p = int(task.settings.pressure[setting])
    units = tables.units[tables.unit_first[p, 0] : tables.unit_first[p, 1]]
    units = units[:: max(1, units.shape[0] // UNITS_TRIED)]
    whole = [(int(unit[U_PUMP]), int(unit[U_MOTOR]), int(unit[U_CONTROL])) for unit in units]
    largest = int(np.argmax(units[:, U_QMAX])) if whole else 0
    control = SPEED if SPEED in task.controls else task.controls[0]
    strong = (int(np.argmax(catalogue.pumps.max_pressure)), int(np.argmax(catalogue.motors.rated_torque)), control)
    start = Choice(setting, corners, *(whole[largest] if whole else strong), int(catalogue.accumulators.mass.size - 1))
    parts = {"pump": catalogue.pumps.mass.size, "motor": catalogue.motors.mass.size, "control": len(task.controls)}
    sizes = {**({"unit": len(whole)} if whole else parts), "accumulator": catalogue.accumulators.mass.size}
    base = account(tables, start)

    def with_part(choice: Choice, part: str, row: int) -> Choice:
        if part == "unit":
            pump, motor, control = whole[row]
            return choice._replace(pump=pump, motor=motor, control=control)
        row = task.controls[row] if part == "control" else row
        return choice._replace(**{part: row})  # type: ignore[arg-type]

    @functools.cache
    def cost(choice: Choice) -> float:
        return sum(max(0.0, min(use, WORST) - 1.0) for use in central_uses(recentred(base, choice)))

    def costs(choices: Sequence[Choice]) -> list[float]:
        return [cost(choice) for choice in choices]

    return recentred(base, _exchange(start, sizes, with_part, costs))


def _exchange(
    start: Chosen,
    sizes: Mapping[str, int],
    with_part: Callable[[Chosen, str, int], Chosen],
    costs: Callable[[Sequence[Chosen]], list[float]],
) -> Chosen:
    """`start` with one part at a time exchanged for the row of least cost, until nothing improves."""
    best, least = start, costs([start])[0]
    for _ in range(ROUNDS):
        before = least
        for part, size in sizes.items():
            if least <= 0.0:
                return best
            others = [with_part(best, part, row) for row in range(size)]
            for other, value in zip(others, costs(others), strict=True):
                if value < least - 1e-12:
                    best, least = other, value
        if least == before:
            break
    return best
