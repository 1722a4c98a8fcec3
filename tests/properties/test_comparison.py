"""Verdict, budget and crossover on sides whose figures are known beforehand, and on a real electric side."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from models.budget import ElectricBudget
from models.comparison.crossover import (
    METRICS,
    TOLD,
    Scenario,
    axis_values,
    crossover,
    electric_side,
    moved,
    scaled_demand,
    with_duty,
    with_spring,
)
from models.comparison.request import ComparisonRequest
from models.comparison.side import AxleFigures, HottestPart, Lack, SideFigures, electric_figures, electric_sides
from models.comparison.verdict import compare, judge, verdicts
from models.demand import Demand
from models.electric.choose import size_electric
from models.electric.sizing_records import Choices, Surroundings
from models.quantity import STANDARD_GRAVITY, to_wire
from models.ride.build import build_demand
from models.spec import Spec, complete

HYDRAULIC = SideFigures(
    side="hydraulic",
    label="central pump",
    feasible=True,
    lacks=(),
    spring_share=1.0,
    sets_force=True,
    corners=4,
    axles=(AxleFigures("front", 2, 5.0, 5.0, 12.0), AxleFigures("rear", 2, 5.0, 5.0, 12.0)),
    mass=0.60,
    mean_power=40.0,
    peak_power=90.0,
    peak_current=12.0,
    standby_power=8.0,
    heat_per_corner=10.0,
    temperatures=(HottestPart("oil", 328.15, 328.15),),
    run_time=3600.0,
    parts=24,
    loss_of_power="the body stays on its springs",
)
ELECTRIC = dataclasses.replace(
    HYDRAULIC,
    side="electric",
    label="direct machine",
    mass=0.30,
    mean_power=2.0,
    peak_power=30.0,
    peak_current=4.0,
    standby_power=1.0,
    heat_per_corner=0.5,
    run_time=72_000.0,
    parts=8,
)


def demand_of(document: dict[str, Any]) -> tuple[Demand, Surroundings]:
    spec = complete(Spec.model_validate(document))[0]
    return build_demand(spec), Surroundings(spec.bus.voltage, spec.ambient, None, spec.bus.energy)


# --- verdict --------------------------------------------------------------------------------------------------------


def test_one_side_ahead_in_both_wins_and_the_orders_are_told() -> None:
    verdict = judge(HYDRAULIC, ELECTRIC)
    assert verdict.winner == "electric"
    assert verdict.power_ratio == pytest.approx(20.0)
    assert verdict.orders == pytest.approx(math.log10(20.0))
    assert "draws 20 times the power: 1.3 orders of magnitude" in verdict.sentence
    assert "0.3 kg, 2 W in the mean" in verdict.sentence
    assert verdict.payback is None


def test_hydraulics_win_where_they_do() -> None:
    verdict = judge(dataclasses.replace(HYDRAULIC, mass=0.1, mean_power=1.0), ELECTRIC)
    assert verdict.winner == "hydraulic"
    assert "the hydraulic side wins" in verdict.sentence


def test_lighter_against_thriftier_depends_on_the_time_it_runs() -> None:
    """0.2 kg more for 38 W less: at 160 Wh/kg of which 80 % is used, level after 0.2·128/38 h."""
    verdict = judge(dataclasses.replace(HYDRAULIC, mass=0.1), ELECTRIC)
    assert verdict.winner == "depends"
    assert verdict.payback == pytest.approx(3600.0 * 0.2 * 128.0 / 38.0, rel=1e-9)
    assert "0.67 h" in verdict.sentence


def test_even_sides_are_called_even() -> None:
    same = dataclasses.replace(ELECTRIC, mass=HYDRAULIC.mass, mean_power=HYDRAULIC.mean_power)
    assert "even" in judge(HYDRAULIC, same).sentence


@pytest.mark.parametrize(("able", "winner"), [("hydraulic", "hydraulic"), ("electric", "electric"), ("", "neither")])
def test_a_side_that_fails_cannot_win(able: str, winner: str) -> None:
    sides = [
        side
        if side.side == able
        else dataclasses.replace(side, feasible=False, lacks=(Lack("front", "peak force", 2.0),))
        for side in (HYDRAULIC, ELECTRIC)
    ]
    verdict = judge(*sides)
    assert verdict.winner == winner
    assert "peak force 2-fold" in verdict.sentence
    to_wire(verdict)


def test_each_spring_share_has_its_own_verdict() -> None:
    weight = dataclasses.replace(ELECTRIC, spring_share=0.0)
    found = verdicts([HYDRAULIC], [ELECTRIC, weight])
    assert [v.spring_share for v in found] == [1.0]


def test_table_names_the_side_ahead_line_by_line() -> None:
    rows = {row.what: row for row in compare(HYDRAULIC, ELECTRIC).table}
    assert rows["mounted mass"].better == "electric"
    assert rows["run time"].better == "electric"
    assert rows["run time"].hydraulic == pytest.approx(1.0)
    assert rows["peak force, front"].better == "even"
    assert rows["parts"].unit == "1"
    assert rows["hottest part (oil and oil)"].hydraulic == pytest.approx(55.0)
    wanted = ("mass", "mean electric power", "peak current", "standby", "heat per corner", "run time", "bandwidth")
    assert all(any(word in what for what in rows) for word in wanted)


# --- budget ---------------------------------------------------------------------------------------------------------


def test_budget_line_by_line() -> None:
    budget = ElectricBudget.model_validate({"mass_kg": 0.1, "peak_current_a": 2.0, "continuous_power_w": 5.0})
    lines = {(line.side, line.what): line for line in compare(HYDRAULIC, ELECTRIC, budget).budget}
    assert len(lines) == 6
    mass = lines["hydraulic", "mass"]
    assert (mass.allowed_total, mass.reached_per_corner) == pytest.approx((0.4, 0.15))
    assert mass.reached_over_allowed == pytest.approx(1.5)
    assert not mass.within
    assert "divided equally" in mass.note
    assert lines["electric", "mass"].within
    assert lines["electric", "continuous power"].reached_over_allowed == pytest.approx(0.1)


def test_what_the_budget_leaves_open_has_no_line() -> None:
    budget = ElectricBudget.model_validate({"mass_kg": 0.1})
    assert {line.what for line in compare(HYDRAULIC, ELECTRIC, budget).budget} == {"mass"}


@pytest.mark.parametrize(
    "document",
    [{"mass_kg": 0.0}, {"peak_current_a": 0.0}, {"continuous_power_w": 0.0}, {"mass_kg": -1.0}, {}, {"mass": 1.0}],
)
def test_budgets_of_nothing_are_refused(document: dict[str, float]) -> None:
    with pytest.raises(ValidationError):
        ElectricBudget.model_validate(document)


def test_a_servo_of_the_hobby_class_breaks_a_tenth_scale_budget(model: dict[str, Any]) -> None:
    """Common practice, no source: 75 g and about 3 A each are too much for a 1/10 car; here against 30 g and 1 A."""
    side = dataclasses.replace(ELECTRIC, mass=4 * 0.075, peak_current=4 * 3.0)
    budget = ElectricBudget.model_validate({"mass_kg": 0.03, "peak_current_a": 1.0})
    lines = [line for line in compare(HYDRAULIC, side, budget).budget if line.side == "electric"]
    assert [line.within for line in lines] == [False, False]


# --- crossover ------------------------------------------------------------------------------------------------------


def power_law(side: SideFigures, exponent: float) -> Any:
    """A side whose mass and power grow as that power of the axis's value, whatever the axis."""

    def at(scenario: Scenario) -> SideFigures:
        value = scenario.motor_constant_factor
        factor = value**exponent
        return dataclasses.replace(
            side,
            mass=(side.mass or 0.0) * factor,
            mean_power=(side.mean_power or 0.0) * factor,
            peak_current=(side.peak_current or 0.0) * factor,
            heat_per_corner=(side.heat_per_corner or 0.0) * factor,
        )

    return at


def test_crossing_of_two_power_laws_is_found_where_it_lies(model: dict[str, Any]) -> None:
    """Mass 0.6·x against 0.3·x² cross at 2, power 40·x against 2·x² at 20: outside, so no crossover there."""
    scenario = Scenario(*demand_of(model))
    seen: list[tuple[int, int]] = []
    curve = crossover(
        scenario,
        "motor_constant",
        axis_values("motor_constant", 0.5, 8.0, 9),
        power_law(HYDRAULIC, 1.0),
        power_law(ELECTRIC, 2.0),
        lambda done, every: seen.append((done, every)),
    )
    found = {crossing.metric: crossing for crossing in curve.crossings}
    assert found["mass"].value == pytest.approx(2.0, rel=1e-9)
    assert (found["mass"].below, found["mass"].above) == ("electric", "hydraulic")
    assert "mean_power" not in found
    (said,) = [line for line in curve.statements if line.startswith("in mean power")]
    assert "electric leads all along motor constant" in said
    assert "in mounted mass electric leads below motor constant 2, hydraulic above it" in curve.statements
    assert "factor of 2.5 at 8" in said
    assert seen == [(k, 9) for k in range(1, 10)]
    assert [p.value for p in curve.points] == sorted(p.value for p in curve.points)
    to_wire(curve)


def test_where_a_side_stops_being_feasible_is_told(model: dict[str, Any]) -> None:
    scenario = Scenario(*demand_of(model))

    def weak(scenario: Scenario) -> SideFigures:
        able = scenario.motor_constant_factor >= 1.0
        return dataclasses.replace(ELECTRIC, feasible=able, lacks=() if able else (Lack("rear", "heat", 1.2),))

    curve = crossover(scenario, "motor_constant", (0.5, 0.8, 1.25, 2.0), lambda _: HYDRAULIC, weak)
    assert curve.points[0].electric_mass is None
    assert "the electric side begins to meet the demand between motor constant 0.8 and 1.25" in curve.statements
    to_wire(curve)


@pytest.mark.parametrize("axis", ["vehicle_scale", "supply_duty", "spring_share", "motor_constant", "friction"])
def test_every_axis_moves_a_real_electric_side(axis: Any, model: dict[str, Any]) -> None:
    low, high = {"spring_share": (0.3, 1.0), "supply_duty": (0.1, 1.0)}.get(axis, (0.5, 2.0))
    scenario = Scenario(*demand_of(model), choices=Choices(families=("tubular",), coolings=("still_air",)))
    curve = crossover(scenario, axis, (low, high), lambda _: HYDRAULIC)
    masses = [point.electric_mass for point in curve.points]
    powers = [point.electric_mean_power for point in curve.points]
    assert None not in masses
    assert (masses[0], powers[0]) != (masses[1], powers[1])
    assert all(any(line.startswith(f"in {TOLD[metric]}") for line in curve.statements) for metric in METRICS)


@pytest.mark.parametrize("scale", [0.5, 1.0, 1.6, 2.0])
def test_a_truck_of_any_scale_has_an_answer(scale: float, truck: dict[str, Any]) -> None:
    """Front and rear may be lightest in different families; a side that fails says what it lacks."""
    side = electric_side(moved(Scenario(*demand_of(truck)), "vehicle_scale", scale))
    assert side.feasible or side.lacks
    to_wire(side)


def test_a_bus_too_weak_at_one_point_does_not_end_the_curve(truck: dict[str, Any]) -> None:
    truck["bus"]["voltage_v"] = 3.0
    scenario = Scenario(*demand_of(truck))
    curve = crossover(scenario, "vehicle_scale", (0.05, 3.0), lambda _: HYDRAULIC)
    assert [point.electric_feasible for point in curve.points] == [True, False]


@pytest.mark.parametrize(
    "asked",
    [
        {"axis": "vehicle_scale", "low": 2.0, "high": 1.0},
        {"axis": "vehicle_scale", "low": 7.0},
        {"axis": "spring_share", "low": 0.0, "high": 1.5},
        {"axis": "supply_duty", "low": 0.0, "high": 1.0},
        {"axis": "length", "low": 0.1, "high": 1.0},
        {"axis": "friction", "low": 0.0, "high": 1.0, "points": 1},
        {"axis": "friction", "low": 0.0, "high": 1.0, "points": 5000},
        {"axis": "all", "low": 0.1},
        {"axis": "all", "points": 100},
        {"low": 0.5},
        {"points": 20},
    ],
)
def test_axes_that_lead_nowhere_are_refused(asked: dict[str, Any], model: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        ComparisonRequest.model_validate({"spec": model, **asked})


def test_a_lead_that_changes_often_is_counted(model: dict[str, Any]) -> None:
    def wavering(scenario: Scenario) -> SideFigures:
        odd = round(scenario.friction_factor) % 2
        return dataclasses.replace(ELECTRIC, mass=0.7 if odd else 0.5)

    curve = crossover(Scenario(*demand_of(model)), "friction", tuple(range(8)), lambda _: HYDRAULIC, wavering)
    assert len([c for c in curve.crossings if c.metric == "mass"]) == 7
    assert any("the lead changes 7 times along friction" in line for line in curve.statements)


@given(scale=st.floats(0.1, 10.0))
def test_froude_scaling_keeps_what_it_must(scale: float) -> None:
    """Check file: time and velocity √s, mass and force s³, stiffness s², power s^3.5; so acceleration, the body's
    frequency times √s and force over weight stay."""
    axle = {
        "sprung_mass_kg": 300.0,
        "unsprung_mass_kg": 40.0,
        "wheel_rate_n_mm": 20.0,
        "tyre_rate_n_mm": 200.0,
        "bump_travel_mm": 80.0,
        "droop_travel_mm": 80.0,
    }
    motion = {"wheel_velocity_m_s": 0.5, "wheel_force_n": 2000.0, "force_velocity_phase_deg": 60.0}
    duty = [{"kind": "suspension_velocity", "front": motion}]
    document = {"corners_fitted": "one", "front": axle, "duty": duty, "bus": {"voltage_v": 48.0}}
    demand = demand_of(document)[0]
    grown = scaled_demand(demand, scale)
    before, after = demand.axles[0], grown.axles[0]
    old, new = before.duties[0], after.duties[0]
    assert new.force_peak / after.sprung_mass == pytest.approx(old.force_peak / before.sprung_mass)
    assert new.velocity_peak * new.frequency == pytest.approx(old.velocity_peak * old.frequency)
    assert after.wheel_rate / after.sprung_mass / new.frequency**2 == pytest.approx(
        before.wheel_rate / before.sprung_mass / old.frequency**2
    )
    assert new.mean_power == pytest.approx(old.mean_power * scale**3.5)
    assert new.mean_power == pytest.approx(new.force_rms * new.velocity_rms * 0.5)
    assert new.stroke / after.stroke_available == pytest.approx(old.stroke / before.stroke_available)
    back = scaled_demand(grown, 1.0 / scale).axles[0]
    assert back.duties[0].points[3].force == pytest.approx(old.points[3].force)


def test_spring_and_duty_moves_undo_themselves(model: dict[str, Any]) -> None:
    demand, _ = demand_of(model)
    carried = with_spring(demand, 0.25)
    axle = carried.axles[0]
    assert axle.static_force == pytest.approx(0.75 * axle.sprung_mass * STANDARD_GRAVITY / axle.travel_ratio)
    assert max(p.force for p in axle.duties[0].points) == pytest.approx(
        max(p.force for p in demand.axles[0].duties[0].points) + axle.static_force
    )
    again = with_spring(carried, 1.0)
    assert again.axles[0].duties[0].force_peak == pytest.approx(demand.axles[0].duties[0].force_peak)
    idle = with_duty(demand, 0.5)
    assert idle.standby_share == pytest.approx(1.0 - 0.5 * demand.axles[0].duties[0].share_of_time)


def test_the_electric_side_of_a_scenario_is_the_sizing_s_best(model: dict[str, Any]) -> None:
    demand, around = demand_of(model)
    sizing = size_electric(demand, around)
    sides = electric_sides(sizing)
    assert [side.spring_share for side in sides] == [1.0, 0.0]
    assert electric_side(Scenario(demand, around)) == sides[0]
    assert electric_side(moved(Scenario(demand, around), "spring_share", 0.0)) == sides[1]
    assert sizing.best[0] is not None
    assert electric_figures(sizing.best[0]) == sides[0]
    assert sides[0].heat_per_corner == pytest.approx((sides[0].mean_power or 0.0) / 4.0)
    assert "stays on its springs" in sides[0].loss_of_power
    assert "sinks" in sides[1].loss_of_power
