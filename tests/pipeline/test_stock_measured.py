"""The user's own parts: one size of each is judged as it is, measurements replace estimates, contradictions show."""

from __future__ import annotations

from typing import Any

import pytest

from models.quantity import OutOfRange
from models.sizing.catalogue import accumulators
from tests.pipeline.cases import (
    CRAWLER,
    CRAWLER_AS_BUILT,
    CRAWLER_SHELF,
    VAN,
    VAN_AS_BUILT,
    VAN_SHELF,
    Document,
    changed,
    sized,
    with_shelf,
)
from tests.pipeline.test_hand_sizing import Oil

ONE_OF_EACH = {
    "as built": {},
    "cylinder too small": {"bore_mm": [16.0], "rod_mm": [10.0]},
    "pressure too low": {"pressure_bar": [20.0]},
    "pressure too high": {"pressure_bar": [390.0]},
    "valve too small": {"valve_rated_flow_l_min": [1.0]},
    "line too narrow": {"line_bore_mm": [3.0]},
    "pump too small": {"pump_displacement_cm3_rev": [1.5]},
    "pump too slow for anything": {"pump_displacement_cm3_rev": [0.02]},
    "motor too weak": {"motor_power_w": [200.0]},
    "no accumulator": {"accumulator_volume_l": [0.0]},
    "unloading without accumulator": {"accumulator_volume_l": [0.0], "pump_control": ["unloading"]},
    "biased above supply": {"pressure_bar": [20.0], "return_bias_bar": [50.0]},
    "rod too thin": {"rod_mm": [8.0]},
}
MISSES = {
    "biased above supply": "force",
    "cylinder too small": "force",
    "line too narrow": "force",
    "motor too weak": "motor_torque",
    "no accumulator": "pump_flow",
    "pressure too high": "pump_pressure",
    "pressure too low": "force",
    "pump too slow for anything": "pump_flow",
    "pump too small": "pump_flow",
    "rod too thin": "buckling",
    "unloading without accumulator": "accumulator_volume",
    "valve too small": "valve_opening",
}
"""What each of these misses; a narrow line eats the pressure that should push."""


@pytest.mark.parametrize("name", sorted(ONE_OF_EACH))
def test_one_size_of_each_is_judged_as_it_is(name):
    shelf = {**VAN_SHELF, **ONE_OF_EACH[name]}
    answer = sized({**VAN, "stock": shelf})
    design = answer["design"]
    for axle in ("front", "rear"):
        corner = design[axle]
        assert corner["bore_mm"] == pytest.approx(shelf["bore_mm"][0])
        assert corner["rod_mm"] == pytest.approx(shelf["rod_mm"][0])
        assert corner["through_rod"] == (shelf["rod_arrangement"] == ["through"])
        assert corner["seal"] == shelf["seal"][0]
        assert corner["valve_rated_flow_l_min"] == pytest.approx(shelf["valve_rated_flow_l_min"][0])
        assert corner["line_bore_mm"] == pytest.approx(shelf["line_bore_mm"][0])
    centre = design["centre"]
    assert design["supply_pressure_bar"] == pytest.approx(shelf["pressure_bar"][0])
    assert design["return_bias_bar"] == pytest.approx(shelf["return_bias_bar"][0])
    assert centre["displacement_cm3_rev"] == pytest.approx(shelf["pump_displacement_cm3_rev"][0])
    assert centre["accumulator_volume_l"] == pytest.approx(shelf["accumulator_volume_l"][0])
    assert f"{shelf['motor_power_w'][0]:g} W" in centre["motor"]
    assert answer["outcome"] == ("feasible_with_warnings" if name == "as built" else "infeasible")
    assert {u["constraint"] for u in answer["search"]["unmet"]} >= ({MISSES[name]} if name in MISSES else set())
    assert len(design["constraints"]) > 20


def test_margins_of_a_design_as_built():
    constraints = sized(VAN_AS_BUILT)["design"]["constraints"]
    for constraint in constraints:
        assert constraint["met"] == (constraint["use"] <= 1.0 + 1e-9)
        if constraint["name"] not in {"cavitation", "wall"} and constraint["allowance"] > 0.0:
            assert constraint["need"] / constraint["allowance"] == pytest.approx(constraint["use"], rel=1e-6)


def test_an_accumulator_on_the_shelf_may_be_of_each_series():
    # accumulators.csv: 1.6 L as a diaphragm for 210 bar, a heavier one for 330 bar, and a piston for 350 bar
    stores, names, _ = accumulators([1.6e-3])
    found = {
        (name.split()[0], round(p / 1e5), round(m, 6))
        for name, p, m in zip(names, stores.max_pressure, stores.mass, strict=True)
    }
    assert found >= {("diaphragm", 210, 5.8), ("diaphragm", 330, 9.0), ("piston", 350, 11.0)}


def test_open_choices_of_a_shelf_are_searched():
    # the same sizes with seal, rod arrangement, spool, checks, bias and control left open: no worse than as built
    open_shelf = {
        name: VAN_SHELF[name]
        for name in VAN_SHELF
        if name not in {"seal", "rod_arrangement", "spool", "anti_cavitation", "return_bias_bar", "pump_control"}
    }
    for objective, total in (("mass", "mass_kg"), ("power", "mean_power_w")):
        best = sized(changed({**VAN, "stock": open_shelf}, objective=objective))
        built = sized(changed(VAN_AS_BUILT, objective=objective))
        assert best["outcome"] == "feasible_with_warnings"
        assert best["design"]["totals"][total] <= built["design"]["totals"][total] * (1 + 1e-9)


PUMP = {
    "displacement_cm3_rev": 0.2, "speed_rpm": 5000.0, "pressure_bar": 25.0, "flow_l_min": 0.85, "current_a": 9.0,
    "mass_kg": 0.45,
}  # fmt: skip
VALVE = {
    "rated_flow_l_min": 1.0, "rated_pressure_drop_bar": 70.0, "bandwidth_hz": 55.0, "null_leakage_l_min": 0.006,
    "leakage_pressure_bar": 25.0, "mass_kg": 0.07,
}  # fmt: skip
CYLINDER = {"breakaway_pressure_bar": 0.3, "leakage_l_min": 0.0004, "leakage_pressure_bar": 25.0}


def with_measured(**parts: Document) -> Document:
    shelf = {k: v for k, v in CRAWLER_SHELF.items() if k not in {"pump_displacement_cm3_rev", "motor_power_w"}}
    shelf["accumulator_volume_l"] = [0.01]
    return {**CRAWLER, "stock": shelf if "pump" in parts else CRAWLER_SHELF, "measured": parts}


def test_a_measured_pump_gives_its_measured_point():
    # at the measured pressure and viscosity the plant's pump delivers the measured flow and draws the measured current;
    # what else draws (valves at their peak, fan) is taken off by hand. Viscosity at the oil's hot end, by hand (1 %)
    oil = Oil(CRAWLER["medium"], CRAWLER["oil_hot_c"], 12.5e5)
    pump = {**PUMP, "kinematic_viscosity_mm2_s": round(oil.viscosity / oil.density * 1e6, 4)}
    document = with_measured(pump=pump, valve=VALVE)
    answer = sized(document)
    centre, totals = answer["design"]["centre"], answer["design"]["totals"]
    assert centre["pump_flow_l_min"] == pytest.approx(PUMP["flow_l_min"], rel=0.01)
    assert centre["speed_rpm"] == pytest.approx(PUMP["speed_rpm"], rel=1e-9)
    fan = 0.03 * centre["cooler_heat_w"] / document["bus"]["voltage_v"]
    assert totals["peak_current_a"] - fan == pytest.approx(PUMP["current_a"], rel=0.01)
    efficiency = 25e5 * 0.85e-3 / 60 / (9.0 * 11.1)
    assert centre["pump_efficiency"] == pytest.approx(efficiency, rel=0.01)
    parts = {p["part"]: p for p in answer["design"]["parts"]}
    assert parts["pump"]["mass_kg"] == PUMP["mass_kg"]
    assert parts["motor with electronics"]["mass_kg"] == 0.0
    assert "micro_pump" not in {w["code"] for w in answer["warnings"]}


def test_a_measured_valve_is_used_with_its_own_figures():
    answer = sized(with_measured(valve=VALVE))
    corner = answer["design"]["front"]
    assert corner["valve_rated_flow_l_min"] == pytest.approx(VALVE["rated_flow_l_min"])  # 70 bar is 35 bar a land
    assert corner["valve_bandwidth_hz"] == VALVE["bandwidth_hz"]
    assert corner["valve_leakage_l_min"] == pytest.approx(VALVE["null_leakage_l_min"])
    other = sized(with_measured(valve={**VALVE, "rated_pressure_drop_bar": 17.5}))
    # square-root law: rated at a quarter of the drop, it passes twice as much at 70 bar
    assert other["design"]["front"]["valve_rated_flow_l_min"] == pytest.approx(2.0)


def test_a_measured_cylinder_is_used_with_its_own_figures():
    # break-away as a pressure on the cap; running friction a third of it (break-out factor 3, common practice)
    corner = sized(with_measured(cylinder=CYLINDER))["design"]["front"]
    break_out = 0.3e5 * corner["cap_area_mm2"] * 1e-6
    assert corner["break_out_friction_n"] == pytest.approx(break_out, rel=1e-9)
    assert corner["seal_friction_n"] == pytest.approx(break_out / 3, rel=1e-9)
    assert corner["seal_leakage_l_min"] == pytest.approx(CYLINDER["leakage_l_min"], rel=1e-9)


@pytest.mark.parametrize(
    ("name", "part", "record"),
    [
        ("valve", "valve", VALVE),
        ("cylinder", "cylinder", CYLINDER),
        ("pump", "pump", {**PUMP, "kinematic_viscosity_mm2_s": 10.0}),
    ],
)
def test_estimates_give_way_to_measurements(name, part, record):
    def estimated(document: Document) -> str:
        return next(w["message"] for w in sized(document)["warnings"] if w["code"] == "estimated_data")

    before = {**CRAWLER, "stock": {"pressure_bar": [25.0], "seal": ["clearance"]}}
    after = {**before, "measured": {name: record}}
    word = part if part == "pump" else f"front {part}"
    assert f"{word}," in estimated(before)
    assert f"{word}," not in estimated(after)
    parts = {p["part"]: p["kind"] for p in sized(after)["design"]["parts"]}
    assert parts[word] == "user"


REFUSED: dict[str, tuple[Document, str, float]] = {
    "pump gives more than it displaces": (
        with_measured(pump={**PUMP, "flow_l_min": 1.2, "kinematic_viscosity_mm2_s": 10.0}),
        "measured.pump.flow_l_min",
        1.2,
    ),
    "pump gives more power than it draws": (
        with_measured(pump={**PUMP, "current_a": 2.0, "kinematic_viscosity_mm2_s": 10.0}),
        "measured.pump.current_a",
        2.0,
    ),
    "valve beyond the tables": (with_shelf(VAN, VAN_SHELF, valve_rated_flow_l_min=[400.0]), "valve_rated_flow", 400.0),
    "pump beyond the tables": (
        with_shelf(VAN, VAN_SHELF, pump_displacement_cm3_rev=[400.0]),
        "pump_displacement",
        400.0,
    ),
    "motor beyond the tables": (with_shelf(VAN, VAN_SHELF, motor_power_w=[90_000.0]), "motor_power", 90_000.0),
    "accumulator beyond the tables": (
        with_shelf(VAN, VAN_SHELF, accumulator_volume_l=[90.0]),
        "accumulator_volume",
        90.0,
    ),
    "one motor of two beyond the tables": (
        with_shelf(VAN, VAN_SHELF, motor_power_w=[16_000.0, 90_000.0]),
        "motor_power",
        90_000.0,
    ),
    "no accumulator or one beyond the tables": (
        with_shelf(VAN, VAN_SHELF, accumulator_volume_l=[0.0, 90.0]),
        "accumulator_volume",
        90.0,
    ),
    "rod as thick as the bore": (with_shelf(VAN, VAN_SHELF, rod_mm=[31.0]), "rod_mm over stock.bore_mm", 31.0 / 32.0),
    "no rod so thin": (
        with_shelf(CRAWLER, CRAWLER_SHELF, bore_mm=[2.0], rod_mm=None),
        "rod_mm over stock.bore_mm",
        0.75,
    ),
    "colder than the oil's data": (changed(VAN_AS_BUILT, oil_cold_c=-40.0), "temperature of Mineral", -40.0),
    "hotter than the oil's data": (changed(VAN_AS_BUILT, oil_hot_c=115.0), "temperature of Mineral", 115.0),
}


@pytest.mark.parametrize("name", sorted(REFUSED))
def test_a_contradiction_is_refused_by_name(name):
    document, quantity, given = REFUSED[name]
    with pytest.raises(OutOfRange) as caught:
        sized(document)
    assert quantity in caught.value.quantity
    assert caught.value.given == pytest.approx(given, rel=1e-9)
    assert caught.value.low is not None or caught.value.high is not None
    outside: list[Any] = [
        caught.value.low is not None and given < caught.value.low,
        caught.value.high is not None and given > caught.value.high,
    ]
    assert any(outside)


def test_as_built_crawler_serves():
    assert sized(CRAWLER_AS_BUILT)["outcome"] == "feasible_with_warnings"
