"""A sizing in each form it can be shown in: report, parts list, circuit, plots. The one door of this room.

Renders, computes nothing. Takes a sizing as its JSON was stored; citations come from the reference tables.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import fluids_data
from service.report import circuit, page, plots, table
from service.report.text import printable


@cache
def _citations() -> Mapping[str, str]:
    sources = fluids_data.load_sources().values()
    return {s.id: f"{s.title}, {s.edition}" if s.edition else s.title for s in sources}


def report(sizing: Mapping[str, Any]) -> str:
    """The report page, HTML."""
    return page.page(sizing, _citations())


def parts_csv(sizing: Mapping[str, Any]) -> str:
    """The parts list, CSV."""
    return table.parts_csv(printable(sizing))


def proof_csv(proof: Mapping[str, Any]) -> str:
    """A proof's traces in columns, CSV."""
    return table.proof_csv(printable(proof))


def circuit_svg(sizing: Mapping[str, Any]) -> str:
    """The circuit drawing, SVG."""
    return circuit.circuit(printable(sizing))


def plots_of(shown: Mapping[str, Any]) -> Mapping[str, plots.Plot]:
    """The plots of a sizing or of a comparison, by name."""
    draw = plots.comparison_plots if "crossovers" in shown else plots.plots
    return draw(printable(shown))


def plot_list(id: str, where: str, shown: Mapping[str, Any]) -> dict[str, Any]:
    """The plots there are, with their addresses below `where`."""
    rows = [
        {"name": p.name, "title": p.title, "about": p.about, "link": f"{where}/plots/{p.name}"}
        for p in plots_of(shown).values()
    ]
    return {"id": id, "plots": rows}
