"""Every number of the contract has a unit: the whole schema is walked; what has none is listed here with its reason."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from models.quantity import UNITS

UNIT_ELSEWHERE = {
    "DesignWarning/value": "its unit is the member `unit`",
    "DesignWarning/limit": "its unit is the member `unit`",
    "DefaultUsed/value": "its unit ends the pointer's last name",
    "PropertyValue/value": "its unit ends the name it stands under",
    "TablePage/rows": "its unit ends the column's name",
    "Part/required": "its unit is the member `unit`",
    "Part/chosen": "its unit is the member `unit`",
    "Constraint/need": "its unit is the member `unit`",
    "Constraint/allowance": "its unit is the member `unit`",
    "Unmet/need": "its unit is the member `unit`",
    "Unmet/allowance": "its unit is the member `unit`",
    "Shortfall/required": "its unit is the member `unit`",
    "Shortfall/achieved": "its unit is the member `unit`",
    "Ledger/total": "its unit is the ledger's member `unit`",
    "Ledger/residual": "a share of the total, written as it is",
    "Term/value": "its unit is the ledger's member `unit`",
    "Curve/x": "its unit is the figure's member `x_unit`",
    "Curve/y": "its unit is the figure's member `y_unit`",
    "TableRow/hydraulic": "its unit is the member `unit`",
    "TableRow/electric": "its unit is the member `unit`",
    "BudgetLine/allowed_per_corner": "its unit is the member `unit`",
    "BudgetLine/allowed_total": "its unit is the member `unit`",
    "BudgetLine/reached_per_corner": "its unit is the member `unit`",
    "BudgetLine/reached_total": "its unit is the member `unit`",
    "Metric/value": "its unit is the member `unit`",
    "Metric/limit": "its unit is the member `unit`",
    "Trace/values": "its unit is the member `unit`",
    "FieldError/given": "its unit is the member `unit`",
}
"""Numbers whose unit stands beside them, by record and member."""


def numbers(schema: Any, path: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every schema of a floating number under `schema`, with the record and member it stands in."""
    if isinstance(schema, list):
        for item in schema:
            yield from numbers(item, path)
    elif isinstance(schema, dict):
        if schema.get("type") == "number":
            yield path, schema
        for name, item in schema.get("properties", {}).items():
            yield from numbers(item, f"{path}/{name}")
        for name in ("anyOf", "oneOf", "allOf", "items", "additionalProperties", "prefixItems"):
            yield from numbers(schema.get(name), path)


@pytest.fixture
def contract(client):
    return client.get("/openapi.json").json


def test_every_number_has_its_unit(contract):
    by_symbol = {unit.symbol: unit for unit in UNITS.values()}
    found = 0
    for record, schema in contract["components"]["schemas"].items():
        for place, number in numbers(schema, record):
            found += 1
            if place in UNIT_ELSEWHERE:
                assert "x-unit" not in number, place
                continue
            name = place.rsplit("/", 1)[-1]
            unit = by_symbol.get(number.get("x-unit", ""))
            assert unit is not None or has_suffix(name), f"{place} is a number without a unit"
            if unit is not None and unit.suffix:
                assert name.endswith(f"_{unit.suffix}"), f"{place} is in {unit.symbol}, its name says otherwise"
    assert found > 100


def has_suffix(name: str) -> bool:
    """Whether a member written as it stands, without conversion, carries its unit in its name."""
    return any(suffix and name.endswith(f"_{suffix}") for suffix in UNITS)


def test_exceptions_are_still_needed(contract):
    schemas = contract["components"]["schemas"]
    for place in UNIT_ELSEWHERE:
        record, member = place.split("/")
        assert member in schemas[record]["properties"], f"{place} is gone from the contract"


def test_every_parameter_has_its_unit(contract):
    for operations in contract["paths"].values():
        for operation in operations.values():
            for parameter in operation.get("parameters", ()):
                for _, number in numbers(parameter["schema"], parameter["name"]):
                    assert number["x-unit"]


def test_every_quantity_of_the_spec_is_bounded_and_described(contract):
    schemas = contract["components"]["schemas"]
    spec_records = {"Spec", *(name for name in referenced(schemas["Spec"], schemas))}
    for record in spec_records:
        for place, number in numbers(schemas[record], record):
            assert "minimum" in number, place
            assert "maximum" in number, place
            if not place.startswith("Stock/"):
                assert number["description"], place


def referenced(schema: Any, schemas: dict[str, Any]) -> set[str]:
    """Names of every record a schema refers to, through others."""
    found: set[str] = set()
    open_ends = [schema]
    while open_ends:
        node = open_ends.pop()
        if isinstance(node, dict):
            name = str(node.get("$ref", "")).rsplit("/", 1)[-1]
            if name and name not in found:
                found.add(name)
                open_ends.append(schemas[name])
            open_ends.extend(node.values())
        elif isinstance(node, list):
            open_ends.extend(node)
    return found
