"""The plots of a sizing: which there are, from which of its numbers, as SVG and as a table.

Renders, computes nothing. A plot is there only when the sizing holds its numbers: figures as they come, ledgers as bars
or cascades, the alternatives of the search as mass against power.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.report.plotting import Axis, BarLine, Line, bars, chart
from service.report.table import csv_text
from service.report.text import with_unit

CASCADES = "pressure"


@dataclass(frozen=True)
class Plot:
    """A plot by its name in the address: drawing and table of the same numbers."""

    name: str
    title: str
    about: str
    svg: str
    csv: str


def plots(sizing: Mapping[str, Any]) -> dict[str, Plot]:
    """Every plot that the sizing holds numbers for, in the order of the report."""
    figures = {figure["name"]: _figure(figure) for figure in sizing.get("figures", ())}
    first = [plot for name, plot in figures.items() if name.startswith("force-velocity")]
    ledgers = [_ledger(ledger) for ledger in sizing["ledgers"]]
    rest = [plot for plot in figures.values() if plot not in first]
    found = [*first, *(p for p in ledgers if p.name.startswith(CASCADES)), *rest]
    found += [p for p in ledgers if not p.name.startswith(CASCADES)]
    if sizing["search"]["alternatives"]:
        found.append(_alternatives(sizing))
    return {plot.name: plot for plot in found}


def comparison_plots(comparison: Mapping[str, Any]) -> dict[str, Plot]:
    """Both sides along each axis that a comparison walked."""
    return {figure["name"]: _figure(figure) for figure in comparison["figures"]}


def _figure(figure: Mapping[str, Any]) -> Plot:
    x_text, y_text = _axis(figure["x_label"], figure["x_unit"]), _axis(figure["y_label"], figure["y_unit"])
    lines = [Line(curve["label"], curve["x"], curve["y"], curve["marks"]) for curve in figure["curves"]]
    rows = [(line.label, x, y) for line in lines for x, y in zip(line.x, line.y, strict=True)]
    return Plot(
        figure["name"],
        figure["title"],
        figure["about"],
        chart(figure["title"], figure["about"], Axis(x_text, figure["log_x"]), Axis(y_text, figure["log_y"]), lines),
        csv_text(("curve", x_text, y_text), rows),
    )


def _axis(label: str, unit: str) -> str:
    return label if unit in ("", "1") else f"{label} [{unit}]"


def _ledger(ledger: Mapping[str, Any]) -> Plot:
    name = ledger["name"].replace(", ", "-").replace(" ", "-")
    title = f"{ledger['name'][:1].upper()}{ledger['name'][1:]} ledger"
    terms = [term for term in ledger["terms"] if term["value"] != 0.0]
    cascade = name.startswith(CASCADES)
    if not cascade:
        terms = sorted(terms, key=lambda term: -abs(term["value"]))
    lines = [*(BarLine(term["name"], term["value"]) for term in terms), BarLine("total", ledger["total"], total=True)]
    rows = [*((term["name"], term["value"]) for term in ledger["terms"]), ("total", ledger["total"])]
    return Plot(
        name,
        title,
        ledger["about"],
        bars(title, ledger["about"], _axis(ledger["name"].split(",")[0], ledger["unit"]), lines, cascade),
        csv_text(("term", f"value [{ledger['unit']}]"), rows),
    )


def _alternatives(sizing: Mapping[str, Any]) -> Plot:
    others: Sequence[Mapping[str, Any]] = sizing["search"]["alternatives"]
    totals = sizing["design"]["totals"]
    title = "Mass against mean power: the chosen design and those not beaten"
    about = (
        f"Chosen: {with_unit(totals['mass_kg'], 'kg')} and {with_unit(totals['mean_power_w'], 'W')}. No design shown "
        "is beaten by another in mass, mean electric power and peak current together; the third is not drawn."
    )
    lines = [
        Line("chosen", [totals["mass_kg"]], [totals["mean_power_w"]], marks=True),
        Line("not beaten", [o["mass_kg"] for o in others], [o["mean_power_w"] for o in others], marks=True),
    ]
    header = ("design", *others[0])
    chosen = [totals.get(name, "") for name in others[0]]
    rows = [("chosen", *chosen), *(("alternative", *other.values()) for other in others)]
    return Plot(
        "mass-power",
        title,
        about,
        chart(title, about, Axis("mass [kg]"), Axis("mean electric power [W]"), lines),
        csv_text(header, rows),
    )
