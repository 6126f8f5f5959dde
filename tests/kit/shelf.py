"""Small projects of the Lantern Hall lending shelf that the tests share, as text, and helpers to change them."""

from collections.abc import Callable

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.layout import Layout, numbers_of, with_numbers
from optimizer.project.loading import LoadedProject, parse_project
from optimizer.records.run import ProgressRecord
from optimizer.search.run_folder import now

PIPE = """\
# A four-hole practice pipe: no keys, one register, five notes, holes as uneven as these take.
[instrument]
name = "Lantern Hall Practice Pipe"
transposition_semitones = 0

[air]
reed_degC = 25.0
bell_degC = 21.0

[reed]
volume_cm3 = [0.1, 0.6]

[bore]
points_mm = [[0, 4.0], [330, 21.0]]
wall_mm = 4.0
end_mm = [300, 340]

[holes]
g1 = { by = "R1", position_mm = [220, 300], diameter_mm = [5, 11], chimney_mm = 4 }
g2 = { by = "L3", position_mm = [170, 250], diameter_mm = [5, 10], chimney_mm = 4 }
g3 = { by = "L2", position_mm = [150, 220], diameter_mm = [5, 10], chimney_mm = 4 }
g4 = { by = "L1", position_mm = [120, 200], diameter_mm = [5, 10], chimney_mm = 4 }

[chart]
lines = \"\"\"
A4   1  L123 R1
B4   1  L123
C#5  1  L12
D5   1  L1
E5   1  none
\"\"\"

[venting]
wanted = false
"""

KEYED = """\
# A pipe with plates, keys, a link, a vent, a thumb hole and a locked hole, for what needs no sound.
[instrument]
name = "Lantern Hall Keyed Pipe"
transposition_semitones = -7

[air]
reed_degC = 25.0
bell_degC = 21.0

[reed]
volume_cm3 = 0.3

[bore]
points_mm = [[0, 20.0], [600, 20.0]]
wall_mm = 5.0
end_mm = [550, 600]

[holes]
h1 = { by = "key", rest = "closed", position_mm = [440, 540], diameter_mm = [8, 14], chimney_mm = 5, azimuth_deg = 60 }
h2 = { by = "R2", position_mm = [380, 460], diameter_mm = [5, 10], chimney_mm = 5 }
h3 = { by = "R1", cover = "plate", position_mm = [340, 420], diameter_mm = [5, 12], chimney_mm = 5 }
h4 = { by = "key", position_mm = [300, 400], diameter_mm = [5, 10], chimney_mm = [5, 8] }
h5 = { by = "L3", position_mm = 260.25, diameter_mm = 7.1234567, chimney_mm = 5, locked = true }
h6 = { by = "L1", position_mm = [180, 250], diameter_mm = [5, 10], chimney_mm = 5 }
h7 = { by = "LT", position_mm = [170, 250], diameter_mm = [5, 10], chimney_mm = 5, azimuth_deg = 180 }
v1 = { by = "key", rest = "closed", role = "vent", position_mm = [60, 120], diameter_mm = [1.5, 3], chimney_mm = 7 }

[keys]
kLow = { touch = "R4", opens = ["h1"] }
link = { touch = "R1", moved_by = ["R1", "R2"], closes = ["h4"] }
octave = { touch = "LT", opens = ["v1"], lever_max_mm = 140 }

[chart]
lines = \"\"\"
E4   1  LT L13 R12
F#4  1  LT L13 R12 kLow
G4   1  LT L13 R1
A4   1  LT L13
B4   1  LT L1
C5   1  LT
E5   2  LT L13 R12 octave
\"\"\"
"""


def changed(old: str, new: str, text: str = PIPE) -> str:
    """The text with its one `old` replaced by `new`."""
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
    return text.replace(old, new)


def pipe(text: str = PIPE) -> LoadedProject:
    """A text read as a project."""
    return parse_project(text, "shelf.toml")


def between(low: Layout, high: Layout, draw: Callable[[Array, Array], Array]) -> Layout:
    """A layout with every number drawn between two others."""
    lowest, highest = numbers_of(low), numbers_of(high)
    return with_numbers(low, {name: np.asarray(draw(lowest[name], highest[name])) for name in lowest})


def progress(ended_by, done=0):
    """How far an invented run is."""
    return ProgressRecord(
        state="running" if ended_by is None else "ended", ended_by=ended_by, process=1, host="lantern", written=now(),
        elapsed_seconds=1.0, seconds_left=None, trials_done=done, trials_failed=0, trials_per_second=0.0, workers=1,
        layouts=0, best={}, hypervolume=0.0, reference_point={},
    )  # fmt: skip
