"""Commands called in this very process."""

import re

from optimizer.commands.cli import main


def told(capsys, *arguments):
    """Run the command: exit code, standard output, standard error."""
    code = main([str(argument) for argument in arguments])
    streams = capsys.readouterr()
    return code, streams.out, streams.err


def cents(text):
    """Written note to cents, from a printed note table: target in Hz, then cents with a sign."""
    rows = re.findall(r"(?m)^([A-G][#b]?\d)\s+\S+\s+\d+\s+\d+\.\d\d\s+([+-]\d+\.\d)", text)
    return {note: float(value) for note, value in rows}
