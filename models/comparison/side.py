"""One side of the comparison in figures, whatever sized it, and how an all-electric sizing's are read off.

Knows what both sides are measured by: everything mounted on the vehicle but the battery, bus to wheel, heat included.
Judges nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from models.electric.sizing_records import ElectricDesign, ElectricSizing
from models.quantity import on_wire, plain
from models.spec import Position

Side = Literal["hydraulic", "electric"]


def weight(mass: float) -> str:
    """A mass in the unit one would say it in."""
    return f"{plain(mass)} kg" if abs(mass) >= 0.1 else f"{plain(1e3 * mass)} g"


@dataclass(frozen=True)
class AxleFigures:
    """One axle's actuators, each."""

    position: Position
    corners: int
    force_peak: Annotated[float, on_wire("n", about="Largest force an actuator reaches for moments")]
    force_continuous: Annotated[float, on_wire("n", about="Force it holds for ever")]
    bandwidth: Annotated[float, on_wire("hz", about="Up to which its force can be set")]


@dataclass(frozen=True)
class HottestPart:
    """A part whose temperature is told, and its limit."""

    part: str
    temperature: Annotated[float, on_wire("c")]
    limit: Annotated[float | None, on_wire("c")] = None


@dataclass(frozen=True)
class Lack:
    """A limit an infeasible design passes, and need over ability; None where no number tells."""

    concerns: str
    limit: str
    times: Annotated[float | None, on_wire("", about="Need over ability")]

    def __str__(self) -> str:
        return f"{self.concerns} {self.limit}" + (f", {plain(self.times)} times too much" if self.times else "")


@dataclass(frozen=True)
class SideFigures:
    """What either side of the comparison comes to on the whole vehicle.

    `lacks` says what an infeasible design misses; its figures are then those of the nearest design, or None.
    `sets_force` is false for what can only follow a position, and `follows_because` then says why.
    """

    side: Side
    label: str
    feasible: bool
    lacks: tuple[Lack, ...]
    spring_share: Annotated[float, on_wire("", about="Share of the weight a parallel spring carries")]
    sets_force: bool
    corners: int
    axles: tuple[AxleFigures, ...]
    mass: Annotated[float | None, on_wire("kg", about="Mounted, wet, battery not counted")]
    mean_power: Annotated[float | None, on_wire("w", about="From the bus over the duty mix, net of what returns")]
    peak_power: Annotated[float | None, on_wire("w")]
    peak_current: Annotated[float | None, on_wire("a")]
    standby_power: Annotated[float | None, on_wire("w")]
    heat_per_corner: Annotated[float | None, on_wire("w", about="All heat, shared equally by the corners")]
    temperatures: tuple[HottestPart, ...]
    run_time: Annotated[float | None, on_wire("h")]
    parts: int | None
    loss_of_power: str
    follows_because: str = ""


COOLED = {"still_air": "in still air", "finned_moving_air": "finned, in moving air", "liquid": "liquid-cooled"}


def cooling_words(cooling: str) -> str:
    """A cooling in words."""
    return COOLED.get(cooling, cooling.replace("_", " "))


def electric_label(design: ElectricDesign) -> str:
    """A design's machine and cooling in words; of a rotary machine the transmissions it was given."""
    said = design.label
    kinds = [kind for kind in TRANSMISSIONS if any(f"on a {kind}" in machine.described for machine in design.machines)]
    if kinds:
        said = f"{said.partition(' on ')[0]} on {' and '.join(f'a {kind}' for kind in kinds)}"
    return f"{said}, {cooling_words(design.cooling)}"


TRANSMISSIONS = ("screw", "lever", "belt")


def electric_lacks(design: ElectricDesign) -> tuple[Lack, ...]:
    """What a design misses."""
    return tuple(Lack(miss.axle, miss.limit, miss.need_over_ability) for miss in design.misses)


def electric_figures(design: ElectricDesign) -> SideFigures:
    """The figures of an all-electric design."""
    figures, machines = design.figures, design.machines
    corners = sum(machine.corners for machine in machines)
    return SideFigures(
        side="electric",
        label=electric_label(design),
        feasible=design.feasible,
        lacks=electric_lacks(design),
        spring_share=design.spring_share,
        sets_force=design.sets_force,
        corners=corners,
        axles=tuple(
            AxleFigures(m.position, m.corners, m.force_peak, m.force_continuous, m.bandwidth) for m in machines
        ),
        mass=figures.mass if figures else None,
        mean_power=figures.mean_power if figures else None,
        peak_power=figures.peak_power if figures else None,
        peak_current=figures.peak_current if figures else None,
        standby_power=figures.standby_power if figures else None,
        heat_per_corner=figures.heat / corners if figures else None,
        temperatures=tuple(
            part
            for m in machines
            for part in (
                HottestPart(f"{m.position} winding", m.burst_temperature, m.insulation_class),
                HottestPart(f"{m.position} magnet", m.magnet_temperature, m.magnet_limit),
                HottestPart(f"{m.position} case", m.case_temperature),
            )
        ),
        run_time=figures.run_time if figures else None,
        parts=design.parts if machines else None,
        loss_of_power=_electric_loss_of_power(design),
        follows_because="" if design.sets_force else "its gear holds a position and cannot set a force",
    )


def _electric_loss_of_power(design: ElectricDesign) -> str:
    if not design.machines:
        return "no design"
    if design.spring_share < 1.0:
        share = 1.0 - design.spring_share
        carried = "the weight" if share == 1.0 else f"{share:.0%} of the weight"
        return f"the actuators let go of {carried} at once and the body sinks: needs a brake, a lock or a spring"
    if not design.sets_force:
        return "the gear holds its position until its friction is overcome; it neither damps nor follows"
    damping = ", ".join(f"{plain(m.shorted_damping)} N·s/m {m.position}" for m in design.machines)
    return (
        f"the body stays on its springs, undamped with open leads; leads joined by a relay that closes without power "
        f"give up to {damping}"
    )


def electric_sides(sizing: ElectricSizing) -> tuple[SideFigures, ...]:
    """The best electric side for each spring share; where none is feasible, the one that misses least."""
    shares = list(dict.fromkeys(design.spring_share for design in sizing.designs))
    sides = []
    for share, best in zip(shares, sizing.best, strict=True):
        here = [d for d in sizing.designs if d.spring_share == share and d.sets_force]
        chosen = best or min(here or [d for d in sizing.designs if d.spring_share == share], key=_worst_miss)
        sides.append(electric_figures(chosen))
    return tuple(sides)


def _worst_miss(design: ElectricDesign) -> float:
    return max((math.inf if m.need_over_ability is None else m.need_over_ability for m in design.misses), default=0.0)
