"""Rig, bump, manoeuvre, lift and the mix: against mechanics worked by hand, and against an independent integrator."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.spatial import ConvexHull

from models.demand import OperatingPoint, outermost, power_parts
from models.quantity import to_wire, wire_schema
from models.ride.arrangement import compare_arrangements
from models.ride.build import RideAnswer, build_demand, ride_answer
from models.ride.bumping import bump_acceleration, bump_response, bump_velocity, exponential
from models.ride.driving import active_planes, ride_law
from models.ride.linear import Row, planes
from models.ride.motion import outline, peak_factor
from models.ride.response import frequency_response
from models.ride.shaking import lift_off, rigid_lift_off
from models.ride.vehicle import ARRANGEMENTS, vehicle_of
from models.spec import Spec
from tests.ride_cases import BENCH, FULL_SIZE, ONE_TENTH, ROAD, alone, corner, spec_of

GRAVITY = 9.80665
RIG = {"kind": "rig", "eccentricity_mm": 10, "frequency_hz": 3}
BUMP = {"kind": "bump", "height_mm": 60, "length_mm": 3000, "speed_km_h": 30}
TURN = {"kind": "manoeuvre", "lateral_acceleration_m_s2": 4, "rise_time_s": 0.4}
BRAKE = {"kind": "manoeuvre", "longitudinal_acceleration_m_s2": -6, "rise_time_s": 0.3, "hold_s": 2}
LIFT = {"kind": "lift", "height_mm": 60, "time_s": 3, "hold_s": 10}
MOTION = {
    "kind": "suspension_velocity",
    "front": {
        "wheel_velocity_m_s": 0.5,
        "wheel_velocity_rms_m_s": 0.15,
        "wheel_force_n": 2000,
        "wheel_force_rms_n": 600,
    },
    "rear": {
        "wheel_velocity_m_s": 0.5,
        "wheel_velocity_rms_m_s": 0.15,
        "wheel_force_n": 2000,
        "wheel_force_rms_n": 600,
    },
}


def duty_of(answer, axle=0, duty=0):
    return answer.demand.axles[axle].duties[duty]


# ---- formulas every duty rests on


def test_expected_peak():
    # Check value: sqrt(2 ln N) + 0.5772/sqrt(2 ln N), N = 1000 gives 3.872
    assert peak_factor(1000.0, 1.0) == pytest.approx(3.872, abs=5e-4)


def test_expected_peak_against_drawn_maxima():
    # The mean largest value of many Gaussian records with a known crossing rate, drawn with a fixed seed
    generator = np.random.default_rng(4)
    frequency, duration, samples = np.linspace(0.5, 1.5, 201), 200.0, 4096
    rate = math.sqrt(np.mean(frequency**2))
    time = np.arange(samples) * duration / samples
    phases = 2.0 * math.pi * generator.random((400, frequency.size))
    waves = np.exp(2j * math.pi * np.outer(frequency, time))
    records = np.real(np.exp(1j * phases) @ waves) / math.sqrt(0.5 * frequency.size)
    assert np.mean(records.max(axis=1)) == pytest.approx(peak_factor(duration, rate), rel=0.02)


@pytest.mark.parametrize("correlation", [-0.95, -0.3, 0.0, 0.6])
def test_power_given_and_absorbed(correlation):
    # Drawn Gaussian pairs and a sampled sinusoid split alike
    generator = np.random.default_rng(8)
    first, second = generator.standard_normal((2, 400_000))
    power = first * (correlation * first + math.sqrt(1.0 - correlation**2) * second)
    given, absorbed = power_parts(1.0, correlation)
    assert given == pytest.approx(np.mean(np.maximum(power, 0.0)), abs=5e-3)
    assert absorbed == pytest.approx(np.mean(np.maximum(-power, 0.0)), abs=5e-3)
    angle = np.linspace(0.0, 2.0 * math.pi, 20_001)
    wave = 2.0 * np.cos(angle) * np.cos(angle + math.acos(correlation))
    assert given == pytest.approx(np.trapezoid(np.maximum(wave, 0.0), angle) / (2.0 * math.pi), abs=1e-4)


def test_outline_holds_every_point():
    # All points of a cloud lie within the polygon of the chosen ones, in each direction asked
    generator = np.random.default_rng(2)
    force, velocity = 900.0 * generator.standard_normal(300), 0.2 * generator.standard_normal(300)
    chosen = outline(force, velocity)
    for angle in np.linspace(0.0, 2.0 * math.pi, 16, endpoint=False):
        reach = math.cos(angle) * force / np.abs(force).max() + math.sin(angle) * velocity / np.abs(velocity).max()
        best = max(
            math.cos(angle) * p.force / np.abs(force).max() + math.sin(angle) * p.velocity / np.abs(velocity).max()
            for p in chosen
        )
        assert best == pytest.approx(reach.max(), rel=1e-12)


def test_outermost_points_enclose_the_rest():
    # Against a library's convex hull on drawn points, and on three points in line
    generator = np.random.default_rng(6)
    cloud = generator.standard_normal((200, 2))
    chosen = outermost(OperatingPoint(float(f), float(v)) for v, f in cloud)
    hull = {tuple(cloud[k]) for k in ConvexHull(cloud).vertices}
    assert {(p.velocity, p.force) for p in chosen} == hull
    line = [OperatingPoint(1.0, 0.0), OperatingPoint(2.0, 1.0), OperatingPoint(3.0, 2.0)]
    assert {(p.force, p.velocity) for p in outermost(line)} == {(1.0, 0.0), (3.0, 2.0)}


# ---- rig


def test_rigid_lift_off():
    # Check value: 2 mm lifts off at 11.145 Hz
    assert rigid_lift_off(2e-3) == pytest.approx(11.145, abs=5e-4)


def test_a_stiff_follower_lifts_off_where_a_rigid_one_does():
    # Body and wheel locked together by a stiff damper on a stiff tyre: the rigid limit
    stiff = corner(damping=5e6, tyre=5e9)
    found = lift_off(stiff, 2e-3, planes(alone(stiff), (None,))[0])
    assert found == pytest.approx(rigid_lift_off(2e-3), rel=0.01)


def test_rig_wheel_moves_as_the_eccentric():
    # v = e·ω, a = e·ω²: far below every frequency body and wheel follow the eccentric
    answer = ride_answer(spec_of(BENCH, {**RIG, "frequency_hz": 0.05}))
    axle = answer.duties[0].axles[0]
    assert axle.body_motion_passive[0] == pytest.approx(10e-3, rel=0.01)


def test_force_that_holds_the_body_still():
    # With nothing acting on the body the wheel hangs on its tyre: zu = kt·e/(kt - mu·ω²); the actuator cancels ks, c
    spec = spec_of(
        {**BENCH, "front": {**BENCH["front"], "retained_damping_n_s_m": 700, "actuator_travel_per_wheel_travel": 0.8}},
        {**RIG, "hold_body_still": True},
    )
    answer = ride_answer(spec)
    omega = 2.0 * math.pi * 3.0
    wheel = 200e3 * 10e-3 / (200e3 - 40.0 * omega**2)
    force = math.hypot(20e3, 700.0 * omega) * wheel
    axle, duty = answer.duties[0].axles[0], duty_of(answer)
    assert axle.hold_still_force[0] == pytest.approx(force, rel=1e-9)
    assert axle.body_motion[0] == 0.0
    assert duty.force_peak == pytest.approx(force / 0.8, rel=0.005)  # sampled cycle
    assert duty.velocity_peak == pytest.approx(0.8 * omega * wheel, rel=0.005)
    assert duty.force_rms == pytest.approx(force / 0.8 / math.sqrt(2.0), rel=1e-6)
    assert duty.velocity_mean_abs == pytest.approx(0.8 * omega * wheel * 2.0 / math.pi, rel=2e-3)
    # The actuator stands in for a negative damper: it gives what c would take
    assert duty.mean_power == pytest.approx(0.5 * 700.0 * (omega * wheel) ** 2, rel=1e-6)


def test_held_still_lift_off_by_hand():
    # kt·e·mu·ω²/(kt - mu·ω²) = (ms + mu)·g solved for ω
    single = corner()
    weight = 340.0 * GRAVITY
    throw = 10e-3
    omega = math.sqrt(200e3 * weight / (40.0 * (200e3 * throw + weight)))
    assert lift_off(single, throw, None) == pytest.approx(omega / (2.0 * math.pi), rel=1e-5)


def test_heave_in_parallel_with_a_spring():
    # |m·ω² - ks|·Z: the force to move a body by Z over a still wheel vanishes at the body frequency (derived).
    # The same from the model: with a wheel of no mass on a rigid tyre, control force over body motion is ks - m·ω².
    single = corner(damping=0.0, unsprung=1.0, tyre=1e12)
    law = ride_law(spec_of(BENCH, {**RIG, "control": {"law": "skyhook"}}).duty[0].control)
    frequency = np.array([0.4, 1.2, single.body_frequency, 2.5])
    out = frequency_response(active_planes(alone(single), law)[0], frequency, 0.0)
    body = 1.0 + out[:, Row.TRAVEL]
    needed = 20e3 * out[:, Row.TRAVEL] + 300.0 * -((2 * math.pi * frequency) ** 2) * body
    assert np.allclose(out[:, Row.CONTROL_FORCE], needed, rtol=1e-5, atol=1e-4)


def test_sweep_keeps_the_worst_and_warns_of_lift_off():
    answer = ride_answer(spec_of(BENCH, {**RIG, "frequency_hz": 0.5, "frequency_to_hz": 20}))
    axle, duty = answer.duties[0].axles[0], duty_of(answer)
    assert len(axle.frequency) == 60
    assert duty.force_peak == pytest.approx(max(axle.control_force), rel=0.005)
    assert "tyre_lift_off" in {w.code for w in answer.demand.warnings}
    assert axle.lift_off_frequency_rigid == pytest.approx(math.sqrt(GRAVITY / 0.01) / (2 * math.pi), rel=1e-12)
    calm = ride_answer(spec_of(BENCH, {**RIG, "eccentricity_mm": 1}))
    assert calm.demand.warnings == ()


def test_a_duty_at_the_body_frequency_is_named():
    own = math.sqrt(20e3 / 300.0) / (2 * math.pi)
    codes = {w.code for w in ride_answer(spec_of(BENCH, {**RIG, "frequency_hz": own})).demand.warnings}
    assert "body_frequency_duty" in codes
    both = spec_of(BENCH, {**RIG, "frequency_hz": own, "share_of_time": 0.5}, {**LIFT, "share_of_time": 0.1})
    assert "body_frequency_duty" not in {w.code for w in ride_answer(both).demand.warnings}


def test_rig_on_a_car_shakes_one_corner_at_a_time():
    duty = duty_of(ride_answer(spec_of(FULL_SIZE, RIG)))
    assert duty.moving_share == 0.25


# ---- bump


def test_bump_kinematics():
    # Check values: h 0.1 m, L 3.7 m, 30 km/h give 0.708 m/s and 10.01 m/s²
    assert bump_velocity(0.1, 3.7, 30.0 / 3.6) == pytest.approx(0.708, abs=5e-4)
    assert bump_acceleration(0.1, 3.7, 30.0 / 3.6) == pytest.approx(10.01, abs=5e-3)


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_bump_against_an_independent_integrator(arrangement):
    spec = spec_of(FULL_SIZE, BUMP, arrangement=arrangement)
    vehicle, duty = vehicle_of(spec), spec.duty[0]
    plane = active_planes(vehicle, ride_law(duty.control))[0]
    speed, length, height = 30.0 / 3.6, 3.0, 0.06
    time = np.linspace(0.0, 2.5, 700)

    def road(t):
        since = np.array([t, t - 3.45 / speed])
        wave = 0.5 * height * (1.0 - np.cos(2.0 * math.pi * speed * since / length))
        return np.where((since >= 0.0) & (since <= length / speed), wave, 0.0)

    solution = solve_ivp(
        lambda t, x: plane.a @ x + plane.b @ road(t),
        (0.0, 2.5),
        np.zeros(plane.a.shape[0]),
        t_eval=time,
        method="DOP853",
        rtol=1e-9,
        atol=1e-11,
        max_step=0.005,
    )
    reference = solution.y.T @ plane.c.T + np.array([road(t) for t in time]) @ plane.d.T
    ours = bump_response(plane, vehicle, duty, time)
    scale = np.abs(reference).max(axis=0)
    assert np.all(np.abs(ours - reference) <= 1e-5 * scale + 1e-12)


def test_exponential_against_a_rotation_and_a_library():
    turn = exponential(np.array([[0.0, -40.0], [40.0, 0.0]]))
    assert np.allclose(turn, [[math.cos(40), -math.sin(40)], [math.sin(40), math.cos(40)]], atol=1e-11)
    matrix = np.random.default_rng(3).standard_normal((9, 9)) * 6.0
    assert np.allclose(exponential(matrix), expm(matrix), rtol=1e-9, atol=1e-9 * np.abs(expm(matrix)).max())


def test_bump_demand_reads_its_course():
    answer = ride_answer(spec_of(FULL_SIZE, BUMP))
    trace, duty = answer.duties[0].traces[0], duty_of(answer)
    assert duty.force_peak >= np.max(np.abs(trace.force)) * (1 - 1e-9)
    assert duty.force_peak == pytest.approx(np.max(np.abs(trace.force)), rel=0.02)  # the drawn course is thinned
    assert max(trace.road) == pytest.approx(0.06, rel=0.01)
    path = duty.burst_path_out + duty.burst_path_in
    whole = np.trapezoid(np.abs(trace.velocity), trace.time)
    assert path == pytest.approx(0.95 * whole, rel=0.05)


# ---- manoeuvre and lift


def test_turn_by_hand():
    # Each axle holds its own mass's moment: front 2·600·4·(0.87 - 0.06)/1.69 N a corner by suspension, by links
    # 2·600·4·0.06/1.69; the outer tyre gives 2·600·4·0.87/1.69/290e3 m, where spring and bar fall short as well
    answer = ride_answer(spec_of(FULL_SIZE, TURN))
    level = answer.duties[0].axles[0]
    elastic, links = 1200.0 * 4.0 * 0.81 / 1.69, 1200.0 * 4.0 * 0.06 / 1.69
    assert level.force == pytest.approx(elastic, rel=1e-9)
    assert level.through_links == pytest.approx(links, rel=1e-9)
    assert level.load_transfer == pytest.approx(elastic + links, rel=1e-9)
    travel = (elastic + links) / 290e3
    assert level.travel == pytest.approx(travel, rel=1e-9)
    bar = 2.0 * 120.0 * 180.0 / math.pi / 1.69**2
    assert level.hold_force == pytest.approx(elastic + (41e3 + bar) * travel, rel=1e-9)
    duty = duty_of(answer)
    assert duty.force_peak == pytest.approx(level.hold_force / 0.8, rel=0.005)
    assert duty.velocity_peak == pytest.approx(0.8 * travel * math.pi / (2.0 * 0.4), rel=0.002)
    assert duty.stroke == pytest.approx(2.0 * 0.8 * travel, rel=1e-6)  # either way
    assert duty.in_step_fraction == pytest.approx(0.5)
    # Both axles' load transfer together carry the whole moment m·a·h
    total = sum(a.load_transfer for a in answer.duties[0].axles) * 1.69
    assert total == pytest.approx(2.0 * 1240.0 * 4.0 * 0.87, rel=1e-9)


def test_braking_by_hand():
    # m·a·h/(2L) a corner: the front is pushed up, the rear pulled down
    answer = ride_answer(spec_of(FULL_SIZE, BRAKE))
    force = 2480.0 * 6.0 * 0.87 / (2.0 * 3.45)
    front, rear = answer.duties[0].axles
    assert front.force == pytest.approx(force, rel=1e-9)
    assert front.hold_force == pytest.approx(force * (1.0 + 41e3 / 290e3), rel=1e-9)
    assert rear.hold_force == pytest.approx(-force * (1.0 + 52e3 / 310e3), rel=1e-9)
    # Cycle of 0.3 s up, 2 s held, 0.3 s down: two travels in 2.6 s
    travel = 0.8 * force / 290e3
    assert duty_of(answer).velocity_mean_abs == pytest.approx(2.0 * travel / 2.6, rel=1e-3)
    assert front.roll_without is None


def test_an_axle_alone_holds_all_of_the_roll():
    spec = spec_of(FULL_SIZE, TURN, corners_fitted="front")
    level = ride_answer(spec).duties[0].axles[0]
    moment = 4.0 * 2.0 * (600.0 * (0.87 - 0.06) + 640.0 * (0.87 - 0.24))
    assert level.force == pytest.approx(moment / 1.69, rel=1e-9)


def test_lift_by_hand():
    # Springs let go ks·h; raised in 3 s, held 10 s, lowered in 3 s; half-cosine rise
    answer = ride_answer(spec_of(FULL_SIZE, LIFT))
    axle, duty = answer.duties[0].axles[0], duty_of(answer)
    assert axle.hold_force == pytest.approx(41e3 * 0.06, rel=1e-9)
    assert duty.hold_force == pytest.approx(41e3 * 0.06 / 0.8, rel=1e-9)
    assert duty.velocity_peak == pytest.approx(0.8 * math.pi * 0.06 / 6.0, rel=2e-3)
    assert duty.burst_path_out == pytest.approx(0.8 * 0.06, rel=1e-9)
    assert duty.velocity_mean_abs == pytest.approx(2.0 * 0.8 * 0.06 / 16.0, rel=1e-3)
    assert duty.in_step_fraction == 1.0


def test_lift_beyond_droop_bottoms():
    answer = ride_answer(spec_of(FULL_SIZE, {**LIFT, "height_mm": 120}))
    warnings = [w for w in answer.demand.warnings if w.code == "stroke_exceeds_travel"]
    assert [(w.value, w.limit, w.unit) for w in warnings] == [(120.0, 95.0, "mm"), (120.0, 100.0, "mm")]


def test_lift_that_carries_the_weight():
    answer = ride_answer(spec_of(FULL_SIZE, LIFT, arrangement="series"))
    duty = duty_of(answer)
    # In line with the spring only the weight and its acceleration pass: 600·g/0.8, and no more of it at full height
    assert duty.hold_force == pytest.approx(600.0 * GRAVITY / 0.8, rel=1e-9)
    extra = 600.0 * 0.5 * (math.pi / 3.0) ** 2 * 0.06
    damper = 400.0 * 0.06 * math.pi / 6.0
    assert duty.force_peak <= (600.0 * GRAVITY + extra + damper) / 0.8 * (1 + 1e-6)


# ---- travel ratio, signs, arrangements


def test_travel_ratio():
    # R = 0.6: 1000 N at the wheel are 1666.7 N at the actuator, which moves 0.6 times as far
    plain = {**MOTION, "front": {"wheel_velocity_m_s": 0.5, "wheel_force_n": 1000}}
    bench = {**BENCH, "front": {**BENCH["front"], "actuator_travel_per_wheel_travel": 0.6}}
    duty = duty_of(ride_answer(spec_of(bench, plain)))
    assert duty.force_peak == pytest.approx(1666.7, abs=0.05)
    assert duty.velocity_peak == pytest.approx(0.3, rel=1e-12)
    # 60 kN/m at the actuator are 21.6 kN/m at the wheel
    view = compare_arrangements(
        Spec.model_validate({**bench, "front": {**bench["front"], "wheel_rate_n_mm": 21.6}, "duty": [plain]})
    )[1]
    assert view.axles[0].spring_between == pytest.approx(60e3, rel=1e-12)


@pytest.mark.parametrize("duty", [ROAD, RIG, BUMP, TURN, LIFT])
def test_travel_ratio_trades_force_for_speed_and_leaves_power(duty):
    def with_ratio(ratio):
        axles = {a: {**FULL_SIZE[a], "actuator_travel_per_wheel_travel": ratio} for a in ("front", "rear")}
        return duty_of(ride_answer(spec_of({**FULL_SIZE, **axles}, duty)), 1)

    one, half = with_ratio(1.0), with_ratio(0.5)
    assert half.force_peak == pytest.approx(2.0 * one.force_peak, rel=1e-9)
    assert half.velocity_peak == pytest.approx(0.5 * one.velocity_peak, rel=1e-9)
    assert half.stroke == pytest.approx(0.5 * one.stroke, rel=1e-9)
    assert half.mean_power == pytest.approx(one.mean_power, rel=1e-9, abs=1e-12)


def test_series_on_a_stated_motion():
    # v = dF/dt ÷ k: 1000 N at 2 Hz on 20 kN/m is 0.628 m/s; a gas spring with an orifice yields less
    plain = {**MOTION, "front": {"wheel_velocity_m_s": 0.5, "wheel_force_n": 1000, "frequency_hz": 2}}
    series = duty_of(ride_answer(spec_of(BENCH, plain, arrangement="series")))
    omega = 4.0 * math.pi
    assert series.velocity_peak == pytest.approx(omega * 1000.0 / 20e3, rel=1e-9)
    assert series.force_peak == pytest.approx(300.0 * GRAVITY + 1000.0 + 20e3 * 0.5 / omega, rel=1e-9)
    assert series.wheel_velocity_peak == pytest.approx(0.5)
    gas = duty_of(ride_answer(spec_of(BENCH, plain, arrangement="corner_accumulator")))
    orifice = 0.6 * math.sqrt(20e3 * 300.0)
    assert gas.velocity_peak == pytest.approx(omega * 1000.0 / math.hypot(20e3, omega * orifice), rel=1e-9)


def test_arrangements_side_by_side():
    spec = Spec.model_validate({**FULL_SIZE, "duty": [ROAD]})
    parallel, series, gas = compare_arrangements(spec)
    assert [v.arrangement for v in (parallel, series, gas)] == list(ARRANGEMENTS)
    assert (parallel.carries_weight, series.carries_weight, gas.carries_weight) == (False, True, True)
    assert parallel.speed_of_control == "fast-active"
    assert series.speed_of_control == "slow-active"
    assert parallel.axles[0].spring_between is None
    # At the actuator a wheel rate counts 1/R²; the orifice makes up what the retained damper leaves of the reference
    assert series.axles[0].spring_between == pytest.approx(41e3 / 0.64, rel=1e-9)
    assert gas.axles[0].orifice_damping == pytest.approx((0.6 * math.sqrt(41e3 * 600.0) - 400.0) / 0.64, rel=1e-9)
    # Slow-active control asks bandwidth and flow far below the fast one's
    assert series.axles[0].bandwidth < 0.3 * parallel.axles[0].bandwidth
    assert gas.axles[0].velocity_rms < series.axles[0].velocity_rms < parallel.axles[0].velocity_rms
    assert series.axles[0].static_force == pytest.approx(600.0 * GRAVITY / 0.8, rel=1e-9)


def test_a_slow_arrangement_without_a_damper_says_what_it_takes():
    bare = {**BENCH, "front": {**BENCH["front"], "retained_damping_n_s_m": 0}}
    (warning,) = ride_answer(spec_of(bare, RIG, arrangement="series")).demand.warnings
    assert warning.code == "series_damper"
    assert warning.value == pytest.approx(0.6 * math.sqrt(20e3 * 300.0), rel=1e-9)
    damped = {**BENCH, "front": {**BENCH["front"], "retained_damping_n_s_m": 900}}
    assert ride_answer(spec_of(damped, RIG, arrangement="series")).demand.warnings == ()


def test_series_seat_speed_is_force_rate_over_spring():
    # On the rig at one frequency: |v| = ω·|F|/k for the control force, at the wheel
    spec = spec_of(BENCH, {**RIG, "frequency_hz": 2}, arrangement="series")
    answer = ride_answer(spec)
    control_force = answer.duties[0].axles[0].control_force[0]
    assert duty_of(answer).velocity_peak == pytest.approx(4.0 * math.pi * control_force / 20e3, rel=0.005)


# ---- the mix, what governs, the wire


SIX = [
    {**MOTION, "share_of_time": 0.1},
    {**ROAD, "share_of_time": 0.5},
    {**RIG, "share_of_time": 0.05},
    BUMP,
    {**TURN, "share_of_time": 0.1},
    LIFT,
]


def test_six_duties_together():
    answer = ride_answer(spec_of(FULL_SIZE, *SIX))
    for axle in answer.demand.axles:
        assert [d.kind for d in axle.duties] == ["suspension_velocity", "road", "rig", "bump", "manoeuvre", "lift"]
    assert answer.demand.standby_share == pytest.approx(0.23)
    singles = [duty_of(ride_answer(spec_of(FULL_SIZE, {**d, "share_of_time": 1.0})), 1) for d in SIX]
    shares = [0.1, 0.5, 0.05 * 0.25, 0.01, 0.1, 0.01]
    expected = sum(s * d.velocity_mean_abs for s, d in zip(shares, singles, strict=True))
    assert answer.mix.axles[1].velocity_mean_abs == pytest.approx(expected, rel=1e-9)
    assert answer.mix.power_delivered - answer.mix.power_absorbed == pytest.approx(answer.mix.mean_power, rel=1e-9)
    governing = answer.governing[0]
    labels = {d.label: d for d in answer.demand.axles[0].duties}
    assert labels[governing.force].force_peak == max(d.force_peak for d in labels.values())
    assert labels[governing.stroke].stroke == max(d.stroke for d in labels.values())
    assert governing.hold == "manoeuvre"
    assert build_demand(spec_of(FULL_SIZE, *SIX)) == answer.demand


def test_answer_goes_on_the_wire():
    answer = ride_answer(
        spec_of(ONE_TENTH, {**ROAD, "speed_km_h": 12, "share_of_time": 0.4}, {**RIG, "share_of_time": 0.1})
    )
    wire = to_wire(answer)
    road = wire["duties"][0]
    assert "body_acceleration_m_s2" in road
    assert len(road["spectra"][0]["frequency_hz"]) == len(road["spectra"][0]["force_n2_hz"])
    assert "RoadAnswer" in wire_schema(RideAnswer)["$defs"]


def test_road_demand_is_consistent():
    answer = ride_answer(spec_of(FULL_SIZE, ROAD))
    duty, ride = duty_of(answer), answer.duties[0].axles[0]
    # Points lie on the ellipse of the peaks whose tilt is the correlation; R cancels in power
    correlation = duty.mean_power / (duty.force_rms * duty.velocity_rms)
    for point in duty.points:
        f, v = point.force / duty.force_peak, point.velocity / duty.velocity_peak
        assert (f * f - 2.0 * correlation * f * v + v * v) / (1.0 - correlation**2) == pytest.approx(1.0, rel=1e-6)
    assert duty.mean_power == pytest.approx(ride.actuator_power, rel=1e-12)
    assert duty.velocity_mean_abs == pytest.approx(math.sqrt(2.0 / math.pi) * duty.velocity_rms, rel=1e-12)
    # The drawn spectrum carries the rms it belongs to, to the coarseness of its grid
    spectrum = answer.duties[0].spectra[0]
    area = np.trapezoid(spectrum.force, spectrum.frequency)
    assert math.sqrt(area) == pytest.approx(duty.force_rms, rel=0.01)


def test_extended_band_and_lift_off_are_said():
    answer = ride_answer(spec_of(ONE_TENTH, {**ROAD, "speed_km_h": 12}))
    codes = [w.code for w in answer.demand.warnings]
    assert "road_band_extended" in codes
    assert "tyre_lift_off" in codes
    calm = ride_answer(spec_of(FULL_SIZE, {**ROAD, "road_class": "A", "speed_km_h": 50}))
    assert calm.demand.warnings == ()


def test_rough_road_bottoms():
    answer = ride_answer(spec_of(FULL_SIZE, {**ROAD, "road_class": "E"}))
    (front, *_) = [w for w in answer.demand.warnings if w.code == "stroke_exceeds_travel"]
    assert front.value > front.limit == pytest.approx(85.0)


# ---- bad input

BAD = [
    ({**ROAD, "speed_km_h": 0}, "greater than or equal to 0.5"),
    ({**ROAD, "speed_km_h": 500}, "less than or equal to 300"),
    ({**ROAD, "road_class": "J"}, "'A', 'B', 'C'"),
    ({"kind": "road", "speed_km_h": 50}, "either road_class or roughness_m3"),
    ({**ROAD, "roughness_m3": 1e-4}, "either road_class or roughness_m3"),
    ({**ROAD, "distance_m": 100, "duration_s": 10}, "not both"),
    ({**ROAD, "band_low_per_m": 0.1, "band_high_per_m": 0.15}, "twice"),
    ({**RIG, "eccentricity_mm": 100}, "more than the 180 mm of front wheel travel"),
    ({**RIG, "frequency_to_hz": 2}, "above frequency_hz"),
    ({"kind": "manoeuvre", "rise_time_s": 1}, "lateral or a longitudinal"),
    ({**BUMP, "height_mm": -5}, "greater than or equal to 0.1"),
    ({"kind": "jump"}, "does not match any of the expected tags"),
]


@pytest.mark.parametrize(("duty", "message"), BAD)
def test_bad_duties_are_told(duty, message):
    with pytest.raises(ValueError, match=message.replace("(", r"\(")):
        Spec.model_validate({**FULL_SIZE, "duty": [duty]})


def test_bad_vehicles_are_told():
    front = {**FULL_SIZE["front"], "unsprung_mass_kg": 0.01}
    with pytest.raises(ValueError, match="wheel without mass"):
        Spec.model_validate({**FULL_SIZE, "front": front, "duty": [ROAD]})
    with pytest.raises(ValueError, match="softer than"):
        Spec.model_validate({**FULL_SIZE, "front": {**FULL_SIZE["front"], "tyre_rate_n_mm": 20}, "duty": [ROAD]})
    with pytest.raises(ValueError, match="may not exceed 1"):
        Spec.model_validate({**FULL_SIZE, "duty": [ROAD, LIFT, ROAD]})
    with pytest.raises(ValueError, match="carries the weight"):
        Spec.model_validate({**FULL_SIZE, "duty": [ROAD], "arrangement": "series", "weight_carried_by": "spring"})
    with pytest.raises(ValueError, match="cannot roll or pitch"):
        Spec.model_validate({**BENCH, "duty": [TURN]})
    undamped = {**FULL_SIZE["rear"], "reference_damping_n_s_m": 0}
    with pytest.raises(ValueError, match="damping ratio of 0"):
        Spec.model_validate({**FULL_SIZE, "rear": undamped, "duty": [ROAD]})
