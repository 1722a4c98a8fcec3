"""What happened during a run, with its first time.

An event that ends a proof is one after which the plant no longer does its work; the others are told, not judged.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from models.proof import layout as at
from models.proof.drive import Run
from models.proof.records import Event
from models.quantity import UNITS, plain
from models.sizing.account import Account
from models.sizing.central import U_QMAX

CAVITATION_GAUGE = -0.8e5
"""Chamber pressure below which oil counts as cavitating, Pa gauge."""

BAR = UNITS["bar"].factor
L_MIN = UNITS["l_min"].factor

MENDS = {
    "rail_collapsed": "flow",
    "leakage_beats_pump": "flow",
    "weight_not_held": "force",
}
"""The margin that mends what an event stopped."""


def _first(mask: NDArray[np.bool_]) -> int:
    found = np.flatnonzero(mask)
    return int(found[0]) if found.size else -1


def events_of(run: Run, state: Account) -> tuple[Event, ...]:
    """Every event of a run in the order of time."""
    found: list[Event] = []
    step, t, z = run.circuit.sample, run.corner_trace, run.centre
    task, s = state.tables.task, state.choice.setting
    low = float(task.settings.low[s])
    rail = run.centre_trace[:, at.T_RAIL]
    pump = float(state.unit[U_QMAX])
    leak = float(state.keys[0][4] + state.keys[1][4])
    k = _first(rail < 0.5 * low)
    if k >= 0:
        if leak > pump:
            text = f"valves and seals lose {leak / L_MIN:.4g} L/min, the pump gives {pump / L_MIN:.4g}"
            found.append(Event("leakage_beats_pump", "centre", k * step, text, True))
        else:
            text = f"the rail fell below half of its lowest working pressure, {low / BAR:.4g} bar"
            found.append(Event("rail_collapsed", "centre", k * step, text, True))
    volume = float(task.catalogue.accumulators.volume[state.choice.accumulator])
    if volume > 0.0:
        precharge = float(state.tables.precharge[s])
        k = _first(rail < precharge)
        if k >= 0:
            text = f"the rail fell below the precharge, {precharge / BAR:.4g} bar: no stored oil is left"
            found.append(Event("accumulator_empty", "centre", k * step, text, True))
    for i, name in enumerate(run.circuit.names):
        travel = t[:, i, at.T_TRAVEL]
        k = _first((travel < -run.corners[i, at.BUMP]) | (travel > run.corners[i, at.DROOP]))
        if k >= 0:
            held = run.corners[i, at.STATIC_FORCE]
            stall = z[at.HIGH] * run.corners[i, at.CAP]
            if held > stall and travel[k] < 0.0:
                text = f"the actuator carries {plain(held, 4)} N; full pressure holds {plain(stall, 4)} N"
                found.append(Event("weight_not_held", name, k * step, text, True))
            else:
                found.append(Event("bottomed", name, k * step, "an end stop was met", False))
        k = _first(np.minimum(t[:, i, at.T_P1], t[:, i, at.T_P2]) < CAVITATION_GAUGE)
        if k >= 0 and run.corners[i, at.FITTED] > 0.5:
            found.append(Event("cavitated", name, k * step, "a chamber ran dry", False))
        if not run.course.imposed:
            k = _first(t[:, i, at.T_TYRE] <= -run.corners[i, at.TYRE_STATIC] * (1.0 - 1e-12))
            if k >= 0:
                found.append(Event("tyre_lifted", name, k * step, "the tyre left the ground", False))
            slow = max(t.shape[0] // 4, 1)
            early, late = float(np.std(travel[slow : 2 * slow])), float(np.std(travel[-slow:]))
            room = min(run.corners[i, at.BUMP], run.corners[i, at.DROOP])
            if late > 3.0 * max(early, 0.02 * room) and late > 0.3 * room and run.course.duty.kind == "road":
                text = f"wheel travel grew from {1e3 * early:.3g} to {1e3 * late:.3g} mm rms: nothing damps it"
                found.append(Event("motion_grows", name, 3 * slow * step, text, True))
    if run.stopped is not None:
        found.append(Event("integration_stopped", "run", run.stopped.time, run.stopped.reason, True))
    return tuple(sorted(found, key=lambda e: e.time))
