"""A sizing as text for a terminal: outcome, parts, totals, warnings. Reads the wire; computes nothing."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

from models.quantity import plain
from service.report.text import printable

WIDTH = 110
POWER_TERMS = 6


def summarise(sizing: Mapping[str, Any]) -> str:
    """The main points of a sizing, to read from top to bottom; nothing in it commands the terminal."""
    shown = printable(sizing)
    blocks = (_head, _unmet, _parts, _power, _decided, _corners, _proof, _rival, _warnings)
    return "\n\n".join(text for block in blocks if (text := "\n".join(block(shown))))


def _head(sizing: Mapping[str, Any]) -> Iterator[str]:
    yield f"{sizing['name'] or 'unnamed'}: {sizing['outcome'].replace('_', ' ')}"
    if sizing["design"] is None:
        yield "There is nothing to size."
        return
    design, totals = sizing["design"], sizing["design"]["totals"]
    if sizing["outcome"] == "infeasible":
        yield "No plant meets this spec. What follows is the nearest one, not one to build."
    objective = sizing["search"]["objective"]
    yield f"{design['medium_label']}, {plain(design['supply_pressure_bar'])} bar, objective {objective}"
    yield (
        f"{plain(totals['mass_kg'])} kg, {plain(totals['mean_power_w'])} W in the mean, "
        f"{plain(totals['peak_power_w'])} W and {plain(totals['peak_current_a'])} A at the peak, "
        f"{plain(totals['standby_power_w'])} W standing by"
    )
    if totals["run_time_h"] is not None:
        yield f"{plain(totals['run_time_h'])} h on the battery given"


def _unmet(sizing: Mapping[str, Any]) -> Iterator[str]:
    if sizing["search"]["unmet"]:
        yield "Not met"
    for miss in sizing["search"]["unmet"]:
        numbers = f"needs {plain(miss['need'])}, has {plain(miss['allowance'])} {miss['unit']}"
        yield from _wrapped(
            f"{miss['concerns']} {_words(miss['constraint'])}: {numbers}. Would help: {miss['would_help']}"
        )


def _parts(sizing: Mapping[str, Any]) -> Iterator[str]:
    if sizing["design"] is None:
        return
    yield f"{'Part':<25}{'Choice':<45}{'needs':>8}{'has':>8} {'':<7}{'mass':>9}"
    for part in sizing["design"]["parts"]:
        count = f"{part['count']} x " if part["count"] > 1 else ""
        yield (
            f"{part['part']:<25}{count + part['choice']:<45}{plain(part['required']):>8}{plain(part['chosen']):>8} "
            f"{part['unit']:<7}{plain(part['mass_kg']):>9} kg"
        )


def _power(sizing: Mapping[str, Any]) -> Iterator[str]:
    for ledger in sizing["ledgers"]:
        if ledger["name"] == "power":
            yield f"Where {plain(ledger['total'])} {ledger['unit']} go in the mean"
            largest = sorted(ledger["terms"], key=lambda term: -abs(term["value"]))[:POWER_TERMS]
            yield from (f"  {term['name']:<44}{plain(term['value']):>8} {ledger['unit']}" for term in largest)


def _decided(sizing: Mapping[str, Any]) -> Iterator[str]:
    search = sizing["search"]
    if search["binding"]:
        yield from _wrapped("Decided by " + "; ".join(_words(name) for name in search["binding"]), first="")
    for refused in search["refused"]:
        yield from _wrapped(f"{refused['part']}: not {refused['smaller']} ({refused['text']})")


def _corners(sizing: Mapping[str, Any]) -> Iterator[str]:
    for position in ("front", "rear"):
        corner = sizing["design"][position] if sizing["design"] is not None else None
        if corner is not None:
            text = f"{position.capitalize()}, {_words(corner['acts_as'])}: {corner['acts_as_because']}"
            yield from _wrapped(text, first="")


def _proof(sizing: Mapping[str, Any]) -> Iterator[str]:
    proof = sizing["proof"]
    if proof is not None:
        length = sum(duty["duration_s"] for duty in proof["duties"])
        yield f"Run in time for {length:.0f} s: {proof['verdict']}"
        yield from _wrapped(proof["summary"])


def _rival(sizing: Mapping[str, Any]) -> Iterator[str]:
    if sizing["comparison"] is not None:
        yield "Against all-electric actuators"
        yield from _wrapped(sizing["comparison"]["verdict"])


def _warnings(sizing: Mapping[str, Any]) -> Iterator[str]:
    yield f"Warnings: {len(sizing['warnings'])}"
    for warning in sizing["warnings"]:
        axle = next((f"{step}: " for step in warning["concerns"].split(".") if step in ("front", "rear")), "")
        yield from _wrapped(f"{warning['signal_word'].upper():<8} {axle}{warning['message']}", rest="           ")


def _wrapped(text: str, first: str = "  ", rest: str = "    ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)


def _words(name: str) -> str:
    return name.replace("_", " ")
