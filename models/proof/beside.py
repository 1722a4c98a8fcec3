"""The same car on the same course without oil: passive with its reference dampers, or with actuators that give exactly
the force the ride law asks.

End stops and lift-off as in the circuit; fixed steps of fourth order, for nothing here is stiff. Parallel springs carry
the weight.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import ALLOCATING, KERNEL
from models.proof import layout as at
from models.proof.control import FILTERS, law_force
from models.proof.corner import stop_force

Floats = NDArray[np.float64]


@njit(**KERNEL)
def mechanical_rates(
    c: Floats, z: Floats, y: Floats, inputs: Floats, ahead: Floats, share: float, springs: Floats, dampers: Floats,
    force: Floats, dy: Floats,
) -> None:  # fmt: skip
    """Rates of [wheel heights, body, their speeds] under held forces at the wheels; inputs mixed by `share`."""
    n = c.shape[0]
    half = n + 3
    lift0, lift1, lift2 = 0.0, 0.0, 0.0
    for i in range(n):
        height, rate, other = -y[i], -y[half + i], 0.0
        for a in range(3):
            height += c[i, at.ARM_HEAVE + a] * y[n + a]
            rate += c[i, at.ARM_HEAVE + a] * y[half + n + a]
        if c[i, at.BAR] > 0.0:
            j = int(c[i, at.PARTNER])
            other = -y[j]
            for a in range(3):
                other += c[j, at.ARM_HEAVE + a] * y[n + a]
            other = 0.5 * (height - other)
        between = stop_force(height, rate, c[i, at.BUMP], c[i, at.DROOP], c[i, at.STOP], c[i, at.STOP_LOSS])[0]
        between += force[i] - springs[i] * height - dampers[i] * rate - c[i, at.BAR] * other
        road = inputs[i, 0] + share * (ahead[i, 0] - inputs[i, 0])
        tyre = max(-c[i, at.TYRE] * (y[i] - road), -c[i, at.TYRE_STATIC])
        dy[i] = y[half + i]
        dy[half + i] = (tyre - between) / c[i, at.UNSPRUNG]
        lift0 += c[i, at.ARM_HEAVE] * between
        lift1 += c[i, at.ARM_PITCH] * between
        lift2 += c[i, at.ARM_ROLL] * between
    for a in range(3):
        dy[n + a] = y[half + n + a]
    dy[half + n] = (lift0 + inputs[n, 0]) / z[at.BODY_MASS]
    dy[half + n + 1] = (lift1 + inputs[n, 1]) / z[at.PITCH_INERTIA]
    dy[half + n + 2] = (lift2 + inputs[n + 1, 0]) / z[at.ROLL_INERTIA]


@njit(**ALLOCATING)
def ride_beside(
    c: Floats, z: Floats, inputs: Floats, wanted: Floats, sample: float, springs: Floats, dampers: Floats, active: bool
) -> tuple[Floats, Floats]:
    """(body acceleration above each wheel, wheel travel), [sample, corner], of the car without oil.

    active: actuators give exactly the law's force and what is `wanted` beside it, held between samples.
    """
    n = c.shape[0]
    samples = inputs.shape[0] - 1
    size = 2 * (n + 3)
    half = n + 3
    acceleration, travels = np.zeros((samples, n)), np.zeros((samples, n))
    y, trial = np.zeros(size), np.zeros(size)
    k = np.zeros((4, size))
    kept, force = np.zeros((n, FILTERS)), np.zeros(n)
    for s in range(samples):
        now, ahead = inputs[s], inputs[s + 1]
        for i in range(n):
            body, rate = 0.0, 0.0
            for a in range(3):
                body += c[i, at.ARM_HEAVE + a] * y[n + a]
                rate += c[i, at.ARM_HEAVE + a] * y[half + n + a]
            travels[s, i] = body - y[i]
            force[i] = 0.0
            if active and c[i, at.FITTED] > 0.5:
                law = law_force(c[i], kept[i], body - y[i], rate, y[i] - now[i, 0], y[half + i])
                force[i] = law + wanted[s, i] * c[i, at.RATIO]
        for stage in range(4):
            step = 0.0 if stage == 0 else (0.5 if stage < 3 else 1.0)
            for j in range(size):
                trial[j] = y[j] + step * sample * (k[stage - 1, j] if stage > 0 else 0.0)
            mechanical_rates(c, z, trial, now, ahead, step, springs, dampers, force, k[stage])
        for i in range(n):
            for a in range(3):
                acceleration[s, i] += c[i, at.ARM_HEAVE + a] * k[0, half + n + a]
        for j in range(size):
            y[j] += sample / 6.0 * (k[0, j] + 2.0 * k[1, j] + 2.0 * k[2, j] + k[3, j])
    return acceleration, travels
