"""What an actuator carries and what its supply moves, for a known force and travel over time: the three arrangements.

The same relations as in `linear`, for courses instead of frequencies. Forces and travels at the wheel.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from models.ride.motion import Trace
from models.ride.vehicle import Arrangement, Corner

Floats = NDArray[np.float64]


def supply_trace(arrangement: Arrangement, corner: Corner, time: Floats, between: Floats, travel: Floats) -> Trace:
    """The actuator's course for a suspension force `between` body and wheel (beyond the weight) and a travel.

    time: equal steps. Both must start from nothing. parallel: the actuator gives what spring and damper do not. series:
    it carries the spring's force and moves its seat. corner_accumulator: its chamber carries spring and orifice, the
    supply adds the oil.
    """
    step = float(time[1] - time[0])
    rate = np.gradient(travel, time)
    if arrangement == "parallel":
        force = between + corner.spring * travel + corner.damping * rate
        return Trace(time, force, travel, rate)
    force = between + (corner.damping - corner.orifice) * rate
    if corner.orifice > 0.0:
        yielding = _through_orifice(force, step, corner.spring, corner.orifice)
    else:
        yielding = force / corner.spring
    moved = travel + yielding
    return Trace(time, force, moved, np.gradient(moved, time), rate)


def _through_orifice(force: Floats, step: float, spring: float, orifice: float) -> Floats:
    """Travel u of spring and orifice side by side under a force: spring·u + orifice·u' = force, from rest.

    Exact for a force that is straight between its samples.
    """
    rate = spring / orifice
    decay = math.exp(-rate * step)
    late = (1.0 - (1.0 - decay) / (rate * step)) / spring
    early = ((1.0 - decay) / (rate * step) - decay) / spring
    moved: Floats = lfilter([late, early], [1.0, -decay], force)
    return moved


def rise(fraction: Floats) -> Floats:
    """A smooth step from 0 to 1, half a cosine, over `fraction` 0 to 1."""
    return 0.5 * (1.0 - np.cos(np.pi * np.clip(fraction, 0.0, 1.0)))


def there_and_back(rise_time: float, hold: float, samples: int) -> tuple[Floats, Floats]:
    """Time and course (0 to 1) of rising in `rise_time`, holding, and falling as slowly; `samples` a rise.

    Of a long hold only a rise time is sampled; `held` puts the rest back.
    """
    shown = min(hold, rise_time)
    total = 2.0 * rise_time + shown
    time = np.linspace(0.0, total, 1 + 2 * max(1, round(0.5 * samples * total / rise_time)))
    return time, np.minimum(rise(time / rise_time), rise((total - time) / rise_time))


def held(trace: Trace, rise_time: float, hold: float) -> Trace:
    """The trace with the rest of a long hold put into its middle."""
    rest = hold - min(hold, rise_time)
    middle = trace.time.size // 2
    time = trace.time + np.where(np.arange(trace.time.size) > middle, rest, 0.0)
    return replace(trace, time=time)
