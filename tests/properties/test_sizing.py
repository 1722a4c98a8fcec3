"""Sizing over random specs: it answers or says which data end where; it never fails otherwise and never writes a NaN.

More choice never costs, a tighter limit never helps, and neither the order of a shelf nor a second call changes an
answer. That a heavier load never needs less is tested beside the exactness of the search.
"""

from __future__ import annotations

import json
import math
from typing import Any

from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

import fluids_data
from models.pipeline import size
from models.quantity import OutOfRange, to_wire
from models.spec import Spec
from tests.pipeline.cases import CRAWLER, CRAWLER_SHELF, VAN, VAN_SHELF, Document, changed, sized, with_shelf

CALM = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}


def between(low: float, high: float) -> st.SearchStrategy[float]:
    """Evenly spread in the logarithm, to six digits."""
    return st.floats(math.log(low), math.log(high)).map(lambda x: float(f"{math.exp(x):.6g}"))


def one_to_three(low: float, high: float) -> st.SearchStrategy[list[float]]:
    return st.lists(between(low, high), min_size=1, max_size=3, unique=True)


@st.composite
def axles(draw: st.DrawFn, mass: float) -> Document:
    sprung = mass * draw(between(0.7, 1.4))
    body = draw(st.floats(0.7, 4.0))
    rate = max(0.0011, min(sprung * (2 * math.pi * body) ** 2 / 1e3, 1900.0))
    travel = draw(between(4.0, 200.0))
    return {
        "sprung_mass_kg": sprung, "unsprung_mass_kg": sprung * draw(between(0.05, 0.6)), "wheel_rate_n_mm": rate,
        "tyre_rate_n_mm": max(0.011, min(rate * draw(between(1.5, 20.0)), 4900.0)), "bump_travel_mm": travel,
        "droop_travel_mm": travel * draw(between(0.5, 2.0)),
        "actuator_travel_per_wheel_travel": draw(st.floats(0.4, 1.6)),
    }  # fmt: skip


@st.composite
def motions(draw: st.DrawFn, weight: float) -> Document:
    velocity, force = draw(between(0.03, 1.0)), weight * draw(between(0.1, 1.2))
    motion: Document = {"wheel_velocity_m_s": velocity, "wheel_force_n": force}
    if draw(st.booleans()):
        motion |= {"wheel_velocity_rms_m_s": velocity / 3, "wheel_force_rms_n": force / 3}
    if draw(st.booleans()):
        motion["frequency_hz"] = draw(between(0.3, 30.0))
    if draw(st.booleans()):
        motion["force_velocity_phase_deg"] = draw(st.floats(-180.0, 180.0))
    return motion


SHELF: dict[str, st.SearchStrategy[Any]] = {
    "bore_mm": one_to_three(3.0, 80.0),
    "rod_mm": one_to_three(1.5, 50.0),
    "rod_arrangement": st.sampled_from([["single"], ["through"], ["single", "through"]]),
    "seal": st.sampled_from([["elastomer"], ["clearance"], ["plastic_faced", "elastomer"]]),
    "pressure_bar": st.lists(between(8.0, 300.0), min_size=1, max_size=2, unique=True),
    "valve_rated_flow_l_min": one_to_three(0.1, 100.0),
    "spool": st.sampled_from([["symmetric"], ["matched", "symmetric"]]),
    "anti_cavitation": st.sampled_from([[True], [False], [True, False]]),
    "return_bias_bar": st.sampled_from([[0.0], [1.0, 5.0], [50.0]]),
    "line_bore_mm": one_to_three(0.8, 30.0),
    "pump_displacement_cm3_rev": one_to_three(0.012, 60.0),
    "pump_control": st.sampled_from([["relief"], ["unloading"], ["speed"], ["unloading", "relief"]]),
    "motor_power_w": one_to_three(12.0, 29_000.0),
    "accumulator_volume_l": st.sampled_from([[0.0], [0.02, 0.1], [1.0], [0.0, 5.0]]),
}

MEASURED: dict[str, st.SearchStrategy[Document]] = {
    "valve": st.fixed_dictionaries({
        "rated_flow_l_min": between(0.1, 100.0), "rated_pressure_drop_bar": between(10.0, 100.0),
        "bandwidth_hz": between(2.0, 200.0), "null_leakage_l_min": st.floats(0.0, 2.0),
        "leakage_pressure_bar": between(10.0, 200.0), "mass_kg": between(0.02, 5.0),
    }),
    "cylinder": st.fixed_dictionaries({
        "breakaway_pressure_bar": st.floats(0.0, 2.0), "leakage_l_min": st.floats(0.0, 0.5),
        "leakage_pressure_bar": between(10.0, 200.0),
    }),
    "pump": st.fixed_dictionaries({
        "displacement_cm3_rev": between(0.02, 40.0), "speed_rpm": between(500.0, 6000.0),
        "pressure_bar": between(10.0, 300.0), "flow_l_min": between(0.01, 100.0), "current_a": between(1.0, 300.0),
        "kinematic_viscosity_mm2_s": between(5.0, 100.0), "mass_kg": between(0.1, 40.0),
    }),
}  # fmt: skip


@st.composite
def specs(draw: st.DrawFn) -> Document:
    """Any vehicle from a hundred grams to two tonnes a corner, with a shelf that keeps the search small."""
    mass = draw(between(0.1, 2000.0))
    base = 280.0 * mass**0.35
    document: Document = {
        "corners_fitted": draw(st.sampled_from(["four", "front", "rear", "one"])),
        "front": draw(axles(mass)), "rear": draw(axles(mass)), "wheelbase_mm": base, "track_mm": 0.6 * base,
        "duty": [
            {
                "kind": "suspension_velocity", "label": f"duty {i}", "share_of_time": 0.4,
                "front": draw(motions(9.81 * mass)), "rear": draw(motions(9.81 * mass)),
                **({"duration_s": draw(between(0.1, 100.0))} if draw(st.booleans()) else {}),
                **({"corners_in_step": 1} if draw(st.booleans()) else {}),
            }
            for i in range(draw(st.integers(1, 2)))
        ],
        "medium": draw(st.sampled_from(sorted(fluids_data.load_media()))),
        "weight_carried_by": draw(st.sampled_from(["spring", "actuator"])),
        "entrained_air_fraction": draw(st.sampled_from([0.0, 0.01, 0.1])),
        "oil_cold_c": draw(st.floats(-25.0, 20.0)), "oil_hot_c": draw(st.floats(35.0, 95.0)),
        "ambient_c": draw(st.floats(-20.0, 34.0)), "air_speed_m_s": draw(st.sampled_from([0.0, 5.0])),
        "bus": {"voltage_v": draw(between(4.0, 800.0)), "energy_wh": draw(between(1.0, 1e5))},
        "objective": draw(st.sampled_from(["mass", "power", "balanced"])),
    }  # fmt: skip
    if draw(st.integers(0, 3)) == 3:
        document["bus"]["peak_current_a"] = draw(between(0.5, 1000.0))
    limits = {
        "pressure_bar": between(2.0, 400.0), "mass_kg": between(0.1, 2000.0),
        "cylinder_outer_diameter_mm": between(3.0, 200.0), "retracted_length_mm": between(5.0, 2000.0),
        "surface_temperature_c": st.floats(36.0, 110.0),
    }  # fmt: skip
    document["limits"] = {k: draw(v) for k, v in limits.items() if draw(st.integers(0, 9)) == 7}
    kept = [k for k in SHELF if k == "pressure_bar" or draw(st.integers(0, 9)) == 7]
    document["stock"] = {k: draw(SHELF[k]) for k in kept}
    document["measured"] = {k: draw(v) for k, v in MEASURED.items() if draw(st.integers(0, 9)) == 7}
    return document


@settings(max_examples=70, **CALM)
@given(specs())
def test_any_valid_spec_is_answered_or_its_data_end_named(document):
    spec = Spec.model_validate_json(json.dumps(document))
    try:
        answer = size(spec, proven=False)
    except OutOfRange as refusal:
        event(f"refused: {refusal.quantity}")
        return
    event(answer.outcome)
    wire = to_wire(answer)  # raises on NaN and infinity
    json.dumps(wire, allow_nan=False)
    for ledger in wire["ledgers"]:
        assert abs(ledger["residual"]) <= 1e-9, ledger
    unmet = {u["constraint"] for u in wire["search"]["unmet"]}
    assert (wire["outcome"] == "infeasible") == bool(unmet)
    if "supply_pressure" not in unmet:  # nothing below the limit: plants at the least pressure there is are shown
        assert (wire["search"]["front_size"] > 0) == (wire["outcome"] != "infeasible")


BENCH = {
    "van": (with_shelf(changed(VAN, corners_fitted="one"), VAN_SHELF), {
        "bore_mm": 40.0, "rod_mm": 20.0, "pressure_bar": 160.0, "valve_rated_flow_l_min": 25.0, "line_bore_mm": 10.0,
        "pump_displacement_cm3_rev": 10.0, "motor_power_w": 10_000.0, "accumulator_volume_l": 0.5,
        "rod_arrangement": "single", "pump_control": "unloading", "seal": "elastomer",
    }),
    "crawler": (with_shelf(changed(CRAWLER, corners_fitted="one"), CRAWLER_SHELF), {
        "bore_mm": 6.0, "rod_mm": 3.0, "pressure_bar": 16.0, "valve_rated_flow_l_min": 0.4, "line_bore_mm": 1.5,
        "pump_displacement_cm3_rev": 0.1, "motor_power_w": 63.0, "accumulator_volume_l": 0.02,
        "rod_arrangement": "through", "pump_control": "relief",
    }),
}  # fmt: skip
"""A bench rig feeds no mass back, so that two searches are over the same demand; and a second size of each part."""


def value_of(document: Document, objective: str) -> float:
    """What the objective makes of the answer; infinite when nothing serves."""
    answer = sized(changed(document, objective=objective))
    if answer["outcome"] == "infeasible":
        return math.inf
    return float(answer["design"]["totals"]["mass_kg" if objective == "mass" else "mean_power_w"])


@settings(max_examples=25, **CALM)
@given(st.sampled_from(sorted(BENCH)), st.data(), st.sampled_from(["mass", "power"]))
def test_more_choice_never_costs(name, data, objective):
    document, second = BENCH[name]
    others = sorted(
        second.keys() - {"pressure_bar"}
    )  # the oil's state is taken in the middle of the pressures searched
    parts = data.draw(st.lists(st.sampled_from(others), min_size=1, max_size=3, unique=True))
    wider = {part: [*document["stock"][part], second[part]] for part in parts}
    best = value_of(with_shelf(document, document["stock"], **wider), objective)
    assert best <= value_of(document, objective) * (1 + 1e-12)


@settings(max_examples=20, **CALM)
@given(st.sampled_from(sorted(BENCH)), st.data(), st.floats(0.3, 1.0), st.sampled_from(["mass", "power"]))
def test_a_tighter_limit_never_helps(name, data, share, objective):
    document, second = BENCH[name]
    wide = with_shelf(document, document["stock"], **{k: [*document["stock"][k], v] for k, v in second.items()})
    free = sized(changed(wide, objective=objective))
    limit, total = data.draw(
        st.sampled_from([("limits__mass_kg", "mass_kg"), ("bus__peak_current_a", "peak_current_a")])
    )
    given_limit = free["design"]["totals"][total] * share
    assume(given_limit > 0.1)
    limited = value_of(changed(wide, **{limit: given_limit}), objective)
    assert limited >= value_of(wide, objective) * (1 - 1e-12)


@settings(max_examples=12, **CALM)
@given(st.sampled_from(sorted(BENCH)), st.randoms(use_true_random=False))
def test_the_order_of_a_shelf_does_not_matter(name, random):
    document, second = BENCH[name]
    wide = {k: [*document["stock"][k], v] for k, v in second.items()}
    shuffled = {k: random.sample(v, len(v)) for k, v in wide.items()}
    first, other = (sized(with_shelf(document, document["stock"], **shelf)) for shelf in (wide, shuffled))
    assert first["design"] == other["design"]


def test_the_same_spec_gives_the_same_bytes():
    text = json.dumps(with_shelf(VAN, VAN_SHELF))
    first, second = (json.dumps(to_wire(size(Spec.model_validate_json(text)))) for _ in range(2))
    assert first == second
