"""Whether a demand asks anything a plant can be sized for, and what of it no plant can mend.

Reads the demand alone: a duty left out because its ride law is unstable, a target no law reaches, an axle whose
actuators are asked no force. Knows no parts.
"""

from __future__ import annotations

from models.demand import AxleDemand, AxleDuty, Demand
from models.quantity import STANDARD_GRAVITY
from models.sizing.design import Search, Unmet

LEAST_FORCE_SHARE = 1e-6
"""An rms force below this share of the weight on a corner counts as none. Source: [estimate]."""

LARGEST_USE = 1e6
"""Need over allowance where nothing is allowed; an answer holds no infinity."""


def least_force(axle: AxleDemand) -> float:
    """Force at the actuator below which nothing is asked, N."""
    return LEAST_FORCE_SHARE * axle.sprung_mass * STANDARD_GRAVITY / axle.travel_ratio


def controlled_rms(duty: AxleDuty) -> float:
    """Rms force the actuator adds to what springs and orifices give by themselves, N."""
    return duty.control_force_rms if duty.control_force_rms is not None else duty.force_rms


def idle_axles(demand: Demand) -> tuple[Unmet, ...]:
    """The axles on whose actuators no duty asks a force: there is nothing to size them for."""
    found = []
    for axle in demand.axles:
        asked = max((controlled_rms(duty) for duty in axle.duties), default=0.0)
        least = least_force(axle)
        if asked < least:
            use = min(least / asked, LARGEST_USE) if asked > 0.0 else LARGEST_USE
            help_ = (
                "a duty or a ride law that asks a force beyond the damper kept, or no actuators on this axle "
                "(corners_fitted)"
            )
            found.append(Unmet("force_asked", axle.position, least, asked, "N", use, help_))
    return tuple(found)


def unmet_wishes(demand: Demand) -> tuple[Unmet, ...]:
    """What the demand itself falls short of, whatever the plant; a limit exceeded and a goal missed told alike."""
    found = []
    for lack in demand.unmet:
        need, allowance = max(lack.required, lack.achieved), min(lack.required, lack.achieved)
        use = min(need / allowance, LARGEST_USE) if allowance > 0.0 else LARGEST_USE
        help_ = "a weaker ride law, a smaller wish, more control bandwidth or travel, or a damper kept beside it"
        found.append(Unmet(lack.what, "demand", need, allowance, lack.unit, use, help_))
    return tuple(found)


def no_search(objective: str) -> Search:
    """The search where nothing was looked for."""
    return Search(objective, 0.0, 0, 0, 0, 0, (), (), (), (), (), ())
