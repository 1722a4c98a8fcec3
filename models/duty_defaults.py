"""What a duty takes where the user left it open, from the vehicle's own frequencies and travels.

Every rule scales with the vehicle: a model and a truck of the same proportions get the same defaults in proportion.
Knows duties; of the vehicle only the few numbers of `FleetScale`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Literal, NamedTuple

from models.duty import Bump, Duty, Rig, Road, SuspensionVelocity

LONGEST_WAVE, SHORTEST_WAVE = 0.011, 2.83
"""Band of a road in cycle/m when the vehicle's frequencies lie well inside it. Source: [iso8608]"""

Default = tuple[str, float, str]
"""Place below the duty, value on the wire, reason."""


class AxleScale(NamedTuple):
    """Frequencies in Hz and the shorter of bump and droop travel in m, of one axle's corner."""

    body_frequency: float
    wheel_frequency: float
    travel: float


class FleetScale(NamedTuple):
    """The axles with actuators, how many corners they make, and whether these are slow-active."""

    axles: Mapping[Literal["front", "rear"], AxleScale]
    corners: int
    slow: bool

    @property
    def body_frequency(self) -> float:
        """The lowest."""
        return min(axle.body_frequency for axle in self.axles.values())

    @property
    def wheel_frequency(self) -> float:
        """The highest."""
        return max(axle.wheel_frequency for axle in self.axles.values())


def complete_duty(duty: Duty, fleet: FleetScale) -> tuple[Duty, list[Default]]:
    """The duty with every open value filled, and what was filled in."""
    used: list[Default] = []
    changes: dict[str, Any] = {}
    if isinstance(duty, SuspensionVelocity):
        changes = _motion(duty, fleet, used)
    elif isinstance(duty, Road | Rig | Bump):
        changes = _control(duty, fleet, used)
        if isinstance(duty, Road):
            changes |= _road(duty, fleet, used)
    return duty.model_copy(update=changes), used


def _motion(duty: SuspensionVelocity, fleet: FleetScale, used: list[Default]) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    for position, axle in fleet.axles.items():
        motion = getattr(duty, position)
        if motion.frequency is None:
            frequency = motion.wheel_velocity / (2.0 * math.pi * axle.travel)
            changes[position] = motion.model_copy(update={"frequency": frequency})
            used.append((f"{position}/frequency_hz", frequency, "sinusoid of that peak velocity over the travel"))
    if duty.corners_in_step is None:
        changes["corners_in_step"] = fleet.corners
        used.append(("corners_in_step", fleet.corners, "all corners together: the largest flow"))
    return changes


def _control(duty: Road | Rig | Bump, fleet: FleetScale, used: list[Default]) -> dict[str, Any]:
    control = duty.control
    changes: dict[str, Any] = {}
    if control.bandwidth is None:
        if fleet.slow:
            value, reason = 3.0 * fleet.body_frequency, "slow-active: three times the body frequency"
        else:
            value, reason = 2.0 * fleet.wheel_frequency, "fast-active: twice the wheel frequency"
        changes["bandwidth"] = value
        used.append(("control/bandwidth_hz", value, reason))
    if control.low_cut is None:
        changes["low_cut"] = 0.1 * fleet.body_frequency
        reason = "a tenth of the body frequency: the actuator never fights a slope"
        used.append(("control/low_cut_hz", changes["low_cut"], reason))
    return {"control": control.model_copy(update=changes)}


def _road(duty: Road, fleet: FleetScale, used: list[Default]) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    if duty.distance is None and duty.duration is None:
        changes["duration"] = 600.0 / fleet.body_frequency
        used.append(("duration_s", changes["duration"], "600 periods of the body on its spring"))
    if duty.band_low is None:
        low = min(LONGEST_WAVE, 0.2 * fleet.body_frequency / duty.speed)
        changes["band_low"] = low if duty.band_high is None else min(low, 0.5 * duty.band_high)
        reason = "ISO 8608's band, or a fifth of the body frequency at this speed where that is lower"
        used.append(("band_low_per_m", changes["band_low"], reason))
    if duty.band_high is None:
        low = duty.band_low if duty.band_low is not None else changes["band_low"]
        changes["band_high"] = max(SHORTEST_WAVE, 3.0 * fleet.wheel_frequency / duty.speed, 2.0 * low)
        reason = "ISO 8608's band, or three times the wheel frequency at this speed where that is higher"
        used.append(("band_high_per_m", changes["band_high"], reason))
    return changes
