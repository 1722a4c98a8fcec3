"""A real browser on a service of its own: headless Chromium from Debian's packages, driven by ChromeDriver.

Skips, and says so, where either is not installed. The browser's network log shows every request it made.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

from service.demo import running_service

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1280,900",
)
PATIENCE = 60.0
"""Seconds allowed for one step on a busy machine."""


class Reader:
    """Someone at the page: opens it, fills fields by their pointer, waits for what is said."""

    def __init__(self, driver: webdriver.Chrome, address: str, downloads: Path) -> None:
        self.driver, self.address, self.downloads = driver, address, downloads

    def open(self) -> None:
        self.driver.get(f"{self.address}/")
        self.until(lambda: self.script("return document.body.dataset.ready") == "true")

    def script(self, text: str, *values: Any) -> Any:
        return self.driver.execute_script(text, *values)

    def until(self, condition: Any) -> Any:
        return WebDriverWait(self.driver, PATIENCE, 0.1).until(lambda _: condition())

    def element(self, selector: str) -> WebElement:
        return self.driver.find_element(By.CSS_SELECTOR, selector)

    def click(self, selector: str) -> None:
        self.script(
            "arguments[0].scrollIntoView({block: 'center', behavior: 'instant'}); arguments[0].click()",
            self.element(selector),
        )

    def field(self, pointer: str) -> WebElement:
        return self.element(f'[data-pointer="{pointer}"]')

    def choose(self, example: str) -> None:
        self.script(
            "const s = document.getElementById('start'); s.value = arguments[0]; s.dispatchEvent(new Event('change'))",
            example,
        )
        self.until(lambda: self.status() == "The spec can be sized.")

    def set(self, pointer: str, text: str) -> None:
        control = self.field(pointer)
        self.script("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", control)
        control.clear()
        control.send_keys(text)

    def status(self) -> str:
        return str(self.script("return document.getElementById('status').textContent"))

    def size(self) -> None:
        self.click("#size")
        self.until(lambda: self.status().startswith(("Sized in", "Not sized")))

    def look(self, width: int, dark: bool = False) -> None:
        theme = {"features": [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", theme)
        screen = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)

    def requested(self) -> list[str]:
        """Every address asked for since the last call."""
        messages = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]
        return [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    if shutil.which("chromium") is None or shutil.which("chromedriver") is None:
        pytest.skip("chromium or chromedriver is not installed (apt-get install chromium chromium-driver)")
    with running_service() as address:
        yield address


@pytest.fixture
def reader(address: str, tmp_path: Path) -> Iterator[Reader]:
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for flag in (*FLAGS, f"--user-data-dir={tmp_path / 'profile'}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    downloads = tmp_path / "downloads"
    downloads.mkdir()
    service = webdriver.ChromeService(shutil.which("chromedriver"), env={**os.environ, "HOME": str(tmp_path)})
    driver = webdriver.Chrome(options=options, service=service)
    driver.set_script_timeout(PATIENCE)
    driver.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(downloads)})
    try:
        yield Reader(driver, address, downloads)
    finally:
        driver.quit()
