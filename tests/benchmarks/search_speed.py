"""How quickly the search covers its space, and how much quicker than the plain way. Not part of the test run:

    python tests/benchmarks/search_speed.py

One core, warm. The plain way draws designs evenly from a thinned space and reckons each whole: in flat NumPy arrays,
and one by one with the `fluids` library for every line loss. Both are first held against the search's own front: a
second writing of all its physics.
"""

from __future__ import annotations

import json
import os
import platform
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ[threads] = "1"
ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

from models.demand import Margins  # noqa: E402
from models.ride.build import build_demand  # noqa: E402
from models.sizing.central import U_CONTROL, U_MOTOR, U_PUMP  # noqa: E402
from models.sizing.search import Found, run_search  # noqa: E402
from models.sizing.task import Task, build_task, medium_of  # noqa: E402
from models.spec import Spec, complete  # noqa: E402
from tests.benchmarks.plain_way import ARRAYS, PARTS, SCALARS, whole  # noqa: E402

EXAMPLES = ("truck", "model")
FLAT = 100_000
SINGLE = 300
CHUNK = 20_000


THINNED = {
    "truck": {
        "bore_mm": [32, 40], "rod_mm": [22], "pressure_bar": [100, 125], "valve_rated_flow_l_min": [25, 40, 63],
        "line_bore_mm": [10, 12.5], "pump_displacement_cm3_rev": [12.5, 16, 25], "motor_power_w": [16000, 25000],
        "accumulator_volume_l": [0, 1.6, 2.5],
    },
    "model": {
        "bore_mm": [4, 5], "rod_mm": [2.5], "pressure_bar": [16, 31.5], "valve_rated_flow_l_min": [0.2, 0.4, 0.8],
        "line_bore_mm": [1.5, 2, 2.5], "pump_displacement_cm3_rev": [0.04, 0.063, 0.1], "motor_power_w": [40, 63],
        "accumulator_volume_l": [0, 0.005, 0.01],
    },
}  # fmt: skip
"""Shelves on which the plain way and the search are set against each other."""


def space(name: str, stock: dict[str, Any]) -> Task:
    """An example with its own shelf replaced by `stock`; with an empty one, every size of the tables."""
    document = json.loads((ROOT / "service" / "examples" / f"{name}.json").read_text())
    document.pop("measured", None)
    document["stock"] = stock
    spec, _ = complete(Spec.model_validate(document))
    medium = medium_of(spec, "mineral_vg15" if spec.medium == "auto" else None)
    ratios = (spec.safety.stiffness_ratio, spec.safety.valve_bandwidth_ratio)
    return build_task(spec, build_demand(spec), Margins(), medium, ratios)


def least_time(run: Callable[[], Any], repeats: int) -> float:
    """Least wall time of several runs, s."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return min(times)


def drawn(task: Task, count: int) -> dict[str, Any]:
    """Designs drawn evenly from the raw space, by catalogue rows."""
    random, c = np.random.default_rng(1), task.catalogue
    sizes = {"cylinder": c.cylinders.bore.size, "line": c.lines.bore.size, "valve": c.valves.mass.size}
    design: dict[str, Any] = {}
    for side in ("front", "rear"):
        for part, size in sizes.items():
            design[f"{side} {part}"] = random.integers(size, size=count)
        design[f"{side} spool"] = random.choice(np.array(task.spools), count)
        design[f"{side} checks"] = random.choice(np.flatnonzero(task.checks), count)
    design["setting"] = random.integers(task.settings.high.size, size=count)
    design["pump"] = random.integers(c.pumps.mass.size, size=count)
    design["motor"] = random.integers(c.motors.mass.size, size=count)
    design["control"] = random.choice(np.array(task.controls), count)
    design["store"], design["cooled"] = (
        random.integers(c.accumulators.mass.size, size=count),
        random.integers(2, size=count),
    )
    return design


def of_front(found: Found) -> dict[str, Any]:
    """The front's designs, by catalogue rows."""
    rows, tables = found.front[:, 3:].astype(np.int64), found.tables
    design: dict[str, Any] = {"setting": rows[:, 0], "store": rows[:, 4], "cooled": rows[:, 5]}
    for index, axle in enumerate(tables.task.demand.axles):
        halves = tables.choices[index][rows[:, 1 if axle.position == "front" else 2]]
        for part, column in zip(PARTS, (0, 2, 3, 1, 4), strict=True):
            design[f"{axle.position} {part}"] = halves[:, column]
    units = tables.units[rows[:, 3]]
    for part, column in (("pump", U_PUMP), ("motor", U_MOTOR), ("control", U_CONTROL)):
        design[part] = units[:, column].astype(np.int64)
    return design


def flat(tables: Any, design: dict[str, Any]) -> int:
    """Designs found feasible in flat arrays, by chunks that fit the cache."""
    count, met = len(design["setting"]), 0
    for start in range(0, count, CHUNK):
        part = {name: rows[start : start + CHUNK] for name, rows in design.items()}
        with np.errstate(all="ignore"):
            met += int(np.count_nonzero(whole(ARRAYS, tables, part)[0]))
    return met


def one_by_one(tables: Any, design: dict[str, Any], count: int) -> list[tuple[Any, ...]]:
    """The first `count` designs, each by itself."""
    return [whole(SCALARS, tables, {name: int(rows[i]) for name, rows in design.items()}) for i in range(count)]


def check(found: Found) -> None:
    """Stop unless both plain ways agree with the search on every design of its front."""
    design = of_front(found)
    if not design["setting"].size:
        raise SystemExit("no plant is feasible here")
    ok, *values = whole(ARRAYS, found.tables, design)
    if not np.all(ok) or not np.allclose(np.array(values).T, found.front[:, :3], rtol=1e-6):
        raise SystemExit("the flat arrays disagree with the search")
    singles = one_by_one(found.tables, design, min(len(ok), 10))
    if not np.allclose([s[1:] for s in singles], found.front[: len(singles), :3], rtol=1e-3):
        raise SystemExit("the scalar way disagrees with the search")


def report(name: str) -> None:
    """Print every figure of one example."""
    task = space(name, {})
    found = run_search(task)
    check(found)
    tables, taken = found.tables, least_time(lambda: run_search(task), 15)
    print(f"\n{name}: default space, {task.settings.high.size} supply settings, one medium")
    print(f"  raw combinations           {found.raw_designs:.3g}")
    print(f"  exact search               {taken * 1e3:.1f} ms: {found.raw_designs / taken:.3g} raw designs/s")
    print(f"  halves reckoned, kept      {tables.halves_evaluated}, {[k.shape[0] for k in tables.keys]}")
    reckoned = found.evaluated + tables.halves_evaluated
    print(f"  plants reckoned            {found.evaluated}; with the halves {reckoned / taken:.3g} designs/s")
    print(f"  front                      {found.front.shape[0]} plants")
    task = space(name, THINNED[name])
    found = run_search(task)
    check(found)
    taken = least_time(lambda: run_search(task), 15)
    rate = found.raw_designs / taken
    design = drawn(task, FLAT)
    flat_rate = FLAT / least_time(lambda: flat(found.tables, design), 2)
    single_rate = SINGLE / least_time(lambda: one_by_one(found.tables, design, SINGLE), 2)
    print(f"  thinned space              {found.raw_designs:.3g} in {taken * 1e3:.1f} ms: {rate:.3g} designs/s")
    print(f"  flat NumPy arrays          {flat_rate:.3g} designs/s, the search {rate / flat_rate:.3g} times as many")
    print(
        f"  fluids, design by design   {single_rate:.3g} designs/s, the search {rate / single_rate:.3g} times as many"
    )


if __name__ == "__main__":
    print(f"{platform.processor() or platform.machine()}, Python {platform.python_version()}, one thread")
    for example in EXAMPLES:
        report(example)
