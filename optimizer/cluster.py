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

from optimizer.orphans import guarded
from optimizer.project_file import LoadedProject
from optimizer.proposals import Proposal
from optimizer.trial import Result, Solver

RETRIES = 1

ONE_THREAD = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "XLA_FLAGS": "--xla_cpu_multi_thread_eigen=false intra_op_parallelism_threads=1",
    "TF_CPP_MIN_LOG_LEVEL": "3",
}
"""A worker has one core."""

NO_CLUSTER = (
    "no Ray cluster answers at {address}; check that it runs, that RAY_ADDRESS names its head node, and that "
    "RAY_AUTH_MODE and the token here are the head node's (or unset RAY_ADDRESS to run on this machine alone)"
)


class Workers:
    """A pool of actors; at most one proposal each."""

    def __init__(self, loaded: LoadedProject, count: int) -> None:
        import ray

        self._ray = ray
        self._actor = ray.remote(num_cpus=1, max_restarts=0)(Solver)
        self._loaded = loaded
        self.count = count
        self._idle = [self._start() for _ in range(count)]
        self._running: dict[Any, tuple[Any, Proposal, int]] = {}

    def _start(self) -> Any:
        actor = self._actor.options(runtime_env={"env_vars": ONE_THREAD})
        return actor.remote(self._loaded.text, self._loaded.source)

    def free(self) -> bool:
        """Whether a worker waits for work."""
        return bool(self._idle)

    def busy(self) -> list[int]:
        """Numbers of the trials being solved."""
        return [proposal.number for _, proposal, _ in self._running.values()]

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
            except self._ray.exceptions.RayTaskError as error:
                self._idle.append(actor)
                yield proposal.number, str(error.cause)
                continue
            except self._ray.exceptions.RayError as error:
                self._replace(actor)
                if attempt < RETRIES:
                    self.submit(proposal, attempt + 1)
                else:
                    yield proposal.number, f"its worker was lost twice: {type(error).__name__}"
                continue
            self._idle.append(actor)
            yield proposal.number, result

    def _replace(self, actor: Any) -> None:
        """Start a worker in place of one that was lost."""
        self._ray.kill(actor)
        self._idle.append(self._start())


@contextmanager
def open_workers(loaded: LoadedProject, wanted: int | None) -> Iterator[Workers]:
    """Connect to the cluster of RAY_ADDRESS, or start Ray on this machine alone; leave no process behind.

    wanted : how many workers; default one per core of the cluster or of this machine, and never more than a cluster has

    Raises
    ------
    ConnectionError
        when the cluster cannot be reached, or has no core to offer
    """
    address = os.environ.get("RAY_ADDRESS")
    if address and not _answers(address):
        raise ConnectionError(NO_CLUSTER.format(address=address))
    _quiet_environment(address)
    with warnings.catch_warnings(), guarded():
        warnings.simplefilter("ignore")
        import ray

        count = wanted or os.cpu_count() or 1
        quiet: dict[str, Any] = {"logging_level": logging.ERROR, "log_to_driver": False}
        try:
            if address:
                ray.init(**quiet)
            else:
                ray.init("local", num_cpus=count, include_dashboard=False, **quiet)
        except ConnectionError:
            raise ConnectionError(NO_CLUSTER.format(address=address)) from None
        except Exception as error:  # Ray raises bare ones when its processes do not start
            raise ConnectionError(f"Ray could not start its processes here: {error}") from error
        try:
            if address:
                cores = int(ray.cluster_resources().get("CPU", 0))  # type: ignore[no-untyped-call]
                if cores == 0:
                    raise ConnectionError(f"the Ray cluster at {address} has no core to offer")
                count = min(wanted or cores, cores)
            yield Workers(loaded, count)
        except ray.exceptions.RayError as error:
            raise ConnectionError(f"Ray stopped working: {type(error).__name__}") from error
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
