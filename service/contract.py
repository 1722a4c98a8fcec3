"""The contract: what the OpenAPI document says beyond what the routes declare.

Knows the schemas of spec, answer and problem, the statuses every route shares, and how the framework's document is
mended: nulls dropped, schemas written out as they are validated.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from flask_openapi3 import OpenAPI
from flask_openapi3.types import ResponseDict

from models.answer import Answer, ComparisonAnswer, DemandAnswer
from models.quantity import wire_schema
from service import ready_specs, reference
from service.differ import Comparison
from service.job_book import Job
from service.problems import KINDS, MEDIA_TYPE
from service.reading import comparison_schema, spec_schema
from service.web import EVENTS, Query

_ALWAYS = (401, 404, 405, 406, 500)
_POSTED = (400, 413, 415, 422)

SPEC_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Spec"}}},
    }
}
"""Extension of an operation that reads a spec."""


COMPARISON_BODY: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/ComparisonRequest"}}},
    }
}
"""Extension of the operation that reads a spec and an axis."""


PREFER: dict[str, Any] = {
    "parameters": [
        {
            "name": "Prefer",
            "in": "header",
            "required": False,
            "description": "`respond-async` asks for a job instead of waiting (RFC 7240)",
            "schema": {"type": "string"},
        }
    ]
}
"""Extension of an operation that can answer with a job."""

ALSO: Mapping[str, tuple[str, ...]] = {
    "SizingOrComparison": ("text/html", "text/csv", "image/svg+xml"),
    "PartList": ("text/csv",),
    "ProofPage": ("text/csv",),
}
"""Further media types in which what a schema describes is given."""


def replies(*successes: tuple[int, str, str | None], problems: tuple[int, ...] = ()) -> ResponseDict:
    """Documented responses: successes as (status, text, schema name), and problems beside those of every route."""
    found: ResponseDict = {}
    for status, text, schema in successes:
        found[status] = {"description": text}
        if schema is not None:
            usual = {"html": "text/html", "svg": "image/svg+xml", "events": EVENTS}.get(schema, "application/json")
            kinds = (usual, *ALSO.get(schema, ()))
            reference = {"$ref": f"#/components/schemas/{schema}"}
            bodies = {
                kind: {"schema": reference if kind == "application/json" else {"type": "string"}} for kind in kinds
            }
            found[status] = {"description": text, "content": bodies}
    for status in sorted({*_ALWAYS, *problems}):
        problem: dict[str, Any] = {
            "description": " or ".join(kind.title for kind in KINDS.values() if kind.status == status),
            "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
        if status in (429, 503):
            problem["headers"] = {"Retry-After": {"description": "Seconds", "schema": {"type": "integer"}}}
        found[status] = problem
    return found


def posted(*successes: tuple[int, str, str | None], problems: tuple[int, ...] = ()) -> ResponseDict:
    """As `replies`, for a route that reads a body."""
    return replies(*successes, problems=(*_POSTED, *problems))


PROBLEM_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "A refusal, as RFC 9457 defines it",
    "required": ["type", "title", "status", "detail", "errors"],
    "properties": {
        "type": {"type": "string", "description": "Reference to the kind of problem, explained on the docs page"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "What is wrong in this very case"},
        "errors": {"type": "array", "items": {"$ref": "#/components/schemas/FieldError"}},
    },
}

FIELD_ERROR_SCHEMA: dict[str, Any] = {
    "type": "object",
    "description": "What is wrong at one place of a request",
    "required": ["pointer", "in", "code", "detail"],
    "properties": {
        "pointer": {"type": "string", "description": "RFC 6901 pointer into the body, or /name of a parameter"},
        "in": {"enum": ["body", "query"]},
        "code": {"type": "string"},
        "detail": {"type": "string"},
        "given": {"description": "The refused value, in `unit`; long texts and structures are not repeated"},
        "allowed": {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]},
        "unit": {"type": "string", "description": "Unit of given and allowed"},
        "suggestion": {"type": "string", "description": "The nearest known name, or what was probably meant"},
        "quantity": {"type": "string", "description": "What lies outside the data"},
        "source": {"type": "string", "description": "Id of the source whose range it is; see /v1/sources"},
    },
}


def schemas() -> dict[str, Any]:
    """Every schema of the contract by name, references written as OpenAPI's."""
    found: dict[str, Any] = {"Problem": PROBLEM_SCHEMA, "FieldError": FIELD_ERROR_SCHEMA}
    spec = copy.deepcopy(spec_schema())
    found |= spec.pop("$defs", {})
    found["Spec"] = spec
    asked = copy.deepcopy(comparison_schema())
    del asked["$defs"]  # they are the spec's own
    asked["properties"]["spec"] = {"$ref": "#/$defs/Spec"}
    found["ComparisonRequest"] = asked
    results: dict[str, Any] = {}
    records = (
        Answer,
        ComparisonAnswer,
        DemandAnswer,
        Comparison,
        reference.MediumList,
        reference.MediumPage,
        reference.TableList,
        reference.TablePage,
        reference.SourceList,
        reference.SourcePage,
        ready_specs.ExampleList,
        Job,
    )
    for record in records:
        wire_schema(record, results)
    results["Job"]["properties"]["problem"] = {"anyOf": [{"$ref": "#/$defs/Problem"}, {"type": "null"}]}
    results["Sizing"] = _sizing(results["Answer"])
    results["CheckedSpec"] = _checked(results["Answer"])
    results["DemandAnswer"] = _demanded(results["DemandAnswer"])
    results["ComparisonAnswer"] = _compared(results["ComparisonAnswer"])
    clash = found.keys() & results.keys()
    if clash:
        raise ValueError(f"names of input and result records clash: {sorted(clash)}")
    del results["Answer"]  # all of it stands in Sizing
    found |= results | _SMALL
    referred: dict[str, Any] = _with_references(found)
    return referred


def _sizing(answer: Mapping[str, Any]) -> dict[str, Any]:
    own = {
        "id": {"type": "string", "description": "Digest of spec, model and data versions"},
        "name": {"type": "string", "description": "The label of the spec as first posted"},
    }
    links = {"type": "object", "additionalProperties": {"type": "string"}}
    properties = own | answer["properties"] | {"links": links}
    del properties["traces"]  # they stand in ProofPage
    properties["effective_spec"] = {"$ref": "#/components/schemas/Spec"}
    return {
        "type": "object",
        "description": "A sizing: what was asked, what it demands, the design, and how far to trust it",
        "properties": properties,
        "required": list(properties),
    }


def _demanded(answer: Mapping[str, Any]) -> dict[str, Any]:
    named = {"type": "string", "description": "The label of the spec"}
    properties = {"name": named, **answer["properties"], "effective_spec": {"$ref": "#/components/schemas/Spec"}}
    return {**answer, "properties": properties, "required": list(properties)}


def _compared(answer: Mapping[str, Any]) -> dict[str, Any]:
    own = {
        "id": {"type": "string", "description": "Digest of request, model and data versions"},
        "name": {"type": "string", "description": "The label of the spec as first posted"},
    }
    links = {"type": "object", "additionalProperties": {"type": "string"}}
    properties = own | answer["properties"] | {"links": links, "effective_spec": {"$ref": "#/components/schemas/Spec"}}
    return {**answer, "properties": properties, "required": list(properties)}


def _checked(answer: Mapping[str, Any]) -> dict[str, Any]:
    taken = ("effective_spec", "defaults_used", "model_version", "data_version")
    own = {"id": {"type": "string", "description": "The id a sizing of this spec has"}, "name": {"type": "string"}}
    properties = own | {name: answer["properties"][name] for name in taken}
    properties["effective_spec"] = {"$ref": "#/components/schemas/Spec"}
    return {
        "type": "object",
        "description": "What a sizing would start from",
        "properties": properties,
        "required": list(properties),
    }


_SMALL: dict[str, Any] = {
    "ProofPage": {
        "type": "object",
        "description": "The proof of a sizing, and the courses of its runs",
        "required": ["id", "proof", "traces"],
        "properties": {
            "id": {"type": "string"},
            "proof": {"$ref": "#/$defs/Proof"},
            "traces": {"type": "array", "items": {"$ref": "#/$defs/DutyTraces"}},
        },
    },
    "SizingOrComparison": {"anyOf": [{"$ref": "#/$defs/Sizing"}, {"$ref": "#/$defs/Comparison"}]},
    "PartList": {
        "type": "object",
        "description": "The parts of a sizing",
        "required": ["id", "parts"],
        "properties": {"id": {"type": "string"}, "parts": {"type": "array", "items": {"$ref": "#/$defs/Part"}}},
    },
    "PlotList": {
        "type": "object",
        "description": "The plots of a sizing or a comparison, each to be had as SVG and, with ?format=csv, as numbers",
        "required": ["id", "plots"],
        "properties": {
            "id": {"type": "string"},
            "plots": {
                "type": "array",
                "items": {
                    "type": "object",
                    "required": ["name", "title", "about", "link"],
                    "properties": {name: {"type": "string"} for name in ("name", "title", "about", "link")},
                },
            },
        },
    },
    "Contract": {"type": "object", "description": "An OpenAPI 3.1 document"},
    "Status": {"type": "object", "required": ["status"], "properties": {"status": {"type": "string"}}},
    "About": {
        "type": "object",
        "description": "Versions and limits of this service",
        "required": ["name", "model_version", "data_version", "limits", "licence"],
        "properties": {
            "name": {"type": "string"},
            "model_version": {"type": "string"},
            "data_version": {"type": "string"},
            "licence": {"type": "string"},
            "limits": {"type": "object", "additionalProperties": {"type": "integer"}},
            "links": {"type": "object", "additionalProperties": {"type": "string"}},
        },
    },
}


def _with_references(node: Any) -> Any:
    if isinstance(node, Mapping):
        renamed = {name: _with_references(item) for name, item in node.items()}
        if isinstance(renamed.get("$ref"), str):
            renamed["$ref"] = renamed["$ref"].replace("#/$defs/", "#/components/schemas/")
        mapping = renamed.get("discriminator", {})
        if isinstance(mapping, Mapping) and "mapping" in mapping:
            targets = {k: v.replace("#/$defs/", "#/components/schemas/") for k, v in mapping["mapping"].items()}
            renamed["discriminator"] = {**mapping, "mapping": targets}
        return renamed
    return [_with_references(item) for item in node] if isinstance(node, list) else node


def document(app: OpenAPI) -> dict[str, Any]:
    """The OpenAPI document of the app's routes."""
    found: dict[str, Any] = _without_nulls(copy.deepcopy(app.api_doc))
    # the framework's own schema record drops x-unit, and it adds a 422 of its own kind to every operation
    parameters = _query_parameters()
    for path in found["paths"].values():
        for operation in path.values():
            operation.pop("tags", None)
            for parameter in operation.get("parameters", ()):
                if parameter["in"] == "query":
                    parameter["schema"] = parameters[parameter["name"]]
            if MEDIA_TYPE not in operation["responses"]["422"]["content"]:
                del operation["responses"]["422"]
    found["components"] = {
        "schemas": schemas(),
        "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
    }
    found["security"] = [{}, {"token": []}]
    return found


def _query_parameters() -> dict[str, Any]:
    # a parameter means the same wherever its name stands
    records = [record.model_json_schema(by_alias=True) for record in _all_below(Query)]
    return {name: schema for record in records for name, schema in record["properties"].items()}


def _all_below(record: type[Query]) -> list[type[Query]]:
    return [found for sub in record.__subclasses__() for found in (sub, *_all_below(sub))]


def _without_nulls(node: Any) -> Any:
    if isinstance(node, Mapping):
        return {name: _without_nulls(item) for name, item in node.items() if item is not None}
    return [_without_nulls(item) for item in node] if isinstance(node, list) else node
