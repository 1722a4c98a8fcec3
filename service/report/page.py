"""The report page: one HTML document of a sizing that needs nothing from elsewhere, to read on any screen or print.

Renders, computes nothing: it chooses, orders and words what the sizing says. Sections whose matter the sizing lacks
(comparison, proof, unmet requirements) are left out. Knows no web framework; the template is `page.html` beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from service.report.circuit import circuit
from service.report.comparison import comparison
from service.report.plots import plots
from service.report.proof import proof
from service.report.records import Shown, Table
from service.report.text import number, printable, sentence, with_unit, words

CORNERS = {
    "four": "four corners",
    "front": "the front corners",
    "rear": "the rear corners",
    "one": "one corner on a bench",
}

DEFERENCE = (
    "This helps an engineer to think; it replaces no check. Follow local regulations, and have licensed practice check "
    "the design before anything is built, put under pressure or driven.",
)

NOT_COVERED = (
    "Fatigue, wear, weld and thread strength, mounts, brackets and the structure they load.",
    "Controls: software, sensors' faults, electromagnetic compatibility, functional safety, behaviour on failure.",
    "Road approval, crash, fire protection, noise, transport of charged accumulators, pressure equipment assessment.",
    "Filling, bleeding, flushing and maintenance; leakage to the outside; contamination beyond the class named.",
    "Real parts: sizes come from standards, handbooks and estimates, not from any maker. Measure or ask the maker, "
    "and post what you find under 'measured' or 'stock'.",
)


ROUNDING = 1e-9
"""Share of its total by which a ledger may miss it and still count as closed."""


CONTENTS: Mapping[str, str] = {
    "unmet": "What no design met",
    "warnings": "Warnings",
    "circuit": "Circuit",
    "parts": "Parts",
    "plots": "Plots",
    "ledgers": "Ledgers",
    "comparison": "Against all-electric",
    "proof": "Proof in time",
    "why": "Why this design",
    "assumptions": "Assumptions",
    "sources": "Sources",
    "limits": "Not covered",
    "versions": "Versions",
}
"""Sections of the page in order, and what the list of contents calls them."""


@dataclass(frozen=True)
class Tile:
    """One of the numbers that matter."""

    label: str
    value: str
    note: str


@cache
def _template() -> Template:
    loader = FileSystemLoader(Path(__file__).parent)
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True).get_template(
        "page.html"
    )


def page(sizing: Mapping[str, Any], citations: Mapping[str, str]) -> str:
    """The report of a sizing as written on the wire; `citations` gives a source's title by its id."""
    shown = printable(sizing)
    search = shown["search"]
    absent = {name for name in ("comparison", "proof") if not shown.get(name)}
    absent |= set() if search["unmet"] else {"unmet"}
    return _template().render(
        contents=[(name, text) for name, text in CONTENTS.items() if name not in absent],
        title=shown["name"] or "Unnamed sizing",
        id=shown["id"],
        corners=CORNERS[shown["effective_spec"]["corners_fitted"]],
        verdict=verdict(shown),
        ten=tuple(ten(shown)),
        deference=DEFERENCE,
        unmet=_unmet(search["unmet"]) if search["unmet"] else None,
        warnings=tuple(_warnings(shown["warnings"])),
        circuit=Markup(circuit(shown)),
        parts=_parts(shown),
        constraints=_constraints(shown["design"]["constraints"]),
        plots=[
            {**vars(plot), "about": sentence(plot.about), "svg": Markup(plot.svg)} for plot in plots(shown).values()
        ],
        ledgers=[_ledger(ledger) for ledger in shown["ledgers"]],
        comparison=comparison(shown["comparison"]) if shown.get("comparison") else None,
        proof=proof(shown),
        why=_why(shown),
        assumptions=tuple(_assumptions(shown)),
        sources=_sources(shown, citations),
        not_covered=NOT_COVERED,
        model_version=shown["model_version"],
        data_version=shown["data_version"],
    )


def verdict(sizing: Mapping[str, Any]) -> str:
    """The outcome in a sentence."""
    grave = sum(w["signal_word"] in ("danger", "warning") for w in sizing["warnings"])
    if sizing["outcome"] == "infeasible":
        missed = len(sizing["search"]["unmet"])
        return (
            f"No design meets this spec. What follows is the nearest one, which misses {missed} "
            f"requirement{'s' if missed > 1 else ''}: to learn from, not to build."
        )
    proof = sizing["proof"]
    if proof is not None and proof["verdict"] == "fails":
        return f"A design meets what the sizing asks, but run in time it falls short: {proof['summary']}."
    if sizing["outcome"] == "feasible":
        return f"A design meets every requirement of the spec. {grave} hazards of every such plant come with it."
    return f"A design meets every requirement of the spec; {grave} dangers and warnings, and cautions, come with it."


def ten(sizing: Mapping[str, Any]) -> Iterator[Tile]:
    """The ten numbers that matter, each with what it stands against."""
    design, spec = sizing["design"], sizing["effective_spec"]
    totals, centre = design["totals"], design["centre"]
    limits, bus = spec["limits"], spec["bus"]
    allowed = f"allowed {with_unit(limits['mass_kg'], 'kg')}" if "mass_kg" in limits else "wet, battery not counted"
    yield Tile("Mass", with_unit(totals["mass_kg"], "kg"), allowed)
    run = totals["run_time_h"]
    note = "share-of-time mean" if run is None else f"{with_unit(run, 'h', 3)} on the battery given"
    yield Tile("Mean electric power", with_unit(totals["mean_power_w"], "W"), note)
    given = f" of {with_unit(bus['peak_current_a'], 'A')}" if "peak_current_a" in bus else ""
    yield Tile(
        "Peak current",
        with_unit(totals["peak_current_a"], "A", 3) + given,
        f"{with_unit(totals['peak_power_w'], 'W')} at {with_unit(bus['voltage_v'], 'V')}",
    )
    yield Tile("Standing by", with_unit(totals["standby_power_w"], "W"), "pressure held, nothing moving")
    rail = f"falls to {with_unit(design['lowest_rail_pressure_bar'], 'bar')}"
    yield Tile(
        "Supply pressure",
        with_unit(design["supply_pressure_bar"], "bar"),
        f"{rail}; relief at {with_unit(centre['relief_setting_bar'], 'bar')}",
    )
    flow = with_unit(centre["pump_flow_l_min"], "L/min", 3)
    yield Tile("Pump", flow, f"{centre['pump']}; corners peak at {with_unit(centre['peak_flow_l_min'], 'L/min', 3)}")
    if centre["accumulator_volume_l"] > 0.0:
        needed = with_unit(centre["store_needed_l"], "L", 3)
        yield Tile(
            "Stored oil", with_unit(centre["store_delivers_l"], "L", 3), f"{needed} needed, {centre['accumulator']}"
        )
    else:
        yield Tile("Stored oil", "none", "the pump alone carries the peak")
    cooled = (
        f"{with_unit(centre['heat_to_oil_w'], 'W')} into the oil, {with_unit(centre['cooler_heat_w'], 'W')} to a cooler"
    )
    yield Tile("Oil temperature", with_unit(centre["oil_temperature_c"], "°C", 3), cooled)
    fitted = [(p, design[p]) for p in ("front", "rear") if design[p] is not None]
    sizes = ", ".join(f"{number(c['bore_mm'])}/{number(c['rod_mm'])} × {number(c['stroke_mm'])}" for _, c in fitted)
    roles = ", ".join(f"{position} {words(corner['acts_as'])}" for position, corner in fitted)
    yield Tile("Cylinders, bore/rod × stroke", f"{sizes} mm", roles)
    tightest = max(design["constraints"], key=lambda c: c["use"])
    yield Tile(
        "Tightest requirement",
        with_unit(tightest["use"], "share", 3),
        f"of its limit used: {tightest['concerns']} {words(tightest['name'])}",
    )


def _warnings(warnings: Sequence[Mapping[str, Any]]) -> Iterator[Mapping[str, str]]:
    """The warnings in their order; the same one of several places is told once, with each place and its numbers."""
    together: dict[tuple[str, ...], list[Mapping[str, Any]]] = {}
    for warning in warnings:
        together.setdefault((warning["message"], warning["advice"], *warning["sources"]), []).append(warning)
    for (message, advice, *sources), alike in together.items():
        places = "; ".join(map(_concerns, alike))
        detail = f"{advice} Concerns {places}. Source: {', '.join(sources)}."
        yield {"signal_word": alike[0]["signal_word"], "text": f"{sentence(message)}.", "detail": detail}


def _concerns(warning: Mapping[str, Any]) -> str:
    place = words(warning["concerns"].replace("design.", "").replace(".", ", "))
    value, limit, unit = warning["value"], warning["limit"], warning["unit"] or ""
    if value is None or limit is None:
        return place
    return f"{place} ({with_unit(value, unit)} against {with_unit(limit, unit)})"


def _unmet(unmet: Sequence[Mapping[str, Any]]) -> Table:
    rows = [
        (
            f"{m['concerns']} {words(m['constraint'])}",
            with_unit(m["need"], m["unit"]),
            with_unit(m["allowance"], m["unit"]),
            number(m["use"], 3),
            m["would_help"],
        )
        for m in unmet
    ]
    return Table(
        "Requirements missed by the nearest design",
        ("requirement", "needs", "has", "needs over has", "would help"),
        rows,
        frozenset({1, 2, 3}),
    )


def _parts(sizing: Mapping[str, Any]) -> Table:
    parts = sizing["design"]["parts"]
    rows = [
        (
            p["part"],
            f"{p['count']} × {words(p['choice'])}" if p["count"] > 1 else words(p["choice"]),
            p["measure"],
            with_unit(p["required"], p["unit"]),
            with_unit(p["chosen"], p["unit"]),
            with_unit(p["margin"], "share", 3),
            p["governed_by"] or "–",
            _origin(p["source"], p["kind"]),
            with_unit(p["mass_kg"], "kg"),
        )
        for p in parts
    ]
    total = ("total", "", "", "", "", "", "", "", with_unit(sizing["design"]["totals"]["mass_kg"], "kg"))
    header = ("part", "choice", "measure", "required", "chosen", "margin", "governed by", "source", "mass, all")
    return Table("Parts list, masses wet", header, rows, frozenset({3, 4, 5, 8}), total)


def _origin(source: str, kind: str) -> str:
    # `estimate`, `memory` and `common_practice` are sources that only name their kind
    return words(kind) if kind.startswith(source) else f"{source}, {words(kind)}"


def _constraints(constraints: Sequence[Mapping[str, Any]]) -> Table:
    rows = [
        (
            f"{c['concerns']} {words(c['name'])}",
            with_unit(c["need"], c["unit"]),
            with_unit(c["allowance"], c["unit"]),
            with_unit(c["use"], "share", 3),
            "met" if c["met"] else "not met",
            c["governed_by"] or "–",
        )
        for c in sorted(constraints, key=lambda c: -c["use"])
    ]
    header = ("requirement", "needs", "has", "used", "", "governed by")
    return Table("Tightest first; 100 % used is at the limit", header, rows, frozenset({1, 2, 3}))


def _ledger(ledger: Mapping[str, Any]) -> Mapping[str, Any]:
    total = ledger["total"]
    rows = [
        (t["name"], number(t["value"]), with_unit(t["value"] / total, "share", 3) if total else "–")
        for t in ledger["terms"]
    ]
    residual = ledger["residual"]
    closes = "closes to rounding" if abs(residual) < ROUNDING else f"left over {number(residual, 2)} of the total"
    table = Table(
        f"{sentence(ledger['about'])}; {closes}",
        ("term", ledger["unit"], "share"),
        rows,
        frozenset({1, 2}),
        ("total", number(total), ""),
    )
    return {"title": ledger["name"].capitalize(), "table": table}


def _why(sizing: Mapping[str, Any]) -> Shown:
    design, search = sizing["design"], sizing["search"]
    texts = [
        f"Objective {search['objective']}: {number(search['plants_evaluated'])} plants were worked out, of "
        f"{number(search['raw_designs'], 2)} combinations; {number(search['front_size'])} are not beaten by another."
    ]
    if search["binding"]:
        texts.append(f"Decided by {', '.join(words(name) for name in search['binding'])}.")
    if search["relaxed"]:
        texts.append(f"Relaxed, since no design kept the customary value: {', '.join(map(words, search['relaxed']))}.")
    for position in ("front", "rear"):
        if design[position] is not None:
            role = design[position]
            texts.append(f"{position.capitalize()}, {words(role['acts_as'])}: {role['acts_as_because']}.")
    tables = []
    rows: list[tuple[str, ...]]
    if search["refused"]:
        rows = [(r["part"], words(r["chosen"]), words(r["smaller"]), r["text"]) for r in search["refused"]]
        tables.append(
            Table("The next smaller size, and what refused it", ("part", "chosen", "smaller", "refused by"), rows)
        )
    if search["media"]:
        rows = [
            (
                words(m["medium"]),
                "yes" if m["feasible"] else "no",
                with_unit(m["mass_kg"], "kg"),
                with_unit(m["mean_power_w"], "W"),
                m["note"],
            )
            for m in search["media"]
        ]
        tables.append(
            Table("Media tried", ("medium", "feasible", "mass", "mean power", "note"), rows, frozenset({2, 3}))
        )
    if search["alternatives"]:
        rows = [
            (
                with_unit(a["mass_kg"], "kg"),
                with_unit(a["mean_power_w"], "W"),
                with_unit(a["peak_current_a"], "A", 3),
                with_unit(a["supply_pressure_bar"], "bar"),
                " / ".join(filter(None, (a["front_cylinder"], a["rear_cylinder"]))),
                f"{a['pump']}, {words(a['motor'])}, {a['control']}",
                a["accumulator"],
            )
            for a in search["alternatives"]
        ]
        header = ("mass", "mean power", "peak current", "pressure", "cylinders", "pump, motor, control", "accumulator")
        tables.append(Table("Designs not beaten by another", header, rows, frozenset({0, 1, 2, 3})))
    return Shown(tuple(texts), tuple(tables))


def _assumptions(sizing: Mapping[str, Any]) -> Iterator[Table]:
    used = sizing["defaults_used"]
    rows = [
        (d["pointer"], d["value"] if isinstance(d["value"], str) else _plain(d["value"]), d["reason"]) for d in used
    ]
    yield Table("Defaults used, since the spec says nothing", ("place in the spec", "value", "why"), rows)
    for kind, title in (("estimated", "Parts on estimated data"), ("memory", "Parts on data recalled, not looked up")):
        parts = [p for p in sizing["design"]["parts"] if p["kind"] == kind]
        if parts:
            listed = [(p["part"], words(p["choice"]), with_unit(p["mass_kg"], "kg"), p["source"]) for p in parts]
            yield Table(title, ("part", "choice", "mass", "source"), listed, frozenset({2}))
    passes = [
        (number(i), with_unit(a["plant_mass_assumed_kg"], "kg"), with_unit(a["plant_mass_found_kg"], "kg"), a["reason"])
        for i, a in enumerate(sizing["attempts"], 1)
    ]
    header = ("pass", "plant mass assumed", "found", "why")
    yield Table("The plant's own mass, fed back into the vehicle's", header, passes, frozenset({0, 1, 2}))


def _plain(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else number(value)


def _sources(sizing: Mapping[str, Any], citations: Mapping[str, str]) -> Table:
    used = {part["source"] for part in sizing["design"]["parts"]}
    rival = sizing["comparison"]["warnings"] if sizing.get("comparison") else ()
    used |= {source for warning in (*sizing["warnings"], *rival) for source in warning["sources"]}
    return Table("Named in this report", ("id", "source"), [(id, citations.get(id, "–")) for id in sorted(used)])
