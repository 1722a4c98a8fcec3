"""Warnings of corners that carry the weight: gas springs, their orifices, and what sinks at key-off.

As `cautions`, of which this is a part; values come from the design's records.
"""

from __future__ import annotations

from collections.abc import Iterator

from models.quantity import ZERO_CELSIUS, plain
from models.sizing.account import BAR, Account
from models.sizing.design import Corner, CornerGas, Design
from models.warning import DesignWarning, warn


def gas_springs(design: Design) -> Iterator[tuple[str, Corner, CornerGas]]:
    """(axle, corner, its gas spring) of each axle that has one."""
    for where, corner in (("front", design.front), ("rear", design.rear)):
        if corner is not None and corner.gas is not None:
            yield where, corner, corner.gas


def gas_spring_cautions(state: Account, corner: Corner, gas: CornerGas, at: str) -> Iterator[DesignWarning]:
    spec = state.tables.task.spec
    yield warn(
        "single_acting",
        f"{at}.single_acting",
        f"the cylinder only pushes: port B of its {corner.spool} spool is plugged, and the rod side breathes through a "
        "filter that must lead oil past the seal away; neither is in the parts list",
    )
    span = max(abs(spec.oil_hot - ZERO_CELSIUS - 20.0), abs(spec.oil_cold - ZERO_CELSIUS - 20.0))
    if span >= 20.0:
        yield warn(
            "accumulator_temperature",
            f"{at}.gas",
            f"charged at 20 °C to {gas.precharge / BAR:.4g} bar; the rate is {plain(gas.cold_rate * 1e-3, 4)} N/mm "
            f"with the gas at {spec.oil_cold - ZERO_CELSIUS:.3g} °C and {gas.hot_rate * 1e-3:.4g} at "
            f"{spec.oil_hot - ZERO_CELSIUS:.3g} °C, {gas.rate * 1e-3:.4g} asked for",
            span,
            20.0,
            "K",
        )
    if gas.orifice_drop_peak > gas.static_pressure:
        yield warn(
            "orifice_empties_chamber",
            f"{at}.gas.orifice_bore",
            f"at the fastest rebound a plain orifice would drop {gas.orifice_drop_peak / BAR:.3g} bar, more than the "
            f"{gas.static_pressure / BAR:.3g} bar that drive oil through it: the chamber runs empty. A spring-loaded "
            "damping valve, or more damping beside (retained_damping), would not",
            gas.orifice_drop_peak / BAR,
            gas.static_pressure / BAR,
            "bar",
        )


def sinking(design: Design) -> str:
    rates = [
        f"{where} {plain(corner.sink_rate * 6e4)} mm/min"
        for where, corner in (("front", design.front), ("rear", design.rear))
        if corner is not None and corner.holding_pressure > 0.0
    ]
    return f" ({', '.join(rates)} with the valves shut)" if rates else ""
