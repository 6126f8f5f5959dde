"""Tests that the suite has gone through a few times, gone through as often as it takes; each in a pytest of its own."""

import os
import subprocess
import sys

import pytest
from places import TESTS

LONGER = {
    "a search killed at thirty moments": ({"HOLEWRIGHT_KILLS": "30"}, "search/test_endurance.py"),
    "workers of Ray's that fail, die and hang": ({"HOLEWRIGHT_RAY": "1"}, "search/test_pool.py"),
    "anything at all sent to the service": ({"HOLEWRIGHT_EXAMPLES": "4"}, "service/test_fuzz.py"),
    "the kernel on twelve ducts of each number of holes": ({"HOLEWRIGHT_DUCTS": "12"}, "acoustics/test_tiers.py"),
    "slopes of limits at ten layouts": ({"HOLEWRIGHT_LAYOUTS": "10"}, "limits/test_slopes_of_limits.py"),
    "another instrument foretold twenty times": ({"HOLEWRIGHT_DRAWS": "20"}, "prototype/test_learned.py"),
    "a test bore played fifteen times": ({"HOLEWRIGHT_DRAWS": "15"}, "prototype/test_plain_bore.py"),
    "prototypes of the tenor": ({"HOLEWRIGHT_DRAWS": "8"}, "prototype/test_prototypes.py"),
    "a run folder damaged in every way": (
        {"HOLEWRIGHT_DAMAGES": "1"},
        "commands/test_damaged_folders.py",
    ),
}


@pytest.mark.parametrize("what", LONGER)
def test_nothing_is_found_by_going_on(what):
    more, module = LONGER[what]
    command = [sys.executable, "-m", "pytest", "-n0", TESTS / module]
    done = subprocess.run(command, env=os.environ | more, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-10_000:]
