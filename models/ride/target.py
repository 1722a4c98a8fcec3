"""Seeking a wished reduction of body acceleration: the weights that reach it, or what forbids it.

Turns one knob, the strength of the ride law, until the wish is met; where travel or tyre load forbids that, tilts the
weights against each other and turns again. Knows no car: it asks a function what a law does.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from models.ride.control import RideLaw

STRENGTHS = tuple(4.0**k for k in range(-3, 7))
"""Strengths tried, as multiples of the law's own."""

TILTS = (1.0, 16.0, 1.0 / 16.0)
"""Multiples of travel weight against tyre weight, in the order tried."""

MOST_MEETING = 3
"""Steps taken beyond the goal while travel or tyre load forbid it."""

CLOSE = 1e-3
"""Relative accuracy of a strength closed in on."""


@dataclass(frozen=True)
class Trial:
    """What one law does: body acceleration over passive, and peak travel and tyre load over what there is."""

    law: RideLaw
    ratio: float
    travel: float
    tyre: float

    @property
    def allowed(self) -> bool:
        return self.travel <= 1.0 and self.tyre <= 1.0


@dataclass(frozen=True)
class Goal:
    """Body acceleration over passive to come down to."""

    ratio: float


@dataclass(frozen=True)
class Reached:
    """The law to use, what it reaches, and what forbade the goal: None, "travel", "tyre load" or "invariant points".

    `least` is the lowest ratio met anywhere; `need` the travel or tyre load the goal would take over what there is;
    `within` whether any law of the family stays within both.
    """

    law: RideLaw
    ratio: float
    least: float
    forbidden_by: str | None
    need: float
    within: bool


def seek(trial: Callable[[RideLaw], Trial], law: RideLaw, goal: Goal) -> Reached:
    """Find the weakest law of the family that meets the goal within travel and tyre load.

    Where none does, the law returned is the one that goes furthest within both, or the law as given when none stays
    within both.
    """
    scans: list[list[Trial]] = []
    meeting: list[Trial] = []
    for tilt in TILTS if law.name == "lqr" else (1.0,):
        scan = _scan(trial, replace(law, travel_weight=law.travel_weight * tilt), goal)
        scans.append(scan)
        first = next((k for k, t in enumerate(scan) if t.ratio <= goal.ratio), None)
        if first is None:
            continue
        scan[first] = _closed_in(trial, scan[: first + 1], lambda t: t.ratio - goal.ratio)
        meeting += scan[first:]
        found = next((t for t in scan[first:] if t.allowed and t.ratio <= goal.ratio), None)
        if found is not None:
            return Reached(found.law, found.ratio, _least(scans), None, max(found.travel, found.tyre), True)
    best = min((_furthest(trial, scan) for scan in scans), key=lambda t: t.ratio if t.allowed else math.inf)
    within = best.allowed
    if not within:
        best = trial(law)
    if not meeting:
        return Reached(best.law, best.ratio, _least(scans), "invariant points", 1.0, within)
    closest = min(meeting, key=lambda t: max(t.travel, t.tyre))
    reason = "travel" if closest.travel >= closest.tyre else "tyre load"
    return Reached(best.law, best.ratio, _least(scans), reason, max(closest.travel, closest.tyre), within)


def _least(scans: list[list[Trial]]) -> float:
    return min(t.ratio for scan in scans for t in scan)


def _scan(trial: Callable[[RideLaw], Trial], law: RideLaw, goal: Goal) -> list[Trial]:
    """Step the strength upward until the goal is met within travel and tyre load, or met a few times without.

    Unstable laws are left away.
    """
    scan: list[Trial] = []
    for strength in STRENGTHS:
        here = trial(law.stronger(strength))
        if math.isfinite(here.ratio):
            scan.append(here)
        met = [t for t in scan if t.ratio <= goal.ratio]
        if len(met) >= MOST_MEETING or any(t.allowed for t in met):
            break
    return scan or [Trial(law, math.inf, math.inf, math.inf)]


def _closed_in(trial: Callable[[RideLaw], Trial], scan: list[Trial], excess: Callable[[Trial], float]) -> Trial:
    """The law between the last two of a scan at which `excess` comes down to nothing, on its own side of it."""
    if len(scan) == 1:
        return scan[0]
    weak, strong = scan[-2:]
    for _ in range(20):
        weight = excess(weak) / (excess(weak) - excess(strong))
        middle = _between(weak.law, strong.law, min(0.9, max(0.1, weight)))
        here = trial(middle)
        if excess(here) <= 0.0:
            strong = here
        else:
            weak = here
        if abs(excess(strong)) < CLOSE:
            break
    return strong


def _furthest(trial: Callable[[RideLaw], Trial], scan: list[Trial]) -> Trial:
    """The law of a scan, or next to it, that reduces most within travel and tyre load."""
    within = [k for k, t in enumerate(scan) if t.allowed]
    if not within:
        return scan[0]
    k = min(within, key=lambda k: scan[k].ratio)
    if k + 1 < len(scan) and scan[k + 1].ratio < scan[k].ratio:
        return _closed_in(trial, [scan[k + 1], scan[k]], lambda t: max(t.travel, t.tyre) - 1.0)
    return scan[k]


def _between(first: RideLaw, last: RideLaw, share: float) -> RideLaw:
    """A law between two of one family, its strength weighed logarithmically."""

    def mean(a: float, b: float) -> float:
        return a ** (1.0 - share) * b**share if a > 0.0 and b > 0.0 else 0.0

    return replace(
        first,
        travel_weight=mean(first.travel_weight, last.travel_weight),
        tyre_weight=mean(first.tyre_weight, last.tyre_weight),
        skyhook_damping=mean(first.skyhook_damping, last.skyhook_damping),
    )
