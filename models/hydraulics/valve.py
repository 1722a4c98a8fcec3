"""A four-edge spool valve on a cylinder: the opening that carries a load, and the pressures it leaves in the chambers.

Meter-in and meter-out are solved together for unequal areas. Knows numbers only: no spec, no demand. Ports as in
ISO 1219: P supply, T tank, A cap side, B annulus side. A spool is `symmetric` when all edges are alike, `matched` when
the B edges are smaller in the ratio annulus/cap, so that both chambers meter alike.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from numba import njit

from models.compiled import KERNEL
from models.hydraulics.orifice import orifice_area, transition_flow

LAND_PRESSURE_DROP = 35e5
"""Drop over one land at which a valve's rated flow is stated, Pa. Source: [iso10770], practice from memory."""

DISCHARGE = 0.611
"""Discharge coefficient of a sharp turbulent slot. Source: [merritt1967]."""

SLOT_LAMINAR = 0.157
"""Laminar discharge parameter δ of a slot, Cd = δ·√Re. Source: [merritt1967], from memory."""

SLOT_ASPECT = 8.0
"""Land width over full opening. Source: [estimate]."""

RATING_DENSITY = 870.0
"""Density of the oil a valve is rated in, kg/m³. Source: [common_practice]."""


class Edge(NamedTuple):
    """One metering edge in an oil: drop = (Q² + Q·`transition`) / (`gain`·x)², x the opening from 0 to 1."""

    gain: float
    transition: float


def metering_edge(rated_flow: float, scale: float, density: float, dynamic_viscosity: float) -> Edge:
    """The edge of a valve of `rated_flow` m³/s at 35 bar a land, its area scaled by `scale`, in the given oil.

    gain is in m³/s per √Pa at full opening, transition in m³/s. Source: [merritt1967] orifice law with its laminar
    part added as drop ∝ Q² + Q·Qt; continuous, square-root at high and linear at low flow.
    """
    full_area = orifice_area(rated_flow, LAND_PRESSURE_DROP, DISCHARGE, RATING_DENSITY)
    slot_height = math.sqrt(full_area / SLOT_ASPECT)
    area = full_area * scale
    gain = DISCHARGE * area * math.sqrt(2.0 / density)
    transition = transition_flow(area, 2.0 * slot_height, DISCHARGE, SLOT_LAMINAR, density, dynamic_viscosity)
    return Edge(gain, transition)


class Metering(NamedTuple):
    """What a spool does at one operating point.

    opening: share of full stroke, infinite when the load cannot be moved at all; inlet, outlet: gauge pressure of the
    chamber that fills and of the one that empties, Pa; load_share: load over the greatest load at zero flow;
    makeup: whether an anti-cavitation check feeds the filling chamber.
    """

    opening: float
    inlet: float
    outlet: float
    load_share: float
    makeup: bool


@njit(**KERNEL)
def meter(
    load: float,
    inlet_flow: float,
    outlet_flow: float,
    inlet_area: float,
    outlet_area: float,
    inlet_gain: float,
    inlet_transition: float,
    outlet_gain: float,
    outlet_transition: float,
    inlet_line_drop: float,
    outlet_line_drop: float,
    supply: float,
    back: float,
    makeup_pressure: float,
) -> tuple[float, float, float, float, bool]:
    """Opening and chamber pressures at which a spool moves a cylinder against a load; fields of `Metering`.

    load: force against the motion, friction included, N; negative when it drives the motion (overrunning).
    inlet_*, outlet_*: flow m³/s (≥ 0), area m² and edge of the chamber that fills and of the one that empties; the
    line drops (Pa) stand between valve and chamber. supply, back: gauge pressure at the valve's P and T. An
    anti-cavitation check holds the inlet at `makeup_pressure` (gauge Pa); pass -inf where none is fitted.
    Source: [merritt1967] orifice law on both edges with the force balance; x² follows in closed form. Derived.
    """
    stall = supply * inlet_area - back * outlet_area
    share = load / stall if stall > 0.0 else math.inf
    if inlet_flow <= 0.0:
        inlet = 0.5 * (supply + back)
        outlet = (inlet * inlet_area - load) / outlet_area
        return 0.0 if share <= 1.0 else math.inf, inlet, outlet, share, False
    rest = (supply - inlet_line_drop) * inlet_area - (back + outlet_line_drop) * outlet_area - load
    if rest <= 0.0:
        return (
            math.inf,
            supply - inlet_line_drop,
            back + outlet_line_drop,
            max(share, 1.0 - rest / max(stall, 1.0)),
            False,
        )
    inlet_term = (inlet_flow * inlet_flow + inlet_flow * inlet_transition) / (inlet_gain * inlet_gain)
    outlet_term = (outlet_flow * outlet_flow + outlet_flow * outlet_transition) / (outlet_gain * outlet_gain)
    square = (inlet_area * inlet_term + outlet_area * outlet_term) / rest
    inlet = supply - inlet_line_drop - inlet_term / square
    outlet = back + outlet_line_drop + outlet_term / square
    if inlet >= makeup_pressure:
        return math.sqrt(square), inlet, outlet, share, False
    outlet = (makeup_pressure * inlet_area - load) / outlet_area
    drop = outlet - back - outlet_line_drop
    if drop <= 0.0:
        return math.inf, makeup_pressure, outlet, share, True
    return math.sqrt(outlet_term / drop), makeup_pressure, outlet, share, True
