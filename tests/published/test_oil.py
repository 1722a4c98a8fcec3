"""The medium against handbook viscosities, CoolProp, worked examples and thermodynamic second routes."""

import math

import pytest
from CoolProp.CoolProp import PropsSI

import fluids_data
from models.oil import (
    bulk_modulus,
    compression,
    cubical_expansion,
    density,
    dynamic_viscosity,
    effective_bulk_modulus,
    free_air_fraction,
    heat_capacity,
    is_outside_data_span,
    kinematic_viscosity,
    medium_from_data,
    medium_from_points,
    state,
    tangent_from_secant,
    trapped_pressure_rise,
)
from models.quantity import OutOfRange

ICE = 273.15
PSI, CUBIC_INCH = 6894.757293168361, 0.0254**3
ATMOSPHERE = 101325.0
EVERY_MEDIUM = sorted(fluids_data.load_media())

# Unused engine oil: kinematic viscosity in mm²/s at kelvin. Incropera, Fundamentals of Heat and Mass Transfer, table
# A.5, recalled; its row at 353 K (0.0325 Pa·s at 852.1 kg/m³, 38.1 mm²/s) read on an engineering page agrees.
ENGINE_OIL = {320.0: 161.0, 330.0: 96.6, 340.0: 61.7, 350.0: 41.7, 360.0: 29.7, 370.0: 22.0}

# CoolProp 8.0.0, MEG[0.5]: °C, kg/m³, J/(kg·K), W/(m·K), Pa·s
GLYCOL_WATER = [
    (-20.0, 1082.195541858912, 3086.9747851792013, 0.36473805131515197, 0.022178402519470532),
    (0.0, 1074.6236106348797, 3202.8764702355397, 0.3768161213114663, 0.007929773683300138),
    (20.0, 1064.9286628298255, 3312.0419037405695, 0.3891483531305298, 0.0036932114311448963),
    (40.0, 1053.4407673653757, 3412.717197620726, 0.4015375281638025, 0.0021032808998294786),
    (60.0, 1040.4899931631571, 3503.1484638024453, 0.4137864278027444, 0.0013749186235782736),
    (80.0, 1026.406409144796, 3581.581814212162, 0.42569783343881556, 0.000968456687522606),
]


def test_viscosity_between_two_points_of_a_handbook_oil():
    # ASTM D341 through 310 and 380 K (288 and 16.9 mm²/s) must give what lies between; 3 % is the table's own scatter
    base = medium_from_data("mineral_vg68")
    oil = medium_from_points("engine", "engine oil", ((310.0, 288e-6), (380.0, 16.9e-6)), base)
    for temperature, expected in ENGINE_OIL.items():
        assert kinematic_viscosity(oil, temperature) * 1e6 == pytest.approx(expected, rel=0.03)
    assert kinematic_viscosity(oil, 353.0) * 1e6 == pytest.approx(0.0325 / 852.1 * 1e6, rel=0.03)


def test_viscosity_runs_through_every_point_of_every_medium():
    for name in EVERY_MEDIUM:
        medium = medium_from_data(name)
        for temperature, viscosity in medium.viscosity_points:
            if medium.lowest_temperature <= temperature <= medium.highest_temperature:
                assert kinematic_viscosity(medium, temperature) == pytest.approx(viscosity, rel=1e-9)


@pytest.mark.parametrize(
    ("name", "grade"), [(f"mineral_vg{g}", g) for g in (10, 15, 22, 32, 46, 68)], ids=lambda value: str(value)
)
def test_mineral_grades_at_40_degrees(name, grade):
    # ISO 3448: mid-point of the grade at 40 °C
    assert kinematic_viscosity(medium_from_data(name), ICE + 40) * 1e6 == pytest.approx(grade, rel=1e-9)


def test_glycol_water_against_the_library_it_comes_from():
    medium = medium_from_data("glycol_water_50")
    for celsius, dense, heat, conducts, viscosity in GLYCOL_WATER:
        now = state(medium, 0.0, ICE + celsius)
        assert now.density == pytest.approx(dense, rel=1e-4)
        assert now.heat_capacity == pytest.approx(heat, rel=1e-4)
        assert now.conductivity == pytest.approx(conducts, rel=1e-4)
        assert now.dynamic_viscosity == pytest.approx(viscosity, rel=2e-3)


def test_glycol_water_between_its_points_against_live_coolprop():
    medium = medium_from_data("glycol_water_50")
    for celsius in (-23.7, -11.3, 4.4, 33.3, 71.9):
        expected = PropsSI("V", "T", ICE + celsius, "P", ATMOSPHERE, "INCOMP::MEG[0.5]")
        assert dynamic_viscosity(medium, 0.0, ICE + celsius) == pytest.approx(expected, rel=2e-3)


def test_compression_of_a_textbook():
    # Esposito, Fluid Power with Applications, example 2.11, p. 57: −0.076 in³ (0.005)
    change = compression(10 * CUBIC_INCH, 1900 * PSI, 250000 * PSI)
    assert change / CUBIC_INCH == pytest.approx(-0.076, rel=0.005)


def test_trapped_oil_of_common_practice():
    # common practice, no source: 6900 psi for 50 °F at B = 3.0e5 psi and 0.00046 per °F (0.005)
    assert trapped_pressure_rise(3.0e5, 0.00046, 50.0) == pytest.approx(6900, rel=0.005)


@pytest.mark.parametrize("name", EVERY_MEDIUM)
def test_density_agrees_with_the_moduli(name):
    # second route: 1/K is the relative change of density with pressure, tangent by difference, secant over the way
    medium = medium_from_data(name)
    warm = ICE + 40
    tangent = bulk_modulus(medium, 150e5, warm, secant=False, adiabatic=False)
    low, middle, high = (density(medium, p, warm) for p in (149e5, 150e5, 151e5))
    assert middle * 2e5 / (high - low) == pytest.approx(tangent, rel=1e-4)
    secant = bulk_modulus(medium, 150e5, warm, secant=True, adiabatic=False)
    assert 150e5 / (1 - density(medium, 0.0, warm) / middle) == pytest.approx(secant, rel=1e-9)


@pytest.mark.parametrize("name", EVERY_MEDIUM)
def test_expansion_is_the_slope_of_density(name):
    medium, warm = medium_from_data(name), ICE + 41.3
    slope = (density(medium, 0.0, warm + 0.01) - density(medium, 0.0, warm - 0.01)) / 0.02
    assert cubical_expansion(medium, warm) == pytest.approx(-slope / density(medium, 0.0, warm), rel=1e-4)


@pytest.mark.parametrize("name", EVERY_MEDIUM)
def test_quick_squeezing_is_stiffer_than_slow(name):
    # thermodynamics: the adiabatic modulus is never below the isothermal one
    medium = medium_from_data(name)
    for temperature in (medium.lowest_temperature, ICE + 40, medium.highest_temperature):
        slow = bulk_modulus(medium, 100e5, temperature, adiabatic=False)
        assert bulk_modulus(medium, 100e5, temperature, adiabatic=True) >= slow > 0


def test_secant_data_are_met():
    # mineral oil, isothermal secant 1.5 GPa from 0 to 200 bar at 20 °C (memory)
    medium = medium_from_data("mineral_vg32")
    assert bulk_modulus(medium, 200e5, ICE + 20, secant=True, adiabatic=False) == pytest.approx(1.5e9, rel=1e-9)
    assert tangent_from_secant(1.5e9, 0.0, 200e5) < 1.5e9


def test_mineral_oil_at_200_bar_thickens_by_a_third():
    # Barus with 1.5e-8 1/Pa (memory): exp(0.3) = 1.35
    medium = medium_from_data("mineral_vg32")
    ratio = dynamic_viscosity(medium, 200e5, ICE + 40) / dynamic_viscosity(medium, 0.0, ICE + 40)
    assert ratio == pytest.approx(math.exp(0.3), rel=1e-9)


def test_effective_modulus_by_squeezing_the_mixture():
    # second route: −V·dp/dV of liquid and ideal gas squeezed together, by difference
    liquid, air, exponent = 1.6e9, 0.01, 1.2

    def volume(pressure):
        gas = air * (ATMOSPHERE / pressure) ** (1 / exponent)
        return gas + (1 - air) * math.exp(-(pressure - ATMOSPHERE) / liquid)

    for pressure in (2e5, 11e5, 100e5):
        step = 1e-4 * pressure
        slope = (volume(pressure + step) - volume(pressure - step)) / (2 * step)
        expected = -volume(pressure) / slope
        # the customary formula counts the liquid as the whole volume, 1/Bl instead of (1 − gas)/Bl
        assert effective_bulk_modulus(liquid, air, pressure, exponent, 0.09, 0.0) == pytest.approx(expected, rel=0.01)


def test_air_at_one_atmosphere_rules_the_modulus():
    # derived: gas alone has modulus n·p, so 1 % of it brings any oil to about 100·p at 1 atm
    modulus = effective_bulk_modulus(1.6e9, 0.01, ATMOSPHERE, 1.0, 0.09, 0.0)
    assert modulus == pytest.approx(100 * ATMOSPHERE, rel=0.01)


def test_air_goes_into_solution_by_henry():
    # Henry with Bunsen 0.09 (memory): 4.5 % by volume is gone once 0.5 atm more is applied to oil that stands
    air = 0.045 / 1.045
    assert free_air_fraction(air, 1.5 * ATMOSPHERE, 1.0, 0.09, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert free_air_fraction(air, 1.25 * ATMOSPHERE, 1.0, 0.09, 1.0) == pytest.approx(0.0225 / 1.25 / 1.018, rel=1e-9)
    assert free_air_fraction(air, 1.5 * ATMOSPHERE, 1.0, 0.09, 0.0) > 0.02


def test_outside_its_validity_a_medium_raises():
    medium = medium_from_data("mineral_vg46")
    with pytest.raises(OutOfRange) as caught:
        kinematic_viscosity(medium, ICE - 40)
    assert caught.value.unit == "°C"
    assert caught.value.given == pytest.approx(-40)
    assert caught.value.low == pytest.approx(-17)
    for function in (heat_capacity, cubical_expansion):
        with pytest.raises(OutOfRange):
            function(medium, ICE + 101)
    assert is_outside_data_span(medium, ICE + 20)
    assert not is_outside_data_span(medium, ICE + 60)


def test_a_users_oil_must_thin_with_heat():
    base = medium_from_data("mineral_vg32")
    with pytest.raises(ValueError, match="fall as the temperature rises"):
        medium_from_points("odd", "odd", ((310.0, 10e-6), (350.0, 20e-6)), base)
