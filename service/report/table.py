"""Tables as CSV for a spreadsheet: bare numbers, the unit in the header, text that stays text.

Renders, computes nothing. A cell of text that a spreadsheet would take for a formula gets an apostrophe before it.
Source: RFC 4180.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

FORMULA_STARTS = ("=", "+", "-", "@", "|", "%", "＝", "＋", "－", "＠")

PART_COLUMNS: tuple[tuple[str, str], ...] = (
    ("part", "part"),
    ("choice", "choice"),
    ("count", "count"),
    ("measure", "measure"),
    ("unit", "unit_of_required_and_chosen"),
    ("required", "required"),
    ("chosen", "chosen"),
    ("margin", "margin_share"),
    ("governed_by", "governed_by"),
    ("mass_kg", "mass_kg"),
    ("source", "source"),
    ("kind", "kind"),
)
"""Members of a part and the columns they are written to."""


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """A table as CSV with a byte order mark, so that spreadsheets read it as UTF-8."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return "\N{ZERO WIDTH NO-BREAK SPACE}" + out.getvalue()


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, str):
        return f"'{value}" if value.lstrip().startswith(FORMULA_STARTS) else value
    return repr(float(f"{value:.10g}")) if isinstance(value, float) else value


def parts_csv(sizing: Mapping[str, Any]) -> str:
    """The parts list as CSV."""
    parts = sizing["design"]["parts"]
    header = [column for _, column in PART_COLUMNS]
    return csv_text(header, ([part[member] for member, _ in PART_COLUMNS] for part in parts))


def proof_csv(proof: Mapping[str, Any]) -> str:
    """The traces of a proof as CSV: one row an instant of a run, one column a trace."""
    names = [(t["concerns"], t["name"], t["unit"]) for t in proof["traces"][0]["traces"]] if proof["traces"] else []
    for run in proof["traces"][1:]:
        names += [key for t in run["traces"] if (key := (t["concerns"], t["name"], t["unit"])) not in names]
    header = ["run", "duty", "seed", "time [s]"]
    header += [
        f"{concerns} {name.replace('_', ' ')}{'' if unit == '1' else f' [{unit}]'}" for concerns, name, unit in names
    ]
    rows: list[Sequence[Any]] = []
    for number, run in enumerate(proof["traces"], 1):
        of = {(t["concerns"], t["name"], t["unit"]): t["values"] for t in run["traces"]}
        columns = [of.get(key, [None] * len(run["time_s"])) for key in names]
        rows += [(number, run["label"], run["seed"], *row) for row in zip(run["time_s"], *columns, strict=True)]
    return csv_text(header, rows)
