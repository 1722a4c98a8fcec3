"""The report, the drawing, the plots and the parts list over HTTP: formats, weight, and that no text becomes markup."""

from __future__ import annotations

import csv
import io
import re
import xml.etree.ElementTree as ElementTree
from html.parser import HTMLParser

import pytest

from tests.conftest import problem_of

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "<script>alert(1)</script> \"quoted\" 'single' & </svg> \x07\x1b[0m \u202egnp =1+1"


@pytest.fixture
def sizing(client, truck):
    return client.post("/v1/sizings", json=truck).json


@pytest.fixture
def base(sizing):
    return f"/v1/sizings/{sizing['id']}"


class Tags(HTMLParser):
    """Collects tags, attributes and visible text."""

    def __init__(self):
        super().__init__()
        self.tags, self.attributes, self.text = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data):
        self.text.append(data)


def read_html(text):
    page = Tags()
    page.feed(text)
    return page


def rows_of(reply):
    return list(csv.reader(io.StringIO(reply.get_data(as_text=True).removeprefix("\ufeff"))))


def test_sizing_links_to_its_forms(client, sizing):
    for form in ("report", "parts", "circuit", "plots"):
        assert client.get(sizing["links"][form]).status_code == 200


def test_report_stands_alone(client, base):
    reply = client.get(f"{base}/report")
    assert reply.content_type == "text/html; charset=utf-8"
    page = read_html(reply.text)
    assert not {"script", "link", "img", "iframe", "object", "embed", "base"} & set(page.tags)
    assert not [a for a in page.attributes if a[0] in ("src", "action", "data") or a[0].startswith("on")]
    links = {value for name, value in page.attributes if name == "href"}
    places = {value for name, value in page.attributes if name == "id"}
    assert links
    assert links <= {f"#{place}" for place in places}
    assert "url(" not in reply.text
    assert "@import" not in reply.text


def test_report_keeps_the_order_of_its_sections(client, base):
    found = re.findall(r'<section id="([a-z]+)"', client.get(f"{base}/report").text)
    assert found == [
        "warnings",
        "circuit",
        "parts",
        "plots",
        "ledgers",
        "comparison",
        "why",
        "assumptions",
        "sources",
        "limits",
        "versions",
    ]


def test_report_defers_to_regulations_and_practice(client, base):
    text = " ".join(read_html(client.get(f"{base}/report").text).text)
    assert "local regulations" in text
    assert "licensed practice" in text
    assert "does not cover" in text


def test_infeasible_report_says_what_was_missed(client):
    spec = client.get("/v1/examples/infeasible").json
    sizing = client.post("/v1/sizings", json=spec).json
    text = " ".join(read_html(client.get(sizing["links"]["report"]).text).text)
    assert "No design meets this spec" in text
    assert sizing["search"]["unmet"][0]["would_help"] in text


def test_every_warning_part_and_default_is_in_the_report(client, base, sizing):
    text = " ".join(" ".join(read_html(client.get(f"{base}/report").text).text).split())
    for warning in sizing["warnings"]:
        assert warning["message"][1:] in text
        assert warning["advice"] in text
        assert warning["concerns"].replace("design.", "").replace(".", ", ").replace("_", " ") in text
    told = [(warning["message"], warning["advice"]) for warning in sizing["warnings"]]
    assert len(set(told)) < len(told), "a truck's axles earn the same warning"
    page = client.get(f"{base}/report").text
    assert page.count('<span class="word">') == len(set(told)), "one warning of several places is told once"
    for part in sizing["design"]["parts"]:
        assert part["choice"].replace("_", " ") in text
    for default in sizing["defaults_used"]:
        assert default["pointer"] in text


@pytest.mark.parametrize("example", ["truck", "model", "infeasible"])
def test_page_weight(client, example):
    sizing = client.post("/v1/sizings", json=client.get(f"/v1/examples/{example}").json).json
    page = client.get(sizing["links"]["report"]).data
    plots = re.search(rb'<section id="plots">.*?</section>', page, re.DOTALL).group()
    assert len(page) < 1_500_000
    assert len(page) - len(plots) < 300_000


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("text/html", "text/html"),
        ("image/svg+xml", "image/svg+xml"),
        ("text/csv", "text/csv"),
        ("application/json", "application/json"),
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", "text/html"),
        ("*/*", "application/json"),
    ],
)
def test_sizing_in_the_form_asked_for(client, base, accept, kind):
    assert client.get(base, headers={"Accept": accept}).mimetype == kind


@pytest.mark.parametrize("form", ["html", "svg", "csv", "json"])
def test_format_comes_before_accept(client, base, form):
    kinds = {"html": "text/html", "svg": "image/svg+xml", "csv": "text/csv", "json": "application/json"}
    reply = client.get(f"{base}?format={form}", headers={"Accept": "application/json"})
    assert reply.mimetype == kinds[form]


def test_forms_an_address_lacks_are_refused(client, base):
    problem_of(client.get(base, headers={"Accept": "image/png"}), 406)
    problem_of(client.get(f"{base}/parts?format=svg"), 406)
    problem_of(client.get(f"{base}/circuit", headers={"Accept": "text/csv"}), 406)
    assert problem_of(client.get(f"{base}?format=pdf"), 422)["errors"][0]["pointer"] == "/format"
    problem_of(client.get(f"{base}/plots/nothing"), 404)
    problem_of(client.get("/v1/sizings/0/report"), 404)
    problem_of(client.get("/assets/docs.html"), 404)
    problem_of(client.get("/assets/..%2fapp.py"), 404)


@pytest.fixture
def undesigned(client, truck):
    """A sizing without a design: a ride law that adds nothing asks no force."""
    for axle in ("front", "rear"):
        truck[axle] |= {"retained_damping_n_s_m": 1500, "reference_damping_n_s_m": 1500}
    truck["duty"] = [{"kind": "road", "road_class": "C", "speed_km_h": 60, "control": {"law": "passive"}}]
    sizing = client.post("/v1/sizings", json=truck).json
    assert sizing["design"] is None
    return sizing


@pytest.mark.parametrize(
    "path",
    [
        "/report",
        "/parts",
        "/parts?format=csv",
        "/circuit",
        "/plots",
        "/plots/power",
        "/plots/power?format=csv",
        "?format=html",
        "?format=csv",
        "?format=svg",
    ],
)
def test_a_sizing_without_a_design_has_nothing_to_show(client, undesigned, path):
    problem = problem_of(client.get(f"{undesigned['links']['self']}{path}"), 404)
    assert "no design to show" in problem["detail"]
    assert client.get(undesigned["links"]["self"]).json == undesigned


def test_rendered_forms_answer_304(client, base):
    for path in (f"{base}/report", f"{base}/circuit", f"{base}/parts?format=csv", "/", "/assets/work.js"):
        etag = client.get(path).headers["ETag"]
        assert client.get(path, headers={"If-None-Match": etag}).status_code == 304


def test_parts_csv_holds_bare_numbers_under_headers(client, base, sizing):
    rows = rows_of(client.get(f"{base}/parts?format=csv"))
    parts = client.get(f"{base}/parts").json["parts"]
    assert parts == sizing["design"]["parts"]
    assert len(rows) == len(parts) + 1
    for row, part in zip(rows[1:], parts, strict=True):
        cells = dict(zip(rows[0], row, strict=True))
        assert cells["part"] == part["part"]
        assert float(cells["mass_kg"]) == pytest.approx(part["mass_kg"], rel=1e-9)
        assert float(cells["required"]) == pytest.approx(part["required"], rel=1e-9)
        assert cells["unit_of_required_and_chosen"] == part["unit"]
    assert client.get(f"{base}/parts?format=csv").data.startswith(b"\xef\xbb\xbf")


def test_plots_are_drawings_and_numbers(client, base, sizing):
    listed = client.get(f"{base}/plots").json["plots"]
    names = {plot["name"] for plot in listed}
    assert {f["name"] for f in sizing["figures"]} < names
    assert {"pressure-front", "power", "heat", "mass-power"} < names
    for plot in listed:
        root = ElementTree.fromstring(client.get(plot["link"]).data)
        assert root.tag == f"{SVG}svg"
        assert root.findtext(f"{SVG}title") == plot["title"]
        rows = rows_of(client.get(f"{plot['link']}?format=csv"))
        assert len(rows) > 2
        assert len({len(row) for row in rows}) == 1
        if plot["name"] in ("power", "force-velocity-front"):
            assert "[" in rows[0][-1]


def test_plotted_ledger_closes(client, base, sizing):
    ledger = next(ledger for ledger in sizing["ledgers"] if ledger["name"] == "heat")
    rows = rows_of(client.get(f"{base}/plots/heat?format=csv"))[1:]
    assert sum(float(value) for _, value in rows[:-1]) == pytest.approx(ledger["total"], rel=1e-9)
    assert rows[-1][0] == "total"


def test_texts_stay_texts(client, truck):
    truck["name"] = HOSTILE
    truck["duty"][0]["label"] = '=HYPERLINK("http://example.org") <b>&'
    sizing = client.post("/v1/sizings", json=truck).json
    base = sizing["links"]["self"]
    page = read_html(client.get(f"{base}/report").text)
    assert "script" not in page.tags
    assert "b" not in page.tags
    seen = "".join(page.text)
    assert "<script>alert(1)</script> \"quoted\" 'single' & </svg>" in seen
    for path in ("/circuit", "/plots/force-velocity-front", "/plots/flow-cycle"):
        reply = client.get(base + path)
        root = ElementTree.fromstring(reply.data)
        assert not [node for node in root.iter() if node.tag.endswith(("script", "}b"))]
    title = ElementTree.fromstring(client.get(f"{base}/circuit").data).findtext(f"{SVG}title")
    assert "<script>alert(1)</script>" in title
    for path in ("/report", "/circuit", "/parts?format=csv", "/plots/flow-cycle?format=csv"):
        assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\u202e]", client.get(base + path).text)
    for path in ("/parts?format=csv", "/plots/force-velocity-front?format=csv"):
        cells = [cell for row in rows_of(client.get(base + path)) for cell in row]
        assert any("HYPERLINK" in cell for cell in cells)
        assert not [cell for cell in cells if cell.startswith(("=", "@", "+", "\t"))]


def test_working_page_loads_only_its_own_files(client):
    reply = client.get("/")
    policy = reply.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    page = read_html(reply.text)
    for name, value in page.attributes:
        if name in ("src", "href"):
            assert value.startswith(("/", "#", "data:,"))
            assert not value.startswith("//")
            if value.startswith("/assets/"):
                assert client.get(value).status_code == 200
    assert client.get("/assets/work.js").mimetype == "text/javascript"
    for name in ("work.js", "form.js", "compare.js", "work.css"):
        assert not re.search(r"https?://", client.get(f"/assets/{name}").text)
