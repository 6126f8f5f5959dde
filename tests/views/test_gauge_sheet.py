"""The printed gauge: true to scale, every target as far from its start as its number says, words to go with it."""

import math
import re
import xml.etree.ElementTree as ET

import pytest

from optimizer.commands.cli import main
from optimizer.project.hand import Hand
from optimizer.views.drawings.gauge import gauge_svg

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def sheet():
    return ET.fromstring(gauge_svg())


def by_id(sheet, name):
    return next(part for part in sheet.iter(f"{SVG}line") if part.get("id") == name)


def number(part, key):
    return float(part.get(key))


def millimetres(sheet):
    """Printed millimetres of one unit of the drawing, across and down."""
    _, _, width, height = map(float, sheet.get("viewBox").split())
    return tuple(
        float(sheet.get(key).removesuffix("mm")) / size for key, size in (("width", width), ("height", height))
    )


def test_the_sheet_is_a4(sheet):
    # ISO 216: A4 is 210 mm x 297 mm.
    assert (sheet.get("width"), sheet.get("height")) == ("210mm", "297mm")
    assert millimetres(sheet) == (1.0, 1.0)


def test_the_rulers_are_as_long_as_they_say(sheet):
    across, down = by_id(sheet, "ruler-100mm"), by_id(sheet, "ruler-50mm")
    scale = millimetres(sheet)
    assert (number(across, "x2") - number(across, "x1")) * scale[0] == 100.0
    assert number(across, "y1") == number(across, "y2")
    assert abs(number(down, "y2") - number(down, "y1")) * scale[1] == 50.0
    assert number(down, "x1") == number(down, "x2")


def test_the_ruler_has_a_tick_each_millimetre(sheet):
    across = by_id(sheet, "ruler-100mm")
    ticks = sorted(
        number(line, "x1") - number(across, "x1")
        for line in sheet.iter(f"{SVG}line")
        if number(line, "x1") == number(line, "x2") and number(line, "y1") == number(across, "y1")
        and line.get("id") is None
    )  # fmt: skip
    assert ticks == pytest.approx(list(range(101)))


def starts(sheet):
    return [(number(c, "cx"), number(c, "cy")) for c in sheet.iter(f"{SVG}circle") if number(c, "r") == 4.5]


def targets(sheet):
    return [
        (number(c, "cx"), number(c, "cy"), number(c, "r"), number(c, "data-mm"))
        for c in sheet.iter(f"{SVG}circle")
        if c.get("data-mm")
    ]


def test_every_target_is_as_far_as_its_number_says(sheet):
    # By default the ring finger lands in line and the little finger 15 mm toward the palm; figures are kept to 0.001.
    rows = {"A": (0.0, 32), "B": (15.0, 34), "C": (0.0, 36), "D": (15.0, 29), "E": (15.0, 29)}
    found = targets(sheet)
    assert len(found) == sum(count for _, count in rows.values())
    counts = {}
    for x, y, _, mm in found:
        fits = [
            row
            for row, ((sx, sy), (palm, _)) in zip(rows, zip(starts(sheet), rows.values(), strict=True), strict=True)
            if abs(math.hypot(x - sx, y - sy - palm) - mm) < 0.002 and abs(y - sy - palm) < 7
        ]
        assert len(fits) == 1
        counts[fits[0]] = counts.get(fits[0], 0) + 1
    assert counts == {row: count for row, (_, count) in rows.items()}


def test_targets_and_starts_do_not_touch(sheet):
    circles = [(x, y, r) for x, y, r, _ in targets(sheet)] + [(x, y, 4.5) for x, y in starts(sheet)]
    for i, (x, y, r) in enumerate(circles):
        assert x - r > 0
        assert x + r < 210
        for a, b, s in circles[i + 1 :]:
            assert math.hypot(x - a, y - b) > r + s


def test_both_hands_have_the_same_targets(sheet):
    # Rows A, B and C: what lies left of the start lies right of it, too; 15 mm toward the palm in row B.
    for (sx, sy), palm in zip(starts(sheet)[:3], (0, 15, 0), strict=True):
        row = sorted((mm, y, x - sx) for x, y, _, mm in targets(sheet) if abs(y - sy - palm) < 7)
        left, right = ([item for item in row if (item[2] > 0) == wanted] for wanted in (False, True))
        assert len(left) > 15
        for mine, other in zip(left, right, strict=True):
            assert (mine[0], mine[1], -mine[2]) == pytest.approx(other, abs=0.002)


def test_targets_cover_every_hand_from_child_to_large_adult(sheet):
    # From comfortable of a child (hand length 158) to the maximum of a large adult (210), by span 0.686 of hand length:
    # index-middle 0.66 x 0.31 x 108.4 = 22.2 to 0.31 x 144.1 = 44.7; index-little 65.8 to 132.5; index-ring 40.8 to
    # 82.1.
    numbers = [mm for *_, mm in targets(sheet)]
    assert min(numbers) < 22.2
    near = [mm for mm in numbers if mm <= 46]
    assert max(near) > 44.7
    assert max(numbers) > 132.5
    assert {32, 83} <= set(numbers)


def test_the_little_fingers_targets_follow_the_hand():
    # Whatever lands 20 mm toward the palm by itself is offered there: row B starts 20 - 3 below its start.
    hand = Hand.model_validate({"ring_palm_offset_mm": 3, "little_palm_offset_mm": 20})
    sheet = ET.fromstring(gauge_svg(hand))
    _, start_y = starts(sheet)[1]
    fourteen = [y for _, y, _, mm in targets(sheet) if mm == 14]
    assert fourteen == pytest.approx([start_y + 17] * 2)


def test_the_sheet_tells_how_to_measure_and_when_to_stop(sheet):
    words = " ".join(part.text for part in sheet.iter(f"{SVG}text"))
    for said in ("100 %", "Comfortable", "Working limit", "30 seconds", "Left hand", "right hand", "Stop at any strain",
                 "teacher or hand therapist", "not medical advice", "index_middle_mm", "gauged_on",
                 "thumb_reach_mm", "side_reach_mm", "hand_breadth_mm"):  # fmt: skip
        assert said in words


def test_nothing_is_written_beyond_the_edge(sheet):
    # Letters of a common sans serif are 0.6 of their size wide on average at most (common practice, no source).
    for part in sheet.iter(f"{SVG}text"):
        width = 0.6 * number(part, "font-size") * len(part.text)
        share = {"middle": 0.5, "end": 1.0}.get(part.get("text-anchor"), 0.0)
        assert number(part, "x") - share * width > 5
        assert number(part, "x") + (1 - share) * width < 205
        assert 5 < number(part, "y") < 294


def test_gauge_writes_the_sheet(tmp_path, capsys):
    path = tmp_path / "gauge.svg"
    assert main(["gauge", "--out", str(path)]) == 0
    assert path.read_text() == gauge_svg()
    assert re.search(r"print on A4 at 100 %", capsys.readouterr().out)


def test_gauge_says_what_to_mend(tmp_path, capsys):
    assert main(["gauge", "--out", str(tmp_path)]) == 2
    assert "cannot write the sheet" in capsys.readouterr().err
    assert main(["gauge", "--out", str(tmp_path / "a.svg"), "--hand", str(tmp_path / "none.toml")]) == 2
    assert "there is no hand file" in capsys.readouterr().err
