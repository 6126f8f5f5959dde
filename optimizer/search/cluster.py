"""Ray: found on a cluster through RAY_ADDRESS, or started here quietly; for the process that uses it (`ray_process`).

A cluster is sent this program's own code, so that its nodes need Ray and the libraries but not this package.
"""

import logging
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import psutil

import acoustics
import optimizer
from optimizer.search.head import LOST, NO_CLUSTER

QUIET: dict[str, Any] = {"logging_level": logging.ERROR, "log_to_driver": False}

CORES_SECONDS = 5.0
"""How long a cluster that has just begun may be without a core: its head answers before its nodes have joined."""

PATIENT = {"RAY_gcs_server_port_wait_time_s": "120", "RAY_raylet_start_wait_time_s": "120"}
"""So many seconds Ray waits for its own processes; 30, as it would, are not enough on a busy machine."""

LOCAL = "local"
"""The address by which Ray starts on this machine, whatever cluster may run on it."""

NOT_SENT = ["/commands/", "/service/", "/views/", "__pycache__"]
"""Rooms of this program that no worker enters, as patterns below a package."""


class Opened(NamedTuple):
    """A Ray that was joined or started: how many workers there is room for now, a look whether its processes here run,
    which raises ConnectionError, and host:port of its head elsewhere."""

    cores: Callable[[], int]
    check: Callable[[], None]
    head: str | None


def opened(address: str, wanted: int | None) -> Opened:
    """Join the cluster at an address, or start Ray on this machine alone. For a process of its own, as Ray's native
    code ends the process that it is in when it loses what it needs.

    Parameters
    ----------
    address : what RAY_ADDRESS says; `LOCAL` starts it here
    wanted : how many workers; default one per core of the cluster or of this machine, and never more than a cluster has

    Raises
    ------
    ConnectionError
        when Ray cannot be had
    """
    _quiet_environment()
    return _started(wanted or os.cpu_count() or 1) if address == LOCAL else _joined(address, wanted)


def _joined(address: str, wanted: int | None) -> Opened:
    """Connect to a cluster: how many workers it has room for now, and a check that its head is there."""
    import ray

    try:
        ray.init(runtime_env={"py_modules": _own_code(), "excludes": NOT_SENT}, **QUIET)
    except ConnectionError:
        raise ConnectionError(NO_CLUSTER.format(address=address)) from None
    except Exception as error:  # Ray raises bare ones
        raise ConnectionError(f"the Ray cluster at {address} cannot be used: {error}") from error

    def cores() -> int:
        here = int(ray.cluster_resources().get("CPU", 0))  # type: ignore[no-untyped-call]
        return min(wanted or here, here)

    deadline = time.monotonic() + CORES_SECONDS
    while cores() == 0 and time.monotonic() < deadline:
        time.sleep(0.2)
    if cores() == 0:
        raise ConnectionError(f"the Ray cluster at {address} has no core to offer")
    return Opened(cores, lambda: None, ray.get_runtime_context().gcs_address)


def _started(count: int) -> Opened:
    """Start Ray on this machine: its number of workers, with a look whether it gave its node up, as one that hangs; a
    check that its own processes run."""
    import ray

    try:
        ray.init("local", num_cpus=count, include_dashboard=False, **QUIET)
    except Exception as error:  # Ray raises bare ones when its processes do not start
        raise ConnectionError(f"Ray could not start its processes here: {error}") from error
    own = {process.name(): process for process in psutil.Process().children()}
    watched = {name: own[name] for name in ("gcs_server", "raylet") if name in own}

    def check() -> None:
        for name, process in watched.items():
            if not process.is_running() or process.status() == psutil.STATUS_ZOMBIE:
                raise ConnectionError(LOST.format(what=f"Ray's process {name} on this machine"))

    def cores() -> int:
        if not any(node["Alive"] for node in ray.nodes()):  # type: ignore[no-untyped-call]
            raise ConnectionError(LOST.format(what="Ray hung on this machine, so that it"))
        return count

    return Opened(cores, check, None)


def _own_code() -> list[str]:
    """The folders of this program's packages, to be sent to the nodes of a cluster."""
    return [str(Path(package.__file__).parent) for package in (acoustics, optimizer) if package.__file__]


def _quiet_environment() -> None:
    """Ray without statistics and chatter, and patient; a token at hand is used, as a head node started plainly demands
    it."""
    quiet = {
        "RAY_USAGE_STATS_ENABLED": "0",
        "RAY_ACCEL_ENV_VAR_OVERRIDE_ON_ZERO": "0",
        "RAY_DEDUP_LOGS": "0",
    }
    for name, value in (quiet | PATIENT).items():
        os.environ.setdefault(name, value)
    token = os.environ.get("RAY_AUTH_TOKEN") or os.environ.get("RAY_AUTH_TOKEN_PATH")
    if token or (Path.home() / ".ray" / "auth_token").exists():
        os.environ.setdefault("RAY_AUTH_MODE", "token")
