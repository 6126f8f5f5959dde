"""Those who solve a search's trials: pools with a stand-in for the solver, and the driver's own process.

`HOLEWRIGHT_RAY=1` has the pool on Ray looked at, too.
"""

import json
import os
import signal
import subprocess
import sys

import pytest
from places import KIT, ROOT
from processes import alive, descendants, wait_for
from runs import workers_below
from stub_solver import Answered, Asked, Stub

from optimizer.search import workers
from optimizer.search.local_crew import LocalCrew
from optimizer.search.open_pool import open_pool
from optimizer.search.pool import Here, Meanwhile
from optimizer.search.workers import MAX_ROUNDS, RETRIES, LostError, Workers

POOLS = ["local", "ray"] if os.environ.get("HOLEWRIGHT_RAY") else ["local"]
PATHS = os.pathsep.join([str(KIT), str(ROOT)])


def script(*arguments):
    """A Python of its own that finds the tests' modules."""
    return subprocess.Popen(
        [sys.executable, *arguments], env=os.environ | {"PYTHONPATH": PATHS}, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL, text=True, start_new_session=True,
    )  # fmt: skip


@pytest.fixture(scope="module", params=POOLS)
def told(request, tmp_path_factory):
    """What became of trials that fail and die, once with every kind of workers; who was left when their driver was
    killed in the middle of more."""
    folder = tmp_path_factory.mktemp(request.param)
    driver = script(str(KIT / "stub_pool.py"), request.param, str(folder))
    try:
        assert wait_for(lambda: (folder / "100").exists() and (folder / "101").exists())
        below = set(descendants(driver.pid))
    finally:
        driver.kill()
        driver.communicate()
    said = json.loads((folder / "said.json").read_text())
    return said | {"asked": request.param, "gone": wait_for(lambda: not alive(below), 30), "below": len(below)}


def test_every_trial_is_solved_in_another_process_and_the_driver_never_loads_ray(told):
    assert told["kind"] == told["asked"]
    assert told["ray"] is False
    assert all(isinstance(process, int) for process in told["plain"])


def test_a_trial_that_fails_is_told_and_its_worker_goes_on(told):
    first, *rest = told["one fails"]
    assert first == "it went wrong"
    assert all(isinstance(process, int) for process in rest)


def test_a_trial_whose_worker_dies_is_solved_elsewhere(told):
    assert all(isinstance(process, int) for process in told["one dies once"])


def test_a_trial_that_kills_every_worker_is_given_up_and_the_workers_are_replaced(told):
    lost, other = told["one always dies"]
    assert lost.startswith(f"its worker was lost {RETRIES + 1} times: ")
    assert isinstance(other, int)
    if told["asked"] == "local":
        assert lost.endswith("ended by SIGKILL")


def test_workers_in_the_middle_of_a_trial_end_with_a_killed_driver(told):
    assert told["below"] >= 2
    assert told["gone"]


@pytest.fixture
def local(tmp_path):
    """Makes pools of local workers, which are gone afterwards."""
    made = []

    def pool(count=1, folder=tmp_path):
        made.append(Workers(LocalCrew(count, Stub, (str(folder),))))
        return made[-1]

    yield pool
    for one in made:
        one.close()


def test_ctrl_c_in_a_terminal_does_not_reach_a_local_worker(local):
    pool = local()
    (worker,) = workers_below(os.getpid())
    assert os.getsid(worker) == worker
    pool.close()
    assert not alive([worker])
    assert pool.count == 0


def test_local_workers_that_cannot_start_end_the_search_with_their_reason(local, tmp_path, monkeypatch):
    monkeypatch.setattr(workers, "FOLLOW_SECONDS", 0.0)
    pool = local(1, tmp_path / "nowhere")
    reason = "no worker can be started: ValueError: there is no folder nowhere"
    with pytest.raises(ConnectionError, match=reason):
        wait_for(lambda: list(pool.finished(1.0)))
    assert not pool.free()


def test_a_system_that_starts_no_process_ends_the_search_with_a_sentence(local, monkeypatch):
    monkeypatch.setattr(workers, "FOLLOW_SECONDS", 0.0)
    monkeypatch.setattr("optimizer.search.own_process.sys.executable", "/nowhere/python")
    pool = local()
    for _ in range(MAX_ROUNDS - 1):
        list(pool.finished(0.0))
    with pytest.raises(ConnectionError, match="the system starts no process: No such file or directory"):
        list(pool.finished(0.0))


DRIVER = """
import os, subprocess, sys
from multiprocessing import Pipe
from stub_solver import Answered, Asked, Stub
here, there = Pipe()
worker = "from optimizer.search import worker_process as one; one.PR_SET_PDEATHSIG = 0; one.main(%d, %d)"
given = [sys.executable, "-c", worker % (there.fileno(), os.getpid())]
worker = subprocess.Popen(given, pass_fds=[there.fileno()])
there.close()
here.send((Stub, (sys.argv[1],)))
here.recv()
here.send(Asked(1, "hangs"))
print(worker.pid, flush=True)
here.recv()
"""


def test_a_busy_local_worker_ends_with_its_driver_where_no_signal_tells_it(tmp_path):
    # As on systems without Linux's signal at a parent's death.
    driver = script("-c", DRIVER, str(tmp_path))
    try:
        worker = int(driver.stdout.readline())
        assert wait_for(lambda: (tmp_path / "1").exists())
        assert alive([worker])
    finally:
        driver.kill()
        driver.communicate()
    assert wait_for(lambda: not alive([worker]), 10)


# This process


def test_this_process_solves_what_it_holds_when_results_are_asked_for(tmp_path):
    here = Here(Stub(tmp_path))
    assert here.free()
    assert list(here.finished(0.0)) == []
    here.submit(Asked(3))
    assert (here.free(), here.busy()) == (False, [3])
    ((number, result),) = here.finished(0.0)
    assert (number, result.record_json) == (3, str(os.getpid()))
    assert (here.free(), here.busy()) == (True, [])
    here.submit(Asked(4, "fails"))
    assert list(here.finished(0.0)) == [(4, "it went wrong")]


class Slow:
    """A pool whose one worker is ready after a while, and lost and replaced later; results come when asked twice."""

    kind = "local"
    count = 1
    trouble = ""

    def __init__(self):
        self.asked, self.ready, self.held, self.solved = 0, False, [], []

    def free(self):
        return self.ready and not self.held

    def busy(self):
        return list(self.held)

    def submit(self, one):
        self.held = [one.number]

    def finished(self, patience):
        self.asked += 1
        self.ready = self.asked >= 3
        if self.held and self.asked % 2:
            self.solved += self.held
            (number,), self.held = self.held, []
            yield number, "by the worker"


def test_until_a_worker_is_ready_this_process_solves_and_never_beside_it(tmp_path):
    slow = Slow()
    pool, by = Meanwhile(slow, Here(Stub(tmp_path))), []
    for number in range(6):
        assert pool.free()
        pool.submit(Asked(number))
        assert pool.busy() == [number]
        assert not pool.free()
        while pool.busy():
            by += [result if isinstance(result, str) else "here" for _, result in pool.finished(0.0)]
    assert by == ["here"] * 3 + ["by the worker"] * 3
    assert slow.solved == [3, 4, 5]


class Nodes:
    """A crew whose workers start and solve at once, as many as there are cores, and are lost with their node."""

    kind, trouble = "ray", ""

    def __init__(self):
        self.now, self.begun = 1, 0

    def cores(self):
        return self.now

    def check(self, at_once=False):
        """Its head lives."""

    def start(self):
        self.begun += 1
        return ("start", self.begun), self.begun

    def give(self, _, proposal):
        return "trial", proposal.number

    def wait(self, tickets, _):
        return tickets

    def answer(self, ticket):
        if not self.now:
            raise LostError("its node left")
        return Answered(ticket[1], "a node") if ticket[0] == "trial" else None

    def end(self, worker):
        """It is gone."""


def test_while_all_nodes_are_gone_this_process_solves_what_is_new_and_what_they_had_waits(tmp_path, monkeypatch):
    monkeypatch.setattr(workers, "FOLLOW_SECONDS", 0.0)
    monkeypatch.setattr(workers, "FIRST_LOOK_SECONDS", 0.0)
    nodes = Nodes()
    pool = Meanwhile(Workers(nodes), Here(Stub(tmp_path)))
    assert list(pool.finished(0.0)) == []
    pool.submit(Asked(0))
    nodes.now = 0
    assert (list(pool.finished(0.0)), pool.count, pool.busy()) == ([], 0, [0])
    for number in (1, 2):
        assert pool.free()
        pool.submit(Asked(number))
        assert not pool.free()
        assert list(pool.finished(0.0)) == [(number, Answered(number, str(os.getpid())))]
    nodes.now = 1
    assert list(pool.finished(0.0)) == []
    assert (pool.count, pool.busy(), pool.free()) == (1, [0], False)
    assert list(pool.finished(0.0)) == [(0, Answered(0, "a node"))]
    assert pool.free()


def test_one_worker_on_this_machine_is_this_process():
    from shelf import PIPE, pipe

    before = descendants(os.getpid())
    with open_pool(pipe(PIPE), 1) as pool:
        assert (pool.count, pool.free(), pool.kind) == (1, True, "local")
        assert descendants(os.getpid()) == before


def test_a_lost_worker_says_how_it_ended(local):
    pool = local()
    while not pool.free():
        list(pool.finished(1.0))
    (worker,) = workers_below(os.getpid())
    os.kill(worker, signal.SIGTERM)
    crew = pool._crew
    (ticket,) = crew.wait(pool._idle, 10.0)
    with pytest.raises(LostError, match="ended by SIGTERM"):
        crew.answer(ticket)
