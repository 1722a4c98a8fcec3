"""What differs between two sizings: the differ on small documents, and over HTTP."""

from __future__ import annotations

import copy

from service.differ import compare
from tests.conftest import problem_of

THIS = {
    "id": "a",
    "model_version": "1",
    "data_version": "d",
    "effective_spec": {"name": "one", "bus": {"voltage_v": 24.0}, "duty": [{"label": "x", "share_of_time": 1.0}]},
    "demand": {"axles": [{"position": "front", "stroke_mm": 10.0}, {"position": "rear", "stroke_mm": 12.0}]},
    "design": {"supply_pressure_bar": 100.0, "fl/fr": None},
    "ledgers": {"power": [{"name": "pump", "power_w": 5.0}, {"name": "valves", "power_w": 2.0}]},
    "outcome": "feasible",
    "warnings": [{"code": "hot", "concerns": "design.reservoir", "value": 61.0}],
}


def told(this, other):
    return [(d.stage, d.pointer, d.change, d.this, d.other) for d in compare(this, other).differences]


def test_nothing_differs_from_itself():
    assert told(THIS, copy.deepcopy(THIS)) == []


def test_causes_come_before_effects():
    other = copy.deepcopy(THIS)
    other["warnings"] = []
    other["outcome"] = "infeasible"
    other["ledgers"]["power"][0]["power_w"] = 6.0
    other["design"] = None
    other["demand"]["axles"][1]["stroke_mm"] = 13.0
    other["effective_spec"]["bus"]["voltage_v"] = 48.0
    other["model_version"] = "2"
    assert told(THIS, other) == [
        ("versions", "/model_version", "changed", "1", "2"),
        ("spec", "/effective_spec/bus/voltage_v", "changed", 24.0, 48.0),
        ("demand", "/demand/axles/1/stroke_mm", "changed", 12.0, 13.0),
        ("design", "/design", "changed", THIS["design"], None),
        ("ledgers", "/ledgers/power/0/power_w", "changed", 5.0, 6.0),
        ("outcome", "/outcome", "changed", "feasible", "infeasible"),
        ("warnings", "/warnings/0", "only_this", THIS["warnings"][0], None),
    ]


def test_items_of_a_list_are_matched_by_what_they_are():
    other = copy.deepcopy(THIS)
    other["demand"]["axles"].reverse()
    other["ledgers"]["power"].insert(0, {"name": "filter", "power_w": 0.5})
    assert told(THIS, other) == [
        ("ledgers", "/ledgers/power/0", "only_other", None, {"name": "filter", "power_w": 0.5})
    ]


def test_labels_are_no_difference_and_names_of_terms_are():
    other = copy.deepcopy(THIS)
    other["effective_spec"]["name"] = "two"
    other["effective_spec"]["duty"][0]["label"] = "y"
    assert told(THIS, other) == []


def test_rounding_is_no_difference_and_pointers_are_escaped():
    other = copy.deepcopy(THIS)
    other["design"]["supply_pressure_bar"] *= 1.0 + 1e-12
    other["design"]["fl/fr"] = 1.0
    assert told(THIS, other) == [("design", "/design/fl~1fr", "changed", None, 1.0)]


def test_two_sizings_are_told_apart_over_http(client, truck):
    heavier = copy.deepcopy(truck)
    heavier["duty"][0]["front"]["wheel_force_n"] *= 1.2
    first = client.post("/v1/sizings", json=truck).json
    second = client.post("/v1/sizings", json=heavier).json
    reply = client.get(f"/v1/sizings/{first['id']}?against={second['id']}")
    assert reply.status_code == 200
    assert (reply.json["id"], reply.json["against"]) == (first["id"], second["id"])
    found = reply.json["differences"]
    assert found[0] == {
        "stage": "spec",
        "pointer": "/effective_spec/duty/0/front/wheel_force_n",
        "change": "changed",
        "this": 3000.0,
        "other": 3600.0,
    }
    stages = ["versions", "spec", "demand", "design", "ledgers", "outcome", "warnings"]
    places = [stages.index(difference["stage"]) for difference in found]
    assert places == sorted(places)
    assert {"spec", "demand", "design"} <= {difference["stage"] for difference in found}
    same = client.get(f"/v1/sizings/{first['id']}?against={first['id']}")
    assert same.json["differences"] == []


def test_unknown_other_sizing_is_404(client, truck):
    address = client.post("/v1/sizings", json=truck).headers["Location"]
    problem_of(client.get(f"{address}?against=0"), 404)
    [error] = problem_of(client.get(f"{address}?agianst=0"), 422)["errors"]
    assert error["suggestion"] == "against"
