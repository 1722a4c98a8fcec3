"""How quickly the service starts and answers, and what a worker weighs. Not part of the test run:

    python tests/benchmarks/service_speed.py

Starts a service of its own twice, with an empty cache of compiled kernels and again with the cache it left.
Every uncached POST is a spec never posted before (the front sprung mass changes by a billionth).
"""

from __future__ import annotations

import os
import platform
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Any

import httpx

ROOT = Path(__file__).parent.parent.parent
sys.path.insert(0, str(ROOT))

from service.demo import await_ready, free_port  # noqa: E402

EXAMPLES: dict[str, tuple[str, str]] = {
    "model": ("< 150", "< 600"),
    "truck": ("< 150", "< 600"),
    "infeasible": ("< 150", "< 600"),
    "truck_on_road": ("< 550", ""),
}
"""Ready specs with what is to be reached by one caller (median) and by several at once (99th percentile), proof
included. Three road duties worked out and proven may take 250 ms for the sizing and 300 ms for the proof.
"""
CLIENTS = 4
ALONE = 30
TOGETHER = 25
REPEATED = 300
_serial = count(1)


@contextmanager
def service(folder: Path) -> Iterator[tuple[str, int, float]]:
    """Address, process id, and seconds until ready of a service whose store and kernels are kept in `folder`."""
    port = free_port()
    store, kernels = folder / f"store-{port}.sqlite3", folder / "kernels"
    environment = {**os.environ, "RAMWRIGHT_STORE": str(store), "NUMBA_CACHE_DIR": str(kernels)}
    environment.pop("RAMWRIGHT_TOKEN", None)
    start = time.perf_counter()
    command = [sys.executable, "-m", "service.command_line", "serve", "--port", str(port)]
    process = subprocess.Popen(command, cwd=ROOT, env=environment, stderr=subprocess.DEVNULL)
    try:
        address = f"http://127.0.0.1:{port}"
        await_ready(address, process)
        yield address, process.pid, time.perf_counter() - start
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(timeout=30)


def unseen(spec: dict[str, Any]) -> dict[str, Any]:
    front = spec["front"]
    return spec | {"front": front | {"sprung_mass_kg": front["sprung_mass_kg"] * (1.0 + 1e-9 * next(_serial))}}


def post(client: httpx.Client, spec: dict[str, Any], expected: int) -> float:
    """Milliseconds of one POST."""
    start = time.perf_counter()
    reply = client.post("/v1/sizings", json=spec)
    taken = 1e3 * (time.perf_counter() - start)
    assert reply.status_code == expected, reply.text[:300]
    return taken


def alone(address: str, example: str) -> list[float]:
    with httpx.Client(base_url=address, timeout=60) as client:
        spec = client.get(f"/v1/examples/{example}").json()
        return [post(client, unseen(spec), 201) for _ in range(ALONE)]


def together(address: str, example: str) -> list[float]:
    taken: list[float] = []

    def one_client() -> None:
        with httpx.Client(base_url=address, timeout=60) as client:
            spec = client.get(f"/v1/examples/{example}").json()
            taken.extend(post(client, unseen(spec), 201) for _ in range(TOGETHER))

    threads = [threading.Thread(target=one_client) for _ in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return taken


def repeated(address: str, example: str) -> list[float]:
    with httpx.Client(base_url=address, timeout=60) as client:
        spec = unseen(client.get(f"/v1/examples/{example}").json())
        post(client, spec, 201)
        return [post(client, spec, 200) for _ in range(REPEATED)]


def resident(parent: int) -> list[tuple[str, float]]:
    """Resident memory in MB of the server process and its workers, from /proc."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            lines = (folder / "status").read_text().splitlines()
        except (FileNotFoundError, ProcessLookupError):
            continue  # it ended while we looked
        status = dict(line.split(":\t", 1) for line in lines if ":\t" in line)
        if int(status["PPid"]) == parent or int(status["Pid"]) == parent:
            what = "server process" if int(status["Pid"]) == parent else "child process"
            found.append((what, int(status["VmRSS"].split()[0]) / 1024.0))
    return sorted(found)


def percentile(values: list[float], share: float) -> float:
    return sorted(values)[min(len(values) - 1, int(share * len(values)))]


def line(what: str, value: float, unit: str, goal: str) -> None:
    print(f"{what:<52}{value:>9.1f} {unit:<3}  {goal}", flush=True)


def main() -> None:
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}\n")
    with tempfile.TemporaryDirectory(prefix="ramwright-speed-") as name:
        folder = Path(name)
        with service(folder) as (_, _, seconds):
            line("first start ever, kernels compiling", seconds, "s", "< 30")
        with service(folder) as (address, process, seconds):
            line("later start", seconds, "s", "< 4")
            for example in EXAMPLES:
                taken = alone(address, example)
                line(f"uncached POST alone, {example}, median", statistics.median(taken), "ms", EXAMPLES[example][0])
                line(f"uncached POST alone, {example}, 99th percentile", percentile(taken, 0.99), "ms", "")
            for example in EXAMPLES:
                taken = together(address, example)
                line(f"{CLIENTS} clients, {example}, median", statistics.median(taken), "ms", "")
                line(
                    f"{CLIENTS} clients, {example}, 99th percentile",
                    percentile(taken, 0.99),
                    "ms",
                    EXAMPLES[example][1],
                )
            taken = repeated(address, "truck")
            line("the same POST again, median", statistics.median(taken), "ms", "< 5")
            line("the same POST again, 99th percentile", percentile(taken, 0.99), "ms", "")
            for what, megabytes in resident(process):
                line(f"resident memory, {what}", megabytes, "MB", "< 350")


if __name__ == "__main__":
    main()
