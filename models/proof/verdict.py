"""From a run to its verdict: metrics with limits, events with times, the ledger, and what fell short.

Limits that no standard gives are named here and are common practice, no source. A shortfall names the margin that would
mend it, or none: what a slow valve or a rubbing seal leaves undone, no larger pump mends.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.demand import Shortfall
from models.proof import layout as at
from models.proof.beside import ride_beside
from models.proof.drive import Run
from models.proof.events import CAVITATION_GAUGE, MENDS, events_of
from models.proof.ledger import closes_to, energy_terms
from models.proof.records import DutyProof, DutyTraces, Metric
from models.proof.traces import traces_of
from models.quantity import UNITS, ZERO_CELSIUS
from models.ride.vehicle import Vehicle
from models.sizing.account import Account
from models.sizing.central import U_BUS0, U_QMAX, unit_power
from models.sizing.describe import acts_as, reservoir_oil
from models.sizing.design import Ledger, Term
from models.sizing.search import FAN_SHARE
from models.sizing.task import relief_factor

Floats = NDArray[np.float64]

TRACKING_LIMIT = 0.7
DRIVEN_TRACKING_LIMIT = 1.0
"""Rms of force error over rms of force wanted, at most: beyond the first half of what the actuator does was not asked,
beyond the second no actuator at all would come nearer. The second holds where the ride itself is judged."""
SATURATED_LIMIT = 0.02
"""Share of time a valve is asked for more than its stroke, or the motor held at a limit with the rail too low."""
STARVED = 0.01
STILL = 1e-6
"""Share of time for which a low rail counts as the cause of what else is missed; passive body acceleration, m/s², below
which nothing is compared with it."""
CAVITATION_LIMIT = 0.01
BOTTOMING_LIMIT = 0.01
"""Shares of time."""
DRIVEN = ("road", "rig", "bump")
"""Kinds of duty whose ride is judged."""
IDEAL_LIMIT = 1.3
"""Body acceleration over that of actuators that give exactly the force the law asks."""
HEATS_OIL = frozenset(
    {"pump losses", "valves and corner lines", "supply line", "return line and filter", "relief", "leakage",
     "damping orifices", "seal friction"}
)  # fmt: skip
"""Terms of the run's ledger whose energy ends as heat in the oil."""
POWER_LIMIT = 1.15
"""Mean electric power over the sizing's, of the same duty."""
LEDGER_LIMIT = 1e-3

BEYOND_COUNTING = 1e9
"""Stands for a measure that is no number: it is missed, and told."""

Put = Callable[..., None]
"""Adds one metric: name, where, value, limit, unit, about, margin that mends, whether the limit is a least value."""

BAR = UNITS["bar"].factor
L_MIN = UNITS["l_min"].factor


@dataclass(frozen=True)
class Verdict:
    """One run judged."""

    proof: DutyProof
    traces: DutyTraces
    shortfalls: tuple[Shortfall, ...]


def judge(run: Run, state: Account, vehicle: Vehicle, seed: int) -> Verdict:
    """Every metric, event and shortfall of a run."""
    metrics: list[Metric] = []
    short: list[Shortfall] = []
    begin = min(round(run.course.settle / run.circuit.sample), max(run.centre_trace.shape[0] - 2, 0))
    corners, centre = run.corner_trace[begin:], run.centre_trace[begin:]

    def add(
        name: str, where: str, value: float, limit: float | None, unit: str, about: str, mend: str | None = None,
        least: bool = False,
    ) -> None:  # fmt: skip
        margin = None
        met = math.isfinite(value)
        value = float(value) if met else BEYOND_COUNTING
        if limit is not None and met:
            met = bool(value >= limit if least else value <= limit)
            size = abs(limit) if limit != 0.0 else max(abs(value), 1e-12)
            margin = (value - limit if least else limit - value) / size
        metrics.append(Metric(name, where, value, limit, unit, margin, met, about))
        if not met and limit is not None:
            short.append(Shortfall(f"{name}, {where}, {run.course.duty.label}", limit, value, unit, mend))

    beside: tuple[tuple[str, Floats], ...] = ()
    if corners.shape[0] > 1:
        _corner_metrics(run, corners, state, add, _starved(centre, state))
        _centre_metrics(run, centre, begin, state, add)
        if not run.course.imposed:
            beside = _ride_metrics(run, begin, vehicle, add)
    terms = energy_terms(run.work, run.end[1] + run.end[2] - run.start[1] - run.start[2], run.course.imposed)
    residual = closes_to(terms)
    add("energy_residual", "run", abs(residual), LEDGER_LIMIT, "1", "energy unaccounted for, over that put through")
    events = events_of(run, state)
    passed = all(m.met for m in metrics) and not any(e.ends_proof for e in events)
    short += [
        Shortfall(
            f"{e.name}, {e.concerns}, {run.course.duty.label}", run.course.seconds, e.time, "s", MENDS.get(e.name)
        )
        for e in events
        if e.ends_proof
    ]
    total = sum(value for _, value in terms if value > 0.0)
    return Verdict(
        DutyProof(
            run.course.duty.label,
            run.course.duty.kind,
            seed,
            run.course.seconds,
            run.course.settle,
            passed,
            tuple(metrics),
            events,
            Ledger(
                f"energy of the run, {run.course.duty.label}",
                "J",
                total,
                tuple(Term(name, value) for name, value in terms),
                residual,
                "what came in is positive; heat, work on gas and what was stored negative; they sum to nothing",
            ),
            int(run.counts[0]),
            int(run.counts[1]),
        ),
        traces_of(run, seed, begin, beside),
        tuple(short),
    )


def sizing_power(state: Account, duty: int) -> float:
    """Electric power, W, at which the sizing holds duty number `duty` of the demand: pump motor, valves, fan."""
    leak = float(state.keys[0][4] + state.keys[1][4])
    flow = min(float(state.flows[duty, 2]) + leak, float(state.unit[U_QMAX]))
    valves = float(state.keys[0][5] + state.keys[1][5])
    return unit_power(state.unit, U_BUS0, flow) + valves + FAN_SHARE * state.plant.cooler_heat


def _starved(centre: Floats, state: Account) -> str | None:
    """The margin that would feed the rail, where it was too low for long: all else may follow from that."""
    low = float(state.tables.task.settings.low[state.choice.setting])
    return "flow" if float(np.mean(centre[:, at.T_RAIL] < low)) > STARVED else None


def _corner_metrics(run: Run, t: Floats, state: Account, put: Put, starved: str | None) -> None:
    """starved: the margin that mends what only a low rail spoils."""
    settings, s = state.tables.task.settings, state.choice.setting
    ceiling = relief_factor() * float(settings.high[s])
    floor = float(state.tables.task.factors.lowest_chamber)
    for i, name in enumerate(run.circuit.names):
        if run.corners[i, at.FITTED] < 0.5:
            continue
        force, wanted, speed = t[:, i, at.T_FORCE], t[:, i, at.T_WANTED], t[:, i, at.T_SPEED]
        error = force - wanted
        beside = run.course.wanted[: t.shape[0], i]
        scale = max(float(np.sqrt(np.mean(wanted**2))), float(np.sqrt(np.mean(beside**2))), 1e-12)
        tracked = DRIVEN_TRACKING_LIMIT if run.course.duty.kind in DRIVEN else TRACKING_LIMIT
        missed = float(np.sqrt(np.mean(error**2)))
        follows = acts_as(state, run.circuit.axles[i])[0] == "force_actuator"  # else no flow makes valve or oil quicker
        put(
            "force_error",
            name,
            missed / scale,
            tracked,
            "1",
            "rms of force error over rms of force wanted",
            starved if follows else None,
        )
        disturbed, rubbed = _shares(error, speed, t[:, i, at.T_SPEED])
        put(
            "force_error_from_velocity",
            name,
            disturbed,
            None,
            "1",
            "share of the error's mean square that moves with "
            "the piston's speed and its rate: the valve's lag against the oil column",
        )
        put("force_error_from_friction", name, rubbed, None, "1", "share that has the sign of the speed")
        over = float(np.mean(np.abs(t[:, i, at.T_ORDER]) > 1.0))
        put(
            "valve_saturated",
            name,
            over,
            SATURATED_LIMIT,
            "1",
            "share of time a valve is asked beyond its stroke",
            starved,
        )
        sides = [at.T_P1] if run.corners[i, at.ANNULUS] == 0.0 else [at.T_P1, at.T_P2]  # a vented side has no oil
        low, high = float(t[:, i, sides].min()), float(t[:, i, sides].max())
        put("lowest_chamber_pressure", name, low / BAR, floor / BAR, "bar", "gauge", starved, True)
        put("highest_chamber_pressure", name, high / BAR, ceiling / BAR, "bar", "gauge", "force")
        dry = t[:, i, sides].min(axis=1) < CAVITATION_GAUGE
        put("cavitating", name, float(np.mean(dry)), CAVITATION_LIMIT, "1", "share of time", starved)
        travel = t[:, i, at.T_TRAVEL]
        stopped = (travel < -run.corners[i, at.BUMP]) | (travel > run.corners[i, at.DROOP])
        most = None if run.course.imposed else BOTTOMING_LIMIT
        about = "share of time beyond the travel" if run.course.imposed else "share of time on an end stop"
        put("bottoming", name, float(np.mean(stopped)), most, "1", about)
        if not run.course.imposed:
            off = t[:, i, at.T_TYRE] <= -run.corners[i, at.TYRE_STATIC] * (1.0 - 1e-12)
            put("tyre_off_ground", name, float(np.mean(off)), None, "1", "share of time")


def _shares(error: Floats, speed: Floats, rubbing: Floats) -> tuple[float, float]:
    """Shares of the error's mean square explained by speed and acceleration, and by the sign of the speed."""
    total = float(np.mean(error**2))
    if total <= 0.0:
        return 0.0, 0.0
    sign = np.sign(rubbing)
    causes = np.stack([speed, np.gradient(speed), sign])
    causes /= np.maximum(np.sqrt(np.mean(causes**2, axis=1)), 1e-300)[:, None]
    alike = causes @ causes.T / error.size
    part, *_ = np.linalg.lstsq(alike, causes @ error / error.size, rcond=None)
    moving = float(part[:2] @ alike[:2, :2] @ part[:2])
    rubs = float(part[2] * alike[2, 2] * part[2])
    return min(moving / total, 1.0), min(rubs / total, 1.0)


def _centre_metrics(run: Run, t: Floats, begin: int, state: Account, put: Put) -> None:
    task, s, z = state.tables.task, state.choice.setting, run.centre
    low = float(task.settings.low[s])
    rail, bus = t[:, at.T_RAIL], t[:, at.T_BUS]
    put(
        "lowest_rail_pressure",
        "centre",
        float(rail.min()) / BAR,
        low / BAR,
        "bar",
        "at pump and accumulator",
        "flow",
        True,
    )
    put(
        "lowest_supply_at_valves",
        "centre",
        float(t[:, at.T_PORT_P].min()) / BAR,
        float(task.settings.supply_low[s]) / BAR,
        "bar",
        "behind the supply line",
        "flow",
        True,
    )
    starved = rail < low
    weak = (t[:, at.T_TORQUE] >= 0.999 * t[:, at.T_LIMIT]) & starved
    put(
        "motor_at_limit",
        "centre",
        float(np.mean(weak)),
        SATURATED_LIMIT,
        "1",
        "share of time motor torque or bus current binds with the rail below its lowest",
        "power",
    )
    put(
        "pump_at_full_speed",
        "centre",
        float(np.mean(t[:, at.T_SHAFT] >= 0.995 * z[at.MOST_SPEED])),
        None,
        "1",
        "share of time",
    )
    put("mean_supply_flow", "centre", float(np.mean(t[:, at.T_SUPPLY])) / L_MIN, None, "L/min", "into the corners")
    mean = float(np.mean(bus))
    labels = [duty.label for duty in task.demand.axles[0].duties]
    sized = sizing_power(state, labels.index(run.course.duty.label)) if run.course.duty.label in labels else 0.0
    limit = POWER_LIMIT * sized if run.course.imposed else None
    put(
        "mean_power",
        "centre",
        mean,
        limit,
        "W",
        "electric; limit for a stated motion: the sizing's and a margin",
    )
    peak = float(bus.max())
    put(
        "peak_power",
        "centre",
        peak,
        z[at.BUS_POWER] * 1.02 if z[at.BUS_POWER] > 0.0 else None,
        "W",
        "electric; limit: what the bus gives",
    )
    heat = -sum(value for name, value in energy_terms(run.work, 0.0, run.course.imposed) if name in HEATS_OIL)
    seconds = max(t.shape[0] + begin, 1) * run.circuit.sample
    oil_held = reservoir_oil(state) + float(state.keys[0][7] + state.keys[1][7])
    rise = heat / (oil_held * task.hot.density * task.hot.heat_capacity)
    put(
        "oil_temperature_reached",
        "centre",
        run.circuit.temperature + rise - ZERO_CELSIUS,
        task.medium.highest_temperature - ZERO_CELSIUS,
        "°C",
        f"after {seconds:.3g} s from the hot limit, if no heat left the oil; limit: the medium's",
    )
    put("heat_to_oil", "centre", heat / seconds, None, "W", "mean")
    leak = float(state.keys[0][4] + state.keys[1][4])
    put("standing_leakage", "centre", leak / L_MIN, None, "L/min", "of valves and seals at rest")
    put("oil_starting_temperature", "centre", run.circuit.temperature - ZERO_CELSIUS, None, "°C", "of the run")


def _ride_metrics(run: Run, begin: int, vehicle: Vehicle, put: Put) -> tuple[tuple[str, Floats], ...]:
    """Body accelerations compared, by name: with oil, passive, ideal."""
    c = run.corners
    masses = np.array([vehicle.corner(position).sprung_mass for position in run.circuit.positions])
    passive = np.array([vehicle.corner(position).reference_damping for position in run.circuit.positions])
    springs = np.array([vehicle.corner(position).spring for position in run.circuit.positions])
    kept = np.array([vehicle.corner(position).damping for position in run.circuit.positions])
    inputs = run.course.inputs
    before = ride_beside(c, run.centre, inputs, run.course.wanted, run.circuit.sample, springs, passive, False)
    ideal = ride_beside(c, run.centre, inputs, run.course.wanted, run.circuit.sample, springs, kept, True)
    end = run.corner_trace.shape[0]

    def felt(acceleration: Floats) -> float:
        return float(np.sqrt(np.average(np.mean(acceleration[begin:end] ** 2, axis=0), weights=masses)))

    def moved(travel: Floats) -> float:
        return float(np.sqrt(np.mean(travel[begin:end] ** 2)))

    now = felt(run.corner_trace[:, :, at.T_BODY])
    was, could = max(felt(before[0]), 1e-12), max(felt(ideal[0]), 1e-12)
    driven = run.course.duty.kind in DRIVEN
    put("body_acceleration", "car", now, None, "m/s²", "rms over the corners")
    if was > STILL:
        put(
            "body_acceleration_over_passive",
            "car",
            now / was,
            1.0 if driven else None,
            "1",
            "the same car with its reference dampers and no actuators",
        )
        put(
            "body_acceleration_over_ideal",
            "car",
            now / could,
            IDEAL_LIMIT if driven else None,
            "1",
            "actuators that give exactly the force asked",
        )
        put(
            "travel_over_passive",
            "car",
            moved(run.corner_trace[:, :, at.T_TRAVEL]) / max(moved(before[1]), 1e-12),
            None,
            "1",
            "rms wheel travel",
        )
    return ("proven", run.corner_trace[:, :, at.T_BODY]), ("passive", before[0]), ("ideal", ideal[0])
