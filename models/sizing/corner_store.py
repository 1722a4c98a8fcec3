"""The gas spring of a corner: which accumulator may hold it on which cylinder, and what it and its orifice weigh.

The gas follows from the load, the rate asked and the piston area; an accumulator is then any shell that holds it over
the whole travel, cold and hot. The search's table and the account of one corner come from the same lines here. Knows
one axle and the shells on offer; not the valve, nor the rest of the plant.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.hydraulics.accumulator import nitrogen, nitrogen_density
from models.hydraulics.gas_spring import GasSpring, gas_spring, precharges
from models.quantity import ATMOSPHERE, ZERO_CELSIUS
from models.sizing.catalogue import mass_law
from models.sizing.corner import areas
from models.sizing.sizes import Accumulators, Floats
from models.sizing.task import CORNER_ACCUMULATOR, GasWish, Task

CHARGE_TEMPERATURE = ZERO_CELSIUS + 20.0
"""Temperature at which an accumulator is charged, K, and at which a gas spring has its rate. Source:
[common_practice]."""

GAS_TESTS = 4
"""Constraints of a gas spring, the last of `corner.CONSTRAINTS`: volume at full droop settled hot against the share of
the shell it may fill; an atmosphere against the precharge, which a bottle cannot fill to less; highest pressure against
the shell's; pressure at full bump over precharge against what the shell's type bears."""

PRESSURE_TEST = 2

STORE_OK, STORE_MASS, STORE_OIL = range(3)
"""Columns of `shell_table`: 1 where a shell may be taken, its wet mass with the orifice (kg), the oil in it (m³)."""


@dataclass(frozen=True)
class GasNumbers:
    """A gas spring in one shell: need and allowance of each test of GAS_TESTS, m³, Pa absolute, Pa gauge and 1."""

    spring: GasSpring
    precharge: float
    chamber_use: float
    """Pressure at full bump over the highest the circuit may reach; 0 where the gas cannot be squeezed so far."""
    need: Floats
    allowance: Floats
    store_mass: float
    orifice_mass: float
    store_oil: float

    @property
    def uses(self) -> Floats:
        """Need over allowance of each test."""
        return self.need / self.allowance


@functools.lru_cache(maxsize=4096)
def _spring(wish: GasWish, area: float, rate: float, cold: float, hot: float) -> GasSpring:
    return gas_spring(wish.static_force, area, rate, wish.bump, wish.droop, CHARGE_TEMPERATURE, cold, hot)


def corner_spring(task: Task, index: int, area: float) -> GasSpring:
    """The gas spring that axle `index` wants on a piston of `area` m²."""
    axle = task.axles[index]
    return _spring(axle.gas, float(area), axle.spring, task.spec.oil_cold, task.spec.oil_hot)


def _needs(task: Task, spring: GasSpring, shells: Accumulators, limit: float) -> tuple[Floats, Floats, Floats]:
    """(need, allowance) of each test, each [test, shell], and the absolute precharge of each shell."""
    gas, count = nitrogen(), shells.volume.size
    charge = precharges(gas, spring.gas_mass, shells.volume, CHARGE_TEMPERATURE)
    bump = spring.bump_pressure if math.isfinite(spring.bump_pressure) else math.inf
    thinnest = nitrogen_density(gas, spring.droop_pressure + ATMOSPHERE, task.spec.oil_hot)
    droop_volume = spring.gas_mass / thinnest if thinnest > 0.0 else math.inf
    need = np.vstack(
        (
            np.full(count, droop_volume),
            np.full(count, ATMOSPHERE),
            np.full(count, _highest(bump, limit)),
            (bump + ATMOSPHERE) / charge,
        )
    )
    allowance = np.vstack(
        (task.spec.safety.precharge_ratio * shells.volume, charge, shells.max_pressure, shells.max_ratio)
    )
    return np.nan_to_num(need, nan=math.inf, posinf=math.inf), allowance, charge


def _highest(bump: float, limit: float) -> float:
    """Highest pressure a shell sees, Pa; gas that cannot be squeezed so far is told by its ratio alone."""
    return max(bump, limit) if math.isfinite(bump) else limit


def _masses(task: Task, index: int, area: float, spring: GasSpring, shells: Accumulators) -> tuple[Floats, float]:
    """(oil in each shell at rest in the cold, m³; mass of the orifice, kg)."""
    wish = task.axles[index].gas
    coefficient, power = mass_law("orifice")
    orifice = coefficient * (area * wish.wheel_peak * 6e4) ** power if wish.damping > 0.0 else 0.0
    return np.maximum(0.0, shells.volume - spring.cold_volume), orifice


def gas_numbers(task: Task, index: int, cylinder: int, store: int, limit: float) -> GasNumbers | None:
    """The gas spring of axle `index` with catalogue rows `cylinder` and `store`; None in an arrangement without.

    limit: highest pressure of the circuit, Pa.
    """
    if task.axles[index].arrangement != CORNER_ACCUMULATOR:
        return None
    cylinders, every = task.catalogue.cylinders, task.catalogue.corner_accumulators
    area = float(areas(cylinders.bore[cylinder], cylinders.rod[cylinder], bool(cylinders.through[cylinder]))[0])
    shells = Accumulators(*(column[store : store + 1] for column in every))
    spring = corner_spring(task, index, area)
    need, allowance, charge = _needs(task, spring, shells, limit)
    oil, orifice = _masses(task, index, area, spring, shells)
    return GasNumbers(
        spring,
        float(charge[0]) - ATMOSPHERE,
        _highest(spring.bump_pressure, 0.0) / limit,
        need[:, 0],
        allowance[:, 0],
        float(shells.mass[0] + oil[0] * task.oils.density[0]),
        orifice,
        float(oil[0]),
    )


def shell_table(task: Task, index: int, relief: float) -> tuple[Floats, Floats]:
    """([pressure, cylinder, shell, STORE_*], [pressure, cylinder] the least of the worst uses).

    A shell is left out that another on the same cylinder equals or betters in wet mass and oil, through which alone it
    meets the rest. In an arrangement without, one shell of nothing.
    """
    cylinders, pressures = task.catalogue.cylinders, task.catalogue.pressures
    shells = task.catalogue.corner_accumulators
    table = np.zeros((pressures.size, cylinders.bore.size, shells.volume.size, 3))
    misses = np.zeros((pressures.size, cylinders.bore.size))
    if task.axles[index].arrangement != CORNER_ACCUMULATOR:
        table[..., STORE_OK] = 1.0
        return table, misses
    caps = np.array(
        [areas(b, r, bool(t))[0] for b, r, t in zip(cylinders.bore, cylinders.rod, cylinders.through, strict=True)]
    )
    density = float(task.oils.density[0])
    for area in np.unique(caps):
        same = np.flatnonzero(caps == area)
        spring = corner_spring(task, index, float(area))
        oil, orifice = _masses(task, index, float(area), spring, shells)
        mass = shells.mass + oil * density + orifice
        bump = spring.bump_pressure if math.isfinite(spring.bump_pressure) else math.inf
        need, allowance, _ = _needs(task, spring, shells, 0.0)
        for p, pressure in enumerate(pressures):
            limit = relief * float(pressure)
            need[PRESSURE_TEST] = _highest(bump, limit)
            worst = np.maximum((need / allowance).max(axis=0), _highest(bump, 0.0) / limit)
            misses[p, same] = worst.min()
            kept = _undominated(worst <= 1.0, mass, oil)
            for c in same:
                table[p, c, :, STORE_OK], table[p, c, :, STORE_MASS], table[p, c, :, STORE_OIL] = kept, mass, oil
    return table, misses


def _undominated(able: NDArray[np.bool_], mass: Floats, oil: Floats) -> NDArray[np.bool_]:
    """Those able shells that no other able one equals or betters in both numbers; of equals the first."""
    kept = np.zeros(able.size, dtype=bool)
    least = math.inf
    for i in np.lexsort((oil, mass)):
        if able[i] and oil[i] < least:
            kept[i], least = True, oil[i]
    return kept
