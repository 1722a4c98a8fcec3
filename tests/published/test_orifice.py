"""Orifice and relief valve against worked examples of textbooks and a standard."""

import math

import fluids
import pytest

from models.hydraulics.orifice import flow_coefficient, orifice_drop, orifice_flow, relief_area, transition_flow

GPM = 3.785411784e-3 / 60.0
PSI = 6894.757293168361
INCH = 0.0254
NEGLIGIBLE_VISCOSITY = 1e-7


def test_orifice_flow_of_a_textbook():
    # Esposito, Fluid Power with Applications, example 8.4, p. 302: 252 gpm (0.005); C = 0.80 is the book's own
    area = math.pi / 4 * INCH**2
    flow = orifice_flow(100 * PSI, area, INCH, 0.80, 0.2, 900.0, NEGLIGIBLE_VISCOSITY)
    assert flow / GPM == pytest.approx(252, rel=0.005)


def test_flow_coefficient_of_a_textbook():
    # Esposito, example 8.5, p. 304: Cv = 2.37 gpm/psi^0.5 (0.005)
    assert flow_coefficient(25 * GPM, 100 * PSI, 0.9 * 999.016) == pytest.approx(2.37, rel=0.005)


def test_flow_coefficient_against_the_fluids_library():
    # fluids.control_valve.Kv_to_Cv, its own constant; Kv in m³/h at 1 bar of water
    flow, drop = 1.0 / 3600.0, 1e5
    ours = flow_coefficient(flow, drop, 999.016)
    assert ours == pytest.approx(fluids.control_valve.Kv_to_Cv(1.0), rel=2e-3)


def test_relief_area_of_a_standard():
    # API Standard 520 part I, example 5, as quoted in the fluids library: 3066 mm² (0.005)
    area = relief_area(6814e-3 / 60, 1724e3, 0.10, 0.20 * 1724e3, 0.65 * 0.97, 0.9 * 999.0)
    assert area * 1e6 == pytest.approx(3066, rel=0.005)


def test_creeping_flow_follows_the_laminar_discharge_law():
    # Merritt 1967 (recalled): at low Reynolds number Cd = δ·√Re with Re = Q·Dh/(A·ν), so Q solves itself
    diameter, density, viscosity, delta = 0.5e-3, 870.0, 0.5, 0.2
    area = math.pi / 4 * diameter**2
    flow = orifice_flow(10.0, area, diameter, 0.611, delta, density, viscosity)
    reynolds = flow * diameter / (area * viscosity / density)
    assert reynolds < 1e-2
    assert flow == pytest.approx(delta * math.sqrt(reynolds) * area * math.sqrt(2 * 10.0 / density), rel=1e-2)


def test_transition_stands_where_both_laws_meet():
    arguments = (1e-6, 1e-3, 0.611, 0.2, 870.0, 0.03)
    crossing = transition_flow(*arguments)
    turbulent = 870.0 / 2 * (crossing / (0.611 * 1e-6)) ** 2
    assert orifice_drop(crossing, *arguments) == pytest.approx(2 * turbulent, rel=1e-12)
