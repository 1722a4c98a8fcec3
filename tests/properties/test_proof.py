"""Properties of the run: what must hold whatever the numbers. Closed circuits, ledgers, determinism, bad designs."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest

from models import oil
from models.hydraulics.lines import line_pressure_drop
from models.hydraulics.valve import meter, metering_edge
from models.proof import layout as at
from models.proof.circuit import rates
from models.proof.control import SPEED, centre_orders
from models.proof.corner import edge, seal_friction, spool_opening
from models.proof.drive import Cancelled, drive_course
from models.proof.ledger import closes_to, energy_terms
from models.proof.mixture import mixture, oil_numbers, pressure_of, state_of
from models.proof.plant import two_term_law
from models.proof.prove import prove
from models.proof.run import simulate
from models.proof.start import first_state, with_course
from models.proof.step import BLOCK_FACTORS, BORDER_FACTORS, factor, solve
from models.quantity import ATMOSPHERE, to_wire
from tests.proof_cases import VAN, ready, road, sinusoid, sized, with_duty, workspace


def test_pressure_state_and_back() -> None:
    floor = ATMOSPHERE**2
    for pressure in np.geomspace(1.0, 4e7, 60):
        assert pressure_of(state_of(pressure, floor), floor) == pytest.approx(pressure, rel=1e-9)
    assert pressure_of(-1e15, floor) > 0.0


@pytest.mark.parametrize("air", [0.0, 0.002, 0.02])
def test_mixture_is_the_oil_of_the_sizing(air: float) -> None:
    """Stiffness as `models.oil.effective_bulk_modulus` says; volume and enthalpy its integrals.

    Tolerances: 2e-3, as the sizing's formula leaves out the liquid's own compression where it counts the gas; 1e-5, the
    fraction that stands for the root in the liquid's volume.
    """
    medium = oil.medium_from_data("mineral_vg32")
    zero = oil.bulk_modulus(medium, 0.0, 313.15)
    slope = medium.bulk_pressure_slope
    for pressure in np.geomspace(0.2e5, 3.5e7, 25):
        liquid = zero + slope * (pressure - ATMOSPHERE)
        expected = oil.effective_bulk_modulus(liquid, air, pressure, 1.4, 0.0, 0.0)
        mixed = oil_numbers(zero, slope, air, 1.4)
        v, yielding, bend, _ = mixture(pressure, mixed)
        modulus = 1.0 / yielding
        assert modulus == pytest.approx(expected, rel=2e-3)
        d = 1e-4 * pressure
        above, below = mixture(pressure + d, mixed), mixture(pressure - d, mixed)
        assert (above[1] - below[1]) / (2 * d) == pytest.approx(bend, rel=2e-3)
        assert (above[3] - below[3]) / (2 * d) == pytest.approx(v, rel=1e-5)
        assert -v * 2 * d / (above[0] - below[0]) == pytest.approx(modulus, rel=1e-5)


def test_edge_is_the_valves_edge() -> None:
    """With no line the flow through `edge` puts `meter` at the opening it came from."""
    law = metering_edge(5e-4, 1.0, 850.0, 0.02)
    cap, annulus, supply, back, load = 1e-3, 7e-4, 1.4e7, 3e5, 2000.0
    speed = 0.25
    opening, inlet, outlet, _, _ = meter(
        load, cap * speed, annulus * speed, cap, annulus, law.gain, law.transition, law.gain, law.transition, 0.0, 0.0,
        supply, back, -math.inf,
    )  # fmt: skip
    assert edge(supply - inlet, law.gain, law.transition, opening, 0.0, 0.0)[0] == pytest.approx(cap * speed, rel=1e-12)
    assert edge(outlet - back, law.gain, law.transition, opening, 0.0, 0.0)[0] == pytest.approx(
        annulus * speed, rel=1e-12
    )


def test_edge_slopes_are_its_slopes() -> None:
    for drop in (-8e6, -1e3, 2e4, 5e6):
        for opening in (0.01, 0.4, 1.0):
            flow, slope, by_opening = edge(drop, 3e-7, 8e-7, opening, 5e7, 1e11)
            d = 1e-5 * abs(drop)
            ahead, behind = (
                edge(drop + d, 3e-7, 8e-7, opening, 5e7, 1e11),
                edge(drop - d, 3e-7, 8e-7, opening, 5e7, 1e11),
            )
            assert slope == pytest.approx((ahead[0] - behind[0]) / (2 * d), rel=1e-5)
            wider, closer = (edge(drop, 3e-7, 8e-7, opening * (1 + s), 5e7, 1e11)[0] for s in (1e-5, -1e-5))
            assert by_opening == pytest.approx((wider - closer) / (2e-5 * opening), rel=1e-5)
            assert edge(-drop, 3e-7, 8e-7, opening, 5e7, 1e11)[0] == -flow


def test_two_term_law_is_the_line_where_it_is_laminar_and_near_it_beyond() -> None:
    def cold(flow: float) -> float:
        return float(line_pressure_drop(flow, 0.002, 2.0, 800.0, 2.0, 850.0, 0.05, 1e-6))

    a, b = two_term_law(cold, 3e-5)
    for flow in np.linspace(1e-7, 3e-5, 30):
        assert a * flow + b * flow**2 == pytest.approx(cold(flow), rel=1e-3)

    def hot(flow: float) -> float:
        return float(line_pressure_drop(flow, 0.0125, 3.0, 2400.0, 5.0, 850.0, 0.012, 1.5e-6))

    a, b = two_term_law(hot, 6e-4)
    for flow in np.linspace(1e-5, 6e-4, 30):
        assert a * flow + b * flow**2 == pytest.approx(hot(flow), abs=0.12 * hot(6e-4))


def test_friction_breaks_out_and_runs() -> None:
    speeds = np.linspace(0.0, 1.0, 4001)
    force = np.array([seal_friction(v, 100.0, 300.0, 0.001, 0.02, 0.0)[0] for v in speeds])
    assert 240.0 < force.max() < 300.0
    assert force[-1] == pytest.approx(100.0, rel=1e-2)
    assert (
        seal_friction(-0.3, 100.0, 300.0, 0.001, 0.02, 5.0)[0] == -seal_friction(0.3, 100.0, 300.0, 0.001, 0.02, 5.0)[0]
    )


CASES: dict[str, dict[str, Any]] = {
    "parallel": with_duty(VAN, road("C", 70)),
    "series": with_duty(VAN, road("C", 70), arrangement="series"),
    "corner_accumulator": with_duty(VAN, road("C", 70), arrangement="corner_accumulator"),
    "imposed": with_duty(VAN, sinusoid(0.3, 2000.0, 2.0)),
}


@pytest.mark.parametrize("case", CASES)
def test_solver_inverts_the_jacobian(case: str) -> None:
    """(I - g·J)·solve(b) = b with J by central differences of `rates`, but for small entries left out."""
    circuit, course = ready(CASES[case], 0.2)
    run = drive_course(circuit, course)
    c, z = with_course(circuit, course)
    c[:, at.BREAK_OUT] = c[:, at.COULOMB]  # friction that falls with speed is left out of the matrix
    n, y = c.shape[0], run.state
    parts, cparts, power, flows = workspace(n)
    slopes = np.zeros((n + 2, 2))
    orders, centre = np.full(n, 0.2), np.array([1.0, 150.0, 200.0, 20.0])

    def f(state: np.ndarray) -> np.ndarray:
        dy = np.zeros_like(state)
        rates(
            c,
            z,
            circuit.gas,
            state,
            orders,
            centre,
            course.inputs[-1],
            slopes,
            0.0,
            dy,
            parts,
            cparts,
            power,
            flows,
            True,
        )
        return dy

    size = y.size
    step = np.maximum(1e-6 * np.abs(y), 1e-8)
    jacobian = np.zeros((size, size))
    for j in range(size):
        up, down = y.copy(), y.copy()
        up[j] += step[j]
        down[j] -= step[j]
        jacobian[:, j] = (f(up) - f(down)) / (up[j] - down[j])
    f(y)
    g = 2e-4
    blocks, border = np.zeros((n, BLOCK_FACTORS)), np.zeros(BORDER_FACTORS)
    factor(c, z, parts, cparts, g, blocks, border)
    k = np.zeros(size)
    scale = np.maximum(np.abs(f(y)), np.max(np.abs(f(y))) * 1e-9 + 1e-3)
    generator = np.random.default_rng(0)
    rhs = scale * generator.standard_normal(size)
    solve(c, z, parts, cparts, g, blocks, border, rhs, k)
    exact = np.linalg.solve(np.eye(size) - g * jacobian, rhs)
    for group in (at.P1, at.P2, at.SPOOL, at.WHEEL_RATE):
        rows = [i * at.SLOTS + group for i in range(n)]
        size_of = np.max(np.abs(exact[rows]))
        if size_of > 0.0:
            assert np.max(np.abs(k[rows] - exact[rows])) < 0.03 * size_of
    rows = [n * at.SLOTS + j for j in (at.RAIL, at.PORT_P, at.PORT_T)]
    assert np.allclose(k[rows], exact[rows], rtol=0.03, atol=0.03 * np.max(np.abs(exact[rows])))


@pytest.mark.parametrize("case", CASES)
def test_energy_ledger_closes_at_second_order(case: str) -> None:
    circuit, course = ready(CASES[case], 1.0)
    left = []
    for largest in (1e-3, 1e-4):
        run = drive_course(circuit, course, largest=largest)
        gained = run.end[1] + run.end[2] - run.start[1] - run.start[2]
        left.append(abs(closes_to(energy_terms(run.work, gained, course.imposed))))
    assert left[0] < 1e-3
    assert left[1] < max(0.1 * left[0], 2e-5)


def test_closed_circuit_keeps_oil_and_energy_at_second_order() -> None:
    """Valves shut, nothing leaks or rubs, no damper: a body set swinging on its oil keeps energy; the oil stays."""
    circuit, course = ready(with_duty(VAN, road("A", 50)), 0.5)
    corners, centre = circuit.corners.copy(), circuit.centre.copy()
    for column in (at.GAIN_A, at.GAIN_B, at.COULOMB, at.BREAK_OUT, at.VISCOUS, at.PISTON_LEAK, at.GLAND_LEAK,
                   at.GLAND_CAP, at.DAMPING, at.STOP):  # fmt: skip
        corners[:, column] = 0.0
    corners[:, at.TRANSITION_A] = corners[:, at.TRANSITION_B] = 1e-6
    centre[at.START_SPEED], centre[at.LEAK] = centre[at.LEAST_SPEED], 0.0
    course = dataclasses.replace(
        course, law=(None,) * 4, inputs=np.where(np.arange(course.inputs.shape[1])[None, :, None] < 4, 0.004, 0.0)
        + 0.0 * course.inputs,
    )  # fmt: skip
    closed = dataclasses.replace(circuit, corners=corners, centre=centre)
    oil_left, energy_left = [], []
    for largest in (1e-3, 5e-4, 2.5e-4):
        run = drive_course(closed, course, mode=2, accuracy=1e4, largest=largest)
        state = run.state
        n = 4
        chambers = []
        for y in (first_state(closed, np.zeros(n)), state):
            total = 0.0
            for i in range(n):
                row, k = corners[i], i * at.SLOTS
                arms = row[at.ARM_HEAVE : at.ARM_HEAVE + 3]
                piston = float(arms @ y[n * at.SLOTS : n * at.SLOTS + 3]) - y[k + at.WHEEL]
                for slot, volume in (
                    (at.P1, row[at.CAP_VOLUME] + row[at.CAP] * piston),
                    (at.P2, row[at.ANNULUS_VOLUME] - row[at.ANNULUS] * piston),
                ):
                    p = pressure_of(y[k + slot], centre[at.FLOOR])
                    mixed = oil_numbers(centre[at.MODULUS], centre[at.MODULUS_SLOPE], centre[at.AIR], 1.4)
                    v = mixture(p, mixed)[0]
                    total += (volume + row[at.HOSE] * (p - ATMOSPHERE)) / v
            chambers.append(total)
        oil_left.append(abs(chambers[1] - chambers[0]) / chambers[0])
        swing = 4 * 0.5 * corners[0, at.TYRE] * 0.004**2
        mechanical = run.end[1] + run.end[2] - run.start[1] - run.start[2]
        terms = energy_terms(run.work, mechanical, False)
        energy_left.append(abs(math.fsum(v for _, v in terms)) / swing)
    assert max(oil_left) < 1e-7
    assert energy_left[0] < 2e-3
    assert energy_left[2] < 0.3 * energy_left[1] < 0.3 * 0.3 * energy_left[0]


def test_same_seed_same_numbers_and_other_seed_other_road() -> None:
    circuit, course = ready(CASES["parallel"], 0.3, seed=5)
    first, second = drive_course(circuit, course), drive_course(circuit, course)
    assert np.array_equal(first.corner_trace, second.corner_trace)
    assert np.array_equal(first.work, second.work)
    _, other = ready(CASES["parallel"], 0.3, seed=6)
    assert not np.array_equal(course.inputs, other.inputs)


def test_proof_is_finite_on_the_wire_and_can_be_cancelled() -> None:
    spec, demand, account = sized(CASES["parallel"])
    said: list[float] = []
    proof, _ = prove(account, spec, demand, duration=4.0, progress=lambda _, share: said.append(share))
    to_wire(proof)
    assert said == sorted(said)
    assert said[-1] == pytest.approx(1.0)
    with pytest.raises(Cancelled):
        prove(account, spec, demand, duration=4.0, cancel=lambda: True)


def bad(name: str) -> dict[str, Any]:
    stock = dict(VAN["stock"])
    if name == "weight":
        stock |= {"bore_mm": [12], "rod_mm": [6], "pressure_bar": [40]}
        return with_duty(VAN, road("B", 50), stock=stock, weight_carried_by="actuator")
    if name == "starved":
        stock |= {"pump_displacement_cm3_rev": [1], "motor_power_w": [1600]}
        return with_duty(VAN, road("E", 60), stock=stock)
    if name == "leak":
        stock |= {"pump_displacement_cm3_rev": [0.8], "motor_power_w": [1600]}
        measured = {"valve": {"rated_flow_l_min": 40, "rated_pressure_drop_bar": 70, "bandwidth_hz": 60,
                              "null_leakage_l_min": 15, "leakage_pressure_bar": 140, "mass_kg": 2}}  # fmt: skip
        return with_duty(VAN, road("B", 50), stock=stock, measured=measured)
    raise KeyError(name)


@pytest.mark.parametrize(
    ("name", "event"),
    [("weight", "weight_not_held"), ("starved", "accumulator_empty"), ("leak", "leakage_beats_pump")],
)
def test_bad_designs_end_with_a_verdict(name: str, event: str) -> None:
    """The run ends, names what happened and when, and no number is NaN."""
    spec, demand, account = sized(bad(name))
    proof, _ = prove(account, spec, demand, duration=6.0)
    assert not proof.passed
    to_wire(proof)
    found = [e for duty in proof.duties for e in duty.events if e.name == event]
    assert found
    assert 0.0 <= found[0].time <= 6.0
    assert found[0].ends_proof
    assert any(event in shortfall.what for shortfall in proof.shortfalls)


def test_car_without_any_damping_ends_with_a_verdict() -> None:
    """Actuators that ask no force and no damper: the rough road drives the wheels to their stops."""
    spec, demand, account = sized(CASES["parallel"])
    bare = {"retained_damping": 0.0}
    law = spec.duty[0].control.model_copy(update={"skyhook_damping": 0.0, "wheel_damping": 0.0})  # type: ignore[union-attr]
    duty = spec.duty[0].model_copy(update={"control": law, "road_class": "F"})
    loose = spec.model_copy(
        update={"front": spec.axle("front").model_copy(update=bare), "rear": spec.axle("rear").model_copy(update=bare),
                "duty": [duty]}
    )  # fmt: skip
    proof, _ = prove(account, loose, demand, duration=6.0)
    assert not proof.passed
    to_wire(proof)
    names = {e.name for d in proof.duties for e in d.events}
    assert names & {"bottomed", "motion_grows", "tyre_lifted"}


def test_rail_integral_waits_while_the_shaft_cannot_follow() -> None:
    """Neither a shaft that coasts, which no torque brakes, nor one at its torque limit moves the rail's integral."""
    circuit, course = ready(with_duty(VAN, road("C", 70)), 0.1)
    _, z = with_course(circuit, course)
    z[at.CONTROL], z[at.BUS_POWER] = SPEED, 0.0
    full = z[at.MOST_SPEED] * z[at.DISPLACEMENT]

    def integral(rail: float, omega: float, drawn: float) -> float:
        kept, centre = np.array([0.0, drawn, drawn]), np.zeros(at.ORDERS)
        centre[at.LOADED] = 1.0
        for _ in range(2):  # the second sample knows torque and limit of the first
            before = kept[0]
            centre_orders(z, rail, omega, kept, 1e-3, centre)
        return float(kept[0] - before)

    high, swing = z[at.HIGH] + ATMOSPHERE, 1e-3 * z[at.HIGH]
    assert integral(high + swing, 0.9 * z[at.MOST_SPEED], 0.2 * full) == 0.0  # coasts
    assert integral(high + swing, 0.5 * z[at.MOST_SPEED], 0.5 * full) < 0.0
    assert integral(high - swing, z[at.LEAST_SPEED], 0.9 * full) == 0.0  # at its torque limit
    assert integral(high - swing, 0.5 * z[at.MOST_SPEED], 0.5 * full) > 0.0


def test_dead_band_opens_nothing_and_loses_no_stroke() -> None:
    """Zero up to the band, full at full stroke, odd, and its slope its slope."""
    for band in (0.0, 0.08, 0.3):
        assert spool_opening(0.5 * band, band)[0] == 0.0
        assert spool_opening(1.0, band)[0] == pytest.approx(1.0, rel=1e-15)
        for spool in (1.01 * band + 1e-6, 0.5, 0.9):
            opening, slope = spool_opening(spool, band)
            assert spool_opening(-spool, band) == (-opening, slope)
            ahead, behind = spool_opening(spool + 1e-7, band)[0], spool_opening(spool - 1e-7, band)[0]
            assert slope == pytest.approx((ahead - behind) / 2e-7, rel=1e-6)


def test_a_dead_band_costs_force_and_is_counted_once() -> None:
    """The spool crosses it each time the flow turns: a larger error of force, the more the wider it is."""
    valve = {
        "rated_flow_l_min": 40.0, "rated_pressure_drop_bar": 70.0, "bandwidth_hz": 90.0, "null_leakage_l_min": 0.8,
        "leakage_pressure_bar": 140.0, "mass_kg": 1.2,
    }  # fmt: skip
    errors = []
    for band in (0.0, 0.05, 0.2):
        circuit, course = ready(with_duty(VAN, road("C", 70), measured={"valve": {**valve, "dead_band": band}}), 4.0)
        run = drive_course(circuit, course)
        assert run.stopped is None
        error = run.corner_trace[:, :, at.T_FORCE] - run.corner_trace[:, :, at.T_WANTED]
        errors.append(float(np.sqrt(np.mean(error**2))))
    assert errors[0] < errors[1] < errors[2]


def test_bus_gives_no_more_than_it_can() -> None:
    """At half of what the machine would draw at its most, the torque limit keeps the bus within a fiftieth of that."""
    circuit, course = ready(with_duty(VAN, sinusoid(0.3, 2000.0, 2.0)), 2.0)
    free = float(drive_course(circuit, course).centre_trace[:, at.T_BUS].max())
    centre = circuit.centre.copy()
    centre[at.BUS_POWER] = 0.5 * free
    run = drive_course(dataclasses.replace(circuit, centre=centre), course)
    assert run.centre_trace[:, at.T_BUS].max() < 1.02 * centre[at.BUS_POWER]
    assert run.centre_trace[:, at.T_BUS].max() > 0.9 * centre[at.BUS_POWER]


def test_a_stated_motion_swells_from_rest_and_is_whole_when_settled() -> None:
    _, course = ready(with_duty(VAN, sinusoid(0.3, 2000.0, 2.0)), 2.0)
    speed, travel, force = course.inputs[:, 0, 1], course.inputs[:, 0, 0], course.wanted[:, 0]
    settled = round(course.settle / (course.seconds / (len(speed) - 1)))
    assert speed[0] == force[0] == 0.0
    assert np.abs(speed[:settled]).max() <= 0.3
    assert np.abs(speed[settled:]).max() == pytest.approx(0.3, rel=1e-4)
    assert np.abs(force[settled:]).max() == pytest.approx(2000.0, rel=1e-4)
    amplitude = 0.3 / (2.0 * math.pi * 2.0)
    assert travel[settled:].max() == pytest.approx(amplitude, rel=2e-3)
    assert travel[settled:].min() == pytest.approx(-amplitude, rel=2e-3)


def test_one_compiled_version_of_the_run_serves_every_case() -> None:
    """One corner or four, one sample or many: another layout of an array would be compiled anew, within a request."""
    for document, seconds in (
        (CASES["parallel"], 0.1),
        (CASES["imposed"], 0.002),
        (with_duty(VAN, road("C", 70), corners_fitted="one"), 0.1),
    ):
        drive_course(*ready(document, seconds))
    assert len(simulate.signatures) == 1
