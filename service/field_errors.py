"""Field errors: what pydantic found wrong, told in the words of the posted document.

Knows how to point into the document (RFC 6901), how to find a place's bounds, unit and neighbours in the JSON schema,
and the nearest known name. Does not know any particular record.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from models.quantity import allowed_text
from service.problems import ERRORS_LISTED, FieldError

Path = tuple[str | int, ...]
Schema = Mapping[str, Any]

_LONGEST_GUESS = 60
_TYPES = {
    "number": "a number",
    "integer": "a whole number",
    "string": "a text",
    "boolean": "true or false",
    "object": "an object",
    "array": "a list",
    "null": "null",
}


def pointer_of(path: Iterable[str | int]) -> str:
    """RFC 6901 pointer of a path of names and list indexes."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in path)


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that `name` begins, else the one most like it, or None when none is near."""
    if len(name) > _LONGEST_GUESS:
        return None
    lowered = {option.lower(): option for option in known}
    begun = [option for option in lowered if len(name) > 2 and option.startswith(name.lower())]
    if begun:
        return lowered[min(begun, key=len)]
    found = difflib.get_close_matches(name.lower(), lowered, n=1, cutoff=0.6)
    return lowered[found[0]] if found else None


def field_errors(error: ValidationError, document: Any, schema: Schema, place: str = "body") -> list[FieldError]:
    """The field errors as found; a place refused by several alternatives is told once.

    Of a document with thousands of faults one more than ERRORS_LISTED is told.
    """
    found: dict[tuple[str, str], FieldError] = {}
    for item in error.errors(include_url=False):
        if len(found) > ERRORS_LISTED:
            break
        path = _path_in_document(item["loc"], document, item["type"])
        if item["type"] in ("union_tag_invalid", "union_tag_not_found"):
            path = (*path, item["ctx"]["discriminator"].strip("'"))
        if item["type"] == "contradiction":
            one = _contradiction(item, path, document, place)
        else:
            one = _tell(item, path, document, schema, place)
        found.setdefault((one.pointer, one.code), one)
    return _without_beaten_alternatives(list(found.values()))


def _path_in_document(loc: Sequence[str | int], document: Any, kind: str) -> Path:
    # pydantic's location also names union branches and tags; the document does not hold them
    path: list[str | int] = []
    here = document
    for index, step in enumerate(loc):
        in_list = isinstance(here, list) and isinstance(step, int) and step < len(here)
        if in_list or (isinstance(here, Mapping) and step in here):
            here = here[step]
        elif kind == "missing" and index == len(loc) - 1:
            here = None
        else:
            continue
        path.append(step)
    return tuple(path)


def value_at(document: Any, path: Path) -> Any:
    """The value at `path`; None where there is nothing."""
    here = document
    for step in path:
        if isinstance(here, Mapping):
            here = here.get(str(step))
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            here = here[step]
        else:
            return None
    return here


def schemas_at(schema: Schema, path: Path) -> list[Schema]:
    """Every alternative of a JSON schema at `path`, references resolved."""
    definitions = schema.get("$defs", {})

    def alternatives(node: Schema) -> list[Schema]:
        if "$ref" in node:
            return alternatives(definitions[node["$ref"].rsplit("/", 1)[-1]])
        branches = [*node.get("anyOf", ()), *node.get("oneOf", ())]
        return [found for branch in branches for found in alternatives(branch)] if branches else [node]

    here = alternatives(schema)
    for step in path:
        following: list[Schema] = []
        for node in here:
            if isinstance(step, int) and "items" in node:
                following += alternatives(node["items"])
            elif step in node.get("properties", {}):
                following += alternatives(node["properties"][step])
        here = following
    return here


def _contradiction(item: Any, path: Path, document: Any, place: str) -> FieldError:
    at = (*path, *item["ctx"]["at"])
    given = value_at(document, at)
    if not isinstance(given, (str, int, float)):
        given = None  # a record is not worth repeating
    return FieldError(pointer_of(at), "contradiction", item["msg"], given, allowed="values that agree", place=place)


def _tell(item: Any, path: Path, document: Any, schema: Schema, place: str) -> FieldError:
    kind = item["type"]
    pointer, given = pointer_of(path), value_at(document, path)
    nodes = schemas_at(schema, path)
    units = [node["x-unit"] for node in nodes if "x-unit" in node]
    unit = units[0] if units else None
    if kind == "extra_forbidden":
        records = _of_its_kind(schemas_at(schema, path[:-1]), value_at(document, path[:-1]))
        known = tuple(sorted({name for node in records for name in node.get("properties", {})}))
        detail = "there is no field of that name"
        return FieldError(
            pointer, "unknown_field", detail, given, known, suggestion=nearest(str(path[-1]), known), place=place
        )
    if kind == "missing":
        return FieldError(pointer, "missing", "the field is needed", allowed=_allowed(nodes), unit=unit, place=place)
    code, detail = _code_and_detail(kind, item["msg"])
    suggestion = _suggestion(code, given, nodes, unit)
    return FieldError(pointer, code, detail, given, _allowed(nodes), unit, suggestion, place=place)


def _of_its_kind(nodes: Sequence[Schema], record: Any) -> Sequence[Schema]:
    """The alternatives that a record's own `kind` leaves; all of them when it names none."""
    kind = record.get("kind") if isinstance(record, Mapping) else None
    own = [
        node for node in nodes if kind is not None and node.get("properties", {}).get("kind", {}).get("const") == kind
    ]
    return own or nodes


def _code_and_detail(kind: str, message: str) -> tuple[str, str]:
    if kind in ("greater_than_equal", "less_than_equal", "greater_than", "less_than"):
        return "out_of_range", "the value lies outside the range allowed"
    if kind == "finite_number":
        return "not_finite", "the value is not a finite number"
    if kind in ("literal_error", "enum", "union_tag_invalid"):
        return "unknown_value", "the value is none of those allowed"
    if kind in ("too_short", "too_long", "string_too_short", "string_too_long"):
        return "wrong_length", message
    if kind == "union_tag_not_found":
        return "missing", "the field is needed"
    if kind.endswith(("_type", "_parsing")) or kind == "int_from_float":
        return "wrong_type", "the value is not of the kind allowed"
    return kind, message


def _allowed(nodes: Sequence[Schema]) -> str | tuple[str, ...] | None:
    texts: list[str] = []
    for node in nodes:
        values = node.get("enum", [node["const"]] if "const" in node else None)
        if values is not None:
            if len(nodes) == 1:
                return tuple(str(value) for value in values)
            texts.append(" or ".join(str(value) for value in values))
        elif "minimum" in node or "maximum" in node:
            unit = str(node.get("x-unit", "1"))
            texts.append(allowed_text(node.get("minimum"), node.get("maximum"), unit))
        elif node.get("type") == "array" and ("minItems" in node or "maxItems" in node):
            texts.append("a list of " + allowed_text(node.get("minItems"), node.get("maxItems"), "items"))
        elif node.get("type") == "string" and "maxLength" in node:
            texts.append(f"a text of at most {node['maxLength']} characters")
        elif node.get("type") in _TYPES and node["type"] != "null":
            texts.append(_TYPES[node["type"]])
    return " or ".join(dict.fromkeys(texts)) or None


def _suggestion(code: str, given: Any, nodes: Sequence[Schema], unit: str | None) -> str | None:
    if code == "unknown_value" and isinstance(given, str):
        known = [str(value) for node in nodes for value in node.get("enum", [node.get("const", "")])]
        return nearest(given, known)
    if code == "wrong_type" and isinstance(given, str) and any(node.get("type") == "number" for node in nodes):
        return "write the number without quotes"
    if code == "out_of_range" and unit is not None and isinstance(given, (int, float)):
        for factor in (1e-3, 1e3, 1e-6, 1e6):
            if any(_inside(given * factor, node) for node in nodes):
                return f"{given * factor:g} {unit} would be inside: was another unit meant?"
    return None


def _inside(value: float, node: Schema) -> bool:
    if "minimum" not in node and "maximum" not in node:
        return False
    return bool(node.get("minimum", value) <= value <= node.get("maximum", value))


def _without_beaten_alternatives(errors: list[FieldError]) -> list[FieldError]:
    # a union tells of every branch: what an object is refused for inside says more than that it is not a text
    def is_beaten(error: FieldError) -> bool:
        if error.code != "wrong_type" or not isinstance(error.given, Mapping):
            return False
        return any(other.pointer.startswith(error.pointer + "/") for other in errors)

    return [error for error in errors if not is_beaten(error)]
