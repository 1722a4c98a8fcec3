"""The circuit drawing of many designs: every part once, labels apart, lines that end at something."""

from __future__ import annotations

import copy
import xml.etree.ElementTree as ElementTree
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from models import pipeline
from models.quantity import to_wire
from models.spec import Spec
from service import ready_specs
from service.report.circuit import circuit
from service.report.page import page
from service.report.plots import plots

SVG = "{http://www.w3.org/2000/svg}"


def sizing_of(document):
    answer = pipeline.size(Spec.model_validate(document))
    return {"id": "0", "name": "", **to_wire(answer)}


def drawn(sizing):
    root = ElementTree.fromstring(circuit(sizing))
    groups = [node for node in root.iter(f"{SVG}g") if "data-part" in node.attrib]
    return root, groups


def check_drawing(sizing):
    root, groups = drawn(sizing)
    found = Counter(node.attrib["data-part"] for node in groups)
    assert found == {part["part"]: part["count"] for part in sizing["design"]["parts"]}
    items = [(node.attrib["data-part"], node.attrib.get("data-item")) for node in groups]
    assert len(items) == len(set(items))
    assert not [
        node for group in groups for node in group.iter(f"{SVG}g") if node is not group and "data-part" in node.attrib
    ]
    text = " ".join("".join(node.itertext()) for node in root.iter(f"{SVG}text"))
    assert "nan" not in text.lower()
    assert "…" not in text, "a label is cut short"
    items = {node.attrib["data-item"] for node in root.iter() if "data-item" in node.attrib}
    assert {"gauge point P", "gauge point T"} <= items
    assert ("return bias" in items) == (sizing["design"]["return_bias_bar"] > 0.0)


@st.composite
def specs(draw):
    document = copy.deepcopy(ready_specs.example(draw(st.sampled_from(["truck", "model", "off_road"]))))
    document["corners_fitted"] = draw(st.sampled_from(["four", "front", "rear", "one"]))
    stock = {
        "pump_control": [draw(st.sampled_from(["relief", "unloading", "speed"]))],
        "rod_arrangement": [draw(st.sampled_from(["single", "through"]))],
    }
    if draw(st.booleans()):
        stock["anti_cavitation"], stock["return_bias_bar"] = [True], [3.0]
    document["stock"] = stock
    if document["corners_fitted"] in ("front", "one"):
        document["duty"][0].pop("rear")
    if document["corners_fitted"] == "rear":
        document["duty"][0].pop("front")
    return document


@settings(max_examples=12, deadline=None, derandomize=True)
@given(specs())
def test_every_part_is_drawn_as_often_as_it_is_fitted(document):
    sizing = sizing_of(document)
    check_drawing(sizing)
    page(sizing, {})
    for plot in plots(sizing).values():
        ElementTree.fromstring(plot.svg)


@pytest.mark.parametrize("control", ["relief", "unloading", "speed"])
def test_drawing_shows_its_pump_control(control):
    document = ready_specs.example("truck") | {"stock": {"pump_control": [control]}}
    sizing = sizing_of(document)
    root, groups = drawn(sizing)
    parts = {node.attrib["data-part"] for node in groups}
    text = " ".join("".join(node.itertext()) for node in root.iter(f"{SVG}text"))
    assert ("unloading valve" in parts) == (control == "unloading")
    assert ("pump check valve" in parts) == (control != "unloading")
    assert ("p → n" in text) == (control == "speed")
    assert "relief valve" in parts


def test_port_letters_stand_at_every_valve():
    _, groups = drawn(sizing_of(ready_specs.example("truck")))
    valves = [node for node in groups if node.attrib["data-part"].endswith(" valve") and "data-item" in node.attrib]
    assert len(valves) == 4
    for valve in valves:
        letters = [node.text for node in valve.iter(f"{SVG}text") if node.get("class") == "port"]
        # ISO 9461 as named in ISO 1219: P supply, T tank, A and B work
        assert sorted(letters) == ["A", "B", "P", "T"]
