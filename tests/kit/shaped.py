"""The practice pipe with a bore that numbers shape, and its body in three pieces."""

from shelf import changed

POINTS = "points_mm = [[0, 4.0], [330, 21.0]]\nwall_mm = 4.0"
NUMBERS = """points_mm = [[0, 4.0], [330, 21.0]]
wall_mm = 4.0
staple_end_mm = 20
crook_end_mm = 60
reed_end_diameter_mm = [3.6, 4.4]
crook_end_diameter_mm = [6.6, 7.6]
crook_half_angle_deg = [1.0, 1.8]
cone_half_angle_deg = [1.2, 1.7]
cones_meet_mm = 180
lower_cone_half_angle_deg = [1.2, 1.7]
bell_length_mm = [30, 60]
bell_flare_mm = [0, 5]"""
PIECES = """
[sections]
joints = 2
joint_mm = 16
piece_max_mm = 200

[holes]"""
SHAPED = changed("[holes]", PIECES, changed(POINTS, NUMBERS))
