"""The import rule: which room may know which, read from the sources, so that no shortcut grows in unseen.

fluids_data ← models ← service; client_examples know none of them. Inside `models` each part names what it may know.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
ROOMS = ("fluids_data", "models", "service", "client_examples")

MAY_KNOW: Mapping[str, frozenset[str]] = {
    "fluids_data": frozenset({"fluids_data"}),
    "models": frozenset({"fluids_data", "models"}),
    "service": frozenset({"fluids_data", "models", "service"}),
    "client_examples": frozenset(),
}

_FOUNDATION = frozenset({"quantity", "warning"})
_ASKED = frozenset({"duty", "duty_defaults", "measured_actuator", "shelf", "budget", "spec", "demand"})
_MATTER = frozenset({"oil", "heat"})
_COMPONENTS = _FOUNDATION | _MATTER

PARTS: Mapping[str, frozenset[str]] = {
    "compiled": frozenset(),
    "quantity": frozenset(),
    "warning": frozenset({"quantity"}),
    "duty": _FOUNDATION,
    "budget": frozenset({"quantity"}),
    "measured_actuator": frozenset({"quantity", "drive"}),
    "shelf": _FOUNDATION | {"measured_actuator"},
    "duty_defaults": _FOUNDATION | {"duty"},
    "spec": _FOUNDATION | {"duty", "duty_defaults", "measured_actuator", "shelf", "budget"},
    "demand": _FOUNDATION | {"duty", "spec"},
    "oil": _FOUNDATION,
    "heat": _FOUNDATION | {"oil"},
    "drive": _COMPONENTS,
    "hydraulics": _COMPONENTS,
    "ride": _FOUNDATION | _ASKED,
    "sizing": _COMPONENTS | _ASKED | {"drive", "hydraulics", "ride"},
    "proof": _COMPONENTS | _ASKED | {"drive", "hydraulics", "ride", "sizing"},
    "electric": _FOUNDATION | _ASKED | {"heat", "drive"},
    "comparison": _FOUNDATION | _ASKED | {"sizing", "electric"},
    "drawn": _COMPONENTS | _ASKED | {"drive", "hydraulics", "ride", "sizing", "proof", "electric", "comparison"},
    "force_control": _COMPONENTS | _ASKED | {"hydraulics", "ride", "sizing"},
    "answer": _COMPONENTS
    | _ASKED
    | {"drive", "hydraulics", "ride", "sizing", "proof", "electric", "comparison", "force_control", "drawn"},
    "precompile": _COMPONENTS | _ASKED | {"drive", "hydraulics", "ride", "sizing", "proof", "electric"},
    "pipeline": _COMPONENTS
    | _ASKED
    | {"drive", "hydraulics", "ride", "sizing", "proof", "electric", "comparison", "force_control", "drawn", "answer"},
}
"""What each part of `models` may import beside itself; `models` itself (its version) and `compiled`, which knows
no engineering, are open to all."""

NOT_IN_MODELS = frozenset(
    {"flask", "flask_openapi3", "granian", "httpx", "sqlite3", "requests", "random", "time", "datetime", "logging"}
)
"""No web, no database, no clock, no randomness without a seed."""


def sources(room: str) -> list[Path]:
    return sorted((ROOT / room).rglob("*.py"))


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def modules() -> dict[str, Path]:
    return {module_name(path): path for room in ROOMS for path in sources(room)}


def imports(path: Path) -> Iterator[str]:
    """Every module a source imports, anywhere in it; `from package import name` yields `package.name`."""
    package = module_name(path).split(".")
    if path.name != "__init__.py":
        package = package[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            start = ".".join([*base, *([node.module] if node.module else [])])
            yield from (f"{start}.{alias.name}" for alias in node.names)


def part_of(module: str) -> str | None:
    """The part of `models` a module belongs to; None for `models` itself and what lies outside."""
    steps = module.split(".")
    return steps[1] if steps[0] == "models" and len(steps) > 1 and steps[1] in PARTS else None


@pytest.mark.parametrize("room", ROOMS)
def test_rooms_know_only_what_lies_below(room):
    for path in sources(room):
        rooms = {imported.split(".")[0] for imported in imports(path)} & set(ROOMS)
        assert rooms <= MAY_KNOW[room], f"{path.relative_to(ROOT)} imports {sorted(rooms - MAY_KNOW[room])}"


def test_every_part_of_models_has_its_place():
    for path in sources("models"):
        name = module_name(path)
        assert name == "models" or part_of(name) is not None, f"{name} has no place in PARTS"


def test_parts_of_models_know_only_what_they_may():
    for path in sources("models"):
        part = part_of(module_name(path))
        if part is None:
            assert not any(imported.startswith("models.") for imported in imports(path))
            continue
        known = {found for imported in imports(path) if (found := part_of(imported)) is not None}
        stray = known - PARTS[part] - {part, "compiled"}
        assert not stray, f"{path.relative_to(ROOT)} imports {sorted(stray)}"


def test_models_know_no_web_no_database_no_clock():
    for path in sources("models"):
        found = {imported.split(".")[0] for imported in imports(path)} & NOT_IN_MODELS
        assert not found, f"{path.relative_to(ROOT)} imports {sorted(found)}"


def test_no_module_imports_itself_in_a_circle():
    known = modules()
    graph = {
        name: {target for found in imports(path) if (target := _module(found, known))} for name, path in known.items()
    }
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " imports ".join((*trail[trail.index(name) :], name))
        if name not in done:
            for target in sorted(graph[name] - {name}):
                visit(target, (*trail, name))
            done.add(name)

    for name in graph:
        visit(name, ())


def _module(imported: str, known: Mapping[str, Path]) -> str | None:
    # `from package import name` may name a module or something inside one
    while imported and imported not in known:
        imported = imported.rpartition(".")[0]
    return imported or None


def test_no_room_for_odds_and_ends():
    for name in modules():
        assert not {"utils", "util", "helpers", "common", "misc"} & set(name.split(".")), name


def test_the_rule_bites(tmp_path, monkeypatch):
    monkeypatch.setattr("tests.test_import_rule.ROOT", tmp_path)
    (tmp_path / "models" / "hydraulics").mkdir(parents=True)
    source = tmp_path / "models" / "hydraulics" / "pump.py"
    source.write_text("from models import spec\nimport flask\nfrom ..drive.machine import x\nfrom . import valve\n")
    assert set(imports(source)) == {"models.spec", "flask", "models.drive.machine.x", "models.hydraulics.valve"}
    with pytest.raises(AssertionError, match="spec"):
        test_parts_of_models_know_only_what_they_may()
    with pytest.raises(AssertionError, match="flask"):
        test_models_know_no_web_no_database_no_clock()
