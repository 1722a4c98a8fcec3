"""Seal friction and leakage against a worked example and the trade's break-away pressures."""

import math

import pytest

from models.hydraulics.seals import (
    clearance_friction,
    clearance_leakage,
    elastomer_seal_friction,
    squeeze_load,
)


def test_clearance_leakage_of_a_textbook():
    # Fox & McDonald, Introduction to Fluid Mechanics, example 8.1: 57.6 mm³/s (0.005; printed answer from memory)
    leak = clearance_leakage(25e-3, 5e-6, 19e6, 0.018, 15e-3, 0.0)
    assert leak * 1e9 == pytest.approx(57.6, rel=0.005)


def test_a_touching_piston_leaks_two_and_a_half_times_as_much():
    # standard result for the eccentric annulus, recalled
    centred, touching = (clearance_leakage(6e-3, 3e-6, 1e6, 0.03, 6e-3, e) for e in (0.0, 1.0))
    assert touching == pytest.approx(2.5 * centred, rel=1e-12)


def test_leakage_by_integrating_the_gap_around_the_circumference():
    # second route: parallel-plate flow h³·Δp/(12·µ·L) summed over the gap h = c·(1 + e·cos φ)
    diameter, clearance, eccentricity, steps = 8e-3, 4e-6, 0.6, 2000
    total = 0.0
    for i in range(steps):
        gap = clearance * (1 + eccentricity * math.cos(2 * math.pi * (i + 0.5) / steps))
        total += gap**3 * 2e6 / (12 * 0.02 * 10e-3) * math.pi * diameter / steps
    assert clearance_leakage(diameter, clearance, 2e6, 0.02, 10e-3, eccentricity) == pytest.approx(total, rel=1e-9)


def test_squeeze_load_of_the_rubber_formula():
    # Lindley 1967 (recalled), worked by hand: E 7 MPa, d 2 mm, e 0.15 → 14000·(1.25·0.0580948 + 50·1.13906e-5) N/m
    assert squeeze_load(2e-3, 0.15, 7e6) == pytest.approx(1024.6, abs=0.05)


def break_away_pressure(bore, rod, section, rod_section):
    # one ring on the piston and one on the rod, break-out three times running friction, ordinary squeeze and compound
    running = elastomer_seal_friction(bore, section, 0.15, 0.0, 7e6, 0.2, 0.5)
    running += elastomer_seal_friction(rod, rod_section, 0.15, 0.0, 7e6, 0.2, 0.5)
    return 3.0 * running / (math.pi / 4 * bore**2)


@pytest.mark.parametrize(
    ("bore", "rod", "section", "low", "high"),
    [
        # break-away 3 to 8 bar at 6 to 12 mm bore, 1 to 3 bar at 25 to 63 mm: common practice, no source
        (6e-3, 3e-3, 1.5e-3, 3e5, 8e5),
        (10e-3, 5e-3, 2.0e-3, 3e5, 8e5),
        (25e-3, 14e-3, 2.65e-3, 1e5, 3e5),
        (63e-3, 36e-3, 5.3e-3, 1e5, 3e5),
    ],
)
def test_break_away_pressure_as_the_trade_finds_it(bore, rod, section, low, high):
    assert low <= break_away_pressure(bore, rod, section, section) <= high


def test_pressure_presses_the_ring_on():
    # derived: the pressure term alone is µ·π·D·d·share·p
    plain = elastomer_seal_friction(10e-3, 2e-3, 0.12, 0.0, 7e6, 0.15, 0.5)
    pressed = elastomer_seal_friction(10e-3, 2e-3, 0.12, 100e5, 7e6, 0.15, 0.5)
    assert pressed - plain == pytest.approx(0.15 * math.pi * 10e-3 * 2e-3 * 0.5 * 100e5, rel=1e-9)


def test_clearance_drag_is_couette_flow():
    # definition of viscosity: stress µ·v/c on the area π·D·L
    assert clearance_friction(6e-3, 4e-6, 8e-3, 0.03, -0.2) == pytest.approx(
        -0.03 * 0.2 / 4e-6 * math.pi * 6e-3 * 8e-3, rel=1e-12
    )
