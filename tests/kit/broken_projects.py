"""Project files with something wrong in each, and what a maker should read about it; charts: `broken_charts`.

A sentence says where, what must hold and what came; where there is a likely mend, it names it. The sentences here were
written from that rule, before looking at what is printed.
"""

from shelf import PIPE, changed

HOLES = PIPE[PIPE.index("[holes]") : PIPE.index("[chart]")]
KEY = '\n[keys]\nk1 = { touch = "R4", closes = ["g1"] }\n'
ALL_KEYS_HERE = (
    "instrument, air, reed, bore, bends, sections, printer, stock, holes, keys, rows, fittings, chart, scale, hand, "
    "keywork, venting, present, uncertainty, learned, search"
)
FINGERS = "LT, L1, L2, L3, L4, RT, R1, R2, R3, R4"


def with_points(points):
    return changed("points_mm = [[0, 4.0], [330, 21.0]]", f"points_mm = {points}")


def with_first(old, new):
    """The pipe with its first hole changed."""
    line = next(line for line in PIPE.splitlines() if line.startswith("g1"))
    return changed(line, changed(old, new, line))


BROKEN = {
    # keys and tables
    "a misspelt key": (
        changed("wall_mm = 4.0", "wall_mm = 4.0\ncrook_end = 20"),
        ["bore.crook_end: there is no such key; did you mean 'crook_end_mm'?"],
    ),
    "a misspelt key of a hole": (
        with_first("chimney_mm = 4", "chimney_mm = 4, diamter_mm = 5"),
        ["holes.g1.diamter_mm: there is no such key; did you mean 'diameter_mm'?"],
    ),
    "a misspelt key two tables deep": (
        f"{PIPE}\n[hand.left]\nindex_midle_mm = [20, 30]\n",
        ["hand.left.index_midle_mm: there is no such key; did you mean 'index_middle_mm'?"],
    ),
    "a key like no other": (
        changed("wall_mm = 4.0", 'wall_mm = 4.0\ncolour = "red"'),
        [
            "bore.colour: there is no such key; known here: points_mm, wall_mm, staple_end_mm, crook_end_mm, "
            "crook_wall_mm, crook_density_g_per_cm3, water_line_deg, water_line_width_deg, end_mm, diameter_scale, "
            "reed_end_diameter_mm, crook_end_diameter_mm, crook_half_angle_deg, cone_half_angle_deg, cones_meet_mm, "
            "lower_cone_half_angle_deg, bell_length_mm, bell_flare_mm, reamer, half_angle_limits_deg, "
            "angle_step_max_deg"
        ],
    ),
    "a misspelt table": (f"{PIPE}\n[hands]\nname = 'mine'\n", ["hands: there is no such key; did you mean 'hand'?"]),
    "a table like no other": (
        f"{PIPE}\n[zzz]\nname = 'mine'\n", [f"zzz: there is no such key; known here: {ALL_KEYS_HERE}"]
    ),
    "a missing table": (
        changed("[air]\nreed_degC = 25.0\nbell_degC = 21.0\n", ""),
        ["air: this table is missing; every project needs it"],
    ),
    "a missing key": (changed("wall_mm = 4.0\n", ""), ["bore.wall_mm: this key is missing"]),
    "a missing key of a hole": (with_first('by = "R1", ', ""), ["holes.g1.by: this key is missing"]),
    "no holes": (changed(HOLES, "[holes]\n\n"), ["holes: must hold at least one hole"]),
    "an id inside a hole": (
        with_first('by = "R1"', 'id = "g1", by = "R1"'),
        ["holes.g1.id: there is no such key; 'g1' in front of the line is the id"],
    ),
    # types
    "a word for a number": (
        changed("wall_mm = 4.0", 'wall_mm = "thick"'), ["bore.wall_mm: must be a number, but got 'thick'"]
    ),
    "a number in quotes": (
        changed("wall_mm = 4.0", 'wall_mm = "4.0"'),
        ["bore.wall_mm: must be a number, but got '4.0'; did you mean 4, without quotes?"]
    ),
    "true for a number": (changed("wall_mm = 4.0", "wall_mm = true"), ["bore.wall_mm: must be a number, but got true"]),
    "a date for a number": (
        changed("wall_mm = 4.0", "wall_mm = 1979-05-27"), ["bore.wall_mm: must be a number, but got 1979-05-27"]
    ),
    "half a semitone": (
        changed("transposition_semitones = 0", "transposition_semitones = 1.5"),
        ["instrument.transposition_semitones: must be a whole number, but got 1.5"],
    ),
    "a number for a table": (
        changed("[air]\nreed_degC = 25.0\nbell_degC = 21.0\n", "", "air = 3\n" + PIPE),
        ["air: must be a table, but got 3"],
    ),
    "a number for a hole": (
        changed(HOLES, "[holes]\ng1 = 3\n\n"), ["holes.g1: must be a table such as { by = ... }, but got 3"]
    ),
    "a list of holes": (
        changed(HOLES, "[[holes]]\nby = 'R1'\n\n"),
        ["holes: must be a table with one line for each hole, such as `g1 = { by = ... }`, but got a list"],
    ),
    "a list for the chart": (
        PIPE[: PIPE.index("lines = ")] + 'lines = ["A4 1 L1"]\n', ["chart.lines: must be a text, but got ['A4 1 L1']"]
    ),
    # ranges and points
    "a range the wrong way round": (
        with_first("[5, 11]", "[11, 5]"),
        ["holes.g1.diameter_mm: low <= high must hold, but got [11, 5]; swap the two numbers"],
    ),
    "a reach the wrong way round": (
        f"{PIPE}\n[hand.left]\nindex_middle_mm = [31, 25]\n",
        ["hand.left.index_middle_mm: low <= high must hold, but got [31, 25]; swap the two numbers"],
    ),
    "a range the wrong way round beside another mistake": (
        changed("[170, 250], diameter_mm = [5, 10]", '[250, 170.5], diameter_mm = "wide"'),
        [
            "holes.g2.position_mm: low <= high must hold, but got [250, 170.5]; swap the two numbers",
            "holes.g2.diameter_mm: must be one number or a range [low, high], but got 'wide'",
        ],
    ),
    "a range of three": (
        with_first("[220, 300]", "[220, 250, 300]"),
        ["holes.g1.position_mm: must be one number or a range [low, high], but got [220, 250, 300]"],
    ),
    "a range of one": (
        with_first("[220, 300]", "[220]"),
        ["holes.g1.position_mm: must be one number or a range [low, high], but got [220]"],
    ),
    "a range in words": (
        with_first("[220, 300]", '"220-300"'),
        ["holes.g1.position_mm: must be one number or a range [low, high], but got '220-300'; did you mean [220, 300], "
         "without quotes?"],
    ),
    "a negative diameter": (
        with_first("[5, 11]", "-5"), ["holes.g1.diameter_mm: must be positive, but got -5"],
    ),
    "no diameter": (with_first("[5, 11]", "0"), ["holes.g1.diameter_mm: must be positive, but got 0"]),
    "a position before the reed": (
        with_first("[220, 300]", "-3"), ["holes.g1.position_mm: must be at least 0, but got -3"]
    ),
    "a number that is none": (
        changed("wall_mm = 4.0", "wall_mm = nan"), ["bore.wall_mm: must be a finite number, but got nan"]
    ),
    "an endless range": (
        with_first("[220, 300]", "[220, inf]"), ["holes.g1.position_mm: must be a finite number, but got inf"]
    ),
    "a bore that goes back": (
        with_points("[[0, 4], [200, 12], [150, 14], [330, 21]]"),
        ["bore.points_mm: positions must not go back, but point 3 is at 150 after 200"],
    ),
    "a bore that starts late": (
        with_points("[[5, 4], [330, 21]]"),
        ["bore.points_mm: the first point must lie at 0, the reed end, but got 5"],
    ),
    "a bore that ends in a step": (
        with_points("[[0, 4], [330, 21], [330, 25]]"),
        ["bore.points_mm: the last two points must lie apart; the bell end goes on along their line"],
    ),
    "a bore of one point": (with_points("[[0, 4]]"), ["bore.points_mm: must hold at least 2 points, but got 1"]),
    "a point without diameter": (
        with_points("[[0, 4], [330]]"), ["bore.points_mm, point 2: must be [position, diameter], but got [330]"]
    ),
    "a point with a negative diameter": (
        with_points("[[0, -4], [330, 21]]"), ["bore.points_mm, point 1: the diameter must be more than 0, but got -4"]
    ),
    "a crook longer than the bore": (
        changed("wall_mm = 4.0", "wall_mm = 4.0\ncrook_end_mm = 400"),
        ["bore.crook_end_mm: must lie before the bore's end at 300, but got 400"],
    ),
    "a staple longer than the crook": (
        changed("wall_mm = 4.0", "wall_mm = 4.0\nstaple_end_mm = 61\ncrook_end_mm = 60"),
        ["bore.staple_end_mm: the staple must end within the crook to 60, but got 61"],
    ),
    "a staple longer than the bore": (
        changed("wall_mm = 4.0", "wall_mm = 4.0\nstaple_end_mm = 300"),
        ["bore.staple_end_mm: the staple must end before 300, but got 300"],
    ),
    "a bell cut off before the last piece": (
        with_points("[[0, 4.0], [310, 20.0], [330, 21.0]]"),
        ["bore.end_mm: must lie beyond the last but one point at 310, but got 300"],
    ),
    "air hotter than breath": (
        changed("reed_degC = 25.0", "reed_degC = 250"), ["air.reed_degC: must be at most 40, but got 250"]
    ),
    # holes
    "two holes of one name": (
        changed("g2 =", "g1 ="),
        ["holes.g1: this name stands twice, first on line 19; give the second another, or take it out"],
    ),
    "a finger on two holes": (
        changed('by = "L3"', 'by = "R1"').replace("A4   1  L123 R1\nB4   1  L123\n", ""),
        ["holes: the finger R1 is on more than one hole; make all but one 'key'"],
    ),
    "an unknown finger": (
        with_first('"R1"', '"R5"'), [f"holes.g1.by: must be 'key' or a finger ({FINGERS}), but got 'R5'"]
    ),
    "an unknown cover": (
        with_first('by = "R1"', 'by = "R1", cover = "lid"'),
        ["holes.g1.cover: must be 'finger', 'plate' or 'either', but got 'lid'"],
    ),
    "a misspelt rest state": (
        with_first('by = "R1"', 'by = "R1", rest = "opened"'),
        ["holes.g1.rest: must be 'open' or 'closed', but got 'opened'; did you mean 'open'?"],
    ),
    "a name with a gap": (
        changed("g1 =", '"hole one" ='),
        ["holes.hole one: a name must be a letter, then letters, digits or _, at most 16 in all"],
    ),
    "a hole worked by no key": (
        changed("A4   1  L123 R1\n", "", with_first('by = "R1"', 'by = "key"')),
        ["holes.g1.by: is 'key', but no key opens or closes it"],
    ),
    "a hole beyond the bell": (
        with_first("[220, 300]", "[220, 345]"),
        ["holes.g1.position_mm: must lie before the bore's end at 340, but reaches to 345"],
    ),
    "a pad that bulges through a short chimney": (
        with_first("chimney_mm = 4", 'chimney_mm = 3, cover = "plate"') + "\n[keywork]\npad_recess_mm = -2.0\n",
        ["keywork.pad_recess_mm: -2 bulges through half of the chimney of g1, which may be 3 mm; holes that short need "
         "a flatter pad"],
    ),
    "holes in the wrong order": (
        changed("position_mm = [150, 220]", "position_mm = [255, 270]"),
        [
            "holes.g3.position_mm: holes are listed from the bell toward the reed, so it must be able to lie "
            "nearer the reed than g2 (at most 250), but starts at 255"
        ],
    ),
    "a made hole that may move": (
        with_first("chimney_mm = 4", "chimney_mm = 4, locked = true").replace("[5, 11]", "5"),
        ["holes.g1.position_mm: a locked hole has one number, but got the range [220, 300]"],
    ),
    "a plate on a keyed hole": (
        with_first('by = "R1"', 'by = "key", cover = "plate"') + KEY,
        ["holes.g1.cover: a plate sits under a finger; a hole worked by a key needs no cover"],
    ),
    # keys
    "a key to a hole that is not there": (
        PIPE + KEY.replace('"g1"', '"g11"'), ["keys.k1.closes: there is no hole 'g11'; did you mean 'g1'?"]
    ),
    "a key that does nothing": (
        PIPE + KEY.replace(', closes = ["g1"]', ""), ["keys.k1: a key must open or close a hole"]
    ),
    "a key at odds with itself": (
        PIPE + KEY.replace("closes", 'opens = ["g1"], closes'), ["keys.k1: opens and closes g1; one of them has to go"]
    ),
    "a link moved by nothing known": (
        PIPE + KEY.replace(" }", ', moved_by = ["palm"] }'), ["keys.k1.moved_by: there is no touch 'palm'"]
    ),
    "a link moved by the word key": (
        changed("A4   1  L123 R1\n", "", with_first('"R1"', '"key"')) + KEY.replace(" }", ', moved_by = ["key"] }'),
        ["keys.k1.moved_by: there is no touch 'key'"],
    ),
    "a key named like a finger": (
        PIPE + KEY.replace("k1", "R1"), ["keys.R1: is the name of a finger; give the key another"]
    ),
    # the rest
    "one objective": (
        f"{PIPE}\n[search.objectives]\nstretch = false\nunevenness = false\n",
        ["search.objectives: at least two objectives must be true, or there is no trade-off to show"],
    ),
    "objectives by their former names": (
        f"{PIPE}\n[search.objectives]\nreach = true\nevenness = true\n",
        ["search.objectives.reach: is called stretch now", "search.objectives.evenness: is called unevenness now"],
    ),
    "unevenness where holes are never open together": (
        changed("B4   1  L123\nC#5  1  L12\nD5   1  L1\nE5   1  none", "B4   1  L123"),
        ["search.objectives.unevenness: no main fingering leaves two tone holes open, thumb holes aside; turn it off"],
    ),
    "a seed below nought": (f"{PIPE}\n[search]\nseed = -1\n", ["search.seed: must be at least 0, but got -1"]),
    "no project at all": (
        "",
        [
            f"{table}: this table is missing; every project needs it"
            for table in ("instrument", "air", "reed", "bore", "holes", "chart")
        ],
    ),
}  # fmt: skip
"""By what is wrong: the text, and the sentences it must print."""
