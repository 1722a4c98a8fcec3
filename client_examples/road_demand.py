"""What the actuators must do on a road: a spec that names a road and a speed, and no force at all.

    python client_examples/road_demand.py [address] [road class] [speed in km/h]

Masses, rates and travels are all the spec says of the vehicle; the rest is defaulted, and every default used is listed
in the service's answer.
"""

from __future__ import annotations

import sys
from typing import Any

from ramwright_client import Ramwright
from ramwright_results import ArrangementNeed

CORNER = {
    "sprung_mass_kg": 410,
    "unsprung_mass_kg": 48,
    "wheel_rate_n_mm": 27,
    "tyre_rate_n_mm": 220,
    "bump_travel_mm": 80,
    "droop_travel_mm": 90,
}

HEAD = "arrangement         axle   force N peak/rms  velocity m/s peak/rms  stroke mm  control Hz  mean W"


def spec(road_class: str, speed: float) -> dict[str, Any]:
    """A van on a road."""
    return {
        "name": f"Van on a road of class {road_class} at {speed:g} km/h",
        "front": CORNER,
        "rear": CORNER,
        "wheelbase_mm": 3000,
        "track_mm": 1600,
        "duty": [{"kind": "road", "road_class": road_class, "speed_km_h": speed}],
        "bus": {"voltage_v": 48},
    }


def rows(need: ArrangementNeed) -> list[str]:
    """One line for each axle."""
    return [
        f"{need.arrangement:<19} {axle.position:<6}"
        f"{axle.force_peak_n:8.0f} /{axle.force_rms_n:6.0f}  "
        f"{axle.velocity_peak_m_s:12.3g} /{axle.velocity_rms_m_s:7.3g}  "
        f"{axle.stroke_mm:9.3g}  {axle.bandwidth_hz:10.3g}  {axle.mean_power_w:6.3g}"
        for axle in need.axles
    ]


def main(arguments: list[str]) -> None:
    address = arguments[0] if arguments else "http://127.0.0.1:8000"
    road_class = arguments[1] if len(arguments) > 1 else "C"
    speed = float(arguments[2]) if len(arguments) > 2 else 60.0
    with Ramwright(address) as service:
        answer = service.demand(spec(road_class, speed))
    print(answer.name)
    for duty in answer.duties:
        before, now = duty.body_acceleration_passive_m_s2, duty.body_acceleration_m_s2
        print(f"body acceleration {now:.3g} m/s² rms, {before:.3g} m/s² on passive dampers")
    print(HEAD)
    for arrangement in answer.arrangements:
        for line in rows(arrangement):
            print(line)
    for arrangement in answer.arrangements:
        print(arrangement.statement)


if __name__ == "__main__":
    main(sys.argv[1:])
