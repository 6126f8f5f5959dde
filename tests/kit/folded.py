"""The fold pipe of the Lantern Hall lending shelf: a cylinder folded twice, for tests of folded bodies.

Bore 20 mm, wall 4 mm, so 14 mm from axis to surface. Bends of 30 mm radius: tubes' axes 60 mm apart, the second to the
player's right of the first, the third in front of the second. Each bend is 30 pi = 94.25 mm long:

| part | along the centre line | depth | axis toward front, right |
|---|---|---|---|
| first tube, down | 0 to 500 | 0 to 500 | 0, 0 |
| second tube, up | 594.25 to 994.25 | 500 to 100 | 0, 60 |
| third tube, down | 1088.50 to 1500 | 100 to 511.50 | 60, 60 |
"""

import math
from functools import cache

import numpy as np
from pieced import trial
from shelf import changed, pipe

from acoustics.bends import Bends, Tubes
from acoustics.network import Duct, stacked
from acoustics.resonances import batch_errors
from optimizer.geometry.layout import parametrise
from optimizer.project.loading import LoadedProject
from optimizer.solving.problem import Problem

BEND = 30.0 * math.pi
SECOND, THIRD = 500.0 + BEND, 900.0 + 2.0 * BEND
"""Where the second and the third tube begin along the centre line [mm]."""

FOLDED = f"""\
[instrument]
name = "Lantern Hall Fold Pipe"
transposition_semitones = 0

[air]
reed_degC = 25.0
bell_degC = 21.0

[reed]
volume_cm3 = 0.6

[bore]
points_mm = [[0, 20.0], [1500, 20.0]]
wall_mm = 4.0

[bends]
low = {{ at_mm = 500, radius_mm = 30, toward_deg = 90 }}
high = {{ at_mm = {SECOND + 400.0!r}, radius_mm = 30, toward_deg = 0 }}

[holes]
h1 = {{ by = "key", position_mm = [1200, 1400], diameter_mm = 14, chimney_mm = 6, azimuth_deg = 60 }}
h2 = {{ by = "key", position_mm = [700, 900], diameter_mm = 13, chimney_mm = 6, azimuth_deg = 150 }}
h3 = {{ by = "key", position_mm = [380, 460], diameter_mm = 12, chimney_mm = 6, azimuth_deg = -40 }}
h4 = {{ by = "L1", position_mm = [200, 300], diameter_mm = 9, chimney_mm = 4 }}

[keys]
k1 = {{ touch = "R1", closes = ["h1"] }}
k2 = {{ touch = "R2", closes = ["h2"] }}
k3 = {{ touch = "R3", closes = ["h3"] }}

[rows]
right = {{ position_mm = [620, 760], azimuth_deg = 60 }}

[chart]
lines = \"\"\"
A1   1  L1 R123
C2   1  L1 R23
A2   1  L1 R3
G3   1  L1
E4   1  none
\"\"\"

[keywork]
lever_max_mm = 400

[venting]
wanted = false

[search]
objectives = {{ stretch = false }}
"""

SECTIONS = "\n[sections]\njoints = 2\njoint_mm = 24\nsocket_ring = false\ntenon_wall_mm = 2.5\nsocket_wall_mm = 1.2\n"
"""Two joints, which may lie anywhere on the tubes."""


JOINED = SECTIONS.replace("joints = 2", "joints = 2\nzones_mm = [[600, 980], [1300, 1400]]\npiece_max_mm = 900")
"""The same between both bends and on the third tube, so that two pieces have a bend each."""


def refolded(old, new):
    """The fold pipe with a text in it changed."""
    return changed(old, new, FOLDED)


CONED = refolded("wall_mm = 4.0", "wall_mm = 4.0\ncone_half_angle_deg = [0, 1.5]")
"""The fold pipe as a cone that a number shapes: 20 mm wide at the reed, as now at the least."""


def middle(loaded: LoadedProject) -> tuple[Problem, Duct]:
    """The layout in the middle of a project's ranges, as what sounds."""
    problem = Problem(loaded)
    coding = parametrise(problem.project)
    return problem, problem.duct_at(0.5 * (coding.low + coding.high))


@cache
def solved():
    """The record of one solve of the fold pipe in three pieces, two of them with a bend each."""
    return trial(pipe(FOLDED + JOINED), 0, (0.5, 1.0), 1.0, 0.0)


@cache
def solved_cone():
    """The record of one solve of the fold pipe as a cone, its angle settled with the holes, in three pieces."""
    sections = "\n[sections]\njoints = 2\njoint_mm = 24\npiece_max_mm = 1000\nzones_mm = [[780, 980], [1100, 1200]]\n"
    cone = changed("cone_half_angle_deg = [0, 1.5]", "cone_half_angle_deg = [0.05, 0.3]", CONED)
    return trial(pipe(cone + sections), 0, (0.5, 0.5), 1.0, 0.0)


def folds(loaded: LoadedProject) -> dict[str, np.ndarray]:
    """What each part of the folding adds to every note (N,) [cents]."""
    problem, duct = middle(loaded)
    straight, short = duct._replace(tubes=Tubes()), duct._replace(bends=Bends())
    ways = stacked([duct]), stacked([straight]), stacked([short]), stacked([short._replace(tubes=Tubes())])
    whole, along, without, neither = (batch_errors(one, problem.openness, problem.f_target)[0] for one in ways)
    return {"bends": whole - without, "distances": whole - along, "both": whole - neither, "neither": neither}
