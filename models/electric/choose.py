"""Electric actuators for a whole vehicle: every family with every cooling, with a parallel spring and without.

Knows the demand's axles and how the search's results become one design for the vehicle: the same family and cooling on
every axle, its machines chosen axle by axle under one objective. What no candidate meets is told with the nearest one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from models.demand import Demand
from models.drive.battery import loaded, pack_mass, pack_resistance, run_time
from models.electric.candidate import Supply
from models.electric.catalogue import as_record, constants, cooling_record, drive_regression, insulation_classes, wires
from models.electric.design import ElectricMachine, fill_machine, misses_of
from models.electric.families import FAMILIES, Family, Group
from models.electric.loads import LOAD, axle_load, mechanical_peak, reduced_mass
from models.electric.search import consider_all, empty_fronts, finished, nearest_of_all
from models.electric.sizing_records import (
    BusCannotDrive,
    Choices,
    ElectricDesign,
    ElectricSizing,
    Miss,
    Objective,
    Surroundings,
    VehicleFigures,
)
from models.quantity import OutOfRange

HIGHEST_VOLTAGE = 1000.0
"""Bus voltage, V, up to which a higher one is tried before a demand counts as beyond any bus."""


def size_electric(demand: Demand, surroundings: Surroundings, choices: Choices | None = None) -> ElectricSizing:
    """Size every family with every cooling to a demand, for each share of the weight on a parallel spring.

    Raises BusCannotDrive when the bus alone stands in the way of every machine that is wound for it.
    """
    wanted = choices or Choices()
    sizing = size_families(demand, surroundings, wanted)
    _check_bus(sizing.designs, demand, surroundings, wanted)
    return sizing


def size_families(demand: Demand, surroundings: Surroundings, wanted: Choices) -> ElectricSizing:
    """The same without asking whether a higher bus voltage would mend what no design meets."""
    supply = _supply(surroundings, wanted)
    loads = _loads(demand, surroundings, wanted, supply)
    families = [FAMILIES[name] for name in wanted.families]
    searches = _search_all(families, loads, supply, wanted)
    designs: list[ElectricDesign] = []
    best: list[ElectricDesign | None] = []
    for place, share in enumerate(wanted.spring_shares):
        options = [
            _Option(family, cooling, tuple(searches[name, axle].fronts[place, c] for axle in range(len(demand.axles))))
            for name, family in enumerate(families)
            for c, cooling in enumerate(_coolings(family, wanted))
        ]
        stars = _stars([option for option in options if option.family.sets_force], demand, wanted.objective)
        case = _Case(share, demand, loads[:, place], supply, surroundings, stars)
        found = [_design(option, case) for option in options]
        designs += found
        best.append(_best(found, stars))
    return ElectricSizing(wanted.objective, tuple(designs), tuple(best), sum(s.candidates for s in searches.values()))


def _supply(surroundings: Surroundings, wanted: Choices) -> np.void:
    fixed = constants()
    lowest = surroundings.voltage * fixed["bus_low_share"]
    sag = fixed["unknown_sag"] * surroundings.voltage
    if surroundings.energy is not None and surroundings.peak_current is not None:
        sag = surroundings.peak_current * _resistance(surroundings)
    regeneration = fixed["regeneration"] if wanted.regeneration is None else wanted.regeneration
    return as_record(
        Supply(
            voltage=max(lowest - sag, 0.1 * lowest),
            ambient=surroundings.ambient,
            air_speed=surroundings.air_speed,
            winding_limit=insulation_classes()[-1] - fixed["hot_spot_allowance"],
            surface_limit=_or_infinite(surroundings.surface_temperature),
            diameter_limit=_or_infinite(surroundings.outer_diameter),
            length_limit=_or_infinite(surroundings.retracted_length),
            bandwidth_ratio=wanted.bandwidth_ratio,
            regeneration=regeneration,
            motor_factor=wanted.motor_constant_factor,
            friction_factor=wanted.friction_factor,
            packing=fixed["winding_packing"],
            fill_low=fixed["fill_low"],
            emissivity=fixed["case_emissivity"],
            loop_bandwidth=fixed["current_loop_bandwidth"],
            phase_current=fixed["phase_current"],
            drive=drive_regression(),
        )
    )


def _or_infinite(limit: float | None) -> float:
    return math.inf if limit is None else limit


def _resistance(surroundings: Surroundings) -> float:
    fixed = constants()
    if surroundings.energy is None:
        return 0.0
    return pack_resistance(surroundings.voltage, surroundings.energy, fixed["cell_voltage"], fixed["cell_resistance"])


def _loads(demand: Demand, surroundings: Surroundings, wanted: Choices, supply: np.void) -> NDArray[np.void]:
    """Loads by axle and spring share. A limit of the bus's current is shared in proportion to peak mechanical power."""
    loads = np.zeros((len(demand.axles), len(wanted.spring_shares)), LOAD)
    for place, axle in enumerate(demand.axles):
        for s, share in enumerate(wanted.spring_shares):
            loads[place, s] = axle_load(axle, demand, share)
        loads[place]["inertance_limit"] = constants()["inertance_share"] * reduced_mass(axle)
    if surroundings.peak_current is not None:
        for s in range(len(wanted.spring_shares)):
            peaks = [mechanical_peak(load) for load in loads[:, s]]
            total = sum(axle.corners * peak for axle, peak in zip(demand.axles, peaks, strict=True))
            for place, peak in enumerate(peaks):
                loads[place, s]["peak_power"] = surroundings.peak_current * supply["voltage"] * peak / total
    return loads


@dataclass(frozen=True)
class _Search:
    """Fronts of one family on one axle, [spring share, cooling], and how many candidates there were."""

    fronts: NDArray[np.void]
    candidates: int


def _coolings(family: Family, wanted: Choices) -> tuple[str, ...]:
    return tuple(name for name in family.coolings if name in wanted.coolings)


def _search_all(
    families: Sequence[Family], loads: NDArray[np.void], supply: np.void, wanted: Choices
) -> dict[tuple[int, int], _Search]:
    """Search every family on every axle, two at a time; equal loads are searched once."""
    jobs: dict[tuple[int, bytes], tuple[Family, NDArray[np.void]]] = {}
    for name, family in enumerate(families):
        for axle in range(len(loads)):
            jobs.setdefault((name, loads[axle].tobytes()), (family, loads[axle]))
    with ThreadPoolExecutor(max_workers=2) as pool:
        waiting = {
            key: pool.submit(_search, family, load, supply, _coolings(family, wanted))
            for key, (family, load) in jobs.items()
        }
        done = {key: job.result() for key, job in waiting.items()}
    return {
        (name, axle): done[name, loads[axle].tobytes()] for name in range(len(families)) for axle in range(len(loads))
    }


def _search(family: Family, loads: NDArray[np.void], supply: np.void, cooled: tuple[str, ...]) -> _Search:
    """One family on one axle: all designs no other beats, or the nearest miss, for each spring share and cooling."""
    cooling, heaviest = np.array([cooling_record(name) for name in cooled]), constants()["mass_over_lightest"]
    wire, stroke, candidates = wires().diameters, float(loads[0]["stroke"]), 0
    fronts = empty_fronts(len(loads), len(cooled))
    parts = [slice(s, s + 1) for s in range(len(loads))] if family.depends_on_force else [slice(0, len(loads))]
    for part in parts:
        asked, ours = loads[part], fronts[part]
        force = float(asked["force_peak"].min())
        for out_of_reach, group in _bounded(family.groups(stroke, force, False), force, supply):
            candidates += group.size
            if out_of_reach > 1.0 and not np.all(ours["count"] > 0):
                continue  # else its weight may end the search
            lightest = consider_all(group.build(), group.first, supply, cooling, heaviest, asked, wire, ours)
            if finished(ours, lightest, heaviest):
                break
        if np.all(ours["count"] > 0):
            continue
        lacking = ours["count"] == 0
        groups = _bounded(family.groups(stroke, force, True), force, supply)
        for out_of_reach, group in sorted(groups, key=itemgetter(0)):
            if out_of_reach >= ours["closest"][lacking].max():
                break
            nearest_of_all(group.build(), group.first, supply, cooling, asked, wire, ours)
    return _Search(fronts, candidates)


def _bounded(groups: Sequence[Group], force: float, supply: np.void) -> list[tuple[float, Group]]:
    """Groups, and a bound below the worst need over ability of each of their candidates; force: N, the least asked."""
    limit = float(supply["diameter_limit"])
    # rounding must not make it a bound above
    return [(max(force / g.strongest, g.slimmest / limit) * (1.0 - 1e-9), g) for g in groups]


@dataclass(frozen=True)
class _Option:
    """One family with one cooling: the designs kept on each axle."""

    family: Family
    cooling: str
    fronts: tuple[np.void, ...]

    @property
    def feasible(self) -> bool:
        return all(front["count"] > 0 for front in self.fronts)


@dataclass(frozen=True)
class _Stars:
    """The least mass (kg) and least power (W) of the vehicle over the whole space; a mean mechanical power (W) to be
    taken off where the least power is not positive, so that heat is compared instead."""

    objective: Objective
    mass: float
    power: float
    offset: float

    def score(self, mass: NDArray[np.float64] | float, power: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """What the objective makes least."""
        if self.objective == "mass":
            return np.asarray(mass)
        if self.objective == "power":
            return np.asarray(power)
        return np.asarray(mass / self.mass + (power - self.offset) / self.power)


@dataclass(frozen=True)
class _Case:
    """What the designs of one spring share have in common; `loads` by axle."""

    share: float
    demand: Demand
    loads: NDArray[np.void]
    supply: np.void
    surroundings: Surroundings
    stars: _Stars


def _kept(front: np.void, heaviest: float) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Mass, power and number of the designs kept, but those over `heaviest` kg."""
    count = int(front["count"])
    count = int(np.searchsorted(front["mass"][:count], heaviest, side="right"))
    return front["mass"][:count], front["power"][:count], front["number"][:count]


def _stars(options: Sequence[_Option], demand: Demand, objective: Objective) -> _Stars:
    feasible = [option for option in options if option.feasible]
    if not feasible:
        return _Stars(objective, 1.0, 1.0, 0.0)
    corners = [axle.corners for axle in demand.axles]
    masses = [
        sum(n * float(front["mass"][0]) for n, front in zip(corners, option.fronts, strict=True)) for option in feasible
    ]
    least_mass = min(masses)
    lightest = [float(front["mass"][0]) for front in feasible[masses.index(least_mass)].fronts]
    powers = []
    for option in feasible:
        kept = [
            _kept(front, constants()["mass_over_lightest"] * m)[1]
            for front, m in zip(option.fronts, lightest, strict=True)
        ]
        if all(len(power) for power in kept):
            powers.append(sum(n * float(power[-1]) for n, power in zip(corners, kept, strict=True)))
    least_power = min(powers)
    offset = 0.0
    if least_power <= 0.0:
        offset = sum(
            axle.corners * sum(duty.share_of_time * duty.mean_power for duty in axle.duties) for axle in demand.axles
        )
    return _Stars(objective, least_mass, least_power - offset, offset)


def _pick(front: np.void, stars: _Stars) -> int:
    """The candidate kept on one axle that the objective puts first."""
    mass, power, number = _kept(front, constants()["mass_over_lightest"] * float(front["mass"][0]))
    return int(number[int(np.argmin(stars.score(mass, power)))])


def _design(option: _Option, case: _Case) -> ElectricDesign:
    axles, cooling = case.demand.axles, cooling_record(option.cooling)
    misses: tuple[Miss, ...] = ()
    machines: tuple[ElectricMachine, ...] = ()
    figures = None
    if option.feasible:
        machines = tuple(
            fill_machine(option.family, _pick(front, case.stars), axle, load, cooling, case.supply)
            for axle, front, load in zip(axles, option.fronts, case.loads, strict=True)
        )
        figures, over = _figures(machines, case.surroundings)
        misses = (Miss("vehicle", "battery power", over),) if over > 1.0 else ()
    else:
        misses = tuple(
            Miss(axle.position, limit, ratio if math.isfinite(ratio) else None)
            for axle, front, load in zip(axles, option.fronts, case.loads, strict=True)
            if front["count"] == 0
            for limit, ratio in misses_of(option.family, int(front["closest_number"]), load, cooling, case.supply)
        )
    return ElectricDesign(
        family=option.family.name,
        label=option.family.label,
        cooling=option.cooling,
        spring_share=case.share,
        feasible=not misses,
        sets_force=option.family.sets_force,
        misses=misses,
        machines=machines,
        figures=figures,
        parts=case.demand.corners * (option.family.parts + (option.cooling != "still_air")),
        tried=int(sum(front["tried"] for front in option.fronts)),
        kept=int(sum(front["count"] for front in option.fronts)),
    )


def _figures(machines: Sequence[ElectricMachine], surroundings: Surroundings) -> tuple[VehicleFigures, float]:
    """The vehicle's figures, and the peak power over the most the battery gives (0 within it)."""
    power = sum(m.corners * m.power.corner_bus for m in machines)
    peak = sum(m.corners * m.peak_power for m in machines)
    current, voltage, over = _at_terminals(peak, surroundings)
    energy = surroundings.energy
    figures = VehicleFigures(
        mass=sum(m.corners * m.masses.total for m in machines),
        mean_power=power,
        standby_power=sum(m.corners * m.power.standby for m in machines),
        heat=sum(m.corners * m.power.corner_heat for m in machines),
        peak_power=peak,
        peak_current=current,
        sagged_voltage=voltage,
        run_time=run_time(energy, power) if energy is not None and power > 0.0 else None,
    )
    return figures, over


def _at_terminals(power: float, surroundings: Surroundings) -> tuple[float, float | None, float]:
    """(current A, voltage V, need over the battery's ability) when `power` W is drawn from a nearly empty battery."""
    fixed = constants()
    lowest = fixed["bus_low_share"] * surroundings.voltage
    if surroundings.energy is None:
        voltage = lowest - fixed["unknown_sag"] * surroundings.voltage
        return power / voltage, voltage, 0.0
    try:
        current, voltage = loaded(power, lowest, _resistance(surroundings))
    except OutOfRange as error:
        return power / lowest, None, power / (error.high or math.inf)
    return current, voltage, 0.0


def _best(designs: Sequence[ElectricDesign], stars: _Stars) -> ElectricDesign | None:
    able = [(d.figures, d) for d in designs if d.feasible and d.sets_force and d.figures is not None]
    scored = [(float(stars.score(figures.mass, figures.mean_power)), place) for place, (figures, _) in enumerate(able)]
    return able[min(scored)[1]][1] if scored else None


def _check_bus(designs: Sequence[ElectricDesign], demand: Demand, surroundings: Surroundings, wanted: Choices) -> None:
    """Raise BusCannotDrive when no design is feasible, the bus is among the reasons and a higher voltage mends it."""
    wound = [design for design in designs if design.sets_force]
    blocked = all(any(miss.limit == "bus voltage" for miss in design.misses) for design in wound)
    if not wound or any(design.feasible for design in wound) or not blocked:
        return
    voltage = 2.0 * surroundings.voltage
    while voltage <= HIGHEST_VOLTAGE:
        sizing = size_families(demand, replace(surroundings, voltage=voltage), wanted)
        if any(design.feasible for design in sizing.designs if design.sets_force):
            raise BusCannotDrive(surroundings.voltage, voltage)
        voltage *= 2.0


def battery_mass(power: float, duration: float) -> float:
    """Battery, kg, that gives `power` W for `duration` s: the rate at which watts weigh, for a verdict only."""
    return pack_mass(power, duration, constants()["specific_energy"])
