"""The search against brute force: every combination of a small shelf, tried one by one, nothing passed over.

The brute force is plain loops over `corner_account` and `plant`; it shares the physics with the search but none of its
bounds, dominance or order. Objective values and the whole front must agree to rounding.
"""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from models.demand import Margins
from models.quantity import ATMOSPHERE
from models.ride.build import build_demand
from models.sizing.account import CornerChoice, corner_account, corner_key
from models.sizing.central import (
    U_CONTROL,
    UNIT_COLUMNS,
    UNLOADING,
    line_masses,
    row_of,
    suction_table,
    tube_capacity,
    unit_numbers,
)
from models.sizing.plant import duty_flows, plant
from models.sizing.search import RESERVOIR_VOLUMES, build_tables, choose, run_search, unit_laws, unit_task
from models.sizing.task import Task, build_task, medium_of
from models.spec import Spec, complete


def _motion(velocity: float, force: float, **more: float) -> dict[str, float]:
    return {"wheel_velocity_m_s": velocity, "wheel_force_n": force, **more}


TRUCK_AXLE = {
    "sprung_mass_kg": 580, "unsprung_mass_kg": 58, "wheel_rate_n_mm": 39, "tyre_rate_n_mm": 270, "bump_travel_mm": 80,
    "droop_travel_mm": 90,
}  # fmt: skip
MODEL_AXLE = {
    "sprung_mass_kg": 0.31, "unsprung_mass_kg": 0.07, "wheel_rate_n_mm": 0.18, "tyre_rate_n_mm": 1.6,
    "bump_travel_mm": 10, "droop_travel_mm": 9,
}  # fmt: skip

TRUCK: dict[str, Any] = {
    "front": TRUCK_AXLE,
    "rear": {**TRUCK_AXLE, "sprung_mass_kg": 700, "unsprung_mass_kg": 90},
    "wheelbase_mm": 3300,
    "track_mm": 1650,
    "medium": "mineral_vg22",
    "oil_cold_c": 0,
    "bus": {"voltage_v": 300, "peak_current_a": 120},
    "duty": [
        {
            "kind": "suspension_velocity", "share_of_time": 0.7, "duration_s": 1.0,
            "front": _motion(0.5, 2600, wheel_velocity_rms_m_s=0.15, wheel_force_rms_n=800),
            "rear": _motion(0.45, 3100, wheel_velocity_rms_m_s=0.14, wheel_force_rms_n=900),
        }
    ],
    "stock": {
        "bore_mm": [32, 40], "rod_mm": [22], "seal": ["plastic_faced"], "pressure_bar": [125, 160],
        "return_bias_bar": [8], "valve_rated_flow_l_min": [40], "line_bore_mm": [12.5],
        "pump_displacement_cm3_rev": [16, 25], "motor_power_w": [25000], "accumulator_volume_l": [0, 2.5],
    },
}  # fmt: skip

MODEL: dict[str, Any] = {
    "front": MODEL_AXLE,
    "rear": {**MODEL_AXLE, "sprung_mass_kg": 0.36},
    "wheelbase_mm": 270,
    "track_mm": 200,
    "medium": "damper_light",
    "oil_cold_c": 5,
    "oil_hot_c": 55,
    "bus": {"voltage_v": 11.1},
    "duty": [
        {
            "kind": "suspension_velocity", "share_of_time": 0.6,
            "front": _motion(0.17, 3.2, force_velocity_phase_deg=150), "rear": _motion(0.15, 3.8),
        },
        {"kind": "suspension_velocity", "share_of_time": 0.2, "front": _motion(0.1, 5.0), "rear": _motion(0.1, 5.0)},
    ],
    "stock": {
        "bore_mm": [4, 5], "rod_mm": [2.5], "pressure_bar": [25, 40], "return_bias_bar": [0],
        "valve_rated_flow_l_min": [0.4], "line_bore_mm": [2], "pump_displacement_cm3_rev": [0.1, 0.16],
        "motor_power_w": [100], "accumulator_volume_l": [0, 0.01],
    },
}  # fmt: skip

SINGLE_ROD: dict[str, Any] = {
    **TRUCK,
    "stock": {
        **TRUCK["stock"], "rod_arrangement": ["single"], "pressure_bar": [160], "valve_rated_flow_l_min": [40, 63],
        "return_bias_bar": [0, 8],
    },
}  # fmt: skip

ONE_AXLE: dict[str, Any] = {
    **TRUCK,
    "corners_fitted": "rear",
    "stock": {
        **TRUCK["stock"], "bore_mm": [25, 32], "rod_mm": [14, 18], "seal": ["elastomer", "plastic_faced"],
        "valve_rated_flow_l_min": [25, 40], "line_bore_mm": [10, 12.5], "accumulator_volume_l": [0, 0.75, 2.5],
    },
}  # fmt: skip


ROAD = {"kind": "road", "share_of_time": 0.6, "road_class": "B", "speed_km_h": 70}

SERIES: dict[str, Any] = {
    **TRUCK,
    "arrangement": "series",
    "duty": [ROAD],
    "stock": {
        **TRUCK["stock"], "bore_mm": [32], "rod_mm": [22], "pressure_bar": [125, 160], "valve_rated_flow_l_min": [40],
        "line_bore_mm": [12.5],
    },
}  # fmt: skip

CORNER_GAS: dict[str, Any] = {
    **TRUCK,
    "arrangement": "corner_accumulator",
    "duty": [ROAD],
    "stock": {
        "bore_mm": [40, 50], "rod_mm": [22], "seal": ["plastic_faced"], "pressure_bar": [125, 160],
        "return_bias_bar": [0], "valve_rated_flow_l_min": [25], "line_bore_mm": [10],
        "pump_displacement_cm3_rev": [5, 10], "motor_power_w": [10000], "accumulator_volume_l": [0, 1],
        "corner_accumulator_volume_l": [0.5, 0.75],
    },
}  # fmt: skip

MODEL_GAS: dict[str, Any] = {
    **MODEL,
    "arrangement": "corner_accumulator",
    "duty": [{"kind": "road", "share_of_time": 0.6, "roughness_m3": 2e-8, "speed_km_h": 12}],
    "stock": {
        "bore_mm": [4, 5], "rod_mm": [2], "pressure_bar": [10, 16], "return_bias_bar": [0],
        "valve_rated_flow_l_min": [0.4], "line_bore_mm": [2], "pump_displacement_cm3_rev": [0.1, 0.16],
        "motor_power_w": [100], "accumulator_volume_l": [0, 0.01], "corner_accumulator_volume_l": [0.0005, 0.001],
    },
}  # fmt: skip


def _task(document: dict[str, Any], objective: str = "balanced") -> Task:
    spec, _ = complete(Spec.model_validate({**document, "objective": objective}))
    return build_task(spec, build_demand(spec), Margins(), medium_of(spec), (3.0, 3.0))


def _brute_front(task: Task) -> np.ndarray:
    """(mass, power, current) of every feasible plant, tried one by one."""
    tables = build_tables(task)
    catalogue, settings = task.catalogue, task.settings
    stores = catalogue.accumulators
    checks = [checked for checked, allowed in zip((False, True), task.checks, strict=True) if allowed]
    plants = []
    for s in range(settings.high.size):
        sides: list[list[np.ndarray]] = [[np.zeros(8)], [np.zeros(8)]]
        for index, axle in enumerate(task.demand.axles):
            kept = []
            for c, spool, line, valve, checked, shell in itertools.product(
                range(catalogue.cylinders.bore.size), task.spools, range(catalogue.lines.bore.size),
                range(catalogue.valves.mass.size), checks, range(catalogue.corner_accumulators.volume.size),
            ):  # fmt: skip
                if catalogue.cylinders.through[c] and spool == 1:
                    continue
                corner = CornerChoice(c, spool, line, valve, checked, shell)
                uses, _, facts = corner_account(tables, index, s, corner)
                if np.all(uses <= 1.0):
                    kept.append(corner_key(tables, index, corner, facts))
            sides[0 if axle.position == "front" else 1] = kept
        units = []
        for pump, motor, control in itertools.product(
            range(catalogue.pumps.mass.size), range(catalogue.motors.mass.size), task.controls
        ):
            row, fault = _unit(tables, s, pump, motor, control)
            if fault == 0:
                units.append(row)
        for front, rear in itertools.product(*sides):
            flows = np.array([duty_flows(task.duties, d, front, rear) for d in range(task.duties.share.size)])
            for unit, a in itertools.product(units, range(stores.volume.size)):
                if stores.volume[a] == 0.0:
                    if settings.window[s] != 0 or unit[U_CONTROL] == UNLOADING:
                        continue
                elif (
                    stores.max_pressure[a] < settings.high[s]
                    or stores.max_ratio[a] < (settings.high[s] + ATMOSPHERE) / (tables.precharge[s] + ATMOSPHERE)
                    or tables.delivered[s] <= 0.0
                ):
                    continue
                for cooled in (False, True):
                    state = plant(
                        front, rear, unit, stores.mass[a], stores.volume[a], tables.delivered[s], tables.held[s],
                        task.duties, flows, tables.plant, tables.return_capacity[s], tables.return_mass,
                        RESERVOIR_VOLUMES, tables.conductance, cooled,
                    )  # fmt: skip
                    if state.fault == 0:
                        plants.append((state.mass, state.power, state.current))
    return np.array(plants).reshape(-1, 3)


def _unit(tables: Any, s: int, pump: int, motor: int, control: int) -> tuple[np.ndarray, int]:
    task = tables.task
    catalogue, wanted = task.catalogue, unit_task(task)
    supply = tube_capacity(
        catalogue.tubes, wanted.supply_length, float(task.settings.line_allowance[s]), wanted.supply_velocity,
        task.oils, 1.1 * float(task.settings.high[s]),
    )  # fmt: skip
    suction = suction_table(catalogue.pumps, catalogue.tubes, task.oils, wanted)[pump]
    row = np.empty(UNIT_COLUMNS)
    density, laws = float(task.oils.density[0]), unit_laws()
    masses = [
        line_masses(catalogue.tubes, length, density, laws) for length in (wanted.supply_length, wanted.suction_length)
    ]
    fault = unit_numbers(
        row_of(catalogue.pumps, pump), row_of(catalogue.motors, motor), control, supply, suction, *masses,
        float(task.settings.high[s]), task.oils.viscosity, wanted.torque_margin, laws, 0.5, row,
    )  # fmt: skip
    return row, fault


def _undominated(plants: np.ndarray) -> np.ndarray:
    """Plants no other equals or betters in all three: a scan by mass, then power, then current."""
    kept: list[np.ndarray] = []
    for row in plants[np.lexsort(plants.T[::-1])]:
        if not any(np.all(other <= row * (1.0 + 1e-12)) for other in kept):
            kept.append(row)
    return np.array(kept)


@pytest.mark.parametrize(
    "document",
    [TRUCK, MODEL, SINGLE_ROD, ONE_AXLE, SERIES, CORNER_GAS, MODEL_GAS],
    ids=["truck", "model", "single", "rear", "series", "corner_accumulator", "corner_accumulator_model"],
)
def test_the_search_finds_what_brute_force_finds(document: dict[str, Any]) -> None:
    task = _task(document)
    found = run_search(task)
    plants = _brute_front(task)
    assert plants.shape[0] > 0
    mass, power = plants[:, 0], plants[:, 1]
    least = {
        "mass": mass.min(),
        "power": power.min(),
        "balanced": (mass / mass.min() + power / power.min()).min(),
    }
    front = found.front[:, :3]
    values = {
        "mass": front[:, 0],
        "power": front[:, 1],
        "balanced": front[:, 0] / front[:, 0].min() + front[:, 1] / front[:, 1].min(),
    }
    for objective, value in values.items():
        assert value[choose(found.front, objective)] == pytest.approx(least[objective], rel=1e-12)  # type: ignore[arg-type]
    expected = _undominated(plants)
    for row in expected:
        assert np.min(np.max(np.abs(front / row - 1.0), axis=1)) < 1e-9, f"brute force found {row}, the front lacks it"
    for row in front:
        assert np.min(np.max(np.abs(plants / row - 1.0), axis=1)) < 1e-9, f"the front's {row} is no plant"


def test_a_heavier_load_never_lowers_the_optimum_nor_the_smallest_piston() -> None:
    last = dict.fromkeys(("mass", "power"), 0.0)
    piston = 0.0
    for factor in (0.7, 1.0, 1.2, 1.5):
        document = {**TRUCK, "duty": [dict(TRUCK["duty"][0])]}
        for side in ("front", "rear"):
            motion = dict(document["duty"][0][side])
            motion["wheel_force_n"] *= factor
            motion["wheel_force_rms_n"] *= factor
            document["duty"][0][side] = motion
        found = run_search(_task(document))
        if found.front.shape[0] == 0:
            last = dict.fromkeys(last, np.inf)
            continue
        for column, objective in enumerate(last):
            least = float(found.front[:, column].min())
            assert least >= last[objective] * (1.0 - 1e-12)
            last[objective] = least
        smallest = min(float(keys[:, 1:3].min()) for keys in found.tables.keys)
        assert smallest >= piston * (1.0 - 1e-12)
        piston = smallest
