"""A sizing as text for a terminal: outcome, parts, totals, warnings. Reads the wire; computes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def summarise(sizing: Mapping[str, Any]) -> str:
    """The main points of a sizing in some dozen lines."""
    return f"{sizing['name']}: {sizing['outcome']}"
