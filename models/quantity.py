"""Quantities: SI inside, the trade's units on the wire, one definition of each.

A field is annotated once, `bore: Annotated[float, on_wire("mm", 1, 500, "Bore of the cylinder")]`. Inside it is
`record.bore` in metres; on the wire it is `bore_mm` in millimetres; the JSON schema carries unit, bounds and text.
Input records derive from `Input` (pydantic: parsed, bounded, frozen); results are frozen dataclasses, written by
`to_wire`. Nothing else in the project converts a unit by hand.
"""

from __future__ import annotations

import dataclasses
import functools
import math
import types
import typing
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

import numpy as np
from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

ZERO_CELSIUS = 273.15
STANDARD_GRAVITY = 9.80665
ATMOSPHERE = 101325.0


@dataclasses.dataclass(frozen=True)
class Unit:
    """A wire unit: `suffix` of the field name, printed `symbol`, and SI = wire·`factor` + `offset`."""

    suffix: str
    symbol: str
    factor: float
    offset: float = 0.0

    def to_si(self, value: float) -> float:
        return value * self.factor + self.offset

    def from_si(self, value: float) -> float:
        return (value - self.offset) / self.factor


_RPM = 2.0 * math.pi / 60.0
_DEG = math.pi / 180.0

UNITS: Mapping[str, Unit] = types.MappingProxyType(
    {
        u.suffix: u
        for u in (
            Unit("", "1", 1.0),
            Unit("mm", "mm", 1e-3),
            Unit("um", "µm", 1e-6),
            Unit("m", "m", 1.0),
            Unit("mm2", "mm²", 1e-6),
            Unit("m2", "m²", 1.0),
            Unit("cm3", "cm³", 1e-6),
            Unit("l", "L", 1e-3),
            Unit("m3", "m³", 1.0),
            Unit("kg", "kg", 1.0),
            Unit("kg_m", "kg/m", 1.0),
            Unit("kg_m2", "kg·m²", 1.0),
            Unit("kg_m3", "kg/m³", 1.0),
            Unit("s", "s", 1.0),
            Unit("ms", "ms", 1e-3),
            Unit("h", "h", 3600.0),
            Unit("hz", "Hz", 1.0),
            Unit("rpm", "rpm", _RPM),
            Unit("deg", "°", _DEG),
            Unit("m_s", "m/s", 1.0),
            Unit("km_h", "km/h", 1.0 / 3.6),
            Unit("m_s2", "m/s²", 1.0),
            Unit("n", "N", 1.0),
            Unit("nm", "N·m", 1.0),
            Unit("n_mm", "N/mm", 1e3),
            Unit("n_s_m", "N·s/m", 1.0),
            Unit("nm_deg", "N·m/°", 1.0 / _DEG),
            Unit("bar", "bar", 1e5),
            Unit("mpa", "MPa", 1e6),
            Unit("gpa", "GPa", 1e9),
            Unit("l_min", "L/min", 1e-3 / 60.0),
            Unit("cm3_rev", "cm³/rev", 1e-6 / (2.0 * math.pi)),
            Unit("w", "W", 1.0),
            Unit("wh", "Wh", 3600.0),
            Unit("j", "J", 1.0),
            Unit("w_k", "W/K", 1.0),
            Unit("k_w", "K/W", 1.0),
            Unit("v", "V", 1.0),
            Unit("a", "A", 1.0),
            Unit("ohm", "Ω", 1.0),
            Unit("t", "T", 1.0),
            Unit("n_sqrt_w", "N/√W", 1.0),
            Unit("n_sqrt_w_kg", "N/(√W·kg)", 1.0),
            Unit("n_kg", "N/kg", 1.0),
            Unit("n_a", "N/A", 1.0),
            Unit("c", "°C", 1.0, ZERO_CELSIUS),
            Unit("k", "K", 1.0),
            Unit("mm2_s", "mm²/s", 1e-6),
            Unit("mpa_s", "mPa·s", 1e-3),
            Unit("j_kg_k", "J/(kg·K)", 1.0),
            Unit("w_m_k", "W/(m·K)", 1.0),
            Unit("per_k", "1/K", 1.0),
            Unit("per_pa", "1/Pa", 1.0),
            Unit("kg_s", "kg/s", 1.0),
            Unit("per_m", "1/m", 1.0),
            Unit("per_s", "1/s", 1.0),
            Unit("rad_s2", "rad/s²", 1.0),
            Unit("m2_s3", "(m/s²)²/Hz", 1.0),
            Unit("mm2_hz", "mm²/Hz", 1e-6),
            Unit("n2_hz", "N²/Hz", 1.0),
            Unit("kw", "kW", 1e3),
            Unit("g", "g", 1e-3),
            Unit("n_m", "N/m", 1.0),
            Unit("mm_s", "mm/s", 1e-3),
            Unit("j_kg", "J/kg", 1.0),
            Unit("j_kg_k2", "J/(kg·K²)", 1.0),
            Unit("w_m_k2", "W/(m·K²)", 1.0),
            Unit("mpa_k", "MPa/K", 1e6),
            Unit("mm3_m_bar", "mm³/(m·bar)", 1e-14),
        )
    }
)
"""The closed list of wire units. `_n_mm` is newton per millimetre, a torque `_nm`; `_cm3_rev` is per radian inside."""


class OutOfRange(ValueError):
    """A model was asked outside its range of validity.

    `given`, `low` and `high` are in `unit` (a wire unit's symbol); `source` is an id of sources.toml.
    """

    def __init__(
        self, quantity: str, given: float, low: float | None, high: float | None, unit: str, source: str
    ) -> None:
        self.quantity, self.given, self.low, self.high = quantity, given, low, high
        self.unit, self.source = unit, source
        super().__init__(
            f"{quantity} is {given:.6g} {unit}; the data hold for {allowed_text(low, high, unit)} ({source})"
        )


def allowed_text(low: float | None, high: float | None, unit: str) -> str:
    """Bounds as a reader writes them: '1 to 500 mm', 'at least 0 bar', 'at most 60 °C'."""
    tail = "" if unit in ("", "1") else f" {unit}"
    if low is not None and high is not None:
        return f"{low:g} to {high:g}{tail}"
    if low is not None:
        return f"at least {low:g}{tail}"
    if high is not None:
        return f"at most {high:g}{tail}"
    return f"any{tail}"


@dataclasses.dataclass(frozen=True)
class Wire:
    """Annotation of a quantity: its wire unit, its bounds in that unit, and one line of text."""

    unit: Unit
    low: float | None = None
    high: float | None = None
    about: str = ""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        number = core_schema.no_info_after_validator_function(
            self.unit.to_si,
            core_schema.float_schema(strict=True, allow_inf_nan=False, ge=self.low, le=self.high),
            serialization=core_schema.plain_serializer_function_ser_schema(
                lambda si: tidy(self.unit.from_si(si)), return_schema=core_schema.float_schema()
            ),
        )
        return core_schema.nullable_schema(number) if type(None) in typing.get_args(source) else number

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        number = self.json_schema()
        return {"anyOf": [number, {"type": "null"}]} if schema["type"] == "nullable" else number

    def json_schema(self) -> dict[str, Any]:
        """JSON schema of the wire number, with its unit under `x-unit`."""
        schema: dict[str, Any] = {"type": "number", "x-unit": self.unit.symbol}
        if self.low is not None:
            schema["minimum"] = self.low
        if self.high is not None:
            schema["maximum"] = self.high
        if self.about:
            schema["description"] = self.about
        return schema


def on_wire(suffix: str, low: float | None = None, high: float | None = None, about: str = "") -> Wire:
    """A quantity carried on the wire in unit `suffix` (a key of UNITS), bounded by [low, high] in that unit."""
    return Wire(UNITS[suffix], low, high, about)


LONG = 64
"""Numbers in a list beyond which it is a course to draw, rounded where it is made, and converted from no unit."""


def tidy(value: float) -> float:
    """Drop the rounding noise of a unit conversion: 12 significant digits, enough for ledgers that close to 1e-9."""
    return float(f"{value:.12g}")


def wire_of(annotation: Any) -> Wire | None:
    """The Wire anywhere inside an annotation (through Optional, lists, mappings); None when it carries no unit."""
    if isinstance(annotation, Wire):
        return annotation
    for part in (*getattr(annotation, "__metadata__", ()), *typing.get_args(annotation)):
        found = wire_of(part)
        if found is not None:
            return found
    return None


def wire_name(name: str, wire: Wire | None) -> str:
    """Field name on the wire: the inner name plus the unit's suffix."""
    return f"{name}_{wire.unit.suffix}" if wire is not None and wire.unit.suffix else name


def contradiction(message: str, at: Sequence[str | int] = (), **context: Any) -> PydanticCustomError:
    """The error of fields that cannot hold together; `message` is formatted with `context`.

    at: path from the record that was checked to the field to look at first, in wire names; () is the record itself.
    """
    return PydanticCustomError("contradiction", "{reason}", {"reason": message.format(**context), "at": tuple(at)})


class Input(BaseModel):
    """Base of all input records: frozen, strict, no unknown fields, wire names derived from the annotations."""

    model_config: ClassVar[ConfigDict] = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, ser_json_inf_nan="null"
    )

    @classmethod
    def __pydantic_init_subclass__(cls, **kwargs: Any) -> None:
        super().__pydantic_init_subclass__(**kwargs)
        hints = typing.get_type_hints(cls, include_extras=True)
        for name, field in cls.model_fields.items():
            wire = wire_of(hints[name])
            field.alias = field.validation_alias = field.serialization_alias = wire_name(name, wire)
            if wire is not None and isinstance(field.default, float):
                field.json_schema_extra = {"default": tidy(wire.unit.from_si(field.default))}
        cls.model_rebuild(force=True)


@functools.cache
def _wire_fields(record: type) -> tuple[tuple[str, str, Wire | None], ...]:
    hints = typing.get_type_hints(record, include_extras=True)
    wires = [(field.name, wire_of(hints[field.name])) for field in dataclasses.fields(record)]
    return tuple((name, wire_name(name, wire), wire) for name, wire in wires)


def to_wire(value: Any, wire: Wire | None = None) -> Any:
    """A result record as plain JSON values in wire units.

    Raises ValueError for a number that is not finite: an answer never carries NaN or infinity.
    """
    kind = type(value)
    if kind is float:
        return _number(value, wire)
    if value is None or kind is str or kind is bool or kind is int:
        return value
    if kind in (list, tuple):
        if wire is None and len(value) > LONG and set(map(type, value)) == {float}:
            if not all(map(math.isfinite, value)):
                raise ValueError("a result is not finite")
            return list(value)
        return [_number(item, wire) if type(item) is float else to_wire(item, wire) for item in value]
    if isinstance(value, Input):
        return value.model_dump(mode="json", by_alias=True, exclude_none=True)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name: to_wire(getattr(value, attr), unit) for attr, name, unit in _wire_fields(type(value))}
    if isinstance(value, Mapping):
        return {str(key): to_wire(item, wire) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [to_wire(item, wire) for item in value]
    if isinstance(value, (str, int)):
        return value
    if isinstance(value, np.bool_):
        return bool(value)
    return _number(float(value), wire)


def plain(value: float, digits: int = 3) -> str:
    """A number to so many significant digits, written out: 10900 and not 1.09e+04. For sentences, not for reckoning."""
    rounded = float(f"{value:.{digits}g}")
    return f"{rounded:.0f}" if abs(rounded) >= 10.0 ** (digits - 1) else f"{rounded:g}"


def _number(value: float, wire: Wire | None) -> float:
    if not math.isfinite(value):
        raise ValueError(f"a result is not finite ({value})")
    return tidy(value if wire is None else wire.unit.from_si(value))


def wire_schema(record: type, definitions: dict[str, Any] | None = None) -> dict[str, Any]:
    """JSON schema of a result record as `to_wire` writes it; nested records go to `definitions` by class name.

    With `definitions` None the returned schema carries them itself under `$defs`.
    """
    own = definitions is None
    defs: dict[str, Any] = {} if definitions is None else definitions
    reference = _record_schema(record, defs)
    return {**reference, "$defs": defs} if own else reference


def _record_schema(record: type, defs: dict[str, Any]) -> dict[str, Any]:
    name = record.__name__
    if name not in defs:
        defs[name] = {}
        hints = typing.get_type_hints(record, include_extras=True)
        properties = {wire_field: _annotation_schema(hints[attr], defs) for attr, wire_field, _ in _wire_fields(record)}
        text = (record.__doc__ or "").strip().split("\n", 1)[0]
        defs[name] = {"type": "object", "description": text, "properties": properties, "required": list(properties)}
    return {"$ref": f"#/$defs/{name}"}


def _annotation_schema(annotation: Any, defs: dict[str, Any]) -> dict[str, Any]:
    origin, args = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        wire = wire_of(annotation)
        if wire is None:
            return _annotation_schema(args[0], defs)
        number = wire.json_schema()
        return {"anyOf": [number, {"type": "null"}]} if type(None) in typing.get_args(args[0]) else number
    if origin in (typing.Union, types.UnionType):
        return {"anyOf": [_annotation_schema(a, defs) for a in args]}
    if origin is typing.Literal:
        return {"enum": list(args)}
    if origin in (list, tuple):
        return {"type": "array", "items": _annotation_schema(args[0], defs) if args else {}}
    if origin in (dict, Mapping):
        return {"type": "object", "additionalProperties": _annotation_schema(args[1], defs)}
    if annotation is type(None):
        return {"type": "null"}
    if annotation in (str, bool, int, float):
        return {"type": {str: "string", bool: "boolean", int: "integer", float: "number"}[annotation]}
    if dataclasses.is_dataclass(annotation):
        return _record_schema(typing.cast(type, annotation), defs)
    if isinstance(annotation, type) and issubclass(annotation, Input):
        return {"type": "object", "description": f"{annotation.__name__}, as posted with defaults filled"}
    return {}
