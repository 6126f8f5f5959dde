"""What commands share once they are at work: the console, and files that are written and named."""

import sys
from collections.abc import Callable
from pathlib import Path

from rich.console import Console

from optimizer.project.faults import writing


def console() -> Console:
    """Where tables go: as wide as the terminal, or 160 columns; names in brackets are names, no markup."""
    return Console(width=None if sys.stdout.isatty() else 160, highlight=False, markup=False, emoji=False)


def write_if_asked(path: Path | None, write: Callable[[Path], None]) -> None:
    """Write a file that may be asked for, and say so.

    Raises
    ------
    Fault
        when it cannot be written
    """
    if path is None:
        return
    with writing(path):
        write(path)
    console().print(f"written: {path}", soft_wrap=True)
