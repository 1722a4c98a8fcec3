"""Reads the tables of this room and refuses what cannot be traced.

Knows: where the files lie, which columns carry a unit, which kinds of origin exist, and how a bad row is reported.
Does not know: what any number is for. It imports the standard library only and never changes a value: the unit a
number is read in is the unit its column name ends with.
"""

import csv
import hashlib
import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any

ROOM = Path(__file__).parent

KINDS = frozenset({"standard", "handbook", "paper", "common_practice", "memory", "estimated"})
SEALS = frozenset({"nbr", "fkm", "epdm"})
SIGNAL_WORDS = frozenset({"danger", "warning", "caution", "notice"})

# fmt: off
UNIT_SUFFIXES = frozenset({
    "mm", "um", "mm2", "cm3", "l", "bar", "mpa", "gpa", "kg", "kg_m", "g", "l_min", "hz", "rpm", "w", "kw", "nm",
    "c", "k", "v", "a", "ohm", "mm2_s", "kg_m3", "j_kg_k", "w_m_k", "per_k", "per_pa", "cm3_rev", "ms", "s",
    "mm3_m_bar", "mm_s", "m_s", "n", "n_m", "k_w", "mpa_k", "j_kg_k2", "w_m_k2", "mpa_s", "j_kg",
    "ohm_m", "t", "w_m2_k", "kg_m2", "kg_w",
})

DIMENSIONLESS = frozenset({
    "seal_squeeze", "k", "k1", "k_inf", "kd", "slip_coefficient", "viscous_drag_coefficient",
    "coulomb_friction_coefficient", "speed_exponent", "mass_exponent", "max_compression_ratio",
    "electronics_loss_fraction", "efficiency", "friction_coefficient", "break_out", "exponent",
    "bulk_pressure_slope", "air_solubility",
    "gauge_awg", "ratio", "area_factor", "power_per_heat",
    "value",  # its unit stands in the table's own `unit` column
})

TEXT = frozenset({
    "id", "seal", "iso_3322", "material", "construction", "method", "family", "type", "part", "basis", "formula",
    "unit", "topic", "code", "equipment", "fluid", "category", "limits", "note",
})
# fmt: on


class DataError(ValueError):
    """A data file holds something that cannot be traced or read; names the file, the place and the column."""

    def __init__(self, file: str, place: int | str, column: str, reason: str) -> None:
        self.file, self.place, self.column, self.reason = file, place, column, reason
        where = f"line {place}" if isinstance(place, int) else f"[{place}]"
        super().__init__(f"{file}, {where}, {column!r}: {reason}")


@dataclass(frozen=True)
class Row:
    """One line of a table: its values by column name, each number in the unit its name ends with, and its origin."""

    values: Mapping[str, float | str]
    source: str
    kind: str

    def number(self, column: str) -> float:
        """The number in `column`, in the unit the name ends with. Raises TypeError for a text column."""
        value = self.values[column]
        if isinstance(value, str):
            raise TypeError(f"{column} is a text column")
        return value

    def text(self, column: str) -> str:
        """The text in `column`. Raises TypeError for a column of numbers."""
        value = self.values[column]
        if not isinstance(value, str):
            raise TypeError(f"{column} is a column of numbers")
        return value


@dataclass(frozen=True)
class Table:
    """A size or property table. `columns` leaves out source and kind, which every row carries; `title` what it is."""

    name: str
    title: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]

    def column(self, name: str) -> tuple[float | str, ...]:
        """All values of one column, in file order."""
        return tuple(row.values[name] for row in self.rows)

    def numbers(self, name: str) -> tuple[float, ...]:
        """All numbers of one column, in file order and in the unit the name ends with."""
        return tuple(row.number(name) for row in self.rows)


@dataclass(frozen=True)
class Source:
    """A citation: what it is called, which edition, what kind of origin it is as a rule."""

    id: str
    title: str
    edition: str
    kind: str


@dataclass(frozen=True)
class Property:
    """One number of a medium, in the unit its name ends with, and its origin."""

    value: float
    source: str
    kind: str
    note: str


@dataclass(frozen=True)
class ViscosityPoint:
    """A kinematic viscosity (mm²/s) at a temperature (°C) and atmospheric pressure, and its origin."""

    temperature_c: float
    viscosity_mm2_s: float
    source: str
    kind: str


@dataclass(frozen=True)
class Medium:
    """A fluid as data.

    `properties` by name, each name ending in its unit; `viscosity` in order of rising temperature, two points or more
    (empty when `table` names a table of properties over temperature instead); `seals` the seal materials it suits.
    """

    id: str
    label: str
    family: str
    properties: Mapping[str, Property]
    viscosity: tuple[ViscosityPoint, ...]
    seals: tuple[str, ...]
    seal_note: str
    flammability: str
    table: str | None

    def number(self, name: str) -> float:
        """The value of one property, in the unit its name ends with. Raises KeyError when the medium has none."""
        return self.properties[name].value


@dataclass(frozen=True)
class Rule:
    """A named default or limit; `unit` is written out because one table holds many units ("-" for a plain number)."""

    id: str
    value: float
    unit: str
    source: str
    kind: str
    note: str


def _read_toml(path: Path) -> dict[str, Any]:
    with path.open("rb") as file:
        return tomllib.load(file)


def _unit_of(column: str) -> str | None:
    """The longest unit suffix a column name ends with (or is), or None."""
    found = [suffix for suffix in UNIT_SUFFIXES if f"_{column}".endswith(f"_{suffix}")]
    return max(found, key=len, default=None)


def _check_origin(file: str, place: int | str, source: str, kind: str, sources: Iterable[str]) -> None:
    if not source:
        raise DataError(file, place, "source", "no source given")
    if source not in sources:
        raise DataError(file, place, "source", f"{source!r} is not in sources.toml")
    if kind not in KINDS:
        raise DataError(file, place, "kind", f"{kind!r} is not one of {', '.join(sorted(KINDS))}")


def _finite(file: str, place: int | str, column: str, raw: object) -> float:
    if isinstance(raw, str) and not raw.strip():
        raise DataError(file, place, column, "blank where a number belongs")
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        raise DataError(file, place, column, f"{raw!r} is not a number")
    try:
        number = float(raw)
    except ValueError as error:
        raise DataError(file, place, column, f"{raw!r} is not a number") from error
    if not math.isfinite(number):
        raise DataError(file, place, column, f"{raw!r} is not finite")
    return number


def read_table(path: Path, key: tuple[str, ...], sources: Iterable[str], title: str = "") -> Table:
    """Read one CSV file.

    Args: `path` the file, its stem becoming the table's name; `key` the columns that together name a row; `sources` the
    ids a row may cite; `title` what the table holds, in words.
    Raises DataError for a number's column without a unit, a missing key column, a row without a known source and kind,
    a blank, unreadable or infinite number, a blank text (but for `note`), a row too long or short, or a key seen twice.
    """
    file = path.name
    rows: list[Row] = []
    seen: dict[tuple[float | str, ...], int] = {}
    with path.open(newline="", encoding="utf-8") as handle:
        reader = csv.reader(handle)
        header = next(reader, [])
        for column in ("source", "kind", *key):
            if column not in header:
                raise DataError(file, 1, column, "the column is missing")
        columns = tuple(column for column in header if column not in ("source", "kind"))
        if len(set(header)) != len(header):
            raise DataError(file, 1, "header", "a column name stands twice")
        for column in columns:
            if column not in TEXT and column not in DIMENSIONLESS and _unit_of(column) is None:
                raise DataError(file, 1, column, "neither a unit suffix, nor listed as dimensionless or as text")
        if "value" in columns and "unit" not in columns:
            raise DataError(file, 1, "value", "a bare value needs a unit column beside it")
        for cells in reader:
            line = reader.line_num
            if len(cells) != len(header):
                raise DataError(file, line, "row", f"{len(cells)} cells under {len(header)} columns")
            raw = dict(zip(header, (cell.strip() for cell in cells), strict=True))
            _check_origin(file, line, raw["source"], raw["kind"], sources)
            values: dict[str, float | str] = {}
            for column in columns:
                if column in TEXT:
                    if not raw[column] and column != "note":
                        raise DataError(file, line, column, "blank")
                    values[column] = raw[column]
                else:
                    values[column] = _finite(file, line, column, raw[column])
            name = tuple(values[column] for column in key)
            if name in seen:
                raise DataError(file, line, ", ".join(key), f"{name} stands on line {seen[name]} already")
            seen[name] = line
            rows.append(Row(MappingProxyType(values), raw["source"], raw["kind"]))
    if not rows:
        raise DataError(file, 1, "row", "the table is empty")
    return Table(path.stem, title, columns, tuple(rows))


def read_media(path: Path, sources: Iterable[str]) -> Mapping[str, Medium]:
    """Read a file of media. Raises DataError as `read_table` does, with the medium's id for the line."""
    media = {}
    for medium_id, entry in _read_toml(path).items():
        properties: dict[str, Property] = {}
        for name, item in entry["properties"].items():
            if name not in DIMENSIONLESS and _unit_of(name) is None:
                raise DataError(path.name, medium_id, name, "neither a unit suffix nor listed as dimensionless")
            source, kind = item.get("source", ""), item.get("kind", "")
            _check_origin(path.name, f"{medium_id}.{name}", source, kind, sources)
            value = _finite(path.name, medium_id, name, item.get("value", ""))
            properties[name] = Property(value, source, kind, item.get("note", ""))
        points = []
        for item in entry.get("viscosity", []):
            source, kind = item.get("source", ""), item.get("kind", "")
            _check_origin(path.name, f"{medium_id}.viscosity", source, kind, sources)
            numbers = [_finite(path.name, medium_id, c, item.get(c, "")) for c in ("temperature_c", "viscosity_mm2_s")]
            points.append(ViscosityPoint(numbers[0], numbers[1], source, kind))
        table = entry.get("table")
        rising = all(a.temperature_c < b.temperature_c for a, b in pairwise(points))
        if (table is None and len(points) < 2) or not rising:
            raise DataError(path.name, medium_id, "viscosity", "two or more points in order of rising temperature")
        if not set(entry["seals"]) <= SEALS:
            raise DataError(path.name, medium_id, "seals", f"only {', '.join(sorted(SEALS))} are known")
        media[medium_id] = Medium(
            id=medium_id,
            label=entry["label"],
            family=entry["family"],
            properties=MappingProxyType(properties),
            viscosity=tuple(points),
            seals=tuple(entry["seals"]),
            seal_note=entry["seal_note"],
            flammability=entry["flammability"],
            table=table,
        )
    return MappingProxyType(media)


def read_warnings(path: Path, sources: Iterable[str]) -> Mapping[str, Mapping[str, Any]]:
    """Read a file of warnings: by code, its `signal_word`, `trigger`, `sources`, `kind`, `advice`, maybe `inherent`.

    Raises DataError for an unknown signal word, source or kind, or an empty text.
    """
    warnings = _read_toml(path)
    for code, entry in warnings.items():
        if entry.get("signal_word") not in SIGNAL_WORDS:
            raise DataError(path.name, code, "signal_word", "not a signal word of ISO 3864-2")
        if not isinstance(entry.get("inherent", False), bool):
            raise DataError(path.name, code, "inherent", "neither true nor false")
        for field in ("trigger", "advice", "sources"):
            if not entry.get(field):
                raise DataError(path.name, code, field, "empty")
        for source in entry["sources"]:
            _check_origin(path.name, code, source, entry.get("kind", ""), sources)
    return MappingProxyType({code: MappingProxyType(entry) for code, entry in warnings.items()})


@cache
def load_sources() -> Mapping[str, Source]:
    """Every citation by id. Raises DataError for a kind outside the closed list."""
    path = ROOM / "sources.toml"
    sources = {}
    for source_id, entry in _read_toml(path).items():
        if entry["kind"] not in KINDS:
            raise DataError(path.name, source_id, "kind", f"{entry['kind']!r} is not a kind")
        sources[source_id] = Source(source_id, entry["title"], entry["edition"], entry["kind"])
    return MappingProxyType(sources)


@cache
def _tables() -> Mapping[str, Any]:
    return MappingProxyType(_read_toml(ROOM / "tables.toml"))


TABLE_NAMES: tuple[str, ...] = tuple(_tables())


@cache
def load_table(name: str) -> Table:
    """One table of this room by name. Raises KeyError for a name not in TABLE_NAMES, DataError for a bad file."""
    entry = _tables()[name]
    return read_table(ROOM / f"{name}.csv", tuple(entry["key"]), load_sources(), entry["title"])


@cache
def load_media() -> Mapping[str, Medium]:
    """Every medium by id. Raises DataError for a bad file."""
    return read_media(ROOM / "media.toml", load_sources())


@cache
def load_warnings() -> Mapping[str, Mapping[str, Any]]:
    """Every warning by code, as `read_warnings` gives it."""
    return read_warnings(ROOM / "warnings.toml", load_sources())


@cache
def load_rules() -> Mapping[str, Rule]:
    """Every named default and limit by id. Raises DataError for a bad file."""
    rules = {}
    for row in load_table("rules").rows:
        name = row.text("id")
        rules[name] = Rule(name, row.number("value"), row.text("unit"), row.source, row.kind, row.text("note"))
    return MappingProxyType(rules)


@cache
def data_version() -> str:
    """The first twelve hex digits of a SHA-256 over every data file's name and bytes, in order of name."""
    digest = hashlib.sha256()
    for path in sorted((*ROOM.glob("*.csv"), *ROOM.glob("*.toml")), key=lambda path: path.name):
        content = path.read_bytes()
        digest.update(f"{path.name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()[:12]
