"""Fields that cannot be accepted: each gets its pointer, code, what was given and allowed; all are told at once."""

from __future__ import annotations

import json
from typing import Any

import pytest

from service.problems import ERRORS_LISTED
from tests.conftest import problem_of


def put(document: Any, pointer: str, value: Any) -> None:
    """Set the value at a JSON pointer."""
    *path, last = pointer.strip("/").split("/")
    for step in path:
        document = document[int(step)] if isinstance(document, list) else document.setdefault(step, {})
    if isinstance(document, list):
        document[int(last)] = value
    else:
        document[last] = value


def only_error(client, spec, status=422) -> dict[str, Any]:
    problem = problem_of(client.post("/v1/sizings", json=spec), status)
    assert len(problem["errors"]) == 1, problem["errors"]
    error: dict[str, Any] = problem["errors"][0]
    return error


@pytest.mark.parametrize(
    ("pointer", "value", "code", "allowed", "unit"),
    [
        ("/front/wheel_rate_n_mm", 22000, "out_of_range", "0.001 to 2000 N/mm", "N/mm"),
        ("/front/wheel_rate_n_mm", 0, "out_of_range", "0.001 to 2000 N/mm", "N/mm"),
        ("/rear/sprung_mass_kg", -3, "out_of_range", "0.02 to 20000 kg", "kg"),
        ("/front/sprung_mass_kg", "600", "wrong_type", "0.02 to 20000 kg", "kg"),
        ("/front/sprung_mass_kg", True, "wrong_type", "0.02 to 20000 kg", "kg"),
        ("/front/sprung_mass_kg", None, "wrong_type", "0.02 to 20000 kg", "kg"),
        ("/front/sprung_mass_kg", [600], "wrong_type", "0.02 to 20000 kg", "kg"),
        ("/front/sprung_mass_kg", 10**300, "out_of_range", "0.02 to 20000 kg", "kg"),
        ("/duty/0/front/wheel_velocity_m_s", 600, "out_of_range", "0.001 to 20 m/s", "m/s"),
        ("/duty/0/corners_in_step", 2.5, "wrong_type", "1 to 4", None),
        ("/duty", [], "wrong_length", "a list of 1 to 12 items", None),
        ("/duty", {}, "wrong_type", "a list of 1 to 12 items", None),
        ("/duty/0/kind", "zork", "unknown_value", None, None),
        ("/corners_fitted", "all", "unknown_value", ["four", "front", "rear", "one"], None),
        ("/objective", "weight", "unknown_value", ["mass", "power", "balanced"], None),
        ("/oil_cold_c", -300, "out_of_range", "-50 to 60 °C", "°C"),
        ("/limits", [], "wrong_type", "an object", None),
        ("/limits/pressure_bar", 1e6, "out_of_range", "2 to 400 bar", "bar"),
        ("/stock/bore_mm", [20, -1], "out_of_range", "2 to 200 mm", "mm"),
        ("/stock/bore_mm", [], "wrong_length", None, None),
        ("/bus/voltage_v", "12 V", "wrong_type", "3 to 1000 V", "V"),
        ("/name", 7, "wrong_type", "a text of at most 120 characters", None),
        ("/name", "n" * 121, "wrong_length", "a text of at most 120 characters", None),
    ],
)
def test_one_bad_field(client, office, truck, pointer, value, code, allowed, unit):
    put(truck, pointer, value)
    error = only_error(client, truck)
    assert error["pointer"] == (pointer if pointer != "/stock/bore_mm" or value == [] else "/stock/bore_mm/1")
    assert error["code"] == code
    assert "given" in error
    if allowed is not None:
        assert error["allowed"] == allowed
    assert error.get("unit") == unit
    assert office.store.count() == 0


def test_number_too_large_for_a_double_is_not_finite(client, truck):
    body = json.dumps(truck).replace('"sprung_mass_kg": 600', '"sprung_mass_kg": 1e999')
    reply = client.post("/v1/sizings", data=body, content_type="application/json")
    [error] = problem_of(reply, 422)["errors"]
    assert error["pointer"] == "/front/sprung_mass_kg"
    assert error["code"] == "not_finite"
    assert error["given"] == "inf"


@pytest.mark.parametrize(
    ("pointer", "nearest"),
    [
        ("/weelbase_mm", "wheelbase_mm"),
        ("/Medium", "medium"),
        ("/front/wheel_rate", "wheel_rate_n_mm"),
        ("/front/sprung_mass_g", "sprung_mass_kg"),
        ("/duty/0/share", "share_of_time"),
        ("/duty/0/front/wheel_velocity_mm_s", "wheel_velocity_m_s"),
        ("/bus/volt", "voltage_v"),
        ("/stock/bores_mm", "bore_mm"),
        ("/zzzzzz", None),
    ],
)
def test_unknown_field_names_the_nearest_known_one(client, truck, pointer, nearest):
    put(truck, pointer, 1)
    error = only_error(client, truck)
    assert error["code"] == "unknown_field"
    assert error["pointer"] == pointer
    assert error.get("suggestion") == nearest
    assert nearest is None or nearest in error["allowed"]


def test_unknown_field_is_pointed_at_as_rfc_6901_writes_it(client, truck):
    truck["a/b~c"] = 1
    assert only_error(client, truck)["pointer"] == "/a~1b~0c"


def test_missing_fields(client):
    problem = problem_of(client.post("/v1/sizings", json={}), 422)
    assert {(error["pointer"], error["code"]) for error in problem["errors"]} == {
        ("/duty", "missing"),
        ("/bus", "missing"),
    }
    assert all("given" not in error for error in problem["errors"])


def test_all_field_errors_are_told_at_once(client, office, truck):
    for pointer in ("/front/wheel_rate_n_mm", "/rear/tyre_rate_n_mm", "/duty/0/rear/wheel_force_n", "/bus/voltage_v"):
        put(truck, pointer, -1)
    truck["medium"] = "mineral_vg51"
    truck["colour"] = "red"
    problem = problem_of(client.post("/v1/sizings", json=truck), 422)
    assert {error["pointer"] for error in problem["errors"]} == {
        "/front/wheel_rate_n_mm",
        "/rear/tyre_rate_n_mm",
        "/duty/0/rear/wheel_force_n",
        "/bus/voltage_v",
        "/medium",
        "/colour",
    }
    assert office.store.count() == 0


def test_thousands_of_errors_are_answered_briefly(client, truck):
    truck |= {f"unknown_{number}": 1 for number in range(8000)}
    problem = problem_of(client.post("/v1/sizings", json=truck), 422)
    assert len(problem["errors"]) == ERRORS_LISTED


@pytest.mark.parametrize("body", ["[]", '"spec"', "5", "null", "true"])
def test_body_that_is_no_object(client, body):
    reply = client.post("/v1/sizings", data=body, content_type="application/json")
    [error] = problem_of(reply, 422)["errors"]
    assert error["pointer"] == ""
    assert error["code"] == "wrong_type"


def test_unknown_medium_names_the_known_ones(client, truck):
    truck["medium"] = "mineral_vg23"
    error = only_error(client, truck)
    assert error["pointer"] == "/medium"
    assert error["code"] == "unknown_medium"
    assert error["given"] == "mineral_vg23"
    assert error["suggestion"].startswith("mineral_vg")
    assert "auto" in error["allowed"]


@pytest.mark.parametrize("medium", [5, ["mineral_vg22"], True])
def test_medium_of_a_wrong_kind_is_told_once(client, truck, medium):
    truck["medium"] = medium
    error = only_error(client, truck)
    assert error["pointer"] == "/medium"
    assert error["code"] == "wrong_type"
    assert error["allowed"] == "a text or an object"


def test_own_medium_is_told_of_its_own_fields(client, truck):
    truck["medium"] = {"density_kg_m3": 9, "viscosity": [{"temperature_c": 40, "kinematic_viscosity_mm2_s": 15}]}
    problem = problem_of(client.post("/v1/sizings", json=truck), 422)
    assert {(error["pointer"], error["code"]) for error in problem["errors"]} == {
        ("/medium/density_kg_m3", "out_of_range"),
        ("/medium/viscosity", "wrong_length"),
        ("/medium/pour_point_c", "missing"),
    }


@pytest.mark.parametrize(
    ("changes", "at"),
    [
        ({"/oil_cold_c": 60, "/oil_hot_c": 62}, "/oil_hot_c"),
        ({"/ambient_c": 55, "/oil_hot_c": 50}, "/ambient_c"),
        ({"/front/tyre_rate_n_mm": 3}, "/front/tyre_rate_n_mm"),
        ({"/stock": {"spool": ["matched"], "rod_arrangement": ["through"]}}, "/stock/spool"),
        ({"/corners_fitted": "front", "/duty/0/corners_in_step": 4}, "/duty/0/corners_in_step"),
        ({"/duty/0/share_of_time": 0.7, "/duty/1": {"kind": "suspension_velocity", "share_of_time": 0.6}}, "/duty"),
    ],
)
def test_contradictions_name_the_field_to_look_at(client, office, truck, changes, at):
    for pointer, value in changes.items():
        if pointer == "/duty/1":
            truck["duty"].append(truck["duty"][0] | value)
        else:
            put(truck, pointer, value)
    error = only_error(client, truck)
    assert error["code"] == "contradiction"
    assert error["pointer"] == at
    assert error["detail"]
    assert office.store.count() == 0


def test_axle_without_the_values_it_needs_is_a_contradiction(client, truck):
    del truck["rear"]
    assert only_error(client, truck)["code"] == "contradiction"


def test_oil_colder_than_the_data_hold_names_range_and_source(client, office, truck):
    truck |= {"medium": "mineral_vg68", "oil_cold_c": -45}
    reply = client.post("/v1/sizings", json=truck)
    [error] = problem_of(reply, 422)["errors"]
    assert error["code"] == "outside_data"
    assert error["pointer"] == "/oil_cold_c"
    assert error["given"] == pytest.approx(-45)
    assert error["unit"] == "°C"
    assert error["quantity"]
    assert error["allowed"].endswith("°C")
    assert error["source"]
    assert office.store.count() == 0


def test_unit_that_is_wrong_by_a_factor_is_guessed(client, truck):
    put(truck, "/front/wheel_rate_n_mm", 41000)
    assert only_error(client, truck)["suggestion"].startswith("41 N/mm")


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("temperature_c=hot", "wrong_type"),
        ("temperature_c=nan", "not_finite"),
        ("temperature_c=9999", "out_of_range"),
        ("temperature=20", "unknown_field"),
        ("temperature_c=-90", "outside_data"),
    ],
)
def test_bad_query(client, query, code):
    [error] = problem_of(client.get(f"/v1/media/mineral_vg22?{query}"), 422)["errors"]
    assert error["code"] == code
    assert error["in"] == "query"
    assert error["pointer"].startswith("/temperature")
