"""The pump equations against worked examples, their own closed forms and customary efficiencies."""

import math

import pytest

import fluids_data
from models.hydraulics.pump import delivery, overall_efficiency, shaft_torque, speed_for_delivery
from models.quantity import UNITS

INCH, POUND_FORCE, PSI = 0.0254, 4.4482216152605, 6894.757293168361
GALLON, HORSEPOWER, FOOT, RPM = 3.785411784e-3, 745.6998715822702, 0.3048, 2.0 * math.pi / 60.0


def test_overall_efficiency_of_a_textbook():
    # Esposito, Fluid Power with Applications, example 5.8, p. 190: 81.6 %; the displacement plays no part (0.005)
    flow, pressure, torque, speed = 20 * GALLON / 60, 1000 * PSI, 900 * INCH * POUND_FORCE, 1000 * RPM
    assert 100 * overall_efficiency(pressure, flow, torque, speed) == pytest.approx(81.6, rel=0.005)


def test_overall_efficiency_is_volumetric_times_mechanical():
    # the same example's way: 92.4 % volumetric on 5 in3/rev, 88.1 % mechanical, recomputed from its inputs
    displacement = 5 * INCH**3 / (2 * math.pi)
    flow, pressure, torque, speed = 20 * GALLON / 60, 1000 * PSI, 900 * INCH * POUND_FORCE, 1000 * RPM
    volumetric, mechanical = flow / (displacement * speed), displacement * pressure / torque
    assert overall_efficiency(pressure, flow, torque, speed) == pytest.approx(volumetric * mechanical, rel=1e-12)


def test_input_torque_of_a_textbook():
    # Sullivan, Fluid Power: Theory and Applications, 4th ed., example 7.1, p. 135: 15.217 lbf ft for 5 hp at 1725 rpm
    # (0.005); a pump without loss, of any displacement, at the pressure that makes 5 hp of it
    speed = 1725 * RPM
    for displacement in (1e-6, 5e-6):
        pressure = 5 * HORSEPOWER / (displacement * speed)
        torque = shaft_torque(displacement, speed, pressure, 0.03, 0.0, 0.0, 0.0)
        assert torque / (POUND_FORCE * FOOT) == pytest.approx(15.217, rel=0.005)


def test_speed_for_delivery_inverts_delivery():
    flow = delivery(2e-6, 300.0, 150e5, 0.02, 1e-8)
    assert speed_for_delivery(2e-6, flow, 150e5, 0.02, 1e-8) == pytest.approx(300.0, rel=1e-12)


def test_efficiency_follows_viscosity_speed_over_pressure_alone():
    # Wilson (1950): with slip, drag and Coulomb terms only, the efficiency is a function of µω/Δp; recalled
    def efficiency(speed, pressure, viscosity):
        flow = delivery(3e-6, speed, pressure, viscosity, 1.2e-8)
        torque = shaft_torque(3e-6, speed, pressure, viscosity, 1e5, 0.05, 0.0)
        return overall_efficiency(pressure, flow, torque, speed)

    first = efficiency(150.0, 100e5, 0.03)
    assert efficiency(300.0, 200e5, 0.03) == pytest.approx(first, rel=1e-12)
    assert efficiency(150.0, 50e5, 0.015) == pytest.approx(first, rel=1e-12)


def test_slip_beyond_the_displacement_delivers_backwards():
    assert delivery(1e-6, 100.0, 100e5, 0.01, 2e-7) < 0.0


CUSTOMARY = {"external_gear": 10.0, "internal_gear": 10.0, "axial_piston": 20.0}


@pytest.mark.parametrize("family", sorted(CUSTOMARY))
def test_a_full_size_pump_is_as_efficient_as_the_trade_knows_them(family):
    # common practice, no source: rules.csv, pump_efficiency_*; at 60 % of its pressure, 1500 rpm, 30 mm2/s of 870 kg/m3
    rules = {row.text("id"): row.number("value") for row in fluids_data.load_table("rules").rows}
    row = next(r for r in fluids_data.load_table("pumps").rows if r.text("family") == family)
    displacement = UNITS["cm3_rev"].to_si(CUSTOMARY[family])
    pressure, speed, viscosity = 0.6e5 * row.number("max_pressure_bar"), 1500 * RPM, 30e-6 * 870.0
    flow = delivery(displacement, speed, pressure, viscosity, row.number("slip_coefficient"))
    torque = shaft_torque(
        displacement,
        speed,
        pressure,
        viscosity,
        row.number("viscous_drag_coefficient"),
        row.number("coulomb_friction_coefficient"),
        1e5 * row.number("constant_friction_bar"),
    )
    found = overall_efficiency(pressure, flow, torque, speed)
    assert rules[f"pump_efficiency_{family}_low"] <= found <= rules[f"pump_efficiency_{family}_high"]
