"""The electric machine's losses and the battery against the table's own efficiencies and plain arithmetic."""

import math

import pytest

import fluids_data
from models.drive.battery import USABLE_SHARE, bus_current, run_time
from models.drive.machine import bus_power, machine_loss, torque_within

MOTORS = fluids_data.load_table("motors").rows
RPM = 2.0 * math.pi / 60.0


@pytest.mark.parametrize("row", MOTORS, ids=lambda row: row.text("id"))
def test_loss_at_rating_gives_the_tabulated_efficiency(row):
    # motors.csv, `efficiency` is its own column, printed to four digits; losses are printed to three significant digits
    torque, speed = row.number("rated_torque_nm"), row.number("rated_speed_rpm") * RPM
    loss = machine_loss(torque, speed, torque, speed, row.number("copper_loss_w"), row.number("iron_loss_w"))
    shaft = torque * speed
    assert shaft == pytest.approx(row.number("rated_power_w"), rel=5e-4)
    assert shaft / (shaft + loss) == pytest.approx(row.number("efficiency"), abs=5e-5 + 5e-4 * loss / shaft)


def test_efficiency_of_a_class_is_as_the_trade_knows_it():
    # common practice, no source: rules.csv, brushless peak efficiency 0.7 to 0.85 at tens of watts, 0.8 to 0.9 to 1 kW
    rules = {row.text("id"): row.number("value") for row in fluids_data.load_table("rules").rows}
    for row in MOTORS:
        power = row.number("rated_power_w")
        if power < 100:
            low, high = rules["motor_efficiency_tens_of_watts_low"], rules["motor_efficiency_tens_of_watts_high"]
        elif power <= 1000:
            low, high = rules["motor_efficiency_100w_1kw_low"], rules["motor_efficiency_100w_1kw_high"]
        else:
            continue
        assert low <= row.number("efficiency") <= high


def test_copper_follows_torque_squared_and_iron_speed():
    # common practice: I²R with torque ∝ I; iron between ω and ω², here half of each
    assert machine_loss(2.0, 0.0, 1.0, 300.0, 50.0, 20.0) == pytest.approx(200.0)
    assert machine_loss(0.0, 150.0, 1.0, 300.0, 50.0, 20.0) == pytest.approx(20.0 * (0.25 + 0.125))
    assert machine_loss(-2.0, -150.0, 1.0, 300.0, 50.0, 20.0) == machine_loss(2.0, 150.0, 1.0, 300.0, 50.0, 20.0)


def test_bus_power_adds_electronics_and_standby():
    assert bus_power(1000.0, 100.0, 0.04, 4.0) == pytest.approx(1148.0)
    assert bus_power(0.0, 0.0, 0.04, 4.0) == 4.0


def test_run_time_and_current():
    # arithmetic: 55 Wh, four fifths usable (common practice, no source), at 22 W is two hours; 22 W at 11 V is 2 A
    assert USABLE_SHARE == 0.8
    assert run_time(55 * 3600.0, 22.0) / 3600.0 == pytest.approx(2.0)
    assert bus_current(22.0, 11.0) == 2.0


def test_torque_within_a_power_takes_that_power() -> None:
    """Shaft power and loss at the torque found are the power asked; derived from the law itself."""
    for power in (50.0, 900.0, 5000.0):
        for speed in (0.0, 3.0, 150.0, 400.0):
            torque = torque_within(power, speed, 10.0, 300.0, 120.0, 60.0)
            taken = torque * speed + machine_loss(torque, speed, 10.0, 300.0, 120.0, 60.0)
            idle = machine_loss(0.0, speed, 10.0, 300.0, 120.0, 60.0)
            assert taken == pytest.approx(max(power, idle), rel=1e-12)
    assert torque_within(10.0, 400.0, 10.0, 300.0, 120.0, 60.0) == 0.0
