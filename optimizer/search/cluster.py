"""Ray: found on a cluster through RAY_ADDRESS, or started here quietly, and watched while a search uses it.

A cluster is sent this program's own code, so that its nodes need Ray and the libraries but not this package.

Ray itself would wait a minute for a dead head and then end the process, so the head is looked for before every wait.
Ray is opened and shut down in a thread that stays, for its processes end with the thread that started them.
"""

import io
import logging
import os
import signal
import socket
import threading
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stdout, suppress
from pathlib import Path
from typing import Any, Protocol

import psutil

import acoustics
import optimizer
from optimizer.search.orphans import guarded

QUIET: dict[str, Any] = {"logging_level": logging.ERROR, "log_to_driver": False}

LOCAL = "local"
"""The address by which Ray starts on this machine, whatever cluster may run on it."""

NOT_SENT = ["/commands/", "/service/", "/views/"]
"""Rooms of this program that no worker enters, as patterns below a package."""

ASK_SECONDS = 2.0
"""So often the head of a cluster is asked whether it is there."""

CLOSING_SECONDS = 10.0
"""So long Ray may take to shut down."""

NO_CLUSTER = (
    "no Ray cluster answers at {address}; check that it runs, that RAY_ADDRESS names its head node, and that "
    "RAY_AUTH_MODE and the token here are the head node's (or unset RAY_ADDRESS to run on this machine alone)"
)
LOST = "{what} died during the search; what was finished is safe in the run folder"


class Check(Protocol):
    """Raises ConnectionError when Ray itself is gone; looks every so often only, unless asked to look at once."""

    def __call__(self, at_once: bool = False) -> None:
        """Look, and say nothing where all is well."""


Seen = tuple[Callable[[], int], Check]
"""How many workers there is room for now, and a look whether Ray is there."""


class Ray:
    """Ray, joined or started, used, and shut down; in a thread, so that the driver need not wait for it.

    That thread lives as long as Ray does, for the processes that Ray starts end with the thread that started them.
    """

    def __init__(self, address: str, wanted: int | None) -> None:
        self._over = threading.Event()
        self._seen: Seen | None = None
        self._failed: ConnectionError | None = None
        self._handled = False
        self._thread = threading.Thread(target=self._hold, args=(address, wanted), daemon=True)
        self._thread.start()

    def cores(self) -> int:
        """How many workers there is room for now; none while Ray starts."""
        return self._seen[0]() if self._seen else 0

    def check(self, at_once: bool = False) -> None:
        """See whether Ray is there; every so often only, unless asked to look at once.

        Raises
        ------
        ConnectionError
            when Ray is gone, or could not be had
        """
        if self._failed is not None:
            raise self._failed
        if self._seen is not None:
            if not self._handled:
                self._handled = True
                _own_handler()
            self._seen[1](at_once)

    def close(self) -> None:
        """Shut Ray down; one that does not answer is left to end with this process."""
        self._over.set()
        self._thread.join(CLOSING_SECONDS)

    def _hold(self, address: str, wanted: int | None) -> None:
        try:
            self._seen = _started(wanted or os.cpu_count() or 1) if address == LOCAL else _joined(address, wanted)
        except ConnectionError as error:
            self._failed = error
        except Exception as error:  # told by the next look
            self._failed = ConnectionError(f"Ray cannot be used here: {error}")
        self._over.wait()
        with suppress(ImportError), redirect_stdout(io.StringIO()):  # where Ray prints the log of what was killed
            import ray

            ray.shutdown()


@contextmanager
def open_ray(address: str, wanted: int | None) -> Iterator[Ray]:
    """Join the cluster at an address, or start Ray on this machine alone; leave no process behind.

    Parameters
    ----------
    address : what RAY_ADDRESS says; `LOCAL` starts it here
    wanted : how many workers; default one per core of the cluster or of this machine, and never more than a cluster has

    Raises
    ------
    ConnectionError
        when nothing answers there, and when Ray dies during the block
    """
    if address != LOCAL and not _answers(address):
        raise ConnectionError(NO_CLUSTER.format(address=address))
    _quiet_environment(address)
    with warnings.catch_warnings(), guarded():
        warnings.simplefilter("ignore")
        ray = Ray(address, wanted)
        try:
            yield ray
        except Exception as error:
            if type(error).__module__.startswith("ray."):
                raise ConnectionError(f"Ray stopped working: {type(error).__name__}") from error
            raise
        finally:
            ray.close()


def _own_handler() -> None:
    """Put this program's handler of a termination request back in force: Ray lays one below it that aborts."""
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, signal.getsignal(signal.SIGTERM))


def _joined(address: str, wanted: int | None) -> Seen:
    """Connect to a cluster: how many workers it has room for now, and a check that its head is there."""
    import ray

    try:
        ray.init(runtime_env={"py_modules": _own_code(), "excludes": NOT_SENT}, **QUIET)
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


def _started(count: int) -> Seen:
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
