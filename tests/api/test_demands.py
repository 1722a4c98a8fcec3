"""POST /v1/demands: what the actuators must do, from a road and a speed, in one arrangement or in all three."""

from __future__ import annotations

import math

import pytest

from service import ready_specs
from tests.conftest import problem_of

ROAD = {"kind": "road", "label": "lane", "road_class": "C", "speed_km_h": 50, "share_of_time": 0.4}
UNSTABLE = ROAD | {"control": {"law": "lqr", "tyre_weight": 50, "bandwidth_hz": 3}}
BEND = {"kind": "manoeuvre", "lateral_acceleration_m_s2": 3, "rise_time_s": 0.5, "hold_s": 1, "share_of_time": 0.05}
ARRANGEMENTS = ["parallel", "series", "corner_accumulator"]
OTHERS = ARRANGEMENTS[1:]


@pytest.fixture
def driven():
    return ready_specs.example("truck_on_road")


@pytest.fixture
def undamped(truck):
    """The truck with no damper kept, whose ride law leans on the wheel behind a lag: it swings ever further."""
    for axle in ("front", "rear"):
        truck[axle]["retained_damping_n_s_m"] = 0
    return truck | {"duty": [UNSTABLE]}


def demanded(client, spec):
    reply = client.post("/v1/demands", json=spec)
    assert reply.status_code == 200, reply.text[:400]
    return reply.json


def test_a_road_and_a_speed_are_answered_in_all_arrangements(client, office, driven):
    answer = demanded(client, driven)
    assert answer["name"] == driven["name"]
    assert answer["effective_spec"]["arrangement"] == "parallel"
    assert [one["arrangement"] for one in answer["arrangements"]] == ARRANGEMENTS
    assert [duty["label"] for duty in answer["duties"]] == ["country road", "speed hump", "bend"]
    road, hump, _ = answer["duties"]
    assert len(road["spectra"][0]["frequency_hz"]) > 20
    assert len(hump["traces"]) >= 2
    assert 0.0 < road["reduction"] < 1.0
    assert {axle["position"] for axle in answer["governing"]} == {"front", "rear"}
    assert answer["mix"]["standby_share"] == pytest.approx(0.39)
    assert office.store.count() == 0


def test_side_by_side_agrees_with_the_demand(client, driven):
    answer = demanded(client, driven)
    for axle, beside in zip(answer["demand"]["axles"], answer["arrangements"][0]["axles"], strict=True):
        for name in ("force_peak_n", "velocity_peak_m_s", "stroke_mm", "bandwidth_hz"):
            assert beside[name] == max(duty[name] for duty in axle["duties"])


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_a_named_arrangement_is_answered_alone(client, driven, arrangement):
    side_by_side = demanded(client, driven)["arrangements"]
    answer = demanded(client, driven | {"arrangement": arrangement})
    assert answer["arrangements"] == [side_by_side[ARRANGEMENTS.index(arrangement)]]
    static = 0.0 if arrangement == "parallel" else 600 * 9.80665  # standard gravity: ISO 80000-3
    assert answer["demand"]["axles"][0]["static_force_n"] == pytest.approx(static)


def test_the_valve_an_arrangement_needs(client, model):
    """By hand, for a sinusoid: K·v/(2π·F), K the least column (reduced mass at the control bandwidth) or the spring."""
    mass = 0.3 * 0.085 / (0.3 + 0.085)
    motion = {"wheel_velocity_m_s": 0.2, "wheel_force_n": 0.5, "frequency_hz": 4}
    model["duty"] = [{"kind": "suspension_velocity", "front": motion}]
    answer = demanded(client, model | {"corners_fitted": "one"})
    beside, in_line, _ = (one["valves"][0] for one in answer["arrangements"])
    column = mass * (2 * math.pi * 4) ** 2
    assert beside["stiffness_n_mm"] == pytest.approx(column / 1e3)
    assert beside["disturbance_bandwidth_hz"] == pytest.approx(column * 0.2 / 0.5 / (2 * math.pi))
    assert (beside["control_bandwidth_hz"], beside["holds"]) == (4.0, "at_least")
    assert in_line["stiffness_n_mm"] == pytest.approx(0.17)
    force = in_line["force_wanted_n"]
    assert in_line["disturbance_bandwidth_hz"] == pytest.approx(170 * 0.2 / math.sqrt(2) / force / (2 * math.pi))
    assert (in_line["control_bandwidth_hz"], in_line["holds"]) == (pytest.approx(12.0), "at_most")


def test_force_control_is_said_plainly(client, driven):
    slow = {"rated_flow_l_min": 10, "rated_pressure_drop_bar": 70, "bandwidth_hz": 5, "null_leakage_l_min": 0.3}
    slow |= {"leakage_pressure_bar": 140, "mass_kg": 1}
    for valve, able in ((slow, False), (slow | {"bandwidth_hz": 900}, True)):
        answer = demanded(client, driven | {"measured": {"valve": valve}})
        for one in answer["arrangements"]:
            assert one["fast_enough"] == (["your own valve"] if able else [])
            assert ("no force actuator" in one["statement"]) is not able


def test_sizing_needs_no_faster_valve_than_the_demand_says_at_least(client, driven):
    needed = min(valve["valve_bandwidth_hz"] for valve in demanded(client, driven)["arrangements"][0]["valves"])
    design = client.post("/v1/sizings", json=driven).json["design"]
    for axle in ("front", "rear"):
        assert design[axle]["acts_as"] != "force_actuator"
        assert design[axle]["valve_bandwidth_hz"] < needed


@pytest.mark.parametrize("arrangement", OTHERS)
def test_every_arrangement_is_sized_for_its_own_demand(client, office, driven, arrangement):
    driven["arrangement"] = arrangement
    response = client.post("/v1/sizings", json=driven)
    assert response.status_code == 201
    sizing = response.json
    assert sizing["outcome"] == "feasible_with_warnings"
    assert sizing["effective_spec"]["arrangement"] == arrangement
    [view] = demanded(client, driven)["arrangements"]
    for axle, beside in zip(sizing["demand"]["axles"], view["axles"], strict=True):
        corner = sizing["design"][axle["position"]]
        assert (corner["gas"] is not None) == (arrangement == "corner_accumulator")
        assert corner["spring_between_n_mm"] == pytest.approx(beside["spring_between_n_mm"])
        assert corner["stiffness_against_n_mm"] < beside["spring_between_n_mm"]
        assert corner["holding_pressure_bar"] > 0.0
    assert office.store.count() == 1
    for form in ("report", "parts", "circuit"):
        assert client.get(f"/v1/sizings/{sizing['id']}/{form}").status_code == 200


@pytest.mark.parametrize("arrangement", OTHERS)
def test_a_fast_valve_and_a_spring_between_make_a_force_actuator(client, driven, arrangement):
    design = client.post("/v1/sizings", json=driven | {"arrangement": arrangement}).json["design"]
    assert {design[axle]["acts_as"] for axle in ("front", "rear")} == {"force_actuator"}
    for axle in ("front", "rear"):
        assert design[axle]["velocity_disturbance_force_n"] < design[axle]["force_wanted_n"]


def test_unstable_law_is_told_and_sized_as_infeasible(client, undamped):
    answer = demanded(client, undamped)
    assert answer["duties"] == []
    assert answer["demand"]["axles"][0]["duties"] == []
    assert answer["demand"]["unmet"][0]["what"] == "a stable ride law, lane"
    sizing = client.post("/v1/sizings", json=undamped).json
    assert sizing["outcome"] == "infeasible"
    assert sizing["design"] is None
    assert sizing["search"]["unmet"][0]["constraint"] == "a stable ride law, lane"
    assert "ride_law_unstable" in {warning["code"] for warning in sizing["warnings"]}


def test_rest_of_the_duties_is_sized_beside_an_unstable_one(client, undamped):
    undamped["duty"].append(BEND)
    sizing = client.post("/v1/sizings", json=undamped).json
    assert sizing["outcome"] == "infeasible"
    assert sizing["design"]["totals"]["mass_kg"] > 1.0
    assert [miss["constraint"] for miss in sizing["search"]["unmet"]] == ["a stable ride law, lane"]


def test_a_target_no_law_reaches_is_told_with_what_is_reached(client, truck):
    truck["duty"] = [ROAD | {"control": {"target_reduction": 0.95}}]
    answer = demanded(client, truck)
    target = answer["duties"][0]["target"]
    assert not target["met"]
    miss = client.post("/v1/sizings", json=truck).json["search"]["unmet"][-1]
    assert miss["concerns"] == "demand"
    assert miss["need"] == 0.95
    assert miss["allowance"] < 0.95


@pytest.mark.parametrize("also", [[], [BEND]])
def test_a_law_that_adds_nothing(client, truck, also):
    for axle in ("front", "rear"):
        truck[axle] |= {"retained_damping_n_s_m": 1500, "reference_damping_n_s_m": 1500}
    truck["duty"] = [ROAD | {"control": {"law": "passive"}}, *also]
    answer = demanded(client, truck)
    assert answer["demand"]["axles"][0]["duties"][0]["force_rms_n"] == 0.0
    assert ("no force" in answer["arrangements"][0]["statement"]) is not bool(also)
    sizing = client.post("/v1/sizings", json=truck).json
    misses = [(miss["concerns"], miss["constraint"]) for miss in sizing["search"]["unmet"]]
    if also:
        assert misses == []
        assert sizing["design"]["front"]["acts_as"] in ("force_actuator", "position_actuator", "slow_leveller")
    else:
        assert misses == [("front", "force_asked"), ("rear", "force_asked")]
        assert sizing["design"] is None


def test_two_roads_of_one_label_are_kept_apart(client, truck):
    rough = ROAD | {"road_class": "E"}
    alone = [demanded(client, truck | {"duty": [road]})["arrangements"][1]["valves"] for road in (ROAD, rough)]
    both = demanded(client, truck | {"duty": [ROAD, rough]})["arrangements"][1]["valves"]
    for a, b, together in zip(*alone, both, strict=True):
        most = max(a["disturbance_bandwidth_hz"], b["disturbance_bandwidth_hz"])
        assert together["disturbance_bandwidth_hz"] == pytest.approx(most)


@pytest.mark.parametrize("name", ["truck_on_road", "model_rig"])
def test_ready_specs_without_a_force_are_sized(client, name):
    spec = ready_specs.example(name)
    assert "force" not in str(spec["duty"])
    sizing = client.post("/v1/sizings", json=spec).json
    assert sizing["outcome"] in ("feasible", "feasible_with_warnings")
    # developers' estimate, no source: the least plant weighs between a hundredth and twice what its corners carry
    sprung = sum(axle["corners"] * axle["sprung_mass_kg"] for axle in sizing["demand"]["axles"])
    assert 0.01 * sprung < sizing["design"]["totals"]["mass_kg"] < 2.0 * sprung


def test_stroke_beyond_travel_is_told_once_an_axle(client, truck):
    truck["duty"][0]["front"]["frequency_hz"] = 0.5
    warnings = client.post("/v1/sizings", json=truck).json["warnings"]
    assert [w["concerns"] for w in warnings if w["code"] == "stroke_exceeds_travel"] == [
        "demand.front.broken country road"
    ]


def test_field_errors_as_everywhere(client, driven):
    driven["duty"][0]["road_class"] = "K"
    [error] = problem_of(client.post("/v1/demands", json=driven), 422)["errors"]
    assert error["pointer"] == "/duty/0/road_class"
    problem_of(client.get("/v1/demands"), 405)
