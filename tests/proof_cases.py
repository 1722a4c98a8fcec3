"""Cases that the proof's tests share: specs whose shelf holds one size of each part, so that the plant is known."""

from __future__ import annotations

import functools
import json
from typing import Any

import numpy as np
from numpy.typing import NDArray

from models.demand import Demand, Margins
from models.duty import Duty
from models.proof import layout as at
from models.proof.course import Course, course_of
from models.proof.plant import Circuit, circuit_of
from models.ride.build import build_demand
from models.sizing.account import Account
from models.sizing.sizing import size
from models.spec import Spec, complete

Floats = NDArray[np.float64]

VAN: dict[str, Any] = {
    "name": "van with a shelf of one size each",
    "front": {
        "sprung_mass_kg": 430, "unsprung_mass_kg": 48, "wheel_rate_n_mm": 30, "tyre_rate_n_mm": 230,
        "retained_damping_n_s_m": 500, "bump_travel_mm": 80, "droop_travel_mm": 90,
    },
    "rear": {
        "sprung_mass_kg": 380, "unsprung_mass_kg": 52, "wheel_rate_n_mm": 28, "tyre_rate_n_mm": 230,
        "retained_damping_n_s_m": 500, "bump_travel_mm": 85, "droop_travel_mm": 90,
    },
    "wheelbase_mm": 2900, "track_mm": 1560, "cg_height_mm": 700,
    "duty": [],
    "medium": "mineral_vg22",
    "oil_cold_c": 10, "oil_hot_c": 55, "ambient_c": 20,
    "bus": {"voltage_v": 350, "peak_current_a": 120},
    "stock": {
        "bore_mm": [36], "rod_mm": [22], "rod_arrangement": ["through"], "seal": ["plastic_faced"],
        "pressure_bar": [140], "valve_rated_flow_l_min": [40], "spool": ["symmetric"], "anti_cavitation": [False],
        "return_bias_bar": [2], "line_bore_mm": [12.5], "pump_displacement_cm3_rev": [16],
        "motor_power_w": [25000], "accumulator_volume_l": [1.6], "pump_control": ["speed"],
    },
}  # fmt: skip

BUGGY: dict[str, Any] = {
    "name": "buggy with a shelf of one size each",
    "front": {
        "sprung_mass_kg": 0.35, "unsprung_mass_kg": 0.09, "wheel_rate_n_mm": 0.2, "tyre_rate_n_mm": 1.5,
        "retained_damping_n_s_m": 2.0, "bump_travel_mm": 11, "droop_travel_mm": 11,
    },
    "rear": {
        "sprung_mass_kg": 0.3, "unsprung_mass_kg": 0.09, "wheel_rate_n_mm": 0.18, "tyre_rate_n_mm": 1.5,
        "retained_damping_n_s_m": 2.0, "bump_travel_mm": 11, "droop_travel_mm": 11,
    },
    "wheelbase_mm": 290, "track_mm": 210, "cg_height_mm": 50,
    "duty": [],
    "medium": "damper_light",
    "oil_cold_c": 10, "oil_hot_c": 40, "ambient_c": 20,
    "bus": {"voltage_v": 11.1, "peak_current_a": 40},
    "stock": {
        "bore_mm": [6], "rod_mm": [3], "rod_arrangement": ["through"], "seal": ["clearance"], "pressure_bar": [20],
        "valve_rated_flow_l_min": [0.3], "spool": ["symmetric"], "anti_cavitation": [False], "return_bias_bar": [0.5],
        "line_bore_mm": [2], "pump_displacement_cm3_rev": [0.2], "motor_power_w": [150],
        "accumulator_volume_l": [0.05], "pump_control": ["relief"],
    },
}  # fmt: skip


def with_duty(base: dict[str, Any], *duties: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """A copy of a case with its duties and top-level fields."""
    document: dict[str, Any] = json.loads(json.dumps(base))
    document["duty"] = list(duties)
    document.update(changes)
    return document


def road(letter: str, speed: float, law: str = "skyhook") -> dict[str, Any]:
    return {"kind": "road", "label": f"class {letter}", "road_class": letter, "speed_km_h": speed, "share_of_time": 0.8,
            "control": {"law": law}}  # fmt: skip


def sinusoid(velocity: float, force: float, frequency: float, phase: float = 0.0) -> dict[str, Any]:
    axle = {
        "wheel_velocity_m_s": velocity, "wheel_force_n": force, "frequency_hz": frequency,
        "force_velocity_phase_deg": phase,
    }  # fmt: skip
    return {"kind": "suspension_velocity", "label": "sinusoid", "share_of_time": 1.0, "front": axle, "rear": axle}


@functools.cache
def _sized(text: str) -> tuple[Spec, Demand, Account]:
    spec, _ = complete(Spec.model_validate_json(text))
    demand = build_demand(spec)
    return spec, demand, size(spec, demand, Margins()).account


def sized(document: dict[str, Any]) -> tuple[Spec, Demand, Account]:
    """A completed spec, its demand and the account of its plant, feasible or not."""
    return _sized(json.dumps(document))


def ready(document: dict[str, Any], seconds: float, seed: int = 3) -> tuple[Circuit, Course]:
    """The circuit and the first duty's course of a case."""
    spec, demand, account = sized(document)
    circuit = circuit_of(account, spec, demand, spec.oil_hot)
    return circuit, first_course(circuit, demand, spec.duty[0], seconds, seed)


def first_course(circuit: Circuit, demand: Demand, duty: Duty, seconds: float, seed: int) -> Course:
    corners = tuple(zip(circuit.positions, circuit.axles, strict=True))
    return course_of(circuit.vehicle, demand, duty, corners, circuit.sample, seconds, seed)


def workspace(corners: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Arrays that `rates` fills beside the rates: partials of corners and centre, powers, flows."""
    return (
        np.zeros((corners, at.PARTS)),
        np.zeros(at.CENTRE_PARTS),
        np.zeros(at.POWERS),
        np.zeros(at.FLOWS),
    )
