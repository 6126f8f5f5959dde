"""The command line as the program itself reads it, and as the documents show it."""

import re
import shlex
from collections.abc import Sequence

from places import ROOT

from optimizer.commands.cli import COMMANDS, asked_for
from optimizer.project.faults import Fault


def parses(words: Sequence[str]) -> bool:
    """Whether the program understands these words after its own name."""
    try:
        asked_for(words)
    except Fault:
        return False
    return True


def command_names() -> set[str]:
    """Every command there is."""
    return {command.__name__ for command in COMMANDS}


def text_of(document):
    return (ROOT / document).read_text(encoding="utf-8")


def commands_in(document):
    """Words after the program's name, of every fenced line that calls it."""
    for block in re.findall(r"(?ms)^```sh\n(.*?)^```", text_of(document)):
        for line in block.replace("\\\n", " ").splitlines():
            for call in re.findall(r"(?:^|&& )(?:\S*/)?holewright (.*?)(?= &&|[|<>;]|$)", line):
                yield shlex.split(call, comments=True)
