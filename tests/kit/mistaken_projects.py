"""Mistakes that makers make in project files: a demo, what is changed in it, and the essential words of what is told.

Each line: what is mistaken: (demo, what stands there, what is written instead, line told, words that must be told).
The line is given by what stands on it. A sentence of `REFUSED` keeps the file from being used, one of `ASKED` does not.
"""

TENOR, PIPE, REED, BASS = "lantern-tenor", "meadow-pipe", "attic-reed", "cellar-bass"

REFUSED = {
    # what is no TOML
    "a decimal comma": (
        REED, "wall_mm = 4.0", "wall_mm = 4,0", "wall_mm", ["bore.wall_mm", "4,0", "write 4.0"]),
    "a decimal comma in quotes": (
        REED, "wall_mm = 4.0", 'wall_mm = "4,5"', "wall_mm", ["bore.wall_mm", "'4,5'", "did you mean 4.5"]),
    "a decimal comma in a hole": (
        PIPE, "chimney_mm = 3.5, azimuth_deg = 180", "chimney_mm = 3,5, azimuth_deg = 180", "pT =",
        ["holes.pT", "3,5", "write 3.5"]),
    "decimal commas in a range": (
        PIPE, "diameter_mm = [1.5, 5]", "diameter_mm = [1,5, 5]", "pT =",
        ["holes.pT.diameter_mm", "[1, 5, 5]", "[1.5, 5]"]),
    "a decimal comma in a point of the bore": (
        PIPE, "[0, 3.4]", "[0, 3,4]", "points_mm", ["point 1", "[0, 3, 4]", "did you mean [0, 3.4]"]),
    "a sharp without quotes": (
        PIPE, '"D#4" = 0.3', "D#4 = 0.3", "weight", ["scale.weight", 'quotes: "D#4"']),
    "a key with a sharp without quotes": (
        TENOR, '"kC#" = {', "kC# = {", "kC# = {", ['quotes: "kC#"']),
    "a day as it is written in Germany": (
        PIPE, "spacing_min_mm = 16", "spacing_min_mm = 16\ngauged_on = 2.11.2026", "gauged_on",
        ["hand.gauged_on", "2.11.2026", "2026-11-02"]),
    "a table twice": (
        REED, "[scale]", "[bore]", "[bore]\na4", ["bore", "stands twice", "first on line 2"]),
    "two holes of one name": (
        REED, "c02 =", "c01 =", 'c01 = { by = "key", rest = "open", position_mm = [505',
        ["holes.c01", "stands twice", "first on line 3"]),
    "two keys of one name": (
        TENOR, "kP2 = {", "kP1 = {", 'kP1 = { touch = "L1", together = ["kP3"', ["keys.kP1", "stands twice"]),
    "a unit behind a number": (
        REED, "wall_mm = 4.0", "wall_mm = 4 mm", "wall_mm", ["bore.wall_mm", "write 4, not 4 mm"]),
    "a text without quotes": (
        REED, 'temperament = "equal"', "temperament = equal", "temperament", ['quotes: "equal"']),
    "a range without brackets": (
        REED, "end_mm = [600, 700]", "end_mm = 600 - 700", "end_mm = 600", ["bore.end_mm", "[600, 700]"]),
    "a capital True": (
        REED, "stretch = true", "stretch = True", "objectives", ["search.objectives", "write true"]),
    "a text that does not end": (
        REED, 'name = "Attic Reed"', 'name = "Attic Reed', 'name = "Attic', ["instrument.name", "not closed"]),
    "a comma left out": (
        REED, "[540, 660], diameter", "[540, 660] diameter", "c01 =", ["comma is missing", "diameter_mm"]),
    "quotes of a word processor": (
        REED, 'temperament = "equal"', "temperament = „equal“", "temperament", ["typographic", "plain quote"]),
    "a colon for an equals sign": (
        REED, "crook_end_mm = 0", "crook_end_mm: 0", "crook_end_mm", ["=, not a colon"]),
    # keys, names, words
    "a misspelt key that must be there": (
        REED, "wall_mm", "wal_mm", "wal_mm", ["bore.wal_mm", "did you mean 'wall_mm'"]),
    "a misspelt table": (
        REED, "[reed]", "[reet]", "[reet]", ["reet", "did you mean 'reed'"]),
    "a key in the wrong table": (
        REED, "crook_end_mm = 0", "crook_end_mm = 0\nhumidity_percent = 90", "humidity_percent = 90\nwall",
        ["bore.humidity_percent", "belongs in [air]"]),
    "a key of holes at a key": (
        REED, 'opens = ["c09"] }', 'opens = ["c09"], chimney_mm = 5 }', '"kC#" =', ["belongs in a line of [holes]"]),
    "a finger with a letter for a one": (
        REED, 'by = "L1"', 'by = "LI"', "c13 =", ["holes.c13.by", "'LI'", "mean 'L1'"]),
    "a small finger": (
        TENOR, 'V1 = { touch = "LT"', 'V1 = { touch = "lt"', "V1 =", ["keys.V1.touch", "'lt'", "mean 'LT'"]),
    "a finger in words": (
        REED, 'by = "L1"', 'by = "left index"', "c13 =", ["holes.c13.by", "did you mean 'L1'"]),
    "a finger of the chart": (
        TENOR, "A4   1  L12", "A4   1  Ll2", "A4   1", ["'Ll2'", "did you mean 'L12'"]),
    "a key of the chart": (
        TENOR, "L123 kG#\nA4", "L123 kGs\nA4", "G#4  1", ["'kGs'", "did you mean 'kG#'"]),
    "a printer file misspelt": (
        TENOR, "printers/filament-256", "printers/filament-265", "printer =",
        ["no printer file", "there are: filament-256.toml"]),
    # numbers
    "air in Fahrenheit": (
        REED, "reed_degC = 29.0", "reed_degC = 84", "reed_degC", ["air.reed_degC", "84", "28.9", "Fahr"]),
    "air in kelvin": (
        REED, "bell_degC = 24.0", "bell_degC = 297", "bell_degC", ["air.bell_degC", "297", "23.9", "297 K"]),
    "A4 in kilohertz": (
        REED, "a4_hz = 440.0", "a4_hz = 0.44", "a4_hz", ["scale.a4_hz", "0.44", "440 (0.44 kHz)"]),
    "A4 in cents": (
        REED, "a4_hz = 440.0", "a4_hz = 8", "a4_hz", ["scale.a4_hz", "442.04", "8 cents above 440"]),
    "one hole in centimetres": (
        TENOR, "position_mm = [490, 660]", "position_mm = [49, 66]", "h07 =",
        ["holes.h07.position_mm", "[49, 66]", "[490, 660]", "centimetres"]),
    "one hole from the bell": (
        TENOR, "position_mm = [185, 340]", "position_mm = [620, 775]", "h17 =",
        ["holes.h17", "[185, 340]", "from the bell"]),
    "a hole beyond the bore": (
        REED, "position_mm = [540, 660]", "position_mm = [540, 760]", "c01 =", ["holes.c01", "700", "760"]),
    "a bore in metres": (
        TENOR, "points_mm = [[0, 4.4], [52, 4.8], [932, 34.0]]",
        "points_mm = [[0, 0.0044], [0.052, 0.0048], [0.932, 0.034]]", "points_mm",
        ["bore.points_mm", "0.932", "[52, 4.8]", "metres"]),
    "a bore in inches": (
        REED, "points_mm = [[0, 15.5], [660, 15.5]]", "points_mm = [[0, 0.61], [26, 0.61]]", "points_mm",
        ["bore.points_mm", "[660.4, 15.49]", "inches"]),
    "a bore in radii": (
        REED, "points_mm = [[0, 15.5], [660, 15.5]]", "points_mm = [[0, 7.75], [660, 7.75]]", "points_mm",
        ["bore.points_mm", "[0, 15.5]", "radii"]),
    "a raised seat below the wall": (
        REED, 'diameter_mm = [4, 9], chimney_mm = 5, seat = "raised"',
        'diameter_mm = [4, 9], chimney_mm = 3, seat = "raised"', "c14 =",
        ["holes.c14.chimney_mm", "at least the wall, 4"]),
    "touches that press each other": (
        REED, 'moved_by = ["R1", "R2", "R3"], closes = ["c08"] }',
        'moved_by = ["more"], closes = ["c08"] }\nmore = { touch = "R1", moved_by = ["link8"], closes = ["c05"] }',
        "[keys]", ["link8 -> more -> link8", "circle"]),
    "a row of touches in centimetres": (
        BASS, "left = { position_mm = [420, 560]", "left = { position_mm = [42, 56]", "left =",
        ["rows.left.position_mm", "[42, 56]", "did you mean [420, 560]"]),
    "touches without their rows": (
        BASS, "\n[rows]\nleft = { position_mm = [420, 560], azimuth_deg = -70 }\n"
        "right = { position_mm = [640, 800], azimuth_deg = 60 }\n", "\n[rows]\nright = { azimuth_deg = 60 }\n",
        "lines =", ["L1, L2 and L3 lie on no hole", "left = {} in [rows]", "L1 on kL1"]),
    "a finger of a row without its key": (
        BASS, 'kL2 = { touch = "L2"', 'kL2 = { touch = "L1"', "B3   1  L123 R123 kB",
        ["L2 presses nothing", 'touch = "L2"', "line 114"]),
    # the chart
    "a chart line twice": (
        TENOR, "A4   1  L12\n", "A4   1  L12\nA4   1  L12\n", "A4   1  L12\nA#4", ["chart.lines", "A4 stands twice"]),
    "a note an octave too high": (
        TENOR, "G4   1  L123\n", "G5   1  L123\n", "G5   1", ["G5", "did you mean G4"]),
    "a German name": (
        PIPE, "B4   1", "H4   1", "H4   1", ["'H4'", "German", "B4", 'note_names = "german"']),
    "a German flat": (
        PIPE, "D#4  1", "Es4  1", "Es4  1", ["'Es4'", "German", "Eb4"]),
    "a German sharp": (
        PIPE, "F#4  1", "Fis4 1", "Fis4 1", ["'Fis4'", "German", "F#4"]),
    "a small letter": (
        PIPE, "G4   1", "g4   1", "g4   1", ["'g4'", "did you mean G4"]),
}  # fmt: skip

ASKED = {
    "a key that no line uses": (
        TENOR, "kSide = {", 'kSpare = { touch = "RT", opens = ["h11"] }\nkSide = {', "kSpare =",
        ["keys.kSpare", "no line of the chart moves it", "RT has no other key"]),
    "a hand in centimetres": (
        PIPE, "left = { index_middle_mm = [24, 30]", "left = { index_middle_mm = [2.4, 3.0]", "left =",
        ["hand.left.index_middle_mm", "3 mm", "[24, 30]"]),
    "one diameter in centimetres": (
        TENOR, "position_mm = [490, 660], diameter_mm = [6, 14]",
        "position_mm = [490, 660], diameter_mm = [0.6, 1.4]", "h07 =",
        ["holes.h07.diameter_mm", "[0.6, 1.4]", "[6, 14]", "centimetres"]),
    "one radius for a diameter": (
        TENOR, "position_mm = [490, 660], diameter_mm = [6, 14]", "position_mm = [490, 660], diameter_mm = [3, 7]",
        "h07 =", ["holes.h07.diameter_mm", "[3, 7]", "[6, 14]", "radius"]),
    "an angle in radians": (
        TENOR, "azimuth_deg = 90 }\nh16", "azimuth_deg = 1.57 }\nh16", "h15 =",
        ["holes.h15.azimuth_deg", "1.57", "90"]),
    "humidity as a share": (
        REED, "humidity_percent = 90.0", "humidity_percent = 0.9", "humidity", ["0.9 %", "90"]),
    "carbon dioxide as a share": (
        REED, "co2_percent = 2.5", "co2_percent = 0.025", "co2", ["0.025 %", "2.5"]),
    "a half hole as a share": (
        PIPE, "half_open_percent = 8", "half_open_percent = 0.08", "half_open", ["0.08 %", "8"]),
    "transposition up for down on a cone": (
        TENOR, "transposition_semitones = -7", "transposition_semitones = 7", "transposition",
        ["7 makes B3", "mean -7"]),
    "transposition up for down on a cylinder": (
        REED, "transposition_semitones = -5", "transposition_semitones = 5", "transposition",
        ["5 makes E3", "mean -5"]),
    "transposition by an octave too much": (
        PIPE, "transposition_semitones = 3", "transposition_semitones = 15", "transposition",
        ["15 makes D4", "mean 3"]),
    "a note in the wrong register": (
        PIPE, "E5   2  oxxxxx h", "E5   1  oxxxxx h", "E5   1", ["E5", "register 1", "register 2"]),
    "a vent among the tone holes": (
        REED, 'c16 = { by = "key", rest = "closed",', 'c16 = { by = "key", role = "vent", rest = "closed",', "c16 =",
        ["holes.c16", "vents come last"]),
    "a bare chimney below the wall": (
        PIPE, "diameter_mm = [1.5, 5], chimney_mm = 3.5", "diameter_mm = [1.5, 5], chimney_mm = 2", "pT =",
        ["holes.pT.chimney_mm", "3.5", "sunk"]),
}  # fmt: skip
