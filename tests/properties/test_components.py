"""Component equations over their stated ranges: monotone where physics is, continuous, and inverse where paired."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import fluids_data
from models.heat import Box, Cylinder, surface_conductance
from models.hydraulics.accumulator import (
    delivery_per_volume,
    delivery_ratio,
    gas_mass,
    isentropic_temperature,
    nitrogen,
    nitrogen_density,
    pressure_at,
)
from models.hydraulics.cylinder import buckling_load, symmetric_spool_overrunning_limit, wall_thickness
from models.hydraulics.lines import (
    burst_pressure,
    friction_factor,
    line_pressure_drop,
    surge_pressure,
    thick_wall_modulus,
)
from models.hydraulics.orifice import orifice_drop, orifice_flow
from models.hydraulics.pressure_equipment import vessel_category
from models.hydraulics.seals import clearance_leakage, elastomer_seal_friction
from models.oil import (
    bulk_modulus,
    density,
    dynamic_viscosity,
    effective_bulk_modulus,
    free_air_fraction,
    kinematic_viscosity,
    medium_from_data,
    secant_from_tangent,
    tangent_from_secant,
)

ICE, ATMOSPHERE = 273.15, 101325.0
EVERY_MEDIUM = sorted(fluids_data.load_media())


def over(*strategies):
    """Hypothesis over the given ranges; no deadline, as the first call compiles."""
    return lambda test: settings(deadline=None, max_examples=150)(given(*strategies)(test))


def between(low, high):
    return st.floats(low, high, allow_nan=False)


def spread(low, high):
    """Evenly spread in the logarithm."""
    return st.floats(math.log(low), math.log(high), allow_nan=False).map(math.exp)


MORE = spread(1.0001, 10.0)


@st.composite
def orifices(draw):
    diameter = draw(spread(5e-5, 2e-2))
    area = math.pi / 4 * diameter**2
    return (
        area,
        diameter,
        draw(between(0.55, 0.9)),
        draw(between(0.1, 0.3)),
        draw(between(750, 1200)),
        draw(spread(5e-4, 5.0)),
    )


@over(orifices(), spread(1e-2, 4e7))
def test_orifice_and_its_inverse(orifice, drop):
    assert orifice_drop(orifice_flow(drop, *orifice), *orifice) == pytest.approx(drop, rel=1e-9)
    assert orifice_flow(-drop, *orifice) == -orifice_flow(drop, *orifice)


@over(orifices(), spread(1e-2, 4e7), MORE)
def test_more_pressure_more_flow_and_never_more_than_turbulent(orifice, drop, more):
    flow = orifice_flow(drop, *orifice)
    assert orifice_flow(more * drop, *orifice) > flow
    assert flow <= orifice[2] * orifice[0] * math.sqrt(2 * drop / orifice[4])


def test_a_shut_orifice_passes_nothing():
    assert orifice_flow(1e7, 0.0, 0.0, 0.611, 0.2, 870.0, 0.03) == 0.0
    assert orifice_flow(0.0, 1e-6, 1e-3, 0.611, 0.2, 870.0, 0.03) == 0.0


@over(spread(1.0, 1e7), MORE, between(0.0, 0.05))
def test_friction_drop_rises_with_flow_through_transition(reynolds, more, roughness):
    higher = more * reynolds
    assert friction_factor(higher, roughness) * higher**2 > friction_factor(reynolds, roughness) * reynolds**2


@over(st.sampled_from([2000.0, 4000.0]), between(0.0, 0.05))
def test_friction_is_continuous_where_laws_meet(limit, roughness):
    below, above = friction_factor(limit * (1 - 1e-9), roughness), friction_factor(limit * (1 + 1e-9), roughness)
    assert above == pytest.approx(below, rel=1e-7)


@st.composite
def lines(draw):
    return (
        draw(spread(5e-4, 5e-2)),
        draw(spread(0.01, 30.0)),
        draw(between(0.0, 5000.0)),
        draw(between(0.0, 50.0)),
        draw(between(750, 1200)),
        draw(spread(5e-4, 5.0)),
        draw(between(0.0, 2e-5)),
    )


@over(lines(), spread(1e-9, 5e-3), MORE)
def test_line_drop_is_odd_and_rises_with_flow(line, flow, more):
    drop = line_pressure_drop(flow, *line)
    assert line_pressure_drop(more * flow, *line) > drop > 0
    assert line_pressure_drop(-flow, *line) == -drop
    assert line_pressure_drop(0.0, *line) == 0.0


@over(lines(), spread(1e-9, 5e-3), spread(1.01, 4.0))
def test_a_wider_line_costs_less(line, flow, wider):
    assert line_pressure_drop(flow, wider * line[0], *line[1:]) < line_pressure_drop(flow, *line)


@over(between(0.1, 10), spread(0.1, 20), spread(1e-4, 1.0), MORE)
def test_slower_closing_never_surges_more(velocity, length, closing, more):
    quick, slow = (surge_pressure(velocity, 870.0, 1200.0, length, t) for t in (closing, more * closing))
    assert slow <= quick <= 870.0 * 1200.0 * velocity * (1 + 1e-12)


@over(spread(1e-3, 5e-2), spread(1.01, 3.0), spread(1.001, 2.0))
def test_a_thicker_wall_is_stronger_and_stiffer(inner, ratio, thicker):
    thin, thick = ratio * inner, thicker * ratio * inner
    assert burst_pressure(inner, thin, 4e8) < burst_pressure(inner, thick, 4e8) < 4e8
    assert thick_wall_modulus(inner, thin, 2e11, 0.3) < thick_wall_modulus(inner, thick, 2e11, 0.3)


@over(spread(3e-3, 6e-2), spread(1e-6, 2e-5), spread(1e4, 4e7), between(0, 1), MORE)
def test_leakage_grows_with_the_gap(diameter, clearance, drop, eccentricity, more):
    leak = clearance_leakage(diameter, clearance, drop, 0.03, diameter, eccentricity)
    assert clearance_leakage(diameter, more * clearance, drop, 0.03, diameter, eccentricity) == pytest.approx(
        leak * more**3, rel=1e-9
    )
    assert clearance_leakage(diameter, clearance, drop, 0.03 * more, diameter, eccentricity) < leak


@over(spread(3e-3, 6e-2), between(0.05, 0.3), between(0, 3e7), spread(1.01, 2.0))
def test_seal_friction_grows_with_squeeze_and_pressure(diameter, squeeze, pressure, more):
    section = 0.1 * diameter
    friction = elastomer_seal_friction(diameter, section, squeeze, pressure, 7e6, 0.15, 0.5)
    assert elastomer_seal_friction(diameter, section, more * squeeze, pressure, 7e6, 0.15, 0.5) > friction
    assert elastomer_seal_friction(diameter, section, squeeze, pressure + 1e5, 7e6, 0.15, 0.5) > friction


@over(spread(4e-3, 6.3e-2), spread(1e5, 7e7), MORE)
def test_more_pressure_never_needs_less_wall(bore, pressure, more):
    thin, thick = (wall_thickness(bore, p, 340e6, 4.0, 5e-4, 2.5e-4) for p in (pressure, more * pressure))
    assert 5e-4 <= thin <= thick
    if math.isfinite(thin):
        assert burst_pressure(bore, bore + 2 * thin, 340e6) >= 4.0 * pressure * (1 - 1e-9)


@over(spread(2e-3, 5e-2), spread(1e-3, 3.0), spread(1.001, 3.0), between(0.5, 2.0))
def test_buckling_falls_with_length_and_rises_with_the_rod(rod, length, more, ends):
    load = buckling_load(rod, length, 2.1e11, 355e6, ends)
    assert 0 < load <= 355e6 * math.pi / 4 * rod**2
    assert (
        buckling_load(rod, more * length, 2.1e11, 355e6, ends)
        < load
        < buckling_load(more * rod, length, 2.1e11, 355e6, ends)
    )


@over(between(0.1, 0.99), between(1e5, 3e7), between(0, 2e6))
def test_a_thicker_rod_lowers_the_overrunning_limit(share, supply, back):
    cap = 5e-4
    limit = symmetric_spool_overrunning_limit(supply, back, cap, share * cap)
    assert limit < symmetric_spool_overrunning_limit(supply, back, cap, 1.001 * share * cap)
    assert limit < symmetric_spool_overrunning_limit(supply, back + 1e5, cap, share * cap)


@pytest.mark.parametrize("name", EVERY_MEDIUM)
def test_media_over_their_whole_range(name):
    medium = medium_from_data(name)
    kelvin = np.linspace(medium.lowest_temperature, medium.highest_temperature, 120)
    for falling in (
        [kinematic_viscosity(medium, t) for t in kelvin],
        [density(medium, 1e7, t) for t in kelvin],
        [bulk_modulus(medium, 1e7, t) for t in kelvin],
    ):
        assert np.all(np.diff(falling) < 0)
        assert min(falling) > 0
    pressures = np.linspace(0, 4e7, 40)
    for rising in (
        [density(medium, p, ICE + 30) for p in pressures],
        [bulk_modulus(medium, p, ICE + 30) for p in pressures],
        [bulk_modulus(medium, p, ICE + 30, secant=True) for p in pressures],
    ):
        assert np.all(np.diff(rising) > 0)
    assert np.all(np.diff([dynamic_viscosity(medium, p, ICE + 30) for p in pressures]) >= 0)


@over(between(5e8, 3e9), st.just(0.0) | between(0.5, 15), spread(1e5, 6e7))
def test_secant_and_tangent_are_inverse(tangent, slope, pressure):
    assert tangent_from_secant(secant_from_tangent(tangent, slope, pressure), slope, pressure) == pytest.approx(
        tangent, rel=1e-9
    )
    assert secant_from_tangent(tangent, slope, pressure) >= tangent * (1 - 1e-9)


@over(between(8e8, 3e9), between(0.0, 0.2), spread(ATMOSPHERE, 4e7), between(1.0, 1.4), between(0, 1), MORE)
def test_free_air_softens_and_pressure_stiffens(liquid, air, pressure, exponent, share, more):
    here = effective_bulk_modulus(liquid, air, pressure, exponent, 0.09, share)
    assert 0 < here <= liquid * (1 + 1e-12)
    assert effective_bulk_modulus(liquid, air, more * pressure, exponent, 0.09, share) >= here * (1 - 1e-12)
    assert effective_bulk_modulus(liquid, air + 0.01, pressure, exponent, 0.09, share) <= here * (1 + 1e-12)
    assert effective_bulk_modulus(liquid, air, pressure, exponent, 0.09, 0.0) <= here * (1 + 1e-12)


def test_effective_modulus_takes_arrays():
    pressures = np.array([ATMOSPHERE, 1e6, 1e7])
    many = effective_bulk_modulus(1.6e9, 0.01, pressures, 1.2, 0.09, 0.3)
    one_by_one = [effective_bulk_modulus(1.6e9, 0.01, p, 1.2, 0.09, 0.3) for p in pressures]
    assert many == pytest.approx(np.array(one_by_one), rel=1e-12)
    assert free_air_fraction(0.0, pressures, 1.2, 0.09, 0.3) == pytest.approx(np.zeros(3), abs=0)


@over(spread(3e5, 3.5e7), between(0.4, 0.98), between(-20, 80))
def test_fast_delivery_never_beats_slow(high, share, celsius):
    kelvin = ICE + celsius
    fast = delivery_ratio(nitrogen(), high, share * high, kelvin, True)
    slow = delivery_ratio(nitrogen(), high, share * high, kelvin, False)
    assert 0 < fast < slow


@over(spread(3e5, 3.5e7), between(0.45, 0.98), between(-20, 80), st.booleans())
def test_an_accumulator_gives_more_to_a_lower_pressure(high, share, celsius, fast):
    kelvin, precharge = ICE + celsius, 0.3 * high
    less = delivery_per_volume(nitrogen(), precharge, ICE + 20, high, share * high, kelvin, fast)
    more = delivery_per_volume(nitrogen(), precharge, ICE + 20, high, 0.98 * share * high, kelvin, fast)
    assert 0 <= less < more < 1


@over(spread(1e5, 3.4e7), between(-60, 120), between(1e-6, 1e-2))
def test_closed_gas_side_and_its_pressure_are_inverse(pressure, celsius, volume):
    mass = gas_mass(nitrogen(), pressure, ICE + celsius, volume)
    assert pressure_at(nitrogen(), mass / volume, ICE + celsius) == pytest.approx(pressure, rel=1e-8)


@over(spread(2e5, 3.5e7), between(-10, 100), between(0.5, 1.0))
def test_expansion_and_compression_without_heat_are_inverse(pressure, celsius, share):
    cold = isentropic_temperature(nitrogen(), pressure, ICE + celsius, share * pressure)
    assert cold <= ICE + celsius + 1e-6
    back = isentropic_temperature(nitrogen(), share * pressure, cold, pressure)
    assert back == pytest.approx(ICE + celsius, abs=1e-6)


def test_nitrogen_outside_its_table_is_not_a_number():
    for pressure, kelvin in ((5e4, 300.0), (5e7, 300.0), (1e7, 100.0), (1e7, 500.0)):
        assert math.isnan(nitrogen_density(nitrogen(), pressure, kelvin))


@over(
    st.sampled_from([Box(0.3, 0.2, 0.2), Box(0.05, 0.04, 0.03, False), Cylinder(0.05, 0.2), Cylinder(0.2, 0.1, True)]),
    between(-40, 140),
    between(-40, 60),
    between(0, 20),
    between(0.1, 1.0),
)
def test_hotter_bodies_lose_more_heat(body, surface, ambient, air_speed, emissivity):
    def lost(celsius, speed):
        conductance = surface_conductance(body, ICE + celsius, ICE + ambient, speed, emissivity)
        assert conductance > 0
        return conductance * (celsius - ambient)

    assert lost(surface + 2.0, air_speed) > lost(surface, air_speed)
    assert abs(lost(surface, air_speed + 1.0)) >= abs(lost(surface, air_speed)) * (1 - 1e-12)


@over(spread(1e-5, 0.1), spread(1e4, 4e7), MORE)
def test_a_larger_vessel_is_never_in_a_lower_category(volume, pressure, more):
    order = ["out_of_scope", "SEP", "I", "II", "III", "IV"]
    assert order.index(vessel_category(pressure, volume)) <= order.index(vessel_category(more * pressure, volume))
    assert order.index(vessel_category(pressure, volume)) <= order.index(vessel_category(pressure, more * volume))
