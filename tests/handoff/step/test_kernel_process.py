"""The CAD kernel's process: what it answers, and what is said when it dies, hangs, wants too much or is not there."""

import importlib.util
import os
import signal
import time

import numpy as np
import pytest
from processes import alive

from optimizer.handoff.step import kernel_process as room
from optimizer.handoff.step.kernel_process import KernelFault, cad_kernel
from optimizer.project.faults import Fault

installed = pytest.mark.skipif(importlib.util.find_spec("OCP") is None, reason="the extra cad is not installed here")


def refused(_):
    raise Fault("the seat lies over a joint")


@installed
def test_it_answers_and_ends_with_its_block():
    with cad_kernel() as kernel:
        number = kernel.ask("a number", os.getpid)
        assert number != os.getpid()
        with pytest.raises(Fault, match=r"^the seat lies over a joint$"):
            kernel.ask("piece 1", refused, 0)
        with pytest.raises(KernelFault, match=r"^piece 1: the CAD kernel cannot make it: it gave up: invalid literal"):
            kernel.ask("piece 1", int, "x")
        with pytest.raises(KernelFault, match=r"^piece 1: .* cannot make it: it ran out of the memory it may use"):
            kernel.ask("piece 1", np.zeros, 2**30)
        assert kernel.ask("a number", os.getpid) == number  # faults cost it nothing
        assert alive([number])
    assert not alive([number])


@installed
@pytest.mark.parametrize(
    ("work", "given", "said"),
    [
        (os.kill, lambda number: (number, signal.SIGSEGV), "piece 1: the CAD kernel died, ended by SIGSEGV"),
        (time.sleep, lambda _: (60,), "piece 1: the CAD kernel took more than 5 s and was ended"),
    ],
    ids=["crash", "endless"],
)
def test_a_crash_or_no_end_of_it_costs_a_sentence(work, given, said):
    with cad_kernel(seconds=5.0) as kernel:
        number = kernel.ask("a number", os.getpid)
        with pytest.raises(KernelFault, match=f"^{said}$"):
            kernel.ask("piece 1", work, *given(number))
    assert not alive([number])


@installed
def test_it_does_not_start_in_too_little_memory():
    with pytest.raises(KernelFault, match="the CAD kernel"), cad_kernel(memory_mb=200):
        pass


def test_where_the_kernel_is_not_installed_a_line_to_paste_is_told(monkeypatch):
    monkeypatch.setattr(room, "PACKAGE", "no_such_package")
    with pytest.raises(KernelFault, match=r"python -m pip install 'cadquery-ocp-novtk>=8.0.1,<9'$"), cad_kernel():
        pass
