"""Mistakes that run through a whole project file; those of one place: `mistaken_projects`."""

import re

from mistaken_projects import BASS, PIPE, REED, TENOR


def _holes(change):
    """A change of the numbers of every hole's position."""
    spot = re.compile(r"(by = .*position_mm = )\[(\d+), (\d+)\]")
    return lambda text: spot.sub(lambda found: found[1] + change(float(found[2]), float(found[3])), text)


def _reversed(text):
    """The tone holes listed from the reed."""
    lines = text.split("\n")
    rows = [number for number, line in enumerate(lines) if re.match(r"[chp]\d+ = ", line)]
    for number, line in zip(rows, [lines[number] for number in reversed(rows)], strict=True):
        lines[number] = line
    return "\n".join(lines)


def _radii(text):
    """Half of every diameter of a tone hole."""
    spot = re.compile(r"(?m)^([hc]\d+ = .*diameter_mm = )\[([\d.]+), ([\d.]+)\]")
    return spot.sub(lambda found: f"{found[1]}[{float(found[2]) / 2:g}, {float(found[3]) / 2:g}]", text)


OTHER = {"L": "R", "R": "L"}


def _hands(before):
    """Left and right swapped wherever a finger stands behind this."""
    spot = re.compile(rf"({before})([LR])(?=[T1-4])")
    return lambda text: spot.sub(lambda found: found[1] + OTHER[found[2]], text)


def _lines_swapped(text):
    """Left and right swapped in the lines of the chart."""
    head, chart, lines = text.partition('lines = """')
    lines, rest = lines.split('"""', 1)
    return head + chart + re.sub(r" ([LR])(?=[T1-4]+\b)", lambda found: f" {OTHER[found[1]]}", lines) + '"""' + rest


def _rows_swapped(text):
    """The places of the two rows swapped."""
    left, right = (re.search(rf"(?m)^{side} = (.*)$", text)[1] for side in ("left", "right"))
    return text.replace(f"left = {left}", f"left = {right}").replace(f"\nright = {right}", f"\nright = {left}")


WHOLE = {
    "hands swapped at holes": (TENOR, _hands('by = "'), ["holes.h10.by", "nearer the reed", "L and R swapped"]),
    "hands swapped at holes under a pattern": (PIPE, _hands('by = "'), ["holes.p4.by", "L and R swapped"]),
    "hands swapped in the chart": (BASS, _lines_swapped, ["chart.lines", "hands swapped in the lines"]),
    "hands swapped in a chart that keys contradict": (
        TENOR, _lines_swapped, ["chart.lines", "hands swapped in the lines"]),
    "hands swapped at keys": (BASS, _hands('touch = "'), ["chart.lines", "what the keys are touched by"]),
    "rows swapped": (BASS, _rows_swapped, ["rows.right.position_mm", "left and right swapped"]),
    "a hole that no line opens": (
        PIPE, lambda text: text.replace(" h\n", " x\n"), ["holes.pT", "no line of the chart opens", "under LT"]),
    "all diameters as radii, on a cone": (TENOR, _radii, ["holes.h01.diameter_mm", "[12, 20]", "radii"]),
    "all diameters as radii, on a cylinder": (REED, _radii, ["holes.c01.diameter_mm", "radii"]),
    "all positions in centimetres": (
        TENOR, _holes(lambda low, high: f"[{low / 10:g}, {high / 10:g}]"), ["holes", "[740, 900]", "centimetres"]),
    "all positions in inches": (
        REED, _holes(lambda low, high: f"[{low / 25.4:.2f}, {high / 25.4:.2f}]"), ["holes", "[540.0", "inches"]),
    "all positions in metres": (
        REED, _holes(lambda low, high: f"[{low / 1000:g}, {high / 1000:g}]"),
        ["holes", "[540, 660]", "metres"]),
    "all positions from the bell": (
        TENOR, _holes(lambda low, high: f"[{960 - high:g}, {960 - low:g}]"),
        ["counted from the bell", "h01 at [740, 900]"]),
    "all positions of a cylinder from the bell": (
        REED, _holes(lambda low, high: f"[{700 - high:g}, {700 - low:g}]"),
        ["counted from the bell", "c01 at [540, 660]"]),
    "holes listed from the reed": (TENOR, _reversed, ["listed from the reed", "h01 first"]),
    "holes of a keyless pipe listed from the reed": (PIPE, _reversed, ["listed from the reed", "p1 first"]),
    "everything in centimetres": (
        REED,
        lambda text: _holes(lambda low, high: f"[{low / 10:g}, {high / 10:g}]")(text)
        .replace("[[0, 15.5], [660, 15.5]]", "[[0, 15.5], [66, 15.5]]").replace("[600, 700]", "[60, 70]"),
        ["bore.points_mm", "60 to 70 mm", "written in cm"]),
    "a whole chart an octave too high": (
        PIPE, lambda text: re.sub(r"(?m)^([A-G]#?)([45])(?=  )", lambda f: f"{f[1]}{int(f[2]) + 1}", text)
        .replace("F4 = 0.6", "F5 = 0.6").replace('"D#4" = 0.3', '"D#5" = 0.3').replace('"G#4" = 0.3, "A#4" = 0.3, C5',
                                                                                  '"G#5" = 0.3, "A#5" = 0.3, C6'),
        ["3 makes D5", "F5", "mean -9", "octave lower"]),
}  # fmt: skip
"""Mistakes all over a file: the demo, the change, and the words that must be told."""
