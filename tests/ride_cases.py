"""Vehicles and corners that the ride's tests share, as plain numbers and as specs."""

from __future__ import annotations

import math
from typing import Any

from models.ride.vehicle import Corner, Vehicle
from models.spec import Spec, complete

FULL_SIZE: dict[str, Any] = {
    "front": {
        "sprung_mass_kg": 600, "unsprung_mass_kg": 62, "wheel_rate_n_mm": 41, "tyre_rate_n_mm": 290,
        "retained_damping_n_s_m": 400, "roll_centre_height_mm": 60, "anti_roll_rate_nm_deg": 120,
        "actuator_travel_per_wheel_travel": 0.8, "bump_travel_mm": 85, "droop_travel_mm": 95,
    },
    "rear": {
        "sprung_mass_kg": 640, "unsprung_mass_kg": 95, "wheel_rate_n_mm": 52, "tyre_rate_n_mm": 310,
        "retained_damping_n_s_m": 500, "roll_centre_height_mm": 240, "anti_roll_rate_nm_deg": 40,
        "actuator_travel_per_wheel_travel": 0.7, "bump_travel_mm": 90, "droop_travel_mm": 100,
    },
    "wheelbase_mm": 3450, "track_mm": 1690, "cg_height_mm": 870, "bus": {"voltage_v": 48},
}  # fmt: skip

ONE_TENTH: dict[str, Any] = {
    "front": {
        "sprung_mass_kg": 0.3, "unsprung_mass_kg": 0.085, "wheel_rate_n_mm": 0.17, "tyre_rate_n_mm": 1.4,
        "bump_travel_mm": 10, "droop_travel_mm": 10,
    },
    "rear": {
        "sprung_mass_kg": 0.34, "unsprung_mass_kg": 0.09, "wheel_rate_n_mm": 0.19, "tyre_rate_n_mm": 1.4,
        "bump_travel_mm": 10, "droop_travel_mm": 10,
    },
    "wheelbase_mm": 282, "track_mm": 204, "cg_height_mm": 52, "bus": {"voltage_v": 11.1},
}  # fmt: skip

BENCH: dict[str, Any] = {
    "corners_fitted": "one",
    "front": {
        "sprung_mass_kg": 300, "unsprung_mass_kg": 40, "wheel_rate_n_mm": 20, "tyre_rate_n_mm": 200,
        "bump_travel_mm": 100, "droop_travel_mm": 100,
    },
    "bus": {"voltage_v": 48},
}  # fmt: skip

ROAD: dict[str, Any] = {"kind": "road", "road_class": "C", "speed_km_h": 72}


def spec_of(vehicle: dict[str, Any], *duties: dict[str, Any], **changes: Any) -> Spec:
    """A completed spec of a vehicle with these duties."""
    return complete(Spec.model_validate({**vehicle, "duty": list(duties), **changes}))[0]


def corner(
    damping: float = 1500.0,
    sprung: float = 300.0,
    unsprung: float = 40.0,
    spring: float = 20e3,
    tyre: float = 200e3,
    ratio: float = 1.0,
    orifice: float = 0.0,
) -> Corner:
    """One corner, by default the passive corner of the derived check values."""
    reference = 0.6 * math.sqrt(spring * sprung)
    return Corner("front", True, sprung, unsprung, spring, tyre, damping, orifice, reference, 0.0, 0.0, ratio, 0.1, 0.1)


def alone(single: Corner, arrangement: Any = "parallel") -> Vehicle:
    """A vehicle that is one corner."""
    return Vehicle((single,), True, arrangement, arrangement != "parallel", 0.0, 0.0, 0.0, 0.0, 0.0)
