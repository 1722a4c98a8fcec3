"""Compiles every kernel once, in several processes at a time, into the cache that later starts read.

A kernel is compiled by its first call, so each group calls its kernels on a small vehicle of no meaning. Without this
a first start compiles one kernel after the other on one core. Knows which kernels there are; decides nothing.
"""

from __future__ import annotations

import gc
import os
import subprocess
import sys
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

from models.demand import Demand, Margins
from models.electric.choose import size_electric
from models.electric.sizing_records import Choices, Surroundings
from models.hydraulics.accumulator import isentrope, nitrogen
from models.hydraulics.gas_spring import damping_orifice_drop, gas_spring, in_series, orifice_bore, precharges
from models.proof import layout as at
from models.proof.beside import ride_beside
from models.proof.control import FILTERS, KEPT, TRACKS_FORCE
from models.proof.mixture import state_of
from models.proof.run import COUNTS, simulate, trace_room, workspace
from models.ride.build import build_demand
from models.sizing.halves import KEYS
from models.sizing.search import Halves, build_tables, halves_alone, join_tables
from models.sizing.sizing import size
from models.sizing.task import Task, build_task, medium_of
from models.spec import Spec, complete

MARK = "complete"
"""File in the cache folder that says all kernels are there."""


def _spec(*duty: dict[str, object]) -> tuple[Spec, Demand]:
    axle = {
        "sprung_mass_kg": 400.0, "unsprung_mass_kg": 45.0, "wheel_rate_n_mm": 30.0, "tyre_rate_n_mm": 220.0,
        "bump_travel_mm": 80.0, "droop_travel_mm": 80.0,
    }  # fmt: skip
    document = {
        "front": axle, "rear": axle, "wheelbase_mm": 2600.0, "track_mm": 1500.0, "cg_height_mm": 600.0,
        "duty": list(duty), "medium": "mineral_vg22", "bus": {"voltage_v": 48.0}, "stock": {"pressure_bar": [160.0]},
    }  # fmt: skip
    spec, _ = complete(Spec.model_validate(document))
    return spec, build_demand(spec, 0.0)


MODEST_FORCE = 1500.0
"""What every kernel but those for hopeless specs is called with, N."""


def _shaken(force: float = MODEST_FORCE) -> tuple[Spec, Demand]:
    motion = {"wheel_velocity_m_s": 0.4, "wheel_force_n": force}
    return _spec({"kind": "suspension_velocity", "share_of_time": 0.5, "front": motion, "rear": motion})


def _task() -> Task:
    spec, demand = _shaken()
    return build_task(spec, demand, Margins(), medium_of(spec), (3.0, 3.0))


def _plants() -> None:
    task = _task()
    count = task.settings.high.size
    nothing = Halves(
        np.empty(0), np.zeros((count, 5), np.int64), np.zeros((count, KEYS)), np.arange(count + 1), 0, 0, np.empty(8)
    )
    join_tables(build_tables(task, (nothing, nothing)))


def _halves() -> None:
    halves_alone(_task(), 0)  # with the centre, both processes would compile that at the same time


def _rides() -> None:
    _spec(
        {"kind": "road", "share_of_time": 0.5, "road_class": "C", "speed_km_h": 60.0},
        {"kind": "bump", "share_of_time": 0.1, "height_mm": 40.0, "length_mm": 800.0, "speed_km_h": 20.0},
    )


def _rest() -> None:
    """What is called once a sizing, beside the search: of a plant that serves, and of one that does not."""
    for force in (MODEST_FORCE, 200e3):
        found = size(*_shaken(force), Margins())
        assert found.account.feasible == (force == MODEST_FORCE)
        assert found.warnings
    _gas_spring()


def _gas_spring() -> None:
    spring = gas_spring(4000.0, 1e-3, 3e4, 0.05, 0.05, 293.15, 273.15, 323.15)
    precharges(nitrogen(), spring.gas_mass, np.array([1e-3]), 293.15)
    damping_orifice_drop(orifice_bore(1e9, 1e-4, 870.0, 0.02), 1e-4, 870.0, 0.02)
    isentrope(nitrogen(), 1e7, 293.15, np.array([5e6]))
    in_series(1e5, 1e5)


def _proofs() -> None:
    corners, samples = 1, 1
    rows, centre, gas = np.ones((corners, at.CORNER_COLUMNS)), np.ones(at.CENTRE_COLUMNS), np.ones((3, 3))
    states = at.SLOTS * corners + at.CENTRE_SLOTS
    inputs, wanted = np.zeros((samples + 1, corners + 2, 2)), np.zeros((samples + 1, corners))
    none = 0.0
    simulate(
        rows, centre, gas, 0, samples, 1e-3, 1e-3, inputs, wanted, TRACKS_FORCE, np.ones(states), np.ones(states),
        np.zeros((corners, FILTERS)), np.zeros(KEPT), np.zeros(at.ORDERS), np.zeros(at.POWERS), np.zeros(at.FLOWS),
        *trace_room(samples, corners), np.zeros(COUNTS), none,
        workspace(corners),
    )  # fmt: skip
    ride_beside(rows, centre, inputs, wanted, 1e-3, np.ones(corners), np.ones(corners), True)
    state_of(1.0, 1.0)


def _rivals() -> None:
    spec, demand = _shaken()
    size_electric(demand, Surroundings(spec.bus.voltage, spec.ambient), Choices())


GROUPS: dict[str, Callable[[], None]] = {
    "plants": _plants,
    "halves": _halves,
    "rivals": _rivals,
    "proofs": _proofs,
    "rides": _rides,
    "rest": _rest,
}
"""Kernels that call one another, in the order in which two processes end at about the same time."""


def precompile(processes: int = 2) -> bool:
    """Compile every group, `processes` at a time, unless the cache holds them already. Whether it had to.

    Raises CalledProcessError where a group fails, with what it printed.
    """
    folder = Path(os.environ["NUMBA_CACHE_DIR"])
    if (folder / MARK).exists():
        return False
    waiting = deque(GROUPS)
    with ThreadPoolExecutor(processes) as pool:
        for _ in pool.map(_compiler, [waiting] * processes):
            pass
    folder.mkdir(parents=True, exist_ok=True)
    (folder / MARK).touch()
    return True


def _compiler(waiting: deque[str]) -> None:
    """Have one process compile groups until none waits: a process imports and warms up once, not once a group."""
    command = [sys.executable, "-m", "models.precompile"]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, **pipes) as process:  # type: ignore[call-overload]
        while waiting and process.poll() is None:
            try:
                group = waiting.popleft()
            except IndexError:  # the other process was quicker
                break
            try:
                print(group, file=process.stdin, flush=True)
            except BrokenPipeError:  # it ended meanwhile; what it printed is told below
                break
            if process.stdout.readline().strip() != group:
                break
        told = process.communicate()[1]
        if process.returncode != 0:
            waiting.clear()
            raise subprocess.CalledProcessError(process.returncode, command, stderr=told)


def _serve_groups() -> None:
    """Compile the groups named on standard input, a line each, and name each when it is done."""
    gc.disable()  # an eighth of the time went into looking for garbage
    for line in sys.stdin:
        GROUPS[line.strip()]()
        print(line.strip(), flush=True)


if __name__ == "__main__":
    _serve_groups()
