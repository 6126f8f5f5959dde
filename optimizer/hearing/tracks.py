"""The ways to hear a layout, and the files it can be written to. Light, as help reads it."""

TRACKS = {
    "alone": "as predicted",
    "in-tune": "as wanted, in tune",
    "beats": "both at once, beating where they differ",
    "drone": "over a drone in tune",
    "doubt": "at both ends of its band, of nine in ten",
}
"""By the word of the command line: how each note is heard."""

FORMATS = {".wav": "WAV", ".flac": "FLAC"}
"""Of sound files that are written, by the ending of their names."""
