"""`POST /v1/comparisons` and the comparison in every sizing: both sides on one demand, the budget, the bad input."""

from __future__ import annotations

import csv
import time
from typing import Any
from xml.etree import ElementTree

import pytest

from models import pipeline
from models.quantity import to_wire
from models.spec import Spec
from service.identity import comparison_id, versions
from service.report.page import page
from tests.conftest import problem_of

AXES = ("vehicle_scale", "supply_duty", "spring_share", "motor_constant", "friction")

COIL = {
    "force_n": 6.0,
    "current_a": 2.0,
    "resistance_ohm": 4.0,
    "voltage_v": 12.0,
    "mass_kg": 0.2,
    "travel_mm": 22.0,
    "turns": 300,
    "wire_gauge": 28,
}
"""A coil of the test's own."""


def asked(client, **body: Any) -> Any:
    reply = client.post("/v1/comparisons", json=body)
    assert reply.status_code in (200, 201), reply.text[:500]
    return reply.json


@pytest.fixture
def block(client, model):
    return client.post("/v1/sizings", json=model).json["comparison"]


def row(side: dict[str, Any], what: str) -> dict[str, Any]:
    return next(row for row in side["table"] if row["what"] == what)


# --- in every sizing ------------------------------------------------------------------------------------------------


def test_a_sizing_carries_its_comparison(client, model):
    sizing = client.post("/v1/sizings", json=model).json
    [side] = sizing["comparison"]["sides"]
    totals, hydraulic = sizing["design"]["totals"], side["hydraulic"]
    for name in ("mass_kg", "mean_power_w", "peak_power_w", "peak_current_a", "standby_power_w", "run_time_h"):
        assert hydraulic[name] == pytest.approx(totals[name], rel=1e-9)
    assert hydraulic["parts"] == sum(part["count"] for part in sizing["design"]["parts"])
    heat = next(ledger for ledger in sizing["ledgers"] if ledger["name"] == "heat")
    work = sum(term["value"] for term in heat["terms"] if term["name"] == "work on the wheel, not heat")
    assert hydraulic["heat_per_corner_w"] == pytest.approx((heat["total"] - work) / 4.0, rel=1e-6)
    assert hydraulic["temperatures"][0]["temperature_c"] == sizing["design"]["centre"]["oil_temperature_c"]
    roles = {sizing["design"][axle]["acts_as"] for axle in ("front", "rear")}
    assert hydraulic["sets_force"] == (roles == {"force_actuator"})


def test_both_sides_reach_the_demand_they_share(client, truck):
    sizing = client.post("/v1/sizings", json=truck).json
    [side] = sizing["comparison"]["sides"]
    for axle in sizing["demand"]["axles"]:
        asked_force = max(abs(p["force_n"]) for duty in axle["duties"] for p in duty["points"])
        for name in ("hydraulic", "electric"):
            [reached] = [a for a in side[name]["axles"] if a["position"] == axle["position"]]
            assert reached["force_peak_n"] >= asked_force * (1.0 - 1e-9)
            assert reached["corners"] == axle["corners"]


def test_every_family_is_shown_both_ways_and_the_ledger_of_each_machine_closes(block):
    shares = {family["spring_share"] for family in block["families"]}
    machines = {family["machine"] for family in block["families"]}
    assert shares == {1.0, 0.0}
    assert len(machines) == 4
    assert [side["spring_share"] for side in block["electric_alone"]] == [0.0]
    assert sum(family["chosen"] for family in block["families"]) == len(block["machines"]) == 2
    for design in block["machines"]:
        corners = sum(machine["corners"] for machine in design["machines"])
        masses = sum(machine["corners"] * machine["masses"]["total_kg"] for machine in design["machines"])
        assert masses == pytest.approx(design["figures"]["mass_kg"], rel=1e-9)
        heat = sum(machine["corners"] * machine["power"]["corner_heat_w"] for machine in design["machines"])
        assert heat == pytest.approx(design["figures"]["heat_w"], rel=1e-9)
        assert corners == 4
        for machine in design["machines"]:
            flow = machine["power"]
            parts = ("copper_w", "iron_w", "friction_w", "transmission_w", "drive_w", "cooling_w")
            assert flow["heat_w"] == pytest.approx(sum(flow[name] for name in parts), rel=1e-9)
            assert abs(flow["residual_w"]) <= 1e-9 * max(flow["heat_w"], flow["absorbed_w"])
            weights = machine["masses"]
            assert weights["total_kg"] == pytest.approx(sum(weights.values()) - weights["total_kg"], rel=1e-9)


def test_the_sentence_gives_the_numbers_of_the_table(block):
    [side] = block["sides"]
    verdict = side["verdict"]
    assert block["verdict"] == verdict["sentence"]
    assert verdict["winner"] == "electric"
    mass, power = row(side, "mounted mass"), row(side, "mean electric power")
    assert verdict["mass_ratio"] == pytest.approx(mass["hydraulic"] / mass["electric"])
    assert verdict["power_ratio"] == pytest.approx(power["hydraulic"] / power["electric"])
    assert f"{power['electric']:.3g} W" in verdict["sentence"]
    assert f"{power['hydraulic']:.3g} W" in verdict["sentence"]
    # at model scale with a parallel spring it must be said how far hydraulics are behind
    assert f"{verdict['power_ratio']:.2g} times the power" in verdict["sentence"]


def test_no_name_of_a_table_row_reaches_a_reader(client, model, truck):
    for spec in (model, truck):
        told = client.post("/v1/sizings", json=spec).json["comparison"]
        for text in texts(told):
            assert not any(mark in text for mark in ("pm_", "ndfeb_", "smco_", "positional_")), text


def texts(value: Any) -> list[str]:
    if isinstance(value, dict):
        return [text for item in value.values() for text in texts(item)]
    if isinstance(value, list):
        return [text for item in value for text in texts(item)]
    return [value] if isinstance(value, str) else []


def test_an_infeasible_sizing_is_compared_too(client):
    spec = client.get("/v1/examples/infeasible").json
    told = client.post("/v1/sizings", json=spec).json["comparison"]
    [side] = told["sides"]
    assert side["verdict"]["winner"] == "neither"
    for name in ("hydraulic", "electric"):
        assert side[name]["lacks"]
        assert max(lack["times"] for lack in side[name]["lacks"]) > 1.0
    assert "-fold" in told["verdict"]


def test_a_demand_of_nothing_has_no_comparison(client, truck):
    for axle in ("front", "rear"):
        truck[axle] |= {"retained_damping_n_s_m": 1500, "reference_damping_n_s_m": 1500}
    truck["duty"] = [{"kind": "road", "road_class": "C", "speed_km_h": 60, "control": {"law": "passive"}}]
    assert client.post("/v1/sizings", json=truck).json["comparison"] is None
    told = asked(client, spec=truck, axis="friction")
    assert told["comparison"] is None
    assert told["crossovers"] == told["figures"] == []


def test_a_bus_that_can_drive_no_winding_does_not_end_the_sizing(client, truck):
    truck["bus"] = {"voltage_v": 3.0}
    sizing = client.post("/v1/sizings", json=truck)
    assert sizing.status_code == 201
    [side] = sizing.json["comparison"]["sides"]
    assert not side["electric"]["feasible"]
    assert "bus voltage" in side["verdict"]["sentence"]


# --- the budget and the measured actuator ---------------------------------------------------------------------------


def test_both_sides_are_held_to_the_budget(client, model):
    model["electric_budget"] = {"mass_kg": 0.06, "peak_current_a": 1.0, "continuous_power_w": 2.0}
    told = client.post("/v1/sizings", json=model).json["comparison"]
    [side] = told["sides"]
    lines = {(line["side"], line["what"]): line for line in side["budget"]}
    assert len(lines) == 6
    mass = lines["electric", "mass"]
    assert mass["reached_over_allowed"] == pytest.approx(side["electric"]["mass_kg"] / 0.24)
    assert mass["within"]
    assert not lines["hydraulic", "mass"]["within"]
    assert "divided equally" in lines["hydraulic", "mass"]["note"]
    assert {line["side"] for line in told["budget"]} == {"electric"}


def test_a_measured_actuator_is_told_and_set_against_each_axle(client, model):
    model["measured"] = {"electric_actuator": COIL}
    told = client.post("/v1/sizings", json=model).json["comparison"]["measured"]
    # motor constant: force over the root of I²R
    assert told["diagnosis"]["motor_constant_n_sqrt_w"] == pytest.approx(6.0 / (4.0 * 4.0) ** 0.5)
    assert {(here["position"], here["spring_share"]) for here in told["here"]} == {
        (axle, share) for axle in ("front", "rear") for share in (1.0, 0.0)
    }
    carrying = [here for here in told["here"] if here["spring_share"] == 0.0]
    assert all(not here["against"]["meets"] for here in carrying)
    assert all("heat" in here["sentence"] for here in carrying)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"current_a": 4.0}, ("voltage_v", "resistance_ohm", "current_a")),
        ({"mass_kg": 0.002}, ("mass_kg", "copper")),
        ({"copper_mass_kg": 0.15}, ("copper_mass_kg", "resistance_ohm")),
        ({"force_n": 400.0}, ("force_n", "current_a", "resistance_ohm", "copper")),
        ({"temperature_limit_c": 45, "ambient_c": 44}, ("temperature_limit_c", "ambient_c")),
        ({"coil_inner_diameter_mm": 20, "coil_outer_diameter_mm": 10}, ("coil_outer_diameter_mm",)),
    ],
)
def test_readings_that_contradict_each_other_are_named(client, model, changes, words):
    model["measured"] = {"electric_actuator": COIL | changes}
    for reply in (
        client.post("/v1/sizings", json=model),
        client.post("/v1/specs/check", json=model),
        client.post("/v1/comparisons", json={"spec": model}),
    ):
        [error] = problem_of(reply, 422)["errors"]
        assert error["code"] == "contradiction"
        assert "/measured/electric_actuator" in error["pointer"]
        assert all(word in error["detail"] for word in words), error["detail"]


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (
            {"measured": {"electric_actuator": COIL | {"resistance_ohm": 0.0}}},
            "/measured/electric_actuator/resistance_ohm",
        ),
        ({"electric_budget": {"mass_kg": 0.0}}, "/electric_budget/mass_kg"),
        ({"electric_budget": {"peak_current_a": 0.0}}, "/electric_budget/peak_current_a"),
        ({"electric_budget": {"continuous_power_w": 0.0}}, "/electric_budget/continuous_power_w"),
        ({"electric_budget": {}}, "/electric_budget"),
    ],
)
def test_nothing_where_something_is_needed_is_refused(client, model, place, value):
    errors = problem_of(client.post("/v1/comparisons", json={"spec": model | place}), 422)["errors"]
    assert [error["pointer"] for error in errors] == [f"/spec{value}"]
    errors = problem_of(client.post("/v1/sizings", json=model | place), 422)["errors"]
    assert [error["pointer"] for error in errors] == [value]


# --- asked for by itself --------------------------------------------------------------------------------------------


def test_both_ways_of_carrying_the_weight_are_sized_on_both_sides(client, model):
    told = asked(client, spec=model)
    sized = to_wire(pipeline.size(Spec.model_validate(model), proven=False))
    block = told["comparison"]
    assert [side["electric"]["spring_share"] for side in block["sides"]] == [1.0, 0.0]
    assert block["electric_alone"] == []
    assert block["sides"][0] == sized["comparison"]["sides"][0]
    assert told["demand"] == sized["demand"]
    assert told["crossovers"] == told["figures"] == []
    heavier = row(block["sides"][1], "peak force, front")
    assert heavier["electric"] > row(block["sides"][0], "peak force, front")["electric"]


def test_kept_whole_and_found_again(client, model):
    first = client.post("/v1/comparisons", json={"spec": model})
    assert first.status_code == 201
    renamed = {"spec": model | {"name": "another label"}}
    again = client.post("/v1/comparisons", json=renamed)
    assert (again.status_code, again.get_data()) == (200, first.get_data())
    assert first.json["id"] == comparison_id(renamed, versions())
    at = first.headers["Location"]
    assert client.get(at).get_data() == first.get_data()
    assert client.get(at, headers={"If-None-Match": first.headers["ETag"]}).status_code == 304
    problem_of(client.get(f"/v1/sizings/{first.json['id']}"), 404)
    problem_of(client.get("/v1/comparisons/none"), 404)


@pytest.mark.parametrize("axis", AXES)
def test_an_axis_is_walked_on_both_sides(client, model, axis):
    low = {"spring_share": 0.8, "supply_duty": 0.2}.get(axis, 0.8)
    high = {"spring_share": 1.0, "supply_duty": 1.0}.get(axis, 1.25)
    told = asked(client, spec=model, axis=axis, low=low, high=high, points=2)
    [curve] = told["crossovers"]
    assert [point["value"] for point in curve["points"]] == pytest.approx([low, high])
    first, last = curve["points"]
    assert first["hydraulic_feasible"]
    assert first["electric_feasible"]
    changed = [name for name in first if name.endswith("_w") or name.endswith("_kg") if first[name] != last[name]]
    assert any(name.startswith("hydraulic") for name in changed) or axis == "spring_share"
    assert any(name.startswith("electric") for name in changed)
    assert curve["statements"]
    assert {figure["name"] for figure in told["figures"]} == {
        f"crossover-{axis.replace('_', '-')}-{metric}"
        for metric in ("mass", "mean-power", "peak-current", "heat-per-corner")
    }
    for figure in told["figures"]:
        assert [curve["label"] for curve in figure["curves"]] == ["hydraulic", "electric"]


def test_curves_are_drawn_at_addresses_of_their_own(client, model):
    told = asked(client, spec=model, axis="friction", points=2)
    listed = client.get(told["links"]["plots"]).json["plots"]
    assert [plot["name"] for plot in listed] == [figure["name"] for figure in told["figures"]]
    assert listed
    for plot, figure in zip(listed, told["figures"], strict=True):
        drawn = client.get(plot["link"])
        assert drawn.content_type.startswith("image/svg+xml")
        ElementTree.fromstring(drawn.text)
        table = list(csv.reader(client.get(plot["link"], query_string={"format": "csv"}).text.splitlines()))
        assert [row[0].lstrip("\ufeff") for row in table[1:]] == [
            curve["label"] for curve in figure["curves"] for _ in curve["x"]
        ]
    problem_of(client.get(f"{told['links']['plots']}/none-such"), 404)
    problem_of(client.get("/v1/comparisons/none-such/plots"), 404)


def test_the_spec_s_own_place_on_an_axis_is_its_comparison(client, truck):
    told = asked(client, spec=truck, axis="friction", low=0.5, high=1.5, points=3)
    [side] = [side for side in told["comparison"]["sides"] if side["electric"]["spring_share"] == 1.0]
    own = told["crossovers"][0]["points"][1]
    assert own["value"] == 1.0
    for name in ("hydraulic", "electric"):
        for figure in ("mass_kg", "mean_power_w", "peak_current_a", "heat_per_corner_w"):
            assert own[f"{name}_{figure}"] == pytest.approx(side[name][figure], rel=1e-9)


def test_a_heavier_friction_never_makes_the_truck_s_hydraulics_thriftier(client, truck):
    truck["objective"] = "power"
    [curve] = asked(client, spec=truck, axis="friction", low=0.5, high=2.0, points=3)["crossovers"]
    powers = [point["hydraulic_mean_power_w"] for point in curve["points"]]
    assert powers == sorted(powers)


@pytest.mark.parametrize("arrangement", ["series", "corner_accumulator"])
def test_where_the_actuator_carries_the_weight_by_its_nature(client, arrangement):
    spec = client.get("/v1/examples/off_road").json | {"arrangement": arrangement}
    spec.pop("weight_carried_by", None)
    sizing = client.post("/v1/sizings", json=spec).json
    [side] = sizing["comparison"]["sides"]
    assert side["electric"]["spring_share"] == side["hydraulic"]["spring_share"] == 0.0
    [alone] = sizing["comparison"]["electric_alone"]
    assert alone["spring_share"] == 1.0
    assert f"{alone['mean_power_w']:.3g} W in the mean" in sizing["comparison"]["verdict"]
    assert any("in line with it" in note for note in sizing["comparison"]["notes"])
    for axle, demand in zip(side["hydraulic"]["axles"], sizing["demand"]["axles"], strict=True):
        asked_force = max(p["force_n"] for duty in demand["duties"] for p in duty["points"])
        assert axle["force_peak_n"] >= asked_force
    [error] = problem_of(client.post("/v1/comparisons", json={"spec": spec, "axis": "spring_share"}), 422)["errors"]
    assert error["code"] == "contradiction"
    told = asked(client, spec=spec, axis="vehicle_scale", low=0.9, high=1.1, points=3)
    own = told["crossovers"][0]["points"][1]
    assert own["value"] == pytest.approx(0.99498743710662)
    assert own["hydraulic_mass_kg"] == pytest.approx(side["hydraulic"]["mass_kg"], rel=0.2)


def test_all_axes_at_once(client):
    spec = client.get("/v1/examples/model_rig").json
    told = asked(client, spec=spec, axis="all", points=2)
    assert [curve["axis"] for curve in told["crossovers"]] == list(AXES)
    assert all(curve["means"] for curve in told["crossovers"])


def test_a_weak_bus_is_a_contradiction(client, truck):
    truck["bus"] = {"voltage_v": 3.0}
    [error] = problem_of(client.post("/v1/comparisons", json={"spec": truck}), 422)["errors"]
    assert error["pointer"] == "/spec/bus/voltage_v"
    assert error["code"] == "contradiction"
    assert error["given"] == 3.0
    assert error["allowed"].startswith("at least")


def test_what_no_machine_can_do_is_an_answer_that_says_by_how_much(client):
    spec = client.get("/v1/examples/infeasible").json
    told = asked(client, spec=spec)
    for side in told["comparison"]["sides"]:
        assert side["verdict"]["winner"] == "neither"
        assert max(lack["times"] for lack in side["electric"]["lacks"]) > 1.0


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"axis": "weight"}, "/axis", "unknown_value"),
        ({"axis": "friction", "low": 2, "high": 1}, "", "contradiction"),
        ({"axis": "spring_share", "high": 2}, "", "contradiction"),
        ({"low": 1}, "", "contradiction"),
        ({"axis": "friction", "points": 1}, "/points", "out_of_range"),
        ({"axis": "friction", "points": 2.5}, "/points", "wrong_type"),
        ({"axis": "friction", "step": 2}, "/step", "unknown_field"),
        ({"axis": "friction", "low": -1}, "/low", "out_of_range"),
    ],
)
def test_requests_that_mean_nothing_are_refused(client, model, changes, pointer, code):
    errors = problem_of(client.post("/v1/comparisons", json={"spec": model} | changes), 422)["errors"]
    assert (pointer, code) in {(error["pointer"], error["code"]) for error in errors}


def test_faults_of_the_spec_are_told_where_they_stand(client, model):
    model["medium"] = "treacle"
    model["front"]["sprung_mass_kg"] = -1
    errors = problem_of(client.post("/v1/comparisons", json={"spec": model}), 422)["errors"]
    assert {error["pointer"] for error in errors} == {"/spec/medium", "/spec/front/sprung_mass_kg"}
    errors = problem_of(client.post("/v1/comparisons", json={}), 422)["errors"]
    assert [error["pointer"] for error in errors] == ["/spec"]
    problem_of(client.post("/v1/comparisons", json=[]), 422)


def test_where_the_oil_does_not_hold_is_told_below_the_spec(client, model):
    model["oil_cold_c"] = -50
    [error] = problem_of(client.post("/v1/comparisons", json={"spec": model}), 422)["errors"]
    assert error["pointer"] == "/spec/oil_cold_c"


def test_a_long_one_as_a_job(client, truck):
    body = {"spec": truck, "axis": "friction", "points": 4}
    reply = client.post("/v1/comparisons", json=body, headers={"Prefer": "respond-async"})
    assert reply.status_code == 202
    assert reply.json["kind"] == "comparison"
    job = ended(client, reply.headers["Location"])
    assert job["state"] == "done"
    told = client.get(job["result"])
    assert len(told.json["crossovers"][0]["points"]) == 4
    again = client.post("/v1/comparisons", json=body, headers={"Prefer": "respond-async"})
    assert (again.status_code, again.get_data()) == (200, told.get_data())


def test_a_job_that_is_cancelled_leaves_no_comparison(client, office, model):
    body = {"spec": model, "axis": "vehicle_scale", "points": 200}
    at = client.post("/v1/comparisons", json=body, headers={"Prefer": "respond-async"}).headers["Location"]
    for _ in range(600):
        if client.get(at).json["progress"]["share"] > 0.0:
            break
        time.sleep(0.05)
    assert client.delete(at).status_code == 202
    assert ended(client, at)["state"] == "cancelled"
    assert office.comparisons.count() == 0


def test_a_contradiction_in_a_job_is_its_problem(client, truck):
    truck["bus"] = {"voltage_v": 3.0}
    reply = client.post("/v1/comparisons", json={"spec": truck}, headers={"Prefer": "respond-async"})
    job = ended(client, reply.headers["Location"])
    assert job["state"] == "failed"
    assert job["problem"]["errors"][0]["pointer"] == "/spec/bus/voltage_v"


def ended(client, at: str) -> dict[str, Any]:
    for _ in range(1200):
        job = client.get(at).json
        if job["state"] in ("done", "failed", "cancelled"):
            return job
        time.sleep(0.05)
    raise AssertionError(f"the job has not ended: {job}")


# --- shown ----------------------------------------------------------------------------------------------------------


def test_the_report_shows_verdict_table_and_budget(client, model):
    model["electric_budget"] = {"mass_kg": 0.06}
    model["measured"] = {"electric_actuator": COIL}
    sizing = client.post("/v1/sizings", json=model).json
    text = client.get(f"/v1/sizings/{sizing['id']}/report").text
    section = text[text.index('<section id="comparison"') :]
    section = section[: section.index("</section>")]
    assert "mounted mass" in section
    assert "The budget, line by line" in section
    assert "The measured actuator" in section
    assert "pm_" not in section
    assert "ndfeb_" not in section
    bare = page({**sizing, "comparison": None}, {})
    assert '<section id="comparison"' not in bare
