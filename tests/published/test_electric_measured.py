"""What a measured coil's readings mean, against facts of the trade and what the check file derives.

The readings of the hand-wound coil, and what is said of it, are common practice, no source: 400 turns of AWG 28, about
5.6 Ω, about 1.67 N at 3 A, about 75 g complete, driven from 24 V, 10 mm of travel.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

from models.electric.catalogue import column
from models.electric.diagnosis import diagnose, measured_against
from models.electric.loads import LOAD
from models.electric.measured import coil_shape
from models.electric.rotary import servos
from models.measured_actuator import MeasuredActuator, copper_volume
from models.quantity import ZERO_CELSIUS, to_wire

HAND_WOUND: dict[str, Any] = {
    "force_n": 1.67,
    "current_a": 3.0,
    "resistance_ohm": 5.6,
    "voltage_v": 24.0,
    "mass_kg": 0.075,
    "travel_mm": 10.0,
    "turns": 400,
    "wire_gauge": 28.0,
}


def readings(**changes: Any) -> MeasuredActuator:
    return MeasuredActuator.model_validate({**HAND_WOUND, **changes})


def test_motor_constant_of_the_hand_wound_coil() -> None:
    """Common practice, no source: 170 gram-force at 3 A through 5.6 Ω is about 0.235 N/√W; 170 gf is 1.67 N."""
    weight = 0.170 * 9.80665
    assert weight == pytest.approx(HAND_WOUND["force_n"], abs=5e-3)
    assert diagnose(readings()).motor_constant == pytest.approx(0.235, abs=5e-4)


def test_its_copper_and_the_field_it_sees() -> None:
    """Common practice, no source: 19 g of copper in some hundredths of a tesla; good practice reaches 0.2 to 0.5 T."""
    found = diagnose(readings())
    assert 1e3 * found.copper_mass == pytest.approx(19.0, abs=0.5)
    assert 0.01 < found.mean_field < 0.05
    assert found.limited_by == "field"
    assert found.gains.field > 5.0


def test_its_mean_turn_is_what_wire_and_turns_tell() -> None:
    """400 turns of 26.3 m (5.6 Ω at 0.2129 Ω/m, ASTM B258): 20.9 mm across."""
    given = readings()
    assert 1e3 * coil_shape(given, copper_volume(given)).mean_diameter == pytest.approx(20.9, abs=0.05)


def test_at_full_voltage_it_overheats_in_half_a_minute() -> None:
    """Common practice, no source: about 4.3 A, over 100 W, too hot within about half a minute; the copper alone reaches
    130 °C in about 9 s (to 10 %), all 75 g together in about 42 s (to 10 %); the answer lies between and says why."""
    found = diagnose(readings())
    there = found.at_voltage
    assert there.current == pytest.approx(4.3, abs=0.05)
    assert there.power > 100.0
    assert there.copper_alone == pytest.approx(9.0, rel=0.10)
    assert there.whole_mass == pytest.approx(42.0, rel=0.10)
    assert there.expected is not None
    assert there.copper_alone < there.expected < min(there.whole_mass, 30.0)
    assert any("copper kept all heat" in line and "whole mass" in line for line in found.explanation)


def one_duty(force: float, speed: float, hertz: float, travel: float) -> np.void:
    load = np.zeros(1, LOAD)[0]
    load["share"][0], load["force_rms"][0] = 1.0, force / np.sqrt(2.0)
    load["points"][0] = (force, 0.0, 0.0, 1.0)
    load["points"][1] = (0.0, speed, 0.0, 1.0)
    load["duties"], load["peaks"], load["stroke"], load["bandwidth"] = 1, 2, travel, hertz
    load["mean_square"], load["force_peak"] = 0.5 * force**2, force
    return load


def test_on_a_300_g_corner_it_gives_off_20_to_40_w() -> None:
    """Common practice, no source: a useful actuator of that class on a 300 g corner with 10 mm of travel is expected to
    dissipate 20 to 40 W. Here: its own 1.67 N, more than half the corner's weight, as a sinusoid, cold copper."""
    assert 1.67 > 0.5 * 0.3 * 9.80665
    constant = diagnose(readings()).motor_constant
    assert 20.0 < 0.5 * 1.67**2 / constant**2 < 40.0
    against = measured_against(readings(), one_duty(1.67, 0.12, 4.0, 0.010))
    assert not against.meets
    assert "heat" in [miss.limit for miss in against.misses]


def test_a_lighter_task_is_met() -> None:
    against = measured_against(readings(), one_duty(0.3, 0.12, 4.0, 0.010))
    assert against.meets
    assert against.misses == ()
    assert against.winding_temperature is not None
    assert against.winding_temperature < ZERO_CELSIUS + 130.0


def test_travel_and_voltage_are_missed_by_name() -> None:
    against = measured_against(readings(voltage_v=16.8), one_duty(6.0, 0.12, 4.0, 0.025))
    ratios = {miss.limit: miss.need_over_ability for miss in against.misses}
    assert ratios["travel"] == pytest.approx(2.5)
    assert ratios["voltage"] is not None
    assert ratios["voltage"] > 1.0


def test_four_positional_servos_are_too_much_for_a_tenth_scale_car() -> None:
    """Common practice, no source: about 75 g and about 3 A peak each; four of them against a car of 1.2 kg sprung."""
    rows = {round(float(m), 3): k for k, m in enumerate(column("servos", "mass_kg"))}
    place = rows[0.075]
    assert column("servos", "stall_current_a")[place] == pytest.approx(3.0, abs=0.5)
    assert 4 * 0.075 > 0.2 * 4 * 0.3
    assert 4 * column("servos", "stall_current_a")[place] > 10.0


def test_positional_servo_is_limited_by_its_rate() -> None:
    """Check file, derived: 0.10 s for 60° on a 10 mm arm is 0.105 m/s, rate-limited above 3.33 Hz at 5 mm."""
    rows = servos(0.010)
    speeds = [float(row["velocity_limit"]) for row in rows]
    ten_mm = [v for v in speeds if v == pytest.approx(0.105, abs=5e-4)]
    assert ten_mm
    assert ten_mm[0] / (2.0 * np.pi * 0.005) == pytest.approx(3.33, abs=5e-3)


def test_better_practice_for_the_same_mass() -> None:
    found = diagnose(readings())
    assert found.better is not None
    assert found.better.motor_constant > 3.0 * found.motor_constant
    assert found.better.copper_mass < 0.075
    assert found.continuous_force < HAND_WOUND["force_n"]
    assert to_wire(found)["better"]["mean_field_t"] > 0.1


def test_continuous_force_brings_the_winding_to_its_limit() -> None:
    """The current of the continuous force, held for hours in the transient model, ends within 2 K of the limit."""
    found = diagnose(readings())
    current = found.continuous_force / found.force_constant
    below = diagnose(readings(current_a=0.97 * current, force_n=0.97 * found.continuous_force))
    above = diagnose(readings(current_a=1.03 * current, force_n=1.03 * found.continuous_force))
    assert below.at_current.expected is None
    assert above.at_current.expected is not None
    assert found.runaway_current > current


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({"voltage_v": 5.0}, ("voltage_v", "resistance_ohm", "current_a")),
        ({"force_n": 400.0}, ("force_n", "current_a", "resistance_ohm", "copper")),
        ({"copper_mass_kg": 0.1}, ("mass_kg", "copper")),
        ({"mass_kg": 0.015}, ("mass_kg", "copper")),
        ({"copper_mass_kg": 0.005}, ("copper_mass_kg", "resistance_ohm", "wire_gauge")),
        (
            {"turns": 40, "coil_inner_diameter_mm": 18.0, "coil_outer_diameter_mm": 24.0},
            ("resistance_ohm", "turns", "wire_gauge"),
        ),
        (
            {"coil_inner_diameter_mm": 24.0, "coil_outer_diameter_mm": 18.0},
            ("coil_outer_diameter_mm", "coil_inner_diameter_mm"),
        ),
    ],
)
def test_readings_that_contradict_each_other_are_refused_by_name(
    changes: dict[str, Any], named: tuple[str, ...]
) -> None:
    with pytest.raises(ValidationError) as caught:
        readings(**changes)
    (error,) = caught.value.errors()
    assert error["type"] == "contradiction"
    assert all(name in error["msg"] for name in named)


@pytest.mark.parametrize("resistance", [0.0, -1.0, float("nan"), float("inf")])
def test_no_resistance_is_no_reading(resistance: float) -> None:
    with pytest.raises(ValidationError):
        readings(resistance_ohm=resistance)


@pytest.mark.parametrize(
    ("kept", "origin"),
    [
        ({"copper_mass_kg": 0.019}, "copper_mass_kg"),
        ({"wire_gauge": 28.0}, "wire_gauge and resistance_ohm"),
        ({"turns": 400, "coil_inner_diameter_mm": 17.0, "coil_outer_diameter_mm": 24.8}, "turns, diameters"),
        (
            {"coil_inner_diameter_mm": 17.0, "coil_outer_diameter_mm": 24.8, "coil_length_mm": 14.0},
            "the coil's size",
        ),
        ({}, "a quarter"),
    ],
)
def test_copper_from_the_best_of_what_is_known(kept: dict[str, Any], origin: str) -> None:
    """Five ways to the same 19 g, the last two flagged as estimates."""
    bare = {k: v for k, v in HAND_WOUND.items() if k not in ("turns", "wire_gauge")}
    given = MeasuredActuator.model_validate({**bare, **kept})
    found = copper_volume(given)
    assert found.origin.startswith(origin)
    assert found.volume * 8960.0 == pytest.approx(0.019, rel=0.15)
    assert found.estimated is (origin in ("the coil's size", "a quarter"))
    assert diagnose(given).motor_constant == pytest.approx(0.235, abs=5e-4)
