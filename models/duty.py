"""The duties a user can name: what the actuators are asked to do, each with its share of time.

Knows the fields and their bounds; what a duty means for each actuator is computed in `demand` and `ride`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from models.quantity import Input, on_wire

Share = Annotated[float, on_wire("", 0.0, 1.0, "Share of operating time; what the shares leave below 1 is standby")]
Label = Annotated[str, Field(max_length=80, description="A name for people; not part of the sizing's id")]


class AxleMotion(Input):
    """Peak motion and force of one axle's corners, at the wheel, of body against wheel."""

    wheel_velocity: Annotated[float, on_wire("m_s", 0.001, 20.0, "Peak velocity of wheel against body")]
    wheel_force: Annotated[float, on_wire("n", 0.001, 500_000.0, "Peak force between wheel and body, without weight")]
    frequency: Annotated[
        float | None,
        on_wire("hz", 0.05, 200.0, "Frequency of the motion; default v_peak/(2π·min(bump, droop))"),
    ] = None
    wheel_velocity_rms: Annotated[float | None, on_wire("m_s", 0.0005, 20.0, "Rms of the velocity; Gaussian then")] = (
        None
    )
    wheel_force_rms: Annotated[float | None, on_wire("n", 0.0005, 500_000.0, "Rms of the force; Gaussian then")] = None
    force_velocity_phase: Annotated[
        float | None,
        on_wire("deg", -180.0, 180.0, "Lead of velocity on force; not given: all four quadrants must be reached"),
    ] = None


class SuspensionVelocity(Input):
    """Peak wheel velocity and force per axle: for users who know what their actuators must do."""

    kind: Literal["suspension_velocity"]
    label: Label = "suspension velocity"
    share_of_time: Share = 1.0
    front: AxleMotion | None = None
    rear: AxleMotion | None = None
    corners_in_step: Annotated[
        int | None, Field(ge=1, le=4, description="Corners that extend together at the peak; default all fitted")
    ] = None
    duration: Annotated[
        float | None,
        on_wire("s", 0.01, 36_000.0, "Length of a burst at peak amplitude; default continuous or 3 cycles"),
    ] = None


Duty = SuspensionVelocity
