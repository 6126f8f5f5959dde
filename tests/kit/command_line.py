"""The command line as the program itself reads it."""

from collections.abc import Sequence

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
