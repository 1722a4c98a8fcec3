"""One corner under a random road: closed forms, the road-power identity, invariant points, the golden car.

Values in the tables are derived (symbolic algebra, Lyapunov equation and frequency integral agree); the closed forms
are written out here, so that they check the solver by a second route. python-control answers for the response.
"""

import math

import control
import numpy as np
import pytest

from models.ride.control import CornerLaw, RideLaw, corner_law, optimal_gains
from models.ride.linear import Row, planes
from models.ride.moments import ride_moments
from models.ride.response import frequency_response, white_moments
from models.ride.road import CLASS_ROUGHNESS, RoadInput
from tests.ride_cases import alone, corner

N0 = 0.1
CAR_ROAD = 256e-6, 20.0


def level(roughness, speed):
    """S0, two-sided spectrum of the road's velocity."""
    return 2.0 * math.pi**2 * N0**2 * roughness * speed


def plane_of(single, law=None, arrangement="parallel"):
    return planes(alone(single, arrangement), (law,))[0]


def closed_forms(c, roughness, speed):
    """Chalasani 1986, Türkay & Akçay 2005 (from memory; re-derived): variances of a corner without tyre damping."""
    ms, mu, ks, kt, damping = c.sprung_mass, c.unsprung_mass, c.spring, c.tyre, c.damping
    total, half = ms + mu, 0.5 * level(roughness, speed)
    return {
        Row.BODY_ACCELERATION: half * (kt * damping / ms**2 + total * ks**2 / (ms**2 * damping)),
        Row.TRAVEL: half * total / damping,
        Row.TYRE: half
        * (
            damping * total**2 / (kt * ms**2)
            + ks**2 * total**3 / (damping * kt**2 * ms**2)
            - 2.0 * ks * mu * total / (damping * kt * ms)
            + mu / damping
        ),
        Row.TRAVEL_RATE: half * kt / damping,
    }


def test_the_car_corner():
    # Derived row of the check values, printed digits
    covariance = white_moments(plane_of(corner()), level(*CAR_ROAD))
    rms = np.sqrt(np.diag(covariance))
    assert rms[Row.BODY_ACCELERATION] == pytest.approx(1.48104, abs=5e-6)
    assert rms[Row.TRAVEL] == pytest.approx(10.7023e-3, abs=5e-8)
    assert rms[Row.TYRE] == pytest.approx(4.09390e-3, abs=5e-9)
    assert rms[Row.TRAVEL_RATE] == pytest.approx(0.259570, abs=5e-7)
    assert 1500.0 * covariance[Row.TRAVEL_RATE, Row.TRAVEL_RATE] == pytest.approx(101.065, abs=5e-4)


CORNERS = [
    corner(),
    corner(damping=400.0, sprung=600.0, unsprung=62.0, spring=41e3, tyre=290e3),
    corner(damping=4.0, sprung=0.3, unsprung=0.085, spring=170.0, tyre=1400.0),
]


@pytest.mark.parametrize("single", CORNERS)
def test_closed_forms(single):
    covariance = white_moments(plane_of(single), level(64e-6, 12.0))
    for row, variance in closed_forms(single, 64e-6, 12.0).items():
        assert covariance[row, row] == pytest.approx(variance, rel=1e-9)


@pytest.mark.parametrize("single", CORNERS)
def test_band_integral_approaches_the_unbounded_one(single):
    # What lies above the band falls with its end; acceleration last, as 1/frequency: kt·c/ms² of it is white to mu/c
    road = RoadInput(64e-6, 12.0, (1e-4, 3e3))
    moments = ride_moments((plane_of(single),), alone(single), road).axles[0]
    for row, variance in closed_forms(single, 64e-6, 12.0).items():
        assert moments.variance[row] == pytest.approx(variance, rel=2e-3)


def laws_for(single):
    fast, cut = 2.0 * single.wheel_frequency, 0.1 * single.body_frequency

    def of(name, bandwidth=fast, low_cut=cut, tyre=0.05):
        return corner_law(RideLaw(name, 1.0, 0.5, tyre, 0.6, 0.2, bandwidth, low_cut), single)

    return {
        "none": None,
        "passive": of("passive"),
        "skyhook": of("skyhook"),
        "skyhook, instant": of("skyhook", math.inf, 0.0),
        "optimum": of("lqr"),
        "optimum, slow": of("lqr", 4.0 * single.body_frequency),
        "optimum, instant": of("lqr", math.inf, 0.0),
        "optimum, soft": of("lqr", fast, cut, 0.005),
    }


@pytest.mark.parametrize("single", CORNERS)
@pytest.mark.parametrize("name", list(laws_for(corner())))
def test_road_power_identity(single, name):
    # Derived, agrees with Zuo & Zhang 2011: π²·kt·n0²·Gd·V enters, whatever masses, spring, damper and law
    roughness, speed = CAR_ROAD
    covariance = white_moments(plane_of(single, laws_for(single)[name]), level(roughness, speed))
    dampers = single.damping * covariance[Row.TRAVEL_RATE, Row.TRAVEL_RATE]
    actuator = covariance[Row.FORCE, Row.SUPPLY_RATE]
    fed_in = math.pi**2 * single.tyre * N0**2 * roughness * speed
    assert dampers - actuator == pytest.approx(fed_in, rel=1e-6)


@pytest.mark.parametrize("arrangement", ["series", "corner_accumulator"])
def test_road_power_identity_in_every_arrangement(arrangement):
    single = corner(damping=1500.0, orifice=1100.0 if arrangement == "corner_accumulator" else 0.0)
    slow = 4.0 * single.body_frequency
    law = corner_law(RideLaw("lqr", 1.0, 0.5, 0.05, 0.6, 0.2, slow, 0.13), single)
    covariance = white_moments(plane_of(single, law, arrangement), level(*CAR_ROAD))
    rate, supply = Row.TRAVEL_RATE, Row.SUPPLY_RATE
    through = covariance[rate, rate] - 2.0 * covariance[rate, supply] + covariance[supply, supply]
    dampers = (single.damping - single.orifice) * covariance[rate, rate] + single.orifice * through
    fed_in = math.pi**2 * single.tyre * N0**2 * CAR_ROAD[0] * CAR_ROAD[1]
    assert dampers - covariance[Row.FORCE, supply] == pytest.approx(fed_in, rel=1e-6)


@pytest.mark.parametrize(("speed", "share"), [(20.0, 0.999), (5.0, 0.87), (2.0, 0.23)])
def test_a_band_limited_road_gives_less(speed, share):
    # Derived shares for the car corner over 0.011 to 2.83 cycle/m
    single = corner()
    road = RoadInput(256e-6, speed, (0.011, 2.83))
    power = ride_moments((plane_of(single),), alone(single), road).axles[0].road_power
    assert power / (math.pi**2 * single.tyre * N0**2 * 256e-6 * speed) == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize("name", list(laws_for(corner())))
def test_invariant_points(name):
    # Hedrick & Butsuen 1990: 666.667 1/s² at 11.254 Hz and 1.133333 at 3.860 Hz for the car corner, any actuator
    single = corner(damping=300.0)
    plane = plane_of(single, laws_for(single)[name])
    wheel = math.sqrt(single.tyre / single.unsprung_mass) / (2.0 * math.pi)
    travel = math.sqrt(single.tyre / (single.sprung_mass + single.unsprung_mass)) / (2.0 * math.pi)
    assert wheel == pytest.approx(11.254, abs=5e-4)
    assert travel == pytest.approx(3.860, abs=5e-4)
    response = np.abs(frequency_response(plane, np.array([wheel, travel]), 0.0))
    assert response[0, Row.BODY_ACCELERATION] == pytest.approx(666.667, abs=5e-4)
    assert response[1, Row.TRAVEL] == pytest.approx(1.133333, abs=5e-7)


@pytest.mark.parametrize("name", ["none", "skyhook", "optimum"])
def test_frequency_response_against_python_control(name):
    # The corner written out again from its equations of motion, law and filters as transfer functions
    single = corner(damping=300.0)
    law = laws_for(single)[name]
    s = control.tf("s")
    ms, mu, ks, kt, c = single.sprung_mass, single.unsprung_mass, single.spring, single.tyre, single.damping
    k_travel, k_body, k_tyre, k_wheel = law.gains if law is not None else np.zeros(4)
    shaped = (
        1.0 if law is None else 1.0 / (1.0 + s / (2 * math.pi * law.bandwidth)) * s / (s + 2 * math.pi * law.low_cut)
    )
    # force = F·(k1·(zb - zu) + k2·s·zb + k3·(zu - r) + k4·s·zu); two equations in zb and zu solved by Cramer's rule
    on_body = (k_travel + k_body * s) * shaped
    on_wheel = (-k_travel + k_tyre + k_wheel * s) * shaped
    on_road = -k_tyre * shaped
    a11, a12 = ms * s**2 + c * s + ks - on_body, -(c * s + ks) - on_wheel
    a21, a22 = -(c * s + ks) + on_body, mu * s**2 + c * s + ks + kt + on_wheel
    b1, b2 = on_road, kt - on_road
    frequency = np.geomspace(0.1, 80.0, 40)
    at = 2j * math.pi * frequency
    coefficient = [
        control.tf(term)(at) if not np.isscalar(term) else np.full(at.shape, term)
        for term in (a11, a12, a21, a22, b1, b2)
    ]
    a11, a12, a21, a22, b1, b2 = coefficient
    determinant = a11 * a22 - a12 * a21
    body, wheel = (b1 * a22 - a12 * b2) / determinant, (a11 * b2 - a21 * b1) / determinant
    response = frequency_response(plane_of(single, law), frequency, 0.0)
    assert np.allclose(response[:, Row.BODY_ACCELERATION], at**2 * body, rtol=1e-8, atol=1e-9)
    assert np.allclose(response[:, Row.TRAVEL], body - wheel, rtol=1e-7, atol=1e-9)
    assert np.allclose(response[:, Row.TYRE], wheel - 1.0, rtol=1e-7, atol=1e-9)


def test_state_space_against_python_control():
    # The same matrices through the library's own frequency response: the Hessenberg route against a plain solve
    single = corner(damping=300.0)
    plane = plane_of(single, laws_for(single)["optimum"])
    system = control.ss(plane.a, plane.b, plane.c, plane.d)
    frequency = np.geomspace(0.1, 80.0, 30)
    reference = system(2j * math.pi * frequency)[:, 0, :].T
    assert np.allclose(frequency_response(plane, frequency, 0.0), reference, rtol=1e-7, atol=1e-7)


def test_optimum_of_the_car_corner():
    # Derived row: weights 1 on acceleration², 1e3 on travel², 1e4 on tyre², no damper
    single = corner(damping=0.0)
    law = CornerLaw(-optimal_gains(single, 1.0, 1e3, 1e4))
    covariance = white_moments(plane_of(single, law), level(*CAR_ROAD))
    rms = np.sqrt(np.diag(covariance))
    assert rms[Row.BODY_ACCELERATION] == pytest.approx(0.744, abs=5e-4)
    assert rms[Row.FORCE] == pytest.approx(322.14, abs=5e-3)
    assert rms[Row.TRAVEL_RATE] == pytest.approx(0.4674, abs=5e-5)
    assert covariance[Row.FORCE, Row.SUPPLY_RATE] == pytest.approx(-101.065, abs=5e-4)


# The golden car: ASTM E1926, Sayers 1995, constants as read; V = 80 km/h
GOLDEN = corner(damping=6.0, sprung=1.0, unsprung=0.15, spring=63.3, tyre=653.0)
GOLDEN_SPEED = 80.0 / 3.6


@pytest.mark.parametrize(("wavelength", "index"), [(2.4, 2.77334), (3.0, 1.93763), (10.0, 0.50387)])
def test_golden_car_on_a_sinusoid(wavelength, index):
    # Derived, without the 250 mm average, m/km for 1 mm of amplitude: mean |relative velocity| over speed
    response = frequency_response(plane_of(GOLDEN), np.array([GOLDEN_SPEED / wavelength]), 0.0)
    mean = 2.0 / math.pi * abs(response[0, Row.TRAVEL_RATE]) * 1e-3
    assert 1e3 * mean / GOLDEN_SPEED == pytest.approx(index, abs=5e-6)


def test_golden_car_on_a_class_a_road():
    # Derived: 2.219 m/km on a Gaussian profile of class A
    covariance = white_moments(plane_of(GOLDEN), level(CLASS_ROUGHNESS["A"], GOLDEN_SPEED))
    mean = math.sqrt(2.0 / math.pi * covariance[Row.TRAVEL_RATE, Row.TRAVEL_RATE])
    assert 1e3 * mean / GOLDEN_SPEED == pytest.approx(2.219, abs=5e-4)


def test_white_moments_refuse_what_has_none():
    with pytest.raises(ValueError, match="unstable"):
        white_moments(plane_of(corner(damping=0.0), CornerLaw.damper(-100.0)), 1.0)
