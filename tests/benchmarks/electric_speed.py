"""How quickly the all-electric side is sized and a crossover computed. Not part of the test run:

    python tests/benchmarks/electric_speed.py

Times are warm; the compiling that a first start needs is told apart. The crossover computes both sides at every point,
the hydraulic one by the sizing itself on the moved demand.
"""

from __future__ import annotations

import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("NUMBA_CACHE_DIR", tempfile.mkdtemp())
sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from models import pipeline
from models.comparison.answer import scenario_of, surroundings_of
from models.comparison.crossover import axis_values, crossover
from models.comparison.hydraulic import hydraulic_side
from models.comparison.request import ComparisonRequest
from models.demand import Demand
from models.electric.choose import size_electric
from models.electric.diagnosis import diagnose
from models.measured_actuator import MeasuredActuator
from models.ride.build import build_demand
from models.spec import Spec, complete
from service import ready_specs

REPEATS = 20
POINTS = 40


def spec_of(name: str) -> Spec:
    return complete(Spec.model_validate(ready_specs.example(name)))[0]


def timed(work: Callable[[], object], repeats: int = REPEATS) -> tuple[float, float, float]:
    """Median and greatest wall time, and processor time a run, ms."""
    taken, begun = [], time.process_time()
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(1e3 * (time.perf_counter() - start))
    return statistics.median(taken), max(taken), 1e3 * (time.process_time() - begun) / repeats


def main() -> None:
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    specs = {name: spec_of(name) for name in ("model", "truck")}
    demands: dict[str, Demand] = {name: build_demand(spec) for name, spec in specs.items()}
    start, cpu = time.perf_counter(), time.process_time()
    size_electric(demands["model"], surroundings_of(specs["model"]))
    size_electric(demands["truck"], surroundings_of(specs["truck"]))
    print(f"first two, compiling: {time.perf_counter() - start:.1f} s, {time.process_time() - cpu:.1f} s of processor")
    for name, spec in specs.items():
        around, demand = surroundings_of(spec), demands[name]
        count = size_electric(demand, around).candidates
        median, worst, work = timed(lambda d=demand, a=around: size_electric(d, a))
        print(
            f"{name}: every family and cooling, spring and weight carried, {count} candidates: "
            f"{median:.0f} ms (worst {worst:.0f}), {work:.0f} ms of processor"
        )
    reading = MeasuredActuator.model_validate(
        {"force_n": 6.0, "current_a": 2.0, "resistance_ohm": 4.0, "voltage_v": 12.0, "mass_kg": 0.2, "travel_mm": 15.0}
    )
    diagnose(reading)
    print(f"diagnosis of a measured actuator: {timed(lambda: diagnose(reading))[0]:.2f} ms")
    for name, spec in specs.items():
        side, scenario = hydraulic_side(spec), scenario_of(spec, demands[name])
        side(scenario)
        for axis, low, high in (("motor_constant", 0.3, 3.0), ("spring_share", 0.0, 1.0), ("vehicle_scale", 0.5, 2.0)):
            start, cpu = time.perf_counter(), time.process_time()
            curve = crossover(scenario, axis, axis_values(axis, low, high, POINTS), side)
            print(
                f"{name}: {len(curve.points)} points along {axis}, both sides: {time.perf_counter() - start:.2f} s, "
                f"{time.process_time() - cpu:.2f} s of processor"
            )
        posted = ComparisonRequest.model_validate({"spec": ready_specs.example(name)})
        pipeline.compare(posted)
        sized = timed(lambda s=spec: pipeline.size(s), 5)[0]
        compared = timed(lambda p=posted: pipeline.compare(p), 5)[0]
        print(f"{name}: sizing with its comparison {sized:.0f} ms, comparison asked for by itself {compared:.0f} ms")


if __name__ == "__main__":
    main()
