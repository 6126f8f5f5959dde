"""Ray: started here quietly, or found on a cluster through RAY_ADDRESS, and watched while a search uses it.

A cluster is sent this program's own code, so that its nodes need Ray and the libraries but not this package.
"""

import io
import logging
import os
import socket
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout
from pathlib import Path
from typing import Any

import psutil

import acoustics
import optimizer
from optimizer.orphans import guarded
from optimizer.project_file import LoadedProject
from optimizer.workers import Check, Workers

QUIET: dict[str, Any] = {"logging_level": logging.ERROR, "log_to_driver": False}

ASK_SECONDS = 2.0
"""So often the head of a cluster is asked whether it is there."""

NO_CLUSTER = (
    "no Ray cluster answers at {address}; check that it runs, that RAY_ADDRESS names its head node, and that "
    "RAY_AUTH_MODE and the token here are the head node's (or unset RAY_ADDRESS to run on this machine alone)"
)
LOST = "{what} died during the search; what was finished is safe in the run folder"


@contextmanager
def open_workers(loaded: LoadedProject, wanted: int | None) -> Iterator[Workers]:
    """Connect to the cluster of RAY_ADDRESS, or start Ray on this machine alone; leave no process behind.

    wanted : how many workers; default one per core of the cluster or of this machine, and never more than a cluster has

    Raises
    ------
    ConnectionError
        when the cluster cannot be reached or has no core to offer, and when Ray dies during the block
    """
    address = os.environ.get("RAY_ADDRESS")
    if address and not _answers(address):
        raise ConnectionError(NO_CLUSTER.format(address=address))
    _quiet_environment(address)
    with warnings.catch_warnings(), guarded():
        warnings.simplefilter("ignore")
        import ray

        try:
            cores, check = _joined(address, wanted) if address else _started(wanted or os.cpu_count() or 1)
            yield Workers(loaded, cores, check)
        except ray.exceptions.RayError as error:
            raise ConnectionError(f"Ray stopped working: {type(error).__name__}") from error
        finally:
            with redirect_stdout(io.StringIO()):  # where Ray prints the log of what was killed
                ray.shutdown()


def _joined(address: str, wanted: int | None) -> tuple[Callable[[], int], Check]:
    """Connect to a cluster: how many workers it has room for now, and a check that its head is there."""
    import ray

    try:
        ray.init(runtime_env={"py_modules": _own_code()}, **QUIET)
    except ConnectionError:
        raise ConnectionError(NO_CLUSTER.format(address=address)) from None
    except Exception as error:  # Ray raises bare ones
        raise ConnectionError(f"the Ray cluster at {address} cannot be used: {error}") from error

    def cores() -> int:
        check(at_once=True)
        here = int(ray.cluster_resources().get("CPU", 0))  # type: ignore[no-untyped-call]
        return min(wanted or here, here)

    head, asked_at = ray.get_runtime_context().gcs_address, [float("-inf")]

    def check(at_once: bool = False) -> None:
        if at_once or time.monotonic() - asked_at[0] >= ASK_SECONDS:
            asked_at[0] = time.monotonic()
            if not any(_answers(head) for _ in range(3)):
                raise ConnectionError(LOST.format(what=f"the head of the Ray cluster at {address}"))

    if cores() == 0:
        raise ConnectionError(f"the Ray cluster at {address} has no core to offer")
    return cores, check


def _started(count: int) -> tuple[Callable[[], int], Check]:
    """Start Ray on this machine: its number of workers, and a check that its own processes run."""
    import ray

    try:
        ray.init("local", num_cpus=count, include_dashboard=False, **QUIET)
    except Exception as error:  # Ray raises bare ones when its processes do not start
        raise ConnectionError(f"Ray could not start its processes here: {error}") from error
    own = {process.name(): process for process in psutil.Process().children()}
    watched = {name: own[name] for name in ("gcs_server", "raylet") if name in own}

    def check(at_once: bool = False) -> None:
        del at_once  # looking costs nothing
        for name, process in watched.items():
            if not process.is_running() or process.status() == psutil.STATUS_ZOMBIE:
                raise ConnectionError(LOST.format(what=f"Ray's process {name} on this machine"))

    return lambda: count, check


def _own_code() -> list[str]:
    """The folders of this program's packages, to be sent to the nodes of a cluster."""
    return [str(Path(package.__file__).parent) for package in (acoustics, optimizer) if package.__file__]


def _answers(address: str) -> bool:
    """Whether something listens at host:port; other forms of address are left to Ray."""
    host, _, port = address.rpartition(":")
    if not port.isdigit() or "/" in host:
        return True
    try:
        with socket.create_connection((host.strip("[]"), int(port)), timeout=5.0):
            return True
    except OSError:
        return False


def _quiet_environment(address: str | None) -> None:
    """Ray without statistics and chatter; a token at hand is used, as a head node started plainly demands it."""
    quiet = {
        "RAY_USAGE_STATS_ENABLED": "0",
        "RAY_ACCEL_ENV_VAR_OVERRIDE_ON_ZERO": "0",
        "RAY_DEDUP_LOGS": "0",
    }
    for name, value in quiet.items():
        os.environ.setdefault(name, value)
    token = os.environ.get("RAY_AUTH_TOKEN") or os.environ.get("RAY_AUTH_TOKEN_PATH")
    if address and (token or (Path.home() / ".ray" / "auth_token").exists()):
        os.environ.setdefault("RAY_AUTH_MODE", "token")
