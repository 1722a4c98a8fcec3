"""Settings: what the person who runs the service decides, read from the environment once at start.

RAMWRIGHT_TOKEN   one bearer token or several, separated by commas; without it no token is needed
RAMWRIGHT_STORE   the SQLite file of finished sizings and of jobs under way
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Settings:
    """`warm_up`: size an example at start, and be ready only then."""

    store: Path
    tokens: tuple[str, ...] = ()
    warm_up: bool = True


def from_environment(environment: Mapping[str, str] = os.environ) -> Settings:
    tokens = tuple(token.strip() for token in environment.get("RAMWRIGHT_TOKEN", "").split(",") if token.strip())
    store = environment.get("RAMWRIGHT_STORE")
    return Settings(Path(store) if store else _default_store(environment), tokens)


def _default_store(environment: Mapping[str, str]) -> Path:
    # the XDG base directory specification's place for a user's data
    base = environment.get("XDG_DATA_HOME")
    return (Path(base) if base else Path.home() / ".local" / "share") / "ramwright" / "sizings.sqlite3"
