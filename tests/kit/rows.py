"""A low cone of the lending shelf whose touches stand in rows under the hands, away from its holes, as text."""

CONE = """\
# A straight cone of 1.2 m: six open holes and one that rests closed, all under pads, pressed from two rows of touches.
[instrument]
name = "Lantern Hall Long Cone"
transposition_semitones = 0

[air]
reed_degC = 27.0
bell_degC = 22.0

[reed]
volume_cm3 = [0.2, 2.0]

[bore]
points_mm = [[0, 5.0], [1200, 41.0]]
wall_mm = 4.0
crook_end_mm = 200
end_mm = [1120, 1200]

[holes]
p1 = { by = "key", position_mm = [960, 1090], diameter_mm = [9, 24], chimney_mm = 6 }
p2 = { by = "key", position_mm = [860, 1000], diameter_mm = [9, 22], chimney_mm = 6 }
p3 = { by = "key", position_mm = [760, 900], diameter_mm = [9, 20], chimney_mm = 6 }
p4 = { by = "key", position_mm = [650, 800], diameter_mm = [8, 18], chimney_mm = 6 }
p5 = { by = "key", position_mm = [560, 700], diameter_mm = [7, 16], chimney_mm = 6 }
p6 = { by = "key", position_mm = [480, 610], diameter_mm = [6, 14], chimney_mm = 6 }
s1 = { by = "key", rest = "closed", position_mm = [430, 560], diameter_mm = [5, 12], chimney_mm = 6, azimuth_deg = 60 }

[keys]
k1 = { touch = "R3", closes = ["p1"] }
k2 = { touch = "R2", closes = ["p2"] }
k3 = { touch = "R1", closes = ["p3"] }
k4 = { touch = "L3", closes = ["p4"] }
k5 = { touch = "L2", closes = ["p5"] }
k6 = { touch = "L1", closes = ["p6"] }
side = { touch = "L4", opens = ["s1"] }

[rows]
left = { position_mm = [420, 640], azimuth_deg = -70, spacing_mm = 24 }
right = { position_mm = [700, 900], azimuth_deg = -70, spacing_mm = 26 }

[chart]
lines = \"\"\"
C3   1  L123 R123
D3   1  L123 R12
E3   1  L123 R1
F#3  1  L123
G#3  1  L12
A#3  1  L1
C4   1  none
C#4  1  side
\"\"\"

[venting]
wanted = false
"""

TUBE = """\
# A tube of 40 mm outside, both hands in rows, for what is worked out on paper.
[instrument]
name = "Lantern Hall Tube"
transposition_semitones = 0

[air]
reed_degC = 25.0
bell_degC = 21.0

[reed]
volume_cm3 = 0.3

[bore]
points_mm = [[0, 30.0], [1000, 30.0]]
wall_mm = 5.0

[holes]
p1 = { by = "key", position_mm = 952, diameter_mm = 14, chimney_mm = 6 }
s1 = { by = "key", rest = "closed", position_mm = 800, diameter_mm = 10, chimney_mm = 6, azimuth_deg = 90 }
s2 = { by = "key", rest = "closed", position_mm = 760, diameter_mm = 10, chimney_mm = 6, azimuth_deg = 90 }
p2 = { by = "key", position_mm = 656, diameter_mm = 14, chimney_mm = 6, azimuth_deg = 114.59155902616465 }
p3 = { by = "key", position_mm = 540, diameter_mm = 14, chimney_mm = 6 }
p4 = { by = "key", position_mm = 300, diameter_mm = 14, chimney_mm = 6 }
p5 = { by = "key", position_mm = 250, diameter_mm = 14, chimney_mm = 6 }
v1 = { by = "key", rest = "closed", role = "vent", position_mm = 120, diameter_mm = 2, chimney_mm = 6 }
v2 = { by = "key", rest = "closed", role = "vent", position_mm = 80, diameter_mm = 2, chimney_mm = 6 }

[keys]
k1 = { touch = "R3", closes = ["p1"] }
k2 = { touch = "R2", closes = ["p2"] }
k3 = { touch = "R1", closes = ["p3"] }
link = { touch = "R1", moved_by = ["R1", "R2"], closes = ["p4"] }
k5 = { touch = "L3", closes = ["p5"] }
low = { touch = "R4", opens = ["s1"] }
side = { touch = "R1", opens = ["s2"] }
up = { touch = "LT", opens = ["v1"] }
top = { touch = "LT", opens = ["v2"] }

[rows]
left = { position_mm = 400, spacing_mm = 24 }
right = { position_mm = 600, spacing_mm = 26 }

[chart]
lines = \"\"\"
C4   1  L3 R123
D4   1  L3 R12
E4   1  L3 R1
F4   1  L3 k2
G4   1  L3
A4   1  none
A#4  1  L3 R4
B4   1  side
C5   1  up
\"\"\"

[search]
objectives = { unevenness = false }

[venting]
wanted = false
"""
