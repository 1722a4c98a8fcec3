"""Small motions and single parts of the run against textbook formulas, python-control and CoolProp."""

from __future__ import annotations

import dataclasses
import math

import control
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from models.proof import layout as at
from models.proof.circuit import rates, stored_oil
from models.proof.plant import Circuit, isentrope_table
from models.proof.start import first_state, with_course
from models.quantity import ATMOSPHERE
from tests.proof_cases import VAN, ready, road, with_duty, workspace

INCH = 0.0254
PSI = 6894.757293168361
POUND_FORCE = 4.4482216152605


def lone_piston(area: float, chamber: float, modulus: float, mass: float) -> tuple[Circuit, np.ndarray, np.ndarray]:
    """A corner that is one through-rod piston between stiff supply and return, moving `mass` against a fixed wheel."""
    circuit, course = ready(with_duty(VAN, road("A", 50)), 0.1)
    c, z = with_course(circuit, course)
    c, z = c[:1].copy(), z.copy()
    zero = (at.HOSE, at.UNDERLAP, at.LINE_LAMINAR, at.LINE_TURBULENT, at.COULOMB, at.BREAK_OUT, at.VISCOUS,
            at.PISTON_LEAK, at.GLAND_LEAK, at.GLAND_CAP, at.SPRING, at.DAMPING, at.BAR, at.ARM_PITCH,
            at.ARM_ROLL)  # fmt: skip
    c[0, list(zero)] = 0.0
    c[0, at.RATIO] = 1.0
    c[0, [at.CAP, at.ANNULUS]], c[0, [at.CAP_VOLUME, at.ANNULUS_VOLUME]] = area, chamber
    c[0, at.UNSPRUNG] = 1e12
    z[at.MODULUS], z[at.MODULUS_SLOPE], z[at.AIR] = modulus, 0.0, 0.0
    z[at.BODY_MASS] = mass
    z[[at.PORT_P_VOLUME, at.PORT_T_VOLUME, at.RAIL_VOLUME]] = 1e6
    return circuit, c, z


def jacobian(circuit: Circuit, c: np.ndarray, z: np.ndarray, y: np.ndarray, order: float) -> np.ndarray:
    """d(rates)/d(states) by central differences, one corner."""
    parts, cparts, power, flows = workspace(1)
    inputs, slopes = np.zeros((3, 2)), np.zeros((3, 2))

    def f(state: np.ndarray) -> np.ndarray:
        dy = np.zeros_like(state)
        rates(c, z, circuit.gas, state, np.array([order]), np.zeros(at.ORDERS), inputs, slopes, 0.0, dy, parts, cparts,
              power, flows, True)  # fmt: skip
        return dy

    columns = []
    for j in range(y.size):
        h = max(1e-6 * abs(y[j]), 1e-7)
        up, down = y.copy(), y.copy()
        up[j] += h
        down[j] -= h
        columns.append((f(up) - f(down)) / (up[j] - down[j]))
    return np.array(columns).T


def test_position_servo_natural_frequency() -> None:
    """ESP17.1: A 5 in², β 175000 psi, V 50 in³ of one chamber, M 2.59 lb·s²/in: wH = A·√(2β/(V·M)) = 259.9 rad/s.

    Source: Esposito, Fluid Power with Applications, example 17.1 (row ESP17.1 of the worked examples).
    """
    mass = 2.59 * POUND_FORCE / INCH
    circuit, c, z = lone_piston(5 * INCH**2, 50 * INCH**3, 175000 * PSI, mass)
    y = first_state(dataclasses.replace(circuit, corners=c, centre=z), np.zeros(1))
    full = jacobian(circuit, c, z, y, 0.0)
    piston = [at.P1, at.P2, at.SLOTS + at.HEAVE, at.SLOTS + at.HEAVE_RATE]  # the spool swings on its own
    swings = np.linalg.eigvals(full[np.ix_(piston, piston)]).imag
    # the oil at 70 bar above the atmosphere is stiffer by its own compression, 0.3 % here
    assert np.max(swings) == pytest.approx(259.9, rel=4e-3)
    assert np.max(swings) > 259.85


def test_frequency_response_is_the_textbooks() -> None:
    """Spool to piston speed: (Kq/A)/(s²/ωh² + 2δ·s/ωh + 1), evaluated by python-control.

    ωh² = 4β·A²/(Vt·M), 2δ/ωh = Kc·M/A². Source: Merritt, Hydraulic Control Systems, valve and piston; recalled.
    """
    area, chamber, modulus, mass = 1e-3, 4e-4, 1.3e9, 400.0
    circuit, c, z = lone_piston(area, chamber, modulus, mass)
    open_by = 0.05
    c[0, at.UNDERLAP] = open_by  # an under-lapped spool at rest: gains without a kink
    c[0, [at.TRANSITION_A, at.TRANSITION_B]] = 1e-12
    y = first_state(dataclasses.replace(circuit, corners=c, centre=z), np.zeros(1))
    y[at.SPOOL] = 1e-3 * open_by
    full = jacobian(circuit, c, z, y, float(y[at.SPOOL]))
    states = [at.P1, at.P2, at.SLOTS + at.HEAVE_RATE]
    a = full[np.ix_(states, states)]
    b = full[np.ix_(states, [at.SPOOL])]
    plant = control.ss(a, b, np.array([[0.0, 0.0, 1.0]]), 0.0)
    gain, supply, back = c[0, at.GAIN_A], z[at.HIGH], z[at.RESERVOIR]
    half = 0.5 * (supply - back)
    # one edge opens as its opposite shuts; each gives gain·√half of flow and gain·opening/(2·√half) of slope
    flow_gain = gain * math.sqrt(half)
    pressure_gain = 2.0 * gain * open_by / (2.0 * math.sqrt(half))
    omega = area * math.sqrt(2.0 * modulus / (chamber * mass))
    textbook = control.tf([flow_gain / area], [1 / omega**2, 0.5 * pressure_gain * mass / area**2, 1.0])
    for w in np.geomspace(0.1 * omega, 5.0 * omega, 9):
        ours, theirs = plant(1j * w), textbook(1j * w)
        assert abs(ours - theirs) < 0.03 * abs(theirs)


@pytest.mark.parametrize(("high", "low"), [(200.0, 150.0), (140.0, 105.0), (25.0, 18.0)])
def test_bottle_empties_as_nitrogen_does_without_heat(high: float, low: float) -> None:
    """Oil given between two pressures (bar gauge) by a litre of nitrogen, without heat: CoolProp's isentrope.

    Source: CoolProp, Nitrogen (Span et al. 2000). Tolerance half a per cent of what is given: the rounded closing.
    """
    top, bottom, warm = high * 1e5 + ATMOSPHERE, low * 1e5 + ATMOSPHERE, 293.15
    volume = 1e-3
    mass = volume * PropsSI("D", "P", 0.9 * bottom, "T", warm, "Nitrogen")
    logs = np.linspace(math.log(0.3 * bottom), math.log(1.5 * top), 400)
    table = isentrope_table(mass, volume, top, warm, logs)
    step = logs[1] - logs[0]
    given = stored_oil(table, logs[0], step, top)[0] - stored_oil(table, logs[0], step, bottom)[0]
    entropy = PropsSI("S", "P", top, "T", warm, "Nitrogen")
    thin = PropsSI("D", "P", bottom, "S", entropy, "Nitrogen")
    assert given == pytest.approx(mass / thin - mass / PropsSI("D", "P", top, "T", warm, "Nitrogen"), rel=5e-3)
