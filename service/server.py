"""The server process: granian with the worker of `app`, bound to loopback unless told otherwise."""

from __future__ import annotations

import ipaddress
import os
import sys

from granian.constants import Interfaces
from granian.log import LogLevels
from granian.server import Server

from service import logs

THREADS = 16
"""A worker's threads: more than may wait in the turnstile, so that quick requests are never stuck behind sizings."""

RESPAWN_INTERVAL = 1.0
KILL_TIMEOUT = 10


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach `host`."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def serve(host: str, port: int, workers: int) -> None:
    """Serve until interrupted; a worker that dies is started again, one that hangs at the end is killed."""
    if not is_loopback(host) and not os.environ.get("RAMWRIGHT_TOKEN"):
        print(
            f"{host} is open to other machines and RAMWRIGHT_TOKEN is not set: anyone may use it",
            file=sys.stderr,
        )
    server = Server(
        "service.app:worker",
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        factory=True,
        workers=workers,
        blocking_threads=THREADS,
        respawn_failed_workers=True,
        respawn_interval=RESPAWN_INTERVAL,
        workers_kill_timeout=KILL_TIMEOUT,
        log_level=LogLevels.error,
        log_dictconfig=logs.SERVER_LOG,
    )
    server.serve()
