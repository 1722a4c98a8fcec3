"""What a user allows an electric actuator at each corner: mass, peak current, continuous power.

Knows the fields and their bounds; both designs are held against them in `comparison`.
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import model_validator

from models.quantity import Input, contradiction, on_wire


class ElectricBudget(Input):
    """Allowances per corner; the vehicle's total is theirs times its corners."""

    mass: Annotated[float | None, on_wire("kg", 1e-4, 5_000.0, "Mounted mass per corner, battery not counted")] = None
    peak_current: Annotated[float | None, on_wire("a", 1e-3, 5_000.0, "Peak bus current per corner")] = None
    continuous_power: Annotated[float | None, on_wire("w", 1e-3, 1e6, "Mean bus power per corner")] = None

    @model_validator(mode="after")
    def _allows_something(self) -> Self:
        if self.mass is None and self.peak_current is None and self.continuous_power is None:
            raise contradiction("an electric_budget states at least one allowance")
        return self
