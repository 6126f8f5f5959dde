"""Where the `holewright` command begins: an interrupt while it still loads ends it as one later does, no name is beyond
what the terminal or file it writes to can take, and Python does for a short command what that needs alone."""

import codecs
import gc
import io
import os
import sys

from optimizer.words import INTERRUPTED, STOPPED

ALIKE = {"♭": "b", "♯": "#", "…": "...", "–": "-", "’": "'", "½": "1/2", "☐": "[ ]"}
"""What stands for a sign in an encoding without it."""
SOON_ENOUGH = 50_000
"""Objects after which Python looks for what is left over. Loading makes many and leaves hardly any over, and by the
700 that Python has without being told, looking takes a tenth of a short command."""
NO_PLUGINS = ("PYDANTIC_DISABLE_PLUGINS", "__all__")
"""Nothing here is a plug-in of Pydantic; to look for some, it reads what every installed package says of itself."""


def main() -> int:
    """Load the command line and run it; its exit code."""
    gc.set_threshold(SOON_ENOUGH)
    os.environ.setdefault(*NO_PLUGINS)
    try:
        write_any_name()
        from optimizer.commands.cli import main as command

        return command()
    except KeyboardInterrupt:
        print(STOPPED, file=sys.stderr)
        return INTERRUPTED
    finally:
        gc.freeze()  # Python's last look for what is left over would take a fifth of a short command


def write_any_name() -> None:
    """Let both streams write what is alike in place of signs that their encoding does not have."""
    codecs.register_error("alike", _alike)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="alike")


def _alike(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    from unicodedata import normalize

    wanted = error.object[error.start : error.end]
    plain = (ALIKE.get(sign) or normalize("NFKD", sign).encode("ascii", "ignore").decode() or "?" for sign in wanted)
    return "".join(plain), error.end
