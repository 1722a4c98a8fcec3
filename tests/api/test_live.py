"""The service as it runs: granian on a free port, the client examples against it, bytes on a socket, two tokens."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest

from service import ready_specs
from service.demo import await_ready, free_port
from service.reading import LARGEST_BODY
from service.web import WATCHERS

ROOT = Path(__file__).parent.parent.parent
EXAMPLES = ROOT / "client_examples"


@contextmanager
def service(folder: Path, *arguments: str, **environment: str) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """A service of its own with its log in `folder`/log; ended as an operator would."""
    port = free_port()
    command = [sys.executable, "-m", "service.command_line", "serve", "--port", str(port), *arguments]
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
        "    assert service.sizing(sizing.id) == sizing\n"
        "    spec['front']['wheel_rate_n_mm'] *= 1.5\n"
        "    stiffer = service.size(spec)\n"
        "    print(service.differences(sizing.id, stiffer.id)[0].pointer)\n"
        "    print(service.medium('mineral_vg22', temperature_c=20)['state']['temperature_c'])\n"
        "    print(len(service.check(spec).defaults_used) > 5)\n"
        "    spec['weight'] = 1\n"
        "    try:\n"
        "        service.size(spec)\n"
        "    except Refused as refused:\n"
        "        print(refused.status, refused.errors[0]['pointer'])\n"
    )
    lines = run(sys.executable, "-c", code).splitlines()
    assert lines == ["/effective_spec/front/wheel_rate_n_mm", "20.0", "True", "422 /weight"]


def test_python_client_follows_a_job_and_draws_its_bar(address):
    code = (
        f"import io, sys, time; sys.path.insert(0, {str(EXAMPLES)!r})\n"
        "from ramwright_client import ProgressBar, Ramwright, Refused\n"
        "class Terminal(io.StringIO):\n"
        "    def isatty(self): return True\n"
        f"with Ramwright({address!r}) as service:\n"
        "    spec = service.example('truck') | {'medium': 'auto', 'wheelbase_mm': 3000.0 + time.time() % 400.0}\n"
        "    drawn, states = Terminal(), []\n"
        "    bar = ProgressBar(drawn)\n"
        "    sizing = service.size(spec, watch=lambda job: (bar(job), states.append(job.state)))\n"
        "    print(states[0], states[-1], sizing.design.totals.mass_kg > 1.0, len(sizing.design.parts) > 5)\n"
        "    print(drawn.getvalue().count('\\r') == len(states), '100 %  done' in drawn.getvalue())\n"
        "    print(service.size(spec, watch=bar) == sizing)\n"
        "    try:\n"
        "        service.size(spec | {'medium': 'mineral_vg22', 'oil_cold_c': -50.0}, watch=bar)\n"
        "    except Refused as refused:\n"
        "        print(refused.status)\n"
        "    class Stop(Exception): pass\n"
        "    def stop(job): raise Stop\n"
        "    try:\n"
        "        service.size(spec | {'track_mm': 1700.0 + time.time() % 90.0}, watch=stop)\n"
        "    except Stop:\n"
        "        print('stopped')\n"
    )
    lines = run(sys.executable, "-c", code).splitlines()
    assert lines == ["queued done True True", "True True", "True", "422", "stopped"]


def test_plot_script_saves_a_picture(address, tmp_path):
    picture = tmp_path / "truck.png"
    told = run(sys.executable, str(EXAMPLES / "plot_sizing.py"), address, "truck", str(picture))
    assert "kg, feasible" in told
    assert picture.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")  # the signature of ISO/IEC 15948
    assert picture.stat().st_size > 20_000


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


def test_comparison_of_both_examples(address):
    told = run(sys.executable, str(EXAMPLES / "compare.py"), address, "3")
    for name in ("Buggy, one tenth scale", "Light delivery truck, laden"):
        assert name in told
    assert told.count("With a parallel spring carrying the weight, ") == 2
    assert told.count("With the actuators carrying the weight, ") == 2
    for axis in ("vehicle scale", "supply duty", "spring share", "motor constant", "friction"):
        assert told.count(f"  Along {axis} from ") == 2
    assert told.count("crossover in ") == 10


def test_javascript_example(address):
    if shutil.which("node") is None:
        pytest.skip("node is not installed on this machine")
    told = run("node", str(EXAMPLES / "size.mjs"), address, "model")
    assert "feasible" in told
    assert "defaults were used" in told


ASYNC = {"Prefer": "respond-async"}


def queue_sizings(address: str, count: int) -> list[str]:
    """Post as many different trucks, each to be sized as a job; their addresses, the last to run at the end."""
    found = []
    for number in range(count):
        spec = ready_specs.example("truck") | {"medium": "auto", "wheelbase_mm": 3200.0 + time.time() % 97.0 + number}
        reply = httpx.post(f"{address}/v1/sizings", json=spec, headers=ASYNC)
        while reply.status_code == 503:  # the other worker is still getting ready
            time.sleep(float(reply.headers["Retry-After"]))
            reply = httpx.post(f"{address}/v1/sizings", json=spec, headers=ASYNC)
        assert reply.status_code == 202
        found.append(address + reply.headers["Location"])
    return found


def start_long_proof(address: str, sizing: str) -> str:
    """Address of a job that outlasts every other: a stored sizing run in time for 6000 s of driving."""
    reply = httpx.get(f"{address}{sizing}/proof?seeds=20&duration_s=300")
    assert reply.status_code == 202
    return address + reply.headers["Location"]


def watched(job: str) -> list[tuple[float, dict[str, Any]]]:
    """When each event of a job arrived, and what it said, until the service ended the stream."""
    found = []
    with httpx.stream("GET", f"{job}/events", timeout=60.0) as stream:
        assert stream.headers["Content-Type"].startswith("text/event-stream")
        for line in stream.iter_lines():
            if line.startswith("data: "):
                found.append((time.monotonic(), json.loads(line.removeprefix("data: "))))
    return found


def test_events_arrive_one_by_one_and_end(address):
    first, *_, last = queue_sizings(address, 4)
    told = watched(last)
    states = [job["state"] for _, job in told]
    assert states[0] == "queued"
    assert states[-1] == "done"
    assert "running" in states
    assert told[-1][0] - told[0][0] > 0.2, "all came at once"
    shares = [job["progress"]["share"] for _, job in told]
    assert shares == sorted(shares)
    assert httpx.get(first).json()["state"] == "done"
    assert httpx.get(address + told[-1][1]["result"]).status_code == 200


def test_watchers_that_leave_free_their_threads(address):
    sizing = httpx.post(f"{address}/v1/sizings", json=ready_specs.example("truck")).json()["links"]["self"]
    jobs = [start_long_proof(address, sizing), *queue_sizings(address, 1)]
    host, port = address.removeprefix("http://").split(":")
    places = [socket.create_connection((host, int(port)), timeout=30) for _ in range(WATCHERS)]
    for place in places:
        place.sendall(f"GET {jobs[-1].removeprefix(address)}/events HTTP/1.1\r\nHost: x\r\n\r\n".encode())
        assert b" 200 " in place.recv(100)
    assert httpx.get(f"{jobs[-1]}/events").status_code == 503
    assert httpx.get(f"{address}/livez").status_code == 200  # each watcher holds a thread, and there are more
    for place in places:
        place.close()
    end = time.monotonic() + 20.0
    while time.monotonic() < end:
        with httpx.stream("GET", f"{jobs[-1]}/events") as stream:
            if stream.status_code == 200:
                break
        time.sleep(0.2)
    else:
        pytest.fail("the threads were not freed")
    for job in jobs:
        httpx.delete(job)
    assert {httpx.get(job).json()["state"] for job in jobs} <= {"done", "cancelled", "running"}


def test_any_worker_answers_for_a_job_and_none_after_the_end(tmp_path):
    with service(tmp_path, "--workers", "2") as (address, _):
        [job] = queue_sizings(address, 1)
        statuses = {httpx.get(job).status_code for _ in range(20)}  # each on a connection of its own
        assert statuses == {200}
        assert watched(job)[-1][1]["state"] == "done"
        sizing = httpx.get(job).json()["result"]
        lost = start_long_proof(address, sizing)
    with service(tmp_path) as (again, _):
        assert httpx.get(job.replace(address, again)).json()["state"] == "done"
        reply = httpx.get(lost.replace(address, again))
        assert reply.status_code == 404
        assert "lost when the service stops" in reply.json()["detail"]


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
