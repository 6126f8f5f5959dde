"""A search that starts Ray by itself, which does not start at once, or dies; whose worker is killed; that is stopped,
also while Ray starts.

Of what can be seen on a stand-in, nothing is seen on a real Ray, as every start of it costs five processes;
`tests/benchmarks/ray_deaths.py` does far more.
"""

import os
import shutil
import signal
import sys
import time
from subprocess import Popen, run

import pytest
from commanded import told
from interruptions import whole_after
from lived import Lived
from processes import alive, descendants, wait_for
from runs import finished, only_run
from stand_in_clock import Clock

from optimizer.search import orphans, own_process, ray_crew
from optimizer.search.cluster import LOCAL, opened


@pytest.fixture
def starting(tmp_path, monkeypatch):
    """Open what stands in for a Ray whose first starts fail so."""
    monkeypatch.setattr(ray_crew, "started", lambda _, environment: own_process.started("busy_ray", environment))
    return lambda *fails: ray_crew.open_ray(LOCAL, 1, object, (tmp_path, fails))


def test_ray_that_does_not_start_on_a_busy_machine_is_started_again_and_told_so(starting):
    before, said = set(descendants(os.getpid())), []
    with starting("says so", "loses its raylet") as crew:
        assert wait_for(lambda: said.append(crew.trouble) or crew.cores() == 1)
        assert crew.trouble == ""
    assert list(dict.fromkeys(said)) == [
        "", "Ray did not start, trying again (2 of 3)", "Ray did not start, trying again (3 of 3)",
    ]  # fmt: skip
    assert wait_for(lambda: not set(descendants(os.getpid())) - before)


def test_a_cluster_without_a_core_for_a_while_is_told_until_it_has_one(starting):
    with starting("loses its nodes") as crew:
        assert wait_for(crew.cores) == 2
        assert crew.trouble == ""
        assert [(crew.cores(), crew.trouble) for _ in range(2)] == [(0, ray_crew.NO_CORE), (1, "")]


def test_ray_that_starts_at_no_try_ends_the_search_with_a_sentence(starting):
    with starting("loses its raylet", "says so", "dies") as crew:
        sentence = r"Ray ended the process that used it \(ended by SIGKILL\) \(tried 3 times\)"
        with pytest.raises(ConnectionError, match=sentence):
            wait_for(crew.check)


def test_ray_that_is_not_installed_is_told_at_once(monkeypatch):
    # Ray's index page has no wheel for Macs with Intel's processors from 2.50 on.
    monkeypatch.setattr(ray_crew, "find_spec", {"ray": None}.__getitem__)
    for address in (LOCAL, "127.0.0.1:1"):
        with (
            pytest.raises(ConnectionError, match="Ray, which is not installed here"),
            ray_crew.open_ray(address, 1, object, ()),
        ):
            pass


def test_the_driver_rests_between_its_trials_while_ray_needs_this_machine_to_start(starting):
    with starting("takes long") as crew:
        begun = time.monotonic()
        crew.check()
        assert time.monotonic() - begun >= ray_crew.REST_SECONDS


def test_ray_that_is_let_go_while_it_starts_ends_with_all_that_it_started(starting, tmp_path):
    with starting("takes long"):
        (raylet,) = wait_for(lambda: [pid for pid, line in descendants(os.getpid()).items() if "/raylet " in line])
    assert wait_for(lambda: not alive([raylet]), 10)
    assert not [line for line in descendants(os.getpid()).values() if "busy_ray" in line]


def test_ray_that_is_lost_at_work_is_waited_for_no_longer(starting):
    with starting("loses its head") as crew:
        with pytest.raises(ConnectionError, match="gcs_server on this machine died"):
            wait_for(crew.check)
        begun = time.monotonic()
    assert time.monotonic() - begun < ray_crew.CLOSING_SECONDS / 2


@pytest.mark.parametrize("name", ["gcs_server", "raylet"])
def test_a_process_of_rays_that_dies_here_is_told_by_its_name(name, tmp_path, monkeypatch):
    import ray

    own = {}

    def init(*_, **__):
        for one in ("gcs_server", "raylet"):
            (tmp_path / one).symlink_to(shutil.which("sleep"))
            own[one] = Popen([tmp_path / one, "3600"])
        assert wait_for(lambda: all(str(tmp_path / one) in " ".join(descendants(os.getpid()).values()) for one in own))

    monkeypatch.setattr(ray, "init", init)
    found = opened(LOCAL, 1)
    try:
        found.check()
        own[name].kill()
        with pytest.raises(ConnectionError, match=f"Ray's process {name} on this machine died during the search"):
            wait_for(found.check)
    finally:
        for process in own.values():
            process.kill()
            process.wait()


def test_ray_that_gave_its_own_node_up_as_it_hung_is_told(monkeypatch):
    # Ray's own answers; `tests/benchmarks/ray_deaths.py` holds a raylet still until that is what Ray says.
    import ray

    nodes = [{"Alive": True}]
    monkeypatch.setattr(ray, "init", lambda *_, **__: None)
    monkeypatch.setattr(ray, "nodes", lambda: nodes)
    found = opened(LOCAL, 2)
    assert found.cores() == 2
    nodes[0]["Alive"] = False
    with pytest.raises(ConnectionError, match="Ray hung on this machine, so that it died during the search"):
        found.cores()


@pytest.fixture(scope="module")
def lived(project, tmp_path_factory):
    """A run whose worker is killed; interrupted."""
    run = Lived(project, tmp_path_factory.mktemp("lived") / "results")
    process = run.begun()
    run.worker_lost(process)
    run.solved(process)
    run.interrupted(process)
    return run


def test_a_worker_of_rays_killed_in_mid_run_costs_no_trial_and_changes_none(lived, project, tmp_path, capsys):
    # With one worker there is one order of trials, whoever solves them.
    given = ("--trials", "6", "--seed", "3", "--workers", "1")
    code, _, err = told(capsys, "search", project, "--results", tmp_path, *given)
    assert code == 0, err
    assert lived.held[-1].items() > finished(only_run(tmp_path)).items()
    assert set(lived.held[-1]) == set(range(len(lived.held[-1])))


def test_an_interrupted_search_by_ray_ends_cleanly(lived, capsys):
    assert "Traceback" not in lived.said[-1]
    whole_after(signal.SIGINT, lived.place, "ray", capsys)


def test_a_guard_that_dies_at_once_is_tried_again_ever_less_often_and_that_is_said_once(monkeypatch, capsys):
    clock, started, lives = Clock(monkeypatch), [], [False]

    class Made:
        stdin = None

        def __init__(self, *_, **__):
            started.append(clock.now - 1000.0)
            self.code = None if lives[0] else 1

        def poll(self):
            return self.code

        wait = poll

    def looked(until):
        while clock.now < 1000.0 + until:
            clock.now += 1.0
            guard.check()

    monkeypatch.setattr(orphans.subprocess, "Popen", Made)
    guard = orphans.Guard()
    looked(300)
    assert started == [0, 1, 4, 9, 18, 35, 68, 133, 254]
    lives[0] = True
    looked(400)
    guard._process.code = -9  # one that lived is followed at once
    looked(450)
    assert started[9:] == [375, 401]
    assert capsys.readouterr().err == f"{orphans.SAID}\n"
    guard.close()


def test_a_guard_that_was_killed_is_followed_by_one_that_ends_what_there_was_before_it():
    code = (
        "import subprocess, sys, time\n"
        "from optimizer.search.orphans import guarded\n"
        "with guarded() as guard:\n"
        "    subprocess.Popen(['sleep', '3600'])\n"
        "    while True:\n"
        "        guard.check()\n"
        "        time.sleep(0.1)\n"
    )
    driver = Popen([sys.executable, "-c", code])
    try:
        (guard,) = wait_for(lambda: named(driver, "-m optimizer.search.orphans"))
        (held,) = wait_for(lambda: named(driver, "sleep 3600"))
        os.kill(guard, signal.SIGKILL)
        (another,) = wait_for(lambda: [pid for pid in named(driver, "-m optimizer.search.orphans") if pid != guard])
    finally:
        driver.kill()
        driver.wait()
    assert wait_for(lambda: not alive([held, another]), 10)


def test_a_guard_whose_driver_died_while_it_started_ends_what_there_was():
    driver, held = Popen(["true"]), Popen(["sleep", "3600"])
    driver.wait()
    guard = [sys.executable, "-P", "-m", "optimizer.search.orphans", str(driver.pid), "", str(held.pid)]
    try:
        run(guard, input=b"", check=True)
        assert held.wait(10) == -signal.SIGKILL
    finally:
        held.kill()


def named(process, words):
    """Processes below one with words in their command, which of one that just forks are still its parent's."""
    return [pid for pid, line in descendants(process.pid).items() if words in line]
