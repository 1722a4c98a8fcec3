"""Names with markup, quotes, control characters and formulas appear as text in every form a sizing is shown in.

A sizing whose texts of the user are three tokens is rendered over and over with other texts in their place: HTML parsed
by Python's own parser and SVG by its XML parser must hold the same kinds of element and attribute as with the tokens,
and no cell of a CSV may be one that a spreadsheet takes for a formula (its leading characters as OWASP's, from memory).
"""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
import xml.etree.ElementTree as ElementTree
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from service import ready_specs
from service.app import create_app
from service.report import show
from service.settings import Settings
from service.summary import summarise

TOKENS = ("Zqname", "Zqduty", "Zqoil")
HOSTILE = (
    "<script>alert(1)</script>",
    "</title></style><img src=x onerror=alert(1)>",
    "\"'><svg onload=alert(1)>",
    "]]><!--",
    "&lt;b&gt;&#x41;",
    "{{ 7*7 }}{% raw %}",
    '=HYPERLINK("http://example.org","x")',
    "+1",
    "-2+3",
    "@SUM(1)",
    "\t=1",
    " =1",
    "\r\n=1",
    "|calc",
    'a,b;c"d',
    "\x00\x07\x1b[2J\x9b31m",
    "\u202egnp.exe\u2066",
    "\ud7ff\ufffe\uffff",
    "＝1",
)
UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)
"""A whole report an example is too slow to make failures smaller."""

texts = st.sampled_from(HOSTILE) | st.text(st.characters(exclude_categories=["Cs"]), max_size=80)


class Kinds(HTMLParser):
    """Which elements and attributes a page holds, and whether it holds anything but elements and text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: set[tuple[str, str]] = set()
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.found |= {(tag, ""), *((tag, name) for name, _ in attrs)}

    def handle_comment(self, data: str) -> None:
        self.found.add(("comment", ""))

    def handle_pi(self, data: str) -> None:
        self.found.add(("instruction", ""))


def kinds_of_svg(text: str) -> set[tuple[str, str]]:
    nodes = list(ElementTree.fromstring(text).iter())
    return {(node.tag, "") for node in nodes} | {(node.tag, name) for node in nodes for name in node.attrib}


def replaced(value: Any, by: dict[str, str]) -> Any:
    if isinstance(value, str):
        for token, text in by.items():
            value = value.replace(token, text)
        return value
    if isinstance(value, dict):
        return {name: replaced(item, by) for name, item in value.items()}
    return [replaced(item, by) for item in value] if isinstance(value, list) else value


@pytest.fixture(scope="module")
def sizing(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """A sizing with each token where the user's own text goes."""
    spec = ready_specs.example("truck")
    name, duty, oil = TOKENS
    spec["name"], spec["duty"][0]["label"] = name, duty
    points = [(0.0, 180.0), (80.0, 6.5)]
    spec["medium"] = {
        "label": oil,
        "density_kg_m3": 860.0,
        "pour_point_c": -40.0,
        "viscosity": [{"temperature_c": t, "kinematic_viscosity_mm2_s": v} for t, v in points],
    }
    store = tmp_path_factory.mktemp("injection") / "sizings.sqlite3"
    reply = create_app(Settings(store, warm_up=False)).test_client().post("/v1/sizings", json=spec)
    assert reply.status_code == 201, reply.text
    assert all(token in json.dumps(reply.json) for token in TOKENS)
    document: dict[str, Any] = reply.json
    return document


@settings(deadline=None, max_examples=25, phases=UNSHRUNK, suppress_health_check=[HealthCheck.too_slow])
@given(name=texts, duty=texts, oil=texts)
def test_texts_of_the_user_stay_texts(sizing, name, duty, oil):
    document = replaced(sizing, dict(zip(TOKENS, (name, duty, oil), strict=True)))
    assert Kinds(show.report(document)).found <= Kinds(show.report(sizing)).found
    assert kinds_of_svg(show.circuit_svg(document)) <= kinds_of_svg(show.circuit_svg(sizing))
    tables = [show.parts_csv(document)]
    for plot in show.plot_list(sizing["id"], "", sizing)["plots"]:
        drawn, before = (show.plots_of(shown).get(plot["name"]) for shown in (document, sizing))
        assert drawn is not None
        assert before is not None
        assert kinds_of_svg(drawn.svg) <= kinds_of_svg(before.svg)
        tables.append(drawn.csv)
    for table in tables:
        check_cells(table)
    for shown in (show.report(document), show.circuit_svg(document), *tables, summarise(document)):
        strange = {mark for mark in shown.removeprefix("\ufeff") if unicodedata.category(mark) == "Cc"} - set("\r\n")
        assert not strange
        assert not set(shown) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def check_cells(table: str) -> None:
    rows = list(csv.reader(io.StringIO(table.removeprefix("\ufeff"), newline="")))
    assert len({len(row) for row in rows}) == 1
    for cell in (cell for row in rows for cell in row):
        number = re.fullmatch(r"-?\d+(\.\d+)?(e[+-]?\d+)?", cell)
        assert number or not cell.lstrip().startswith(
            ("=", "+", "-", "@", "\t", "\r", "|", "%", "＝", "＋", "－", "＠")
        ), cell


def test_tokens_are_seen_where_texts_of_the_user_go(sizing):
    name, duty, oil = TOKENS
    report = show.report(sizing)
    assert all(token in report for token in TOKENS)
    assert name in show.circuit_svg(sizing)
    assert oil in show.circuit_svg(sizing)
    assert duty in show.parts_csv(sizing)
    assert name in summarise(sizing)
