"""Where the `holewright` command begins: an interrupt while it still loads ends it as one later does."""

import sys

from optimizer.words import INTERRUPTED, STOPPED


def main() -> int:
    """Load the command line and run it; its exit code."""
    try:
        from optimizer.commands.cli import main as command

        return command()
    except KeyboardInterrupt:
        print(STOPPED, file=sys.stderr)
        return INTERRUPTED
