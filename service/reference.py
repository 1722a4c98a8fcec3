"""Reference data on the wire: media, size tables and sources, as `fluids_data` holds them.

Knows how each is listed and shown. Looks nothing up beyond the tables and computes a medium's state by `models.oil`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

import fluids_data
from models import oil
from models.quantity import on_wire
from service.problems import Problem


@dataclass(frozen=True)
class PropertyValue:
    """A property of a medium in the unit its name ends with, and its origin."""

    value: float
    source: str
    kind: str
    note: str


@dataclass(frozen=True)
class ViscosityValue:
    """A kinematic viscosity of a medium at atmospheric pressure, and its origin."""

    temperature_c: float
    kinematic_viscosity_mm2_s: float
    source: str
    kind: str


@dataclass(frozen=True)
class MediumState:
    """A medium at one gauge pressure and temperature, without free air."""

    temperature: Annotated[float, on_wire("c")]
    pressure: Annotated[float, on_wire("bar", about="Gauge")]
    density: Annotated[float, on_wire("kg_m3")]
    kinematic_viscosity: Annotated[float, on_wire("mm2_s")]
    dynamic_viscosity: Annotated[float, on_wire("mpa_s")]
    bulk_modulus: Annotated[float, on_wire("mpa", about="Adiabatic tangent")]
    heat_capacity: Annotated[float, on_wire("j_kg_k")]
    conductivity: Annotated[float, on_wire("w_m_k")]


@dataclass(frozen=True)
class MediumLine:
    """A medium in the list."""

    id: str
    label: str
    family: str
    link: str


@dataclass(frozen=True)
class MediumList:
    """Every medium a spec may name."""

    media: tuple[MediumLine, ...]


@dataclass(frozen=True)
class MediumPage:
    """A medium: its data with their origin, and its state at the pressure and temperature asked for."""

    id: str
    label: str
    family: str
    seals: tuple[str, ...]
    seal_note: str
    flammability: str
    lowest_temperature: Annotated[float, on_wire("c", about="Below it the data do not hold")]
    highest_temperature: Annotated[float, on_wire("c", about="Above it the data do not hold")]
    state: MediumState
    properties: Mapping[str, PropertyValue]
    viscosity: tuple[ViscosityValue, ...]


@dataclass(frozen=True)
class TableLine:
    """A table in the list."""

    name: str
    rows: int
    link: str


@dataclass(frozen=True)
class TableList:
    """Every table the search draws on."""

    tables: tuple[TableLine, ...]


@dataclass(frozen=True)
class TablePage:
    """A table: rows by column name, each number in the unit its column ends with, each row with source and kind."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[Mapping[str, float | str], ...]


@dataclass(frozen=True)
class SourcePage:
    """A citation."""

    id: str
    title: str
    edition: str
    kind: str


@dataclass(frozen=True)
class SourceList:
    """Every citation."""

    sources: tuple[SourcePage, ...]


def media_list() -> MediumList:
    media = fluids_data.load_media().values()
    return MediumList(tuple(MediumLine(m.id, m.label, m.family, f"/v1/media/{m.id}") for m in media))


def medium_page(id: str, pressure: float, temperature: float) -> MediumPage:
    """A medium at `pressure` (Pa gauge) and `temperature` (K); raises Problem `not-found`, OutOfRange."""
    data = fluids_data.load_media().get(id)
    if data is None:
        raise _not_here("medium", id, "/v1/media")
    medium = oil.medium_from_data(id)
    state = oil.state(medium, pressure, temperature)
    return MediumPage(
        id=data.id,
        label=data.label,
        family=data.family,
        seals=data.seals,
        seal_note=data.seal_note,
        flammability=data.flammability,
        lowest_temperature=medium.lowest_temperature,
        highest_temperature=medium.highest_temperature,
        state=MediumState(
            temperature=temperature,
            pressure=pressure,
            density=state.density,
            kinematic_viscosity=state.kinematic_viscosity,
            dynamic_viscosity=state.dynamic_viscosity,
            bulk_modulus=state.bulk_modulus_tangent_adiabatic,
            heat_capacity=state.heat_capacity,
            conductivity=state.conductivity,
        ),
        properties={n: PropertyValue(p.value, p.source, p.kind, p.note) for n, p in data.properties.items()},
        viscosity=tuple(ViscosityValue(p.temperature_c, p.viscosity_mm2_s, p.source, p.kind) for p in data.viscosity),
    )


def table_list() -> TableList:
    tables = [fluids_data.load_table(name) for name in fluids_data.TABLE_NAMES]
    return TableList(tuple(TableLine(t.name, len(t.rows), f"/v1/tables/{t.name}") for t in tables))


def table_page(name: str) -> TablePage:
    """A table by name; raises Problem `not-found`."""
    if name not in fluids_data.TABLE_NAMES:
        raise _not_here("table", name, "/v1/tables")
    table = fluids_data.load_table(name)
    rows = tuple({**row.values, "source": row.source, "kind": row.kind} for row in table.rows)
    return TablePage(table.name, (*table.columns, "source", "kind"), rows)


def source_list() -> SourceList:
    return SourceList(tuple(_source(source) for source in fluids_data.load_sources().values()))


def source_page(id: str) -> SourcePage:
    """A citation by id; raises Problem `not-found`."""
    source = fluids_data.load_sources().get(id)
    if source is None:
        raise _not_here("source", id, "/v1/sources")
    return _source(source)


def _source(source: fluids_data.Source) -> SourcePage:
    return SourcePage(source.id, source.title, source.edition, source.kind)


def _not_here(what: str, name: str, where: str) -> Problem:
    return Problem("not-found", f"there is no {what} {name[:80]!r}; {where} lists them")
