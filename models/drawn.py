"""What is drawn from a sizing: curves that the account holds and no list of the design shows.

Knows force against velocity within the valve's limits, flow over a few cycles of the duty that asks most of the supply,
the oil's temperature from a cold start, and a proof's courses. A figure is data: labelled axes and curves, each value
already in the unit of its axis. Other rooms may add figures of their own. Knows nothing of how a figure looks.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np

from models.comparison.crossover import METRICS, TOLD, Crossover, Metric
from models.heat import AIR_HIGHEST, surface_conductance
from models.hydraulics.reservoir import tank_box
from models.proof.records import DutyTraces, Trace
from models.quantity import UNITS, ZERO_CELSIUS, plain
from models.sizing.account import BAR, L_MIN, Account, leakage, reservoir_oil
from models.sizing.catalogue import Floats, rule
from models.sizing.central import RELIEF, U_QMAX, UNLOADING
from models.sizing.halves import friction_of, line_drops
from models.sizing.search import RESERVOIR_VOLUMES
from models.sizing.task import relief_factor

ENVELOPE_SPEEDS = 25
ENVELOPE_REACH = 1.8
"""Speeds of an envelope on each side of rest, up to this multiple of the fastest operating point."""

CYCLES_SHOWN = 3.0
STEPS_PER_CYCLE = 48
WARM_UP_STEPS = 60
WARM_UP_SHARE = 0.97
"""Share of the steady rise at which a warm-up curve ends where no limit ends it."""


@dataclass(frozen=True)
class Curve:
    """One curve of a figure: `x` and `y` in the units of the figure's axes; `marks` draws its points unjoined."""

    label: str
    marks: bool
    x: tuple[float, ...]
    y: tuple[float, ...]


@dataclass(frozen=True)
class Figure:
    """Curves on one pair of axes. `name` is unique in an answer and fit for an address."""

    name: str
    title: str
    about: str
    x_label: str
    x_unit: str
    y_label: str
    y_unit: str
    log_x: bool
    log_y: bool
    curves: tuple[Curve, ...]


AXES_OF_METRIC: dict[Metric, tuple[str, str]] = {
    "mass": ("mounted mass", "kg"),
    "mean_power": ("mean electric power", "W"),
    "peak_current": ("peak current", "A"),
    "heat_per_corner": ("heat per corner", "W"),
}


def crossover_figures(found: Crossover) -> tuple[Figure, ...]:
    """Both sides along one axis, a figure for each quantity; a gap is where a side does not meet the demand."""
    told = []
    along = found.axis.replace("_", " ")
    for metric in METRICS:
        curves = []
        for side in ("hydraulic", "electric"):
            known = [(p.value, y) for p in found.points if (y := getattr(p, f"{side}_{metric}")) is not None]
            if known:
                curves.append(_curve(side, [x for x, _ in known], [y for _, y in known]))
        label, unit = AXES_OF_METRIC[metric]
        values = [y for curve in curves for y in curve.y]
        told.append(
            Figure(
                f"crossover-{found.axis.replace('_', '-')}-{metric.replace('_', '-')}",
                f"{TOLD[metric].capitalize()} of both sides along {along}",
                f"{found.means[:1].upper()}{found.means[1:]}; a side is drawn where it meets the demand.",
                along,
                "1",
                label,
                unit,
                all(x > 0.0 for curve in curves for x in curve.x),
                all(y > 0.0 for y in values),
                tuple(curves),
            )
        )
    return tuple(told)


def figures(state: Account) -> tuple[Figure, ...]:
    """Every figure of one plant."""
    envelopes = [envelope(state, index) for index in range(len(state.choice.corners))]
    return (*envelopes, flow_cycle(state), warm_up(state))


PROOF_SHOWN = 120
"""Instants of a proof's course that are drawn, from its middle: the whole of it would be a band of ink."""

RIDES = {"proven": "with the plant", "passive": "passive", "ideal": "ideal actuators"}


def proof_figures(runs: tuple[DutyTraces, ...]) -> tuple[Figure, ...]:
    """Courses and spectra of each run of a proof, of the first corner that has an actuator."""
    found: list[Figure] = []
    for number, run in enumerate(runs, 1):
        corner = next((t.concerns for t in run.traces if t.name == "force"), None)
        middle = max(0, (len(run.time) - PROOF_SHOWN) // 2)
        shown = slice(middle, middle + PROOF_SHOWN)
        time = list(run.time[shown])

        def put(
            key: str, title: str, about: str, label: str, unit: str, curves: list[tuple[str, Trace]],
            run: DutyTraces = run, shown: slice = shown, time: list[float] = time, number: int = number,
        ) -> None:  # fmt: skip
            drawn = tuple(_curve(name, time, list(trace.values[shown])) for name, trace in curves)
            if drawn and time:
                text = f"{run.label or run.kind}, seed {run.seed}: {about}"
                found.append(
                    Figure(f"proof-{number}-{key}", title, text, "time", "s", label, unit, False, False, drawn)
                )

        of = {t.name: t for t in run.traces if t.concerns == corner}
        centre = {t.name: t for t in run.traces if t.concerns == "centre"}
        if corner is not None:
            forces = [("wanted", of["force_wanted"]), ("given", of["force"])]
            put(
                "force",
                f"Force wanted and given, {corner}",
                "at the actuator, the weight's apart",
                "force",
                "N",
                forces,
            )
            pressures = [
                ("rail", centre["rail_pressure"]), ("cap side", of["cap_pressure"]),
                ("return", centre["return_pressure"]),
            ]  # fmt: skip
            if "annulus_pressure" in of:
                pressures.insert(2, ("annulus side", of["annulus_pressure"]))
            put(
                "pressure",
                f"Pressures, {corner}",
                "at pump and store, in both chambers, at T",
                "pressure",
                "bar",
                pressures,
            )
            felt = [(text, of[f"body_acceleration_{name}"]) for name, text in RIDES.items()
                    if f"body_acceleration_{name}" in of]  # fmt: skip
            about = "above the wheel; passive: reference dampers and no actuators; ideal: exactly the force asked"
            put("acceleration", f"Body acceleration, {corner}", about, "acceleration", "m/s²", felt)
        if run.spectra:
            curves = tuple(_curve(RIDES[s.name], list(s.frequency), list(s.density)) for s in run.spectra)
            text = f"{run.label or run.kind}, seed {run.seed}: mean over the corners, by sprung mass"
            found.append(
                Figure(
                    f"proof-{number}-spectrum", "Spectrum of body acceleration", text, "frequency", "Hz",
                    "power density", "(m/s²)²/Hz", True, True, curves,
                )
            )  # fmt: skip
    return tuple(found)


def _curve(label: str, x: Floats | list[float], y: Floats | list[float], marks: bool = False) -> Curve:
    shorter = [tuple(float(f"{value:.5g}") for value in values) for values in (x, y)]
    return Curve(label, marks, shorter[0], shorter[1])


def force_bounds(
    speed: float,
    inlet: tuple[float, float, float, float],
    outlet: tuple[float, float, float, float],
    opening: float,
    supply: float,
    back: float,
    floor: float,
    ceiling: float,
    checks: bool,
) -> tuple[float, float]:
    """(greatest, least) force N against the motion at which a spool moves a cylinder at `speed` m/s, friction included.

    inlet, outlet: (area m², edge gain at full opening m³/s per √Pa, transition flow m³/s, line drop Pa) of the chamber
    that fills and the one that empties; `opening` the largest share of the stroke; supply, back: gauge pressure at P
    and T; floor, ceiling: lowest and highest chamber pressure allowed, with `checks` an anti-cavitation check holding
    the floor. Least is negative: the load drives the motion and the spool holds it back. Both equal where the motion
    is too fast for the spool. Source: [merritt1967] orifice law on both edges with the force balance. Derived.
    """
    area_in, gain_in, transition_in, drop_in = inlet
    area_out, gain_out, transition_out, drop_out = outlet
    flow_in, flow_out = area_in * speed, area_out * speed
    term_in = (flow_in * flow_in + flow_in * transition_in) / (gain_in * opening) ** 2
    term_out = (flow_out * flow_out + flow_out * transition_out) / (gain_out * opening) ** 2
    greatest = (supply - drop_in - term_in) * area_in - (back + drop_out + term_out) * area_out
    if checks:
        return greatest, min(greatest, floor * area_in - ceiling * area_out)
    room = supply - drop_in - floor
    if room <= term_in:
        return greatest, greatest
    emptying = min(back + drop_out + (room * term_out / term_in if term_in > 0.0 else room), ceiling)
    return greatest, min(greatest, floor * area_in - emptying * area_out)


def one_sided_bounds(
    speed: float,
    chamber: tuple[float, float, float, float],
    side: float,
    opening: float,
    supply: float,
    back: float,
    floor: float,
    ceiling: float,
) -> tuple[float, float]:
    """`force_bounds` of a single-acting cylinder, which only pushes: filling against the load, or emptied by it.

    chamber: as an inlet of `force_bounds`. Source: [merritt1967] orifice law on one edge with the force balance;
    derived.
    """
    area, gain, transition, drop = chamber
    flow = area * speed
    edge = (flow * flow + flow * transition) / (gain * opening) ** 2
    if side > 0.0:
        greatest = (supply - drop - edge) * area
        return greatest, min(greatest, floor * area)
    greatest = -(back + drop + edge) * area
    return greatest, min(greatest, -ceiling * area)


def envelope(state: Account, index: int) -> Figure:
    """Force against velocity of one actuator at the lowest rail pressure, the worse of cold and hot oil."""
    task, corner = state.tables.task, state.choice.corners[index]
    demand = task.demand.axles[index]
    fastest = float(task.axles[index].speeds.max())
    speeds = np.linspace(1e-6, ENVELOPE_REACH * fastest, ENVELOPE_SPEEDS)
    curves = []
    rows = state.tables.corner_rows[index]
    cylinder, line = rows.cylinders[[corner.cylinder]], rows.lines[[corner.line]]
    drops = line_drops(rows.numbers, speeds, cylinder, line, task.oils)[0, 0]
    for opening, label in ((1.0, "valve fully open"), (task.factors.opening, "largest opening allowed")):
        bounds = np.array([_bounds(state, index, side, speeds, drops, opening) for side in (1.0, -1.0)])
        reached = bounds[:, :, 0] > bounds[:, :, 1] + 1e-9
        ends = [int(np.argmin(r)) if not r.all() else ENVELOPE_SPEEDS for r in reached]
        out, back = bounds[0, : ends[0]], bounds[1, : ends[1]]
        velocity = np.concatenate((-speeds[: ends[1]][::-1], speeds[: ends[0]]))
        if velocity.size == 0:
            continue
        upper = np.concatenate((-back[::-1, 1], out[:, 0]))
        lower = np.concatenate((-back[::-1, 0], out[:, 1]))
        ring = np.concatenate((velocity, velocity[::-1], velocity[:1]))
        curves.append(_curve(label, ring, np.concatenate((upper, lower[::-1], upper[:1]))))
    for duty in demand.duties:
        points = [(p.velocity, p.force * task.factors.force) for p in duty.points]
        curves.append(_curve(duty.label or "duty", [p[0] for p in points], [p[1] for p in points], marks=True))
    rail = float(task.settings.low[state.choice.setting]) / BAR
    return Figure(
        f"force-velocity-{demand.position}",
        f"Force against velocity, {demand.position} actuator",
        f"At {rail:.4g} bar, the lowest rail pressure; cold or hot oil, whichever is worse; lines, seals and both "
        f"edges counted. Above the upper line the supply is too weak, below the lower one (braking) a chamber would "
        f"{'pass its highest pressure' if corner.checks else 'run empty or pass its highest pressure'}.",
        "velocity, extending positive",
        "m/s",
        "force, pushing apart positive",
        "N",
        False,
        False,
        tuple(curves),
    )


def _bounds(state: Account, index: int, side: float, speeds: Floats, drops: Floats, opening: float) -> Floats:
    """[speed, (greatest, least force)]; drops: [side (cap, annulus), oil (cold, hot), speed]."""
    task, corner, facts = state.tables.task, state.choice.corners[index], state.facts[index]
    s = state.choice.setting
    high, supply, back = (float(a[s]) for a in (task.settings.high, task.settings.supply_low, task.settings.back))
    scale = facts.annulus / facts.cap if corner.spool == 1 else 1.0
    floor = float(task.settings.makeup[s]) if corner.checks else task.factors.lowest_chamber
    greatest, least = np.full(speeds.size, math.inf), np.full(speeds.size, -math.inf)
    for t in range(2):
        gain = float(state.tables.gains[corner.valve, t])
        transition = float(state.tables.transitions[corner.valve, t])
        constant, per_speed = friction_of(
            task.catalogue.cylinders, corner.cylinder, facts.cap, high, task.oils.viscosity[t], state.tables.measured
        )
        for v, speed in enumerate(speeds.tolist()):
            cap = (facts.cap, gain, transition, float(drops[0, t, v]))
            annulus = (facts.annulus, gain * scale, transition * scale, float(drops[1, t, v]))
            inlet, outlet = (cap, annulus) if side > 0.0 else (annulus, cap)
            if facts.annulus == 0.0:
                top, bottom = one_sided_bounds(speed, cap, side, opening, supply, back, floor, relief_factor() * high)
            else:
                top, bottom = force_bounds(
                    speed, inlet, outlet, opening, supply, back, floor, relief_factor() * high, corner.checks
                )
            friction = constant + per_speed * speed
            greatest[v], least[v] = min(greatest[v], top - friction), max(least[v], bottom - friction)
    return np.column_stack((greatest, np.minimum(least, greatest)))


def flow_cycle(state: Account) -> Figure:
    """Flow of corners, pump and store over a few cycles of the duty that draws most on the supply.

    The corners' flow is a half sine while they extend and another while they retract, as the sizing counted it; the
    pump refills the store as soon as it has flow to spare, an unloaded one from cut-in to cut-out.
    """
    tables, duties, control = state.tables, state.tables.task.duties, state.choice.control
    row = int(np.argmax(np.maximum(state.flows[:, 0], state.flows[:, 1])))
    out, back, frequency = state.flows[row, 0], state.flows[row, 1], float(duties.ripple[row])
    cycles = CYCLES_SHOWN
    if frequency > 0.0 and duties.burst[row] > 0.0:
        cycles = min(cycles, max(1.0, frequency * float(duties.burst[row])))
    span = cycles / frequency if frequency > 0.0 else 1.0
    time = np.linspace(0.0, span, math.ceil(cycles * STEPS_PER_CYCLE) + 1)
    wave = np.sin(2.0 * math.pi * frequency * time) if frequency > 0.0 else np.ones_like(time)
    demand = np.where(wave >= 0.0, out * wave, -back * wave) + leakage(state)
    greatest = float(state.unit[U_QMAX])
    store = float(tables.task.catalogue.accumulators.volume[state.choice.accumulator])
    band = float(tables.delivered[state.choice.setting]) * store * (1.0 - tables.plant.unloading_reserve)
    pump, excess = np.empty_like(time), np.empty_like(time)
    step, empty, loading = time[1], 0.0, False
    for i, wanted in enumerate(demand):
        if control == UNLOADING:
            loading = empty >= band or (loading and empty > 0.0)
            pump[i] = min(greatest, wanted + empty / step) if loading else 0.0
        else:
            pump[i] = min(greatest, wanted + empty / step) if store > 0.0 else min(greatest, wanted)
        excess[i] = greatest - pump[i] if control == RELIEF else 0.0
        empty = max(0.0, empty + (wanted - pump[i]) * step)
    curves = [_curve("demand of all corners, leakage included", time, demand / L_MIN)]
    curves.append(_curve("pump to the rail", time, pump / L_MIN))
    if store > 0.0:
        curves.append(_curve("accumulator, giving positive", time, (demand - pump) / L_MIN))
    if control == RELIEF:
        curves.append(_curve("over the relief valve", time, excess / L_MIN))
    label = tables.task.demand.axles[0].duties[row].label
    return Figure(
        "flow-cycle",
        "Flow over the duty",
        f"{label or 'The duty with the greatest flow'}: peak motion of the corners that move in step, hot oil; the "
        "store starts full.",
        "time",
        "s",
        "flow",
        "L/min",
        False,
        False,
        tuple(curves),
    )


def warm_up(state: Account) -> Figure:
    """Oil temperature from a cold start under the share-of-time mean heat, with the cooler and without it.

    Only the oil stores heat here, no metal: the plant warms more slowly than drawn. A cooler holds the limit.
    Source: one well-stirred mass, the reservoir's conductance from models.heat at each temperature.
    """
    tables, spec, plant = state.tables, state.tables.task.spec, state.plant
    box = tank_box(float(RESERVOIR_VOLUMES[plant.reservoir]))
    emissivity = rule("reservoir_emissivity")
    oil = reservoir_oil(state) + float(state.keys[0][7] + state.keys[1][7])
    capacity = oil * tables.plant.oil_density * tables.plant.heat_capacity
    limit = spec.ambient + tables.plant.temperature_rise
    hottest = AIR_HIGHEST

    def lost(temperature: float) -> float:
        return surface_conductance(box, temperature, spec.ambient, spec.air_speed, emissivity) * (
            temperature - spec.ambient
        )

    end = min(limit + 0.5 * (limit - spec.oil_cold), hottest)
    if lost(end) > plant.heat:
        steady = spec.ambient + plant.heat * (limit - spec.ambient) / max(lost(limit), 1e-9)
        end = min(spec.oil_cold + WARM_UP_SHARE * (min(steady, end) - spec.oil_cold), end)
    temperature, time = np.linspace(spec.oil_cold, end, WARM_UP_STEPS), [0.0]
    for low, high in itertools.pairwise(temperature):
        net = plant.heat - lost(0.5 * (low + high))
        if net <= 0.0:
            break
        time.append(time[-1] + capacity * (high - low) / net)
    reached = temperature[: len(time)]
    minutes = np.array(time) / 60.0
    curves = []
    if plant.cooler_heat > 0.0:
        curves.append(_curve("oil, with the cooler", minutes, np.minimum(reached, limit) - ZERO_CELSIUS))
    curves.append(_curve("oil, reservoir alone", minutes, reached - ZERO_CELSIUS))
    curves.append(_curve("limit", [0.0, float(minutes[-1])], [limit - ZERO_CELSIUS] * 2))
    litres = oil / UNITS["l"].factor
    return Figure(
        "temperature",
        "Oil temperature from a cold start",
        f"{plain(plant.heat, 4)} W into {litres:.3g} L of oil, air at {spec.ambient - ZERO_CELSIUS:.4g} °C; metal "
        "is not counted, so the plant warms more slowly than drawn.",
        "time",
        "min",
        "temperature",
        "°C",
        False,
        False,
        tuple(curves),
    )
