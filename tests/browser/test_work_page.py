"""The working page in a real browser: fill, err, size, read, compare, download; by keyboard; in light and dark.

Accessibility by axe-core (shipped in the package axe-core-python; only tests load it).
"""

from __future__ import annotations

import csv
import importlib.resources
import json
import time
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator

import httpx
import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys

from tests.browser.conftest import Reader

AXE = """
const done = arguments[0];
const broken = (e) => done({violations: [{impact: 'critical', id: `${e}`, nodes: []}]});
axe.run(document, {iframes: false}).then(done, broken);
"""
GRAVE = ("serious", "critical")


def violations(reader: Reader) -> list[str]:
    """axe-core's serious and critical findings on the page as it stands, frames included."""
    source = importlib.resources.files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    reader.script(source)
    found = reader.driver.execute_async_script(AXE)
    return [
        f"{v['id']}: {[node['html'][:120] for node in v['nodes'][:3]]}"
        for v in found["violations"]
        if v["impact"] in GRAVE
    ]


def stays_at_home(reader: Reader) -> None:
    allowed = (reader.address, "data:", "blob:", "about:", "chrome:")
    assert not [url for url in reader.requested() if not url.startswith(allowed)]


def test_from_example_to_report(reader: Reader) -> None:
    reader.open()
    reader.choose("truck")
    assert reader.field("/front/sprung_mass_kg").get_attribute("value") == "600"
    # a default that the service derived stands in its field in grey
    assert reader.field("/layout/supply_line_mm").get_attribute("placeholder") == "862.5"
    reader.size()
    assert "feasible with warnings" in reader.status()
    frame = reader.element("#report")
    reader.driver.switch_to.frame(frame)
    assert "Light delivery truck, laden" in reader.element("h1").text
    assert reader.script("return document.querySelectorAll('#circuit [data-part=\"front valve\"]').length") == 2
    reader.driver.switch_to.default_content()
    stays_at_home(reader)
    severe = [entry for entry in reader.driver.get_log("browser") if "Content Security Policy" in entry["message"]]
    assert not severe


def test_errors_stand_where_they_belong(reader: Reader) -> None:
    reader.open()
    reader.choose("model")
    reader.set("/front/sprung_mass_kg", "heavy")
    reader.set("/rear/droop_travel_mm", "9000")
    reader.size()
    assert reader.status().startswith("Not sized: 2")
    for pointer, words in (("/front/sprung_mass_kg", "number"), ("/rear/droop_travel_mm", "600")):
        control = reader.field(pointer)
        assert control.get_attribute("aria-invalid") == "true"
        described = control.get_attribute("aria-describedby").split()[-1]
        assert words in reader.element(f"#{described}").text
    assert reader.script("return document.activeElement.dataset.pointer") == "/front/sprung_mass_kg"
    assert violations(reader) == []
    reader.set("/front/sprung_mass_kg", "0.3")
    reader.set("/rear/droop_travel_mm", "10")
    reader.until(lambda: reader.status() == "The spec can be sized.")
    assert not reader.driver.find_elements("css selector", "[aria-invalid]")


@pytest.mark.parametrize("example", ["truck", "model", "infeasible"])
def test_form_gives_an_example_back_unchanged(reader: Reader, example: str) -> None:
    reader.open()
    reader.choose(example)
    document = json.loads(reader.script("return document.getElementById('json').value"))
    assert document == httpx.get(f"{reader.address}/v1/examples/{example}").json()


def test_blank_spec_names_what_it_needs(reader: Reader) -> None:
    reader.open()
    reader.size()
    assert reader.status().startswith("Not sized")
    assert reader.driver.find_elements("css selector", ".errors p")
    assert not [p for p in reader.driver.find_elements("css selector", ".errors p") if not p.text]


def test_a_contradiction_is_shown_at_the_field_to_look_at_first(reader: Reader) -> None:
    reader.open()
    reader.choose("truck")
    reader.set("/ambient_c", "60")
    reader.set("/oil_hot_c", "50")
    reader.size()
    control = reader.field("/ambient_c")
    assert control.get_attribute("aria-invalid") == "true"
    told = reader.element(f"#{control.get_attribute('aria-describedby').split()[-1]}").text
    assert "or no heat leaves the oil" in told


@pytest.fixture
def busy(reader: Reader) -> Iterator[None]:
    """A service with several long sizings queued before whatever comes next."""
    spec = httpx.get(f"{reader.address}/v1/examples/truck_on_road").json()
    jobs = []
    for number in range(5):
        spec["wheelbase_mm"] = 3000.0 + time.time() % 500.0 + number
        reply = httpx.post(f"{reader.address}/v1/sizings", json=spec, headers={"Prefer": "respond-async"})
        jobs.append(reader.address + reply.headers["Location"])
    yield
    for job in jobs:
        httpx.delete(job)


def other_truck(reader: Reader) -> None:
    """Fill in a truck that was never sized before."""
    reader.choose("truck")
    reader.set("/track_mm", f"{1500.0 + time.time() % 300.0:.3f}")
    reader.until(lambda: reader.status() == "The spec can be sized.")


def test_progress_is_shown_while_a_sizing_waits_and_runs(reader: Reader, busy: None) -> None:
    reader.open()
    other_truck(reader)
    reader.requested()
    reader.click("#size")
    reader.until(lambda: "waiting for its turn" in reader.element("#doing").text)
    bar = reader.element("#progress")
    assert bar.aria_role == "progressbar"
    assert bar.accessible_name == "Sizing"
    assert "waiting" in bar.get_attribute("aria-valuetext")
    assert bar.is_displayed()
    assert violations(reader) == []
    reader.until(lambda: reader.script("return document.getElementById('progress').value") > 0.2)
    reader.until(lambda: reader.status().startswith("Sized in"))
    assert not bar.is_displayed()
    asked = [url for url in reader.requested() if "/v1/jobs/" in url]
    assert [url for url in asked if url.endswith("/events")] == asked  # told by events, never asked


def test_a_sizing_is_cancelled_by_keyboard(reader: Reader, busy: None) -> None:
    reader.open()
    other_truck(reader)
    reader.element("#size").send_keys(Keys.ENTER)
    reader.until(lambda: reader.element("#cancel").is_displayed())
    reader.until(lambda: "waiting" in reader.element("#doing").text)
    ActionChains(reader.driver).send_keys(Keys.TAB).perform()
    while reader.script("return document.activeElement.id") != "cancel":
        ActionChains(reader.driver).send_keys(Keys.TAB).perform()
    ActionChains(reader.driver).send_keys(Keys.ENTER).perform()
    reader.until(lambda: reader.status() == "Cancelled; nothing was kept.")
    assert not reader.element("#work").is_displayed()
    assert not reader.element("#results").is_displayed()
    assert reader.script("return document.activeElement.id") == "size"


def test_without_a_stream_the_page_asks_for_the_job(reader: Reader, busy: None) -> None:
    reader.driver.execute_cdp_cmd("Network.enable", {})
    reader.driver.execute_cdp_cmd("Network.setBlockedURLs", {"urls": ["*/events"]})
    reader.open()
    other_truck(reader)
    reader.requested()
    reader.size()
    assert "feasible with warnings" in reader.status()
    asked = [url for url in reader.requested() if "/v1/jobs/" in url]
    assert len([url for url in asked if not url.endswith("/events")]) >= 2


def test_a_sizing_without_a_design_says_why(reader: Reader) -> None:
    spec = httpx.get(f"{reader.address}/v1/examples/truck_on_road").json()
    for axle in ("front", "rear"):
        spec[axle] |= {"retained_damping_n_s_m": 1500, "reference_damping_n_s_m": 1500}
    spec["duty"] = [{"kind": "road", "road_class": "C", "speed_km_h": 60, "control": {"law": "passive"}}]
    reader.open()
    reader.script("document.getElementById('json').value = arguments[0]", json.dumps(spec))
    reader.click("#take-json")
    reader.until(lambda: reader.status() == "The spec can be sized.")
    reader.size()
    assert "infeasible" in reader.status()
    assert "no design to show" in reader.element("#no-design").text
    assert "front force asked" in reader.element("#no-design").text
    assert not reader.element("#report").is_displayed()
    assert [b.text for b in reader.driver.find_elements("css selector", "#sizings button")] == ["Read", "JSON"]
    reader.choose("truck")
    reader.size()
    assert reader.element("#report").is_displayed()
    assert not reader.element("#no-design").is_displayed()
    assert "Mass – " in reader.element("#compared").text
    assert violations(reader) == []


def test_compare_and_download(reader: Reader) -> None:
    reader.open()
    for example in ("truck", "model_rig"):
        reader.choose(example)
        reader.size()
    table = reader.element("#compared")
    heads = [head.text.split("\n")[0] for head in table.find_elements("css selector", "thead th")]
    assert heads == ["Light delivery truck, laden", "One corner of the tenth-scale buggy, on an eccentric"]
    rows = {
        row.find_element("css selector", "th").text: row.text for row in table.find_elements("css selector", "tbody tr")
    }
    assert "kg" in rows["Mass"]
    assert rows["rear cylinder"].endswith("–")
    spec = httpx.get(f"{reader.address}/v1/examples/truck").json()
    sizing = httpx.post(f"{reader.address}/v1/sizings", json=spec, timeout=60.0).json()
    for what, ending in (("JSON", "json"), ("Parts CSV", "csv"), ("Circuit SVG", "svg"), ("Report", "html")):
        reader.click(f'button[aria-label^="Download {what} of Light"]')
        path = reader.downloads / f"ramwright-{sizing['id'][:8]}.{ending}"
        reader.until(path.exists)
        body = path.read_bytes()
        if ending == "json":
            assert json.loads(body)["id"] == sizing["id"]
        elif ending == "csv":
            assert next(csv.reader(body.decode("utf-8-sig").splitlines()))[0] == "part"
        elif ending == "svg":
            ElementTree.fromstring(body)
        else:
            assert body.startswith(b"<!doctype html>")
    stays_at_home(reader)


def test_hostile_names_are_text_on_the_page(reader: Reader) -> None:
    hostile = '<img src=x onerror="window.ran = 1">\'</script>'
    reader.open()
    for example in ("truck", "model"):
        spec = httpx.get(f"{reader.address}/v1/examples/{example}").json() | {"name": hostile}
        spec["duty"][0] |= {"label": hostile, "share_of_time": 0.4321}
        reader.script("document.getElementById('json').value = arguments[0]", json.dumps(spec))
        reader.click("#take-json")
        reader.until(lambda: reader.status() == "The spec can be sized.")
        reader.size()
    assert reader.element("#compared thead th").text.startswith(hostile)
    assert hostile in reader.element("#sizings").text
    reader.driver.switch_to.frame(reader.element("#report"))
    assert reader.element("h1").text == hostile
    reader.driver.switch_to.default_content()
    assert reader.script("return window.ran") is None
    assert reader.driver.find_elements("css selector", "img") == []


def test_curl_command_is_the_same_call(reader: Reader) -> None:
    reader.open()
    reader.choose("model")
    reader.set("/name", "it's mine")
    reader.click("#curl")
    text = reader.element("#curl-text").text
    assert f"{reader.address}/v1/sizings" in text
    body = text[text.index("-d '") + 4 : -1].replace("'\\''", "'")
    assert json.loads(body)["name"] == "it's mine"


def test_keyboard_alone_sizes(reader: Reader) -> None:
    reader.open()
    reader.choose("model")
    reader.field("/name").send_keys(Keys.ENTER)
    reader.until(lambda: reader.status().startswith("Sized in"))
    assert reader.script("return document.activeElement.id") == "report-title"


def test_rows_are_added_and_removed(reader: Reader) -> None:
    reader.open()
    reader.choose("model")
    reader.script("[...document.querySelectorAll('button')].find((b) => b.textContent === 'Add to duty').click()")
    assert reader.field("/duty/1/share_of_time")
    reader.script("[...document.querySelectorAll('button')].find((b) => b.textContent === 'Remove duty 2').click()")
    reader.until(lambda: reader.status() == "The spec can be sized.")
    assert not reader.driver.find_elements("css selector", '[data-pointer="/duty/1/share_of_time"]')


def test_kind_of_duty_brings_its_own_fields(reader: Reader) -> None:
    reader.open()
    reader.choose("model")
    reader.script(
        "const s = arguments[0]; s.value = 'rig'; s.dispatchEvent(new Event('change', {bubbles: true}))",
        reader.field("/duty/0/kind"),
    )
    reader.until(lambda: reader.status() == "2 things to mend.")
    reader.set("/duty/0/eccentricity_mm", "3")
    reader.set("/duty/0/frequency_hz", "2")
    reader.until(lambda: reader.status() == "The spec can be sized.")
    document = json.loads(reader.script("return document.getElementById('json').value"))
    assert document["duty"] == [{"kind": "rig", "eccentricity_mm": 3, "frequency_hz": 2}]


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_page_and_report_suit_every_reader(reader: Reader, width: int, dark: bool) -> None:
    reader.look(width, dark)
    reader.open()
    reader.choose("truck")
    reader.size()
    assert violations(reader) == []
    assert reader.script("return document.documentElement.scrollWidth") <= width
    spec = httpx.get(f"{reader.address}/v1/examples/truck").json()
    sizing = httpx.post(f"{reader.address}/v1/sizings", json=spec, timeout=60.0).json()
    reader.driver.get(f"{reader.address}{sizing['links']['report']}")
    assert violations(reader) == []
    assert reader.script("return document.documentElement.scrollWidth") <= width
    stays_at_home(reader)


OVERLAPS = """
const boxes = [...document.querySelectorAll('text')].map((t) => [t.textContent, t.getBoundingClientRect()]);
const paper = document.querySelector('svg').getBoundingClientRect();
const shared = (a, b, low, high) => Math.min(a[high], b[high]) - Math.max(a[low], b[low]);
const found = [];
boxes.forEach(([a, r], i) => {
  if (r.right > paper.right || r.left < paper.left || r.bottom > paper.bottom) found.push(`${a} leaves the paper`);
  boxes.slice(i + 1).forEach(([b, s]) => {
    if (shared(r, s, "left", "right") > 1 && shared(r, s, "top", "bottom") > 3) found.push(`${a} | ${b}`);
  });
});
return found;
"""


@pytest.mark.parametrize("control", ["relief", "unloading", "speed"])
@pytest.mark.parametrize("example", ["truck", "model"])
def test_no_label_of_the_drawing_lies_on_another(reader: Reader, example: str, control: str) -> None:
    spec = httpx.get(f"{reader.address}/v1/examples/{example}").json()
    spec["stock"] = {"pump_control": [control], "anti_cavitation": [True], "return_bias_bar": [3.0]}
    sizing = httpx.post(f"{reader.address}/v1/sizings", json=spec, timeout=120.0).json()
    for link in (
        sizing["links"]["circuit"],
        *(f"{sizing['links']['plots']}/{name}" for name in ("power", "flow-cycle")),
    ):
        reader.driver.get(reader.address + link)
        assert reader.script(OVERLAPS) == []
