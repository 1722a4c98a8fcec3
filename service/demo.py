"""The demo: start the service on a free port of this machine, post a ready spec over HTTP, show what comes back.

Goes through HTTP like any client. Its sizings are kept in a temporary folder that goes when it ends.
"""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx

from service.problems import Problem
from service.summary import summarise

FIRST_START = 600.0
"""Seconds allowed for a start that compiles the kernels."""


def demo(example: str, once: bool) -> None:
    """Run the demo with a ready spec by name; stays up until interrupted unless `once`."""
    with running_service() as address:
        sizing, status, seconds = _post(address, example)
        print(f"POST {address}/v1/sizings with the example '{example}': {status} in {1e3 * seconds:.0f} ms\n")
        print(summarise(sizing))
        print(f"\nthe whole answer   {address}{sizing['links']['self']}")
        print(f"the contract       {address}/docs")
        if not once:
            print("The service stays up; Ctrl-C ends it.", flush=True)
            _wait()


@contextmanager
def running_service() -> Iterator[str]:
    """The address of a service of its own, ready to size, with an empty store; ended on leaving."""
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    with tempfile.TemporaryDirectory(prefix="ramwright-") as folder:
        environment = {**os.environ, "RAMWRIGHT_STORE": str(Path(folder) / "sizings.sqlite3")}
        environment.pop("RAMWRIGHT_TOKEN", None)
        command = [sys.executable, "-m", "service.command_line", "serve", "--port", str(port)]
        print(f"Starting the service at {address}; a first start compiles for half a minute or more.", flush=True)
        with (Path(folder) / "log").open("wb") as log:
            process = subprocess.Popen(command, env=environment, stderr=log, stdout=log)
        try:
            await_ready(address, process)
            yield address
        finally:
            process.terminate()
            process.wait(timeout=30)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def await_ready(address: str, process: subprocess.Popen[bytes], seconds: float = FIRST_START) -> None:
    """Return once the service says it is ready; raises Problem when it ends or takes longer."""
    end = time.monotonic() + seconds
    with httpx.Client(timeout=5.0) as client:  # one: a client of its own for each look costs more than the look
        while time.monotonic() < end:
            if process.poll() is not None:
                raise Problem("unavailable", f"the service ended at its start with status {process.returncode}")
            try:
                if client.get(f"{address}/readyz").status_code == 200:
                    return
            except httpx.TransportError:
                pass  # not listening yet
            time.sleep(0.1)
    raise Problem("unavailable", f"the service was not ready within {seconds:.0f} s")


def _post(address: str, example: str) -> tuple[dict[str, Any], int, float]:
    with httpx.Client(base_url=address, timeout=60.0) as client:
        spec = client.get(f"/v1/examples/{example}").raise_for_status().json()
        start = time.perf_counter()
        reply = client.post("/v1/sizings", json=spec).raise_for_status()
        status, told = reply.status_code, reply.json()
        if status == 202:
            told = client.get(_ended(client, told)).raise_for_status().json()
        return told, status, time.perf_counter() - start


def _ended(client: httpx.Client, job: dict[str, Any]) -> str:
    """Address of what a job made; raises Problem where it made nothing."""
    while job["state"] in ("queued", "running"):
        time.sleep(0.1)
        job = client.get(job["links"]["self"]).raise_for_status().json()
    if job["state"] != "done":
        raise Problem("unavailable", f"the job ended as {job['state']}: {job.get('problem')}")
    return str(job["result"])


def _wait() -> None:
    try:
        while True:
            time.sleep(3600.0)
    except KeyboardInterrupt:
        print()
