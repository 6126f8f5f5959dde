"""Where the `holewright` command begins: an interrupt while it still loads ends it as one later does."""

import gc
import sys

from optimizer.words import INTERRUPTED, STOPPED

SOON_ENOUGH = 50_000
"""Objects after which Python looks for what is left over. Loading makes many and leaves hardly any over, and by the
700 that Python has without being told, looking takes a tenth of a short command."""


def main() -> int:
    """Load the command line and run it; its exit code."""
    gc.set_threshold(SOON_ENOUGH)
    try:
        from optimizer.commands.cli import main as command

        return command()
    except KeyboardInterrupt:
        print(STOPPED, file=sys.stderr)
        return INTERRUPTED
