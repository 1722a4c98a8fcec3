"""Whatever a valid spec asks of the ride, the answer is finite, goes on the wire, and balances."""

import math

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from models.quantity import to_wire
from models.ride.build import ride_answer
from models.spec import Spec, complete


def spread(low, high):
    """Numbers spread evenly over their logarithm."""
    return st.floats(math.log10(low), math.log10(high)).map(lambda x: round(10.0**x, 6 - math.ceil(x)))


@st.composite
def axles(draw, size):
    rate = size / 300.0 * draw(spread(5.0, 60.0))
    axle = {
        "sprung_mass_kg": size,
        "unsprung_mass_kg": size * draw(spread(0.03, 0.6)),
        "wheel_rate_n_mm": rate,
        "tyre_rate_n_mm": rate * draw(spread(1.5, 40.0)),
        "retained_damping_n_s_m": draw(st.sampled_from([0.0, 1.0])) * math.sqrt(1e3 * rate * size) * 0.3,
        "anti_roll_rate_nm_deg": draw(st.sampled_from([0.0, 0.3])) * size,
        "actuator_travel_per_wheel_travel": draw(st.floats(0.3, 1.2)),
        "bump_travel_mm": draw(st.floats(10.0, 150.0)),
        "droop_travel_mm": draw(st.floats(10.0, 150.0)),
    }
    return {key: float(f"{value:.6g}") for key, value in axle.items()}


@st.composite
def controls(draw):
    return {
        "law": draw(st.sampled_from(["passive", "skyhook", "lqr"])),
        "travel_weight": draw(spread(1e-5, 1e3)),
        "tyre_weight": draw(spread(1e-5, 1e3)),
        "skyhook_damping": draw(spread(1e-2, 15.0)),
        "wheel_damping": draw(st.floats(0.0, 2.0)),
        **draw(st.sampled_from([{}, {"bandwidth_hz": 3.0}, {"bandwidth_hz": 80.0, "low_cut_hz": 0.0}])),
    }


@st.composite
def duties(draw):
    speed = {"speed_km_h": draw(spread(1.0, 250.0))}
    control = {"control": draw(controls())}
    road = {"kind": "road", "road_class": draw(st.sampled_from("ABCDEFGH"))}
    rig = {"kind": "rig", "eccentricity_mm": draw(spread(0.05, 10.0)), "frequency_hz": draw(spread(0.05, 60.0))}
    sweep = {"frequency_to_hz": rig["frequency_hz"] * 1.5}
    return draw(
        st.sampled_from(
            [
                {**road, **speed, **control},
                {**rig, **control},
                {**rig, **sweep, **control},
                {**rig, **sweep, "hold_body_still": True, **control},
                {
                    "kind": "bump",
                    "height_mm": draw(spread(1, 200)),
                    "length_mm": draw(spread(20, 2e4)),
                    **speed,
                    **control,
                },
                {"kind": "manoeuvre", "lateral_acceleration_m_s2": draw(st.floats(0.1, 12.0)), "rise_time_s": 0.3},
                {"kind": "lift", "height_mm": draw(spread(1, 300)), "time_s": draw(spread(0.05, 60)), "hold_s": 1.0},
            ]
        )
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(
    data=st.data(),
    size=spread(0.3, 3000.0),
    fitted=st.sampled_from(["four", "front", "rear", "one"]),
    arrangement=st.sampled_from(["parallel", "series", "corner_accumulator"]),
    duty=duties(),
)
def test_every_valid_spec_has_a_finite_answer(data, size, fitted, arrangement, duty):
    document = {"corners_fitted": fitted, "arrangement": arrangement, "bus": {"voltage_v": 24}, "duty": [duty]}
    document |= {axle: data.draw(axles(size)) for axle in ("front", "rear")}
    document |= {"wheelbase_mm": 400.0 * size**0.33, "track_mm": 250.0 * size**0.33}
    try:
        spec = complete(Spec.model_validate(document))[0]
    except ValidationError:
        assume(False)
        return
    answer = ride_answer(spec)
    to_wire(answer)  # raises where a number is not finite
    if not answer.duties:
        assert answer.demand.unmet
        assert "ride_law_unstable" in {w.code for w in answer.demand.warnings}
        return
    for axle in answer.demand.axles:
        (found,) = axle.duties
        assert found.force_peak >= 0.0
        assert found.velocity_rms <= found.velocity_peak * (1 + 1e-9)
        assert 0.5 <= found.in_step_fraction <= 1.0
        assert found.power_delivered >= 0.0
        assert found.power_absorbed >= -1e-12
        balance = found.power_delivered - found.power_absorbed
        assert math.isclose(balance, found.mean_power, rel_tol=1e-6, abs_tol=1e-9 * found.mean_power_bound + 1e-15)
