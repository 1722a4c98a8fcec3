"""Gas springs and their orifices against CoolProp's nitrogen, the ideal gas, and a Gaussian flow drawn by number."""

from __future__ import annotations

import math

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from models.hydraulics.accumulator import nitrogen
from models.hydraulics.gas_spring import (
    damping_orifice_drop,
    gas_spring,
    in_series,
    isentropic_modulus,
    orifice_bore,
    orifice_resistance,
    precharges,
    squeezed_pressure,
)
from models.sizing.corner import one_sided_point

ATMOSPHERE = 101_325.0  # ISO 2533
N2 = "Nitrogen"


@pytest.mark.parametrize("bar", [2.0, 10.0, 46.0, 90.0, 180.0, 300.0])
@pytest.mark.parametrize("temperature", [258.0, 293.15, 338.0])
def test_modulus_without_heat_is_density_times_sound_speed_squared(bar, temperature):
    """Newton–Laplace; speed of sound and density of the reference equation in CoolProp."""
    pressure = bar * 1e5
    density, sound = (PropsSI(what, "P", pressure, "T", temperature, N2) for what in ("D", "A"))
    assert isentropic_modulus(nitrogen(), pressure, temperature) == pytest.approx(density * sound**2, rel=6e-3)


@pytest.mark.parametrize("share", [0.5, 0.7, 0.95, 1.2, 1.6])
@pytest.mark.parametrize("bar", [5.0, 45.0, 90.0])
def test_squeezed_gas_keeps_its_entropy(bar, share):
    temperature = 293.15
    density, entropy = (PropsSI(what, "P", bar * 1e5, "T", temperature, N2) for what in ("D", "S"))
    expected = PropsSI("P", "D", density / share, "S", entropy, N2)
    assert squeezed_pressure(nitrogen(), bar * 1e5, temperature, share) == pytest.approx(expected, rel=2e-3)


def test_gas_cannot_be_squeezed_to_nothing():
    assert math.isnan(squeezed_pressure(nitrogen(), 5e6, 293.15, 0.0))
    assert math.isnan(squeezed_pressure(nitrogen(), 5e6, 293.15, -0.3))
    assert math.isnan(squeezed_pressure(nitrogen(), 5e6, 293.15, 0.05))  # beyond the table


def test_a_weak_gas_spring_is_that_of_the_ideal_gas():
    """V = n·p·A²/k with n = 1.4; at 3 bar nitrogen is ideal to a percent. Polytropic law: any thermodynamics text."""
    force, area, rate = 4.0, 2e-5, 300.0
    spring = gas_spring(force, area, rate, 0.005, 0.005, 293.15, 283.15, 313.15)
    pressure = force / area + ATMOSPHERE
    assert spring.static_pressure == pytest.approx(force / area)
    assert spring.volume == pytest.approx(1.4 * pressure * area**2 / rate, rel=0.01)
    cold, hot = spring.volume * 283.15 / 293.15, spring.volume * 313.15 / 293.15
    bump = pressure * (cold / (cold - area * 0.005)) ** 1.4 - ATMOSPHERE
    droop = pressure * (hot / (hot + area * 0.005)) ** 1.4 - ATMOSPHERE
    assert spring.bump_pressure == pytest.approx(bump, rel=0.01)
    assert spring.droop_pressure == pytest.approx(droop, rel=0.01)
    assert spring.cold_rate == pytest.approx(rate * 293.15 / 283.15, rel=0.01)
    assert spring.hot_rate == pytest.approx(rate * 293.15 / 313.15, rel=0.01)


def test_the_rate_is_the_slope_of_force_over_travel():
    """Central difference of A·p over a millimetre, the gas squeezed without heat."""
    area, step, gas = 1.2e-3, 1e-3, nitrogen()
    spring = gas_spring(5600.0, area, 38e3, 0.08, 0.09, 293.15, 273.15, 333.15)
    at_rest = spring.static_pressure + ATMOSPHERE
    ends = [squeezed_pressure(gas, at_rest, 293.15, 1.0 - area * x / spring.volume) for x in (step, -step)]
    assert (ends[0] - ends[1]) * area / (2 * step) == pytest.approx(38e3, rel=4e-3)


def test_precharge_holds_the_same_gas():
    density = PropsSI("D", "P", 30e5, "T", 293.15, N2)
    shells = np.array([1e-3, 2e-3, 50e-3])
    found = precharges(nitrogen(), density * 1e-3, shells, 293.15)
    expected = [PropsSI("P", "D", density * 1e-3 / v, "T", 293.15, N2) for v in shells]  # the last below 1 bar
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("rms", "viscosity"), [(1.4e-4, 0.009), (3e-7, 0.02), (1.4e-4, 0.3)])
def test_an_orifice_linearised_is_the_regression_over_a_gaussian_flow(rms, viscosity):
    """Statistical linearisation: the slope E[Q·Δp]/E[Q²] over a drawn Gaussian flow (seeded, 4e5 draws)."""
    bore = orifice_bore(2e9 if rms > 1e-6 else 3e10, rms, 850.0, viscosity)
    flow = np.random.default_rng(7).normal(0.0, rms, 400_000)
    drop = np.array([damping_orifice_drop(bore, q, 850.0, viscosity) for q in flow])
    slope = float(np.dot(flow, drop) / np.dot(flow, flow))
    assert orifice_resistance(bore, rms, 850.0, viscosity) == pytest.approx(slope, rel=5e-3)
    assert orifice_resistance(bore, rms, 850.0, viscosity) == pytest.approx(2e9 if rms > 1e-6 else 3e10, rel=1e-9)


def test_stiffness_in_series():
    """Two springs one behind the other: 1/K = 1/a + 1/b, any mechanics text."""
    assert in_series(2e6, 4e4) == pytest.approx(1.0 / (1.0 / 2e6 + 1.0 / 4e4))


def test_a_single_acting_cylinder_fills_from_the_supply_and_is_emptied_by_its_load():
    """Orifice law by hand: Q = g·x·√Δp, no viscous part; 6 kN on 1.2e-3 m² is 50 bar."""
    cap, gain, speed, friction, line = 1.2e-3, 1.5e-7, 0.1, 60.0, 2e5
    up = one_sided_point(6000.0, 1.0, cap * speed, cap, gain, 0.0, friction, line, 120e5, 5e5)
    assert up[1] == up[2] == pytest.approx((6000.0 + 60.0) / cap)
    assert up[0] == pytest.approx(cap * speed / gain / math.sqrt(120e5 - 2e5 - 50.5e5))
    assert up[3] == pytest.approx(50.5 / 120)
    down = one_sided_point(6000.0, -1.0, cap * speed, cap, gain, 0.0, friction, line, 120e5, 5e5)
    assert down[0] == pytest.approx(cap * speed / gain / math.sqrt(49.5e5 - 2e5 - 5e5))
    assert down[3] == pytest.approx(5 / 49.5)
    assert one_sided_point(20e3, 1.0, cap * speed, cap, gain, 0.0, friction, line, 120e5, 5e5)[0] == math.inf
    assert one_sided_point(300.0, -1.0, cap * speed, cap, gain, 0.0, friction, line, 120e5, 5e5)[0] == math.inf
    pulled = one_sided_point(-500.0, -1.0, cap * speed, cap, gain, 0.0, friction, line, 120e5, 5e5)
    assert pulled[0] == math.inf
    assert pulled[1] == pytest.approx(-560.0 / cap)
    still = one_sided_point(6000.0, 0.0, 0.0, cap, gain, 0.0, friction, line, 120e5, 5e5)
    assert still[:4] == pytest.approx((0.0, 50e5, 50e5, 50 / 120))
