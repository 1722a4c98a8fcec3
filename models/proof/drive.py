"""Driving the kernel: one course on one circuit, in stretches, so that progress can be told and a cancel obeyed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.proof import layout as at
from models.proof import run as kernel
from models.proof.control import FILTERS, K_AHEAD, KEPT, TRACKS_FORCE
from models.proof.course import Course
from models.proof.ledger import oil_and_energy
from models.proof.plant import Circuit
from models.proof.start import first_state, tolerances, with_course

Floats = NDArray[np.float64]

LARGEST_STEP = 1e-3
"""Longest step, s."""

STRETCH = 2.0
"""Seconds of the run between two looks at progress and cancel."""

MOST_STEPS_PER_SAMPLE = 30.0
"""Steps on average to a controller sample, at which a run counts as stuck."""


class Cancelled(Exception):
    """The proof was cancelled from outside."""


class StepTooSmall(ArithmeticError):
    """The integrator could not go on: no step above the smallest kept its error. `time`: s into the run."""

    def __init__(self, label: str, time: float, reason: str) -> None:
        self.label, self.time, self.reason = label, time, reason
        super().__init__(f"{label}: {reason} at {time:.6g} s")


@dataclass(frozen=True)
class Run:
    """A course driven through: traces at the samples reached, integrals, and the energies at both ends."""

    course: Course
    circuit: Circuit
    corners: Floats
    centre: Floats
    corner_trace: Floats
    centre_trace: Floats
    work: Floats
    volumes: Floats
    counts: Floats
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    state: Floats
    stopped: StepTooSmall | None


def drive_course(
    circuit: Circuit,
    course: Course,
    mode: int = TRACKS_FORCE,
    accuracy: float = 1.0,
    largest: float = LARGEST_STEP,
    report: Callable[[float], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Run:
    """Run a course to its end, or as far as the integrator goes (`stopped` then says why).

    accuracy: factor on the tolerances. Raises Cancelled when `cancel` says so.
    """
    c, z = with_course(circuit, course)
    n, samples = c.shape[0], course.inputs.shape[0] - 1
    y = first_state(circuit, course.inputs[0, :n, 0])
    corner_trace, centre_trace = kernel.trace_room(samples, n)
    work, volumes, counts = np.zeros(at.POWERS), np.zeros(at.FLOWS), np.zeros(kernel.COUNTS)
    kept, kept_centre, centre = np.zeros((n, FILTERS)), np.zeros(KEPT), np.zeros(at.ORDERS)
    centre[at.LOADED], kept_centre[K_AHEAD] = 1.0, z[at.LEAK]
    parts = (c, z, circuit.gas)
    start = oil_and_energy(parts, y, course.inputs[0])
    tolerance, space = tolerances(circuit, accuracy), kernel.workspace(n)
    stretch = max(1, round(STRETCH / circuit.sample))
    stopped = None
    for first in range(0, samples, stretch):
        if cancel is not None and cancel():
            raise Cancelled
        last = min(first + stretch, samples)
        ended = kernel.simulate(
            c, z, circuit.gas, first, last, circuit.sample, largest, course.inputs, course.wanted, mode, tolerance, y,
            kept, kept_centre, centre, work, volumes, corner_trace, centre_trace, counts,
            MOST_STEPS_PER_SAMPLE * samples, space,
        )  # fmt: skip
        if ended != kernel.DONE:
            reason = "no step above the smallest kept its error" if ended == kernel.STALLED else "too many steps"
            stopped = StepTooSmall(course.duty.label, float(counts[kernel.SAMPLES_DONE]) * circuit.sample, reason)
            break
        if report is not None:
            report(last / samples)
    reached = int(counts[kernel.SAMPLES_DONE])
    return Run(
        course,
        circuit,
        c,
        z,
        corner_trace[:reached],
        centre_trace[:reached],
        work,
        volumes,
        counts,
        start,
        oil_and_energy(parts, y, course.inputs[reached]),
        y,
        stopped,
    )
