"""Lines against worked examples of textbooks, tabulated friction factors and the fluids library."""

import math

import fluids
import numpy as np
import pytest

from models.hydraulics.filter import beta_ratio, capture_share
from models.hydraulics.lines import (
    burst_pressure,
    colebrook,
    combined_modulus,
    darby_loss,
    friction_factor,
    hooper_loss,
    hose_modulus,
    line_inertia,
    line_pressure_drop,
    reynolds_number,
    rigid_column_pressure,
    surge_pressure,
    thick_wall_modulus,
    thin_wall_burst_pressure,
    thin_wall_modulus,
    thin_wall_thickness,
    wave_speed,
)

FOOT, INCH = 0.3048, 0.0254
PSI = 6894.757293168361
GPM = 3.785411784e-3 / 60.0
STANDARD_GRAVITY = 9.80665
BARREL = 0.158987294928

# Re, roughness/diameter, Darcy factor (64/Re or Colebrook), made with fluids 1.3.1 (Clamond's solution)
FRICTION = [
    (100, 0, 0.64),
    (100, 0.001, 0.64),
    (500, 0, 0.128),
    (500, 0.001, 0.128),
    (1000, 0.0001, 0.064),
    (2000, 0, 0.032),
    (2000, 0.0001, 0.032),
    (2000, 0.001, 0.032),
    (4000, 0, 0.03990701405563491),
    (4000, 0.0001, 0.0400084312335555),
    (4000, 0.001, 0.04091038986284613),
    (1e4, 0, 0.030882950353487693),
    (1e4, 0.0001, 0.03103721220099862),
    (1e4, 0.001, 0.03238180636309272),
    (1e5, 0, 0.01798977308427384),
    (1e5, 0.0001, 0.01851386607747165),
    (1e5, 0.001, 0.022174535944515086),
    (1e6, 0, 0.011645040997991626),
    (1e6, 0.0001, 0.013441437692508496),
    (1e6, 0.001, 0.01994346584047687),
]


def drop(flow, diameter, length, density, viscosity, k=0.0):
    return line_pressure_drop(flow, diameter, length, 0.0, k, density, viscosity, 0.0)


@pytest.mark.parametrize(("reynolds", "roughness", "expected"), FRICTION)
def test_friction_factor_of_the_table(reynolds, roughness, expected):
    assert friction_factor(float(reynolds), float(roughness)) == pytest.approx(expected, rel=1e-10)


def test_friction_factor_against_the_fluids_library_over_the_whole_range():
    # fluids.friction_factor with Clamond's solution; its laminar limit is 2040, ours 2000: the band between is left out
    for roughness in (0.0, 1e-6, 1e-4, 1e-3, 1e-2, 0.05):
        for reynolds in (*np.geomspace(1e-2, 1999.0, 25), *np.geomspace(4000.0, 1e8, 40)):
            reference = fluids.friction_factor(Re=reynolds, eD=roughness, Method="Clamond" if reynolds > 2040 else None)
            assert friction_factor(reynolds, roughness) == pytest.approx(reference, rel=1e-9)


def test_colebrook_satisfies_its_own_equation():
    # Colebrook 1939: 1/√f + 2·log10(ε/3.7 + 2.51/(Re·√f)) = 0
    for roughness in (0.0, 1e-4, 0.05):
        for reynolds in (4e3, 1e5, 1e8):
            x = 1.0 / math.sqrt(colebrook(reynolds, roughness))
            assert x + 2.0 * math.log10(roughness / 3.7 + 2.51 * x / reynolds) == pytest.approx(0.0, abs=1e-12)


def test_reynolds_numbers_of_a_textbook():
    # Esposito, Fluid Power with Applications, examples 4.1 and 4.2, p. 132: 774 and 250 (0.005)
    assert reynolds_number(10 * FOOT, INCH, 100e-6) == pytest.approx(774, rel=0.005)
    assert reynolds_number(5.0, 0.050, 1e-3) == pytest.approx(250, rel=0.005)


def test_laminar_loss_of_a_textbook():
    # Esposito, example 4.3, p. 134: 60 psi (0.005, printed whole)
    flow = 10 * FOOT * math.pi / 4 * INCH**2
    loss = drop(flow, INCH, 100 * FOOT, 0.9 * 1000.0, 0.9 * 1000.0 * 100e-6)
    assert loss / PSI == pytest.approx(60, rel=0.005)


def test_fitting_loss_of_a_textbook():
    # Esposito, example 4.6, p. 142: 23.1 ft of oil (0.015: the text rounds v to 12.2 ft/s)
    loss = drop(30 * GPM, INCH, 0.0, 900.0, 0.09, 10.0)
    assert loss / (900.0 * STANDARD_GRAVITY) / FOOT == pytest.approx(23.1, rel=0.015)


def test_pump_line_balance_of_a_textbook():
    # Esposito, example 4.9, p. 144: 260 psi at the motor (0.005)
    density, flow = 900.0, 30 * GPM
    pump_rise = 5 * 745.69987158227 / flow
    speed = flow / (math.pi / 4 * INCH**2)
    level_and_speed = density * (STANDARD_GRAVITY * 20 * FOOT + 0.5 * speed**2)
    losses = drop(flow, INCH, 21 * FOOT, density, density * 100e-6, 0.9)
    assert (pump_rise - level_and_speed - losses) / PSI == pytest.approx(260, rel=0.005)


def test_turbulent_loss_with_a_given_factor():
    # Sullivan, Fluid Power: Theory and Applications, 4th ed., example 5.1, p. 82: 611.99 psi (0.006); f·L/D as one K
    diameter = math.sqrt(4 * 3.14 / math.pi) * INCH
    k = 0.05 * 800 * FOOT / (2 * INCH)
    loss = drop(200 * GPM, diameter, 0.0, 0.91 * 1000.0, 1e-3, k)
    assert loss / PSI == pytest.approx(611.99, rel=0.006)


def test_laminar_pipe_with_a_globe_valve():
    # Crane TP-410, example 7.8, answer as quoted in the fluids library: 6382 Pa (0.005); oil barrel of 158.987 L
    loss = drop(600 * BARREL / 3600, 0.20274, 60.0, 869.2, 0.130, 340 * 0.014038)
    assert loss == pytest.approx(6382, rel=0.005)


def test_laminar_millimetre_tube():
    # Munson et al., Fundamentals of Fluid Mechanics, example 6.10, p. 331: 8.59 kPa (0.005)
    assert drop(12e-6, 4e-3, 1.0, 1180.0, 0.0045) / 1e3 == pytest.approx(8.59, rel=0.005)


@pytest.mark.parametrize("bore", [0.002, 0.010, 0.050])
def test_fitting_methods_against_the_fluids_library(bore):
    # fluids.fittings.Hooper2K (bore in inches) and Darby3K (nominal size in inches), constants as tabulated there
    for reynolds in (10.0, 1e3, 1e5):
        k1, k = hooper_loss(800.0, 0.25, bore)
        assert k1 / reynolds + k == pytest.approx(fluids.fittings.Hooper2K(bore / INCH, reynolds, K1=800, Kinfty=0.25))
        k1, k = darby_loss(800.0, 0.14, 4.0, bore)
        reference = fluids.fittings.Darby3K(NPS=bore / INCH, Re=reynolds, K1=800, Ki=0.14, Kd=4.0)
        assert k1 / reynolds + k == pytest.approx(reference)


def test_line_with_fittings_against_the_fluids_library():
    # fluids: Darcy factor and dP_from_K on the same line, at three Reynolds numbers either side of transition
    diameter, length, density, viscosity, roughness = 8e-3, 2.5, 870.0, 0.02, 1.5e-6
    k1, k = hooper_loss(800.0, 0.25, diameter)
    for reynolds in (3.0, 1500.0, 2e4):
        speed = reynolds * viscosity / (density * diameter)
        factor = fluids.friction_factor(Re=reynolds, eD=roughness / diameter)
        total = factor * length / diameter + fluids.fittings.Hooper2K(diameter / INCH, reynolds, K1=800, Kinfty=0.25)
        flow = speed * math.pi / 4 * diameter**2
        ours = line_pressure_drop(flow, diameter, length, k1, k, density, viscosity, roughness)
        assert ours == pytest.approx(fluids.dP_from_K(total, rho=density, V=speed), rel=1e-6)


def test_water_hammer_of_a_textbook():
    # Subramanya, 1000 Solved Problems in Fluid Mechanics, example 14.15, p. 358: 3.04 MPa rigid, 2.482 elastic (0.005)
    instant = 0.0
    rigid = surge_pressure(2.1, 998.0, wave_speed(2.1e9, 998.0), 1000.0, instant)
    assert rigid / 1e6 == pytest.approx(3.04, rel=0.005)
    elastic = combined_modulus(2.1e9, thin_wall_modulus(0.60, 0.012, 2.1e11))
    assert surge_pressure(2.1, 998.0, wave_speed(elastic, 998.0), 1000.0, instant) / 1e6 == pytest.approx(
        2.482, rel=0.005
    )


def test_slow_closing_is_twice_the_rigid_column():
    # derived: Michaud's 2·ρ·L·v/t against Newton's ρ·L·v/t for a column slowed evenly
    surge = surge_pressure(3.0, 870.0, 1300.0, 2.0, 0.1)
    assert surge == pytest.approx(2 * rigid_column_pressure(3.0, 870.0, 2.0, 0.1), rel=1e-12)


def test_thick_wall_modulus_from_lame_displacement():
    # second route: bore displacement u of Lamé's solution with free ends; volume change per volume is 2·u/r
    inner, outer, modulus, poisson, pressure = 0.010, 0.014, 2.1e11, 0.3, 1e7
    ratio = (outer**2 + inner**2) / (outer**2 - inner**2)
    displacement = pressure * inner / 2 / modulus * (ratio + poisson)
    expected = pressure / (2 * displacement / (inner / 2))
    assert thick_wall_modulus(inner, outer, modulus, poisson) == pytest.approx(expected, rel=1e-12)
    thin = thick_wall_modulus(1.0, 1.002, modulus, poisson)
    assert thin == pytest.approx(thin_wall_modulus(1.0, 0.001, modulus), rel=2e-3)


def test_tube_strengths_of_textbooks():
    # Esposito, example 10.3, p. 371: 1232 psi (0.005); thin-wall formula, factor 8
    wall = (1.25 - 1.06) / 2 * INCH
    assert thin_wall_burst_pressure(1.06 * INCH, wall, 55000.0) / 8 == pytest.approx(1232, rel=0.005)
    # Sullivan, example 12.6, p. 305: 0.07 in (0.006) with a factor of 4 on the wall
    bore = math.sqrt(4 / math.pi * 20 * GPM / (15 * FOOT))
    assert 4 * thin_wall_thickness(2500.0, bore, 55000.0) / INCH == pytest.approx(0.07, rel=0.006)


def test_lame_at_a_diameter_ratio_of_two():
    # Lamé's hoop stress at the bore is p·(k² + 1)/(k² − 1) = 5/3·p at k = 2 (textbook value, recalled)
    assert burst_pressure(1.0, 2.0, 5e8) == pytest.approx(3e8, rel=1e-12)


def test_line_inertia_is_the_kinetic_energy_at_the_piston():
    # derived: ½·m·v² of the piston's apparent mass equals ½·ρ·L·A_line·u² of the column at u = v·A/A_line
    speed, piston, bore, length, density = 0.6, 3e-4, 4e-3, 1.5, 870.0
    section = math.pi / 4 * bore**2
    kinetic = 0.5 * density * length * section * (speed * piston / section) ** 2
    assert 0.5 * line_inertia(length, bore, piston, density) * speed**2 == pytest.approx(kinetic, rel=1e-12)


def test_hose_swells_as_specified():
    # definition: volumetric expansion times length and pressure is the volume taken up
    bore, expansion = 10e-3, 40e-9 / 1e5
    volume = math.pi / 4 * bore**2 * 2.0
    assert volume * 1e7 / hose_modulus(bore, expansion) == pytest.approx(expansion * 2.0 * 1e7, rel=1e-12)


def test_filtration_ratio_of_a_textbook():
    # Sullivan, example 6.3, p. 127: beta 5.8 (0.005)
    beta = beta_ratio(36815, 6347)
    assert beta == pytest.approx(5.8, rel=0.005)
    assert capture_share(beta) == pytest.approx((36815 - 6347) / 36815, rel=1e-12)
