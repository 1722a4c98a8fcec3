"""How quickly a stored sizing is shown and what it weighs. Not part of the test run:

    python tests/benchmarks/report_speed.py

Starts a service of its own; first paint is measured in Chromium where it is installed.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import time
from pathlib import Path

import httpx

sys.path.insert(0, str(Path(__file__).parent.parent.parent))

from service.demo import running_service

REPEATS = 15
FORMS = ("report", "circuit", "parts?format=csv", "plots/force-velocity-front")


def line(what: str, value: float, unit: str, goal: str = "") -> None:
    print(f"{what:<52}{value:>9.1f} {unit:<3}  {goal}", flush=True)


def measure(client: httpx.Client, path: str) -> tuple[float, int]:
    """Median milliseconds of a GET, and the bytes of its body."""
    taken = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        reply = client.get(path).raise_for_status()
        taken.append(1e3 * (time.perf_counter() - start))
    return statistics.median(taken), len(reply.content)


def first_paint(address: str) -> float:
    """Milliseconds until the working page first paints something, in an empty profile."""
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking"):
        options.add_argument(flag)
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
    try:
        driver.get(address)
        time.sleep(1.5)
        script = "return performance.getEntriesByName('first-contentful-paint')[0]?.startTime"
        return float(driver.execute_script(script))
    finally:
        driver.quit()


def main() -> None:
    with running_service() as address, httpx.Client(base_url=address, timeout=120.0) as client:
        for example in ("model", "truck", "infeasible"):
            spec = client.get(f"/v1/examples/{example}").json()
            base = client.post("/v1/sizings", json=spec).raise_for_status().json()["links"]["self"]
            for form in FORMS:
                milliseconds, size = measure(client, f"{base}/{form}")
                line(f"{example}, {form}, median", milliseconds, "ms", "< 300")
                line(f"{example}, {form}, weight", size / 1e3, "kB", "< 1500")
        if shutil.which("chromium") and shutil.which("chromedriver"):
            line("working page, first contentful paint", first_paint(address), "ms", "< 1000")


if __name__ == "__main__":
    main()
