"""The road as ISO 8608 describes it: one spectrum, two correlated tracks, the rear wheels following the front.

Knows the displacement spectrum by class or roughness, the coherence of an isotropic road, the averaging of a contact
patch, and how to draw a seeded profile that has exactly that spectrum. Knows no vehicle. Wavenumbers are in cycle/m,
spectra are one-sided.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gamma, kv

Floats = NDArray[np.float64]

REFERENCE_WAVENUMBER = 0.1
"""n0, cycle/m, where the roughness Gd(n0) is stated. Source: [iso8608]"""

STANDARD_BAND = (0.011, 2.83)
"""Band of ISO 8608's octave and one-third-octave smoothing, cycle/m. Source: [iso8608]"""

CLASS_ROUGHNESS = {letter: 16e-6 * 4.0**index for index, letter in enumerate("ABCDEFGH")}
"""Geometric mean of Gd(n0) for each class, m³. Source: [iso8608]"""

SAMPLES_PER_WAVE = 8
"""Samples of a drawn profile on its shortest wave."""


@dataclass(frozen=True)
class RoadInput:
    """A road driven over: roughness Gd(n0) in m³, speed in m/s, band in cycle/m, contact patch length in m."""

    roughness: float
    speed: float
    band: tuple[float, float]
    contact_patch: float = 0.0

    @property
    def frequencies(self) -> tuple[float, float]:
        """The band in Hz at this speed."""
        return self.band[0] * self.speed, self.band[1] * self.speed


def displacement_psd(wavenumber: Floats, roughness: float) -> Floats:
    """One-sided displacement spectrum Gd(n) = Gd(n0)·(n/n0)^-2, m³, at `wavenumber` in cycle/m, any shape.

    Source: [iso8608], annex with the classes.
    """
    return roughness * (wavenumber / REFERENCE_WAVENUMBER) ** -2.0


def velocity_level(roughness: float, speed: float) -> float:
    """One-sided spectrum of the vertical road velocity, (m/s)²/Hz: flat, (2π·n0)²·Gd(n0)·V. Source: [iso8608]"""
    return (2.0 * math.pi * REFERENCE_WAVENUMBER) ** 2 * roughness * speed


def patch_gain(wavenumber: Floats, length: float) -> Floats:
    """Amplitude left by averaging over a contact patch of `length` m: sin(π·n·l)/(π·n·l)."""
    return np.sinc(wavenumber * length)


def coherence(wavenumber: Floats, track: float, waviness: float = 2.0) -> Floats:
    """Cross-spectrum of two parallel tracks over their own spectrum, on an isotropic road.

    track: their distance in m. waviness: w of Gd ∝ n^-w, above 1. The magnitude-squared coherence is its square.
    Source: [kamash_robson1978]
    """
    x = 2.0 * math.pi * track * np.maximum(np.asarray(wavenumber, dtype=float), 1e-12)
    half = 0.5 * waviness
    value: Floats = 2.0 / gamma(half) * (0.5 * x) ** half * kv(half, x)
    return value


def frequency_psd(frequency: Floats, road: RoadInput) -> Floats:
    """One-sided displacement spectrum under a moving wheel, m²/Hz, contact patch included; the band is not cut here."""
    wavenumber = frequency / road.speed
    gain = patch_gain(wavenumber, road.contact_patch)
    return displacement_psd(wavenumber, road.roughness) * gain * gain / road.speed


def band_variance(roughness: float, low: float | Floats, high: float | Floats) -> float | Floats:
    """Variance in m² that the waves between `low` and `high` cycle/m carry, without contact patch."""
    return roughness * REFERENCE_WAVENUMBER**2 * (1.0 / low - 1.0 / high)


@dataclass(frozen=True)
class RoadProfile:
    """Heights in m under the four wheels at equal time steps; it repeats without a seam after `duration` s."""

    time_step: float
    duration: float
    front_left: Floats
    front_right: Floats
    rear_left: Floats
    rear_right: Floats


def draw_profile(road: RoadInput, duration: float, track: float, wheelbase: float, seed: int) -> RoadProfile:
    """A road profile of at least `duration` s whose spectrum over the band is exactly the formula's.

    Amplitudes are fixed by the spectrum, phases drawn from `seed`; a wave's power is that of its whole bin, so the rms
    over the band is exact. The right track (`track` m away) leads or trails each wave by the angle whose cosine is the
    isotropic road's coherence, the side drawn at random; the rear wheels follow `wheelbase` m behind.
    """
    low, high = road.band
    length = max(duration * road.speed, 1.0 / low)
    first, last = max(1, math.ceil(low * length - 0.5)), math.floor(high * length + 0.5)
    samples = int(2 ** math.ceil(math.log2(SAMPLES_PER_WAVE * high * length)))
    index = np.arange(first, last + 1)
    wavenumber = index / length
    edges = np.clip((np.arange(first, last + 2) - 0.5) / length, low, high)
    power = np.asarray(band_variance(road.roughness, edges[:-1], edges[1:]))
    power = power * patch_gain(wavenumber, road.contact_patch) ** 2
    generator = np.random.default_rng(seed)
    phase = 2.0 * math.pi * generator.random(index.size)
    side = generator.choice((-1.0, 1.0), index.size)
    left = np.sqrt(2.0 * power) * 0.5 * samples * np.exp(1j * phase)
    right = left * np.exp(1j * side * np.arccos(np.minimum(coherence(wavenumber, track), 1.0)))
    behind = np.exp(-2j * math.pi * wavenumber * wheelbase)

    def heights(waves: NDArray[np.complex128]) -> Floats:
        spectrum = np.zeros(samples // 2 + 1, dtype=complex)
        spectrum[first : last + 1] = waves
        return np.fft.irfft(spectrum, samples)

    total = length / road.speed
    return RoadProfile(
        total / samples, total, heights(left), heights(right), heights(left * behind), heights(right * behind)
    )
