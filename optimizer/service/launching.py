"""The processes of the queue: the same commands that a maker would give, in a session of their own."""

import os
import re
import subprocess
import sys
from pathlib import Path

from optimizer.service.opening import emptied, opened
from optimizer.service.tickets import Ticket

LOG = "search.log"
INPUTS = "inputs"
"""Of an extension: folder of the present layout and the extended project."""

PRESENT, EXTENDED = f"{INPUTS}/present.json", f"{INPUTS}/extended.toml"
COMMAND = "from optimizer.entry import main; raise SystemExit(main())"
LOG_END_BYTES = 8192
_PATH = re.compile(r"(?<![\w.])/(?:[^\s/\"':,;]+/)+")
"""Folders before a file's name."""

SECRET = ("HOLEWRIGHT_TOKEN",)
"""Of the environment, what searches are not told."""


def command(folder: Path, ticket: Ticket) -> list[str]:
    """What to do with a folder, as arguments of `holewright`."""
    limits = {
        "--minutes": ticket.minutes,
        "--trials": ticket.trials,
        "--idle-minutes": ticket.idle_minutes,
        "--workers": ticket.workers,
        "--keep": ticket.keep,
        "--redrill": ticket.redrill,
    }
    options = [f"{name}={value}" for name, value in limits.items() if value is not None]
    if (folder / EXTENDED).is_file():
        return ["extend", str(folder / PRESENT), str(folder / EXTENDED), "--out", str(folder), *options]
    return ["resume", str(folder), *options]


def launch(folder: Path, ticket: Ticket) -> subprocess.Popen[bytes]:
    """Start what a ticket asks for; it outlives this process. Folders that happen to be here lend it no code."""
    environment = {name: value for name, value in os.environ.items() if name not in SECRET}
    with emptied(folder / LOG) as log:
        return subprocess.Popen(
            [sys.executable, "-P", "-c", COMMAND, *command(folder, ticket)],
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
            env=environment,
            cwd=folder,
            start_new_session=True,
        )


def last_words(folder: Path) -> str:
    """What a search said last, without the paths of this machine."""
    try:
        with opened(folder / LOG) as log:
            log.seek(max(0, log.seek(0, os.SEEK_END) - LOG_END_BYTES))
            said = log.read().decode(errors="replace")
    except OSError:
        said = ""
    lines = [_PATH.sub("", line).strip() for line in said.splitlines() if line.strip()]
    return " ".join(lines[-3:])[-1000:] or "the search ended before it had begun"
