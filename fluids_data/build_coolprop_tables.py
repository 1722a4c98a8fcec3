"""Writes the nitrogen and glycol-water tables from CoolProp: `python -m fluids_data.build_coolprop_tables`.

Knows: the grids, and which CoolProp calls fill them. Does not know: how the tables are interpolated at run time.
CoolProp takes seconds to import, so nothing else in the product calls it; this script imports it when it runs.

The nitrogen grid is for bilinear interpolation in kelvin and pascal with density within 0.1 % of the equation of state
(Span et al. 2000) and entropy within 1 J/(kg K). It reaches down to -120 °C because nitrogen at -30 °C and 400 bar
that doubles its volume without heat cools that far. Pressures are absolute; entropy and internal energy count from
CoolProp's own reference state, so only their differences mean anything.
"""

import csv
from collections.abc import Iterable, Sequence
from math import exp, log
from pathlib import Path

ROOM = Path(__file__).parent

# From one temperature or pressure to the next, in how many steps.
TEMPERATURE_SPANS_C = ((-120, -100, 16), (-100, -70, 15), (-70, -10, 15), (-10, 50, 10), (50, 160, 11))
PRESSURE_SPANS_BAR = ((1, 20, 24), (20, 120, 40), (120, 420, 18))
# Nitrogen at one atmosphere: what a burst vessel's gas ends up as, partly liquid when it started above some 150 bar.
VENTED_SPANS_C = ((-192, -112, 16), (-112, 168, 28))
ATMOSPHERE = 101325.0
GLYCOL_SPANS_C = ((-30, 100, 52),)
GLYCOL_NAME = "INCOMP::MEG[0.5]"
ICE_POINT = 273.15
BAR = 1e5


def temperatures_c(spans: Iterable[tuple[float, float, int]]) -> list[float]:
    """Evenly spaced temperatures (°C) through consecutive spans (low, high, steps), both ends included."""
    spans = tuple(spans)
    steps = [low + (high - low) * i / count for low, high, count in spans for i in range(count)]
    return [*steps, float(spans[-1][1])]


def pressures_bar(spans: Iterable[tuple[float, float, int]]) -> list[float]:
    """Pressures (bar) in equal ratios through consecutive spans, rounded to four digits, both ends included."""
    spans = tuple(spans)
    steps = [low * exp(log(high / low) * i / count) for low, high, count in spans for i in range(count)]
    return [float(f"{pressure:.4g}") for pressure in [*steps, float(spans[-1][1])]]


def nitrogen_state(temperature: float, pressure: float) -> tuple[float, float, float]:
    """Density (kg/m³), specific entropy (J/(kg K)) and internal energy (J/kg) of nitrogen.

    `temperature` in kelvin (63 to 2000), `pressure` in Pa absolute (to 2200 MPa). Source: [span2000], by [coolprop].
    """
    from CoolProp.CoolProp import PropsSI

    density, entropy, energy = (
        PropsSI(name, "T", temperature, "P", pressure, "Nitrogen") for name in ("Dmass", "Smass", "Umass")
    )
    return density, entropy, energy


def vented_nitrogen() -> Iterable[tuple[float, float, float]]:
    """Temperature (°C), specific entropy (J/(kg K)) and internal energy (J/kg) of nitrogen at one atmosphere.

    Saturated liquid, saturated vapour, then gas. Between the first two both are linear in the share that is vapour, so
    a straight line through them is exact. Source: [span2000], by [coolprop].
    """
    from CoolProp.CoolProp import PropsSI

    for vapour in (0.0, 1.0):
        temperature, entropy, energy = (
            PropsSI(name, "P", ATMOSPHERE, "Q", vapour, "Nitrogen") for name in ("T", "Smass", "Umass")
        )
        yield temperature - ICE_POINT, entropy, energy
    for temperature in temperatures_c(VENTED_SPANS_C):
        _, entropy, energy = nitrogen_state(temperature + ICE_POINT, ATMOSPHERE)
        yield temperature, entropy, energy


def glycol_water_state(temperature: float) -> tuple[float, float, float, float]:
    """Density (kg/m³), heat capacity (J/(kg K)), conductivity (W/(m K)), viscosity (Pa s) of ethylene glycol in water.

    Half by mass, at atmospheric pressure; `temperature` in kelvin (236 to 373). Source: [melinder2010], by [coolprop].
    """
    from CoolProp.CoolProp import PropsSI

    density, heat_capacity, conductivity, viscosity = (
        PropsSI(name, "T", temperature, "P", BAR, GLYCOL_NAME) for name in ("D", "C", "L", "V")
    )
    return density, heat_capacity, conductivity, viscosity


def write(name: str, header: Sequence[str], rows: Iterable[Sequence[float]], source: str, kind: str) -> None:
    """Write one table into this room, seven significant digits a number, the same source and kind in each row."""
    with (ROOM / f"{name}.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([*header, "source", "kind"])
        writer.writerows([*(f"{value:.7g}" for value in row), source, kind] for row in rows)


def main() -> None:
    """Write the tables."""
    write(
        "nitrogen",
        ("temperature_c", "pressure_bar", "density_kg_m3", "entropy_j_kg_k", "internal_energy_j_kg"),
        (
            (temperature, pressure, *nitrogen_state(temperature + ICE_POINT, pressure * BAR))
            for temperature in temperatures_c(TEMPERATURE_SPANS_C)
            for pressure in pressures_bar(PRESSURE_SPANS_BAR)
        ),
        "span2000",
        "paper",
    )
    write(
        "nitrogen_vented",
        ("temperature_c", "entropy_j_kg_k", "internal_energy_j_kg"),
        vented_nitrogen(),
        "span2000",
        "paper",
    )
    write(
        "glycol_water_50",
        ("temperature_c", "density_kg_m3", "heat_capacity_j_kg_k", "conductivity_w_m_k", "viscosity_mpa_s"),
        (
            (temperature, density, heat_capacity, conductivity, viscosity * 1e3)
            for temperature in temperatures_c(GLYCOL_SPANS_C)
            for density, heat_capacity, conductivity, viscosity in [glycol_water_state(temperature + ICE_POINT)]
        ),
        "melinder2010",
        "handbook",
    )


if __name__ == "__main__":
    main()
