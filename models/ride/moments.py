"""Second moments of the linear car on a random road, over the road's band, and its spectra.

Both planes are integrated with one accuracy; left and right corners of an axle are alike, so an axle has one set of
moments. Also the balance of power: what the road feeds in is what dampers and actuators take.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.ride.linear import ROWS, Plane, Row
from models.ride.response import Complexes, frequency_response, integrate, resonances
from models.ride.road import RoadInput, coherence, frequency_psd
from models.ride.vehicle import Corner, Vehicle
from models.ride.weighting import vertical_weighting

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AxleMoments:
    """Of one corner of an axle: variances of the rows `Row` and of their time derivatives, SI, and mean powers."""

    corner: Corner
    variance: Floats
    rate_variance: Floats
    actuator_power: float
    """Mean of actuator force times supply rate: given to the car; negative when absorbed."""
    road_power: float
    """Mean power the road feeds in through the tyre."""
    damper_power: float
    """Mean power that dampers and damping orifice turn to heat."""

    def rms(self, row: Row) -> float:
        return math.sqrt(self.variance[row])

    def crossing_rate(self, row: Row) -> float:
        """Upward crossings of the mean per second."""
        if self.variance[row] <= 0.0:
            return 0.0
        return math.sqrt(self.rate_variance[row] / self.variance[row]) / (2.0 * math.pi)


@dataclass(frozen=True)
class RideMoments:
    """Of the whole car. Accelerations are rms, m/s² and rad/s²; None where the car has no such freedom."""

    axles: tuple[AxleMoments, ...]
    body: float
    """Body acceleration over the corners, each by its sprung mass."""
    weighted: float
    """The same through Wk; to be read for full-size vehicles only."""
    heave: float
    pitch: float | None
    roll: float | None
    in_step: float
    """Rms of the sum of the fitted corners' supply rates over the sum of their rms: 1 when all extend together."""


def ride_moments(car: tuple[Plane, ...], vehicle: Vehicle, road: RoadInput) -> RideMoments:
    """Moments of a car (its planes) on a road. Raises NotIntegrable when a resonance has no damping."""
    low, high = road.frequencies
    delay = vehicle.wheelbase / road.speed
    count = len(vehicle.corners)
    sums = [
        integrate(functools.partial(_integrand, plane, vehicle, road, delay), low, high, resonances(plane))[0]
        for plane in car
    ]
    per_corner = np.sum([total[: count * _COLUMNS] for total in sums], axis=0).reshape(count, _COLUMNS)
    axles = tuple(_axle(corner, row) for corner, row in zip(vehicle.corners, per_corner, strict=True))
    share = np.array([corner.sprung_mass for corner in vehicle.corners])
    share = share / share.sum()
    own = [total[count * _COLUMNS : -1] for total in sums]
    supply_rms = [math.sqrt(axle.variance[Row.SUPPLY_RATE]) * axle.corner.ratio for axle in axles if axle.corner.fitted]
    together = math.sqrt(sums[0][-1])
    return RideMoments(
        axles=axles,
        body=math.sqrt(float(share @ per_corner[:, Row.BODY_ACCELERATION])),
        weighted=math.sqrt(float(share @ per_corner[:, _WEIGHTED])),
        heave=math.sqrt(own[0][0]),
        pitch=math.sqrt(own[0][1]) if car[0].body_freedoms == 2 else None,
        roll=math.sqrt(own[1][0]) if len(car) == 2 else None,
        in_step=min(1.0, together / sum(supply_rms)) if sum(supply_rms) > 0.0 else 1.0,
    )


_POWER, _ROAD, _DAMPER, _WEIGHTED = 2 * ROWS, 2 * ROWS + 1, 2 * ROWS + 2, 2 * ROWS + 3
_COLUMNS = 2 * ROWS + 4


def _axle(corner: Corner, row: Floats) -> AxleMoments:
    return AxleMoments(
        corner, row[:ROWS], row[ROWS : 2 * ROWS], float(row[_POWER]), float(row[_ROAD]), float(row[_DAMPER])
    )


def plane_psd(plane: Plane, vehicle: Vehicle, road: RoadInput, frequency: Floats) -> Floats:
    """One-sided spectrum of the plane's road, m²/Hz: mean of the tracks, or half their difference."""
    level = frequency_psd(frequency, road)
    if vehicle.single:
        return level
    common = coherence(frequency / road.speed, vehicle.track)
    return 0.5 * level * (1.0 - common if plane.name == "roll" else 1.0 + common)


def _integrand(plane: Plane, vehicle: Vehicle, road: RoadInput, delay: float, frequency: Floats) -> Floats:
    response = frequency_response(plane, frequency, delay)
    level = plane_psd(plane, vehicle, road, frequency)
    omega = 2.0 * math.pi * frequency
    count = len(plane.corners)
    columns = np.empty((frequency.size, count * _COLUMNS + plane.body_freedoms + 1))
    squares = (response.real**2 + response.imag**2) * level[:, None]
    weight = vertical_weighting(frequency) ** 2 if vehicle.full_size else np.zeros_like(frequency)
    for j, corner in enumerate(plane.corners):
        out = response[:, j * ROWS : (j + 1) * ROWS]
        into = columns[:, j * _COLUMNS : (j + 1) * _COLUMNS]
        into[:, :ROWS] = squares[:, j * ROWS : (j + 1) * ROWS]
        into[:, ROWS : 2 * ROWS] = into[:, :ROWS] * (omega**2)[:, None]
        into[:, _POWER] = _cross(out[:, Row.FORCE], out[:, Row.SUPPLY_RATE]) * level
        road_rate: Complexes = 1j * omega * np.exp(-1j * omega * delay * j)
        into[:, _ROAD] = -corner.tyre * _cross(out[:, Row.TYRE], road_rate) * level
        into[:, _DAMPER] = (corner.damping - corner.orifice) * into[:, Row.TRAVEL_RATE]
        if corner.orifice > 0.0:
            through = out[:, Row.TRAVEL_RATE] - out[:, Row.SUPPLY_RATE]
            into[:, _DAMPER] += corner.orifice * np.abs(through) ** 2 * level
        into[:, _WEIGHTED] = into[:, Row.BODY_ACCELERATION] * weight
    columns[:, count * _COLUMNS :] = squares[:, plane.body_row :]
    if plane.name == "roll":
        columns[:, -1] = 0.0
    return columns


def _cross(first: Complexes, second: Complexes) -> Floats:
    """Real part of first times the conjugate of second: the mean product of two harmonics, twice over."""
    product: Floats = np.real(first * np.conj(second))
    return product


def axle_spectrum(car: tuple[Plane, ...], vehicle: Vehicle, road: RoadInput, frequency: Floats, index: int) -> Floats:
    """One-sided spectra of the rows `Row` of axle `index` (shape: frequencies, rows), both planes together."""
    delay = vehicle.wheelbase / road.speed
    total = np.zeros((frequency.size, ROWS))
    for plane in car:
        out = frequency_response(plane, frequency, delay)[:, index * ROWS : (index + 1) * ROWS]
        total += np.abs(out) ** 2 * plane_psd(plane, vehicle, road, frequency)[:, None]
    return total
