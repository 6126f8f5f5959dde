"""A few processes for work that is no search: Ctrl-C ends them without a word."""

import os
import signal
import subprocess
import sys
import time

import pytest

LONG_WORK = """
import time
from optimizer.solving.processes import processes

try:
    with processes(2, 4) as few:
        print("begun", flush=True)
        list(few.each(time.sleep, [60.0] * 4))
except KeyboardInterrupt:
    print("stopped")
"""


@pytest.mark.parametrize("seconds", [0.05, 0.2, 1.0])
def test_ctrl_c_ends_the_processes_at_once_and_they_say_nothing(seconds):
    # It reaches the whole process group, as in a terminal, here while they start and while they work.
    command = [sys.executable, "-c", LONG_WORK]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    ) as work:
        assert work.stdout is not None
        assert work.stdout.readline() == "begun\n"
        time.sleep(seconds)
        os.killpg(work.pid, signal.SIGINT)
        assert work.communicate(timeout=30) == ("stopped\n", "")
        assert work.returncode == 0
