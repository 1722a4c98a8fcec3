"""Media, tables, sources and ready specs as they are served."""

from __future__ import annotations

import pytest

import fluids_data
from service import ready_specs
from service.reading import read_spec


def test_every_medium_is_listed_and_shown(client):
    listed = client.get("/v1/media").json["media"]
    assert {line["id"] for line in listed} == set(fluids_data.load_media())
    for line in listed:
        page = client.get(line["link"])
        assert page.status_code == 200, line["id"]
        assert page.json["state"]["density_kg_m3"] > 600
        assert all(entry["source"] and entry["kind"] for entry in page.json["properties"].values())


def test_state_follows_temperature_and_pressure(client):
    # ISO 3448: ISO VG 32 is 32 mm²/s at 40 °C by definition, limits ±10 %
    at_40 = client.get("/v1/media/mineral_vg32?temperature_c=40").json["state"]
    assert at_40["kinematic_viscosity_mm2_s"] == pytest.approx(32, rel=0.1)
    assert at_40["pressure_bar"] == 0
    cold = client.get("/v1/media/mineral_vg32?temperature_c=0&pressure_bar=200").json["state"]
    assert cold["temperature_c"] == pytest.approx(0, abs=1e-9)
    assert cold["kinematic_viscosity_mm2_s"] > 5 * at_40["kinematic_viscosity_mm2_s"]
    assert cold["density_kg_m3"] > at_40["density_kg_m3"]


def test_every_row_of_every_table_has_its_origin(client):
    sources = {source["id"] for source in client.get("/v1/sources").json["sources"]}
    for line in client.get("/v1/tables").json["tables"]:
        table = client.get(line["link"]).json
        assert len(table["rows"]) == line["rows"] > 0
        for row in table["rows"]:
            assert list(row) == table["columns"]
            assert row["source"] in sources
            assert row["kind"] in fluids_data.KINDS


def test_sources_are_shown(client):
    for source in client.get("/v1/sources").json["sources"]:
        assert client.get(f"/v1/sources/{source['id']}").json == source


def test_ready_specs_are_valid(client):
    listed = client.get("/v1/examples").json["examples"]
    assert {line["name"] for line in listed} == {
        "infeasible",
        "model",
        "model_on_track",
        "model_rig",
        "off_road",
        "truck",
        "truck_on_road",
    }
    for line in listed:
        spec = client.get(line["link"]).json
        assert spec["name"] == line["title"]
        assert client.post("/v1/specs/check", json=spec).status_code == 200


def test_ready_specs_give_every_label_of_their_own():
    for name in ready_specs.example_names():
        spec = read_spec(ready_specs.example_bytes(name)).spec
        assert spec.name
        assert all(duty.label != "suspension velocity" for duty in spec.duty)


@pytest.mark.parametrize("example", ["truck", "model", "infeasible"])
def test_ready_specs_are_answered(client, example):
    reply = client.post("/v1/sizings", json=client.get(f"/v1/examples/{example}").json)
    assert reply.status_code == 201
    assert (reply.json["outcome"] == "infeasible") == (example == "infeasible")
