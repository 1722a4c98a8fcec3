"""Frequency response of a plane, and its second moments on a random road.

The response is solved on the Hessenberg form, one frequency after another, in a compiled loop. Moments over a band are
integrated adaptively to a stated accuracy; moments of one corner under an unbounded white velocity follow from the
Lyapunov equation. Knows no duty.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.linalg import solve_continuous_lyapunov

from models.compiled import KERNEL
from models.ride.linear import ROWS, Plane, Row

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

ACCURACY = 1e-7
"""Relative error accepted in each integral over the band."""

MOST_ROUNDS = 30
FIRST_PANELS = 16


class NotIntegrable(ArithmeticError):
    """The integral over the band did not settle: a resonance without damping."""


@njit(**KERNEL)
def _respond(
    a: Floats,
    b: Floats,
    c: Floats,
    d: Floats,
    omega: Floats,
    road: Complexes,
    work: Complexes,
    x: Complexes,
    answer: Complexes,
) -> None:
    """Fill answer with c·x + d·u where (i·omega[k]·I - a)·x = b·u, u = road[k], for an upper Hessenberg matrix a.

    work, like a, and x, like a state: of no meaning outside. Source: [laub1981]
    """
    size, inputs = b.shape
    rows = c.shape[0]
    for k in range(omega.size):
        for i in range(size):
            for j in range(max(0, i - 1), size):
                work[i, j] = -a[i, j]
            work[i, i] += 1j * omega[k]
            x[i] = 0.0
            for j in range(inputs):
                x[i] += b[i, j] * road[k, j]
        for i in range(size - 1):
            if abs(work[i + 1, i].real) + abs(work[i + 1, i].imag) > abs(work[i, i].real) + abs(work[i, i].imag):
                for j in range(i, size):
                    kept = work[i, j]
                    work[i, j] = work[i + 1, j]
                    work[i + 1, j] = kept
                swap = x[i]
                x[i] = x[i + 1]
                x[i + 1] = swap
            if work[i + 1, i] != 0.0:
                factor = work[i + 1, i] / work[i, i]
                for j in range(i + 1, size):
                    work[i + 1, j] -= factor * work[i, j]
                x[i + 1] -= factor * x[i]
        for i in range(size - 1, -1, -1):
            total = x[i]
            for j in range(i + 1, size):
                total -= work[i, j] * x[j]
            x[i] = total / work[i, i]
        for i in range(rows):
            total = 0.0 + 0.0j
            for j in range(inputs):
                total += d[i, j] * road[k, j]
            for j in range(size):
                total += c[i, j] * x[j]
            answer[k, i] = total


@functools.lru_cache(maxsize=1)
def kronrod_rule() -> tuple[Floats, Floats, Floats]:
    """Nodes in [-1, 1] and weights of the 15-point rule, and the weights of the 7-point rule inside it.

    Built from the definition: the seven Legendre nodes, and the eight zeros of the polynomial that is orthogonal, with
    the Legendre polynomial as weight, to all lower degrees.
    """
    legendre = np.polynomial.legendre
    gauss, gauss_weights = legendre.leggauss(7)
    fine, fine_weights = legendre.leggauss(40)
    seventh = legendre.legval(fine, [0.0] * 7 + [1.0])
    powers = legendre.legvander(fine, 8)
    system = (powers[:, :8] * (fine_weights * seventh)[:, None]).T @ powers
    coefficients = np.append(np.linalg.lstsq(system[:, :8], -system[:, 8], rcond=None)[0], 1.0)
    added = np.sort(np.real(legendre.legroots(coefficients)))
    nodes: Floats = np.sort(np.concatenate([gauss, added])).astype(np.float64)
    moments = np.zeros(15)
    moments[0] = 2.0
    weights: Floats = np.linalg.solve(legendre.legvander(nodes, 14).T, moments).astype(np.float64)
    inside = np.zeros(15)
    inside[1::2] = gauss_weights
    return nodes, weights, inside


def frequency_response(plane: Plane, frequency: Floats, delay: float) -> Complexes:
    """Outputs of a plane (shape: frequencies, rows of C) per metre of road under its first axle.

    frequency: Hz. delay: seconds by which the last axle's road follows the first's.
    """
    omega = 2.0 * math.pi * frequency
    road = np.ones((frequency.size, plane.b.shape[1]), dtype=complex)
    if road.shape[1] == 2:
        road[:, 1] = np.exp(-1j * omega * delay)
    a, b, c = plane.hessenberg
    response: Complexes = np.empty((omega.size, c.shape[0]), dtype=np.complex128)
    work, x = np.empty(a.shape, dtype=np.complex128), np.empty(a.shape[0], dtype=np.complex128)
    _respond(a, b, c, plane.d, omega, road, work, x, response)
    return response


def integrate(
    integrand: Callable[[Floats], Floats],
    low: float,
    high: float,
    features: Sequence[float],
    accuracy: float = ACCURACY,
) -> tuple[Floats, Floats, Floats]:
    """Integrate a vector function of frequency from `low` to `high`, adaptively.

    integrand: takes frequencies (n,) and returns (n, m). features: frequencies near which it changes fast. Returns the
    integrals (m,), then the nodes in rising order and their weights, which integrate anything as smooth. Raises
    NotIntegrable when it does not settle.
    """
    nodes, weights, inside = kronrod_rule()
    edges = np.unique(
        np.concatenate([np.geomspace(low, high, FIRST_PANELS + 1), [f for f in features if low < f < high]])
    )
    left, right = edges[:-1], edges[1:]
    total: Floats = np.zeros(0)
    kept_nodes, kept_weights = [], []
    for _ in range(MOST_ROUNDS):
        half = 0.5 * (right - left)
        at = (0.5 * (left + right))[:, None] + half[:, None] * nodes
        values = integrand(at.ravel()).reshape(left.size, 15, -1)
        fine = half[:, None] * np.einsum("k,pkm->pm", weights, values)
        coarse = half[:, None] * np.einsum("k,pkm->pm", inside, values)
        if total.size == 0:
            total = np.zeros(fine.shape[1])
        scale = np.abs(total + fine.sum(axis=0)) + 1e-300
        good = np.all(np.abs(fine - coarse) <= accuracy * scale, axis=1)
        total = total + fine[good].sum(axis=0)
        kept_nodes.append(at[good].ravel())
        kept_weights.append((half[good, None] * weights).ravel())
        if np.all(good):
            everywhere = np.concatenate(kept_nodes)
            order = np.argsort(everywhere)
            return total, everywhere[order], np.concatenate(kept_weights)[order]
        left, right = left[~good], right[~good]
        middle = 0.5 * (left + right)
        left, right = np.concatenate([left, middle]), np.concatenate([middle, right])
    raise NotIntegrable(f"the response near {float(left[0]):.6g} Hz has no damping")


def resonances(plane: Plane) -> list[float]:
    """Frequencies in Hz about each lightly damped eigenvalue, as features for `integrate`."""
    found = []
    for value in plane.eigenvalues:
        if value.imag > 0.0:
            width = max(abs(value.real), 1e-9 * value.imag)
            for step in (-4.0, -1.0, 0.0, 1.0, 4.0):
                found.append((value.imag + step * width) / (2.0 * math.pi))
    return [frequency for frequency in found if frequency > 0.0]


def white_moments(plane: Plane, level: float) -> Floats:
    """Covariance of one corner's outputs (all rows of C) when the road's vertical velocity is white without bound.

    level: its two-sided spectrum in (m/s)²/Hz, S0 = 2π²·n0²·Gd(n0)·V. The road
    enters the corner through the tyre's deflection; in place of the heights the states are travel and tyre deflection,
    so that nothing drifts. Raises ValueError for more than one corner or an unstable one.
    """
    if len(plane.corners) != 1 or plane.body_freedoms != 1:
        raise ValueError("the closed form holds for a single corner")
    if plane.growth >= 0.0:
        raise ValueError("the corner is unstable: its moments are not finite")
    size = plane.a.shape[0]
    back = np.eye(size)  # (travel, tyre, rest) -> heights with the road at zero, and the rest
    back[:2, :2] = [[1.0, 1.0], [0.0, 1.0]]
    a = np.linalg.solve(back, plane.a @ back)
    drive = np.zeros(size)
    drive[1] = -1.0
    covariance = solve_continuous_lyapunov(a, -level * np.outer(drive, drive))
    c = plane.c @ back
    result: Floats = c @ covariance @ c.T
    return result


def corner_rows(index: int) -> slice:
    """Rows of C that belong to a plane's corner `index`."""
    return slice(index * ROWS, index * ROWS + len(Row))
