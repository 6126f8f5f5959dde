"""What a file from the bench is, by its name and what is in it."""

import re
from pathlib import Path
from typing import Literal

from optimizer.project.faults import Fault
from optimizer.words import cut

Read = Literal["recording", "tuner table", "gauge readings", "impedance"]

SOUNDS = (".wav", ".flac", ".ogg", ".oga", ".mp3", ".aiff", ".aif", ".m4a", ".opus")
MARKS = (b"RIFF", b"RF64", b"fLaC", b"OggS", b"FORM", b"ID3", b"\xff\xfb", b"\xff\xf3")
"""First bytes of files of sound."""

HEAD_BYTES = 20_000
NONE = (
    "is none of what is read here: a recording (WAV, FLAC, OGG), a tuner table (note, pass_1_cents), gauge readings "
    "(what, where, reading_mm), an impedance (frequency_hz and two parts, or .s1p)"
)


def kind_of(file: Path) -> Read:
    """What a file is.

    Raises
    ------
    Fault
        for one that is empty, or nothing that is read
    """
    suffix = file.suffix.lower()
    with file.open("rb") as stream:
        head = stream.read(HEAD_BYTES)
    if suffix in SOUNDS or head.startswith(MARKS):
        return "recording"
    if suffix == ".s1p":
        return "impedance"
    if not head:
        raise Fault(f"{cut(file.name)} is empty")
    if suffix == ".toml":
        return "tuner table"
    return _of_table(file, head)


def _of_table(file: Path, head: bytes) -> Read:
    """Which table a file is, by its headers."""
    lines = (line.strip() for line in head.decode("utf-8-sig", "replace").splitlines())
    first = next((line for line in lines if line and not line.startswith("#")), "")
    headers = [cell.strip(' "').lower() for cell in re.split(r"[,;\t]", first)]
    if any(header.startswith("frequency") for header in headers):
        return "impedance"
    if "what" in headers:
        return "gauge readings"
    if "note" in headers:
        return "tuner table"
    if "hole" in headers:
        raise Fault(f"{cut(file.name)} is a table of holes: an instrument of its own, which is shown by New run")
    raise Fault(f"{cut(file.name)} {NONE}")
