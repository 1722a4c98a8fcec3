"""The demand as an electric actuator meets it: forces with the weight or without, means for heat, points for peaks.

Knows the Demand record. Turns each axle's duties into plain records for the compiled search; knows no machine.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from models.demand import AxleDemand, Demand
from models.quantity import STANDARD_GRAVITY, OutOfRange

Array = NDArray[np.float64]


MOST_DUTIES = 16
MOST_POINTS = 96

LOAD = np.dtype(
    [
        *(
            (name, np.float64, (MOST_DUTIES,))
            for name in (
                "share",  # of time
                "force_rms",  # N, dynamic
                "power",  # W, mean mechanical power given out
                "velocity_rms",  # m/s
                "velocity_mean",  # m/s, mean of |v|
                "omega",  # rad/s, ties acceleration to velocity
                "burst_force",  # N, rms of the dynamic force at peak amplitude
                "burst_velocity",  # m/s, peak
                "burst_time",  # s; 0: no burst
                "moving",  # share of the axle's corners that move in it; the others stand
            )
        ),
        # |force| N, |velocity| m/s, acceleration m/s², and 1 where the actuator drives or 0 where it is driven
        ("points", np.float64, (MOST_POINTS, 4)),
        ("duties", np.int64),
        ("peaks", np.int64),
        ("static", np.float64),  # N, weight on the actuator
        ("stroke", np.float64),  # m
        ("bandwidth", np.float64),  # Hz
        ("standby_share", np.float64),
        ("mean_square", np.float64),  # N² over the whole mix, weight and standby counted
        ("mean_power", np.float64),  # W over the whole mix
        ("force_peak", np.float64),  # N over all points
        ("velocity_peak", np.float64),  # m/s over all points
        ("inertance_limit", np.float64),  # kg an actuator may show between body and wheel
        ("peak_power", np.float64),  # W of bus power one actuator may draw; infinite without a limit
    ]
)
"""What one axle asks of each of its actuators; `duties` and `peaks` say how many rows count."""


def weight_on_actuator(axle: AxleDemand) -> float:
    """The sprung weight of one corner as a force at the actuator, N."""
    return axle.sprung_mass * STANDARD_GRAVITY / axle.travel_ratio


def reduced_mass(axle: AxleDemand) -> float:
    """Mass, kg, with which body and wheel swing against each other, seen at the actuator."""
    return axle.sprung_mass * axle.unsprung_mass / (axle.sprung_mass + axle.unsprung_mass) / axle.travel_ratio**2


def axle_load(axle: AxleDemand, demand: Demand, spring_carries: float) -> np.void:
    """The load on one actuator of an axle, a record of LOAD, when a parallel spring carries the share
    `spring_carries` (0 to 1) of the weight; the dynamic forces are the demand's own in either case.

    Raises OutOfRange when the demand has more duties than a record holds.
    """
    static = (1.0 - spring_carries) * weight_on_actuator(axle)
    load = np.zeros(1, LOAD)[0]
    if len(axle.duties) > MOST_DUTIES:
        raise OutOfRange("number of duties", len(axle.duties), 1, MOST_DUTIES, "", "estimate")
    rows = []
    for k, duty in enumerate(axle.duties):
        omega = 2.0 * math.pi * duty.frequency
        load["share"][k] = duty.share_of_time
        load["force_rms"][k], load["power"][k] = duty.force_rms, duty.mean_power
        load["velocity_rms"][k], load["velocity_mean"][k] = duty.velocity_rms, duty.velocity_mean_abs
        load["omega"][k] = omega
        dynamic = max(abs(point.force - axle.static_force) for point in duty.points)
        load["burst_force"][k], load["burst_velocity"][k] = dynamic / math.sqrt(2.0), duty.velocity_peak
        load["burst_time"][k], load["moving"][k] = duty.burst_duration, duty.moving_share
        forces = [point.force - axle.static_force + static for point in duty.points]
        for force, point in zip(forces, duty.points, strict=True):
            left = omega * math.sqrt(max(0.0, duty.velocity_peak**2 - point.velocity**2))
            rows.append((abs(force), abs(point.velocity), left, float(force * point.velocity >= 0.0)))
        rows.append((max(abs(force) for force in forces), 0.0, omega * duty.velocity_peak, 1.0))
    points = _harder_points(rows)
    load["points"][: len(points)] = points
    load["duties"], load["peaks"] = len(axle.duties), len(points)
    load["static"], load["stroke"] = static, axle.stroke_available
    load["bandwidth"] = max(duty.bandwidth for duty in axle.duties)
    load["standby_share"] = demand.standby_share
    load["mean_square"] = (
        np.sum(load["share"] * (load["force_rms"] ** 2 + static**2)) + demand.standby_share * static**2
    )
    load["mean_power"] = np.sum(load["share"] * load["power"])
    load["force_peak"], load["velocity_peak"] = max(row[0] for row in rows), max(row[1] for row in rows)
    load["inertance_limit"] = load["peak_power"] = math.inf
    return load


def _harder_points(rows: list[tuple[float, float, float, float]]) -> Array:
    """Points no other point exceeds in force, speed, acceleration and driving alike; of more than a record holds,
    neighbours in speed are made one that exceeds both."""
    kept: list[tuple[float, float, float, float]] = []
    for row in sorted(set(rows), reverse=True):
        if not any(all(a >= b for a, b in zip(other, row, strict=True)) for other in kept):
            kept.append(row)
    points = np.array(sorted(kept, key=lambda row: (row[3], row[1])))
    while len(points) > MOST_POINTS:
        pairs = points[: len(points) // 2 * 2].reshape(-1, 2, 4).max(axis=1)
        points = np.concatenate([pairs, points[len(points) // 2 * 2 :]])
    return points


def mechanical_peak(load: np.void) -> float:
    """Largest |force·velocity| of a load's points, W."""
    return float(np.max(load["points"][:, 0] * load["points"][:, 1]))
