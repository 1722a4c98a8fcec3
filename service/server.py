"""The server process: granian with the worker of `app`, bound to loopback unless told otherwise."""

from __future__ import annotations

import ipaddress
import os
import socket
import sys

from granian.constants import Interfaces
from granian.log import LogLevels
from granian.server import Server

from service import logs

THREADS = 32
"""A worker's threads: more than may wait in the turnstile and watch events, so that quick requests always find one."""

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


def refuse_taken(host: str, port: int) -> None:
    """Raise OSError when another process listens there: the server would share the port with it unseen."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # a port that is only cooling down is free
        try:
            probe.bind((host, port))
        except OSError as error:
            raise OSError(error.errno, f"cannot listen at {host}, port {port}: {error.strerror}") from None


def serve(host: str, port: int, workers: int) -> None:
    """Serve until interrupted; a worker that dies is started again, one that hangs at the end is killed.

    Raises OSError when the address cannot be had.
    """
    refuse_taken(host, port)
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
