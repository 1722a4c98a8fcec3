"""The report's section on the proof: verdict, what each run measured against its limits, events, and what was tried.

Renders, computes nothing. Of a metric that every corner has, the corner with the least margin is shown.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from service.report.records import Shown, Table
from service.report.text import number, with_unit, words

VERDICTS = {"holds": "Run in time, the design holds", "fails": "Run in time, the design falls short"}


def proof(sizing: Mapping[str, Any]) -> Shown | None:
    """The section; None where no design was run."""
    said = sizing.get("proof")
    if not said:
        return None
    runs = said["duties"]
    texts = [f"{VERDICTS[said['verdict']]}: {said['summary']}."]
    lengths = ", ".join(f"{r['label'] or words(r['kind'])} {with_unit(r['duration_s'], 's', 3)}" for r in runs)
    texts.append(f"Run: {lengths}; oil at {with_unit(said['temperature_c'], '°C', 3)}, seeds as given in the answer.")
    for spread in said["spread"]:
        count = spread["from_seeds"]
        origin = f"measured over {count} seeds" if count > 1 else "expected of one run of this length"
        texts.append(f"Spread of {words(spread['name'])}: {with_unit(spread['relative'], 'share', 2)}, {origin}.")
    if said["gains"]:
        first = said["gains"][0]
        texts.append(
            f"Controllers sample every {with_unit(first['sample_time_ms'], 'ms', 3)}; {first['derived_from']}."
        )
    texts.append(f"Not in the run: {'; '.join(said['not_modelled'])}.")
    tables = [_run(run) for run in runs]
    events = list(_events(runs))
    if events:
        tables.append(
            Table("Events, each at its first time", ("run", "where", "time", "event"), events, frozenset({2}))
        )
    retried = [a for a in sizing["attempts"] if a["proof"] is not None]
    if len(retried) > 1:
        rows = [(a["reason"], with_unit(a["plant_mass_found_kg"], "kg"), a["proof"]) for a in retried]
        tables.append(Table("Designs run, one after the other", ("why", "mass", "its proof"), rows, frozenset({1})))
    return Shown(tuple(texts), tuple(tables))


def _run(run: Mapping[str, Any]) -> Table:
    shown: dict[str, Mapping[str, Any]] = {}
    for metric in run["metrics"]:
        other = shown.get(metric["name"])
        if other is None or (metric["margin"] is not None and metric["margin"] < other["margin"]):
            shown[metric["name"]] = metric
    rows = [
        (
            words(m["name"]),
            m["concerns"],
            with_unit(m["value"], "" if m["unit"] == "1" else m["unit"], 3),
            "–" if m["limit"] is None else with_unit(m["limit"], "" if m["unit"] == "1" else m["unit"], 3),
            "–" if m["margin"] is None else with_unit(m["margin"], "share", 2),
            "kept" if m["met"] else "missed",
        )
        for m in shown.values()
    ]
    steps = f"{number(run['steps'])} steps, seed {run['seed']}"
    title = f"{run['label'] or words(run['kind'])}: {'holds' if run['passed'] else 'falls short'}; {steps}"
    return Table(title, ("measure", "worst at", "value", "limit", "margin", ""), rows, frozenset({2, 3, 4}))


def _events(runs: list[Mapping[str, Any]]) -> Iterator[tuple[str, str, str, str]]:
    for run in runs:
        for event in run["events"]:
            ends = " (the plant no longer does its work)" if event["ends_proof"] else ""
            text = f"{words(event['name'])}: {event['text']}{ends}"
            yield run["label"] or words(run["kind"]), event["concerns"], with_unit(event["time_s"], "s", 3), text
