"""The contract: a valid OpenAPI document that names every address, every status, and pages that need no network."""

from __future__ import annotations

import re

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from service.contract import document

ADDRESSES = {
    "/v1/sizings": {"post"},
    "/v1/sizings/{id}": {"get"},
    "/v1/demands": {"post"},
    "/v1/sizings/{id}/report": {"get"},
    "/v1/sizings/{id}/parts": {"get"},
    "/v1/sizings/{id}/circuit": {"get"},
    "/v1/sizings/{id}/plots": {"get"},
    "/v1/sizings/{id}/plots/{name}": {"get"},
    "/v1/sizings/{id}/proof": {"get"},
    "/v1/jobs/{id}": {"get", "delete"},
    "/v1/jobs/{id}/events": {"get"},
    "/v1/comparisons": {"post"},
    "/v1/comparisons/{id}": {"get"},
    "/v1/comparisons/{id}/plots": {"get"},
    "/v1/comparisons/{id}/plots/{name}": {"get"},
    "/v1/specs/check": {"post"},
    "/v1/media": {"get"},
    "/v1/media/{id}": {"get"},
    "/v1/tables": {"get"},
    "/v1/tables/{name}": {"get"},
    "/v1/sources": {"get"},
    "/v1/sources/{id}": {"get"},
    "/v1/examples": {"get"},
    "/v1/examples/{name}": {"get"},
    "/v1/about": {"get"},
    "/livez": {"get"},
    "/readyz": {"get"},
    "/openapi.json": {"get"},
    "/docs": {"get"},
    "/": {"get"},
    "/assets/{name}": {"get"},
}


@pytest.fixture
def contract(client):
    return client.get("/openapi.json").json


def test_document_is_valid_openapi(contract):
    assert contract["openapi"].startswith("3.1")
    OpenAPIV31SpecValidator(contract).validate()


def test_every_address_is_documented(client, contract):
    assert {path: set(item) for path, item in contract["paths"].items()} == ADDRESSES
    rules = {re.sub(r"<(\w+)>", r"{\1}", rule.rule) for rule in client.application.url_map.iter_rules()}
    assert rules == set(ADDRESSES)


def test_every_status_is_documented(contract):
    always = {"401", "404", "405", "406", "500"}
    for path, operations in contract["paths"].items():
        for method, operation in operations.items():
            found = set(operation["responses"])
            assert always <= found, path
            if method == "post":
                assert {"400", "413", "415", "422"} <= found
    posted = contract["paths"]["/v1/sizings"]["post"]["responses"]
    assert {"200", "201", "429", "503"} <= set(posted)
    assert posted["503"]["headers"]["Retry-After"]
    assert "304" in contract["paths"]["/v1/sizings/{id}"]["get"]["responses"]
    assert "422" not in contract["paths"]["/v1/about"]["get"]["responses"]


def test_errors_are_problem_documents(contract):
    for operations in contract["paths"].values():
        for operation in operations.values():
            for status, reply in operation["responses"].items():
                if int(status) >= 400:
                    assert list(reply["content"]) == ["application/problem+json"]


def test_spec_and_sizing_are_described(contract):
    schemas = contract["components"]["schemas"]
    body = contract["paths"]["/v1/sizings"]["post"]["requestBody"]
    assert body["required"]
    assert body["content"]["application/json"]["schema"] == {"$ref": "#/components/schemas/Spec"}
    mass = schemas["Axle"]["properties"]["sprung_mass_kg"]
    assert (mass["x-unit"], mass["minimum"], mass["maximum"]) == ("kg", 0.02, 20000.0)
    assert mass["description"]
    assert schemas["Sizing"]["properties"]["effective_spec"] == {"$ref": "#/components/schemas/Spec"}


def test_sizings_and_problems_keep_to_the_contract(client, contract, truck):
    from openapi_schema_validator import OAS31Validator

    def check(value, name):
        OAS31Validator({"$ref": f"#/components/schemas/{name}", "components": contract["components"]}).validate(value)

    check(truck, "Spec")
    sizing = client.post("/v1/sizings", json=truck).json
    check(sizing, "Sizing")
    check(client.post("/v1/specs/check", json=truck).json, "CheckedSpec")
    check(client.post("/v1/demands", json=truck).json, "DemandAnswer")
    check(client.get(f"/v1/sizings/{sizing['id']}?against={sizing['id']}").json, "Comparison")
    check(client.post("/v1/sizings", json={"zork": 1}).json, "Problem")
    check(client.get(f"/v1/sizings/{sizing['id']}/parts").json, "PartList")
    check(client.get(f"/v1/sizings/{sizing['id']}/plots").json, "PlotList")
    check(client.get("/v1/about").json, "About")
    check(client.get("/v1/media").json, "MediumList")
    check(client.get("/v1/media/mineral_vg32").json, "MediumPage")
    check(client.get("/v1/tables/bores").json, "TablePage")


def test_document_is_the_same_each_time(client):
    assert document(client.application) == document(client.application)


def test_docs_page_needs_nothing_from_elsewhere(client, contract):
    reply = client.get("/docs")
    assert reply.content_type == "text/html; charset=utf-8"
    assert "default-src 'none'" in reply.headers["Content-Security-Policy"]
    page = reply.text
    assert "<script" not in page
    assert not re.search(r"(?:src|srcset|data|action)\s*=", page)
    assert all(
        target.startswith(("#", "/")) and not target.startswith("//") for target in re.findall(r'href="(.*?)"', page)
    )
    assert not re.search(r"@import|url\(", page)


def test_docs_page_shows_every_address_record_and_problem(client, contract):
    page = client.get("/docs").text
    for path in contract["paths"]:
        assert f"<code>{path}</code>" in page
    anchors = set(re.findall(r'id="(.*?)"', page))
    assert {f"schema-{name}" for name in contract["components"]["schemas"]} <= anchors
    assert {target[1:] for target in re.findall(r'href="(#.*?)"', page)} <= anchors
    problem = client.get("/nowhere").json
    assert problem["type"].split("#")[1] in anchors


def test_docs_are_not_served_as_json(client):
    reply = client.get("/docs", headers={"Accept": "application/json"})
    assert reply.status_code == 406
