"""Ledgers: each sums to its total, power and mass agree with the totals, heat leaves by where it can, on examples and
on random specs."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service import ready_specs
from tests.pipeline.cases import (
    CRAWLER,
    CRAWLER_AS_BUILT,
    CRAWLER_SHELF,
    VAN,
    VAN_AS_BUILT,
    VAN_SHELF,
    changed,
    sized,
    with_shelf,
)

NAMES = {"truck": ready_specs.example("truck"), "model": ready_specs.example("model"), "van": VAN_AS_BUILT}
NAMES |= {"infeasible": ready_specs.example("infeasible"), "crawler": CRAWLER_AS_BUILT}
CONTROLLED = {"pump_displacement_cm3_rev": [20.0], "motor_power_w": [25e3], "accumulator_volume_l": [2.4]}
NAMES |= {
    control: with_shelf(changed(VAN, bus__voltage_v=350.0), VAN_SHELF, pump_control=[control], **CONTROLLED)
    for control in ("relief", "unloading", "speed")
}


def by_name(answer: Any) -> dict[str, Any]:
    return {ledger["name"]: ledger for ledger in answer["ledgers"]}


def check_closed(answer: Any) -> None:
    for ledger in answer["ledgers"]:
        values = [term["value"] for term in ledger["terms"]]
        scale = max(abs(ledger["total"]), *(abs(v) for v in values), 1e-300)
        assert abs(ledger["total"] - math.fsum(values)) <= 1e-9 * scale, ledger
        assert abs(ledger["residual"]) <= 1e-9, ledger


def check_totals(answer: Any) -> None:
    ledgers, totals = by_name(answer), answer["design"]["totals"]
    assert ledgers["power"]["total"] == pytest.approx(totals["mean_power_w"], rel=1e-9)
    assert ledgers["mass"]["total"] == pytest.approx(totals["mass_kg"], rel=1e-9)
    assert math.fsum(part["mass_kg"] for part in answer["design"]["parts"]) == pytest.approx(
        totals["mass_kg"], rel=1e-9
    )


@pytest.mark.parametrize("name", sorted(NAMES))
def test_every_ledger_closes(name):
    answer = sized(NAMES[name])
    check_closed(answer)
    check_totals(answer)
    axles = [axle for axle in ("front", "rear") if answer["design"][axle]]
    assert set(by_name(answer)) == {*(f"pressure, {a}" for a in axles), "flow", "power", "heat", "mass"}


@pytest.mark.parametrize("name", ["truck", "model", "van", "crawler", "relief", "unloading"])
def test_no_term_of_a_feasible_plant_is_negative(name):
    # losses, leaks, heat and masses only ever take; work on the wheel may have either sign, here it is nil
    answer = sized(NAMES[name])
    assert answer["outcome"] != "infeasible"
    for ledger in answer["ledgers"]:
        for term in ledger["terms"]:
            assert term["value"] >= 0.0, (ledger["name"], term)


@pytest.mark.parametrize("name", ["truck", "model", "van", "crawler"])
def test_flow_and_power_ledgers_meet_where_they_must(name):
    # second route: leakage power is leakage flow at supply pressure; the pump delivers the mean flow
    answer = sized(NAMES[name])
    ledgers, design = by_name(answer), answer["design"]
    flow = {t["name"]: t["value"] for t in ledgers["flow"]["terms"]}
    power = {t["name"]: t["value"] for t in ledgers["power"]["terms"]}
    pressure = design["supply_pressure_bar"] * 1e5 / 6e4
    for axle in ("front", "rear"):
        leak = flow[f"{axle} valves, null leakage"] + flow[f"{axle} seals, leakage"]
        assert power[f"{axle} valves and seals, leakage"] == pytest.approx(leak * pressure, rel=1e-9)
    assert ledgers["flow"]["total"] == pytest.approx(design["centre"]["mean_flow_l_min"], rel=1e-9)


@pytest.mark.parametrize("name", ["truck", "model", "van", "crawler"])
def test_heat_ends_where_power_began(name):
    # with no work on the wheel all the bus gives leaves as heat; the oil's share is what reservoir and cooler take
    answer = sized(NAMES[name])
    heat = {t["name"]: t["value"] for t in by_name(answer)["heat"]["terms"]}
    assert by_name(answer)["heat"]["total"] == pytest.approx(answer["design"]["totals"]["mean_power_w"], rel=1e-9)
    oil = heat["reservoir to the air"] + heat["cooler to the air"]
    assert oil == pytest.approx(answer["design"]["centre"]["heat_to_oil_w"], rel=1e-9)


def test_what_the_road_gives_becomes_heat():
    # a phase of 180°: the actuator brakes; all corners absorb F·v/2 for the share of time, beyond what the bus gives
    braking = {
        f"duty__0__{axle}__{name}": value
        for axle in ("front", "rear")
        for name, value in (("force_velocity_phase_deg", 180.0),)
    }
    answer = sized(with_shelf(changed(VAN, **braking), VAN_SHELF))
    check_closed(answer)
    absorbed = sum(
        2 * 0.7 * duty["force_rms_n"] * duty["velocity_rms_m_s"]
        for axle in answer["demand"]["axles"]
        for duty in axle["duties"]
    )
    heat = by_name(answer)["heat"]["total"]
    assert heat == pytest.approx(answer["design"]["totals"]["mean_power_w"] + absorbed, rel=1e-6)


def test_relief_spills_what_is_not_used():
    # a relief-held pump at full speed: all it delivers beyond the demand crosses the relief valve at full pressure
    answer = sized(NAMES["relief"])
    design, ledgers = answer["design"], by_name(answer)
    flow = {t["name"]: t["value"] for t in ledgers["flow"]["terms"]}
    spilled = design["centre"]["pump_flow_l_min"] - design["centre"]["mean_flow_l_min"]
    assert flow["over the relief valve"] == pytest.approx(spilled, rel=1e-9)
    power = {t["name"]: t["value"] for t in ledgers["power"]["terms"]}
    pressure = design["supply_pressure_bar"] * 1e5 / 6e4
    assert power["over the relief valve"] == pytest.approx(spilled * pressure, rel=1e-9)
    assert design["totals"]["mean_power_w"] > 2 * sized(NAMES["speed"])["design"]["totals"]["mean_power_w"]


SIZES = {
    "van": (VAN, VAN_SHELF, {
        "bore_mm": (20.0, 50.0), "line_bore_mm": (8.0, 16.0), "pressure_bar": (60.0, 200.0),
        "valve_rated_flow_l_min": (16.0, 90.0), "pump_displacement_cm3_rev": (6.0, 30.0), "motor_power_w": (4e3, 29e3),
        "accumulator_volume_l": (0.4, 2.4),
    }),
    "crawler": (CRAWLER, CRAWLER_SHELF, {
        "bore_mm": (4.0, 10.0), "line_bore_mm": (1.5, 3.0), "pressure_bar": (8.0, 40.0),
        "valve_rated_flow_l_min": (0.3, 3.0), "pump_displacement_cm3_rev": (0.08, 0.6), "motor_power_w": (60.0, 400.0),
        "accumulator_volume_l": (0.006, 0.1),
    }),
}  # fmt: skip


@st.composite
def shelves(draw: st.DrawFn) -> Any:
    """A van or a crawler with one size of each part drawn at random, most of which do not serve."""
    base, shelf, spans = SIZES[draw(st.sampled_from(sorted(SIZES)))]
    sizes: dict[str, Any] = {name: [round(draw(st.floats(*span)), 4)] for name, span in spans.items()}
    sizes["rod_mm"] = [round(sizes["bore_mm"][0] * draw(st.floats(0.35, 0.75)), 3)]
    sizes["rod_arrangement"] = [draw(st.sampled_from(["single", "through"]))]
    if sizes["rod_arrangement"] == ["single"]:  # equal areas match a symmetric spool
        sizes["spool"] = [draw(st.sampled_from(["symmetric", "matched"]))]
    sizes["anti_cavitation"] = [draw(st.booleans())]
    sizes["return_bias_bar"] = [draw(st.sampled_from([0.0, 2.0]))]
    sizes["pump_control"] = [draw(st.sampled_from(["relief", "unloading", "speed"]))]
    if draw(st.booleans()):
        sizes["accumulator_volume_l"] = [0.0]
    phase = draw(st.none() | st.floats(-180.0, 180.0))
    axles = {f"duty__0__{axle}__force_velocity_phase_deg": phase for axle in ("front", "rear")}
    weight = draw(st.sampled_from(["spring", "actuator"]))
    fitted = draw(st.sampled_from(["four", "front", "rear", "one"]))
    return with_shelf(changed(base, **axles, weight_carried_by=weight, corners_fitted=fitted), shelf, **sizes)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(shelves())
def test_ledgers_close_on_random_shelves(document):
    answer = sized(document)
    check_closed(answer)
    check_totals(answer)
    assert (answer["outcome"] == "infeasible") == bool(answer["search"]["unmet"])
    assert (answer["search"]["front_size"] > 0) == (answer["outcome"] != "infeasible")
