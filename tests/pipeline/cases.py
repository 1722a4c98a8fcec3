"""Specs the pipeline's tests share, and the way from a document to the answer as it goes on the wire.

The vehicles are the tests' own, so that tuning a ready example changes no test. Each comes with a shelf of one size of
each part that serves it, which makes a sizing a matter of milliseconds.
"""

from __future__ import annotations

import copy
import functools
import json
from typing import Any

from models.pipeline import size
from models.quantity import to_wire
from models.spec import Spec

Document = dict[str, Any]

VAN: Document = {
    "corners_fitted": "four",
    "front": {
        "sprung_mass_kg": 550.0, "unsprung_mass_kg": 55.0, "wheel_rate_n_mm": 38.0, "tyre_rate_n_mm": 270.0,
        "bump_travel_mm": 80.0, "droop_travel_mm": 90.0,
    },
    "rear": {
        "sprung_mass_kg": 600.0, "unsprung_mass_kg": 85.0, "wheel_rate_n_mm": 45.0, "tyre_rate_n_mm": 290.0,
        "bump_travel_mm": 85.0, "droop_travel_mm": 95.0,
    },
    "wheelbase_mm": 3300.0, "track_mm": 1650.0, "cg_height_mm": 850.0,
    "duty": [
        {
            "kind": "suspension_velocity", "label": "patched lane", "share_of_time": 0.7, "duration_s": 2.0,
            "front": {
                "wheel_velocity_m_s": 0.45, "wheel_velocity_rms_m_s": 0.15, "wheel_force_n": 2500.0,
                "wheel_force_rms_n": 800.0, "frequency_hz": 1.5,
            },
            "rear": {
                "wheel_velocity_m_s": 0.45, "wheel_velocity_rms_m_s": 0.15, "wheel_force_n": 2500.0,
                "wheel_force_rms_n": 800.0, "frequency_hz": 1.5,
            },
        }
    ],
    "medium": "mineral_vg22", "oil_cold_c": 0.0, "oil_hot_c": 60.0, "ambient_c": 30.0, "air_speed_m_s": 2.0,
    "bus": {"voltage_v": 48.0, "peak_current_a": 400.0, "energy_wh": 20000.0},
}  # fmt: skip

VAN_SHELF: Document = {
    "bore_mm": [32.0], "rod_mm": [22.0], "rod_arrangement": ["through"], "seal": ["plastic_faced"],
    "pressure_bar": [125.0], "valve_rated_flow_l_min": [40.0], "spool": ["symmetric"], "anti_cavitation": [False],
    "return_bias_bar": [0.0], "line_bore_mm": [12.5], "pump_displacement_cm3_rev": [16.0], "pump_control": ["speed"],
    "motor_power_w": [16000.0], "accumulator_volume_l": [1.0],
}  # fmt: skip

CRAWLER: Document = {
    "corners_fitted": "four",
    "front": {
        "sprung_mass_kg": 0.9, "unsprung_mass_kg": 0.2, "wheel_rate_n_mm": 0.4, "tyre_rate_n_mm": 2.5,
        "bump_travel_mm": 14.0, "droop_travel_mm": 14.0,
    },
    "rear": {
        "sprung_mass_kg": 1.0, "unsprung_mass_kg": 0.2, "wheel_rate_n_mm": 0.45, "tyre_rate_n_mm": 2.5,
        "bump_travel_mm": 14.0, "droop_travel_mm": 14.0,
    },
    "wheelbase_mm": 330.0, "track_mm": 250.0, "cg_height_mm": 60.0,
    "duty": [
        {
            "kind": "suspension_velocity", "label": "gravel bed", "share_of_time": 0.5, "duration_s": 1.0,
            "front": {
                "wheel_velocity_m_s": 0.15, "wheel_velocity_rms_m_s": 0.05, "wheel_force_n": 4.0,
                "wheel_force_rms_n": 1.5, "frequency_hz": 2.0,
            },
            "rear": {
                "wheel_velocity_m_s": 0.15, "wheel_velocity_rms_m_s": 0.05, "wheel_force_n": 4.0,
                "wheel_force_rms_n": 1.5, "frequency_hz": 2.0,
            },
        }
    ],
    "medium": "damper_light", "oil_cold_c": 10.0, "oil_hot_c": 50.0, "ambient_c": 25.0,
    "bus": {"voltage_v": 11.1, "peak_current_a": 30.0, "energy_wh": 50.0},
    "safety": {"reservoir_dwell_s": 10.0},
}  # fmt: skip

CRAWLER_SHELF: Document = {
    "bore_mm": [5.0], "rod_mm": [2.0], "rod_arrangement": ["single"], "seal": ["clearance"], "pressure_bar": [25.0],
    "valve_rated_flow_l_min": [0.8], "spool": ["symmetric"], "anti_cavitation": [False], "return_bias_bar": [0.0],
    "line_bore_mm": [2.0], "pump_displacement_cm3_rev": [0.16], "pump_control": ["speed"], "motor_power_w": [100.0],
    "accumulator_volume_l": [0.0],
}  # fmt: skip


def changed(base: Document, **changes: Any) -> Document:
    """A copy of `base` with values set at `a__b__0__c` paths; None takes a field out."""
    document = copy.deepcopy(base)
    for path, value in changes.items():
        *way, last = [int(step) if step.isdigit() else step for step in path.split("__")]
        place: Any = document
        for step in way:
            place = place.setdefault(step, {}) if isinstance(place, dict) else place[step]
        if value is None:
            place.pop(last, None)
        else:
            place[last] = copy.deepcopy(value)
    return document


def with_shelf(base: Document, shelf: Document, **changes: Any) -> Document:
    """`base` with a shelf of one size each, some of them exchanged; None leaves a part to the tables."""
    kept = {name: value for name, value in {**shelf, **changes}.items() if value is not None}
    return {**copy.deepcopy(base), "stock": kept}


LANE: Document = {
    "kind": "road", "label": "patched lane", "share_of_time": 0.7, "road_class": "B", "speed_km_h": 70.0,
}  # fmt: skip
FLOOR: Document = {
    "kind": "road", "label": "workshop floor", "share_of_time": 0.5, "roughness_m3": 4e-6, "speed_km_h": 10.0,
}  # fmt: skip

VAN_ON_GAS: Document = with_shelf(
    changed(VAN, arrangement="corner_accumulator", duty=[LANE], bus__voltage_v=350.0),
    VAN_SHELF,
    bore_mm=[40.0], rod_arrangement=["single"], pressure_bar=[160.0], valve_rated_flow_l_min=[25.0],
    line_bore_mm=[10.0], pump_displacement_cm3_rev=[5.0], motor_power_w=[10000.0],
    corner_accumulator_volume_l=[0.75],
)  # fmt: skip
VAN_IN_LINE: Document = with_shelf(
    changed(VAN, arrangement="series", duty=[LANE], bus__voltage_v=350.0),
    VAN_SHELF,
    rod_arrangement=["single"], spool=None, pressure_bar=[160.0], motor_power_w=[25000.0],
)  # fmt: skip
CRAWLER_ON_GAS: Document = with_shelf(
    changed(CRAWLER, arrangement="corner_accumulator", duty=[FLOOR]),
    CRAWLER_SHELF,
    rod_mm=[3.0], pressure_bar=[16.0], corner_accumulator_volume_l=[0.002],
)  # fmt: skip
CRAWLER_IN_LINE: Document = with_shelf(
    changed(CRAWLER, arrangement="series", duty=[FLOOR]), CRAWLER_SHELF, rod_mm=[3.0], pressure_bar=[16.0],
    valve_rated_flow_l_min=[1.6],
)  # fmt: skip

VAN_AS_BUILT = with_shelf(VAN, VAN_SHELF)
CRAWLER_AS_BUILT = with_shelf(CRAWLER, CRAWLER_SHELF)


def sized(document: Document) -> Document:
    """The answer to a spec as it goes on the wire; the same document is sized once."""
    return copy.deepcopy(_sized(json.dumps(document, sort_keys=True)))


@functools.lru_cache(maxsize=256)
def _sized(text: str) -> Document:
    answer: Document = to_wire(size(Spec.model_validate_json(text), proven=False))
    return answer


def codes(answer: Document) -> set[str]:
    """Codes of the answer's warnings."""
    return {warning["code"] for warning in answer["warnings"]}
