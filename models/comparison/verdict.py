"""Hydraulic against all-electric on one demand: the table, the budget line by line, and one plain verdict.

Knows a side only by its figures (`side`), whatever sized it. Where a crossover lies is found in `crossover`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from models.budget import ElectricBudget
from models.comparison.side import Side, SideFigures
from models.electric.choose import battery_mass
from models.quantity import UNITS, on_wire

Winner = Literal["hydraulic", "electric", "depends", "neither"]

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
    reached_over_allowed: float | None
    within: bool
    note: str


@dataclass(frozen=True)
class Verdict:
    """Which side wins under what, with the numbers that decide.

    power_ratio and mass_ratio are hydraulic over electric; orders is the decimal logarithm of the former. Where one
    side is lighter and the other thriftier, payback is the running time after which the battery the thirstier one needs
    more outweighs the difference.
    """

    spring_share: Annotated[float, on_wire("", about="Share of the weight a parallel spring carries")]
    winner: Winner
    sentence: str
    mass_ratio: float | None
    power_ratio: float | None
    orders: float | None
    payback: Annotated[float | None, on_wire("h")]


@dataclass(frozen=True)
class Comparison:
    """Both sides on one demand, for one share of the weight on the spring."""

    hydraulic: SideFigures
    electric: SideFigures
    table: tuple[TableRow, ...]
    words: tuple[TextRow, ...]
    budget: tuple[BudgetLine, ...]
    verdict: Verdict


def compare(hydraulic: SideFigures, electric: SideFigures, budget: ElectricBudget | None = None) -> Comparison:
    """Table, budget and verdict of two sides sized to one demand with the same share of weight on the spring."""
    return Comparison(
        hydraulic=hydraulic,
        electric=electric,
        table=_table(hydraulic, electric),
        words=(
            TextRow("when power is lost", hydraulic.loss_of_power, electric.loss_of_power),
            TextRow("what it misses", "; ".join(hydraulic.lacks) or "nothing", "; ".join(electric.lacks) or "nothing"),
        ),
        budget=tuple(_budget_lines(hydraulic, budget) + _budget_lines(electric, budget)) if budget else (),
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


def _budget_lines(side: SideFigures, budget: ElectricBudget) -> list[BudgetLine]:
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


def judge(hydraulic: SideFigures, electric: SideFigures) -> Verdict:
    """The verdict on two sides of the same spring share."""
    share = electric.spring_share
    under = _under(share)
    ratios = _ratios(hydraulic, electric)
    if not hydraulic.feasible or not electric.feasible:
        return _one_sided(hydraulic, electric, under)
    if ratios is None or hydraulic.mass is None or electric.mass is None:
        raise ValueError("a feasible side states its mass and its mean power")
    mass_ratio, power_ratio = ratios
    hydraulic_power, electric_power = hydraulic.mean_power or 0.0, electric.mean_power or 0.0
    lighter = _ahead(hydraulic.mass, electric.mass)
    thriftier = _ahead(hydraulic_power, electric_power)
    decided = [side for side in (lighter, thriftier) if side != "even"]
    orders = math.log10(power_ratio) if power_ratio is not None and power_ratio > 0.0 else None
    numbers = (
        f"{_amount(electric.mass, 'kg')} and {_amount(electric_power, 'W')} electric against "
        f"{_amount(hydraulic.mass, 'kg')} and {_amount(hydraulic_power, 'W')} hydraulic"
    )
    payback = None
    if len(set(decided)) == 2:
        payback = _payback(hydraulic, electric)
        light, thrifty = (_named(s, hydraulic, electric) for s in (lighter, thriftier))
        after = ""
        if payback is not None:
            after = (
                f"; counting the battery each would need, the thriftier is lighter in all after {payback / 3600:.2g} h "
                "of running"
            )
        winner: Winner = "depends"
        sentence = f"{under}, {light} is lighter and {thrifty} draws less: {numbers}{after}{_order_words(orders)}."
    elif decided:
        winner = "electric" if decided[0] == "electric" else "hydraulic"
        name = _named(winner, hydraulic, electric)
        both = (
            "lighter and draws less"
            if len(decided) == 2
            else "ahead in " + ("mass, power even" if thriftier == "even" else "power, mass even")
        )
        sentence = f"{under}, {name} wins, {both}: {numbers}{_order_words(orders)}."
    else:
        winner, sentence = "depends", f"{under}, both come out even: {numbers}."
    return Verdict(share, winner, sentence, mass_ratio, power_ratio, orders, payback)


def _under(share: float) -> str:
    if share == 1.0:
        return "With a parallel spring carrying the weight"
    return (
        "With the actuators carrying the weight"
        if share == 0.0
        else f"With a parallel spring carrying {share:.0%} of the weight"
    )


def _one_sided(hydraulic: SideFigures, electric: SideFigures, under: str) -> Verdict:
    able = [side for side in (hydraulic, electric) if side.feasible]
    if not able:
        winner: Winner = "neither"
        sentence = (
            f"{under}, neither side meets the demand: hydraulic misses {'; '.join(hydraulic.lacks)}; electric misses "
            f"{'; '.join(electric.lacks)}."
        )
    else:
        other = electric if able[0] is hydraulic else hydraulic
        winner = able[0].side
        sentence = (
            f"{under}, only {_named(winner, hydraulic, electric)} meets the demand; {other.label} misses "
            f"{'; '.join(other.lacks)}."
        )
    return Verdict(electric.spring_share, winner, sentence, None, None, None, None)


def _ratios(hydraulic: SideFigures, electric: SideFigures) -> tuple[float, float | None] | None:
    if hydraulic.mass is None or electric.mass is None or hydraulic.mean_power is None or electric.mean_power is None:
        return None
    power = hydraulic.mean_power / electric.mean_power if electric.mean_power > 0.0 else None
    return hydraulic.mass / electric.mass, power


def _ahead(hydraulic: float, electric: float) -> Literal["hydraulic", "electric", "even"]:
    if abs(hydraulic - electric) <= EVEN * max(abs(hydraulic), abs(electric)):
        return "even"
    return "hydraulic" if hydraulic < electric else "electric"


def _named(side: str, hydraulic: SideFigures, electric: SideFigures) -> str:
    return f"the all-electric side ({electric.label})" if side == "electric" else f"hydraulics ({hydraulic.label})"


def _payback(hydraulic: SideFigures, electric: SideFigures) -> float | None:
    """Running time, s, after which the battery for the difference in power outweighs the difference in mass."""
    if hydraulic.mass is None or electric.mass is None or hydraulic.mean_power is None or electric.mean_power is None:
        return None
    rate = battery_mass(abs(hydraulic.mean_power - electric.mean_power), 1.0)
    return abs(hydraulic.mass - electric.mass) / rate if rate > 0.0 else None


def _order_words(orders: float | None) -> str:
    if orders is None or abs(orders) < math.log10(3.0):
        return ""
    more = "hydraulics draw" if orders > 0.0 else "the electric side draws"
    many = 10.0 ** abs(orders)
    size = f", {abs(orders):.1f} orders of magnitude" if abs(orders) >= 1.0 else ""
    return f"; {more} {many:.3g} times the power{size}"


def _amount(value: float, unit: str) -> str:
    return f"{value:.3g} {unit}"


def verdicts(hydraulics: Sequence[SideFigures], electrics: Sequence[SideFigures]) -> tuple[Verdict, ...]:
    """A verdict for each spring share that both sides were sized for."""
    by_share = {side.spring_share: side for side in hydraulics}
    return tuple(judge(by_share[e.spring_share], e) for e in electrics if e.spring_share in by_share)
