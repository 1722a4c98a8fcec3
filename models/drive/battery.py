"""The electric supply on the vehicle: current, voltage drop and run time. Its mass is counted on neither side of the
comparison; `pack_mass` only translates watts into the battery they would ask for."""

from __future__ import annotations

import math

from models.quantity import OutOfRange

USABLE_SHARE = 0.8
"""Share of a battery's nominal energy taken as usable. Source: [common_practice]."""


def bus_current(power: float, voltage: float) -> float:
    """Current in A of `power` W drawn at nominal `voltage` V."""
    return power / voltage


def pack_resistance(voltage: float, energy: float, cell_voltage: float, cell_resistance: float) -> float:
    """Internal resistance, Ω, of a pack of nominal `voltage` V and `energy` J.

    cell_resistance: Ω·A·s, a cell's resistance times its capacity, so that cells in parallel share it.
    Source: [estimate]; cells in series add, capacity divides.
    """
    return voltage / cell_voltage * cell_resistance / (energy / voltage)


def loaded(power: float, open_voltage: float, resistance: float) -> tuple[float, float]:
    """(current A, voltage V) at the terminals of a pack that gives `power` W.

    Raises OutOfRange past the most it can give, V²/(4·R). Source: derived, P = (V − R·I)·I, the lesser current.
    """
    if resistance == 0.0:
        return power / open_voltage, open_voltage
    most = 0.25 * open_voltage**2 / resistance
    if power > most:
        raise OutOfRange("power drawn from the battery", power, None, most, "W", "estimate")
    current = (open_voltage - math.sqrt(open_voltage**2 - 4.0 * resistance * power)) / (2.0 * resistance)
    return current, open_voltage - resistance * current


def run_time(energy: float, mean_power: float, usable_share: float = USABLE_SHARE) -> float:
    """Seconds a battery of `energy` J lasts at `mean_power` W, both positive."""
    return energy * usable_share / mean_power


def discharge_rate(current: float, energy: float, voltage: float) -> float:
    """Current over capacity, 1/s, of a pack of `energy` J at nominal `voltage` V."""
    return current * voltage / energy


def pack_mass(power: float, duration: float, specific_energy: float, usable_share: float = USABLE_SHARE) -> float:
    """Battery, kg, that gives `power` W for `duration` s at `specific_energy` J/kg: an exchange rate, not a part."""
    return power * duration / (specific_energy * usable_share)
