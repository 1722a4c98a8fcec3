"""The media against what is known of them outside: grades, indices, specification limits, CoolProp."""

import math

import pytest

from fluids_data import load_media, load_table
from fluids_data.build_coolprop_tables import glycol_water_state
from fluids_data.viscosity_index import reference_viscosities, viscosity_at_100, viscosity_index


def double_log(viscosity):
    return math.log10(math.log10(viscosity + 0.7))


def d341(points, temperature_c):
    """ASTM D341 through two (°C, mm²/s) points, written out here apart from the product."""
    (t1, v1), (t2, v2) = points
    x1, x2, x = (math.log10(t + 273.15) for t in (t1, t2, temperature_c))
    z = double_log(v1) + (double_log(v2) - double_log(v1)) * (x - x1) / (x2 - x1)
    return 10 ** (10**z) - 0.7


def viscosity_points(medium_id):
    return {point.temperature_c: point.viscosity_mm2_s for point in load_media()[medium_id].viscosity}


@pytest.mark.parametrize(
    ("grade", "low", "high"),
    [(10, 9.0, 11.0), (15, 13.5, 16.5), (22, 19.8, 24.2), (32, 28.8, 35.2), (46, 41.4, 50.6), (68, 61.2, 74.8)],
)
def test_mineral_grades_lie_in_the_middle_of_their_iso_3448_limits(grade, low, high):
    """ISO 3448 limits at 40 °C, mm²/s, as read in a secondary copy."""
    viscosity = viscosity_points(f"mineral_vg{grade}")[40]
    assert low < viscosity < high
    assert viscosity == pytest.approx((low + high) / 2, rel=0.005)


def test_the_water_glycol_is_a_vg_46():
    """ISO 3448 limits, as above."""
    assert 41.4 < viscosity_points("water_glycol_hfc")[40] < 50.6


def test_viscosity_index_of_the_published_example():
    """ASTM D2270, section 5.1.4: 73.30 and 8.86 mm²/s, L = 119.94, H = 69.48, index 92.43 (secondary copy)."""
    assert viscosity_index(73.30, 8.86) == pytest.approx(92.43, rel=5e-4)
    low, high = reference_viscosities(8.86)
    assert high == pytest.approx(69.48, abs=0.005)
    assert low == pytest.approx(119.94, abs=0.02)  # the standard's own equation misses its table by this much


@pytest.mark.parametrize(
    ("viscosity_40", "viscosity_100", "index"),
    [(73.3, 8.86, 92.4296), (13.2, 4.9, 365.852), (14.0, 3.45, 125.0067), (13.0, 4.0, 235.811)],
)
def test_viscosity_index_against_a_reference_library(viscosity_40, viscosity_100, index):
    """Values computed with `chemicals.viscosity.viscosity_index` 1.x, which interpolates the standard's table."""
    assert viscosity_index(viscosity_40, viscosity_100) == pytest.approx(index, rel=2e-3)


def test_no_index_outside_the_reference_oils():
    with pytest.raises(ValueError, match="outside"):
        viscosity_index(5.0, 1.5)
    with pytest.raises(ValueError, match="no viscosity"):
        viscosity_at_100(1000.0, 100)


@pytest.mark.parametrize("grade", [10, 15, 22, 32, 46, 68])
def test_the_hundred_degree_points_follow_from_index_100(grade):
    assert viscosity_points(f"mineral_vg{grade}")[100] == pytest.approx(viscosity_at_100(grade, 100), abs=5e-4)


def test_rapeseed_and_water_glycol_points_follow_from_their_index():
    """Index 200 to 215 for rapeseed and 150 to 220 for water-glycol: from memory, common practice, no source."""
    rapeseed = viscosity_points("rapeseed_hetg")
    assert 200 <= viscosity_index(rapeseed[40], rapeseed[100]) <= 215
    glycol = viscosity_points("water_glycol_hfc")
    curve = ((40, 46), (100, viscosity_at_100(46, 190)))
    assert glycol[-20] == pytest.approx(d341(curve, -20), rel=0.01)
    assert glycol[60] == pytest.approx(d341(curve, 60), rel=0.01)


@pytest.mark.parametrize(("medium_id", "coefficient"), [("silicone_50", 0.59), ("silicone_100", 0.60)])
def test_silicone_keeps_its_viscosity_temperature_coefficient(medium_id, coefficient):
    """1 - v(99 °C)/v(38 °C): from memory, common practice, no source."""
    points = viscosity_points(medium_id)
    at_38 = d341(((25, points[25]), (99, points[99])), 38)
    assert 1 - points[99] / at_38 == pytest.approx(coefficient, abs=0.005)


def test_aircraft_oils_are_their_specification_limits():
    """MIL-PRF-5606H and MIL-PRF-83282D: from memory."""
    assert viscosity_points("aircraft_mineral") == {-40: 600, 40: 13.2, 100: 4.9}
    assert viscosity_points("aircraft_synthetic") == {-40: 2200, 40: 14.0, 100: 3.45}


@pytest.mark.parametrize(
    ("medium_id", "at_40", "at_100"), [("transmission", (33, 38), (7.0, 7.7)), ("damper_light", (10, 16), (3, 5))]
)
def test_transmission_and_damper_oils_lie_in_their_range(medium_id, at_40, at_100):
    """From memory, common practice, no source."""
    points = viscosity_points(medium_id)
    assert at_40[0] <= points[40] <= at_40[1]
    assert at_100[0] <= points[100] <= at_100[1]


COMMON = {
    "bulk_isothermal_secant_mpa",
    "bulk_adiabatic_tangent_mpa",
    "bulk_pressure_slope",
    "bulk_temperature_slope_mpa_k",
    "air_solubility",
    "vapour_pressure_50c_bar",
    "pour_point_c",
    "lowest_c",
    "highest_c",
}
LIQUID = {
    "density_kg_m3",
    "reference_temperature_c",
    "expansion_per_k",
    "heat_capacity_j_kg_k",
    "heat_capacity_slope_j_kg_k2",
    "conductivity_w_m_k",
    "conductivity_slope_w_m_k2",
}


@pytest.mark.parametrize("medium_id", load_media())
def test_every_medium_is_complete_and_consistent(medium_id):
    medium = load_media()[medium_id]
    needed = COMMON if medium.table else COMMON | LIQUID
    assert needed <= set(medium.properties) <= needed | {"pressure_viscosity_per_pa"}
    assert medium.seals
    assert medium.number("lowest_c") >= medium.number("pour_point_c") + 10
    assert medium.number("lowest_c") < 0 < 60 <= medium.number("highest_c")
    # A secant over 200 bar stands above the isothermal tangent at zero by half the rise; adiabatic above isothermal.
    isothermal = medium.number("bulk_isothermal_secant_mpa") - medium.number("bulk_pressure_slope") * 10
    assert 1.05 < medium.number("bulk_adiabatic_tangent_mpa") / isothermal < 1.35
    viscosities = [point.viscosity_mm2_s for point in medium.viscosity]
    assert viscosities == sorted(viscosities, reverse=True)


def test_fourteen_media_or_more_and_the_table_of_the_one_without_viscosity_points():
    media = load_media()
    assert len(media) >= 14
    without_points = {medium.id: medium.table for medium in media.values() if not medium.viscosity}
    assert without_points == {"glycol_water_50": "glycol_water_50"}


def test_water_glycol_has_a_vapour_pressure_that_matters():
    """70 to 100 mbar at 50 °C, bulk modulus 2500 to 3500 MPa: from memory, common practice, no source."""
    medium = load_media()["water_glycol_hfc"]
    assert 0.07 <= medium.number("vapour_pressure_50c_bar") <= 0.10
    assert 2500 <= medium.number("bulk_adiabatic_tangent_mpa") <= 3500


def test_glycol_water_is_what_coolprop_gives():
    names = ("density_kg_m3", "heat_capacity_j_kg_k", "conductivity_w_m_k", "viscosity_mpa_s")
    for row in load_table("glycol_water_50").rows:
        density, heat_capacity, conductivity, viscosity = glycol_water_state(row.number("temperature_c") + 273.15)
        expected = (density, heat_capacity, conductivity, viscosity * 1e3)
        assert [row.number(name) for name in names] == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("temperature_c", "density", "heat_capacity", "conductivity", "viscosity"),
    [
        # 50 % ethylene glycol computed with CoolProp 8.0.0 apart from this project.
        (-20, 1082.195541858912, 3086.9747851792013, 0.36473805131515197, 0.022178402519470532),
        (20, 1064.9286628298255, 3312.0419037405695, 0.3891483531305298, 0.0036932114311448963),
        (80, 1026.406409144796, 3581.581814212162, 0.42569783343881556, 0.000968456687522606),
    ],
)
def test_glycol_water_computed_elsewhere(temperature_c, density, heat_capacity, conductivity, viscosity):
    (row,) = [row for row in load_table("glycol_water_50").rows if row.number("temperature_c") == temperature_c]
    assert row.number("density_kg_m3") == pytest.approx(density, rel=1e-6)
    assert row.number("heat_capacity_j_kg_k") == pytest.approx(heat_capacity, rel=1e-6)
    assert row.number("conductivity_w_m_k") == pytest.approx(conductivity, rel=1e-6)
    assert row.number("viscosity_mpa_s") == pytest.approx(viscosity * 1e3, rel=1e-6)
