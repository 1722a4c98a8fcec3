"""ISO 2631-1 frequency weighting Wk, for people seated in a full-size vehicle. It says nothing of a model."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

BAND = (0.4, 100.0)
"""Corner frequencies of the band limits, Hz, both with Q = 1/√2. Source: [iso2631_1]"""

TRANSITION = (12.5, 0.63)
"""Acceleration-velocity transition: frequency in Hz and Q. Source: [iso2631_1]"""

UPWARD_STEP = (2.37, 0.91, 3.35, 0.91)
"""Frequencies in Hz and Q of numerator and denominator. Source: [iso2631_1]"""


def vertical_weighting(frequency: NDArray[np.float64]) -> NDArray[np.float64]:
    """Magnitude of Wk at `frequency` in Hz, any shape. Source: [iso2631_1], annex with the transfer functions."""
    s = 2j * math.pi * np.asarray(frequency, dtype=float)

    def second_order(corner: float, quality: float) -> NDArray[np.complex128]:
        omega = 2.0 * math.pi * corner
        value: NDArray[np.complex128] = 1.0 + s / (quality * omega) + (s / omega) ** 2
        return value

    flat = 1.0 / math.sqrt(2.0)
    low, high = BAND
    f4, q4 = TRANSITION
    f5, q5, f6, q6 = UPWARD_STEP
    high_pass = (s / (2.0 * math.pi * low)) ** 2 / second_order(low, flat)
    low_pass = 1.0 / second_order(high, flat)
    transition = (1.0 + s / (2.0 * math.pi * f4)) / second_order(f4, q4)
    step = second_order(f5, q5) / second_order(f6, q6) * (f5 / f6) ** 2
    return np.abs(high_pass * low_pass * transition * step)
