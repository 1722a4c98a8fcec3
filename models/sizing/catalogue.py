"""The sizes the search may take: the tables of `fluids_data`, or the user's shelf, as SI arrays.

Knows which columns a part has and how a size that lies between two rows is filled in (logarithmically, flagged
estimated). Does not know what is needed. A part's row number here is the number the search returns. All arrays are
contiguous and writable, whatever they come from: a kernel is compiled anew for each kind of array it meets.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

import fluids_data
from models.quantity import UNITS, OutOfRange, Unit
from models.shelf import Measured, Stock
from models.sizing.measured_parts import measured_pump, measured_valve
from models.sizing.sizes import (
    INTERPOLATED,
    USER,
    Accumulators,
    Cylinders,
    Floats,
    Lines,
    Motors,
    Origin,
    Pumps,
    Tubes,
    Valves,
)

ROD_SHARE = (0.3, 0.72)
"""Rods tried for a bore, as shares of the bore. Source: [iso6020], pairs recalled, span widened."""


def unit_of(column: str) -> Unit:
    """The unit a column's name ends with; dimensionless when it ends with none."""
    parts = column.split("_")
    for start in range(len(parts)):
        unit = UNITS.get("_".join(parts[start:]))
        if unit is not None:
            return unit
    return UNITS[""]


@functools.cache
def si_column(table: str, column: str) -> Floats:
    """A numeric column of a table in SI, read-only."""
    unit = unit_of(column)
    values = np.array([unit.to_si(row.number(column)) for row in fluids_data.load_table(table).rows])
    values.flags.writeable = False
    return values


def rule(identifier: str) -> float:
    """A named default of rules.csv, in the unit its row states."""
    return _rules()[identifier]


@functools.cache
def _rules() -> Mapping[str, float]:
    return {row.text("id"): row.number("value") for row in fluids_data.load_table("rules").rows}


@functools.cache
def mass_law(part: str) -> tuple[float, float]:
    """Coefficient and exponent of a part's estimated mass in the trade's units of its row."""
    for row in fluids_data.load_table("mass_estimates").rows:
        if row.text("part") == part:
            return row.number("coefficient_kg"), row.number("exponent")
    raise KeyError(part)


SEAL_SPANS = (("clearance", 0.0, 0.016), ("elastomer", 0.008, 1.0), ("plastic_faced", 0.016, 1.0))
"""Bores for which a seal is offered when the user names a bore but no seal, m. Source: [estimate]."""


@dataclass(frozen=True)
class Catalogue:
    """All sizes of one search, and for each part's rows a label and an origin."""

    cylinders: Cylinders
    lines: Lines
    valves: Valves
    tubes: Tubes
    pumps: Pumps
    motors: Motors
    accumulators: Accumulators
    corner_accumulators: Accumulators
    pressures: Floats
    labels: Mapping[str, tuple[str, ...]]
    origins: Mapping[str, tuple[Origin, ...]]


def _origins(table: str) -> tuple[Origin, ...]:
    return tuple(Origin(row.source, row.kind) for row in fluids_data.load_table(table).rows)


def _texts(table: str, column: str) -> tuple[str, ...]:
    return tuple(row.text(column) for row in fluids_data.load_table(table).rows)


def between_rows(sizes: Floats, values: Floats, size: float, what: str, unit: str) -> float:
    """`values` at `size`, interpolated between table rows on logarithmic scales (zeros linearly).

    Raises OutOfRange outside the rows: a size the table does not span has no estimate.
    """
    unit_record = UNITS[unit]
    low, high = float(sizes.min()), float(sizes.max())
    if not low * (1 - 1e-9) <= size <= high * (1 + 1e-9):
        raise OutOfRange(
            what,
            unit_record.from_si(size),
            unit_record.from_si(low),
            unit_record.from_si(high),
            unit_record.symbol,
            "estimate",
        )
    order = np.argsort(sizes)
    x = np.log(sizes[order])
    y = values[order]
    if np.all(y > 0.0):
        return float(np.exp(np.interp(np.log(size), x, np.log(y))))
    return float(np.interp(np.log(size), x, y))


def _check_spanned(sizes: Floats, wanted: Sequence[float], what: str, unit: str) -> None:
    """Raise OutOfRange for the first of the user's sizes that no row of a table spans."""
    for size in wanted:
        between_rows(sizes, sizes, size, what, unit)


def cylinders(
    bores: Sequence[float] | None,
    rods: Sequence[float] | None,
    arrangements: Sequence[str],
    seals: Sequence[str] | None,
) -> tuple[Cylinders, tuple[Origin, ...]]:
    """Every bore with every rod that fits it. Sizes in m; None takes the tables.

    A bore of the user's takes seal data from the nearest row of each seal allowed: a clearance seal up to 16 mm, an
    elastomer ring from 8 mm, a plastic-faced ring from 16 mm.
    """
    table_bore, table_rod = si_column("bores", "bore_mm"), si_column("rods", "rod_mm")
    seal_names = _texts("bores", "seal")
    bore_origin, rod_origin = _origins("bores"), _origins("rods")
    rows: list[tuple[float, ...]] = []
    origins: list[Origin] = []
    bore_choices: list[tuple[float, int, Origin]] = []
    if bores is None:
        bore_choices = [(float(b), i, bore_origin[i]) for i, b in enumerate(table_bore)]
    else:
        for bore in bores:
            for seal, smallest, largest in SEAL_SPANS:
                same = [i for i, name in enumerate(seal_names) if name == seal]
                nearest = min(same, key=lambda i: abs(np.log(table_bore[i] / bore)))
                if seals is None and not smallest - 1e-9 <= bore <= largest + 1e-9:
                    continue
                bore_choices.append((bore, nearest, USER))
    rod_values = (
        [(float(r), i, rod_origin[i]) for i, r in enumerate(table_rod)]
        if rods is None
        else [(r, int(np.argmin(np.abs(np.log(table_rod / r)))), USER) for r in rods]
    )
    column = functools.partial(si_column, "bores")
    for bore, i, origin in bore_choices:
        if seals is not None and seal_names[i] not in seals:
            continue
        for rod, j, rod_from in rod_values:
            fits = rod < 0.9 * bore if rods is not None else ROD_SHARE[0] <= rod / bore <= ROD_SHARE[1]
            if not fits:
                continue
            for arrangement in arrangements:
                rows.append(
                    (
                        bore,
                        rod,
                        float(arrangement == "through"),
                        column("radial_clearance_um")[i],
                        column("seal_section_mm")[i],
                        column("seal_squeeze")[i],
                        si_column("rods", "seal_section_mm")[j],
                        si_column("rods", "seal_squeeze")[j],
                        column("friction_coefficient")[i],
                        column("break_out")[i],
                    )
                )
                origins.append(_weaker(origin, rod_from))
    data = np.array(rows).reshape(-1, 10).T
    columns = [np.array(values) for values in data]
    return Cylinders(columns[0], columns[1], columns[2] > 0.5, *columns[3:]), tuple(origins)


_TRUST = ("standard", "handbook", "paper", "user", "common_practice", "memory", "estimated")


def _weaker(one: Origin, other: Origin) -> Origin:
    """The less certain of two origins."""
    return max(one, other, key=lambda o: _TRUST.index(o.kind))


def tubes(burst_factor: float) -> tuple[Tubes, tuple[Origin, ...]]:
    """Rigid tubes; rating by Lamé burst at tensile strength over `burst_factor`."""
    column = functools.partial(si_column, "tubes")
    outer, wall = column("outer_diameter_mm"), column("wall_mm")
    bore = outer - 2.0 * wall
    ratio = (outer / bore) ** 2
    rating = column("tensile_mpa") * (ratio - 1.0) / (ratio + 1.0) / burst_factor
    kg_m = 0.25 * np.pi * (outer**2 - bore**2) * column("density_kg_m3")
    order = np.argsort(kg_m, kind="stable")
    origins = _origins("tubes")
    picked = Tubes(*(np.ascontiguousarray(a[order]) for a in (bore, outer, rating, kg_m, column("roughness_um"))))
    return picked, tuple(origins[i] for i in order)


def lines(bores: Sequence[float] | None, burst_factor: float) -> tuple[Lines, tuple[str, ...], tuple[Origin, ...]]:
    """Corner lines: each hose with the rigid tube nearest in bore that bears as much, or the strongest near it."""
    pipe, pipe_origins = tubes(burst_factor)
    column = functools.partial(si_column, "hoses")
    hose_bore, kinds, hose_origins = column("bore_mm"), _texts("hoses", "construction"), _origins("hoses")
    hose_rating = np.minimum(column("working_pressure_bar"), column("burst_pressure_bar") / burst_factor)
    rows, labels, origins = [], [], []
    choices = (
        [(float(b), i, None) for i, b in enumerate(hose_bore)]
        if bores is None
        else [(b, i, USER) for b in bores for i in _nearest_of_each(np.log(hose_bore / b), kinds)]
    )
    for bore, i, given in choices:
        distance = np.abs(np.log(pipe.bore / bore))
        near = distance <= max(0.25, float(distance.min()) + 1e-12)
        strong = near & (pipe.rating >= hose_rating[i])
        pool = strong if strong.any() else near & (pipe.rating >= pipe.rating[near].max() - 1.0)
        j = int(np.argmin(np.where(pool, distance, np.inf)))
        rows.append(
            (
                bore,
                pipe.bore[j],
                min(hose_rating[i], pipe.rating[j]),
                column("kg_m")[i],
                pipe.kg_m[j],
                column("volumetric_expansion_mm3_m_bar")[i],
                pipe.roughness[j],
            )
        )
        labels.append(
            f"{bore * 1e3:g} mm {kinds[i].replace('_', '-')} hose, "
            f"{pipe.outer[j] * 1e3:g} x {(pipe.outer[j] - pipe.bore[j]) * 500:g} mm tube"
        )
        origins.append(_weaker(given if given is not None else hose_origins[i], pipe_origins[j]))
    data = np.array(rows).T
    return Lines(*(np.ascontiguousarray(a) for a in data)), tuple(labels), tuple(origins)


def _nearest_of_each(distance: Floats, kinds: Sequence[str]) -> list[int]:
    """For each construction the row nearest in bore, where one lies within a factor of 1.6."""
    found = []
    for kind in dict.fromkeys(kinds):
        same = [i for i, name in enumerate(kinds) if name == kind]
        best = min(same, key=lambda i: abs(distance[i]))
        if abs(distance[best]) <= 0.47:
            found.append(best)
    if not found:
        found.append(int(np.argmin(np.abs(distance))))
    return found


_VALVE_COLUMNS = (
    "bandwidth_hz",
    "null_leakage_l_min",
    "reference_pressure_bar",
    "max_pressure_bar",
    "mass_kg",
    "holding_power_w",
    "peak_power_w",
)


def valves(rated_flows: Sequence[float] | None) -> tuple[Valves, tuple[str, ...], tuple[Origin, ...]]:
    """Valves of the tables, or the user's rated flows (m³/s) in each family that spans them."""
    column = functools.partial(si_column, "valves")
    flow, family_names = column("rated_flow_l_min"), _texts("valves", "family")
    families = {name: k for k, name in enumerate(dict.fromkeys(family_names))}
    number = np.array([families[name] for name in family_names])
    if rated_flows is None:
        return (
            _valve_rows([flow, *(column(c) for c in _VALVE_COLUMNS)], number),
            tuple(_valve_label(name, size) for name, size in zip(family_names, flow, strict=True)),
            _origins("valves"),
        )
    _check_spanned(flow, rated_flows, "stock.valve_rated_flow", "l_min")
    rows, labels, origins = [], [], []
    for name, k in families.items():
        same = number == k
        for size in sorted(rated_flows):
            if flow[same].min() * (1 - 1e-9) <= size <= flow[same].max() * (1 + 1e-9):
                rows.append(
                    (size, *(between_rows(flow[same], column(c)[same], size, "", "l_min") for c in _VALVE_COLUMNS), k)
                )
                labels.append(_valve_label(name, size))
                origins.append(INTERPOLATED)
    data = np.array(rows).T
    return _valve_rows(list(data[:-1]), data[-1].astype(np.int64)), tuple(labels), tuple(origins)


def _valve_label(family: str, rated_flow: float) -> str:
    return f"{family.removesuffix('_spool').replace('_', '-')} valve, {UNITS['l_min'].from_si(rated_flow):g} L/min"


def _valve_rows(columns: Sequence[Floats], family: NDArray[np.int64]) -> Valves:
    flow, bandwidth, leakage, reference, rating, mass, holding, peak = (np.array(c) for c in columns)
    return Valves(flow, bandwidth, leakage, reference, rating, mass, holding, peak, family)


def pumps(displacements: Sequence[float] | None) -> tuple[Pumps, tuple[str, ...], tuple[Origin, ...]]:
    """Every family in every displacement (m³/rad) it spans."""
    column = functools.partial(si_column, "pumps")
    names, family_origins = _texts("pumps", "family"), _origins("pumps")
    table = si_column("pump_displacements", "displacement_cm3_rev")
    table_origins = _origins("pump_displacements")
    sizes = (
        [(float(d), table_origins[i]) for i, d in enumerate(table)]
        if displacements is None
        else [(d, USER) for d in displacements]
    )
    cm3_rev = UNITS["cm3_rev"]
    every = np.concatenate([column("displacement_low_cm3_rev"), column("displacement_high_cm3_rev")])
    _check_spanned(every, displacements or (), "stock.pump_displacement", "cm3_rev")
    rows, labels, origins = [], [], []
    for i, name in enumerate(names):
        low, high = column("displacement_low_cm3_rev")[i], column("displacement_high_cm3_rev")[i]
        for size, origin in sizes:
            if not low * (1 - 1e-9) <= size <= high * (1 + 1e-9):
                continue
            way = np.log(size / low) / np.log(high / low)
            slow, fast = column("max_speed_at_high_rpm")[i], column("max_speed_at_low_rpm")[i]
            rows.append(
                (
                    size,
                    column("max_pressure_bar")[i],
                    fast * (slow / fast) ** way,
                    column("min_speed_rpm")[i],
                    column("slip_coefficient")[i],
                    column("viscous_drag_coefficient")[i],
                    column("coulomb_friction_coefficient")[i],
                    column("constant_friction_bar")[i],
                    column("mass_at_1cm3_kg")[i] * cm3_rev.from_si(size) ** column("mass_exponent")[i],
                    column("min_inlet_pressure_bar")[i],
                )
            )
            labels.append(f"{name.replace('_', ' ')} pump, {cm3_rev.from_si(size):g} cm³/rev")
            origins.append(_weaker(family_origins[i], origin))
    data = np.array(rows).reshape(-1, 10).T
    return Pumps(*(np.ascontiguousarray(a) for a in data)), tuple(labels), tuple(origins)


_MOTOR_COLUMNS = (
    "rated_speed_rpm",
    "rated_torque_nm",
    "peak_torque_nm",
    "mass_kg",
    "copper_loss_w",
    "iron_loss_w",
    "electronics_loss_fraction",
    "standby_power_w",
)


def motors(powers: Sequence[float] | None) -> tuple[Motors, tuple[str, ...], tuple[Origin, ...]]:
    """Motors of the tables, or of the user's rated powers (W) at each speed whose rows span them."""
    column = functools.partial(si_column, "motors")
    power, speed = column("rated_power_w"), column("rated_speed_rpm")
    electronics = column("electronics_mass_kg")
    if powers is None:
        values = [column(c) + electronics if c == "mass_kg" else column(c) for c in _MOTOR_COLUMNS]
        names = tuple(_motor_label(size, pace) for size, pace in zip(power, speed, strict=True))
        return Motors(*(np.array(v) for v in values)), names, _origins("motors")
    _check_spanned(power, powers, "stock.motor_power", "w")
    rows, labels = [], []
    for pace in np.unique(speed):
        same = speed == pace
        for size in sorted(powers):
            if power[same].min() * (1 - 1e-9) <= size <= power[same].max() * (1 + 1e-9):
                row = [between_rows(power[same], column(c)[same], size, "", "w") for c in _MOTOR_COLUMNS]
                row[3] += between_rows(power[same], electronics[same], size, "", "w")
                rows.append(row)
                labels.append(_motor_label(size, pace))
    data = np.array(rows).T
    return Motors(*(np.ascontiguousarray(a) for a in data)), tuple(labels), (INTERPOLATED,) * len(labels)


def _motor_label(rated_power: float, rated_speed: float) -> str:
    return f"permanent-magnet motor, {rated_power:g} W at {UNITS['rpm'].from_si(rated_speed):.0f} rpm"


def accumulators(
    volumes: Sequence[float] | None,
    what: str = "stock.accumulator_volume",
    tables: tuple[str, ...] = ("accumulators",),
) -> tuple[Accumulators, tuple[str, ...], tuple[Origin, ...]]:
    """None (row 0) and every accumulator; or the user's volumes (m³, 0 for none) in each type that spans them."""

    def column(name: str) -> Floats:
        return np.concatenate([si_column(table, name) for table in tables])

    volume, kinds = column("volume_l"), tuple(kind for table in tables for kind in _texts(table, "type"))
    fields = ("max_pressure_bar", "max_compression_ratio", "mass_kg")
    nothing = (0.0, 1e12, 1.0, 0.0)
    if volumes is None:
        given = [origin for table in tables for origin in _origins(table)]
        rows = [nothing, *zip(volume.tolist(), *(column(f).tolist() for f in fields), strict=True)]
        names = ["none", *(f"{k} accumulator, {v * 1e3:g} L" for k, v in zip(kinds, volume, strict=True))]
        return _by_mass(rows, names, [INTERPOLATED, *given])
    _check_spanned(volume, [v for v in volumes if v > 0.0], what, "l")
    rows, names = [], []
    origins: list[Origin] = []
    for size in sorted(volumes):
        if size == 0.0:
            rows.append(nothing)
            names.append("none")
            origins.append(USER)
            continue
        for same in _series(kinds, volume):
            if volume[same].min() * (1 - 1e-9) <= size <= volume[same].max() * (1 + 1e-9):
                rows.append((size, *(between_rows(volume[same], column(f)[same], size, "", "l") for f in fields)))
                names.append(f"{kinds[same[0]]} accumulator, {size * 1e3:g} L")
                origins.append(INTERPOLATED)
    return _by_mass(rows, names, origins)


def _series(kinds: Sequence[str], sizes: Floats) -> list[list[int]]:
    """Rows of one kind in rising size: a type built for two pressures makes two series."""
    found: list[list[int]] = []
    for i, kind in enumerate(kinds):
        if found and kinds[found[-1][-1]] == kind and sizes[i] > sizes[found[-1][-1]]:
            found[-1].append(i)
        else:
            found.append([i])
    return found


def seal_name(cylinders: Cylinders, row: int) -> str:
    """Kind of seal of a cylinder row, as the table and the wire name it."""
    if cylinders.clearance[row] > 0.0:
        return "clearance"
    return "elastomer" if cylinders.break_out[row] > 2.0 else "plastic_faced"


def _by_mass(
    rows: Sequence[tuple[float, ...]], names: Sequence[str], origins: Sequence[Origin]
) -> tuple[Accumulators, tuple[str, ...], tuple[Origin, ...]]:
    """Accumulators in order of mass, as the search reads them."""
    order = sorted(range(len(rows)), key=lambda i: rows[i][3])
    columns = np.array([rows[i] for i in order]).T
    sorted_rows = Accumulators(*(np.ascontiguousarray(a) for a in columns))
    return sorted_rows, tuple(names[i] for i in order), tuple(origins[i] for i in order)


def corner_accumulators(
    volumes: Sequence[float] | None, arrangement: str | None
) -> tuple[Accumulators, tuple[str, ...], tuple[Origin, ...]]:
    """Vessels for a gas spring at each corner; none at all in an arrangement without."""
    if arrangement != "corner_accumulator":
        return accumulators([0.0])
    tables = ("corner_accumulators", "accumulators")
    rows, names, origins = accumulators(volumes, "stock.corner_accumulator_volume", tables)
    kept = np.flatnonzero(rows.volume > 0.0)
    return (
        Accumulators(*(np.ascontiguousarray(column[kept]) for column in rows)),
        tuple(names[i] for i in kept),
        tuple(origins[i] for i in kept),
    )


def build_catalogue(
    stock: Stock,
    measured: Measured,
    burst_factor: float,
    voltage: float,
    density: float,
    arrangement: str | None = None,
) -> Catalogue:
    """The sizes of a search: the tables, narrowed or replaced by the user's `Stock` and `Measured` parts.

    voltage: bus V; density: of the medium, kg/m³; both only for a measured pump. arrangement: as the spec names it. The
    catalogues last built are kept, so the arrays must not be written to.
    """
    asked = _Asked(stock, measured)
    return _catalogue(asked, burst_factor, *((0.0, 0.0) if measured.pump is None else (voltage, density)), arrangement)


class _Asked:
    """A shelf, the same as another where their records read the same: they hold lists and have no hash."""

    def __init__(self, stock: Stock, measured: Measured) -> None:
        self.stock, self.measured = stock, measured
        self._text = f"{stock!r} {measured!r}"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self._text == other._text

    def __hash__(self) -> int:
        return hash(self._text)


@functools.lru_cache(maxsize=16)
def _catalogue(
    asked: _Asked, burst_factor: float, voltage: float, density: float, arrangement: str | None
) -> Catalogue:
    stock, measured = asked.stock, asked.measured
    either = ("single", "through") if arrangement != "corner_accumulator" else ("single",)  # it works on one side
    cylinder, cylinder_origins = cylinders(stock.bore, stock.rod, stock.rod_arrangement or either, stock.seal)
    line, line_labels, line_origins = lines(stock.line_bore, burst_factor)
    valve, valve_labels, valve_origins = (
        valves(stock.valve_rated_flow) if measured.valve is None else measured_valve(measured.valve)
    )
    tube, tube_origins = tubes(burst_factor)
    if measured.pump is None:
        pump_rows, motor_rows = pumps(stock.pump_displacement), motors(stock.motor_power)
    else:
        pump_rows, motor_rows = measured_pump(measured.pump, voltage, density)
    pump, pump_labels, pump_origins = pump_rows
    motor, motor_labels, motor_origins = motor_rows
    gas, gas_labels, gas_origins = accumulators(stock.accumulator_volume)
    vessels, vessel_labels, vessel_origins = corner_accumulators(stock.corner_accumulator_volume, arrangement)
    pressures = si_column("pressures", "pressure_bar") if stock.pressure is None else np.array(sorted(stock.pressure))
    cylinder_labels = tuple(
        f"{b * 1e3:g}/{r * 1e3:g} mm, {'through rod' if t else 'single rod'}, "
        f"{seal_name(cylinder, i).replace('_', '-')} seal"
        for i, (b, r, t) in enumerate(zip(cylinder.bore, cylinder.rod, cylinder.through, strict=True))
    )
    tube_labels = tuple(f"{o * 1e3:g} x {(o - b) * 500:g} mm tube" for o, b in zip(tube.outer, tube.bore, strict=True))
    return Catalogue(
        cylinders=cylinder,
        lines=line,
        valves=valve,
        tubes=tube,
        pumps=pump,
        motors=motor,
        accumulators=gas,
        corner_accumulators=vessels,
        pressures=np.array(pressures),
        labels={
            "cylinder": cylinder_labels,
            "line": line_labels,
            "valve": valve_labels,
            "tube": tube_labels,
            "pump": pump_labels,
            "motor": motor_labels,
            "accumulator": gas_labels,
            "corner accumulator": vessel_labels,
        },
        origins={
            "cylinder": cylinder_origins,
            "line": line_origins,
            "valve": valve_origins,
            "tube": tube_origins,
            "pump": pump_origins,
            "motor": motor_origins,
            "accumulator": gas_origins,
            "corner accumulator": vessel_origins,
        },
    )
