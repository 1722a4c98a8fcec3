"""Any record of the wire as sentences and tables: for parts of a sizing whose shape other rooms decide.

Renders, computes nothing. A list of like records becomes a table, a record of numbers a table of names and values, a
member called `sentence` or `verdict` the first text. Long series of numbers are left to the plots.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from models.quantity import UNITS
from service.report.text import number, with_unit, words

SERIES = 12
"""Numbers in a row beyond which a list is a series, not a value to read."""

LEADING = ("sentence", "verdict", "text", "summary")


@dataclass(frozen=True)
class Table:
    """A table to show: cells are texts, `numeric` the columns set to the right."""

    title: str
    header: Sequence[str]
    rows: Sequence[Sequence[str]]
    numeric: frozenset[int] = frozenset()
    foot: Sequence[str] | None = None


@dataclass(frozen=True)
class Shown:
    """Sentences and tables."""

    texts: Sequence[str]
    tables: Sequence[Table] = field(default=())


def shown_record(record: Any, title: str) -> Shown:
    """A record of unknown shape, its verdict first."""
    texts = list(dict.fromkeys(_sentences(record)))
    return Shown(tuple(texts), tuple(_tables(record, words(title))))


def _sentences(record: Any) -> Iterator[str]:
    if not isinstance(record, Mapping):
        return
    for name in LEADING:
        value = record.get(name)
        if isinstance(value, str):
            yield words(value) if value.isidentifier() else value
        elif isinstance(value, Mapping):
            yield from _sentences(value)


def _tables(value: Any, title: str) -> Iterator[Table]:
    if isinstance(value, Mapping):
        plain = {k: v for k, v in value.items() if not isinstance(v, (Mapping, list)) and k not in LEADING}
        if plain:
            yield Table(title, ("", ""), [_named(k, v) for k, v in plain.items()], frozenset({1}))
        for name, item in value.items():
            if isinstance(item, (Mapping, list)):
                yield from _tables(item, f"{title}: {words(name)}")
    elif isinstance(value, list) and value:
        if all(isinstance(item, Mapping) for item in value):
            yield _like_records(value, title)
        elif len(value) <= SERIES and not any(isinstance(item, list) for item in value):
            yield Table(title, ("",), [(_cell(item),) for item in value])


def _like_records(records: Sequence[Mapping[str, Any]], title: str) -> Table:
    names = [name for name in dict.fromkeys(n for record in records for n in record) if name != "unit"]
    names = [name for name in names if not any(isinstance(r.get(name), (Mapping, list)) for r in records)]
    rows = []
    for record in records:
        unit = record.get("unit") or ""
        rows.append([_cell(record.get(name), _unit_of(name) or unit) for name in names])
    numeric = {i for i, n in enumerate(names) if any(_is_number(r.get(n)) for r in records)}
    return Table(title, [words(_bare(name)) for name in names], rows, frozenset(numeric))


def _named(name: str, value: Any) -> tuple[str, str]:
    return words(_bare(name)), _cell(value, _unit_of(name))


def _suffix(name: str) -> str:
    parts = name.split("_")
    return next((s for i in range(1, len(parts)) if (s := "_".join(parts[i:])) in UNITS), "")


def _unit_of(name: str) -> str:
    return UNITS[_suffix(name)].symbol if _suffix(name) else ""


def _bare(name: str) -> str:
    return name.removesuffix("_" + _suffix(name)) if _suffix(name) else name


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _cell(value: Any, unit: str = "") -> str:
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if _is_number(value):
        return with_unit(value, unit) if unit else number(value)
    return words(value) if isinstance(value, str) and value.isidentifier() else str(value)
