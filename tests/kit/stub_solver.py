"""A stand-in for the solver: it does as a proposal's pattern says, and solves nothing.

It loads nothing of the solver either, so that a process that holds one starts at once.
"""

import os
import signal
import time
from pathlib import Path
from typing import NamedTuple


class Asked(NamedTuple):
    """What those who give out trials know of a proposal, and what the stand-in is to do."""

    number: int
    pattern: str = "plain"


class Answered(NamedTuple):
    """A finished trial, its record the process that solved it."""

    number: int
    record_json: str


class Stub:
    """Answers with the number of the process it is in."""

    def __init__(self, folder):
        self.folder = Path(folder)
        if not self.folder.is_dir():
            raise ValueError(f"there is no folder {self.folder.name}")

    def attempt(self, proposal):
        """plain: answer; fails: say why; dies: be killed; dies once: be killed, but not again; hangs: for an hour."""
        mark = self.folder / str(proposal.number)
        if proposal.pattern == "dies" or (proposal.pattern == "dies once" and not mark.exists()):
            mark.write_text("")
            os.kill(os.getpid(), signal.SIGKILL)
        if proposal.pattern == "fails":
            return "it went wrong"
        if proposal.pattern == "hangs":
            mark.write_text("")
            time.sleep(3600)
        return Answered(proposal.number, str(os.getpid()))
