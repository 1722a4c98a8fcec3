"""What a comparison is asked: a spec, and the axis along which both sides are to be computed.

Knows the fields and their bounds. Computes nothing.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from models.comparison.crossover import BOUNDS, Axis, refuse_bad_ends
from models.quantity import Input, contradiction, on_wire
from models.spec import Spec

MOST_POINTS = 200
"""Values computed in one request, all axes together."""


class ComparisonRequest(Input):
    """A spec, and if wished an axis, its ends and how many values to compute between them."""

    spec: Spec
    axis: Annotated[
        Axis | Literal["all"] | None,
        Field(
            description="vehicle_scale: length over the vehicle's own, by Froude's law; supply_duty: shares of time of "
            "all duties over the spec's own; spring_share: share of the weight on a parallel spring; motor_constant "
            "and friction: factors on every machine's, and on all that rubs. 'all': each that the arrangement has, "
            "over its usual span"
        ),
    ] = None
    low: Annotated[float | None, on_wire("", 0.0, 100.0, "Lowest value; default depends on the axis")] = None
    high: Annotated[float | None, on_wire("", 0.0, 100.0, "Highest value; default depends on the axis")] = None
    points: Annotated[int, Field(ge=2, le=MOST_POINTS, description="Values along an axis, ends included")] = 12

    @property
    def axes(self) -> tuple[Axis, ...]:
        """The axes to walk."""
        if self.axis is None:
            return ()
        if self.axis != "all":
            return (self.axis,)
        return tuple(axis for axis in BOUNDS if axis != "spring_share" or self._may_share)

    @property
    def _may_share(self) -> bool:
        """Whether a spring beside the actuator may carry a share of the weight."""
        return self.spec.arrangement in (None, "parallel")

    @model_validator(mode="after")
    def _spans(self) -> Self:
        if (self.axis is None or self.axis == "all") and (self.low is not None or self.high is not None):
            raise contradiction("low and high are ends of one axis; name it in axis")
        if self.axis == "spring_share" and not self._may_share:
            raise contradiction(
                "in the arrangement '{arrangement}' the actuator carries the weight by its nature: there is no "
                "spring_share to walk along",
                arrangement=self.spec.arrangement,
            )
        if self.axis is None and "points" in self.model_fields_set:
            raise contradiction("points lie along an axis; name it in axis")
        if self.points * len(self.axes) > MOST_POINTS:
            raise contradiction("all axes together may have {most} points", most=MOST_POINTS)
        for axis in self.axes:
            refuse_bad_ends(axis, self.low, self.high)
        return self
