"""What every duty of the ride hands back, and the warnings duties share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

from models.demand import AxleDuty, Shortfall
from models.quantity import plain
from models.ride.control import RideLaw
from models.spec import Position
from models.warning import DesignWarning, warn

Answer = TypeVar("Answer", covariant=True)


@dataclass(frozen=True)
class DutyOutcome(Generic[Answer]):
    """One duty worked out: its answer for people, its part for each fitted axle, warnings, and what stayed unmet.

    A duty whose ride law is unstable has no answer and no part: it is left out of the demand and stands in `unmet`.
    """

    answer: Answer | None
    axles: Mapping[Position, AxleDuty]
    warnings: tuple[DesignWarning, ...] = ()
    unmet: tuple[Shortfall, ...] = ()


def unstable_outcome(label: str, law: RideLaw, growth: float) -> DutyOutcome[Answer]:
    """The outcome of a law that makes the car swing ever further."""
    message = (
        f"the ride law '{law.name}' with a force lag of {plain(law.bandwidth)} Hz leaves a swing that does not die "
        f"away: it grows by {growth:.3g} of itself each second"
    )
    return DutyOutcome(
        None,
        {},
        (warn("ride_law_unstable", f"demand.{label}", message, growth, 0.0, "1/s"),),
        (Shortfall(f"a stable ride law, {label}", 0.0, growth, "1/s", None),),
    )


def stroke_warning(place: str, peak: float, available: float) -> DesignWarning:
    """Motion beyond the suspension's travel; metres."""
    message = f"the motion reaches {1e3 * peak:.4g} mm; the stop stands at {1e3 * available:.4g} mm: it will bottom"
    return warn("stroke_exceeds_travel", place, message, 1e3 * peak, 1e3 * available, "mm")


def lift_off_warning(place: str, peak: float, static: float) -> DesignWarning:
    """Tyre load swinging below nothing; newtons."""
    message = (
        f"the tyre's load swings by {plain(peak, 4)} N about {plain(static, 4)} N: "
        "it leaves the ground, linear results end"
    )
    return warn("tyre_lift_off", place, message, peak, static, "N")


def extended_band_warning(label: str, band: tuple[float, float], standard: tuple[float, float]) -> DesignWarning:
    """Road waves counted outside the standard's band; cycle/m."""
    message = (
        f"road waves from {band[0]:.3g} to {band[1]:.3g} cycle/m are counted with the slope that ISO 8608 states for "
        f"{standard[0]:g} to {standard[1]:g}"
    )
    outside = band[1] if band[1] > standard[1] else band[0]
    limit = standard[1] if band[1] > standard[1] else standard[0]
    return warn("road_band_extended", f"demand.{label}", message, outside, limit, "cycle/m")
