"""Curves drawn from a sizing against the textbook law of a valve-controlled piston, and against the sizing itself."""

from __future__ import annotations

import itertools
import math

import pytest

from models import pipeline
from models.drawn import force_bounds
from models.spec import Spec
from service import ready_specs

AREA, GAIN, SUPPLY = 4.0e-4, 2.0e-7, 1.25e7


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.9, 1.0])
def test_force_falls_as_merritt_says(share):
    # Merritt, Hydraulic Control Systems (1967), critical-centre valve with symmetric piston: Q = K·x·sqrt(ps − pL),
    # so F/F_stall = 1 − (v/v_0)² with v_0 the speed at no load, Q_0 = K·x·sqrt(ps/2) at each of two edges in series
    unloaded = GAIN * math.sqrt(SUPPLY / 2.0) / AREA
    edge = (AREA, GAIN, 0.0, 0.0)
    greatest, _ = force_bounds(share * unloaded, edge, edge, 1.0, SUPPLY, 0.0, 0.0, SUPPLY, False)
    assert greatest == pytest.approx(SUPPLY * AREA * (1.0 - share**2), abs=1e-6 * SUPPLY * AREA)


def test_braking_ends_where_the_filling_chamber_runs_empty():
    # both edges alike: pressures lie symmetric about half the supply, so an empty filling chamber means the emptying
    # one stands at supply: derived
    edge = (AREA, GAIN, 0.0, 0.0)
    _, least = force_bounds(0.1, edge, edge, 1.0, SUPPLY, 0.0, 0.0, 2.0 * SUPPLY, False)
    assert least == pytest.approx(-SUPPLY * AREA, rel=1e-12)


def test_too_fast_leaves_no_force():
    edge = (AREA, GAIN, 0.0, 0.0)
    greatest, least = force_bounds(5.0, edge, edge, 1.0, SUPPLY, 0.0, 0.0, SUPPLY, False)
    assert greatest == least


@pytest.fixture(scope="module")
def answers():
    return {name: pipeline.size(Spec.model_validate(ready_specs.example(name))) for name in ("truck", "model")}


def inside(x, y, ring):
    """Whether a point lies inside a closed ring: crossings of a ray."""
    crossed = False
    for (xa, ya), (xb, yb) in itertools.pairwise(ring):
        if (ya > y) != (yb > y) and x < xa + (y - ya) * (xb - xa) / (yb - ya):
            crossed = not crossed
    return crossed


@pytest.mark.parametrize("name", ["truck", "model"])
def test_points_of_a_feasible_design_lie_inside_its_envelope(answers, name):
    for figure in answers[name].figures:
        if figure.name.startswith("force-velocity"):
            allowed = next(c for c in figure.curves if c.label == "largest opening allowed")
            ring = list(zip(allowed.x, allowed.y, strict=True))
            for curve in figure.curves:
                if curve.marks:
                    assert all(inside(x, y, ring) for x, y in zip(curve.x, curve.y, strict=True))


@pytest.mark.parametrize("name", ["truck", "model"])
def test_flows_balance_at_every_instant(answers, name):
    answer = answers[name]
    curves = {c.label: c for c in next(f for f in answer.figures if f.name == "flow-cycle").curves}
    demand, pump = curves["demand of all corners, leakage included"], curves["pump to the rail"]
    greatest = answer.design.centre.pump_flow * 6e4
    assert max(pump.y) <= greatest * (1.0 + 1e-4)
    store = curves.get("accumulator, giving positive")
    for i, wanted in enumerate(demand.y):
        given_up = store.y[i] if store is not None else 0.0
        assert pump.y[i] + given_up == pytest.approx(wanted, abs=1e-3 * greatest)


@pytest.mark.parametrize("name", ["truck", "model"])
def test_oil_warms_from_the_start_and_a_cooler_holds_it(answers, name):
    answer = answers[name]
    figure = next(f for f in answer.figures if f.name == "temperature")
    curves = {c.label: c for c in figure.curves}
    alone = curves["oil, reservoir alone"]
    assert alone.y[0] == pytest.approx(answer.effective_spec.oil_cold - 273.15, abs=1e-3)
    assert list(alone.y) == sorted(alone.y)
    limit = curves["limit"].y[0]
    assert max(curves["oil, with the cooler"].y) <= limit + 1e-9
