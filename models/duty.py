"""The duties a user can name: what the actuators are asked to do, each with its share of time.

Knows the fields and their bounds; what a duty means for each actuator is computed in `demand` and `ride`.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from models.quantity import Input, contradiction, on_wire

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


class RideControl(Input):
    """The ride law and what it weighs; every weight is dimensionless and means the same on a model and a truck."""

    law: Annotated[
        Literal["passive", "skyhook", "lqr"],
        Field(description="passive: a damper of reference_damping; skyhook; lqr: the linear-quadratic optimum"),
    ] = "lqr"
    acceleration_weight: Annotated[float, on_wire("", 0.001, 1_000.0, "lqr: weight of body acceleration squared")] = 1.0
    travel_weight: Annotated[
        float, on_wire("", 1e-6, 1e4, "lqr: weight of (spring force of the travel over sprung mass) squared")
    ] = 0.5
    tyre_weight: Annotated[
        float, on_wire("", 1e-6, 1e4, "lqr: weight of (tyre force of its deflection over sprung mass) squared")
    ] = 0.05
    skyhook_damping: Annotated[float, on_wire("", 0.0, 20.0, "skyhook: damping ratio of the body against the sky")] = (
        0.6
    )
    wheel_damping: Annotated[
        float, on_wire("", 0.0, 5.0, "skyhook: damping ratio of body on spring, added between body and wheel")
    ] = 0.2
    bandwidth: Annotated[
        float | None,
        on_wire("hz", 0.1, 1_000.0, "First-order lag of the force; default from arrangement and frequencies"),
    ] = None
    low_cut: Annotated[
        float | None,
        on_wire(
            "hz", 0.0, 50.0, "First-order cut below which no force is asked; default a tenth of the body frequency"
        ),
    ] = None
    target_reduction: Annotated[
        float | None,
        on_wire("", 0.01, 0.95, "Reduce the body acceleration by this fraction; the answer gives the weights that do"),
    ] = None

    @model_validator(mode="after")
    def _can_seek(self) -> Self:
        if self.law == "passive" and self.target_reduction is not None:
            raise contradiction("a passive law has nothing to turn towards target_reduction", at=["target_reduction"])
        return self


RoadClass = Literal["A", "B", "C", "D", "E", "F", "G", "H"]


class Road(Input):
    """Driving on a random road of ISO 8608 under a ride law."""

    kind: Literal["road"]
    label: Label = "road"
    share_of_time: Share = 1.0
    road_class: RoadClass | None = None
    roughness: Annotated[float | None, on_wire("m3", 1e-9, 1.0, "Gd(n0) at 0.1 cycle/m, instead of a class")] = None
    speed: Annotated[float, on_wire("km_h", 0.5, 300.0, "Speed")]
    distance: Annotated[float | None, on_wire("m", 1.0, 1e7, "Length driven, for the peaks")] = None
    duration: Annotated[
        float | None, on_wire("s", 1.0, 1e6, "Time driven, for the peaks; default 600 periods of the body")
    ] = None
    band_low: Annotated[float | None, on_wire("per_m", 1e-4, 10.0, "Longest wave counted, cycle/m")] = None
    band_high: Annotated[float | None, on_wire("per_m", 1e-3, 1_000.0, "Shortest wave counted, cycle/m")] = None
    contact_patch: Annotated[
        float, on_wire("mm", 0.0, 500.0, "Length over which the tyre averages; 0 overstates the shortest waves")
    ] = 0.0
    control: RideControl = RideControl()

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        if (self.road_class is None) == (self.roughness is None):
            raise contradiction("a road needs either road_class or roughness_m3", at=["road_class"])
        if self.distance is not None and self.duration is not None:
            raise contradiction("give distance_m or duration_s, not both", at=["duration_s"])
        if self.band_low is not None and self.band_high is not None and self.band_high < 2.0 * self.band_low:
            raise contradiction("band_high_per_m must be at least twice band_low_per_m", at=["band_high_per_m"])
        return self


class Rig(Input):
    """An eccentric of given throw shakes one corner through its tyre, at one frequency or swept between two."""

    kind: Literal["rig"]
    label: Label = "rig"
    share_of_time: Share = 1.0
    eccentricity: Annotated[float, on_wire("mm", 0.01, 300.0, "Throw of the eccentric: its radius, half its stroke")]
    frequency: Annotated[float, on_wire("hz", 0.05, 100.0, "Frequency, or the first of a sweep")]
    frequency_to: Annotated[float | None, on_wire("hz", 0.05, 100.0, "Last frequency of a sweep")] = None
    hold_body_still: Annotated[
        bool, Field(description="Ask of the actuator that the body stands still, in place of the ride law")
    ] = False
    control: RideControl = RideControl()

    @model_validator(mode="after")
    def _sweeps_upward(self) -> Self:
        if self.frequency_to is not None and self.frequency_to <= self.frequency:
            raise contradiction("frequency_to_hz must lie above frequency_hz", at=["frequency_to_hz"])
        return self


class Bump(Input):
    """A (1 - cos) bump that both wheels of an axle meet together, the rear ones later."""

    kind: Literal["bump"]
    label: Label = "bump"
    share_of_time: Share = 0.01
    height: Annotated[float, on_wire("mm", 0.1, 500.0, "Height")]
    length: Annotated[float, on_wire("mm", 5.0, 100_000.0, "Length along the road")]
    speed: Annotated[float, on_wire("km_h", 0.5, 300.0, "Speed")]
    control: RideControl = RideControl()


class Manoeuvre(Input):
    """Holding the body level under lateral and longitudinal acceleration, to either side."""

    kind: Literal["manoeuvre"]
    label: Label = "manoeuvre"
    share_of_time: Share = 0.1
    lateral_acceleration: Annotated[float, on_wire("m_s2", 0.0, 30.0, "To either side")] = 0.0
    longitudinal_acceleration: Annotated[float, on_wire("m_s2", -30.0, 30.0, "Positive forward; negative braking")] = (
        0.0
    )
    rise_time: Annotated[float, on_wire("s", 0.005, 60.0, "From level to full acceleration")]
    hold: Annotated[float, on_wire("s", 0.0, 3_600.0, "Time at full acceleration before it falls again")] = 0.0

    @model_validator(mode="after")
    def _accelerates(self) -> Self:
        if self.lateral_acceleration == 0.0 and self.longitudinal_acceleration == 0.0:
            raise contradiction(
                "a manoeuvre needs a lateral or a longitudinal acceleration", at=["lateral_acceleration_m_s2"]
            )
        return self


class Lift(Input):
    """Raising the body by a height in a time, holding it there, and lowering it as fast."""

    kind: Literal["lift"]
    label: Label = "lift"
    share_of_time: Share = 0.01
    height: Annotated[float, on_wire("mm", 0.1, 1_000.0, "Height")]
    time: Annotated[float, on_wire("s", 0.02, 600.0, "Time to raise it")]
    hold: Annotated[float, on_wire("s", 0.0, 36_000.0, "Time it stays up")] = 0.0


Duty = Annotated[SuspensionVelocity | Road | Rig | Bump | Manoeuvre | Lift, Field(discriminator="kind")]
