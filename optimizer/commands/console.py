"""What commands share: the console, and answers that are shown and written."""

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

if TYPE_CHECKING:
    pass


Complain = Callable[[str, Sequence[str]], int]


Files = Sequence[tuple[Path | None, Callable[[Path], None]]]
"""Files that may be asked for, each with what writes it."""


def console() -> Console:
    """Where tables go: as wide as the terminal, or 160 columns; names in brackets are names, no markup."""
    return Console(width=None if sys.stdout.isatty() else 160, highlight=False, markup=False, emoji=False)


def show_and_write(show: Callable[[Console], None], files: Files, complain: Complain) -> int:
    """Show what there is, then write the files that were asked for and say so; exit code 0, or 2 where one cannot be
    written."""
    screen = console()
    show(screen)
    for path, write in files:
        if path is None:
            continue
        try:
            write(path)
        except OSError as error:
            return complain("cannot write", [f"{path}: {error.strerror or error}"])
        screen.print(f"written: {path}", soft_wrap=True)
    return 0
