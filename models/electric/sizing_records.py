"""What an electric sizing is asked and what it answers, for a whole vehicle.

Knows the shape of question and answer only.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Literal

from models.electric.catalogue import coolings
from models.electric.design import ElectricMachine
from models.electric.families import FAMILIES, FamilyName
from models.quantity import on_wire

Objective = Literal["mass", "power", "balanced"]


@dataclass(frozen=True)
class Surroundings:
    """Bus, battery, air and limits, SI; None is not bounded."""

    voltage: float
    ambient: float
    peak_current: float | None = None
    energy: float | None = None
    air_speed: float = 0.0
    outer_diameter: float | None = None
    retracted_length: float | None = None
    surface_temperature: float | None = None


@dataclass(frozen=True)
class Choices:
    """What to size, under which objective, and the factors a crossover moves.

    spring_shares: share of the weight a parallel spring carries, each a case of its own; bandwidth_ratio: bandwidth
    over the duty's, at least; regeneration: bus power over mechanical power absorbed, at most; motor_constant_factor
    and friction_factor scale every machine's own.
    """

    objective: Objective = "balanced"
    spring_shares: tuple[float, ...] = (1.0, 0.0)
    families: tuple[FamilyName, ...] = tuple(FAMILIES)
    coolings: tuple[str, ...] = field(default_factory=lambda: tuple(coolings()))
    regeneration: float | None = None
    motor_constant_factor: float = 1.0
    friction_factor: float = 1.0
    bandwidth_ratio: float = 1.0


@dataclass(frozen=True)
class Miss:
    """A limit the nearest candidate of one axle passes, and by what factor the need exceeds its ability; None where no
    factor mends it."""

    axle: str
    limit: str
    need_over_ability: Annotated[float | None, on_wire("")]


@dataclass(frozen=True)
class VehicleFigures:
    """What an electric design comes to on the whole vehicle."""

    mass: Annotated[float, on_wire("kg")]
    mean_power: Annotated[float, on_wire("w", about="From the bus over the duty mix, net of what returns")]
    standby_power: Annotated[float, on_wire("w")]
    heat: Annotated[float, on_wire("w")]
    peak_power: Annotated[float, on_wire("w", about="Every corner at its worst point at once")]
    peak_current: Annotated[float, on_wire("a")]
    sagged_voltage: Annotated[
        float | None, on_wire("v", about="At the terminals at peak current, battery near empty; null: it gives less")
    ]
    run_time: Annotated[float | None, on_wire("h")]


@dataclass(frozen=True)
class ElectricDesign:
    """One family with one cooling on every axle; `figures` is None and `machines` empty when an axle has none, and
    `misses` then says what the nearest one lacks."""

    family: FamilyName
    label: str
    cooling: str
    spring_share: Annotated[float, on_wire("", about="Share of the weight a parallel spring carries")]
    feasible: bool
    sets_force: bool
    misses: tuple[Miss, ...]
    machines: tuple[ElectricMachine, ...]
    figures: VehicleFigures | None
    parts: int
    tried: int
    kept: int


@dataclass(frozen=True)
class ElectricSizing:
    """Every family and cooling sized, by share of weight on the spring; `best` holds one design for each share or
    None, chosen among those that can set a force."""

    objective: Objective
    designs: tuple[ElectricDesign, ...]
    best: tuple[ElectricDesign | None, ...]
    candidates: int


class BusCannotDrive(ValueError):
    """No winding of any family can be driven from this bus: `voltage` V is given, `needed` V would do."""

    def __init__(self, voltage: float, needed: float) -> None:
        self.voltage, self.needed = voltage, needed
        super().__init__(
            f"a bus of {voltage:g} V cannot drive any winding that meets this demand; one of {needed:.3g} V could"
        )
