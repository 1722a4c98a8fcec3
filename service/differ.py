"""What differs between two sizings, cause before effect: versions, spec, demand, design, ledgers, outcome, warnings.

Pure, on sizings as they are written on the wire; knows no part by name. Labels are passed over: they cause nothing.
How the search went and the attempts are left out: what they led to is in the design.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.field_errors import pointer_of

Path = tuple[str | int, ...]

STAGES: tuple[tuple[str, str], ...] = (
    ("versions", "model_version"),
    ("versions", "data_version"),
    ("spec", "effective_spec"),
    ("demand", "demand"),
    ("design", "design"),
    ("ledgers", "ledgers"),
    ("outcome", "outcome"),
    ("warnings", "warnings"),
)
"""Stage and top-level member of a sizing, causes first."""

IDENTITIES: tuple[tuple[str, ...], ...] = (("code", "concerns"), ("id",), ("position",), ("name",), ("term",))
"""Members that tell two items of a list to be the same one; lists without them are matched by place."""


@dataclass(frozen=True)
class Difference:
    """One place where two sizings differ.

    `pointer` is into the sizing asked for, or into the other one for what stands only there. `change` is "changed",
    "only_this" or "only_other".
    """

    stage: str
    pointer: str
    change: str
    this: Any
    other: Any


@dataclass(frozen=True)
class Comparison:
    """What differs between a sizing and another, causes first."""

    id: str
    against: str
    differences: tuple[Difference, ...]


def compare(this: Mapping[str, Any], other: Mapping[str, Any]) -> Comparison:
    """Every difference between two written sizings, in the order of STAGES."""
    found = [
        Difference(stage, pointer_of(path), change, here, there)
        for stage, member in STAGES
        for path, change, here, there in _differences(this.get(member), other.get(member), (member,))
    ]
    return Comparison(this["id"], other["id"], tuple(found))


def _differences(this: Any, other: Any, path: Path) -> Iterator[tuple[Path, str, Any, Any]]:
    if isinstance(this, Mapping) and isinstance(other, Mapping):
        for name in [*this, *(name for name in other if name not in this)]:
            if not _is_label(path, name):
                yield from _at((*path, name), this.get(name), other.get(name), name in this, name in other)
    elif isinstance(this, list) and isinstance(other, list):
        yield from _in_lists(this, other, path)
    elif not _equal(this, other):
        yield path, "changed", this, other


def _is_label(path: Path, name: str) -> bool:
    return name == "label" or (name == "name" and path == ("effective_spec",))


def _at(path: Path, this: Any, other: Any, in_this: bool, in_other: bool) -> Iterator[tuple[Path, str, Any, Any]]:
    if in_this and in_other:
        yield from _differences(this, other, path)
    else:
        yield path, "only_this" if in_this else "only_other", this, other


def _in_lists(this: Sequence[Any], other: Sequence[Any], path: Path) -> Iterator[tuple[Path, str, Any, Any]]:
    names = _identity(this, other)
    here = {_key(item, names, place): place for place, item in enumerate(this)}
    there = {_key(item, names, place): place for place, item in enumerate(other)}
    for key, place in here.items():
        where = (*path, place)
        if key in there:
            yield from _differences(this[place], other[there[key]], where)
        else:
            yield where, "only_this", this[place], None
    for key, place in there.items():
        if key not in here:
            yield (*path, place), "only_other", None, other[place]


def _identity(this: Sequence[Any], other: Sequence[Any]) -> tuple[str, ...] | None:
    for names in IDENTITIES:
        if all(_identifies(items, names) for items in (this, other)):
            return names
    return None


def _identifies(items: Sequence[Any], names: tuple[str, ...]) -> bool:
    if not all(isinstance(item, Mapping) and all(isinstance(item.get(name), str) for name in names) for item in items):
        return False
    return len({tuple(item[name] for name in names) for item in items}) == len(items)


def _key(item: Any, names: tuple[str, ...] | None, place: int) -> tuple[Any, ...]:
    return (place,) if names is None else tuple(item[name] for name in names)


def _equal(this: Any, other: Any) -> bool:
    numbers = all(isinstance(value, (int, float)) and not isinstance(value, bool) for value in (this, other))
    return math.isclose(this, other, rel_tol=1e-9, abs_tol=0.0) if numbers else bool(this == other)
