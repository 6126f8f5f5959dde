"""Ray workers: started here quietly, or found on a cluster through RAY_ADDRESS.

A worker is one actor on one core that compiles the project once. A worker that dies costs its running trial, which
is solved again elsewhere; it is then replaced.
"""

import logging
import os
import socket
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from optimizer.project_file import LoadedProject
from optimizer.trial import Proposal, Result, Solver

RETRIES = 1

NO_CLUSTER = (
    "no Ray cluster answers at {address}; check that it runs, that RAY_ADDRESS names its head node, and that "
    "RAY_AUTH_MODE and the token here are the head node's (or unset RAY_ADDRESS to run on this machine alone)"
)


def worker_environment() -> dict[str, str]:
    """One thread for each worker, and compiled code kept between runs in the user's cache folder."""
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "holewright"
    return {
        "OMP_NUM_THREADS": "1",
        "OPENBLAS_NUM_THREADS": "1",
        "XLA_FLAGS": "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1",
        "TF_CPP_MIN_LOG_LEVEL": "3",
        "JAX_COMPILATION_CACHE_DIR": os.environ.get("JAX_COMPILATION_CACHE_DIR", str(cache)),
        "JAX_PERSISTENT_CACHE_MIN_COMPILE_TIME_SECS": "0.2",
    }


class Workers:
    """A pool of actors; at most one proposal each."""

    def __init__(self, loaded: LoadedProject, count: int) -> None:
        import ray

        self._ray = ray
        self._actor = ray.remote(num_cpus=1, max_restarts=0)(Solver)
        self._loaded = loaded
        self._idle = [self._start() for _ in range(count)]
        self._running: dict[Any, tuple[Any, Proposal, int]] = {}
        self._heard: set[Any] = set()

    def _start(self) -> Any:
        actor = self._actor.options(runtime_env={"env_vars": worker_environment()})
        return actor.remote(self._loaded.text, self._loaded.source)

    def free(self) -> bool:
        """Whether a worker waits for work."""
        return bool(self._idle)

    def busy(self) -> list[int]:
        """Numbers of the trials being solved."""
        return [proposal.number for _, proposal, _ in self._running.values()]

    def ready(self) -> int:
        """How many workers have answered at least once."""
        return len(self._heard)

    def submit(self, proposal: Proposal, attempt: int = 0) -> None:
        """Give a proposal to an idle worker."""
        actor = self._idle.pop()
        self._running[actor.solve.remote(proposal)] = (actor, proposal, attempt)

    def finished(self, patience: float) -> Iterator[tuple[int, Result | str]]:
        """Results that arrive within patience [s]: trial number with a result, or with why it failed."""
        if not self._running:
            return
        done, _ = self._ray.wait(list(self._running), num_returns=1, timeout=patience)
        for reference in done:
            actor, proposal, attempt = self._running.pop(reference)
            try:
                result = self._ray.get(reference)
            except self._ray.exceptions.RayActorError as error:
                self._idle.append(self._start())
                if attempt < RETRIES:
                    self.submit(proposal, attempt + 1)
                else:
                    yield proposal.number, f"the worker died: {error}"
                continue
            except self._ray.exceptions.RayTaskError as error:
                self._idle.append(actor)
                yield proposal.number, str(error.cause)
                continue
            self._idle.append(actor)
            self._heard.add(actor)
            yield proposal.number, result


@contextmanager
def open_workers(loaded: LoadedProject, count: int) -> Iterator[Workers]:
    """Connect to the cluster of RAY_ADDRESS, or start Ray on this machine alone; leave no process behind.

    Raises
    ------
    ConnectionError
        when the cluster cannot be reached
    """
    address = os.environ.get("RAY_ADDRESS")
    if address and not _answers(address):
        raise ConnectionError(NO_CLUSTER.format(address=address))
    _quiet_environment(address)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import ray

        try:
            if address:
                ray.init(logging_level=logging.ERROR, log_to_driver=False)
            else:
                ray.init(
                    "local", num_cpus=count, include_dashboard=False, logging_level=logging.ERROR, log_to_driver=False
                )
        except ConnectionError:
            raise ConnectionError(NO_CLUSTER.format(address=address)) from None
        try:
            yield Workers(loaded, count)
        finally:
            ray.shutdown()


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
