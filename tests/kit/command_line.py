"""The command line as the program itself reads it."""

import argparse
import contextlib
import io
from collections.abc import Sequence

from optimizer.commands.cli import parser


def parses(words: Sequence[str]) -> bool:
    """Whether the program understands these words after its own name."""
    with contextlib.redirect_stderr(io.StringIO()):
        try:
            parser().parse_args(words)
        except SystemExit:
            return False
    return True


def command_names() -> set[str]:
    """Every command there is."""
    (commands,) = (each for each in parser()._actions if isinstance(each, argparse._SubParsersAction))
    return set(commands.choices)
