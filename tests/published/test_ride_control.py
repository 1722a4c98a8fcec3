"""Ride laws: gains against python-control, limits by theory, Wk against ISO 2631-1's table, and sought targets."""

import math

import control
import numpy as np
import pytest
from scipy.linalg import solve_continuous_lyapunov

from models.ride.build import ride_answer
from models.ride.control import CornerLaw, RideLaw, corner_law, corner_matrices, optimal_gains, riccati
from models.ride.driving import drive
from models.ride.linear import Row, planes
from models.ride.response import frequency_response, white_moments
from models.ride.target import Goal, Trial, seek
from models.ride.vehicle import vehicle_of
from models.ride.weighting import vertical_weighting
from models.spec import Spec, complete
from tests.ride_cases import BENCH, FULL_SIZE, ONE_TENTH, ROAD, alone, corner, spec_of

SMALL = corner(damping=0.0, sprung=0.3, unsprung=0.085, spring=170.0, tyre=1400.0)


@pytest.mark.parametrize("single", [corner(damping=0.0), corner(), SMALL])
@pytest.mark.parametrize("weights", [(1.0, 1e3, 1e4), (1.0, 1e5, 10.0), (0.2, 50.0, 1e7)])
def test_optimal_gains_against_python_control(single, weights):
    acceleration, travel, tyre = weights
    a, force = corner_matrices(single)
    # acceleration² = (a[1]·x + u/ms)², written as state, force and cross weights
    state = acceleration * np.outer(a[1], a[1]) + np.diag([travel, 0.0, tyre, 0.0])
    cross = acceleration * a[1][:, None] / single.sprung_mass
    reference, _, _ = control.lqr(a, force[:, None], state, [[acceleration / single.sprung_mass**2]], cross)
    assert np.allclose(optimal_gains(single, *weights), np.asarray(reference)[0], rtol=1e-7)


def test_optimum_is_a_minimum():
    # Moving any gain either way makes the weighted sum larger
    single = corner(damping=0.0)
    weights = 1.0, 1e3, 1e4
    best = optimal_gains(single, *weights)

    def cost(gains):
        covariance = white_moments(planes(alone(single), (CornerLaw(-gains),))[0], 1.0)
        return sum(
            w * covariance[r, r] for w, r in zip(weights, (Row.BODY_ACCELERATION, Row.TRAVEL, Row.TYRE), strict=True)
        )

    for k in range(4):
        for step in (0.98, 1.02):
            moved = best.copy()
            moved[k] *= step
            assert cost(moved) > cost(best)


def test_one_degree_optimum():
    # Karnopp; Hrovat 1997 (memory; recomputed): k1 = √r, k2 = √2·r^¼, E[x²] = 0.15, E[u²] = 125.0 for r = 2500, S0 = 1
    r = 2500.0
    a, b = np.array([[0.0, 1.0], [0.0, 0.0]]), np.array([0.0, 1.0])
    gains = b @ riccati(a, np.outer(b, b), np.diag([r, 0.0]))
    assert gains == pytest.approx([math.sqrt(r), math.sqrt(2.0) * r**0.25], rel=1e-9)
    drive_in = np.array([1.0, 0.0])  # travel's rate less the road's velocity
    covariance = solve_continuous_lyapunov(a - np.outer(b, gains), -np.outer(drive_in, drive_in))
    assert covariance[0, 0] == pytest.approx(0.15, abs=0.005)
    assert gains @ covariance @ gains == pytest.approx(125.0, abs=0.05)


@pytest.mark.parametrize("name", ["skyhook", "lqr"])
def test_default_weights_mean_the_same_at_every_scale(name):
    # Two corners of the same proportions, masses 1:1000, frequencies 1:√10: the same motion in their own units
    big, small = corner(damping=0.0), corner(damping=0.0, sprung=0.3, unsprung=0.04, spring=200.0, tyre=2000.0)
    ratios = []
    for single in (big, small):
        law = corner_law(RideLaw(name, 1.0, 0.5, 0.05, 0.6, 0.2, 2.0 * single.wheel_frequency, 0.13), single)
        scale = math.sqrt(single.spring * single.sprung_mass)
        stiffness = single.spring
        ratios.append(law.gains / np.array([stiffness, scale, stiffness, scale]))
    assert ratios[0] == pytest.approx(ratios[1], rel=1e-9)


def test_skyhook_without_relative_damping_damps_the_body_as_stated():
    # A skyhook damper of ratio ζ on a body far below its wheel: the body's pole has that ratio (damped oscillator)
    single = corner(damping=0.0, unsprung=4.0, tyre=2e7)
    law = corner_law(RideLaw("skyhook", 1.0, 1.0, 1.0, 0.6, 0.0, math.inf, 0.0), single)
    poles = planes(alone(single), (law,))[0].eigenvalues
    slow = min(poles, key=abs)
    assert -slow.real / abs(slow) == pytest.approx(0.6, abs=0.005)


def test_lag_and_low_cut():
    # The law's force over the command: -3 dB at each corner frequency (first order), and none on a steady slope
    single = corner(damping=0.0)
    plain = CornerLaw(np.array([0.0, -1500.0, 0.0, 1500.0]))
    shaped = CornerLaw(plain.gains, 25.0, 0.13)
    for frequency, expected in ((25.0, 1.0 / math.sqrt(2.0)), (0.13, 1.0 / math.sqrt(2.0)), (1.8, 1.0)):
        out = frequency_response(planes(alone(single), (shaped,))[0], np.array([frequency]), 0.0)[0]
        assert abs(out[Row.CONTROL_FORCE]) / (1500.0 * abs(out[Row.TRAVEL_RATE])) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("name", ["passive", "skyhook", "lqr"])
def test_actuator_never_fights_a_slope(name):
    # On a steady slope the road's velocity is constant: force per velocity falls to nothing with the frequency
    single = corner(damping=200.0)
    law = corner_law(RideLaw(name, 1.0, 0.5, 0.05, 0.6, 0.2, 25.0, 0.13), single)
    frequency = np.array([1e-2, 1e-3, 1e-4])
    out = frequency_response(planes(alone(single), (law,))[0], frequency, 0.0)
    per_velocity = np.abs(out[:, Row.CONTROL_FORCE]) / (2.0 * math.pi * frequency)
    uncut = CornerLaw(law.gains, 25.0, 0.0)
    steady = np.abs(frequency_response(planes(alone(single), (uncut,))[0], frequency, 0.0)[:, Row.CONTROL_FORCE])
    assert per_velocity[2] < 1e-3 * np.max(np.abs(law.gains))
    assert per_velocity[1] < 0.2 * per_velocity[0]
    if name == "skyhook":
        assert steady[2] / (2.0 * math.pi * 1e-4) == pytest.approx(0.6 * 2.0 * math.sqrt(20e3 * 300.0), rel=1e-3)


# ISO 2631-1 / ISO 8041: Wk times 1000 at nominal one-third-octave frequencies
WK = {0.1: 31.2, 0.2: 121, 0.4: 352, 0.8: 477, 1: 482, 2: 531, 4: 967, 6.3: 1054, 8: 1036, 16: 768, 31.5: 405, 63: 186}


@pytest.mark.parametrize(("frequency", "value"), list(WK.items()))
def test_comfort_weighting(frequency, value):
    # The formula at nominal, not exact, frequencies matches the table to 0.3 %
    assert 1e3 * vertical_weighting(np.array([frequency]))[0] == pytest.approx(value, rel=0.003)


def test_comfort_weighting_speaks_of_full_size_only():
    full = ride_answer(spec_of(FULL_SIZE, ROAD)).duties[0]
    small = ride_answer(spec_of(ONE_TENTH, {**ROAD, "speed_km_h": 15})).duties[0]
    assert full.body_acceleration_weighted is not None
    assert full.body_acceleration_weighted < full.body_acceleration
    assert small.body_acceleration_weighted is None
    assert small.body_acceleration_weighted_passive is None


def outcome_of(vehicle, target, law="lqr", **road):
    control_ = {"law": law, "target_reduction": target}
    spec = spec_of(vehicle, {**ROAD, **road, "control": control_})
    return drive(vehicle_of(spec), spec.duty[0])


@pytest.mark.parametrize("law", ["skyhook", "lqr"])
@pytest.mark.parametrize("target", [0.1, 0.25])
def test_a_target_within_reach_is_met(law, target):
    outcome = outcome_of(FULL_SIZE, target, law, road_class="B")
    answer = outcome.answer
    assert answer.target.met
    assert answer.reduction == pytest.approx(target, abs=0.002)
    assert outcome.unmet == ()
    # The weights named give that reduction when asked for outright
    used = {"law": law, "travel_weight": answer.law.travel_weight, "tyre_weight": answer.law.tyre_weight}
    used["skyhook_damping"] = answer.law.skyhook_damping
    again = ride_answer(spec_of(FULL_SIZE, {**ROAD, "road_class": "B", "control": used})).duties[0]
    assert again.reduction == pytest.approx(answer.reduction, rel=1e-9)


def test_travel_forbids():
    short = {**FULL_SIZE, **{axle: {**FULL_SIZE[axle], "bump_travel_mm": 18} for axle in ("front", "rear")}}
    outcome = outcome_of(short, 0.4, road_class="B")
    answer = outcome.answer
    assert answer.target.forbidden_by == "travel"
    assert "travel" in answer.target.statement
    assert answer.reduction < 0.4
    assert [w.code for w in outcome.warnings].count("ride_target_unmet") == 1
    assert outcome.unmet[0].mendable_by is None
    # What is used instead goes as far as the travel allows
    assert max(a.travel_peak / a.travel_available for a in answer.axles) == pytest.approx(1.0, abs=0.02)


def test_invariant_points_forbid():
    outcome = outcome_of(FULL_SIZE, 0.9, road_class="A")
    answer = outcome.answer
    assert answer.target.forbidden_by == "invariant points"
    assert answer.target.largest < 0.9
    # 10.88 Hz for the front corner: sqrt(kt/mu)/2π with 290 kN/m on 62 kg, and kt/ms = 483.3
    assert "10.9 Hz" in answer.target.statement
    assert "483.3" in answer.target.statement


def test_seeking_returns_the_weakest_law_that_meets_the_goal():
    # A made-up family whose acceleration falls and whose travel grows with strength: the answer is known
    law = RideLaw("skyhook", 1.0, 1.0, 1.0, 1.0, 0.2, 20.0, 0.1)

    def trial(candidate):
        strength = candidate.skyhook_damping
        return Trial(candidate, 1.0 / (1.0 + strength), strength / 3.0, 0.5)

    reached = seek(trial, law, Goal(0.5))
    assert reached.forbidden_by is None
    assert reached.law.skyhook_damping == pytest.approx(1.0, rel=0.01)
    refused = seek(trial, law, Goal(0.2))  # strength 4 needs 4/3 of the travel; strength 3 reaches 0.25
    assert refused.forbidden_by == "travel"
    assert refused.need == pytest.approx(4.0 / 3.0, rel=0.01)
    assert refused.ratio == pytest.approx(0.25, rel=0.01)


def test_an_unstable_law_is_an_answer_that_says_so():
    # A law that leans on the wheel behind an actuator slower than the wheel drives it: no steady motion to size for
    control_ = {"law": "lqr", "tyre_weight": 5.0, "bandwidth_hz": 4.0}
    spec = spec_of(BENCH, {**ROAD, "control": control_})
    answer = ride_answer(spec)
    assert answer.duties == ()
    assert answer.demand.axles[0].duties == ()
    (warning,) = answer.demand.warnings
    assert warning.code == "ride_law_unstable"
    assert warning.value > 0.0
    assert answer.demand.unmet[0].what.startswith("a stable ride law")


def test_gains_in_the_answer_are_those_that_act():
    answer = ride_answer(spec_of(BENCH, ROAD)).duties[0]
    single = vehicle_of(spec_of(BENCH, ROAD)).corners[0]
    (gains,) = answer.law.gains
    weights = 1.0, 0.5 * (20e3 / 300.0) ** 2, 0.05 * (200e3 / 300.0) ** 2
    expected = -optimal_gains(single, *weights)
    told = gains.travel, gains.body_velocity, gains.tyre_deflection, gains.wheel_velocity
    assert told == pytest.approx(tuple(expected), rel=1e-12)


def test_a_passive_law_seeks_nothing():
    with pytest.raises(ValueError, match="nothing to turn"):
        complete(
            Spec.model_validate(
                {**FULL_SIZE, "duty": [{**ROAD, "control": {"law": "passive", "target_reduction": 0.2}}]}
            )
        )
