"""The cylinder against a worked example, textbook strength and second routes."""

import math

import numpy as np
import pytest
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq

from models.hydraulics.cylinder import (
    Proportions,
    annulus_area,
    buckling_load,
    cap_area,
    cylinder_body,
    cylinder_force,
    intensified_pressure,
    symmetric_spool_overrunning_limit,
    wall_thickness,
)
from models.hydraulics.orifice import orifice_flow

INCH, POUND_FORCE, PSI = 0.0254, 4.4482216152605, 6894.757293168361


def test_extending_pressure_of_a_textbook():
    # Esposito, Fluid Power with Applications, example 6.1a, p. 219: 318 psi for 1000 lb on a 2 in bore (0.005)
    cap = cap_area(2 * INCH, INCH, False)
    assert 1000 * POUND_FORCE / cap / PSI == pytest.approx(318, rel=0.005)
    assert cylinder_force(318 * PSI, 0.0, cap, annulus_area(2 * INCH, INCH), 0.0) == pytest.approx(
        1000 * POUND_FORCE, rel=0.005
    )


def test_a_through_rod_has_equal_areas():
    assert cap_area(25e-3, 14e-3, True) == annulus_area(25e-3, 14e-3)


def test_intensification_balances_the_piston():
    # derived: with the rod side shut, p1·A1 + pull − p2·A2 = 0
    cap, annulus = cap_area(25e-3, 18e-3, False), annulus_area(25e-3, 18e-3)
    shut = intensified_pressure(200e5, 500.0, cap, annulus)
    assert cylinder_force(200e5, shut, cap, annulus, 0.0) == pytest.approx(-500.0, rel=1e-9)
    assert shut > 200e5 * 2.0


@pytest.mark.parametrize("opening", [0.05, 0.9])
@pytest.mark.parametrize("return_pressure", [0.0, 8e5])
def test_overrunning_limit_by_solving_both_edges(opening, return_pressure):
    # second route: the piston speed at which cap-side inflow at p1 = 0 and annulus outflow agree, whatever the opening
    supply, cap, annulus = 100e5, cap_area(20e-3, 12e-3, False), annulus_area(20e-3, 12e-3)
    area = opening * 4e-6
    edge = (area, 1e-3, 0.611, 0.157, 870.0, 1e-9)
    inflow = orifice_flow(supply, *edge)
    outlet = brentq(lambda p: orifice_flow(p - return_pressure, *edge) / annulus - inflow / cap, 0.0, supply)
    limit = symmetric_spool_overrunning_limit(supply, return_pressure, cap, annulus)
    assert limit == pytest.approx(outlet * annulus, rel=1e-6)


def test_overrunning_limit_without_return_pressure():
    # derived: ps·A2³/A1²
    assert symmetric_spool_overrunning_limit(160e5, 0.0, 5e-4, 3e-4) == pytest.approx(160e5 * 3e-4**3 / 5e-4**2)


def test_wall_by_lame():
    # second route: the hoop stress at the bore of the rounded wall, and of one step less, against the strength
    bore, pressure, strength, factor, step = 40e-3, 250e5, 340e6, 4.0, 0.25e-3
    wall = wall_thickness(bore, pressure, strength, factor, 1e-3, step)

    def hoop(thickness):
        k = (bore + 2 * thickness) / bore
        return factor * pressure * (k * k + 1) / (k * k - 1)

    assert hoop(wall) <= strength < hoop(wall - step)
    assert wall / step == pytest.approx(round(wall / step), abs=1e-9)


def test_no_wall_holds_more_than_the_strength():
    # Lamé: the bore yields at p = S however thick the wall (textbook)
    assert wall_thickness(40e-3, 100e6, 340e6, 4.0, 1e-3, 0.25e-3) == math.inf


def test_a_low_pressure_wall_is_the_minimum():
    assert wall_thickness(6e-3, 16e5, 235e6, 4.0, 0.8e-3, 0.5e-3) == pytest.approx(1e-3)


def test_slender_rod_against_a_finite_difference_column():
    # second route: least eigenvalue of E·I·w'' + P·w = 0 between pins, on 400 points
    rod, length, modulus = 8e-3, 0.5, 2.1e11
    inertia = math.pi / 64 * rod**4
    points = 400
    spacing = length / (points + 1)
    diagonal, beside = np.full(points, 2.0), np.full(points - 1, -1.0)
    least = eigh_tridiagonal(diagonal, beside, select="i", select_range=(0, 0))[0][0]
    expected = modulus * inertia * least / spacing**2
    assert buckling_load(rod, length, modulus, 355e6, 1.0) == pytest.approx(expected, rel=1e-4)


def test_stocky_rod_yields():
    # Johnson's parabola starts at the yield load (textbook)
    assert buckling_load(20e-3, 1e-6, 2.1e11, 355e6, 1.0) == pytest.approx(355e6 * math.pi / 4 * 20e-3**2, rel=1e-9)


def test_column_formulas_meet_with_one_tangent():
    # Johnson and Euler touch at half the yield stress, slenderness sqrt(2·π²·E/S) (textbook)
    modulus, strength, rod = 2.1e11, 355e6, 10e-3
    meeting = math.sqrt(2 * math.pi**2 * modulus / strength) * rod / 4
    loads = [buckling_load(rod, meeting * (1 + d), modulus, strength, 1.0) for d in (-2e-4, -1e-4, 0.0, 1e-4, 2e-4)]
    assert loads[2] == pytest.approx(0.5 * strength * math.pi / 4 * rod**2, rel=1e-9)
    assert (loads[1] - loads[0]) == pytest.approx(loads[4] - loads[3], rel=2e-3)


def test_end_conditions_scale_the_length():
    # common practice: a fixed-free rod carries a quarter of a pinned one (Euler, factor 2)
    pinned, free = (buckling_load(8e-3, 0.6, 2.1e11, 355e6, factor) for factor in (1.0, 2.0))
    assert free == pytest.approx(pinned / 4, rel=1e-12)


def test_body_recomputed_by_hand():
    # by hand: bore 25, rod 14, stroke 150, wall 3 mm, proportions 0.6/0.9/0.5 bores and 2 rods, steel 7850 kg/m³:
    # barrel 150 + 15 + 22.5 + 12.5 = 200 mm; retracted 200 + 28 = 228 mm; extended 378 mm
    body = cylinder_body(25e-3, 14e-3, 0.15, 3e-3, False, 7850.0, Proportions())
    assert body.barrel_length == pytest.approx(0.200)
    assert body.retracted_length == pytest.approx(0.228)
    assert body.extended_length == pytest.approx(0.378)
    assert body.outer_diameter == pytest.approx(0.031)
    # volumes in cm³: tube π/4·(3.1² − 2.5²)·16.5 = 43.54; gland π/4·(3.1² − 1.4²)·2.25 = 13.52;
    # cap π/4·3.1²·1.25 = 9.43; piston π/4·(2.5² − 1.4²)·1.5 = 5.05; rod π/4·1.4²·20.15 = 31.02;
    # mounts π/4·2.8²·1.4 = 8.62; sum 111.19 cm³ → 0.873 kg
    assert body.dry_mass == pytest.approx(0.873, abs=0.001)
    # half the stroke in each chamber: 7.5·(4.909 + 3.369) = 62.1 cm³
    assert body.oil_volume == pytest.approx(62.1e-6, rel=1e-3)
