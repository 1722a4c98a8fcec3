"""The service as it runs: granian on a free port, the client examples against it, bytes on a socket, two tokens."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import httpx
import pytest

from service import ready_specs
from service.demo import await_ready, free_port
from service.reading import LARGEST_BODY

ROOT = Path(__file__).parent.parent.parent
EXAMPLES = ROOT / "client_examples"


@contextmanager
def service(folder: Path, **environment: str) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """A service of its own with its log in `folder`/log; ended as an operator would."""
    port = free_port()
    command = [sys.executable, "-m", "service.command_line", "serve", "--port", str(port)]
    own = {"RAMWRIGHT_STORE": str(folder / "sizings.sqlite3"), "RAMWRIGHT_TOKEN": ""}
    surroundings = {**os.environ, **own, **environment}
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(command, cwd=ROOT, env=surroundings, stdout=log, stderr=log)
    try:
        await_ready(f"http://127.0.0.1:{port}", process)
        yield f"http://127.0.0.1:{port}", process
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(timeout=30)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("live")


@pytest.fixture(scope="module")
def address(folder: Path) -> Iterator[str]:
    with service(folder) as (address, _):
        yield address


def run(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, timeout=600, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_curl_example(address):
    if shutil.which("curl") is None:
        pytest.skip("curl is not installed on this machine")
    told = run("bash", str(EXAMPLES / "size.sh"), address, "truck")
    assert "POST /v1/sizings  20" in told
    assert "GET the same      304" in told
    assert "outcome           feasible" in told


def test_python_client_example(address):
    code = (
        f"import sys; sys.path.insert(0, {str(EXAMPLES)!r})\n"
        "from ramwright_client import Ramwright, Refused\n"
        f"with Ramwright({address!r}) as service:\n"
        "    spec = service.example('model')\n"
        "    sizing = service.size(spec)\n"
        "    assert service.sizing(sizing['id']) == sizing\n"
        "    spec['front']['wheel_rate_n_mm'] *= 1.5\n"
        "    stiffer = service.size(spec)\n"
        "    print(service.differences(sizing['id'], stiffer['id'])[0]['pointer'])\n"
        "    print(service.medium('mineral_vg22', temperature_c=20)['state']['temperature_c'])\n"
        "    print(len(service.check(spec)['defaults_used']) > 5)\n"
        "    spec['weight'] = 1\n"
        "    try:\n"
        "        service.size(spec)\n"
        "    except Refused as refused:\n"
        "        print(refused.status, refused.errors[0]['pointer'])\n"
    )
    lines = run(sys.executable, "-c", code).splitlines()
    assert lines == ["/effective_spec/front/wheel_rate_n_mm", "20.0", "True", "422 /weight"]


@pytest.mark.parametrize("example", ["model", "truck"])
def test_sweep_of_supply_pressure(address, example):
    head, *rows = run(sys.executable, str(EXAMPLES / "sweep_pressure.py"), address, example).splitlines()
    assert head.split()[0] == "pressure"
    assert len(rows) >= 4
    outcomes = {row.split()[1] for row in rows}
    assert outcomes <= {"feasible", "feasible_with_warnings", "infeasible"}
    assert outcomes & {"feasible", "feasible_with_warnings"}


def test_demand_of_a_road_and_a_speed(address):
    told = run(sys.executable, str(EXAMPLES / "road_demand.py"), address, "C", "60").splitlines()
    assert "C at 60 km/h" in told[0]
    rows = [line.split() for line in told if line.startswith(("parallel", "series", "corner_accumulator"))]
    assert [row[:2] for row in rows] == [
        [arrangement, axle]
        for arrangement in ("parallel", "series", "corner_accumulator")
        for axle in ("front", "rear")
    ]
    assert len([line for line in told if "needs a valve of" in line]) == 3


def test_javascript_example(address):
    if shutil.which("node") is None:
        pytest.skip("node is not installed on this machine")
    told = run("node", str(EXAMPLES / "size.mjs"), address, "model")
    assert "feasible" in told
    assert "defaults were used" in told


def exchange(address: str, request: bytes) -> bytes:
    """The first line of what a server answers to raw bytes."""
    host, port = address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=30) as connection:
        with suppress(ConnectionError):  # the server may refuse and close before it has read everything
            connection.sendall(request)
        return connection.makefile("rb").readline()


def test_chunked_body_over_the_limit_is_413(address):
    def pieces() -> Iterator[bytes]:
        for _ in range(LARGEST_BODY // 1000 + 50):
            yield b" " * 1000

    reply = httpx.post(f"{address}/v1/sizings", content=pieces(), headers={"Content-Type": "application/json"})
    assert reply.status_code == 413
    assert reply.headers["Content-Type"] == "application/problem+json"


def test_chunked_body_within_the_limit_is_read(address):
    def pieces() -> Iterator[bytes]:
        body = ready_specs.example_bytes("truck")
        yield body[:50]
        yield body[50:]

    reply = httpx.post(f"{address}/v1/specs/check", content=pieces(), headers={"Content-Type": "application/json"})
    assert reply.status_code == 200


def test_ten_megabytes_are_refused(address):
    body = b'{"name": "' + b"a" * 10_000_000 + b'"}'
    head = b"POST /v1/sizings HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
    line = exchange(address, head + b"Content-Length: %d\r\n\r\n" % len(body) + body)
    assert b" 413 " in line
    assert httpx.get(f"{address}/livez").status_code == 200


def test_ready_and_logged_without_a_word_of_the_spec(address, folder):
    spec = ready_specs.example("truck") | {"name": "confidential"}
    reply = httpx.post(f"{address}/v1/sizings", json=spec, headers={"X-Request-Id": "seen-in-log"}, timeout=60)
    assert reply.status_code in (200, 201)
    lines = [json.loads(line) for line in (folder / "log").read_text().splitlines()]
    assert any(line["event"] == "ready" for line in lines)
    [line] = [line for line in lines if line.get("request_id") == "seen-in-log"]
    assert line["route"] == "/v1/sizings"
    assert "confidential" not in (folder / "log").read_text()


def test_port_that_is_taken_is_refused_not_shared(address):
    port = address.rsplit(":", 1)[1]
    command = [sys.executable, "-m", "service.command_line", "serve", "--port", port]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, cwd=ROOT)
    assert done.returncode == 2
    assert f"port {port}" in done.stderr


def test_tokens_of_the_environment(tmp_path):
    spec = ready_specs.example("truck")
    with service(tmp_path, RAMWRIGHT_TOKEN="one, two") as (address, process):
        assert httpx.post(f"{address}/v1/sizings", json=spec).status_code == 401
        first = httpx.post(f"{address}/v1/sizings", json=spec, headers={"Authorization": "Bearer one"}, timeout=60)
        assert first.status_code == 201
        url = address + first.headers["Location"]
        assert httpx.get(url, headers={"Authorization": "Bearer two"}).status_code == 404
        assert httpx.get(url, headers={"Authorization": "Bearer one"}).content == first.content
    assert process.returncode == 0
