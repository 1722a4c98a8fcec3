"""Ride laws: how the actuator's force follows from the motion of its own corner.

Knows passive (the actuator stands in for the reference damper), skyhook and the linear-quadratic optimum, each as four
gains with a low cut and a first-order lag. Each corner obeys its own motion alone, so the optimum is the corner's, not
the whole car's. Weights are dimensionless, so that they mean the same on a model and on a truck.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from models.ride.vehicle import Corner

Floats = NDArray[np.float64]
LawName = Literal["passive", "skyhook", "lqr"]

ROUNDING = 1e-9
"""Share of the reference damping below which what an actuator would add is rounding."""


@dataclass(frozen=True)
class RideLaw:
    """A ride law in numbers that mean the same at every scale, with its two corner frequencies in Hz.

    The optimum weighs body acceleration, and travel and tyre deflection as the accelerations that their spring forces
    give the sprung mass: E[w_a·a² + w_t·(ks/ms·travel)² + w_d·(kt/ms·tyre)²]. Skyhook: damping ratios, of the body on
    its spring, of the damper to the sky and of the one the actuator adds between body and wheel.
    """

    name: LawName
    acceleration_weight: float
    travel_weight: float
    tyre_weight: float
    skyhook_damping: float
    wheel_damping: float
    bandwidth: float
    low_cut: float

    def stronger(self, factor: float) -> RideLaw:
        """The same law reaching `factor` times further for the body: more sky damping, or less weight on the rest."""
        return replace(
            self,
            travel_weight=self.travel_weight / factor,
            tyre_weight=self.tyre_weight / factor,
            skyhook_damping=self.skyhook_damping * factor,
        )


@dataclass(frozen=True)
class CornerLaw:
    """Force between body and wheel, at the wheel: gains on travel, body velocity, tyre deflection, wheel velocity.

    The command loses what lies below `low_cut` Hz (first order; 0: nothing), then lags by `bandwidth` Hz (first order;
    infinite: not at all). Signs as in `linear.Row`.
    """

    gains: Floats
    bandwidth: float = math.inf
    low_cut: float = 0.0

    @property
    def states(self) -> int:
        return int(self.low_cut > 0.0) + int(not math.isinf(self.bandwidth))

    @staticmethod
    def damper(damping: float, bandwidth: float = math.inf, low_cut: float = 0.0) -> CornerLaw:
        """A damper between body and wheel, N·s/m."""
        return CornerLaw(np.array([0.0, -damping, 0.0, damping]), bandwidth, low_cut)


def corner_law(law: RideLaw, corner: Corner) -> CornerLaw:
    """The gains of a ride law at one corner."""
    if law.name == "passive":
        lacking = corner.reference_damping - corner.damping
        if abs(lacking) < ROUNDING * corner.reference_damping:
            lacking = 0.0
        return CornerLaw.damper(lacking, law.bandwidth, law.low_cut)
    if law.name == "skyhook":
        critical = 2.0 * math.sqrt(corner.spring * corner.sprung_mass)
        sky, between = law.skyhook_damping * critical, law.wheel_damping * critical
        return CornerLaw(np.array([0.0, -sky - between, 0.0, between]), law.bandwidth, law.low_cut)
    travel = law.travel_weight * (corner.spring / corner.sprung_mass) ** 2
    tyre = law.tyre_weight * (corner.tyre / corner.sprung_mass) ** 2
    gains = optimal_gains(corner, law.acceleration_weight, travel, tyre)
    return CornerLaw(-gains, law.bandwidth, law.low_cut)


def corner_matrices(corner: Corner) -> tuple[Floats, Floats]:
    """State and force matrices of the corner over (travel, body velocity, tyre deflection, wheel velocity).

    Retained damper included. The road's velocity enters the tyre deflection alone, with -1.
    """
    ms, mu, ks, kt, c = corner.sprung_mass, corner.unsprung_mass, corner.spring, corner.tyre, corner.damping
    a = np.array(
        [
            [0.0, 1.0, 0.0, -1.0],
            [-ks / ms, -c / ms, 0.0, c / ms],
            [0.0, 0.0, 0.0, 1.0],
            [ks / mu, c / mu, -kt / mu, -c / mu],
        ]
    )
    return a, np.array([0.0, 1.0 / ms, 0.0, -1.0 / mu])


def optimal_gains(corner: Corner, acceleration: float, travel: float, tyre: float) -> Floats:
    """Gains K of the force -K·x that makes E[w_a·a² + w_t·travel² + w_d·tyre²] least on a white-velocity road.

    travel, tyre: weights in s^-4. Without low cut and lag; x as in `corner_matrices`. Source: [hrovat1997]
    """
    a, force = corner_matrices(corner)
    ms, rate = corner.sprung_mass, math.sqrt(corner.spring / corner.sprung_mass)
    body = a[1]
    # In units of the body's own acceleration, with force over sprung mass as input, a model and a truck look alike.
    scale = np.array([1.0 / rate**2, 1.0 / rate, 1.0 / rate**2, 1.0 / rate])
    a = a * scale / scale[:, None]
    force = force * ms / scale
    body = body * scale
    # Feeding the body's passive acceleration back leaves the plain problem: least E[w_a·u² + x'·Q·x].
    free = a - np.outer(force, body)
    state_weight = np.diag([travel * scale[0] ** 2, 0.0, tyre * scale[2] ** 2, 0.0])
    solution = riccati(free, np.outer(force, force) / acceleration, state_weight)
    gains: Floats = (force @ solution / acceleration + body) * ms / scale
    return gains


def riccati(a: Floats, drive: Floats, weight: Floats) -> Floats:
    """Stabilising solution X of A'X + XA - X·drive·X + weight = 0, from the Hamiltonian's stable half."""
    size = a.shape[0]
    values, vectors = np.linalg.eig(np.block([[a, -drive], [-weight, -a.T]]))
    stable = vectors[:, np.argsort(values.real)[:size]]
    solution: Floats = np.real(np.linalg.solve(stable[:size].T, stable[size:].T).T)
    return 0.5 * (solution + solution.T)
