"""Projects that are unlike the demos, and right: a wide cylinder, a low bass, a small pipe, few holes, names and orders
of their own. Written by hand for this; lengths from c / 4 L and c / 2 L of a tube and a cone, c = 347 m/s."""

HEAD = """\
[instrument]
name = "{name}"
transposition_semitones = {shift}

[air]
reed_degC = 27
bell_degC = 23
humidity_percent = {humidity}

[reed]
volume_cm3 = {volume}

[bore]
points_mm = {points}
wall_mm = {wall}

[holes]
{holes}

{keys}
[chart]
{names}lines = \"\"\"
{lines}
\"\"\"
[hand]
hand_gap_min_mm = 30
"""


def project(name, points, wall, volume, holes, lines, shift=0, keys="", names="", humidity=90):
    """The text of a project."""
    return HEAD.format(name=name, shift=shift, humidity=humidity, volume=volume, points=points, wall=wall, holes=holes,
                       keys=keys, names=names, lines=lines)  # fmt: skip


SENSIBLE = {
    "a wide cylinder with narrow holes": project(
        "Wide Pipe", [[0, 30.0], [500, 30.0]], 4, [3, 8],
        """
g1 = { by = "R2", position_mm = [330, 420], diameter_mm = [5, 8], chimney_mm = 4 }
g2 = { by = "R1", position_mm = [300, 390], diameter_mm = [5, 8], chimney_mm = 4 }
g3 = { by = "L2", position_mm = [230, 300], diameter_mm = [5, 8], chimney_mm = 4 }
g4 = { by = "L1", position_mm = [200, 270], diameter_mm = [5, 8], chimney_mm = 4 }
""", "E3 1 L12 R12\nF#3 1 L12 R1\nG3 1 L12\nA3 1 L1\nB3 1 none"),
    "a low bass of 35 mm bore": project(
        "Low Bass", [[0, 35.0], [1560, 35.0]], 5, [10, 30],
        """
b1 = { by = "key", position_mm = [1150, 1400], diameter_mm = [14, 24], chimney_mm = 6 }
b2 = { by = "key", rest = "closed", position_mm = [1000, 1300], diameter_mm = [12, 22], chimney_mm = 6 }
b3 = { by = "R1", position_mm = [850, 1100], diameter_mm = [6, 9], chimney_mm = [5, 20] }
b4 = { by = "L1", position_mm = [600, 900], diameter_mm = [6, 9], chimney_mm = [5, 20] }
""", "A1 1 L1 R1 kA\nB1 1 L1 R1\nC2 1 L1 R1 kC\nE2 1 L1\nG2 1 none",
        keys='[keys]\nkA = { touch = "R4", closes = ["b1"] }\nkC = { touch = "R3", opens = ["b2"] }\n')
    + "[search.objectives]\nstretch = false\nworst_note = true\n",
    "a pipe as small as a flute of the sopranino": project(
        "Little Pipe", [[0, 8.0], [120, 8.0]], 2.5, [0.1, 0.4],
        """
s1 = { by = "R1", position_mm = [70, 100], diameter_mm = [2.5, 5], chimney_mm = 2.5 }
s2 = { by = "L2", position_mm = [45, 75], diameter_mm = [2.5, 5], chimney_mm = 2.5 }
s3 = { by = "L1", position_mm = [25, 55], diameter_mm = [2.5, 5], chimney_mm = 2.5 }
""", "F5 1 L12 R1\nG5 1 L12\nA5 1 L1\nB5 1 none").replace("[hand]", "[hand]\nspacing_min_mm = 14"),
    "three holes far apart": project(
        "Sparse Pipe", [[0, 4.0], [600, 32.0]], 4, [0.1, 0.7],
        """
p1 = { by = "R1", position_mm = [450, 520], diameter_mm = [8, 14], chimney_mm = 4 }
p2 = { by = "L2", position_mm = [250, 300], diameter_mm = [6, 9], chimney_mm = 4 }
p3 = { by = "L1", position_mm = [220, 270], diameter_mm = [3, 4.5], chimney_mm = 4 }
""", "C4 1 L12 R1\nD4 1 L12\nG4 1 L1\nA4 1 none").replace("[hand]", '[hand]\nseal_diameter_max_mm = 15'),
    "dry air and names of Helmholtz": project(
        "Dry Pipe", [[0, 15.0], [480, 15.0]], 4, [2, 5],
        """
d1 = { by = "R1", position_mm = [300, 400], diameter_mm = [5, 10], chimney_mm = 4, azimuth_deg = 2.5 }
d2 = { by = "L2", position_mm = [220, 320], diameter_mm = [5, 10], chimney_mm = 4 }
d3 = { by = "L1", position_mm = [180, 280], diameter_mm = [4, 9], chimney_mm = 4 }
""", "e 1 L12 R1\ng 1 L12\nb 1 L1\nc' 1 none", names='note_names = "helmholtz"\n', humidity=0),
}  # fmt: skip
"""By what is unusual: the text."""
