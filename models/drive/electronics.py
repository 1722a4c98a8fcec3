"""A motor drive between bus and winding: its size, its losses, what it gives back, how fast it sets a force.

Knows power flows and voltages; does not know the machine behind it. For motion of zero mean in which force and velocity
are both sinusoids, or both Gaussian, the split of power into driving and absorbing is the same closed form.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from numba import njit

from models.compiled import INNER, WITHIN

THREE_PHASE_VOLTAGE = math.sqrt(0.5)
"""Voltage limit of the equivalent two-terminal machine over bus voltage, three phases.

Amplitudes line to neutral reach V/√3 with space-vector modulation; a two-terminal machine of the same power and loss
has √1.5 times the phase's voltage and current amplitudes. Source: derived."""

PHASE_AMPLITUDE = math.sqrt(2.0 / 3.0)
"""Amplitude of a phase's current over the current of that equivalent machine. Source: derived."""


class PowerSplit(NamedTuple):
    """Mean power given by the actuator while it drives, W; taken while it is driven, W; share of time driven; and the
    share of mean square force that falls into that time."""

    delivered: float
    absorbed: float
    absorbing_time: float
    absorbing_force: float


@njit(**INNER)
def split_power(mean_power: float, force_rms: float, velocity_rms: float) -> PowerSplit:
    """How a mean power divides into delivered and absorbed.

    mean_power: W, positive given out; force_rms: N; velocity_rms: m/s. With cos φ the correlation of the two,
    delivered − absorbed = F·v·cos φ and delivered + absorbed = (2/π)·F·v·(sin φ + (π/2 − φ)·cos φ).
    Source: derived; sinusoids φ apart and jointly Gaussian variables give the same.
    """
    scale = force_rms * velocity_rms
    if scale <= 0.0:
        return PowerSplit(0.0, 0.0, 0.5, 0.5)
    correlation = min(1.0, max(-1.0, mean_power / scale))
    phase = math.acos(correlation)
    sine = math.sqrt(1.0 - correlation * correlation)
    total = 2.0 / math.pi * scale * (sine + (0.5 * math.pi - phase) * correlation)
    net = scale * correlation
    share = (phase - sine * correlation) / math.pi
    return PowerSplit(max(0.0, 0.5 * (total + net)), max(0.0, 0.5 * (total - net)), phase / math.pi, share)


class BusFlow(NamedTuple):
    """Mean power drawn from the bus, net of what is returned, W; the part returned, W; heat in the drive, W."""

    net: float
    returned: float
    heat: float


@njit(**WITHIN)
def bus_flow(
    driving: float, driven: float, absorbed: float, loss_fraction: float, standby: float, regeneration: float
) -> BusFlow:
    """What bus and drive see of a machine that partly drives and partly is driven.

    driving: W into the machine's terminals while it drives; driven: W out of them while it is driven (negative when
    its losses exceed what it takes up); absorbed: W of mechanical power it takes up; loss_fraction: drive loss over
    power passed; standby: W at all times; regeneration: most of the absorbed power that reaches the bus again. What
    is neither lost before nor returned is burnt in the drive. Source: [published_regeneration] for the cap.
    """
    surplus = max(driven, 0.0)
    needed = driving + max(-driven, 0.0)
    returned = min(surplus * (1.0 - loss_fraction), regeneration * absorbed)
    drawn = needed * (1.0 + loss_fraction) + standby
    return BusFlow(drawn - returned, returned, needed * loss_fraction + standby + surplus - returned)


class DriveSize(NamedTuple):
    """Mass, kg, loss over power passed, and standby power, W, of a motor drive."""

    mass: float
    loss_fraction: float
    standby: float


class DriveRegression(NamedTuple):
    """Coefficients of a drive of 1 W rated power, and exponents on its power."""

    mass: float
    mass_exponent: float
    loss: float
    loss_exponent: float
    standby: float
    standby_exponent: float
    peak_ratio: float


@njit(**INNER)
def drive_size(peak_power: float, mean_power: float, law: DriveRegression) -> DriveSize:
    """The drive for a peak and a mean electric power, W; rated by the greater of mean and peak/`peak_ratio`, from 1 W.

    Source: [estimate], the regression the motor table's own drives follow.
    """
    rated = max(mean_power, peak_power / law.peak_ratio, 1.0)
    return DriveSize(
        law.mass * rated**law.mass_exponent,
        law.loss * rated**law.loss_exponent,
        law.standby * rated**law.standby_exponent,
    )


@njit(**WITHIN)
def force_bandwidth(voltage: float, resistive_voltage: float, electric_time: float, loop_bandwidth: float) -> float:
    """Frequency, Hz, up to which the drive sets the full force at standstill.

    voltage: V available; resistive_voltage: V the current needs at no frequency; electric_time: L/R, s;
    loop_bandwidth: Hz of the closed current loop, the limit of small signals. 0 when the voltage does not suffice.
    Source: derived, |Z|·I = V for a series R–L.
    """
    if resistive_voltage >= voltage:
        return 0.0
    if electric_time <= 0.0 or resistive_voltage <= 0.0:
        return loop_bandwidth
    ratio = voltage / resistive_voltage
    return min(loop_bandwidth, math.sqrt(ratio * ratio - 1.0) / (2.0 * math.pi * electric_time))
