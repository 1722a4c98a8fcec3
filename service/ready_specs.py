"""Ready specs, to post as they are or to start from: the files of `examples` in this room.

Imports nothing heavy: the command line lists them before it knows what it is to do.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from service.problems import Problem

FOLDER = Path(__file__).parent / "examples"


@dataclass(frozen=True)
class ExampleLine:
    """A ready spec in the list."""

    name: str
    title: str
    link: str


@dataclass(frozen=True)
class ExampleList:
    """Ready specs, to post as they are or to start from."""

    examples: tuple[ExampleLine, ...]


@cache
def example_names() -> tuple[str, ...]:
    return tuple(sorted(path.stem for path in FOLDER.glob("*.json")))


def example_list() -> ExampleList:
    titles = {name: example(name)["name"] for name in example_names()}
    return ExampleList(tuple(ExampleLine(name, title, f"/v1/examples/{name}") for name, title in titles.items()))


@cache
def example_bytes(name: str) -> bytes:
    """A ready spec as its file holds it; raises Problem `not-found`."""
    if name not in example_names():
        raise Problem("not-found", f"there is no example {name[:80]!r}; /v1/examples lists them")
    return (FOLDER / f"{name}.json").read_bytes()


def example(name: str) -> dict[str, Any]:
    """A ready spec; raises Problem `not-found`."""
    spec: dict[str, Any] = json.loads(example_bytes(name))
    return spec
