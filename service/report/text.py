"""Text as a report writes it: numbers to read, names as words, strings that any format can carry.

Renders, computes nothing but roundings. Knows no format: escaping is each format's own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import escape, quoteattr

_UNPRINTABLE = re.compile(
    "[\x00-\x1f\x7f-\x9f\u200b\u200e\u200f\u2028-\u202e\u2060-\u2069\ufdd0-\ufdef\ufeff\ufffe\uffff\ud800-\udfff]"
)
"""Control characters, marks that turn the direction of writing, and what XML may not hold."""

_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")

REPLACEMENT = "\N{REPLACEMENT CHARACTER}"


def printable(value: Any) -> Any:
    """The same JSON value with every character that could not be seen, or would turn a line about, replaced."""
    if isinstance(value, str):
        return _UNPRINTABLE.sub(REPLACEMENT, value)
    if isinstance(value, Mapping):
        return {name: printable(item) for name, item in value.items()}
    return [printable(item) for item in value] if isinstance(value, list) else value


def number(value: float | int | None, digits: int = 4) -> str:
    """A number to `digits` digits, written out without an exponent where that is short."""
    if value is None:
        return "–"
    rounded = float(f"{value:.{digits}g}")
    if rounded == 0.0:
        return "0"
    if abs(rounded) >= 1e7 or abs(rounded) < 1e-4:
        mantissa, _, exponent = f"{rounded:.{digits - 1}e}".partition("e")
        power = str(int(exponent)).translate(_RAISED)
        return f"{mantissa.rstrip('0').rstrip('.')} × 10{power}".replace("-", "−")
    text = f"{rounded:.10f}".rstrip("0").rstrip(".")
    return text.replace("-", "−")


def with_unit(value: float | None, unit: str, digits: int = 4) -> str:
    """A number and its unit; "1" stands for none and "share" for a share of one."""
    if value is None or unit in ("", "1"):
        return number(value, digits)
    if unit == "share":
        return f"{number(100.0 * value, digits)} %"
    return f"{number(value, digits)}\N{NO-BREAK SPACE}{unit}"


def sentence(text: str) -> str:
    """Text that begins with a capital letter."""
    return f"{text[:1].upper()}{text[1:]}"


def words(name: str) -> str:
    """A name of the wire as words."""
    return name.replace("_", " ")


def markup(text: str) -> str:
    """Text inside an element of XML."""
    return escape(text)


def attribute(text: str) -> str:
    """Text as a quoted attribute of XML."""
    return quoteattr(text)
