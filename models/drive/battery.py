"""The electric supply on the vehicle: current and run time. Its mass is counted on neither side of the comparison."""

from __future__ import annotations

USABLE_SHARE = 0.8
"""Share of a battery's nominal energy taken as usable. Source: [common_practice]."""


def bus_current(power: float, voltage: float) -> float:
    """Current in A of `power` W drawn at nominal `voltage` V."""
    return power / voltage


def run_time(energy: float, mean_power: float, usable_share: float = USABLE_SHARE) -> float:
    """Seconds a battery of `energy` J lasts at `mean_power` W, both positive."""
    return energy * usable_share / mean_power
