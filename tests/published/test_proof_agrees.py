"""Sizing and proof on one sinusoid: mean flow and mean power are the same within 5 %, as the issue on the proof asks.

The two are computed by different means: the sizing from mean |v| and a quadratic, the proof by running the plant.
"""

from __future__ import annotations

import pytest

from models.proof import layout as at
from models.proof.drive import drive_course
from models.proof.verdict import sizing_power
from tests.proof_cases import VAN, ready, sinusoid, sized, with_duty


@pytest.mark.parametrize("velocity", [0.15, 0.25])
def test_mean_flow_and_power(velocity: float) -> None:
    document = with_duty(VAN, sinusoid(velocity, 1500.0, 1.5, 180.0))
    _, _, account = sized(document)
    circuit, course = ready(document, 12.0)
    run = drive_course(circuit, course)
    begin = round(4.0 / circuit.sample)
    flow = run.centre_trace[begin:, at.T_SUPPLY].mean()
    power = run.centre_trace[begin:, at.T_BUS].mean()
    leak = float(account.keys[0][4] + account.keys[1][4])
    assert flow == pytest.approx(float(account.flows[0, 2]) + leak, rel=0.05)
    assert power == pytest.approx(sizing_power(account, 0), rel=0.05)
