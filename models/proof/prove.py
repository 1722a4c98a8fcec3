"""`prove`: the chosen design run through every duty, and the verdict.

Pure: same account, spec, demand and seed, same proof. Decides no size; what fell short goes back as values, each with
the margin that would mend it or none.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from models.demand import Demand
from models.duty import Bump, Duty, Lift, Manoeuvre, Rig
from models.proof import layout as at
from models.proof.course import course_of
from models.proof.drive import drive_course
from models.proof.plant import Circuit, circuit_of
from models.proof.records import DutyProof, DutyTraces, Gains, Proof, Spread
from models.proof.verdict import Verdict, judge
from models.quantity import plain
from models.sizing.account import Account
from models.spec import Spec

DEFAULT_SECONDS = 20.0
"""Length of a run that has no length of its own, s."""

LONGEST_EVENT = 60.0
"""Longest run of a duty with a course of its own: a hold beyond it is cut, s."""

NOT_MODELLED = (
    "waves and inertia of oil in lines: a valve that shuts at once gives no surge here; the design's ledger has its",
    "change of viscosity during the run: the oil stays at the temperature stated",
    "delay, noise and drift of sensors; each controller sees its own corner exactly",
    "pump inlet: the reservoir always feeds it",
)


def prove(
    account: Account,
    spec: Spec,
    demand: Demand,
    seed: int = 1,
    duration: float | None = None,
    seeds: int = 1,
    temperature: float | None = None,
    progress: Callable[[str, float], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> tuple[Proof, tuple[DutyTraces, ...]]:
    """Run the plant of `account` through the duties of a completed spec; what it says, and what may be drawn of it.

    duration: seconds of driving, default 20; seeds: how many random courses of each random duty, from `seed` upward;
    temperature: of the oil, K, default the hot limit, at which the sizing states its power. Raises Cancelled when
    `cancel` says so, OutOfRange when the medium does not hold at the temperature.
    """
    circuit = circuit_of(account, spec, demand, spec.oil_hot if temperature is None else temperature)
    labels = {duty.label for axle in demand.axles for duty in axle.duties}
    duties = [duty for duty in spec.duty if duty.label in labels]
    verdicts: list[Verdict] = []
    for number, duty in enumerate(duties):
        for k in range(seeds if duty.kind in ("road", "suspension_velocity") else 1):
            report = None
            if progress is not None:
                done = (number + k / seeds) / len(duties)
                report = _reporter(progress, duty.label, done, 1.0 / (len(duties) * seeds))
            verdicts.append(_prove_duty(circuit, account, demand, duty, seed + k, duration, report, cancel))
    missing = tuple(duty.label for duty in spec.duty if duty.label not in labels)
    return _proof(circuit, verdicts, missing), tuple(v.traces for v in verdicts)


def _reporter(progress: Callable[[str, float], None], label: str, done: float, share: float) -> Callable[[float], None]:
    return lambda part: progress(f"proof of {label}", done + part * share)


def _prove_duty(
    circuit: Circuit,
    account: Account,
    demand: Demand,
    duty: Duty,
    seed: int,
    duration: float | None,
    report: Callable[[float], None] | None,
    cancel: Callable[[], bool] | None,
) -> Verdict:
    corners = tuple(zip(circuit.positions, circuit.axles, strict=True))
    seconds = own_length(duty, circuit, duration)
    course = course_of(circuit.vehicle, demand, duty, corners, circuit.sample, seconds, seed)
    run = drive_course(circuit, course, report=report, cancel=cancel)
    return judge(run, account, circuit.vehicle, seed)


def own_length(duty: Duty, circuit: Circuit, duration: float | None) -> float:
    """Seconds a duty is run: the course of a bump, manoeuvre or lift, else `duration` or the default."""
    slowest = min(corner.body_frequency for corner in circuit.vehicle.corners)
    match duty:
        case Bump():
            return min(LONGEST_EVENT, (duty.length + circuit.vehicle.wheelbase) / duty.speed + 5.0 / slowest)
        case Manoeuvre():
            return min(LONGEST_EVENT, 2.0 * duty.rise_time + duty.hold + 2.0 / slowest)
        case Lift():
            return min(LONGEST_EVENT, 2.0 * duty.time + duty.hold + 2.0 / slowest)
        case Rig():
            return duration if duration is not None else min(DEFAULT_SECONDS, max(5.0, 20.0 / duty.frequency))
        case _:
            return duration if duration is not None else DEFAULT_SECONDS


def _proof(circuit: Circuit, verdicts: list[Verdict], missing: tuple[str, ...]) -> Proof:
    duties = tuple(v.proof for v in verdicts)
    shortfalls = tuple(dict.fromkeys(s for v in verdicts for s in v.shortfalls))
    passed = bool(duties) and all(d.passed for d in duties) and not missing
    failed = [d for d in duties if not d.passed]
    first = next((e for d in failed for e in d.events if e.ends_proof), None)
    if passed:
        summary = "held in its only run" if len(duties) == 1 else f"held in all {len(duties)} runs"
    elif first is not None:
        summary = f"{first.name} at {first.time:.4g} s ({first.concerns}): {first.text}"
    elif failed:
        summary = f"{len(failed)} of {len(duties)} runs fell short: {'; '.join(_misses(failed))}"
    else:
        summary = "no run was possible"
    if missing:
        summary += f"; not run, for no stable demand exists: {', '.join(missing)}"
    return Proof(
        "holds" if passed else "fails",
        summary,
        duties,
        shortfalls,
        _gains(circuit),
        spread_of(duties, circuit),
        circuit.temperature,
        NOT_MODELLED,
    )


def _misses(failed: list[DutyProof]) -> list[str]:
    """Each limit missed, once, where it is missed most."""
    missed = sorted((m for d in failed for m in d.metrics if not m.met), key=lambda m: m.margin or 0.0)
    worst = {m.name: m for m in reversed(missed)}
    return [
        f"{m.name.replace('_', ' ')} {plain(m.value)}{'' if m.unit == '1' else ' ' + m.unit} against {plain(m.limit)} "
        f"({m.concerns})"
        for m in reversed(worst.values())
        if m.limit is not None
    ]


def _gains(circuit: Circuit) -> tuple[Gains, ...]:
    return tuple(
        Gains(
            name,
            circuit.sample,
            float(row[at.FORCE_GAIN]),
            1.0,
            float(row[at.LEAD]),
            float(row[at.POSITION_GAIN]),
            "pressure feedback a quarter of the spool's 90° frequency (rad/s), no faster than a quarter of the sample "
            "rate; seven tenths of the running seal friction asked in addition; position gain a third of the slower of "
            "oil column and spool, an eighth of it where a spring's seat is placed; flow by the valve's own law",
        )
        for name, row in zip(circuit.names, circuit.corners, strict=True)
        if row[at.FITTED] > 0.5
    )


def spread_of(duties: tuple[DutyProof, ...], circuit: Circuit) -> tuple[Spread, ...]:
    """How far the random runs' rms values vary: measured between seeds, or expected for this length.

    Expected: 1/(2·√(B·T)) of an rms over T seconds of a motion with a band of B Hz, B taken as the body frequency over
    two, the narrowest thing there is. Source: rms of a Gaussian process over a finite time, [bendat_piersol]; recalled.
    """
    found = []
    random = [d for d in duties if d.kind in ("road", "suspension_velocity")]
    for label in dict.fromkeys(d.label for d in random):
        runs = [d for d in random if d.label == label]
        if len(runs) == 1:
            slowest = min(corner.body_frequency for corner in circuit.vehicle.corners)
            time = max(runs[0].duration - runs[0].settle, 1e-3)
            found.append(Spread(f"rms values, {label}", "run", 0.5 / math.sqrt(0.5 * slowest * time), 1))
            continue
        for name in ("force_error", "body_acceleration", "mean_power"):
            values = [m.value for d in runs for m in d.metrics if m.name == name]
            if values:
                mean = float(np.mean(values))
                found.append(
                    Spread(f"{name}, {label}", "run", float(np.std(values)) / max(abs(mean), 1e-12), len(runs))
                )
    return tuple(found)
