"""The report's section on the electric rival: verdict, both sides figure by figure, every family, budget, the measured.

Renders, computes nothing: reads the comparison as it was written on the wire.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from service.report.records import Shown, Table
from service.report.text import number, with_unit

Record = Mapping[str, Any]


def comparison(block: Record) -> Shown:
    """Sentences and tables of a comparison, the verdict first."""
    texts = [block["verdict"], *block["what_would_change_it"]]
    measured = block["measured"]
    if measured is not None:
        texts.append(f"{measured['label'].capitalize()}. {' '.join(measured['diagnosis']['explanation'])}")
        texts.append(" ".join(here["sentence"] for here in measured["here"]))
    return Shown((*texts, *block["notes"]), tuple(_tables(block)))


def _tables(block: Record) -> Iterator[Table]:
    for side in block["sides"]:
        yield _side_by_side(side)
    yield _families(block["families"])
    lines = [line for side in block["sides"] for line in side["budget"]] + block["budget"]
    if lines:
        yield _budget(lines)
    if block["measured"] is not None:
        yield _measured(block["measured"]["diagnosis"])
    rows = [(w["signal_word"], w["message"], w["advice"]) for w in block["warnings"]]
    if rows:
        yield Table("Warnings that come with the electric side", ("", "warning", "advice"), rows)


def carried(share: float) -> str:
    """Who carries the weight."""
    if share == 1.0:
        return "a parallel spring"
    return "the actuators" if share == 0.0 else f"a parallel spring {with_unit(share, 'share', 3)} of it"


def _side_by_side(side: Record) -> Table:
    ahead = {None: "–", "even": "even", "hydraulic": "hydraulic", "electric": "electric"}
    rows: list[Sequence[str]] = [
        (
            row["what"],
            with_unit(row["hydraulic"], row["unit"], 3),
            with_unit(row["electric"], row["unit"], 3),
            ahead[row["better"]],
        )
        for row in side["table"]
    ]
    rows += [(row["what"], row["hydraulic"], row["electric"], "") for row in side["words"]]
    labels = tuple(side[name]["label"] for name in ("hydraulic", "electric"))
    title = f"Side by side on one demand, {carried(side['electric']['spring_share'])} carrying the weight"
    return Table(title, ("figure", f"hydraulic: {labels[0]}", f"electric: {labels[1]}", "ahead"), rows)


def _families(families: Sequence[Record]) -> Table:
    rows = [
        (
            ("→ " if f["chosen"] else "") + f["machine"],
            f["cooling"],
            carried(f["spring_share"]),
            with_unit(f["mass_kg"], "kg", 3),
            with_unit(f["mean_power_w"], "W", 3),
            with_unit(f["peak_current_a"], "A", 3),
            with_unit(f["heat_per_corner_w"], "W", 3),
            with_unit(f["hottest_winding_c"], "°C", 3),
            _what_it_is(f),
        )
        for f in families
    ]
    header = (
        "machine", "cooling", "weight carried by", "mass", "mean power", "peak current", "heat a corner",
        "winding at its hottest", "what it is, or what it passes",
    )  # fmt: skip
    title = "Every electric family; → is the best that sets a force"
    return Table(title, header, rows, frozenset({3, 4, 5, 6, 7}))


def _what_it_is(family: Record) -> str:
    if family["lacks"]:
        return "; ".join(_lack(lack) for lack in family["lacks"])
    choices = family["choices"]
    alike = {choice.partition(": ")[2] for choice in choices}
    if len(choices) > 1 and len(alike) == 1:
        choices = (f"front and rear: {alike.pop()}",)
    return "; ".join((*choices, *(() if family["sets_force"] else ("follows a position only",))))


def _lack(lack: Record) -> str:
    times = "" if lack["times"] is None else f" {number(lack['times'], 3)}-fold"
    return f"{lack['concerns']} {lack['limit']}{times}"


def _budget(lines: Sequence[Record]) -> Table:
    rows = [
        (
            line["side"],
            line["what"],
            with_unit(line["allowed_total"], line["unit"], 3),
            with_unit(line["reached_total"], line["unit"], 3),
            with_unit(line["reached_over_allowed"], "share", 3),
            "within" if line["within"] else "not within",
            line["note"],
        )
        for line in lines
    ]
    header = ("side", "allowance", "allowed, vehicle", "reached, vehicle", "used", "", "note")
    return Table("The budget, line by line", header, rows, frozenset({2, 3, 4}))


def _measured(diagnosis: Record) -> Table:
    told = (
        ("motor constant", "motor_constant_n_sqrt_w", "N/√W"), ("force constant", "force_constant_n_a", "N/A"),
        ("force per mass", "force_per_mass_n_kg", "N/kg"), ("copper", "copper_mass_kg", "kg"),
        ("mean field in its copper", "mean_field_t", "T"), ("force held for ever", "continuous_force_n", "N"),
        ("heat it gives off then", "continuous_power_w", "W"),
    )  # fmt: skip
    rows = [(what, with_unit(diagnosis[name], unit, 3)) for what, name, unit in told]
    return Table("The measured actuator", ("", ""), rows, frozenset({1}))
