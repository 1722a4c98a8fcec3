"""`size(spec, demand, margins)`: the least plant under the objective, why, why not its neighbours, or the nearest miss.

Pure: same arguments, same result. The customary stiffness and valve ratios are kept when any plant keeps them; else the
search runs again with the stiffness ratio at 1, then with both, and says so. With nothing feasible the nearest plant is
returned with all it misses. A shelf with one size of each is searched like any other, and so judged, never refused.
Knows the order of these steps and nothing of their physics.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

import fluids_data
from models.demand import Demand, Margins
from models.oil import Medium
from models.quantity import ZERO_CELSIUS, OutOfRange
from models.sizing.account import Account, account
from models.sizing.catalogue import ROD_SHARE, si_column
from models.sizing.cautions import cautions
from models.sizing.describe import describe
from models.sizing.design import Alternative, MediumTried, Search, Sizing, Unmet
from models.sizing.factored import AS_LISTED, PartFactors, factored
from models.sizing.ledgers import all_ledgers
from models.sizing.nearest import chosen, nearest
from models.sizing.refusals import refusals
from models.sizing.search import Found, choose, join_tables, relaxed_tables, run_search
from models.sizing.task import CONTROLS, Task, build_task, medium_of
from models.spec import Spec
from models.warning import DesignWarning

FRONT_SHOWN = 12
"""Alternatives listed, spread over the front."""

GUESS_EVERY = 3
"""Of the supply pressures a first guess of the mass tries one in so many. The design does not rest on it."""

OWN_ROD_SHARE = 0.9
"""Share of the bore below which a rod from the user's shelf fits it, as in the catalogue."""

WOULD_HELP = {
    "force": "a higher pressure, a larger bore, or less force",
    "valve_opening": "a larger valve, a higher pressure, or less velocity",
    "cavitation": "a through rod, a matched spool, anti-cavitation checks with a biased return, or a higher pressure; "
    "on a corner accumulator, which cannot pull, more damping kept beside it (retained_damping) or less force",
    "chamber_pressure": "a through rod, a larger annulus, or a higher pressure; on a gas spring less bump travel too",
    "pressure_rating": "a lower supply pressure, or hoses and valves of a higher rating",
    "buckling": "a thicker rod, a lower pressure, less stroke, or a smaller bore",
    "outer_diameter": "a higher pressure with a smaller bore, or more room around the cylinder",
    "retracted_length": "a single rod, less travel, or more room for length",
    "stiffness": "shorter or wider lines, stiffer hoses, less free air, a larger bore, or a lower frequency of duty",
    "valve_bandwidth": "a faster valve, or a duty of lower frequency",
    "seal_friction": "clearance seals, a lower pressure, or more force",
    "wall": "a lower pressure",
    "gas_volume": "a larger corner accumulator, less droop travel, or a stiffer wheel rate",
    "gas_precharge": "a smaller corner accumulator, a smaller bore at a higher pressure, or a softer wheel rate",
    "gas_pressure": "a lower supply pressure, or a corner accumulator of a higher rating",
    "gas_ratio": "less bump travel or a softer wheel rate, a type that bears a larger ratio, or a smaller shell",
    "pump_pressure": "a lower supply pressure, or a pump of a higher rating",
    "pump_speed": "a faster motor, or a pump that runs slower",
    "pump_flow": "a larger pump or a faster motor, an accumulator, or a smaller bore at a higher pressure",
    "motor_torque": "a larger motor, a smaller pump, or a lower pressure",
    "cold_start_torque": "a thinner medium, a warmer start, or a motor with more peak torque",
    "accumulator_volume": "a larger accumulator, a pump with more flow, or a shorter burst",
    "accumulator_pressure": "a lower supply pressure, or an accumulator of a higher rating",
    "accumulator_ratio": "a narrower rail window, or a type that bears a larger ratio",
    "supply_line": "a shorter supply line, a higher loss allowed in it, or a smaller pump",
    "suction_line": "a shorter suction line, a thinner medium, a warmer start, or a smaller pump",
    "reservoir": "less dwell in the reservoir, or less flow",
    "return_line": "a wider return line, or a higher loss allowed in it",
    "bus_current": "a higher bus voltage, an accumulator with a smaller pump, or a bus that gives more",
    "mass": "a higher pressure, the objective 'mass', less dwell in the reservoir, or a larger mass limit",
    "supply_pressure": "a higher pressure limit; none of the supply settings lies below it",
}


@dataclass(frozen=True)
class Sized:
    """The plant a search chose, or the nearest miss; what is told of it is drawn up when asked for.

    found: the search; tried: media of an `auto` search; relaxed: ratios given up.
    """

    account: Account
    found: Found
    tried: tuple[MediumTried, ...]
    relaxed: tuple[str, ...]

    @functools.cached_property
    def sizing(self) -> Sizing:
        """Design, ledgers and search."""
        return _sizing(self.account, self.found, self.tried, self.relaxed)

    @functools.cached_property
    def warnings(self) -> tuple[DesignWarning, ...]:
        """Every warning of the plant, by severity."""
        return cautions(self.account, self.sizing.design)


def size(spec: Spec, demand: Demand, margins: Margins, progress: Callable[[str, float], None] | None = None) -> Sized:
    """Size a plant for a completed spec and its demand.

    Raises OutOfRange when the named medium is not valid at the oil temperatures; with medium `auto`, only when none is.
    """
    tried: list[MediumTried] = []
    if spec.medium != "auto":
        return _size_with(spec, demand, margins, medium_of(spec), tried)
    best: tuple[tuple[bool, float], str] | None = None
    candidates = media_allowed(spec)
    outcomes: dict[str, Found | None] = {}
    for number, name in enumerate(candidates):
        if progress is not None:
            progress(f"medium {name}", number / len(candidates))
        try:
            task = build_task(spec, demand, margins, medium_of(spec, name), _customary(spec))
        except OutOfRange as refusal:
            tried.append(MediumTried(name, False, None, None, None, str(refusal)))
            continue
        found = run_search(task)
        outcomes[name] = found
        if found.front.shape[0] == 0:
            tried.append(MediumTried(name, False, None, None, None, "no plant keeps every requirement"))
            continue
        row = found.front[choose(found.front, spec.objective)]
        tried.append(MediumTried(name, True, float(row[0]), float(row[1]), float(row[2]), ""))
    feasible = [t for t in tried if t.feasible and t.mass is not None and t.mean_power is not None]
    if feasible:
        best = min(((True, _merit(t, feasible, spec.objective)), t.medium) for t in feasible)
        chosen = best[1]
    elif outcomes:
        chosen = next(iter(outcomes))
    else:
        raise OutOfRange(
            "oil_cold_c to oil_hot_c",
            spec.oil_cold - ZERO_CELSIUS,
            None,
            None,
            "°C: no medium is valid there",
            "common_practice",
        )
    return _size_with(spec, demand, margins, medium_of(spec, chosen), tried)


def guessed_mass(spec: Spec, demand: Demand) -> float:
    """Mass in kg of the best plant at one supply pressure in GUESS_EVERY; 0 where none is found or the medium is open.

    A first guess of what the plant weighs, for a third of a search. Raises OutOfRange as `size` does.
    """
    if spec.medium == "auto":
        return 0.0
    front = _relaxing(spec, demand, Margins(), medium_of(spec), GUESS_EVERY)[0].front
    return float(front[choose(front, spec.objective), 0]) if front.shape[0] > 0 else 0.0


def _merit(tried: MediumTried, all_tried: list[MediumTried], objective: str) -> float:
    mass, power = tried.mass or math.inf, tried.mean_power or math.inf
    if objective == "mass":
        return mass
    if objective == "power":
        return power
    least_mass = min(t.mass or math.inf for t in all_tried)
    least_power = min(t.mean_power or math.inf for t in all_tried)
    return mass / least_mass + power / least_power


def media_allowed(spec: Spec) -> tuple[str, ...]:
    """Media an `auto` search tries: all whose seals are among the ordinary ones (nitrile or fluoro-rubber)."""
    return tuple(name for name, medium in fluids_data.load_media().items() if {"nbr", "fkm"} & set(medium.seals))


def _customary(spec: Spec) -> tuple[float, float]:
    return spec.safety.stiffness_ratio, spec.safety.valve_bandwidth_ratio


def least_plant(spec: Spec, demand: Demand, factors: PartFactors = AS_LISTED) -> Account | None:
    """The least plant of the spec's named medium with parts changed by `factors`, or None where none is feasible."""
    found, _ = _relaxing(spec, demand, Margins(), medium_of(spec), factors=factors)
    if found.front.shape[0] == 0:
        return None
    return account(found.tables, chosen(found, found.front[choose(found.front, spec.objective)]))


def _size_with(spec: Spec, demand: Demand, margins: Margins, medium: Medium, tried: list[MediumTried]) -> Sized:
    found, relaxed = _relaxing(spec, demand, margins, medium)
    if found.front.shape[0] > 0:
        row = found.front[choose(found.front, spec.objective)]
        return Sized(account(found.tables, chosen(found, row)), found, tuple(tried), relaxed)
    return Sized(nearest(found), found, tuple(tried), ())


def _relaxing(
    spec: Spec, demand: Demand, margins: Margins, medium: Medium, every: int = 1, factors: PartFactors = AS_LISTED
) -> tuple[Found, tuple[str, ...]]:
    """The search at the customary ratios, or with stiffness lowered to 1, or both, until a plant serves; and which.

    A valve too slow for its ratio has no use for an oil column that keeps the other. With none that serves even so, the
    search at the customary ratios.
    """
    stiffness, valve = _customary(spec)
    customary = build_task(spec, demand, margins, medium, (stiffness, valve), every)
    _check_cylinders(customary)
    customary = dataclasses.replace(customary, catalogue=factored(customary.catalogue, factors))
    first = run_search(customary)
    if first.front.shape[0] > 0:
        return first, ()
    for names, ratios in (
        (("stiffness_ratio",), (min(1.0, stiffness), valve)),
        (("stiffness_ratio", "valve_bandwidth_ratio"), (min(1.0, stiffness), min(1.0, valve))),
    ):
        given_up = customary.factors._replace(stiffness_ratio=ratios[0], valve_ratio=ratios[1])
        task = dataclasses.replace(customary, factors=given_up)
        if ratios == (stiffness, valve) or not _fast_enough(task):
            continue
        found = join_tables(relaxed_tables(first.tables, task))
        if found.front.shape[0] > 0:
            return found, names
    return first, ()


def _fast_enough(task: Task) -> bool:
    """Whether each axle has a valve on offer with the bandwidth its duties and the ratio ask."""
    fastest = float(task.catalogue.valves.bandwidth.max())
    return all(task.factors.valve_ratio * axle.bandwidth <= fastest * (1.0 + 1e-12) for axle in task.axles)


def _check_cylinders(task: Task) -> None:
    """Raise OutOfRange when no rod on offer fits any bore."""
    stock = task.spec.stock
    if task.catalogue.cylinders.bore.size > 0:
        return
    bores = si_column("bores", "bore_mm") if stock.bore is None else np.array(stock.bore)
    rods = si_column("rods", "rod_mm") if stock.rod is None else np.array(stock.rod)
    low, high = ROD_SHARE if stock.rod is None else (None, OWN_ROD_SHARE)
    shares = np.divide.outer(rods, bores).ravel()
    given = float(shares[np.argmin(np.abs(np.log(shares / high)))])
    raise OutOfRange("stock.rod_mm over stock.bore_mm", given, low, high, "1", "iso6020")


def alternatives(found: Found) -> tuple[Alternative, ...]:
    """A dozen plants spread over the front, by mass."""
    order = np.argsort(found.front[:, 0], kind="stable")
    if order.size > FRONT_SHOWN:
        order = order[np.unique(np.linspace(0, order.size - 1, FRONT_SHOWN).round().astype(int))]
    catalogue, settings = found.tables.task.catalogue, found.tables.task.settings
    rows = []
    for i in order:
        row = found.front[i]
        choice = chosen(found, row)
        names = {
            axle.position: catalogue.labels["cylinder"][corner.cylinder]
            for axle, corner in zip(found.tables.task.demand.axles, choice.corners, strict=True)
        }
        rows.append(
            Alternative(
                mass=float(row[0]),
                mean_power=float(row[1]),
                peak_current=float(row[2]),
                supply_pressure=float(settings.high[choice.setting]),
                front_cylinder=names.get("front", ""),
                rear_cylinder=names.get("rear", ""),
                pump=catalogue.labels["pump"][choice.pump],
                motor=catalogue.labels["motor"][choice.motor],
                control=CONTROLS[choice.control],
                accumulator=catalogue.labels["accumulator"][choice.accumulator],
            )
        )
    return tuple(rows)


def _sizing(state: Account, found: Found, tried: tuple[MediumTried, ...], relaxed: tuple[str, ...]) -> Sizing:
    design = describe(state)
    feasible = state.feasible
    unmet = tuple(
        Unmet(c.name, c.concerns, c.need, c.allowance, c.unit, c.use, WOULD_HELP[c.name])
        for c in state.constraints
        if not c.met
    )
    tables = state.tables
    search = Search(
        objective=tables.task.spec.objective,
        raw_designs=found.raw_designs,
        halves_evaluated=tables.halves_evaluated,
        halves_kept=sum(int(k.shape[0]) for k in tables.keys),
        plants_evaluated=found.evaluated,
        front_size=int(found.front.shape[0]),
        relaxed=relaxed,
        binding=tuple(f"{c.concerns}: {c.name}" for c in state.constraints if 0.9 <= c.use <= 1.0 + 1e-9),
        refused=refusals(state, tables.task.spec.objective) if feasible else (),
        alternatives=alternatives(found),
        media=tried,
        unmet=unmet,
    )
    return Sizing(feasible, design, all_ledgers(state), search)
