"""The oil column against a worked example, textbook closed forms, and minimisers that know nothing of it."""

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.signal import TransferFunction, freqresp

from models.hydraulics.stiffness import (
    chamber_compliance,
    column_stiffness,
    natural_frequency,
    reduced_mass,
    velocity_disturbance,
)

INCH, PSI, POUND_FORCE = 0.0254, 6894.757293168361, 4.4482216152605


def test_natural_frequency_and_error_of_a_textbook():
    # Esposito, Fluid Power with Applications, example 17.1, p. 610: A 5 in2, B 175 000 psi, V 50 in3 in ONE chamber,
    # M 2.59 lbf s2/in; wH = A·√(2B/(V·M)), a third of it as loop gain, repeatable error 0.00138 in (0.0054)
    area, modulus = 5 * INCH**2, 175_000 * PSI
    mass = 2.59 * POUND_FORCE / INCH
    stroke = 2 * 50 * INCH**3 / area
    stiffness = column_stiffness(area, area, stroke, modulus, 0.0, 0.0)
    omega = 2 * math.pi * natural_frequency(stiffness, mass)
    assert omega == pytest.approx(259.9, rel=0.0005)
    amplifier = omega / 3 / (0.15 * 0.2 * 4)
    assert 4 / (amplifier * 4) == pytest.approx(0.00138, rel=0.0054)


def test_through_rod_at_mid_stroke():
    # Merritt (1967), recalled: 4·B·A²/Vt with Vt the volume of both chambers and their dead volumes
    area, stroke, modulus, dead = 4e-4, 0.18, 1.2e9, 30e-6
    compliance = chamber_compliance(dead, modulus, 0.0, 0.0)
    total = area * stroke + 2 * dead
    found = column_stiffness(area, area, stroke, modulus, compliance, compliance)
    assert found == pytest.approx(4 * modulus * area**2 / total, rel=1e-12)


@pytest.mark.parametrize("cap", [1.2e-5, 5e-4])
@pytest.mark.parametrize("ratio", [0.35, 0.7, 1.0])
@pytest.mark.parametrize("cap_dead", [0.02, 0.4, 6.0])
@pytest.mark.parametrize("annulus_dead", [0.02, 6.0])
def test_least_over_the_stroke(cap, ratio, cap_dead, annulus_dead):
    # second route: SciPy's bounded minimiser on A1²/(A1·x/B + c1) + A2²/(A2·(S−x)/B + c2), and the ends
    stroke, modulus, annulus = 0.15, 0.9e9, ratio * cap
    c1, c2 = cap_dead * cap * stroke / modulus, annulus_dead * annulus * stroke / modulus

    def stiffness(x):
        return cap**2 / (cap * x / modulus + c1) + annulus**2 / (annulus * (stroke - x) / modulus + c2)

    inside = minimize_scalar(stiffness, bounds=(0.0, stroke), method="bounded", options={"xatol": 1e-12})
    least = min(inside.fun, stiffness(0.0), stiffness(stroke))
    assert column_stiffness(cap, annulus, stroke, modulus, c1, c2) == pytest.approx(least, rel=1e-9)


def test_hose_adds_to_the_oil():
    # definition: a hose's volumetric expansion per metre and pascal adds to V/B
    assert chamber_compliance(2e-5, 1e9, 0.5, 6e-16) == pytest.approx(2e-5 / 1e9 + 0.5 * 6e-16, rel=1e-15)


@pytest.mark.parametrize(("sprung", "unsprung"), [(600.0, 62.0), (0.3, 0.085)])
@pytest.mark.parametrize("ratio", [1.0, 0.6])
def test_reduced_mass_by_eigenvalues(sprung, unsprung, ratio):
    # second route: two free masses joined by a spring k at the wheel; an actuator that travels R times as far as the
    # wheel feels the same oscillation against a stiffness k/R²
    stiffness = 40e3 * sprung
    matrix = np.array([[stiffness, -stiffness], [-stiffness, stiffness]]) / np.array([[sprung], [unsprung]])
    omega = math.sqrt(max(np.linalg.eigvals(matrix).real))
    mass = reduced_mass(sprung, unsprung, ratio)
    assert 2 * math.pi * natural_frequency(stiffness / ratio**2, mass) == pytest.approx(omega, rel=1e-9)


@pytest.mark.parametrize("frequency", [1.0, 12.0, 60.0])
def test_velocity_disturbance_as_a_transfer_function(frequency):
    # second route: SciPy's frequency response of K·x·sτ/(1 + sτ), a first-order valve that leaves the rest to the oil
    stiffness, velocity, bandwidth = 3e6, 0.6, 65.0
    lag = 1.0 / (2 * math.pi * bandwidth)
    _, response = freqresp(TransferFunction([stiffness * lag, 0.0], [lag, 1.0]), [2 * math.pi * frequency])
    amplitude = velocity / (2 * math.pi * frequency)
    expected = abs(response[0]) * amplitude
    assert velocity_disturbance(stiffness, velocity, frequency, bandwidth) == pytest.approx(expected, rel=1e-12)


def test_a_slow_motion_leaves_stiffness_velocity_and_lag():
    # closed form: K·v·τ for motion far below the valve's bandwidth
    error = velocity_disturbance(3e6, 0.6, 0.5, 65.0)
    assert error == pytest.approx(3e6 * 0.6 / (2 * math.pi * 65.0), rel=1e-4)
