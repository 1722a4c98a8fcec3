"""Hydraulic against all-electric on one demand: the table, the budget line by line, and one plain verdict.

Knows a side only by its figures (`side`), whatever sized it. Where a crossover lies is found in `crossover`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from models.budget import ElectricBudget
from models.comparison.side import Side, SideFigures, weight
from models.electric.choose import battery_mass
from models.quantity import UNITS, on_wire, plain

Winner = Literal["hydraulic", "electric", "depends", "neither"]

LACKS_SAID = 4
"""Limits passed that a sentence names; the table names all."""

EVEN = 0.02
"""Relative difference below which two figures count as even. Source: [estimate]."""


@dataclass(frozen=True)
class TableRow:
    """One line of the comparison, in `unit`; `better` names the side ahead, None where that has no meaning."""

    what: str
    unit: str
    hydraulic: float | None
    electric: float | None
    better: Literal["hydraulic", "electric", "even"] | None


@dataclass(frozen=True)
class TextRow:
    """One line of the comparison in words."""

    what: str
    hydraulic: str
    electric: str


@dataclass(frozen=True)
class BudgetLine:
    """One allowance against one side, in `unit`, for the vehicle and for a corner; over 1 it is exceeded."""

    what: str
    unit: str
    side: Side
    allowed_per_corner: float
    allowed_total: float
    reached_per_corner: float | None
    reached_total: float | None
    reached_over_allowed: Annotated[float | None, on_wire("")]
    within: bool
    note: str


@dataclass(frozen=True)
class SideVerdict:
    """Which side wins under what, with the numbers that decide.

    power_ratio and mass_ratio are hydraulic over electric; orders is the decimal logarithm of the former. Where one
    side is lighter and the other thriftier, payback is the running time after which the battery the thirstier one needs
    more outweighs the difference.
    """

    spring_share: Annotated[float, on_wire("", about="Share of the weight a parallel spring carries")]
    winner: Winner
    sentence: str
    mass_ratio: Annotated[float | None, on_wire("", about="Hydraulic over electric")]
    power_ratio: Annotated[float | None, on_wire("", about="Hydraulic over electric")]
    orders: Annotated[float | None, on_wire("", about="Decimal logarithm of power_ratio")]
    payback: Annotated[float | None, on_wire("h")]


@dataclass(frozen=True)
class Compared:
    """Both sides on one demand, for one share of the weight on the spring."""

    hydraulic: SideFigures
    electric: SideFigures
    table: tuple[TableRow, ...]
    words: tuple[TextRow, ...]
    budget: tuple[BudgetLine, ...]
    verdict: SideVerdict


def compare(hydraulic: SideFigures, electric: SideFigures, budget: ElectricBudget | None = None) -> Compared:
    """Table, budget and verdict of two sides sized to one demand with the same share of weight on the spring."""
    return Compared(
        hydraulic=hydraulic,
        electric=electric,
        table=_table(hydraulic, electric),
        words=(
            TextRow("when power is lost", hydraulic.loss_of_power, electric.loss_of_power),
            TextRow("what it controls", _controls(hydraulic), _controls(electric)),
            TextRow("what it misses", _missed(hydraulic), _missed(electric)),
        ),
        budget=tuple(budget_lines(hydraulic, budget) + budget_lines(electric, budget)) if budget else (),
        verdict=judge(hydraulic, electric),
    )


def _table(hydraulic: SideFigures, electric: SideFigures) -> tuple[TableRow, ...]:
    rows = [
        _row("mounted mass", "kg", hydraulic.mass, electric.mass, -1),
        _row("mean electric power", "w", hydraulic.mean_power, electric.mean_power, -1),
        _row("peak electric power", "w", hydraulic.peak_power, electric.peak_power, -1),
        _row("peak current", "a", hydraulic.peak_current, electric.peak_current, -1),
        _row("standby power", "w", hydraulic.standby_power, electric.standby_power, -1),
        _row("heat per corner", "w", hydraulic.heat_per_corner, electric.heat_per_corner, -1),
        _row("run time", "h", hydraulic.run_time, electric.run_time, 1),
    ]
    by_position = {axle.position: axle for axle in electric.axles}
    for axle in hydraulic.axles:
        other = by_position.get(axle.position)
        for what, unit, name in (
            ("peak force", "n", "force_peak"),
            ("continuous force", "n", "force_continuous"),
            ("force bandwidth", "hz", "bandwidth"),
        ):
            reached = None if other is None else getattr(other, name)
            rows.append(_row(f"{what}, {axle.position}", unit, getattr(axle, name), reached, 1))
    hottest = [max(s.temperatures, key=lambda p: p.temperature, default=None) for s in (hydraulic, electric)]
    warm = [None if part is None else part.temperature for part in hottest]
    names = " and ".join(part.part for part in hottest if part is not None)
    rows.append(_row(f"hottest part ({names})", "c", warm[0], warm[1], 0))
    rows.append(_row("parts", "", hydraulic.parts, electric.parts, -1))
    return tuple(rows)


def _row(what: str, unit: str, hydraulic: float | None, electric: float | None, better_when: int) -> TableRow:
    wire = UNITS[unit]
    ahead: Literal["hydraulic", "electric", "even"] | None = None
    if better_when and hydraulic is not None and electric is not None:
        if abs(hydraulic - electric) <= EVEN * max(abs(hydraulic), abs(electric)):
            ahead = "even"
        else:
            ahead = "hydraulic" if (hydraulic > electric) == (better_when > 0) else "electric"
    shown = [None if value is None else wire.from_si(value) for value in (hydraulic, electric)]
    return TableRow(what, wire.symbol, shown[0], shown[1], ahead)


def budget_lines(side: SideFigures, budget: ElectricBudget) -> list[BudgetLine]:
    """Every allowance of the budget against one side."""
    note = ""
    if side.side == "hydraulic":
        note = "the central unit's share is its total divided equally by the corners"
    wanted = (
        ("mass", "kg", budget.mass, side.mass),
        ("peak current", "A", budget.peak_current, side.peak_current),
        ("continuous power", "W", budget.continuous_power, side.mean_power),
    )
    lines = []
    for what, unit, allowed, reached in wanted:
        if allowed is None:
            continue
        share = None if reached is None else reached / (allowed * max(side.corners, 1))
        lines.append(
            BudgetLine(
                what=what,
                unit=unit,
                side=side.side,
                allowed_per_corner=allowed,
                allowed_total=allowed * side.corners,
                reached_per_corner=None if reached is None else reached / max(side.corners, 1),
                reached_total=reached,
                reached_over_allowed=share,
                within=share is not None and share <= 1.0 and side.feasible,
                note=note if side.feasible else "; ".join(filter(None, (note, "the design itself is not feasible"))),
            )
        )
    return lines


def judge(hydraulic: SideFigures, electric: SideFigures) -> SideVerdict:
    """The verdict on two sides of the same spring share."""
    under = _under(electric.spring_share)
    if not hydraulic.feasible or not electric.feasible:
        return _one_sided(hydraulic, electric, under)
    (mass, power), (mass_electric, power_electric) = _mass_and_power(hydraulic), _mass_and_power(electric)
    masses, powers = (mass, mass_electric), (power, power_electric)
    lighter, thriftier = _ahead(*masses), _ahead(*powers)
    decided: set[Side] = {side for side in (lighter, thriftier) if side != "even"}
    power_ratio = powers[0] / powers[1] if powers[1] > 0.0 else None
    orders = math.log10(power_ratio) if power_ratio is not None and power_ratio > 0.0 else None
    numbers = (
        f"Electric ({electric.label}): {_figures(electric)}; hydraulic ({hydraulic.label}): {_figures(hydraulic)}."
    )
    payback = None
    winner: Winner = "depends"
    if len(decided) == 2:
        payback = _payback(hydraulic, electric)
        hours = None if payback is None else plain(float(f"{payback / 3600:.2g}"))
        said = f"{under}, it depends: {NAMED[lighter]} is lighter, {NAMED[thriftier]} draws less. {numbers}"
        if payback is not None:
            said += (
                f" Counting the battery each would need, {NAMED[thriftier]} is lighter in all after "
                f"{hours} h of running."
            )
    elif decided:
        winner = decided.pop()
        where = {
            (winner, winner): "it is lighter and draws less",
            (winner, "even"): "it is lighter and draws as much",
            ("even", winner): "it draws less and weighs as much",
        }
        said = f"{under}, {NAMED[winner]} wins: {where[lighter, thriftier]}. {numbers}"
    else:
        said = f"{under}, the two come out even. {numbers}"
    said += _order_words(orders) + _follower_words(hydraulic, electric)
    return SideVerdict(electric.spring_share, winner, said, masses[0] / masses[1], power_ratio, orders, payback)


def _mass_and_power(side: SideFigures) -> tuple[float, float]:
    if side.mass is None or side.mean_power is None:
        raise ValueError("a feasible side states its mass and its mean power")
    return side.mass, side.mean_power


NAMED: dict[str, str] = {"hydraulic": "the hydraulic side", "electric": "the electric side"}


def _under(share: float) -> str:
    if share == 1.0:
        return "With a parallel spring carrying the weight"
    return (
        "With the actuators carrying the weight"
        if share == 0.0
        else f"With a parallel spring carrying {share:.0%} of the weight"
    )


def _one_sided(hydraulic: SideFigures, electric: SideFigures, under: str) -> SideVerdict:
    able = [side for side in (hydraulic, electric) if side.feasible]
    if able:
        other = electric if able[0] is hydraulic else hydraulic
        winner: Winner = able[0].side
        sentence = (
            f"{under}, only {NAMED[winner]} ({able[0].label}) meets the demand, with {_figures(able[0])}. The "
            f"nearest {other.side} one ({other.label}) passes its limits: {_passed(other)}."
        )
        sentence += _follower_words(hydraulic, electric)
    else:
        winner = "neither"
        sentence = (
            f"{under}, neither side meets the demand. The nearest hydraulic one ({hydraulic.label}) passes its limits: "
            f"{_passed(hydraulic)}; the nearest electric one ({electric.label}): {_passed(electric)}."
        )
    return SideVerdict(electric.spring_share, winner, sentence, None, None, None, None)


def _figures(side: SideFigures) -> str:
    mass, power = _mass_and_power(side)
    return f"{weight(mass)}, {plain(power)} W in the mean"


def _passed(side: SideFigures) -> str:
    """Each limit a side passes, once, at its worst; the greatest first, the least ones only counted."""
    worst: dict[str, float | None] = {}
    for lack in side.lacks:
        known = worst.get(lack.limit)
        worst[lack.limit] = lack.times if known is None else max(known, lack.times or 0.0)
    ordered = sorted(worst.items(), key=lambda item: -(math.inf if item[1] is None else item[1]))
    said = [name if times is None else f"{name} {plain(times)}-fold" for name, times in ordered]
    if len(said) > LACKS_SAID:
        said = [*said[: LACKS_SAID - 1], f"{len(said) - LACKS_SAID + 1} more"]
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"


def _missed(side: SideFigures) -> str:
    return "; ".join(str(lack) for lack in side.lacks) or "nothing"


def _controls(side: SideFigures) -> str:
    return "force" if side.sets_force else f"position only: {side.follows_because}"


def _follower_words(hydraulic: SideFigures, electric: SideFigures) -> str:
    """What a side that only follows a position gives up against one that sets a force."""
    followers = [side for side in (hydraulic, electric) if side.feasible and not side.sets_force]
    if not followers:
        return ""
    if len(followers) == 2:
        return " Neither sets a force: both follow a position."
    side = followers[0]
    return f" {NAMED[side.side].capitalize()} follows a position, it does not set a force: {side.follows_because}."


def _ahead(hydraulic: float, electric: float) -> Literal["hydraulic", "electric", "even"]:
    if abs(hydraulic - electric) <= EVEN * max(abs(hydraulic), abs(electric)):
        return "even"
    return "hydraulic" if hydraulic < electric else "electric"


def _payback(hydraulic: SideFigures, electric: SideFigures) -> float | None:
    """Running time, s, after which the battery for the difference in power outweighs the difference in mass."""
    (mass, power), (mass_electric, power_electric) = _mass_and_power(hydraulic), _mass_and_power(electric)
    rate = battery_mass(abs(power - power_electric), 1.0)
    return abs(mass - mass_electric) / rate if rate > 0.0 else None


def _order_words(orders: float | None) -> str:
    if orders is None or abs(orders) < math.log10(3.0):
        return ""
    more = NAMED["hydraulic" if orders > 0.0 else "electric"].capitalize()
    many = plain(float(f"{10.0 ** abs(orders):.2g}"))
    size = f": {abs(orders):.1f} orders of magnitude" if abs(orders) >= 1.0 else ""
    return f" {more} draws {many} times the power{size}."


def verdicts(hydraulics: Sequence[SideFigures], electrics: Sequence[SideFigures]) -> tuple[SideVerdict, ...]:
    """A verdict for each spring share that both sides were sized for."""
    by_share = {side.spring_share: side for side in hydraulics}
    return tuple(judge(by_share[e.spring_share], e) for e in electrics if e.spring_share in by_share)
