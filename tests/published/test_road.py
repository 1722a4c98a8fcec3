"""The road against ISO 8608's figures, an isotropic road rebuilt by quadrature, and its own drawn profile.

Class means and slope levels as read in the standard's secondary copies; band rms and coherence values are derived and
rebuilt here by a second route.
"""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.signal import csd, welch

from models.ride.road import (
    CLASS_ROUGHNESS,
    STANDARD_BAND,
    RoadInput,
    band_variance,
    coherence,
    displacement_psd,
    draw_profile,
    frequency_psd,
    patch_gain,
    velocity_level,
)


@pytest.mark.parametrize(
    ("letter", "mean"),
    [("A", 16), ("B", 64), ("C", 256), ("D", 1024), ("E", 4096), ("F", 16384), ("G", 65536), ("H", 262144)],
)
def test_class_means(letter, mean):
    # ISO 8608, geometric means of Gd(n0), in 1e-6 m³
    assert CLASS_ROUGHNESS[letter] == pytest.approx(mean * 1e-6, rel=1e-12)


def test_the_values_often_copied_are_those_at_one_radian_a_metre():
    # Derived: 2π·n0²·Gd(n0) = 1.0053e-6 m³ for class A at Ω = 1 rad/m, in m²/(rad/m)
    one_radian = 1.0 / (2.0 * math.pi)
    per_radian = displacement_psd(np.array([one_radian]), CLASS_ROUGHNESS["A"])[0] / (2.0 * math.pi)
    assert per_radian == pytest.approx(1.0053e-6, abs=0.00005e-6)


@pytest.mark.parametrize(("letter", "level"), [("A", 6.32e-6), ("B", 25.3e-6)])
def test_velocity_spectrum(letter, level):
    # ISO 8608 slope spectrum (2π·n0)²·Gd(n0) in m; at 1 m/s it is the velocity spectrum
    assert velocity_level(CLASS_ROUGHNESS[letter], 1.0) == pytest.approx(level, rel=0.002)


@pytest.mark.parametrize(("letter", "rms"), [("A", 3.81e-3), ("C", 15.23e-3)])
def test_band_rms(letter, rms):
    # Derived: rms of the profile over 0.011 to 2.83 cycle/m
    low, high = STANDARD_BAND
    roughness = CLASS_ROUGHNESS[letter]
    assert math.sqrt(band_variance(roughness, low, high)) == pytest.approx(rms, abs=0.005e-3)
    integral = quad(lambda n: displacement_psd(np.array([n]), roughness)[0], low, high, limit=200)[0]
    assert band_variance(roughness, low, high) == pytest.approx(integral, rel=1e-8)


@pytest.mark.parametrize(("wavenumber", "value"), [(0.02, 0.959173), (0.1, 0.626419)])
def test_coherence_values(wavenumber, value):
    # Kamash & Robson 1978, formula from memory; values derived by quadrature, track 1.5 m
    assert coherence(np.array([wavenumber]), 1.5)[0] == pytest.approx(value, abs=0.5e-6)


@pytest.mark.parametrize("wavenumber", [0.01, 0.05, 0.2, 0.7])
@pytest.mark.parametrize("waviness", [2.0, 2.5])
def test_coherence_of_an_isotropic_road_by_quadrature(wavenumber, waviness):
    # Second route: a road whose two-dimensional spectrum depends on |κ| alone, S ∝ |κ|^-(w+1), cut along two tracks
    track = 1.6

    def spectrum(across):
        return (wavenumber**2 + across**2) ** (-0.5 * (waviness + 1.0))

    own = quad(spectrum, 0.0, math.inf)[0]
    both = quad(spectrum, 0.0, math.inf, weight="cos", wvar=2.0 * math.pi * track)[0]
    assert coherence(np.array([wavenumber]), track, waviness)[0] == pytest.approx(both / own, abs=2e-7)


def test_contact_patch_averages():
    # A moving average of length l over a wave of length l leaves nothing; over a long wave all but (πnl)²/6
    assert patch_gain(np.array([10.0]), 0.1)[0] == pytest.approx(0.0, abs=1e-12)
    assert 1.0 - patch_gain(np.array([0.5]), 0.1)[0] == pytest.approx((math.pi * 0.05) ** 2 / 6.0, rel=2e-3)


ROAD = RoadInput(CLASS_ROUGHNESS["C"], 20.0, STANDARD_BAND)


def profile_of(seed, road=ROAD, duration=400.0):
    return draw_profile(road, duration, 1.6, 2.7, seed)


def test_profile_rms_over_the_band_is_exact():
    profile = profile_of(3)
    expected = math.sqrt(band_variance(ROAD.roughness, *ROAD.band))
    for track in (profile.front_left, profile.front_right, profile.rear_left, profile.rear_right):
        assert np.std(track) == pytest.approx(expected, rel=2e-3)
        assert np.mean(track) == pytest.approx(0.0, abs=1e-12)


def test_profile_has_the_formula_spectrum():
    # Welch's estimate with 40 s pieces; each bin of it rests on some 30 pieces: ±18 % at one sigma, the mean far less
    profile = profile_of(5, duration=1200.0)
    rate = 1.0 / profile.time_step
    frequency, estimate = welch(profile.front_left, rate, nperseg=int(40.0 * rate), detrend=False)
    inside = (frequency > 0.5) & (frequency < 50.0)
    ratio = estimate[inside] / frequency_psd(frequency[inside], ROAD)
    assert np.mean(ratio) == pytest.approx(1.0, abs=0.02)
    for low, high in ((0.5, 1.5), (1.5, 5.0), (5.0, 15.0), (15.0, 50.0)):
        part = (frequency[inside] > low) & (frequency[inside] < high)
        assert np.mean(ratio[part]) == pytest.approx(1.0, abs=0.06)


def test_profile_velocity_is_not_doubled():
    # One-sided level G = (2π·n0)²·Gd·V flat to the band's end: variance G·(f2 - f1); twice that is the white-noise slip
    profile = profile_of(7)
    velocity = np.gradient(profile.front_left, profile.time_step)
    low, high = ROAD.frequencies
    expected = velocity_level(ROAD.roughness, ROAD.speed) * (high - low)
    assert np.var(velocity) == pytest.approx(expected, rel=0.1)  # central differences lose 10 % at eight samples a wave


def test_profile_tracks_are_coherent_as_an_isotropic_road():
    profile = profile_of(11, duration=1200.0)
    rate = 1.0 / profile.time_step
    size = int(20.0 * rate)
    frequency, cross = csd(profile.front_left, profile.front_right, rate, nperseg=size, detrend=False)
    own = welch(profile.front_left, rate, nperseg=size, detrend=False)[1]
    for low, high in ((0.5, 1.0), (1.5, 2.5), (3.0, 5.0), (8.0, 16.0)):
        part = (frequency > low) & (frequency < high)
        measured = np.mean(np.real(cross[part]) / own[part])
        assert measured == pytest.approx(np.mean(coherence(frequency[part] / 20.0, 1.6)), abs=0.06)


def test_rear_follows_front():
    profile = profile_of(13)
    delay = 2.7 / 20.0
    steps = delay / profile.time_step
    times = np.arange(profile.front_left.size)
    shifted = np.interp(times - steps, times, profile.front_left)
    middle = slice(100, -100)
    assert np.max(np.abs(shifted[middle] - profile.rear_left[middle])) < 2e-3


def test_profile_repeats_by_seed():
    assert np.array_equal(profile_of(1).front_left, profile_of(1).front_left)
    assert not np.allclose(profile_of(1).front_left, profile_of(2).front_left)
