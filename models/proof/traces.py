"""What a reader may draw of a run: its courses at instants spread over it, and the spectra of its ride.

Told, not judged: verdicts are taken from every sample (`verdict`), not from what is kept here.
"""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray
from scipy.signal import welch

from models.proof import layout as at
from models.proof.drive import Run
from models.proof.records import DutyTraces, Spectrum, Trace
from models.quantity import UNITS

Floats = NDArray[np.float64]

TRACE_POINTS = 600
"""Instants of a trace, at most."""

DIGITS = 5
SPECTRUM_POINTS = 40
SPECTRUM_SPAN = (0.3, 40.0)
"""Points of a spectrum, evenly over the logarithm of frequency between these multiples of the lowest body frequency."""

BAR = UNITS["bar"].factor
L_MIN = UNITS["l_min"].factor

_CORNER_TRACES = (
    ("force", at.T_FORCE, "N", 1.0),
    ("force_wanted", at.T_WANTED, "N", 1.0),
    ("cap_pressure", at.T_P1, "bar", BAR),
    ("annulus_pressure", at.T_P2, "bar", BAR),
    ("spool", at.T_SPOOL, "1", 1.0),
    ("wheel_travel", at.T_TRAVEL, "mm", 1e-3),
)
_CENTRE_TRACES = (
    ("rail_pressure", at.T_RAIL, "bar", BAR),
    ("return_pressure", at.T_PORT_T, "bar", BAR),
    ("shaft_speed", at.T_SHAFT, "rpm", UNITS["rpm"].factor),
    ("electric_power", at.T_BUS, "W", 1.0),
    ("supply_flow", at.T_SUPPLY, "L/min", L_MIN),
    ("pump_flow", at.T_PUMP, "L/min", L_MIN),
)


def traces_of(run: Run, seed: int, begin: int, beside: tuple[tuple[str, Floats], ...]) -> DutyTraces:
    """Courses of a run and spectra of its ride.

    begin: sample from which spectra count; beside: body accelerations [sample, corner] of the car with its oil and of
    those it is compared with, by name; none where the motion is imposed.
    """
    count = run.centre_trace.shape[0]
    picked = (
        np.unique(np.linspace(0, max(count - 1, 0), min(count, TRACE_POINTS)).astype(int))
        if count
        else np.zeros(0, int)
    )
    found = [
        Trace(name, "centre", unit, _rounded(run.centre_trace[picked, column] / scale))
        for name, column, unit, scale in _CENTRE_TRACES
    ]
    for i, corner in enumerate(run.circuit.names):
        vented = run.corners[i, at.ANNULUS] == 0.0
        found += [
            Trace(name, corner, unit, _rounded(run.corner_trace[picked, i, column] / scale))
            for name, column, unit, scale in _CORNER_TRACES
            if not (vented and column == at.T_P2)
        ]
        found += [Trace(f"body_acceleration_{name}", corner, "m/s²", _rounded(a[picked, i])) for name, a in beside]
    duty = run.course.duty
    spectra = tuple(
        _spectrum(run, name, a[begin:count]) for name, a in beside if duty.kind == "road" and count - begin > 16
    )
    return DutyTraces(duty.label, duty.kind, seed, _rounded(picked * run.circuit.sample), tuple(found), spectra)


def _rounded(values: Floats) -> tuple[float, ...]:
    """To DIGITS significant digits, as the decimals they are: both powers of ten below are exact."""
    sizes = np.abs(values)
    digits = DIGITS - 1 - np.floor(np.log10(np.where(sizes > 0.0, sizes, 1.0)))
    up, down = 10.0 ** np.clip(digits, 0.0, 22.0), 10.0 ** np.clip(-digits, 0.0, 22.0)
    return tuple((np.round(values * up / down) * down / up).tolist())


def _spectrum(run: Run, name: str, acceleration: Floats) -> Spectrum:
    """Power density by Welch's means over stretches of four swings of the body, smoothed over bands of frequency."""
    vehicle = run.circuit.vehicle
    masses = np.array([vehicle.corner(position).sprung_mass for position in run.circuit.positions])
    slowest = min(corner.body_frequency for corner in vehicle.corners)
    stretch = min(round(4.0 / slowest / run.circuit.sample), acceleration.shape[0])
    frequency, density = welch(acceleration, 1.0 / run.circuit.sample, nperseg=stretch, axis=0)
    mean = np.average(density, axis=1, weights=masses)
    edges = np.geomspace(SPECTRUM_SPAN[0] * slowest, SPECTRUM_SPAN[1] * slowest, SPECTRUM_POINTS + 1)
    kept_f, kept_d = [], []
    for low, high in itertools.pairwise(edges):
        inside = (frequency >= low) & (frequency < high)
        if inside.any():
            kept_f.append(float(frequency[inside].mean()))
            kept_d.append(float(mean[inside].mean()))
    return Spectrum(name, _rounded(np.array(kept_f)), _rounded(np.array(kept_d)))
