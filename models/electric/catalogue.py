"""What the electric search draws on: tables of the data room in SI units, as arrays and constants.

Knows which table holds what; computes nothing but unit conversions. Every value keeps its origin in the data room.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

import fluids_data
from models.drive.electronics import DriveRegression
from models.drive.winding import insulated_diameter
from models.quantity import UNITS, ZERO_CELSIUS

Array = NDArray[np.float64]


def as_record(values: Any) -> np.void:
    """A named tuple of numbers, or of such tuples, as a NumPy record: compiled code takes it by reference."""
    parts = tuple((name, type(value)) for name, value in zip(values._fields, values, strict=True))
    record = np.zeros(1, _layout(parts))[0]
    for name, value in zip(values._fields, values, strict=True):
        record[name] = tuple(value) if isinstance(value, tuple) else value
    return record


@cache
def _layout(parts: tuple[tuple[str, type], ...]) -> np.dtype[np.void]:
    return np.dtype(
        [
            (name, [(inner, np.float64) for inner in kind._fields] if hasattr(kind, "_fields") else np.float64)
            for name, kind in parts
        ]
    )


@cache
def constants() -> Mapping[str, float]:
    """Constants of electric machines, drives and batteries by id, SI; temperatures in kelvin."""
    rows = fluids_data.load_table("machines").rows
    return MappingProxyType(
        {row.text("id"): row.number("value") + (ZERO_CELSIUS if row.text("unit") == "°C" else 0.0) for row in rows}
    )


def column(table: str, name: str) -> Array:
    """One column of numbers in SI units, by the unit its name ends with; names without one are SI already."""
    numbers = np.array(fluids_data.load_table(table).numbers(name))
    parts = name.split("_")
    for start in range(1, len(parts)):
        unit = UNITS.get("_".join(parts[start:]))
        if unit is not None and not name.endswith(("_slope_per_k", "_rise_k")):
            return numbers * unit.factor + unit.offset
    return numbers


@dataclass(frozen=True)
class Wires:
    """Round copper wire from thick to thin: gauges; bare (row 0) and insulated (row 1) diameters, m."""

    gauges: tuple[int, ...]
    diameters: Array


@cache
def wires() -> Wires:
    """The gauges on sale."""
    fixed = constants()
    bare = column("wire", "diameter_mm")
    enamel = fixed["insulation_growth"], fixed["insulation_exponent"]
    insulated = np.array([insulated_diameter(d, *enamel) for d in bare])
    gauges = tuple(int(g) for g in fluids_data.load_table("wire").numbers("gauge_awg"))
    return Wires(gauges, np.array([bare, insulated]))


class Magnet(NamedTuple):
    """A magnet grade: remanence T at 20 °C, its relative change 1/K, highest temperature K, density kg/m³."""

    remanence: float
    slope: float
    limit: float
    density: float


@cache
def magnets() -> Mapping[str, Magnet]:
    """Magnet grades by id."""
    columns = ("remanence_t", "remanence_slope_per_k", "max_temperature_c", "density_kg_m3")
    values = zip(*(column("magnets", name).tolist() for name in columns), strict=True)
    ids = (row.text("id") for row in fluids_data.load_table("magnets").rows)
    return MappingProxyType({name: Magnet(*row) for name, row in zip(ids, values, strict=True)})


@cache
def magnet_records() -> NDArray[np.void]:
    """The grades as an array of records, in the same order."""
    return np.array([as_record(grade) for grade in magnets().values()])


@cache
def insulation_classes() -> tuple[float, ...]:
    """Thermal classes, K, rising. Source: [iec60085]."""
    return tuple(column("insulation", "class_temperature_c").tolist())


class Cooling(NamedTuple):
    """A way to cool a case.

    liquid: 1 or 0; area_factor: convecting surface over smooth case; air_speed: m/s; film: W/(m²·K) of a jacket;
    rise: K of the coolant over ambient; masses kg/m² of case, kg/W of heat, kg; powers W/W and W.
    """

    liquid: float
    area_factor: float
    air_speed: float
    film: float
    rise: float
    mass_per_area: float
    mass_per_heat: float
    fixed_mass: float
    power_per_heat: float
    fixed_power: float


@cache
def coolings() -> Mapping[str, Cooling]:
    """Cooling by id."""
    names = (
        "area_factor", "air_speed_m_s", "film_w_m2_k", "inlet_rise_k", "mass_per_area_kg_m2", "mass_per_heat_kg_w",
        "fixed_mass_kg", "power_per_heat", "fixed_power_w",
    )  # fmt: skip
    values = zip(*(fluids_data.load_table("coolings").numbers(name) for name in names), strict=True)
    rows = fluids_data.load_table("coolings").rows
    return MappingProxyType(
        {
            row.text("id"): Cooling(float(row.text("type") == "liquid"), *numbers)
            for row, numbers in zip(rows, values, strict=True)
        }
    )


@cache
def cooling_record(id: str) -> np.void:
    """The same as a record; not to be written to."""
    return as_record(coolings()[id])


@dataclass(frozen=True)
class Transmission:
    """How a rotary machine's shaft becomes travel: by screw, lever or belt, perhaps behind a gear.

    travel: m of the actuator per radian of the machine; arm: m of a lever, else 0; ratio: of the gear.
    """

    label: str
    kind: str
    travel: float
    arm: float
    ratio: float
    efficiency: float


@cache
def transmissions() -> tuple[Transmission, ...]:
    """Every screw, and every lever and belt with every gear."""
    rows = fluids_data.load_table("transmissions").rows
    sizes = column("transmissions", "size_mm")
    parts = [
        (row.text("id"), row.text("type"), float(size), row.number("ratio"), row.number("efficiency"))
        for row, size in zip(rows, sizes, strict=True)
    ]
    found = [
        Transmission(f"screw of {1e3 * size:g} mm lead", kind, size / (2.0 * np.pi), 0.0, 1.0, efficiency)
        for _, kind, size, _, efficiency in parts
        if kind == "screw"
    ]
    for _, kind, size, _, efficiency in parts:
        if kind not in ("lever", "belt"):
            continue
        what = f"lever of {1e3 * size:g} mm" if kind == "lever" else f"belt on a pulley of {1e3 * size:g} mm radius"
        for name, gear, _, ratio, gear_efficiency in parts:
            if gear == "gear":
                behind = "" if ratio == 1.0 else f" behind {name.split('_')[0]} gear {ratio:g}:1"
                arm = size if kind == "lever" else 0.0
                found.append(Transmission(what + behind, kind, size / ratio, arm, ratio, efficiency * gear_efficiency))
    return tuple(found)


@cache
def choices(family: str, topic: str) -> tuple[float, ...]:
    """The values a linear machine's proportion may take, SI."""
    rows = fluids_data.load_table("machine_choices").rows
    return tuple(r.number("value") for r in rows if r.text("family") == family and r.text("topic") == topic)


@cache
def drive_regression() -> DriveRegression:
    """The law that sizes a motor drive."""
    names = ("mass", "mass_exponent", "loss", "loss_exponent", "standby", "standby_exponent", "peak_ratio")
    return DriveRegression(*(constants()[f"electronics_{name}"] for name in names))


def estimated_rows() -> tuple[str, ...]:
    """Ids of machine constants that are estimates: an answer that rests on them says so."""
    return tuple(r.text("id") for r in fluids_data.load_table("machines").rows if r.kind == "estimated")


@cache
def magnet_label(id: str) -> str:
    """A grade of magnet in words."""
    row = _row("magnets", id)
    return f"{row.text('material')} (to {row.number('max_temperature_c'):g} °C)"


@cache
def motor_label(id: str) -> str:
    """A rotary machine in words."""
    row = _row("motors", id)
    return f"{row.number('rated_power_w'):g} W motor of {row.number('rated_speed_rpm'):g} rpm"


@cache
def servo_label(id: str) -> str:
    """A class of positional servo in words."""
    row = _row("servos", id)
    return f"positional servo of {1e3 * row.number('mass_kg'):g} g"


def _row(table: str, id: str) -> fluids_data.Row:
    return next(row for row in fluids_data.load_table(table).rows if row.text("id") == id)
