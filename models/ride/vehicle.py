"""The vehicle as the ride needs it: masses, rates and geometry as plain numbers, at the wheel.

Takes them from a completed spec once, with the plant's mass added. Knows the natural frequencies and the travel ratio;
knows neither road nor ride law. Everything is per corner; forces and rates are at the wheel until `at_actuator` turns
them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from models.quantity import STANDARD_GRAVITY
from models.spec import POSITIONS, Axle, Position, Spec

Arrangement = Literal["parallel", "series", "corner_accumulator"]
ARRANGEMENTS: tuple[Arrangement, ...] = ("parallel", "series", "corner_accumulator")

FULL_SIZE_CORNER = 50.0
"""Sprung mass on a corner, kg, from which a seated person can be aboard; common practice, no source."""


@dataclass(frozen=True)
class Corner:
    """One corner of one axle, at the wheel."""

    position: Position
    fitted: bool
    sprung_mass: float
    unsprung_mass: float
    spring: float
    tyre: float
    damping: float
    """Passive damping between body and wheel, N·s/m: retained damper, and in `series` or `corner_accumulator` what
    must damp the wheel beside or through the actuator."""
    orifice: float
    """The part of `damping` that the damping orifice of a corner accumulator gives, N·s/m."""
    reference_damping: float
    anti_roll: float
    """Roll stiffness of the axle's bar, N·m/rad."""
    roll_centre_height: float
    ratio: float
    """Actuator travel per wheel travel."""
    bump: float
    droop: float

    @property
    def body_frequency(self) -> float:
        """Of the sprung mass on its spring, Hz."""
        return math.sqrt(self.spring / self.sprung_mass) / (2.0 * math.pi)

    @property
    def wheel_frequency(self) -> float:
        """Of the wheel between tyre and spring, Hz."""
        return math.sqrt((self.spring + self.tyre) / self.unsprung_mass) / (2.0 * math.pi)

    @property
    def static_tyre_load(self) -> float:
        return (self.sprung_mass + self.unsprung_mass) * STANDARD_GRAVITY


@dataclass(frozen=True)
class Vehicle:
    """The vehicle's corners, front then rear as far as they exist, and its geometry."""

    corners: tuple[Corner, ...]
    single: bool
    """One corner alone, as on a bench rig."""
    arrangement: Arrangement
    carries_weight: bool
    wheelbase: float
    track: float
    cg_height: float
    pitch_inertia: float
    roll_inertia: float

    @property
    def fitted(self) -> tuple[Corner, ...]:
        return tuple(corner for corner in self.corners if corner.fitted)

    @property
    def sides(self) -> int:
        """Corners an axle has."""
        return 1 if self.single else 2

    @property
    def body_mass(self) -> float:
        return self.sides * sum(corner.sprung_mass for corner in self.corners)

    @property
    def full_size(self) -> bool:
        """Whether a seated person can be aboard, so that comfort weighting means something."""
        return self.body_mass / (self.sides * len(self.corners)) >= FULL_SIZE_CORNER

    def corner(self, position: Position) -> Corner:
        for corner in self.corners:
            if corner.position == position:
                return corner
        raise KeyError(position)


def vehicle_of(spec: Spec, plant_mass: float = 0.0) -> Vehicle:
    """The vehicle of a completed spec, `plant_mass` kg shared by four corners (none on a bench rig).

    A given inertia grows with the body's mass. An axle that is not described is left away: the other then moves in
    heave and roll alone.
    """
    single = spec.corners_fitted == "one"
    added = 0.0 if single else plant_mass / 4.0
    described: list[tuple[Position, Axle]] = [
        (position, axle)
        for position in POSITIONS
        if (axle := spec.front if position == "front" else spec.rear) is not None
        and (not single or position in spec.positions)
    ]
    growth = 1.0 + added * len(described) / sum(axle.sprung_mass for _, axle in described)
    arrangement = spec.arrangement or "parallel"
    return Vehicle(
        corners=tuple(
            _corner(position, axle, position in spec.positions, arrangement, added) for position, axle in described
        ),
        single=single,
        arrangement=arrangement,
        carries_weight=spec.weight_carried_by == "actuator",
        wheelbase=spec.wheelbase or 0.0,
        track=spec.track or 0.0,
        cg_height=spec.cg_height or 0.0,
        pitch_inertia=(spec.pitch_inertia or 0.0) * growth,
        roll_inertia=(spec.roll_inertia or 0.0) * growth,
    )


def _corner(position: Position, axle: Axle, fitted: bool, arrangement: Arrangement, added: float) -> Corner:
    if axle.reference_damping is None:
        raise ValueError("the ride needs a completed spec")
    damping, orifice = axle.retained_damping, 0.0
    if not fitted:
        damping = axle.reference_damping
    elif arrangement == "corner_accumulator":
        orifice = max(0.0, axle.reference_damping - axle.retained_damping)
        damping += orifice
    elif arrangement == "series" and damping == 0.0:
        damping = axle.reference_damping
    return Corner(
        position=position,
        fitted=fitted,
        sprung_mass=axle.sprung_mass + added,
        unsprung_mass=axle.unsprung_mass,
        spring=axle.wheel_rate,
        tyre=axle.tyre_rate,
        damping=damping,
        orifice=orifice,
        reference_damping=axle.reference_damping,
        anti_roll=axle.anti_roll_rate,
        roll_centre_height=axle.roll_centre_height,
        ratio=axle.actuator_travel_per_wheel_travel,
        bump=axle.bump_travel,
        droop=axle.droop_travel,
    )
