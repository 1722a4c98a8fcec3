"""Speed of the proof: times real time in ordinary and rough driving, and against SciPy's LSODA on the same equations.

    python tests/benchmarks/proof_speed.py

CPU seconds of this process, best of five, warm. The LSODA run has the same compiled right-hand side, the same
controllers and samples, and tolerances at which its error against a fine reference is no smaller than the run's.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

sys.path.insert(0, str(Path(__file__).parents[2]))

from models.proof import layout as at
from models.proof.circuit import rates
from models.proof.control import FILTERS, KEPT
from models.proof.drive import Run, drive_course
from models.proof.prove import prove
from models.proof.run import take_sample
from models.proof.start import first_state, tolerances, with_course
from tests.proof_cases import VAN, ready, road, sized, with_duty, workspace


def best_of(runs: int, work: object) -> float:
    assert callable(work)
    best = float("inf")
    for _ in range(runs):
        begin = time.process_time()
        work()
        best = min(best, time.process_time() - begin)
    return best


def by_lsoda(letter: str, speed: float, seconds: float, relative: float) -> tuple[float, np.ndarray]:
    """(CPU seconds, cap pressures at the samples) of LSODA."""
    circuit, course = ready(with_duty(VAN, road(letter, speed)), seconds)
    c, z = with_course(circuit, course)
    n = c.shape[0]
    y = first_state(circuit, course.inputs[0, :n, 0])
    parts, cparts, power, flows = workspace(n)
    kept, kept_centre, centre, orders = np.zeros((n, FILTERS)), np.zeros(KEPT), np.zeros(at.ORDERS), np.zeros(n)
    centre[at.LOADED] = 1.0
    trace = np.zeros((n, at.CORNER_TRACES))
    floor = tolerances(circuit) * relative
    pressures = []
    begin = time.process_time()
    for s in range(course.inputs.shape[0] - 1):
        take_sample(c, z, y, course.inputs[s], course.wanted[s], 0, circuit.sample, kept, kept_centre, centre, orders,
                    trace)  # fmt: skip
        pressures.append(trace[:, at.T_P1].copy())
        slopes = (course.inputs[s + 1] - course.inputs[s]) / circuit.sample
        inputs = course.inputs[s]

        def right_side(
            t: float, state: np.ndarray, inputs: np.ndarray = inputs, slopes: np.ndarray = slopes
        ) -> np.ndarray:
            dy = np.zeros_like(state)
            rates(c, z, circuit.gas, state, orders, centre, inputs, slopes, t, dy, parts, cparts, power, flows, True)
            return dy

        y = np.ascontiguousarray(
            solve_ivp(right_side, (0.0, circuit.sample), y, "LSODA", rtol=1e-9, atol=floor, t_eval=[circuit.sample]).y[
                :, -1
            ]
        )
    return time.process_time() - begin, np.array(pressures)


def main() -> None:
    for letter, speed, target in (("C", 70.0, 250.0), ("E", 60.0, 40.0), ("G", 60.0, 40.0)):
        circuit, course = ready(with_duty(VAN, road(letter, speed)), 20.0)
        run: list[Run] = [drive_course(circuit, course)]
        seconds = best_of(5, lambda c=circuit, o=course, r=run: r.append(drive_course(c, o)))
        stopped = np.mean(run[-1].corner_trace[:, :, at.T_TRAVEL] < -circuit.corners[:, at.BUMP])
        print(f"class {letter}: {course.seconds / seconds:.0f} times real time (target {target:.0f}), "
              f"{run[-1].counts[0]:.0f} steps, {1e6 * seconds / run[-1].counts[0]:.2f} us a step, "
              f"{100 * stopped:.2f} % of the time on a bump stop")  # fmt: skip
    spec, demand, account = sized(with_duty(VAN, road("C", 70.0)))
    prove(account, spec, demand)
    print(f"default proof, class C: {1e3 * best_of(5, lambda: prove(account, spec, demand)):.0f} ms (target 300)")

    circuit, course = ready(with_duty(VAN, road("C", 70.0)), 2.0)
    fine = drive_course(circuit, course, accuracy=1e-3).corner_trace[:, :, at.T_P1]
    ours = drive_course(circuit, course).corner_trace[:, :, at.T_P1]
    own = best_of(5, lambda: drive_course(circuit, course))
    error = np.sqrt(np.mean((ours - fine) ** 2)) / circuit.centre[at.HIGH]
    for relative in (1.0, 10.0, 100.0):
        theirs, pressures = by_lsoda("C", 70.0, 2.0, relative)
        miss = np.sqrt(np.mean((pressures - fine) ** 2)) / circuit.centre[at.HIGH]
        print(f"LSODA at {relative:g} times the tolerance: {theirs / own:.0f} times as long, error {miss:.2g} of the "
              f"supply against {error:.2g}")  # fmt: skip


if __name__ == "__main__":
    main()
