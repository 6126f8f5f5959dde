"""Settings shared by all tests: property tests are repeatable and leave no files behind."""

import fcntl
import gc
import os
import re
import signal
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, settings
from processes import left_over
from tier_list import TIERS, use

from optimizer.solving.processes import ONE_THREAD

settings.register_profile(
    "repeatable", derandomize=True, deadline=None, database=None, max_examples=40,
    suppress_health_check=[HealthCheck.function_scoped_fixture],  # a test's tier holds for all of its examples
)  # fmt: skip
settings.load_profile("repeatable")

os.environ |= ONE_THREAD
"""Tests run side by side, one core each."""
os.environ.pop("RAY_ADDRESS", None)
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
"""The hundreds of processes that tests start keep what Python made of the modules, as on a user's machine."""
signal.signal(signal.SIGINT, signal.default_int_handler)
"""What a shell runs in the background ignores Ctrl-C, and so would all that tests start."""


RAY = re.compile(r"/test_(cluster|own_ray)\.py|\[ray\]|\[Ray's workers\]")
"""Tests that start Ray, by their names: one after the other, as its processes give each other up on a busy machine."""


def pytest_xdist_make_scheduler(config, log):
    """To each process a module at a time, and to one of them all that starts Ray."""
    from xdist.scheduler import LoadFileScheduling

    class Scheduling(LoadFileScheduling):
        def _split_scope(self, nodeid):
            return "Ray" if RAY.search(nodeid) else super()._split_scope(nodeid)

    return Scheduling(config, log)


@pytest.hookimpl(wrapper=True)
def pytest_collection(session):
    """Of xdist's processes let the first load every test by itself: the others find what Python made of the modules,
    which on a clean checkout takes three times as long as to load them. What all of this leaves stays to the end, and
    need not be looked through for garbage."""
    gc.disable()
    with _turn(session.config):
        found = yield
    gc.freeze()
    gc.enable()
    return found


@contextmanager
def _turn(config):
    if not hasattr(config, "workerinput"):
        yield
        return
    with Path(__file__).open("rb") as held:
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            fcntl.flock(held, fcntl.LOCK_SH)
        yield


LONGEST = (
    "test_page", "test_reference_charts", "test_endurance", "test_process", "test_bad_files", "test_house",
    "test_database", "test_handoffs", "test_search", "test_damaged_folders", "test_tiers", "test_false_head",
    "test_hand_off", "test_runs", "test_fit", "test_step_files", "test_conflicts", "test_coupon", "test_toml_text",
    "test_correction", "test_pool", "test_studies", "test_loading",
    "test_mistaken_projects",
)  # fmt: skip
"""Modules that start first, so that at the end no core waits for another."""


def pytest_collection_modifyitems(items):
    """Let those of Ray begin, and then the longest modules."""
    places = {name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: (not RAY.search(item.nodeid), places.get(item.path.stem, len(LONGEST))))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    """Leave no process to a later test; the report of one that failed shows what those it started said last."""
    report = yield
    if report.failed or call.when == "teardown":
        report.sections += left_over()
    return report


def pytest_sessionfinish(session):
    """Where everything that tests need is installed, a test that was skipped is one that was missed."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("HOLEWRIGHT_NO_SKIPS") and reporter and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(params=TIERS)
def tier(request, monkeypatch):
    """Every means of working charts out, one after the other."""
    use(monkeypatch, request.param)
    return request.param


@pytest.fixture(scope="session")
def problem():
    """The practice pipe, for all tests."""
    from shelf import PIPE, pipe

    from optimizer.solving.problem import Problem

    return Problem(pipe(PIPE))


@pytest.fixture(scope="session")
def start(problem):
    """Where a solve of the practice pipe starts."""
    from optimizer.solving.starts import Starts

    return Starts(problem).at()


@pytest.fixture(scope="session")
def outcome(problem, start):
    """The practice pipe solved for tuning, stretch and unevenness alike."""
    from optimizer.solving.linearised import Emphasis
    from optimizer.solving.refine import refine

    return refine(problem, start, Emphasis(stretch=0.1, unevenness=0.1))


@pytest.fixture(scope="session")
def record(problem, outcome):
    """Its finished record."""
    from optimizer.solving.assemble import assemble

    return assemble(problem, np.asarray(outcome.x), "t00001", {"trial": 1, "seed": 7})


@pytest.fixture(scope="session")
def printed():
    """A solved layout of the pipe in pieces, its first piece to be printed."""
    from pieced import LONG, trial
    from shelf import pipe

    return trial(pipe(LONG), 0, (1.0,), 0.5, 0.0)


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    """The practice pipe as a file, for commands run as processes of their own."""
    from shelf import PIPE

    path = tmp_path_factory.mktemp("shelf") / "pipe.toml"
    path.write_text(PIPE)
    return path
