"""The linear car against a seven-freedom car written out again, and against statics.

The second route uses all four corners at once, mass, damping and stiffness matrices and the full spectral matrix of
four road inputs, where the product uses two planes; the integral is a plain trapezoid.
"""

import math

import numpy as np
import pytest

from models.duty import Road
from models.ride.control import RideLaw, corner_law
from models.ride.driving import active_planes, road_input
from models.ride.linear import Row, passive_planes, planes
from models.ride.moments import ride_moments
from models.ride.response import frequency_response, integrate, kronrod_rule
from models.ride.road import RoadInput, coherence, frequency_psd
from models.ride.vehicle import ARRANGEMENTS, vehicle_of
from tests.ride_cases import BENCH, FULL_SIZE, ONE_TENTH, ROAD, spec_of

CORNERS = ("fl", "fr", "rl", "rr")


def law_of(vehicle, name="lqr", bandwidth=None):
    body = min(c.body_frequency for c in vehicle.corners)
    wheel = max(c.wheel_frequency for c in vehicle.corners)
    return RideLaw(name, 1.0, 0.5, 0.05, 0.6, 0.2, bandwidth or 2.0 * wheel, 0.1 * body)


class SevenFreedoms:
    """Heave, pitch (nose down), roll (left side up) and four wheels; ISO 8855 axes: x forward, y left, z up."""

    def __init__(self, vehicle, laws):
        front, rear = vehicle.corners
        self.vehicle, self.corners = vehicle, (front, front, rear, rear)
        self.laws = (laws[0], laws[0], laws[1], laws[1])
        behind = vehicle.wheelbase * front.sprung_mass / (front.sprung_mass + rear.sprung_mass)
        x = (vehicle.wheelbase - behind, vehicle.wheelbase - behind, -behind, -behind)
        y = tuple(0.5 * vehicle.track * side for side in (1, -1, 1, -1))
        self.over = np.array([[1.0, -x[i], y[i]] for i in range(4)])
        mass = 2.0 * (front.sprung_mass + rear.sprung_mass)
        self.mass = np.diag(
            [mass, vehicle.pitch_inertia, vehicle.roll_inertia, *(c.unsprung_mass for c in self.corners)]
        )

    def response(self, frequency):
        """Body height, wheel height, and forces over the four road heights, at one frequency."""
        s = 2j * math.pi * frequency
        pick = np.hstack([self.over, np.zeros((4, 4))])
        wheel = np.hstack([np.zeros((4, 3)), np.eye(4)])
        across = np.zeros((4, 4))
        for left, right in ((0, 1), (2, 3)):
            rate = self.corners[left].anti_roll / self.vehicle.track**2
            across[left, left] = across[right, right] = rate
            across[left, right] = across[right, left] = -rate
        passive = np.diag([c.spring + s * c.damping for c in self.corners]) + across
        force, road = -passive @ (pick - wheel), np.zeros((4, 4), dtype=complex)
        control, control_road = np.zeros((4, 7), dtype=complex), np.zeros((4, 4), dtype=complex)
        for i, law in enumerate(self.laws):
            if law is None:
                continue
            shaped = s / (s + 2 * math.pi * law.low_cut) / (1.0 + s / (2 * math.pi * law.bandwidth))
            travel, body, tyre, hub = law.gains
            control[i] = shaped * ((travel + s * body) * pick[i] + (-travel + tyre + s * hub) * wheel[i])
            control_road[i, i] = -shaped * tyre
        force, road = force + control, road + control_road
        tyre = np.diag([c.tyre for c in self.corners])
        acting = (pick - wheel).T @ force - wheel.T @ tyre @ wheel
        acting_road = (pick - wheel).T @ road + wheel.T @ tyre
        motion = np.linalg.solve(self.mass * s**2 - acting, acting_road)
        return {
            Row.BODY_ACCELERATION: s**2 * pick @ motion,
            Row.TRAVEL: (pick - wheel) @ motion,
            Row.TRAVEL_RATE: s * (pick - wheel) @ motion,
            Row.TYRE: wheel @ motion - np.eye(4),
            Row.CONTROL_FORCE: control @ motion + control_road,
        }

    def variances(self, road, points=6000):
        frequency = np.geomspace(*road.frequencies, points)
        own = frequency_psd(frequency, road)
        common = coherence(frequency / road.speed, self.vehicle.track)
        total = {row: np.zeros((points, 4)) for row in (0, 1, 2, 3, 4)}
        for k, f in enumerate(frequency):
            late = np.exp(-2j * math.pi * f * self.vehicle.wheelbase / road.speed)
            phase = np.array([1.0, 1.0, late, late])
            sides = np.array([[1.0, common[k]], [common[k], 1.0]])
            spectrum = own[k] * np.outer(phase, phase.conj()) * np.tile(sides, (2, 2))
            for row, transfer in self.response(f).items():
                total[int(row)][k] = np.real(np.diag(transfer @ spectrum @ transfer.conj().T))
        return {row: np.trapezoid(values, frequency, axis=0) for row, values in total.items()}


@pytest.mark.parametrize(
    ("case", "speed", "active"), [(FULL_SIZE, 20.0, False), (FULL_SIZE, 9.0, True), (ONE_TENTH, 4.0, True)]
)
def test_moments_against_seven_freedoms(case, speed, active):
    vehicle = vehicle_of(spec_of(case, ROAD, pitch_inertia_kg_m2=5200.0 if case is FULL_SIZE else 0.02))
    law = law_of(vehicle)
    laws = tuple(corner_law(law, c) if active else None for c in vehicle.corners)
    road = RoadInput(256e-6, speed, (0.011, 30.0 / speed * vehicle.corners[0].wheel_frequency / 10.0))
    ours = ride_moments(planes(vehicle, laws), vehicle, road)
    theirs = SevenFreedoms(vehicle, laws).variances(road)
    for index, left in ((0, 0), (1, 2)):
        for row, values in theirs.items():
            if row == Row.CONTROL_FORCE and not active:
                continue
            assert values[left] == pytest.approx(values[left + 1], rel=1e-9)  # left and right alike
            assert ours.axles[index].variance[row] == pytest.approx(values[left], rel=3e-4)


@pytest.mark.parametrize("case", [FULL_SIZE, ONE_TENTH])
@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
@pytest.mark.parametrize("law", ["passive", "skyhook", "lqr"])
def test_road_power_goes_to_dampers_and_actuators(case, arrangement, law):
    # Derived: on the car and in a band, what the road feeds in is what dampers and actuators take
    control = {"law": law, "wheel_damping": 0.3}
    spec = spec_of(case, {**ROAD, "control": control}, arrangement=arrangement)
    vehicle, duty = vehicle_of(spec), spec.duty[0]
    assert isinstance(duty, Road)
    bandwidth = duty.control.bandwidth
    car = active_planes(vehicle, law_of(vehicle, law, bandwidth))
    assert max(plane.growth for plane in car) < 0.0
    moments = ride_moments(car, vehicle, road_input(duty))
    road = sum(axle.road_power for axle in moments.axles)
    dampers = sum(axle.damper_power for axle in moments.axles)
    actuators = -sum(axle.actuator_power for axle in moments.axles)
    assert road > 0.0
    assert dampers + actuators == pytest.approx(road, rel=1e-6)


def test_passive_car_feeds_its_dampers_alone():
    vehicle = vehicle_of(spec_of(FULL_SIZE, ROAD))
    moments = ride_moments(passive_planes(vehicle), vehicle, RoadInput(256e-6, 20.0, (0.011, 2.83)))
    for axle in moments.axles:
        assert axle.actuator_power == 0.0
        assert axle.damper_power == pytest.approx(
            axle.corner.reference_damping * axle.variance[Row.TRAVEL_RATE], rel=1e-9
        )


def test_a_car_on_one_track_with_no_wheelbase_delay_to_speak_of_heaves_as_one_corner():
    # Equal axles, independent by their inertia: each axle's mean of both sides is a single corner
    equal = {**FULL_SIZE, "rear": FULL_SIZE["front"]}
    vehicle = vehicle_of(spec_of(equal, ROAD))
    bench = vehicle_of(spec_of({"corners_fitted": "one", "front": FULL_SIZE["front"], "bus": FULL_SIZE["bus"]}, ROAD))
    frequency = np.geomspace(0.2, 40.0, 60)
    pitch = frequency_response(passive_planes(vehicle)[0], frequency, 0.3)
    one = frequency_response(passive_planes(bench)[0], frequency, 0.0)
    assert np.allclose(pitch[:, : Row.CONTROL_FORCE], one[:, : Row.CONTROL_FORCE], rtol=1e-8, atol=1e-9)


def test_roll_stiffness_and_anti_roll():
    # Statics: a roll angle held on a level road is resisted by t²/2 times each axle's wheel rate, and by the bars
    vehicle = vehicle_of(spec_of(FULL_SIZE, ROAD))
    roll = passive_planes(vehicle)[1]
    stiffness = -vehicle.roll_inertia * roll.a[3, 0]  # x = (roll, two wheels, rates); wheels held
    bars = (120.0 + 40.0) * 180.0 / math.pi
    springs = 0.5 * vehicle.track**2 * (41e3 + 52e3)
    assert stiffness == pytest.approx(springs + bars, rel=1e-12)


def test_default_inertias_and_centre_of_gravity():
    # Stated rules: m·a·b in pitch, m·(0.4·track)² in roll, cg height 0.4·track
    bare = {key: value for key, value in FULL_SIZE.items() if key != "cg_height_mm"}
    vehicle = vehicle_of(spec_of(bare, ROAD))
    ahead, behind = 3.45 * 640.0 / 1240.0, 3.45 * 600.0 / 1240.0
    assert vehicle.pitch_inertia == pytest.approx(2480.0 * ahead * behind, rel=1e-12)
    assert vehicle.roll_inertia == pytest.approx(2480.0 * (0.4 * 1.69) ** 2, rel=1e-12)
    assert vehicle.cg_height == pytest.approx(0.4 * 1.69, rel=1e-12)


def test_plant_mass_rides_along():
    spec = spec_of(FULL_SIZE, ROAD)
    light, heavy = vehicle_of(spec), vehicle_of(spec, 80.0)
    assert [c.sprung_mass for c in heavy.corners] == [620.0, 660.0]
    assert heavy.roll_inertia / light.roll_inertia == pytest.approx(heavy.body_mass / light.body_mass, rel=1e-12)
    bench = vehicle_of(spec_of(BENCH, ROAD), 80.0)
    assert bench.corners[0].sprung_mass == 300.0


@pytest.mark.parametrize("fitted", ["front", "rear"])
def test_an_unfitted_axle_keeps_its_reference_damper(fitted):
    vehicle = vehicle_of(spec_of(FULL_SIZE, ROAD, corners_fitted=fitted))
    other = next(c for c in vehicle.corners if not c.fitted)
    assert other.damping == pytest.approx(0.6 * math.sqrt(other.spring * other.sprung_mass), rel=1e-12)
    lone = {k: v for k, v in FULL_SIZE.items() if k != ("rear" if fitted == "front" else "front")}
    single_axle = vehicle_of(spec_of(lone, ROAD, corners_fitted=fitted))
    assert [plane.name for plane in passive_planes(single_axle)] == ["heave", "roll"]


def test_quadrature_rule():
    # Kronrod 1965 (as in QUADPACK; memory): exact to degree 22; outermost node and middle weight, printed digits
    nodes, weights, inside = kronrod_rule()
    assert nodes[-1] == pytest.approx(0.991455371120813, abs=1e-13)
    assert weights[7] == pytest.approx(0.209482141084728, abs=1e-13)
    for degree in range(0, 23, 2):
        assert weights @ nodes**degree == pytest.approx(2.0 / (degree + 1), rel=1e-12)
    assert inside @ nodes**12 == pytest.approx(2.0 / 13.0, rel=1e-12)


def test_adaptive_integral_of_a_narrow_resonance():
    # ∫ df/((1 - f²)² + (2ζf)²) over all f is π/(4ζ); nearly all of it stands in a peak of width ζ
    damping = 1e-4

    def peak(f):
        return (1.0 / ((1.0 - f * f) ** 2 + (2.0 * damping * f) ** 2))[:, None]

    total = integrate(peak, 1e-4, 1e4, [1.0 - damping, 1.0, 1.0 + damping])[0][0]
    assert total == pytest.approx(math.pi / (4.0 * damping), rel=1e-3)
    fine = integrate(peak, 1e-4, 1e4, [1.0], 1e-10)[0][0]
    assert total == pytest.approx(fine, rel=1e-7)
