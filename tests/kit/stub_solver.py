"""A stand-in for the solver: it does as a proposal's pattern says, and solves nothing."""

import os
import signal
import time
from pathlib import Path

from optimizer.search.proposals import Proposal
from optimizer.search.trial import Result
from optimizer.solving.linearised import Emphasis

NOTHING = Emphasis(1.0)


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
        return Result(proposal.number, str(os.getpid()))


def proposal(number, pattern="plain"):
    """A proposal for the stand-in."""
    return Proposal(number, NOTHING, 0.5, 0.0, 1, pattern)
