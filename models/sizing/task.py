"""A sizing task as numbers: spec, demand and medium turned into the arrays the kernels read.

Knows how a wire-level wish becomes a supply setting, an oil state or a load point. Takes no decision: every choice
left to the search stays an array here.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from models import oil
from models.demand import AxleDemand, AxleDuty, Demand, Margins, outermost
from models.hydraulics.stiffness import reduced_mass
from models.quantity import ATMOSPHERE, UNITS, ZERO_CELSIUS
from models.ride.vehicle import ARRANGEMENTS, vehicle_of
from models.sizing.asked import controlled_rms, least_force
from models.sizing.catalogue import Catalogue, Floats, build_catalogue, rule
from models.spec import OwnMedium, Spec

UNBOUNDED = 1e30

RAIL_WINDOWS = (0.1, 0.2, 0.3)
"""Fall of the rail below its highest pressure that a design may use: 0.1 is the ripple of a supply without a store."""

BIAS_SHARES = (0.0, 0.05)
"""Return bias tried, as shares of supply pressure, where the user names none."""

CHECK_DROP_BAR = 0.3
"""Drop over an anti-cavitation check that feeds a chamber, bar. Source: [estimate]."""

PARALLEL, SERIES, CORNER_ACCUMULATOR = range(3)
"""Arrangements by number, in the order of `ride.vehicle.ARRANGEMENTS`."""

CONTROLS = ("relief", "unloading", "speed")
"""Pump controls: relief-held fixed pump, fixed pump unloaded between cut-in and cut-out, speed-controlled motor."""


class GasWish(NamedTuple):
    """What a corner's gas spring and its orifice must do, at the actuator; means something on a corner accumulator."""

    static_force: float
    bump: float
    droop: float
    damping: float  # of the orifice
    wheel_rms: float  # greatest of all duties
    wheel_peak: float


class AxleTask(NamedTuple):
    """One axle's load points and limits, at the actuator, in SI."""

    corners: int
    stroke: float
    force: Floats  # of each point
    direction: Floats  # sign of its velocity
    speed_index: NDArray[np.int64]  # into `speeds`
    speeds: Floats  # distinct |v|
    force_rms: float
    force_peak: float
    bandwidth: float
    mass: float  # reduced, at the actuator
    outer_limit: float
    length_limit: float
    tube_length: float
    hose_length: float
    bends: int
    arrangement: int
    spring: float  # between actuator and wheel, 0 in parallel
    lines: float  # lines to each corner
    gas: GasWish


class Oils(NamedTuple):
    """The medium cold and hot, at mid pressure: element 0 cold, 1 hot."""

    density: Floats
    viscosity: Floats


class Settings(NamedTuple):
    """Supply settings: each combination of highest pressure, rail window and return bias."""

    pressure: NDArray[np.int64]  # index into the pressures
    window: NDArray[np.int64]
    high: Floats  # highest rail pressure
    low: Floats  # lowest rail pressure
    supply_low: Floats  # at the valve's P, lowest
    back: Floats  # at the valve's T, highest
    bias: Floats
    makeup: Floats  # pressure an anti-cavitation check holds
    modulus: Floats  # effective oil modulus in the chambers, the lower of cold and hot
    line_allowance: Floats  # loss allowed in the supply line, and in the return with its filter


class Duties(NamedTuple):
    """What the central unit needs of each duty; rows duties, columns axles (front, rear; zeros where none fitted)."""

    share: Floats
    corners: Floats
    velocity_peak: NDArray[np.float64]
    velocity_mean: NDArray[np.float64]
    in_step: Floats
    path_out: NDArray[np.float64]
    path_in: NDArray[np.float64]
    burst: Floats
    ripple: Floats
    absorbed: Floats  # mean mechanical power taken up from the road by all corners, W


class Factors(NamedTuple):
    """Safety factors and limits the corner kernels keep."""

    opening: float
    lowest_chamber: float
    buckling: float
    burst: float
    stiffness_ratio: float
    valve_ratio: float
    force: float  # margin on force


@dataclass(frozen=True)
class Task:
    """All a search needs."""

    spec: Spec
    demand: Demand
    margins: Margins
    catalogue: Catalogue
    medium: oil.Medium
    oils: Oils
    cold: oil.OilState
    hot: oil.OilState
    settings: Settings
    axles: tuple[AxleTask, ...]
    duties: Duties
    factors: Factors
    controls: tuple[int, ...]
    spools: tuple[int, ...]
    checks: tuple[bool, bool]  # plain allowed, anti-cavitation checks allowed


def medium_of(spec: Spec, identifier: str | None = None) -> oil.Medium:
    """The medium of a spec; `identifier` overrides it while `auto` tries each."""
    chosen = identifier if identifier is not None else spec.medium
    if not isinstance(chosen, OwnMedium):
        return oil.medium_from_data(chosen)
    base = oil.medium_from_data("mineral_vg32")
    points = tuple(sorted((p.temperature, p.kinematic_viscosity) for p in chosen.viscosity))
    own = oil.medium_from_points("own", chosen.label, points, base)
    scale = chosen.density / oil.density(base, 0.0, ZERO_CELSIUS + 15.0)
    return dataclasses.replace(
        own,
        density_points=tuple((t, rho * scale) for t, rho in base.density_points),
        lowest_temperature=chosen.pour_point + rule("validity_above_pour_point"),
    )


def build_task(
    spec: Spec,
    demand: Demand,
    margins: Margins,
    medium: oil.Medium,
    ratios: tuple[float, float],
    every: int = 1,
) -> Task:
    """Arrays for one medium.

    ratios: stiffness and valve-bandwidth ratio to keep (customary or 1); every: of the supply pressures one in so many
    is tried, for a first guess.
    """
    rated = oil.density(medium, 0.0, spec.oil_hot)
    catalogue = build_catalogue(
        spec.stock, spec.measured, spec.safety.burst_factor, spec.bus.voltage, rated, spec.arrangement
    )
    limit = spec.limits.pressure if spec.limits.pressure is not None else math.inf
    pressures = catalogue.pressures[catalogue.pressures <= limit * (1 + 1e-9)]
    if pressures.size == 0:
        pressures = catalogue.pressures[:1]
    single_acting = spec.arrangement == "corner_accumulator"
    spools = tuple(("symmetric", "matched").index(s) for s in (spec.stock.spool or ("symmetric", "matched")))
    middle = 0.5 * float(np.median(pressures))
    pressures = pressures[min(every // 2, pressures.size - 1) :: every]
    cold, hot = (oil.state(medium, middle, t) for t in (spec.oil_cold, spec.oil_hot))
    oils = Oils(np.array([cold.density, hot.density]), np.array([cold.dynamic_viscosity, hot.dynamic_viscosity]))
    safety = spec.safety
    return Task(
        spec=spec,
        demand=demand,
        margins=margins,
        catalogue=catalogue,
        medium=medium,
        oils=oils,
        cold=cold,
        hot=hot,
        settings=_settings(spec, catalogue, pressures, medium),
        axles=tuple(_axle_task(spec, demand, axle) for axle in demand.axles),
        duties=_duties(demand),
        factors=Factors(
            safety.valve_opening,
            safety.lowest_chamber_pressure,
            safety.buckling_factor,
            safety.burst_factor,
            ratios[0],
            ratios[1],
            margins.force,
        ),
        controls=tuple(CONTROLS.index(c) for c in (spec.stock.pump_control or CONTROLS)),
        spools=spools[:1] if single_acting else spools,  # one edge pair works there, alike on both spools
        checks=(True, False) if single_acting else _checks(spec),
    )


def _checks(spec: Spec) -> tuple[bool, bool]:
    choice = spec.stock.anti_cavitation or [False, True]
    return False in choice, True in choice


def _settings(spec: Spec, catalogue: Catalogue, pressures: Floats, medium: oil.Medium) -> Settings:
    bar = UNITS["bar"].factor
    rows = []
    for high in pressures:
        index = int(np.flatnonzero(catalogue.pressures == high)[0])
        biases = spec.stock.return_bias if spec.stock.return_bias is not None else [s * high for s in BIAS_SHARES]
        allowance = spec.safety.line_loss_fraction * high
        for bias in sorted(set(biases)):
            for k, window in enumerate(RAIL_WINDOWS):
                low = high * (1.0 - window)
                back = bias + allowance
                chamber = 0.5 * (low + back) + ATMOSPHERE
                modulus = min(
                    oil.effective_bulk_modulus(
                        oil.bulk_modulus(medium, chamber - ATMOSPHERE, t),
                        spec.entrained_air_fraction,
                        chamber,
                        1.4,
                        medium.air_solubility,
                        0.0,
                    )
                    for t in (spec.oil_cold, spec.oil_hot)
                )
                makeup = bias - CHECK_DROP_BAR * bar
                rows.append((index, k, high, low, low - allowance, back, bias, makeup, modulus, allowance))
    data = np.array(rows).T
    return Settings(data[0].astype(np.int64), data[1].astype(np.int64), *(np.ascontiguousarray(a) for a in data[2:]))


def wheel_motion(duty: AxleDuty) -> tuple[float, float]:
    """Rms and peak of wheel against body, m/s."""
    if duty.wheel_velocity_rms is None or duty.wheel_velocity_peak is None:
        return duty.velocity_rms, duty.velocity_peak
    return duty.wheel_velocity_rms, duty.wheel_velocity_peak


def _force_to_feel(axle: AxleDemand, arrangement: int) -> float:
    """Rms force that seal friction must stay below, N: the greatest controlled.

    On a corner accumulator the seal rubs under every wheel motion: that of the duty in which the wheel moves most.
    """
    greatest = max(controlled_rms(duty) for duty in axle.duties)
    if arrangement != CORNER_ACCUMULATOR:
        return greatest
    force = controlled_rms(max(axle.duties, key=lambda duty: wheel_motion(duty)[0]))
    return force if force >= least_force(axle) else greatest


def _seat_stroke(axle: AxleDemand) -> float:
    """Travel of a spring's seat, m: the widest swing about the middle, or half of it and a lift beyond."""
    swing = max((duty.stroke for duty in axle.duties if duty.kind != "lift"), default=0.0)
    lifted = max((duty.stroke for duty in axle.duties if duty.kind == "lift"), default=0.0)
    return max(swing, 0.5 * swing + lifted)


def _axle_task(spec: Spec, demand: Demand, axle: AxleDemand) -> AxleTask:
    points = outermost(p for duty in axle.duties for p in duty.points)
    unique = [(p.force, p.velocity) for p in points]
    speeds = np.array(sorted({abs(v) for _, v in unique}))
    layout = spec.layout
    line = layout.front_line if axle.position == "front" else layout.rear_line
    hose = layout.hose
    if line is None or hose is None:
        raise ValueError("the sizing needs a completed spec")
    hose = min(hose, line)
    limits = spec.limits
    vehicle = vehicle_of(spec, demand.plant_mass)
    corner, arrangement = vehicle.corner(axle.position), ARRANGEMENTS.index(vehicle.arrangement)
    square = corner.ratio**2
    return AxleTask(
        corners=axle.corners,
        stroke=_seat_stroke(axle) if arrangement == SERIES else axle.stroke_available,
        force=np.array([f for f, _ in unique]),
        direction=np.array([float(np.sign(v)) for _, v in unique]),
        speed_index=np.array([int(np.searchsorted(speeds, abs(v))) for _, v in unique], dtype=np.int64),
        speeds=speeds,
        force_rms=_force_to_feel(axle, arrangement),
        force_peak=max(duty.force_peak for duty in axle.duties),
        bandwidth=max(duty.bandwidth for duty in axle.duties),
        mass=reduced_mass(axle.sprung_mass, axle.unsprung_mass, axle.travel_ratio),
        outer_limit=limits.cylinder_outer_diameter if limits.cylinder_outer_diameter is not None else UNBOUNDED,
        length_limit=limits.retracted_length if limits.retracted_length is not None else UNBOUNDED,
        tube_length=line - hose,
        hose_length=hose,
        bends=layout.bends_per_line,
        arrangement=arrangement,
        spring=0.0 if arrangement == PARALLEL else corner.spring / square,
        lines=1.0 if arrangement == CORNER_ACCUMULATOR else 2.0,
        gas=GasWish(
            axle.static_force,
            corner.bump * corner.ratio,
            corner.droop * corner.ratio,
            corner.orifice / square,
            max(wheel_motion(duty)[0] for duty in axle.duties),
            max(wheel_motion(duty)[1] for duty in axle.duties),
        ),
    )


def _duties(demand: Demand) -> Duties:
    count = len(demand.axles[0].duties)
    peak, mean, out, back = (np.zeros((count, 2)) for _ in range(4))
    corners = np.zeros(2)
    share, burst, ripple, step, absorbed = (np.zeros(count) for _ in range(5))
    for axle in demand.axles:
        column = 0 if axle.position == "front" else 1
        corners[column] = axle.corners
        for row, duty in enumerate(axle.duties):
            peak[row, column], mean[row, column] = duty.velocity_peak, duty.velocity_mean_abs
            out[row, column], back[row, column] = duty.burst_path_out, duty.burst_path_in
            share[row], burst[row], step[row] = duty.share_of_time, duty.burst_duration, duty.in_step_fraction
            ripple[row] = duty.ripple_frequency if ripple[row] == 0.0 else min(ripple[row], duty.ripple_frequency)
            absorbed[row] -= duty.mean_power * axle.corners
    return Duties(share, corners, peak, mean, step, out, back, burst, ripple, absorbed)


def unloading_reserve() -> float:
    """Share of the rail window an unloading supply keeps between cut-in and the lowest pressure."""
    return 0.5


def relief_factor() -> float:
    """Relief setting over highest rail pressure."""
    return rule("relief_over_supply")
