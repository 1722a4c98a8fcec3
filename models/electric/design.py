"""The records of an electric design, and how one is filled from a chosen candidate.

Knows what is told of an actuator: its winding, forces, temperatures, power flows, masses, limits missed. Chooses
nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from models.compiled import KERNEL
from models.demand import AxleDemand
from models.drive.electronics import PHASE_AMPLITUDE
from models.drive.winding import COPPER_COEFFICIENT, REFERENCE, resistance_factor
from models.electric.candidate import Fit, fit, peak_bus_power
from models.electric.catalogue import (
    constants,
    insulation_classes,
    magnet_label,
    motor_label,
    servo_label,
    wires,
)
from models.electric.families import Family
from models.electric.operation import (
    Operation,
    Thermal,
    burst_temperature,
    duty_losses,
    mean_losses,
    operate,
    settle,
)
from models.electric.search import heat_ratio
from models.quantity import on_wire
from models.spec import Position


@dataclass(frozen=True)
class ElectricMasses:
    """Where the mass of one actuator lies; the battery is counted nowhere."""

    copper: Annotated[float, on_wire("kg")]
    magnet: Annotated[float, on_wire("kg")]
    iron: Annotated[float, on_wire("kg")]
    housing: Annotated[float, on_wire("kg", about="Rod, guides, end caps, leads, fixings")]
    transmission: Annotated[float, on_wire("kg")]
    drive: Annotated[float, on_wire("kg", about="Motor electronics; inside the actuator of a servo")]
    cooling: Annotated[float, on_wire("kg", about="Fins, fan, jacket, the actuator's share of pump and radiator")]
    total: Annotated[float, on_wire("kg")]


@dataclass(frozen=True)
class ElectricPower:
    """Mean power of one actuator over the duty mix: bus + absorbed = delivered + heat, the heat in its places."""

    bus: Annotated[float, on_wire("w", about="Drawn from the bus, net of what returns")]
    returned: Annotated[float, on_wire("w", about="Given back to the bus, already taken off `bus`")]
    delivered: Annotated[float, on_wire("w", about="Mechanical power given to the wheel while driving")]
    absorbed: Annotated[float, on_wire("w", about="Mechanical power taken from the wheel while driven")]
    copper: Annotated[float, on_wire("w")]
    iron: Annotated[float, on_wire("w")]
    friction: Annotated[float, on_wire("w")]
    transmission: Annotated[float, on_wire("w")]
    drive: Annotated[float, on_wire("w", about="In the electronics, what they burn of the absorbed power included")]
    cooling: Annotated[float, on_wire("w", about="Fan or coolant pump")]
    heat: Annotated[float, on_wire("w", about="Sum of the losses")]
    residual: Annotated[float, on_wire("w", about="bus + absorbed − delivered − heat")]
    standby: Annotated[float, on_wire("w", about="With nothing moving, the weight held if the actuator carries it")]
    corner_bus: Annotated[float, on_wire("w", about="`bus` over the axle's corners, those a duty leaves standing too")]
    corner_heat: Annotated[float, on_wire("w", about="`heat` over the axle's corners, likewise")]


@dataclass(frozen=True)
class WindingMade:
    """The winding as wound for the bus; a servo is sold wound."""

    wire_gauge: Annotated[float | None, on_wire("", about="American wire gauge")]
    strands: int
    turns: Annotated[float | None, on_wire("", about="In series a phase")]
    phases: int
    fill: Annotated[float, on_wire("", about="Copper over winding space")]
    resistance: Annotated[float, on_wire("ohm", about="Of a phase at 20 °C")]
    force_constant: Annotated[float, on_wire("n_a", about="Force over amplitude of a phase's current, mid-stroke")]
    peak_phase_current: Annotated[float, on_wire("a", about="Amplitude at the largest force")]
    motor_constant: Annotated[float, on_wire("n_sqrt_w", about="At 20 °C, mid-stroke")]
    motor_constant_hot: Annotated[float, on_wire("n_sqrt_w", about="At the steady temperatures, mid-stroke")]


@dataclass(frozen=True)
class ElectricMachine:
    """One axle's actuator: what it is, what it reaches, how warm it runs.

    limited_by names the limit it comes nearest to; hottest_duty_may_last says whether that duty alone could go on for
    ever without passing a limit.
    """

    position: Position
    corners: int
    described: str
    winding: WindingMade
    needed_force_peak: Annotated[float, on_wire("n", about="Of the machine at the actuator: inertia, friction, gear")]
    needed_force_rms: Annotated[float, on_wire("n", about="The same, over the duty mix")]
    force_peak: Annotated[float, on_wire("n", about="For moments, at the end of the stroke")]
    force_continuous: Annotated[float, on_wire("n", about="Held for ever at standstill without passing a limit")]
    end_of_stroke_share: Annotated[float, on_wire("", about="Force constant at the end of the stroke over mid-stroke")]
    inertance: Annotated[float, on_wire("kg", about="Reflected inertia between body and wheel, as an inerter shows")]
    inertance_limit: Annotated[float, on_wire("kg", about="Share of the reduced mass allowed")]
    moving_mass: Annotated[float, on_wire("kg", about="Part that moves with the wheel")]
    bandwidth: Annotated[float, on_wire("hz", about="Up to which the full force can be set; of position for a servo")]
    bandwidth_needed: Annotated[float, on_wire("hz")]
    winding_temperature: Annotated[float, on_wire("c", about="Mean of the winding, steady over the duty mix")]
    magnet_temperature: Annotated[float, on_wire("c")]
    case_temperature: Annotated[float, on_wire("c")]
    burst_temperature: Annotated[float, on_wire("c", about="Of the winding, when the worst burst begins from there")]
    insulation_class: Annotated[float, on_wire("c", about="Lowest thermal class that suffices, hot spot allowed for")]
    magnet_limit: Annotated[float, on_wire("c")]
    limited_by: str
    hottest_duty: str
    hottest_duty_may_last: bool
    runaway_share: Annotated[float, on_wire("", about="Copper loss at 20 °C over the loss at which heat runs away")]
    shorted_damping: Annotated[float, on_wire("n_s_m", about="Damping of the dead machine with its leads joined")]
    outer_diameter: Annotated[float, on_wire("mm")]
    retracted_length: Annotated[float, on_wire("mm")]
    peak_power: Annotated[float, on_wire("w", about="From the bus at the worst point, winding hot")]
    power: ElectricPower
    masses: ElectricMasses


class Inspection(NamedTuple):
    """Everything the compiled code says of a chosen candidate."""

    found: Fit
    heated: Thermal
    work: Operation
    copper: float
    case_heat: float
    force_rms: float
    burst: float
    holds: float
    heat_reserve: float
    hottest: int
    hottest_settles: bool
    peak_bus: float
    wound: bool


@njit(**KERNEL)
def inspect(row: Any, load: Any, cooling: Any, supply: Any, wire: NDArray[np.float64]) -> Inspection:
    """All figures of one candidate under one load and cooling."""
    found = fit(row, load, supply, wire, math.inf)
    copper, case_heat, force_rms = mean_losses(row, load, supply, found.fill)
    heated = settle(row, cooling, supply, copper, case_heat, math.inf)
    work = operate(row, load, cooling, supply, found, copper, case_heat, heated)
    burst = burst_temperature(row, load, supply, found.fill, heated)
    constant = (row.motor_constant * supply.motor_factor) ** 2 * found.fill
    far = 1e6 * (copper + 1e-9)
    holds = math.sqrt(far / heat_ratio(row, cooling, supply, far, 0.0, 1.0, math.inf) ** 2 * constant)
    reserve = math.inf
    if copper > 0.0:
        reserve = 1e3 / heat_ratio(row, cooling, supply, 1e6 * copper, case_heat, 1.0, math.inf)
    hottest, alone, in_case = 0, -1.0, 0.0
    for k in range(load.duties):
        loss, heat, _ = duty_losses(row, load, k, supply, found.fill)
        if loss > alone:
            hottest, alone, in_case = k, loss, heat
    settles = settle(row, cooling, supply, alone, in_case, math.inf).settles
    peak_bus = peak_bus_power(row, supply, found.peak_power)
    return Inspection(
        found, heated, work, copper, case_heat, force_rms, burst, min(holds, row.force_continuous), reserve, hottest,
        settles, peak_bus, row.fixed_voltage == 0.0,
    )  # fmt: skip


def describe(family: Family, number: int, stroke: float) -> str:
    """The choices behind a candidate in words."""
    said = family.describe(number, stroke)
    if family.name == "direct_coil":
        return (
            f"{magnet_label(str(said['magnet']))} magnet of {1e3 * float(said['mover_diameter']):g} mm, poles "
            f"{said['pole_length']:g} and winding {said['winding_thickness']:g} of that, each half of the coil "
            f"{said['over_length']:g} times pole and stroke"
        )
    if family.name == "tubular":
        longer = "winding" if float(said["long_winding"]) > 0.5 else "magnets"
        return (
            f"{magnet_label(str(said['magnet']))} magnets of {1e3 * float(said['mover_diameter']):g} mm, "
            f"{said['poles']:g} poles a {said['pole_pitch']:g} diameter apart, winding "
            f"{said['winding_thickness']:g} of it, {longer} longer by the stroke"
        )
    if family.name == "rotary":
        return f"{motor_label(str(said['motor']))} on a {said['transmission']}"
    return f"{servo_label(str(said['servo']))} on an arm of {1e3 * float(said['arm']):g} mm"


def fill_machine(
    family: Family, number: int, axle: AxleDemand, load: np.void, cooling: np.void, supply: np.void
) -> ElectricMachine:
    """The record of candidate `number` on one axle."""
    stroke = float(load["stroke"])
    row = family.row(number, stroke, float(load["force_peak"]))[0]
    seen: Inspection = inspect(row, load, cooling, supply, wires().diameters)
    found, heated = seen.found, seen.heated
    weaker = 1.0 + row["magnet_slope"] * (heated.magnet - REFERENCE)
    warm = weaker / math.sqrt(resistance_factor(heated.winding))
    constant = float(row["motor_constant"] * supply["motor_factor"] * math.sqrt(found.fill))
    needed = found.force * float(row["force_limit"] * row["end_share"])
    return ElectricMachine(
        position=axle.position,
        corners=axle.corners,
        described=describe(family, number, stroke),
        winding=_winding(row, found, needed, supply, constant, warm),
        needed_force_peak=needed,
        needed_force_rms=seen.force_rms,
        force_peak=_force_peak(row, found, supply),
        force_continuous=seen.holds,
        end_of_stroke_share=float(row["end_share"]),
        inertance=float(row["inertance"]),
        inertance_limit=float(load["inertance_limit"]),
        moving_mass=float(row["moving_mass"]),
        bandwidth=found.bandwidth_reached,
        bandwidth_needed=float(load["bandwidth"]),
        winding_temperature=heated.winding,
        magnet_temperature=heated.magnet,
        case_temperature=heated.case,
        burst_temperature=seen.burst,
        insulation_class=_insulation(max(heated.winding, seen.burst)),
        magnet_limit=float(row["magnet_limit"]),
        limited_by=_limit(seen),
        hottest_duty=axle.duties[seen.hottest].label,
        hottest_duty_may_last=seen.hottest_settles,
        runaway_share=COPPER_COEFFICIENT
        * (heated.winding - supply["ambient"])
        * weaker**2
        / resistance_factor(heated.winding),
        shorted_damping=(constant * warm) ** 2 * float(row["efficiency"]),
        outer_diameter=float(row["outer_diameter"]),
        retracted_length=float(row["retracted_length"]),
        peak_power=seen.peak_bus,
        power=_power(seen.work),
        masses=_masses(row, found, seen.work),
    )


def _winding(row: np.void, found: Fit, needed: float, supply: np.void, constant: float, warm: float) -> WindingMade:
    wound = found.turns > 0
    turns = found.turns if wound else 1
    amplitude = PHASE_AMPLITUDE if row["phases"] > 1.0 else 1.0
    force_constant = float(row["turn_force"]) * supply["motor_factor"] * turns / amplitude
    return WindingMade(
        wire_gauge=float(wires().gauges[found.gauge]) if wound else None,
        strands=found.strands,
        turns=float(found.turns) if wound else None,
        phases=int(row["phases"]),
        fill=found.fill,
        resistance=turns**2 * float(row["turn_resistance"]) / found.fill,
        force_constant=force_constant,
        peak_phase_current=needed / (force_constant * float(row["end_share"])),
        motor_constant=constant,
        motor_constant_hot=constant * warm,
    )


def _force_peak(row: np.void, found: Fit, supply: np.void) -> float:
    # force at standstill at the end of the stroke: current density or iron, and the bus's voltage, winding at its limit
    limit = float(row["force_limit"] * row["end_share"])
    if found.turns == 0:
        return limit
    hot = resistance_factor(min(supply["winding_limit"], float(row["winding_limit"])))
    ohms = found.turns * float(row["turn_resistance"]) * hot / found.fill
    force = float(row["turn_force"]) * supply["motor_factor"] * float(row["end_share"])
    return min(limit, supply["voltage"] * float(row["voltage_share"]) / ohms * force)


LIMITS = ("peak force", "speed", "bus voltage", "bus current", "bandwidth", "size", "reflected inertia", "heat")
"""What can bind a candidate, in the order of `Fit`, and heat."""


def need_over_ability(seen: Inspection) -> dict[str, float]:
    """Each limit's need over ability, 1 where it binds. A machine sold wound is bound by its own speed at a force."""
    heat = math.inf if seen.heat_reserve <= 0.0 else 1.0 / seen.heat_reserve
    names = LIMITS if seen.wound else tuple("speed at that force" if n == "bus voltage" else n for n in LIMITS)
    return dict(zip(names, (*seen.found[:7], heat), strict=True))


def _limit(seen: Inspection) -> str:
    needs = need_over_ability(seen)
    return max(needs, key=lambda name: needs[name])


def _insulation(hottest: float) -> float:
    allowance = constants()["hot_spot_allowance"]
    return next((c for c in insulation_classes() if c >= hottest + allowance), insulation_classes()[-1])


def _power(work: Operation) -> ElectricPower:
    heat = work.copper + work.iron + work.friction + work.transmission + work.drive_heat + work.cooling_power
    return ElectricPower(
        bus=work.bus,
        returned=work.returned,
        delivered=work.delivered,
        absorbed=work.absorbed,
        copper=work.copper,
        iron=work.iron,
        friction=work.friction,
        transmission=work.transmission,
        drive=work.drive_heat,
        cooling=work.cooling_power,
        heat=heat,
        residual=work.bus + work.absorbed - work.delivered - heat,
        standby=work.standby,
        corner_bus=work.corner_bus,
        corner_heat=work.corner_heat,
    )


def _masses(row: np.void, found: Fit, work: Operation) -> ElectricMasses:
    return ElectricMasses(
        copper=float(row["copper_mass"]) * found.fill,
        magnet=float(row["magnet_mass"]),
        iron=float(row["iron_mass"]),
        housing=float(row["housing_mass"]),
        transmission=float(row["transmission_mass"]),
        drive=work.drive_mass,
        cooling=work.cooling_mass,
        total=work.mass,
    )


def misses_of(
    family: Family, number: int, load: np.void, cooling: np.void, supply: np.void
) -> tuple[tuple[str, float], ...]:
    """What the nearest candidate lacks: each limit passed, with need over ability; the first when there is none."""
    if number < 0:
        return (("no candidate for this stroke", math.inf),)
    row = family.row(number, float(load["stroke"]), float(load["force_peak"]))[0]
    needs = need_over_ability(inspect(row, load, cooling, supply, wires().diameters))
    return tuple((limit, ratio) for limit, ratio in needs.items() if ratio > 1.0)
