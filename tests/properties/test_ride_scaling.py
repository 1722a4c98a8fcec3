"""Froude scaling: a vehicle scaled by s, its road, speeds and bandwidths with it, moves alike.

Lengths scale with s, times with √s: masses s³, stiffness s², damping s^2.5, roughness s, wavenumbers 1/s, frequencies
1/√s; then accelerations are unchanged, forces s³, velocities √s, powers s^3.5. Derived. Dimensionless weights and every
default rule must carry this through.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models.ride.build import ride_answer
from tests.ride_cases import FULL_SIZE, spec_of

EXPONENTS = {
    "sprung_mass_kg": 3.0,
    "unsprung_mass_kg": 3.0,
    "wheel_rate_n_mm": 2.0,
    "tyre_rate_n_mm": 2.0,
    "retained_damping_n_s_m": 2.5,
    "anti_roll_rate_nm_deg": 4.0,
    "roll_centre_height_mm": 1.0,
    "bump_travel_mm": 1.0,
    "droop_travel_mm": 1.0,
    "speed_km_h": 0.5,
    "roughness_m3": 1.0,
    "band_low_per_m": -1.0,
    "band_high_per_m": -1.0,
    "duration_s": 0.5,
    "bandwidth_hz": -0.5,
    "low_cut_hz": -0.5,
    "eccentricity_mm": 1.0,
    "frequency_hz": -0.5,
    "frequency_to_hz": -0.5,
    "height_mm": 1.0,
    "length_mm": 1.0,
    "rise_time_s": 0.5,
    "time_s": 0.5,
    "hold_s": 0.5,
    "wheelbase_mm": 1.0,
    "track_mm": 1.0,
    "cg_height_mm": 1.0,
}


def scaled(document, s):
    if isinstance(document, dict):
        return {
            key: value * s ** EXPONENTS[key] if key in EXPONENTS else scaled(value, s)
            for key, value in document.items()
        }
    return document


def duties(law, explicit, speed):
    control = {"law": law, **({"bandwidth_hz": 20.0, "low_cut_hz": 0.15} if explicit else {})}
    band = {"band_low_per_m": 0.011, "band_high_per_m": 2.5, "duration_s": 300.0}
    shared = {"share_of_time": 0.1, "control": control}
    lateral, longitudinal = {"lateral_acceleration_m_s2": 3.0}, {"longitudinal_acceleration_m_s2": -4.0}
    return [
        {"kind": "road", "roughness_m3": 256e-6, "speed_km_h": speed, **band, **shared},
        {"kind": "rig", "eccentricity_mm": 12.0, "frequency_hz": 0.5, "frequency_to_hz": 15.0, **shared},
        {"kind": "bump", "height_mm": 50.0, "length_mm": 2500.0, "speed_km_h": speed, **shared},
        {"kind": "manoeuvre", **lateral, **longitudinal, "rise_time_s": 0.4, "hold_s": 1.0},
        {"kind": "lift", "height_mm": 40.0, "time_s": 2.0, "hold_s": 5.0},
    ]


def codes(answer):
    """Warnings raised, but the one that speaks of the standard's own band, which does not scale."""
    return [w.code for w in answer.demand.warnings if w.code != "road_band_extended"]


@settings(max_examples=12, deadline=None)
@given(
    s=st.floats(0.05, 0.8),
    law=st.sampled_from(["passive", "skyhook", "lqr"]),
    arrangement=st.sampled_from(["parallel", "series", "corner_accumulator"]),
    explicit=st.booleans(),
    speed=st.floats(20.0, 120.0),
)
def test_froude(s, law, arrangement, explicit, speed):
    asked = duties(law, explicit, speed)
    big = ride_answer(spec_of(FULL_SIZE, *asked, arrangement=arrangement))
    small = ride_answer(spec_of(scaled(FULL_SIZE, s), *(scaled(d, s) for d in asked), arrangement=arrangement))
    assert codes(big) == codes(small)
    road_big, road_small = big.duties[0], small.duties[0]
    assert road_small.body_acceleration == pytest.approx(road_big.body_acceleration, rel=1e-6)
    assert road_small.roll_acceleration == pytest.approx(road_big.roll_acceleration / s, rel=1e-6)
    exponents = {
        "force_peak": 3.0,
        "force_rms": 3.0,
        "velocity_peak": 0.5,
        "velocity_rms": 0.5,
        "velocity_mean_abs": 0.5,
        "stroke": 1.0,
        "frequency": -0.5,
        "bandwidth": -0.5,
        "power_delivered": 3.5,
        "power_absorbed": 3.5,
        "burst_path_out": 1.0,
        "burst_duration": 0.5,
        "in_step_fraction": 0.0,
    }
    for axle_big, axle_small in zip(big.demand.axles, small.demand.axles, strict=True):
        for duty_big, duty_small in zip(axle_big.duties, axle_small.duties, strict=True):
            for name, power in exponents.items():
                expected = getattr(duty_big, name) * s**power
                scale = duty_big.mean_power_bound * s**power if name.startswith("power") else abs(expected)
                assert getattr(duty_small, name) == pytest.approx(expected, rel=1e-5, abs=1e-6 * scale + 1e-15), (
                    duty_big.kind,
                    name,
                )


@settings(max_examples=15, deadline=None)
@given(roughness=st.floats(1e-6, 1e-3), factor=st.floats(1.1, 16.0))
def test_a_rougher_road_asks_more_by_its_root(roughness, factor):
    def duty(value):
        spec = spec_of(FULL_SIZE, {"kind": "road", "roughness_m3": value, "speed_km_h": 60.0})
        return ride_answer(spec).demand.axles[0].duties[0]

    smooth, rough = duty(roughness), duty(roughness * factor)
    for name in ("force_peak", "velocity_peak", "stroke"):
        assert getattr(rough, name) == pytest.approx(math.sqrt(factor) * getattr(smooth, name), rel=1e-6)
    assert rough.power_absorbed == pytest.approx(factor * smooth.power_absorbed, rel=1e-6)


@settings(max_examples=15, deadline=None)
@given(weight=st.floats(0.05, 2.0), step=st.floats(1.2, 4.0))
def test_more_weight_on_travel_uses_less_travel(weight, step):
    def travel(value):
        control = {"travel_weight": value, "bandwidth_hz": 60.0}
        spec = spec_of(FULL_SIZE, {"kind": "road", "road_class": "C", "speed_km_h": 70.0, "control": control})
        return ride_answer(spec).duties[0].axles[0].travel

    assert travel(weight * step) < travel(weight)
