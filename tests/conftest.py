"""Fixtures that many rooms' tests share: ready specs, and the service in this process with a store of its own."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import settings as property_tests

from models.precompile import precompile
from service import ready_specs, sizings
from service.app import create_app
from service.settings import Settings
from service.web import Office

property_tests.register_profile("steady", derandomize=True, print_blob=True)
property_tests.register_profile("wide", print_blob=True)
property_tests.load_profile(os.environ.get("RAMWRIGHT_PROPERTY_TESTS", "steady"))


def pytest_configure(config: pytest.Config) -> None:
    """Compile all kernels before the workers start, or each would compile its own; let no answer turn on the clock."""
    sizings.INLINE_SECONDS = 600.0
    if not hasattr(config, "workerinput") and not config.option.collectonly:
        precompile()


@pytest.fixture
def truck() -> dict[str, Any]:
    """The truck's ready spec, as a document of the test's own."""
    return ready_specs.example("truck")


@pytest.fixture
def model() -> dict[str, Any]:
    """The model's ready spec, as a document of the test's own."""
    return ready_specs.example("model")


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(tmp_path / "sizings.sqlite3", warm_up=False)


@pytest.fixture
def client(settings: Settings) -> Iterator[FlaskClient]:
    """A client of the service in this process."""
    with create_app(settings).test_client() as client:
        yield client


@pytest.fixture
def office(client: FlaskClient) -> Office:
    """What the client's service shares between its routes: the store above all."""
    shared: Office = client.application.extensions["ramwright"]
    return shared


def problem_of(reply: Any, status: int) -> dict[str, Any]:
    """The reply's problem document, checked for what RFC 9457 and the contract ask of every one."""
    assert reply.status_code == status, reply.get_data(as_text=True)[:500]
    assert reply.content_type == "application/problem+json"
    text = reply.get_data(as_text=True)
    document: dict[str, Any] = json.loads(text, parse_constant=lambda token: pytest.fail(f"{token} in a problem"))
    assert document.keys() == {"type", "title", "status", "detail", "errors"}
    assert document["status"] == status
    assert "Traceback" not in text
    assert "/work/" not in text
    assert ".py" not in text
    return document
