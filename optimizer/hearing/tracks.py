"""The ways to hear a layout, and the files it can be written to. Light, as help reads it."""

TRACKS = {
    "alone": "the notes alone, as predicted",
    "in-tune": "the notes alone, as wanted",
    "beats": "each note against itself in tune: what is off beats",
    "drone": "each note over a drone in tune",
    "doubt": "each note at both ends of the band that nine instruments of ten lie in",
}
"""By the word of the command line: what is heard."""

FORMATS = {".wav": "WAV", ".flac": "FLAC"}
"""Of sound files that are written, by the ending of their names."""
