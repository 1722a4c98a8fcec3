"""The four-edge valve against closed forms, the whole balance solved by SciPy, and a flow-meter library."""

import math

import fluids.flow_meter
import pytest
from scipy.optimize import brentq, minimize_scalar, root

from models.hydraulics.cylinder import annulus_area, cap_area
from models.hydraulics.valve import LAND_PRESSURE_DROP, RATING_DENSITY, meter, metering_edge

CAP, ANNULUS = cap_area(25e-3, 14e-3, False), annulus_area(25e-3, 14e-3)
NO_CHECKS = -math.inf
GAIN = 40e-3 / 60 / math.sqrt(LAND_PRESSURE_DROP)


def lossless(load, speed, inlet_area, outlet_area, gains=(GAIN, GAIN), supply=200e5, back=0.0, makeup=NO_CHECKS):
    """`meter` without viscous floor and line drops."""
    return meter(
        load, inlet_area * speed, outlet_area * speed, inlet_area, outlet_area, gains[0], 0.0, gains[1], 0.0, 0.0, 0.0,
        supply, back, makeup,
    )  # fmt: skip


@pytest.mark.parametrize("flow_l_min", [0.2, 40.0])
def test_rated_flow_at_35_bar_a_land(flow_l_min):
    # definition of the rating (ISO 10770, practice recalled): 35 bar over each land; the flow by the flow-meter
    # equation of the fluids library for an orifice of the same area in a very wide pipe
    rated = flow_l_min * 1e-3 / 60
    edge = metering_edge(rated, 1.0, RATING_DENSITY, 1e-9)
    flow = edge.gain * math.sqrt(LAND_PRESSURE_DROP)
    assert flow == pytest.approx(rated, rel=1e-12)
    area = edge.gain / (0.611 * math.sqrt(2 / RATING_DENSITY))
    meter_flow = fluids.flow_meter.flow_meter_discharge(
        D=1.0, Do=math.sqrt(4 * area / math.pi), P1=36e5, P2=1e5, rho=RATING_DENSITY, C=0.611
    )
    assert meter_flow / RATING_DENSITY == pytest.approx(rated, rel=1e-6)


def test_the_viscous_floor_costs_opening_in_cold_oil():
    # drop = (Q² + Q·Qt)/(g·x)²: at the rated flow of thin oil the drop is 35 bar; in cold oil it is Qt/Q more
    rated = 0.2e-3 / 60
    edge = metering_edge(rated, 1.0, RATING_DENSITY, 0.3)
    assert edge.transition > 0.1 * rated
    drop = (rated**2 + rated * edge.transition) / edge.gain**2
    assert drop == pytest.approx(LAND_PRESSURE_DROP * (1 + edge.transition / rated), rel=1e-12)


@pytest.mark.parametrize("opening", [0.02, 0.3, 0.9])
def test_symmetric_spool_cavitates_at_the_closed_form(opening):
    # derived: the cap side of an extending single rod runs dry at a pull of ps·A2³/A1², whatever the opening
    supply = 200e5
    pull = supply * ANNULUS**3 / CAP**2
    speed = brentq(lambda v: lossless(-pull, v, CAP, ANNULUS)[0] - opening, 1e-9, 50.0)
    _, inlet, outlet, _, _ = lossless(-pull, speed, CAP, ANNULUS)
    assert inlet == pytest.approx(0.0, abs=1e-6 * supply)
    assert outlet == pytest.approx(pull / ANNULUS, rel=1e-9)
    assert lossless(-1.01 * pull, speed, CAP, ANNULUS)[1] < 0.0 < lossless(-0.99 * pull, speed, CAP, ANNULUS)[1]


def test_matched_spool_cavitates_only_when_the_whole_supply_stands_on_the_annulus():
    # derived: edges in the ratio of the areas take equal drops, so the cap side is dry at a pull of ps·A2
    supply, gains = 200e5, (GAIN, GAIN * ANNULUS / CAP)
    for load in (-0.6 * supply * ANNULUS, 0.2 * supply * CAP):
        _, inlet, outlet, _, _ = lossless(load, 0.3, CAP, ANNULUS, gains)
        assert supply - inlet == pytest.approx(outlet, rel=1e-9)
    _, inlet, _, _, _ = lossless(-supply * ANNULUS, 0.3, CAP, ANNULUS, gains)
    assert inlet == pytest.approx(0.0, abs=1e-6 * supply)


def test_greatest_power_at_two_thirds_of_supply():
    # Merritt (1967), recalled: a four-edge valve on equal areas gives most power with pL = 2/3 of supply
    supply, area = 200e5, ANNULUS

    def power(share):
        load = share * supply * area
        return load * brentq(lambda v: lossless(load, v, area, area)[0] - 1.0, 1e-6, 100.0)

    best = minimize_scalar(lambda share: -power(share), bounds=(0.1, 0.95), method="bounded", options={"xatol": 1e-9})
    assert best.x == pytest.approx(2 / 3, abs=1e-5)
    # closed form: at any load, v·A = g·√((ps − pL)/2) through each of the two edges
    speed = brentq(lambda v: lossless(0.4 * supply * area, v, area, area)[0] - 1.0, 1e-6, 100.0)
    assert speed * area == pytest.approx(GAIN * math.sqrt(0.6 * supply / 2), rel=1e-9)


@pytest.mark.parametrize("load", [-6000.0, -500.0, 0.0, 2000.0, 4000.0])
@pytest.mark.parametrize("extends", [True, False])
@pytest.mark.parametrize("matched", [True, False])
def test_both_edges_and_the_force_balance_solved_by_scipy(load, extends, matched):
    # second route: opening and both pressures as three unknowns of the orifice laws with viscous floor, line drops
    # and the force balance, by SciPy's Levenberg-Marquardt
    supply, back, speed, drops = 150e5, 6e5, 0.35, (3e5, 2e5)
    transition = 1.5e-5
    gains = (GAIN, GAIN * ANNULUS / CAP) if matched else (GAIN, GAIN)
    areas = (CAP, ANNULUS)
    if not extends:
        gains, areas = gains[::-1], areas[::-1]
    flows = (areas[0] * speed, areas[1] * speed)
    floors = tuple(transition * g / GAIN for g in gains)
    found = meter(
        load, *flows, *areas, gains[0], floors[0], gains[1], floors[1], *drops, supply, back, NO_CHECKS
    )  # fmt: skip

    def unknown(z):
        opening, inlet, outlet = math.exp(z[0]), z[1] * 1e5, z[2] * 1e5
        need = [(q**2 + q * t) / (g * opening) ** 2 for q, t, g in zip(flows, floors, gains, strict=True)]
        return [
            (supply - drops[0] - need[0] - inlet) / 1e5,
            (back + drops[1] + need[1] - outlet) / 1e5,
            (inlet * areas[0] - outlet * areas[1] - load) / 1e3,
        ]

    solved = root(unknown, [-1.0, 50.0, 50.0], method="lm", tol=1e-14)
    assert max(abs(r) for r in solved.fun) < 1e-9
    assert found[0] == pytest.approx(math.exp(solved.x[0]), rel=1e-8)
    assert found[1] / 1e5 == pytest.approx(solved.x[1], rel=1e-8, abs=1e-7)
    assert found[2] / 1e5 == pytest.approx(solved.x[2], rel=1e-8, abs=1e-7)


def test_meter_in_alone_misses_opening_a_driven_retraction_needs():
    # engineering rule: the annulus filled, the larger cap side must leave through an equal edge; derived factor on the
    # opening √(1 + (A1/A2)³) of the meter-in edge alone at the same drop over the inlet
    supply = 200e5
    load, speed = 0.3 * supply * ANNULUS, 0.3
    both = lossless(load, speed, ANNULUS, CAP)[0]
    alone = ANNULUS * speed / GAIN / math.sqrt(supply - load / ANNULUS)
    assert both / alone == pytest.approx(math.sqrt(1 + (CAP / ANNULUS) ** 3), rel=1e-9)
    assert both / alone > 2.0


def test_a_load_beyond_the_supply_is_refused():
    opening, *_, share, _ = lossless(1.05 * 200e5 * CAP, 0.1, CAP, ANNULUS)
    assert math.isinf(opening)
    assert share > 1.0


def test_a_check_feeds_the_chamber_that_would_run_dry():
    # beyond the lossless limit the inlet stands at the make-up pressure and the return edge alone holds the load
    supply, bias = 200e5, 8e5
    pull = 1.3 * supply * ANNULUS**3 / CAP**2
    opening, inlet, outlet, _, fed = lossless(-pull, 0.3, CAP, ANNULUS, back=bias, makeup=5e5)
    assert fed
    assert inlet == 5e5
    assert outlet == pytest.approx((5e5 * CAP + pull) / ANNULUS, rel=1e-12)
    flow = GAIN * opening * math.sqrt(outlet - bias)
    assert flow == pytest.approx(ANNULUS * 0.3, rel=1e-9)


def test_standing_still_the_spool_is_shut_and_holds():
    opening, inlet, outlet, share, _ = lossless(1000.0, 0.0, CAP, ANNULUS)
    assert opening == 0.0
    assert inlet * CAP - outlet * ANNULUS == pytest.approx(1000.0, rel=1e-9)
    assert share == pytest.approx(1000.0 / (200e5 * CAP), rel=1e-12)
