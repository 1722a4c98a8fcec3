"""The reservoir against worked examples and the trade's figures."""

import math

import pytest

from models.heat import Box
from models.hydraulics.filter import element_drop, rated_flow_for
from models.hydraulics.reservoir import (
    cooling_area,
    heat_balance,
    reservoir_volumes,
    sheet_mass,
    tank_box,
    throttling_rise,
    warm_up_time,
)
from models.quantity import OutOfRange

ICE = 273.15
GALLON, PSI, FOOT, POUND = 3.785411784e-3, 6894.757293168361, 0.3048, 0.45359237
HORSEPOWER = 745.69987158227
BRITISH_THERMAL_UNIT = 1055.05585262


def test_throttling_heat_of_a_textbook():
    # Esposito, Fluid Power with Applications, example 11.2, p. 424: 127.9 °F after 1000 psi from 120 °F (0.005)
    density = 7.42 * POUND / GALLON
    heat_capacity = 0.42 * BRITISH_THERMAL_UNIT / POUND / (5 / 9)
    rise = throttling_rise(1000 * PSI, density, heat_capacity) * 9 / 5
    assert 120 + rise == pytest.approx(127.9, abs=0.05)
    # example 11.3, p. 424, in SI: 54.3 °C after 70 bar from 50 °C
    assert 50 + throttling_rise(70e5, 895.0, 1800.0) == pytest.approx(54.3, abs=0.05)


def test_tank_area_of_a_textbook():
    # Sullivan, Fluid Power: Theory and Applications, 4th ed., example 14.5, p. 390: 29.17 ft² (0.005)
    heat = 0.25 * (10 * GALLON / 60) * 1500 * PSI
    coefficient = 0.001 * HORSEPOWER / FOOT**2 / (5 / 9)
    assert cooling_area(heat, coefficient, 75 * 5 / 9) / FOOT**2 == pytest.approx(29.17, rel=0.005)


@pytest.mark.parametrize(("air_speed", "low", "high"), [(0.0, 6.0, 14.45), (3.0, 12.0, 30.0)])
def test_computed_coefficient_lies_where_the_trade_puts_it(air_speed, low, high):
    # common practice: 6 poor, 12 normal, 24 forced; Sullivan 14.45 W/(m²·K)
    box = Box(0.5, 0.35, 0.35)
    area = 2 * (box.length * box.width + box.length * box.height + box.width * box.height)
    balance = heat_balance(0.0, box, ICE + 60, ICE + 20, air_speed, 0.9)
    assert low <= balance.conductance_at_limit / area <= high


def test_balance_closes_and_names_the_cooler():
    box = tank_box(0.02)
    warm = heat_balance(60.0, box, ICE + 70, ICE + 30, 0.0, 0.9)
    assert warm.cooler_heat == 0.0
    assert ICE + 30 < warm.steady_temperature < ICE + 70
    again = heat_balance(60.0, box, warm.steady_temperature, ICE + 30, 0.0, 0.9)
    assert again.heat_lost_at_limit == pytest.approx(60.0, rel=1e-6)
    piped = heat_balance(60.0, box, ICE + 70, ICE + 30, 0.0, 0.9, further_conductance=2.0)
    assert piped.heat_lost_at_limit - warm.heat_lost_at_limit == pytest.approx(2.0 * 40.0, rel=1e-9)
    hot = heat_balance(2000.0, box, ICE + 70, ICE + 30, 0.0, 0.9)
    assert hot.steady_temperature is None
    assert hot.heat_lost_at_limit + hot.cooler_conductance * 40.0 == pytest.approx(2000.0, rel=1e-9)
    with pytest.raises(OutOfRange):
        heat_balance(10.0, box, ICE + 160, ICE + 30, 0.0, 0.9)
    with pytest.raises(ValueError, match="temperature of the air"):
        heat_balance(10.0, box, ICE + 20, ICE + 30, 0.0, 0.9)


def test_volumes_by_hand():
    # by hand: 10 L/min for a minute is 10 L; 0.4 L of cylinders; 7e-4 · 60 K · (10 + 0.4 + 3) L = 0.5628 L;
    # highest 10.9628 L; 15 % air 1.64442 L; tank 12.60722 L
    volumes = reservoir_volumes(10e-3 / 60, 60.0, 0.4e-3, 3e-3, 7e-4, 60.0, 0.15)
    assert volumes.thermal_expansion == pytest.approx(0.5628e-3, rel=1e-9)
    assert volumes.total == pytest.approx(12.60722e-3, rel=1e-9)


def test_box_holds_its_volume_and_sheet_weighs():
    box = tank_box(0.012, 1.5, 1.0)
    assert box.length * box.width * box.height == pytest.approx(0.012, rel=1e-12)
    # by hand: a 0.3 × 0.2 × 0.2 m box has 0.32 m² of 2 mm steel: 5.024 kg, and 30 % for fittings
    assert sheet_mass(Box(0.3, 0.2, 0.2), 2e-3, 7850.0, 0.3) == pytest.approx(0.32 * 2e-3 * 7850 * 1.3, rel=1e-12)


def test_warm_up():
    # one thermal mass (textbook): from 20 °C with 100 W into 20 kJ/K and no loss to speak of, 40 K take 8000 s
    assert warm_up_time(100.0, 20e3, 1e-6, ICE + 20, ICE + 60, ICE + 20) == pytest.approx(8000, rel=1e-5)
    assert warm_up_time(100.0, 20e3, 5.0, ICE + 20, ICE + 60, ICE + 20) == math.inf


def test_filter_element_is_linear_in_flow_and_viscosity():
    # Darcy's law of porous media: twice the flow of four times the viscosity costs eight times the drop
    assert element_drop(2e-4, 0.12, 1e-4, 0.03, 0.2e5) == pytest.approx(8 * 0.2e5, rel=1e-12)
    size = rated_flow_for(1e-4, 0.3, 1e5, 0.03, 0.3e5)
    assert element_drop(1e-4, 0.3, size, 0.03, 0.3e5) == pytest.approx(1e5, rel=1e-12)
    assert rated_flow_for(1e-4, 0.003, 1e5, 0.03, 0.3e5) == 1e-4
