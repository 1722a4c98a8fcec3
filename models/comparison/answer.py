"""The comparison as an answer: both sides for each way of carrying the weight, every family, the budget, the verdict.

Knows what a sizing's block holds (the hydraulic plant it chose against every electric family) and what a comparison
asked for by itself adds: the hydraulic plant that carries the weight another way, and crossovers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from models.comparison.crossover import Scenario, electric_side, with_spring
from models.comparison.hydraulic import hydraulic_figures, no_plant
from models.comparison.side import Lack, SideFigures, cooling_words, electric_lacks, electric_sides, weight
from models.comparison.verdict import EVEN, BudgetLine, Compared, budget_lines, compare
from models.demand import Demand, Margins
from models.electric.cautions import electric_cautions
from models.electric.choose import size_electric, size_families
from models.electric.diagnosis import AgainstDemand, Diagnosis, diagnose, measured_against
from models.electric.loads import axle_load
from models.electric.sizing_records import Choices, ElectricDesign, ElectricSizing, Surroundings
from models.measured_actuator import MeasuredActuator
from models.quantity import OutOfRange, on_wire, plain
from models.sizing.account import Account
from models.sizing.sizing import size as size_plant
from models.spec import Position, Spec
from models.warning import DesignWarning

UNPROVEN = (
    "Neither side is run in time here; a sizing runs the hydraulic plant and may ask larger margins of it, so its own "
    "comparison may show a heavier one."
)
"""What a comparison asked for by itself leaves out."""


@dataclass(frozen=True)
class FamilySized:
    """One electric family with one cooling on every axle; figures are None where an axle has no design."""

    machine: str
    cooling: str
    spring_share: Annotated[float, on_wire("", about="Share of the weight a parallel spring carries")]
    feasible: bool
    sets_force: bool
    chosen: bool
    lacks: tuple[Lack, ...]
    mass: Annotated[float | None, on_wire("kg")]
    mean_power: Annotated[float | None, on_wire("w")]
    peak_current: Annotated[float | None, on_wire("a")]
    heat_per_corner: Annotated[float | None, on_wire("w")]
    hottest_winding: Annotated[float | None, on_wire("c")]
    choices: tuple[str, ...]


@dataclass(frozen=True)
class MeasuredHere:
    """The measured actuator at one axle, a parallel spring carrying `spring_share` of the weight."""

    position: Position
    spring_share: Annotated[float, on_wire("", about="Share of the weight a parallel spring carries")]
    sentence: str
    against: AgainstDemand


@dataclass(frozen=True)
class MeasuredTold:
    """What a measured actuator's readings mean, and whether it meets the demand."""

    label: str
    diagnosis: Diagnosis
    here: tuple[MeasuredHere, ...]


@dataclass(frozen=True)
class ComparisonBlock:
    """Hydraulic against all-electric on one demand.

    `sides` holds a comparison for each way of carrying the weight for which both sides were sized, the spec's own
    first; `electric_alone` the electric side for a way in which the hydraulic one was not. `machines` are the electric
    designs told in full, in the order of both.
    """

    verdict: str
    sides: tuple[Compared, ...]
    electric_alone: tuple[SideFigures, ...]
    families: tuple[FamilySized, ...]
    machines: tuple[ElectricDesign, ...]
    measured: MeasuredTold | None
    budget: tuple[BudgetLine, ...]
    what_would_change_it: tuple[str, ...]
    notes: tuple[str, ...]
    warnings: tuple[DesignWarning, ...]
    candidates: int


def surroundings_of(spec: Spec) -> Surroundings:
    """Bus, air and limits of a spec as the electric sizing reads them."""
    limits, bus = spec.limits, spec.bus
    return Surroundings(
        bus.voltage,
        spec.ambient,
        bus.peak_current,
        bus.energy,
        spec.air_speed,
        limits.cylinder_outer_diameter,
        limits.retracted_length,
        limits.surface_temperature,
    )


def own_share(spec: Spec) -> float:
    """Share of the weight on a spring in the spec's own way of carrying it."""
    return 0.0 if spec.weight_carried_by == "actuator" else 1.0


def scenario_of(spec: Spec, demand: Demand) -> Scenario:
    """The spec's own place on every axis."""
    return Scenario(demand, surroundings_of(spec), Choices(objective=spec.objective), own_share(spec))


def rivals_of(spec: Spec, demand: Demand) -> ElectricSizing:
    """Every electric family on a demand, the weight carried both ways: what `sized_block` sets against the plant."""
    return size_families(demand, surroundings_of(spec), _choices(spec))


def sized_block(
    spec: Spec, demand: Demand, state: Account, rivals: ElectricSizing, shortfall: str = ""
) -> ComparisonBlock:
    """The block of a sizing: its plant against every electric family, the weight carried both ways by these alone.

    rivals: of the same spec and demand; shortfall: what the plant lacked when it was run in time, in a sentence; it is
    told beside the figures.
    A bus that can drive no winding is told as what each family misses.
    """
    own = own_share(spec)
    block = _block(spec, demand, rivals, {own: hydraulic_figures(state, own)})
    if not shortfall:
        return block
    return replace(block, notes=(*block.notes, f"The hydraulic plant counts as sized, though {shortfall}."))


def whole_block(spec: Spec, demand: Demand, own_side: SideFigures, alone: Demand) -> ComparisonBlock:
    """The comparison with both sides sized for both ways of carrying the weight; `own_side` is the plant at hand.

    In another arrangement than `parallel` the actuator carries the weight by its nature: only the electric side is then
    told the other way too.
    spec: completed, its medium named; alone: the demand with an electric side's mass in place of the plant's. Raises
    BusCannotDrive where the bus alone stands in the way of every winding.
    """
    own = own_share(spec)
    sizing = size_electric(demand, surroundings_of(spec), _choices(spec))
    sides = {own: own_side}
    if spec.arrangement == "parallel":
        sides[1.0 - own] = _other_plant(spec, demand, 1.0 - own)
    block = _block(spec, demand, sizing, sides)
    block = replace(block, notes=(*block.notes, UNPROVEN))
    if demand.plant_mass <= alone.plant_mass:
        return block
    return replace(block, notes=(*block.notes, *_on_its_own(own_side, electric_side(scenario_of(spec, alone)))))


def _choices(spec: Spec) -> Choices:
    own = own_share(spec)
    return Choices(objective=spec.objective, spring_shares=(own, 1.0 - own))


def _on_its_own(hydraulic: SideFigures, alone: SideFigures) -> tuple[str, ...]:
    """What the electric side takes where its own mass weighs on the vehicle, not the hydraulic plant's."""
    if not alone.feasible or alone.mass is None or alone.mean_power is None:
        return ()
    said = (
        f"With its own mass in place of the hydraulic plant's, the electric side ({alone.label}) takes "
        f"{weight(alone.mass)} and {plain(alone.mean_power)} W in the mean"
    )
    if hydraulic.feasible and hydraulic.mean_power and alone.mean_power > 0.0:
        ratio = hydraulic.mean_power / alone.mean_power
        said += f"; the hydraulic side, with its own mass, draws {plain(float(f'{ratio:.2g}'))} times as much"
    return (f"{said}.",)


def _other_plant(spec: Spec, demand: Demand, share: float) -> SideFigures:
    try:
        return hydraulic_figures(size_plant(spec, with_spring(demand, share), Margins()).account, share)
    except OutOfRange as error:
        return no_plant(demand, share, str(error))


def _block(spec: Spec, demand: Demand, sizing: ElectricSizing, hydraulics: dict[float, SideFigures]) -> ComparisonBlock:
    electrics = {side.spring_share: side for side in electric_sides(sizing)}
    sides = tuple(compare(side, electrics[share], spec.electric_budget) for share, side in hydraulics.items())
    alone = tuple(side for share, side in electrics.items() if share not in hydraulics)
    chosen = [design for design in sizing.best if design is not None]
    budget = spec.electric_budget
    around = surroundings_of(spec)
    measured = spec.measured.electric_actuator
    return ComparisonBlock(
        verdict=" ".join((*(side.verdict.sentence for side in sides), *_relieved(spec, alone))),
        sides=sides,
        electric_alone=alone,
        families=tuple(_family(design, design in chosen) for design in sizing.designs),
        machines=tuple(chosen),
        measured=None if measured is None else _measured(measured, demand, own_share(spec)),
        budget=tuple(line for side in alone for line in budget_lines(side, budget)) if budget else (),
        what_would_change_it=tuple(_changes(sides[0], electrics, own_share(spec))),
        notes=_notes(spec, demand),
        warnings=electric_cautions(chosen[0], around) if chosen else (),
        candidates=sizing.candidates,
    )


def _family(design: ElectricDesign, chosen: bool) -> FamilySized:
    figures, machines = design.figures, design.machines
    return FamilySized(
        machine=design.label,
        cooling=cooling_words(design.cooling),
        spring_share=design.spring_share,
        feasible=design.feasible,
        sets_force=design.sets_force,
        chosen=chosen,
        lacks=electric_lacks(design),
        mass=figures.mass if figures else None,
        mean_power=figures.mean_power if figures else None,
        peak_current=figures.peak_current if figures else None,
        heat_per_corner=figures.heat / sum(m.corners for m in machines) if figures else None,
        hottest_winding=max((m.burst_temperature for m in machines), default=None),
        choices=_choices_told(design),
    )


def _choices_told(design: ElectricDesign) -> tuple[str, ...]:
    """Each axle's machine in words, once where the axles are alike."""
    told: dict[str, list[str]] = {}
    for machine in design.machines:
        told.setdefault(machine.described, []).append(machine.position)
    return tuple(f"{' and '.join(positions)}: {words}" for words, positions in told.items())


def _measured(given: MeasuredActuator, demand: Demand, own: float) -> MeasuredTold:
    here = []
    for share in (own, 1.0 - own):
        for axle in demand.axles:
            against = measured_against(given, axle_load(axle, demand, share))
            here.append(MeasuredHere(axle.position, share, _measured_sentence(axle.position, share, against), against))
    return MeasuredTold(given.label, diagnose(given), tuple(here))


def _measured_sentence(position: str, share: float, against: AgainstDemand) -> str:
    carried = "a parallel spring carrying the weight" if share == 1.0 else "carrying the weight itself"
    heat = "no steady temperature" if against.dissipation is None else f"{plain(against.dissipation)} W of copper loss"
    if against.meets:
        return f"At the {position} corners, {carried}, it meets the demand with {heat} each."
    lacks = ", ".join(f"{miss.limit} {plain(miss.need_over_ability or 0.0)}-fold" for miss in against.misses)
    return f"At the {position} corners, {carried}, it passes its limits of {lacks}; {heat} each."


def _changes(own: Compared, electrics: dict[float, SideFigures], share: float) -> list[str]:
    """What the figures at hand say of how far the verdict is from turning."""
    said, hydraulic, electric = [], own.hydraulic, own.electric
    verdict = own.verdict
    if verdict.power_ratio is not None and verdict.mass_ratio is not None:
        behind: dict[str, list[str]] = {}
        for what, ratio in (("mean power", verdict.power_ratio), ("mounted mass", verdict.mass_ratio)):
            side, kept = ("hydraulic", 1.0 / ratio) if ratio > 1.0 else ("electric", ratio)
            if 0.0 < kept < 1.0 - EVEN:
                behind.setdefault(side, []).append(f"{1.0 - kept:.0%} of its {what}")
        said += [f"To draw level the {side} side would have to shed {' and '.join(t)}." for side, t in behind.items()]
    standing = (hydraulic.standby_power, electric.standby_power)
    if hydraulic.feasible and electric.feasible and standing[0] is not None and standing[1] is not None:
        said.append(
            f"Standing by, the hydraulic side draws {plain(standing[0])} W and the electric one {plain(standing[1])} "
            "W: less time in motion moves both towards these."
        )
    other = electrics[1.0 - share]
    if electric.feasible and other.feasible and electric.mass and other.mass:
        way = "With the actuators carrying the weight" if share == 1.0 else "With a parallel spring carrying the weight"
        said.append(
            f"{way}, the electric side takes {weight(other.mass)} and {plain(other.mean_power or 0.0)} W instead of "
            f"{weight(electric.mass)} and {plain(electric.mean_power or 0.0)} W."
        )
    elif electric.feasible != other.feasible:
        able = (
            "only with a parallel spring carrying the weight"
            if electric.feasible == (share == 1.0)
            else ("only with the actuators carrying the weight")
        )
        said.append(f"The electric side meets the demand {able}.")
    said.append(
        "Crossovers along vehicle scale, supply duty, spring share, motor constant and friction: POST /v1/comparisons "
        "with the spec and an axis."
    )
    return said


def _relieved(spec: Spec, alone: tuple[SideFigures, ...]) -> list[str]:
    """Where the actuator carries the weight by its nature: what the electric side takes once a spring relieves it."""
    if spec.arrangement == "parallel":
        return []
    return [
        f"With a spring beside each actuator that carries the weight for it, the electric side ({side.label}) takes "
        f"{weight(side.mass)}, {plain(side.mean_power)} W in the mean."
        for side in alone
        if side.feasible and side.spring_share == 1.0 and side.mass is not None and side.mean_power is not None
    ]


def _notes(spec: Spec, demand: Demand) -> tuple[str, ...]:
    said = ["Both sides are counted from bus to wheel, all that is mounted but the battery, heat included."]
    if spec.arrangement != "parallel":
        said.append(
            "Both sides are held to the motion that the hydraulic actuator makes in its arrangement: an electric one "
            "needs a spring in line with it that takes the wheel's motion, and its mass is not counted."
        )
    if demand.plant_mass > 0.0:
        said.append(
            f"The demand counts {weight(demand.plant_mass)} of plant in the sprung mass, the hydraulic one's. Both "
            "sides are held to it, so a lighter electric side is asked more here than it would be alone."
        )
    return tuple(said)
