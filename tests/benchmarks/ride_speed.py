"""How fast a spec becomes a demand, warm, in this process. Not part of the test run:

    python -m tests.benchmarks.ride_speed

To reach: six duties on the full car in under 50 ms on one core; a sizing with them, comparison and JSON counted and the
proof not, in under 250 ms, each time of a vehicle never seen. Processor time counts, all threads together, so that a
busy machine does not spoil the figure; the time on the wall is printed beside it.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from itertools import count

from models.pipeline import size
from models.quantity import to_wire
from models.ride.arrangement import compare_arrangements
from models.ride.build import build_demand, ride_answer
from models.spec import Spec, complete
from service.sizings import encode
from tests.ride_cases import FULL_SIZE, ONE_TENTH

LIMIT_MS = 50.0
SIZING_MS = 250.0

MOTION = {"wheel_velocity_m_s": 0.5, "wheel_velocity_rms_m_s": 0.15, "wheel_force_n": 2000, "wheel_force_rms_n": 600}
SIX = [
    {"kind": "suspension_velocity", "share_of_time": 0.1, "front": MOTION, "rear": MOTION},
    {"kind": "road", "road_class": "C", "speed_km_h": 70, "share_of_time": 0.5},
    {"kind": "rig", "eccentricity_mm": 5, "frequency_hz": 0.5, "frequency_to_hz": 20, "share_of_time": 0.05},
    {"kind": "bump", "height_mm": 80, "length_mm": 3000, "speed_km_h": 30},
    {"kind": "manoeuvre", "lateral_acceleration_m_s2": 4, "rise_time_s": 0.4},
    {"kind": "lift", "height_mm": 60, "time_s": 3, "hold_s": 10},
]
SEEKING = {"kind": "road", "road_class": "B", "speed_km_h": 70, "control": {"target_reduction": 0.3}}


def milliseconds(call: Callable[[], object], repeats: int = 40) -> tuple[float, float]:
    """Median processor time and median time on the wall of a call, after one to warm up."""
    call()
    busy, wall = [], []
    for _ in range(repeats):
        start, begun = time.process_time(), time.perf_counter()
        call()
        busy.append(1e3 * (time.process_time() - start))
        wall.append(1e3 * (time.perf_counter() - begun))
    return statistics.median(busy), statistics.median(wall)


def main() -> None:
    six = complete(Spec.model_validate({**FULL_SIZE, "duty": SIX}))[0]
    one = complete(Spec.model_validate({**FULL_SIZE, "duty": [SIX[1]]}))[0]
    seeking = complete(Spec.model_validate({**FULL_SIZE, "duty": [SEEKING]}))[0]
    small = Spec.model_validate({**ONE_TENTH, "duty": [{**SIX[1], "speed_km_h": 15}]})
    rows = {
        "six duties, full car": milliseconds(lambda: build_demand(six)),
        "one road, full car": milliseconds(lambda: ride_answer(one)),
        "one road with a target sought": milliseconds(lambda: ride_answer(seeking), 10),
        "three arrangements, model": milliseconds(lambda: compare_arrangements(small), 10),
    }
    numbers = count(1)

    def sizing() -> object:
        spec = Spec.model_validate({**FULL_SIZE, "duty": SIX, "cg_height_mm": 600.0 + 1e-6 * next(numbers)})
        return encode(to_wire(size(spec, proven=False)))

    rows["a sizing with six duties"] = milliseconds(sizing, 15)
    for name, (busy, wall) in rows.items():
        print(f"{name:32s} {busy:7.1f} ms of processor   {wall:7.1f} ms on the wall")
    reached = rows["six duties, full car"][0] < LIMIT_MS
    print(f"under {LIMIT_MS:g} ms with six duties: {'yes' if reached else 'NO'}")
    reached = rows["a sizing with six duties"][1] < SIZING_MS
    print(f"under {SIZING_MS:g} ms on the wall for a sizing with them: {'yes' if reached else 'NO'}")


if __name__ == "__main__":
    main()
