"""The record of one design warning. Each room raises its own; text, signal word and source come from the table.

Signal words follow ISO 3864-2: danger, warning, caution; `notice` is for matters that hurt the design, not people.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import fluids_data


@dataclass(frozen=True)
class DesignWarning:
    """One warning about a design or its data.

    `concerns` names what it is about as a path into the answer (`design.front.cylinder`); `value` and `limit` are in
    `unit`, and both are None where the warning is a statement without a number.
    """

    code: str
    signal_word: str
    concerns: str
    message: str
    value: float | None
    limit: float | None
    unit: str | None
    sources: tuple[str, ...]
    advice: str


@functools.cache
def warning_table() -> Mapping[str, Mapping[str, Any]]:
    """Every warning the project can raise, by code."""
    return fluids_data.load_warnings()


def warn(
    code: str,
    concerns: str,
    message: str,
    value: float | None = None,
    limit: float | None = None,
    unit: str | None = None,
) -> DesignWarning:
    """A warning of the table's kind `code`; raises KeyError for a code the table does not hold."""
    row = warning_table()[code]
    return DesignWarning(
        code, row["signal_word"], concerns, message, value, limit, unit, tuple(row["sources"]), row["advice"]
    )


def is_inherent(code: str) -> bool:
    """Whether a warning tells a hazard of every plant of its kind, which the best design carries too."""
    return bool(warning_table()[code].get("inherent", False))


_ORDER = {"danger": 0, "warning": 1, "caution": 2, "notice": 3}


def by_severity(warnings: list[DesignWarning]) -> tuple[DesignWarning, ...]:
    """Warnings in order of signal word, then as raised; an exact repeat is kept once."""
    return tuple(sorted(dict.fromkeys(warnings), key=lambda w: _ORDER[w.signal_word]))
