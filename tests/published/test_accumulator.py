"""The accumulator against CoolProp's nitrogen, a worked example, and stated energies."""

import pytest
from CoolProp.CoolProp import PropsSI

from models.hydraulics.accumulator import (
    brode_energy,
    delivered_energy,
    delivery_per_volume,
    delivery_ratio,
    gas_mass,
    ideal_delivery_ratio,
    ideal_isentropic_energy,
    ideal_required_gas_volume,
    isentropic_temperature,
    nitrogen,
    nitrogen_density,
    nitrogen_energy,
    nitrogen_entropy,
    pressure_at,
    required_gas_volume,
    stored_energy,
)
from models.hydraulics.pressure_equipment import piping_category, vessel_category
from models.quantity import OutOfRange

ICE, ATMOSPHERE = 273.15, 101325.0
GALLON, PSI = 3.785411784e-3, 6894.757293168361

# Density of nitrogen, kg/m³, CoolProp 8.0.0 (Span et al. 2000): °C down, bar absolute across
PRESSURES = (1.01325, 10.0, 50.0, 100.0, 200.0, 300.0, 350.0)
DENSITIES = {
    -20.0: (1.349561, 13.404014, 68.503030, 138.237101, 263.594065, 357.509611, 394.185991),
    0.0: (1.250386, 12.387522, 62.646389, 125.247753, 238.619819, 327.524607, 363.464289),
    20.0: (1.164830, 11.518355, 57.814580, 114.841678, 218.544351, 302.438760, 337.266093),
    40.0: (1.090260, 10.765895, 53.741658, 106.260121, 202.017300, 281.220685, 314.780837),
    60.0: (1.024683, 10.107632, 50.250396, 99.026145, 188.135464, 263.062391, 295.322278),
    80.0: (0.966562, 9.526600, 47.217115, 92.822350, 176.278704, 247.346246, 278.335620),
    100.0: (0.914690, 9.009743, 44.552322, 87.427860, 166.009043, 233.601932, 263.380542),
}


@pytest.mark.parametrize("celsius", DENSITIES)
def test_density_of_the_table(celsius):
    for bar, expected in zip(PRESSURES, DENSITIES[celsius], strict=True):
        # 0.1 %, the accuracy the interpolated table is built for
        assert nitrogen_density(nitrogen(), bar * 1e5, ICE + celsius) == pytest.approx(expected, rel=1e-3)


def test_nitrogen_between_its_points_against_live_coolprop():
    for kelvin in (171.3, 203.7, 251.1, 297.4, 341.9, 411.0):
        for bar in (1.3, 7.7, 33.0, 88.0, 171.0, 333.0, 405.0):
            pascal = bar * 1e5
            dense, entropy, energy = (
                PropsSI(name, "T", kelvin, "P", pascal, "Nitrogen") for name in ("Dmass", "Smass", "Umass")
            )
            assert nitrogen_density(nitrogen(), pascal, kelvin) == pytest.approx(dense, rel=1e-3)
            assert nitrogen_entropy(nitrogen(), pascal, kelvin) == pytest.approx(entropy, abs=1.0)
            assert nitrogen_energy(nitrogen(), pascal, kelvin) == pytest.approx(energy, abs=200.0)


def test_fast_expansion_cools_as_the_library_says():
    for high, low, celsius in ((350.0, 120.0, 20.0), (200.0, 150.0, -20.0), (25.0, 18.0, 20.0)):
        entropy = PropsSI("Smass", "T", ICE + celsius, "P", high * 1e5, "Nitrogen")
        expected = PropsSI("T", "Smass", entropy, "P", low * 1e5, "Nitrogen")
        end = isentropic_temperature(nitrogen(), high * 1e5, ICE + celsius, low * 1e5)
        assert end == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize(
    ("high", "low", "celsius", "percent"),
    # what the ideal gas of exponent 1.4 promises too much of fast delivery, computed with CoolProp and printed whole
    [(200e5, 150e5, 20.0, 39), (200e5, 150e5, -20.0, 56), (25e5, 18e5, 20.0, 3)],
)
def test_how_much_the_ideal_gas_oversells(high, low, celsius, percent):
    real = delivery_ratio(nitrogen(), high, low, ICE + celsius, True)
    assert 100 * (ideal_delivery_ratio(high, low, 1.4) / real - 1) == pytest.approx(percent, abs=0.5)


def test_isothermal_volume_of_a_textbook():
    # Sullivan, Fluid Power: Theory and Applications, 4th ed., example 12.4, p. 298: 20.049 gal (0.005), ideal gas
    volume = ideal_required_gas_volume(5 * GALLON, 3000 * PSI, 2000 * PSI, 1500 * PSI, 1.0)
    assert volume / GALLON == pytest.approx(20.049, rel=0.005)


def test_at_low_pressure_the_real_gas_is_the_ideal_one():
    # nitrogen below 10 bar is ideal to within 1 % (Z in CoolProp's table)
    ideal = ideal_required_gas_volume(1e-3, 8e5, 5e5, 0.9 * 5e5, 1.0)
    real = required_gas_volume(1e-3, 8e5, 5e5, 0.9, ICE + 20, ICE + 20, fast=False)
    assert real == pytest.approx(ideal, rel=0.01)


def test_required_volume_recomputed_from_the_library():
    # second route: the same balance written out with live CoolProp, charged at 20 °C, used at −20 °C
    high, low, ratio = 200e5, 150e5, 0.9
    charge = PropsSI("Dmass", "T", ICE + 20, "P", ratio * low + ATMOSPHERE, "Nitrogen")
    full = PropsSI("Dmass", "T", ICE - 20, "P", high + ATMOSPHERE, "Nitrogen")
    entropy = PropsSI("Smass", "T", ICE - 20, "P", high + ATMOSPHERE, "Nitrogen")
    spent = PropsSI("Dmass", "Smass", entropy, "P", low + ATMOSPHERE, "Nitrogen")
    expected = 1e-3 / (charge / spent - charge / full)
    assert required_gas_volume(1e-3, high, low, ratio, ICE + 20, ICE - 20) == pytest.approx(expected, rel=5e-3)


def test_an_accumulator_gives_no_more_than_it_holds():
    # emptied to below its precharge: what is left of the gas volume is all there is
    share = delivery_per_volume(nitrogen(), 90e5, ICE + 20, 120e5, 60e5, ICE + 20, False)
    full = nitrogen_density(nitrogen(), 90e5 + ATMOSPHERE, ICE + 20) / nitrogen_density(
        nitrogen(), 120e5 + ATMOSPHERE, ICE + 20
    )
    assert share == pytest.approx(1 - full, rel=1e-12)
    assert delivery_per_volume(nitrogen(), 130e5, ICE + 20, 120e5, 100e5, ICE + 20, False) == 0.0


def test_precharge_follows_the_temperature():
    # second route by live CoolProp: the same mass in the same volume, 20 °C to 70 °C
    mass = gas_mass(nitrogen(), 100e5, ICE + 20, 1e-3)
    expected = PropsSI("P", "T", ICE + 70, "Dmass", mass / 1e-3, "Nitrogen") - ATMOSPHERE
    assert pressure_at(nitrogen(), mass / 1e-3, ICE + 70) == pytest.approx(expected, rel=2e-3)


def test_stored_energies():
    # 1 L of nitrogen at 200 bar gauge and 20 °C: 50.0 kJ (Brode), 39.2 kJ ideal isentropic, 31.3 kJ real isentropic;
    # computed with CoolProp 8.0.0, half the last digit
    assert brode_energy(200e5, 1e-3) / 1e3 == pytest.approx(50.0, abs=0.05)
    assert ideal_isentropic_energy(200e5, 1e-3) / 1e3 == pytest.approx(39.2, abs=0.05)
    assert stored_energy(200e5, ICE + 20, 1e-3) / 1e3 == pytest.approx(31.3, abs=0.05)


@pytest.mark.parametrize(("bar", "celsius"), [(5.0, 20.0), (50.0, -20.0), (120.0, 80.0), (350.0, 20.0)])
def test_stored_energy_against_live_coolprop(bar, celsius):
    start, kelvin = bar * 1e5 + ATMOSPHERE, ICE + celsius
    dense, entropy, energy = (PropsSI(n, "T", kelvin, "P", start, "Nitrogen") for n in ("Dmass", "Smass", "Umass"))
    end = PropsSI("Umass", "Smass", entropy, "P", ATMOSPHERE, "Nitrogen")
    assert stored_energy(bar * 1e5, kelvin, 1e-3) == pytest.approx(dense * 1e-3 * (energy - end), rel=2e-3)


def test_energy_comes_out_in_parts():
    # first law: 200 to 50 bar and on from there gives the whole, when the second part starts where the first ended
    gas, volume = nitrogen(), 1e-3
    first = delivered_energy(200e5, ICE + 20, 50e5, volume)
    colder = isentropic_temperature(gas, 200e5 + ATMOSPHERE, ICE + 20, 50e5 + ATMOSPHERE)
    mass = gas_mass(gas, 200e5, ICE + 20, volume)
    larger = mass / nitrogen_density(gas, 50e5 + ATMOSPHERE, colder)
    whole = first + stored_energy(50e5, colder, larger)
    assert whole == pytest.approx(stored_energy(200e5, ICE + 20, volume), rel=2e-3)


def test_outside_the_table_it_raises():
    with pytest.raises(OutOfRange, match="absolute pressure of nitrogen"):
        required_gas_volume(1e-3, 500e5, 300e5, 0.9, ICE + 20, ICE + 20)
    with pytest.raises(OutOfRange, match="temperature of nitrogen"):
        required_gas_volume(1e-3, 200e5, 150e5, 0.9, ICE + 20, ICE + 300)
    with pytest.raises(OutOfRange, match="fast expansion"):
        delivered_energy(400e5, ICE - 20, 5e5, 1e-3)


@pytest.mark.parametrize(
    ("litres", "bar", "category"),
    [
        # Directive 2014/68/EU, annex II table 2 (thresholds from memory): PS·V worked by hand
        (0.32, 210, "SEP"),
        (2, 250, "II"),
        (10, 330, "IV"),
        (1, 300, "SEP"),
        (2, 25, "SEP"),
        (2, 100, "I"),
        (2, 1500, "III"),
        (0.5, 1001, "III"),
        (5, 0.5, "out_of_scope"),
    ],
)
def test_vessel_categories(litres, bar, category):
    assert vessel_category(bar * 1e5, litres * 1e-3) == category


def test_hydraulic_piping_of_vehicle_size_is_sound_engineering_practice():
    # Directive 2014/68/EU, annex II table 9 (memory): DN 200 or less is below every category
    assert piping_category(350e5, 0.032) == "SEP"
    assert piping_category(0.4e5, 0.032) == "out_of_scope"
    assert piping_category(100e5, 0.040, gas=True) == "II"
    assert piping_category(30e5, 0.050, gas=True) == "I"
    with pytest.raises(OutOfRange):
        piping_category(350e5, 0.25)
