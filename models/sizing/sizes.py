"""The arrays of sizes the search reads: one record a part, one element a row, all SI.

Knows the columns of each part and where a size may come from. Does not know the tables they are filled from
(`catalogue`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[Any]
"""An array of numbers. Kernels take float and integer arrays alike."""

Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Origin:
    """Where a size comes from: a source id and its kind."""

    source: str
    kind: str


USER = Origin("user", "user")
INTERPOLATED = Origin("estimate", "estimated")


class Cylinders(NamedTuple):
    """Bore, rod, rod arrangement and seal together; diameters and sections m."""

    bore: Floats
    rod: Floats
    through: Flags
    clearance: Floats  # radial, 0 for an elastomer seal
    bore_section: Floats
    bore_squeeze: Floats
    rod_section: Floats
    rod_squeeze: Floats
    friction_coefficient: Floats  # of elastomer and plastic-faced seals
    break_out: Floats  # break-out over running friction


class Lines(NamedTuple):
    """Corner lines: a hose and the tube that goes with it."""

    bore: Floats  # of the hose, and nominal
    tube_bore: Floats
    rating: Floats  # working pressure of the weaker of both, Pa
    hose_kg_m: Floats
    tube_kg_m: Floats
    expansion: Floats  # hose, m³/(m·Pa)
    roughness: Floats


class Valves(NamedTuple):
    """Four-edge valves, in families sorted by size."""

    rated_flow: Floats  # at 35 bar a land, m³/s
    bandwidth: Floats
    leakage: Floats  # at null and reference pressure
    reference_pressure: Floats
    rating: Floats
    mass: Floats
    holding_power: Floats
    peak_power: Floats
    family: NDArray[np.int64]


class Tubes(NamedTuple):
    """Rigid tubes for the central lines, by bore."""

    bore: Floats
    outer: Floats
    rating: Floats
    kg_m: Floats
    roughness: Floats


class Pumps(NamedTuple):
    """Pumps, displacement per radian."""

    displacement: Floats
    max_pressure: Floats
    max_speed: Floats
    min_speed: Floats
    slip: Floats
    drag: Floats
    coulomb: Floats
    constant: Floats
    mass: Floats
    min_inlet: Floats  # absolute


class Motors(NamedTuple):
    """Electric motors with their electronics."""

    rated_speed: Floats
    rated_torque: Floats
    peak_torque: Floats
    mass: Floats
    copper_loss: Floats
    iron_loss: Floats
    electronics_fraction: Floats
    standby: Floats


class Accumulators(NamedTuple):
    """Gas-charged accumulators; row 0 is none."""

    volume: Floats
    max_pressure: Floats
    max_ratio: Floats
    mass: Floats
