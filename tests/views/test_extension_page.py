"""Page and picture of an extension, read back: whole, nothing fetched, to scale, what stays told from what is new."""

import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from made_records import hole, layout, note
from page_reader import EVIL, Reader

from optimizer.analysis.extension_ways import changes, new_notes
from optimizer.records.extension import ExtensionRecord, Redrilled, WayEntry
from optimizer.records.fits import summary_of
from optimizer.records.layout import BoreTable
from optimizer.records.pieces import PieceRecord
from optimizer.views.drawings.bodies import bodies, bodies_drawing, hole_states
from optimizer.views.drawings.notes_of_ways import chart_lines, notes_drawing, series
from optimizer.views.extension_page import extension_page, extension_picture

KEPT = [hole("g3", 80.0), hole(EVIL, 120.0, 5.0)]


def body(name, length, holes, pieces, new_note=(), a4_cents=1.0):
    """A layout of so many mm with pieces between places."""
    spans = list(pairwise(pieces))
    made = [
        PieceRecord(
            from_mm=start, to_mm=end, joint_mm=0.0, length_mm=end - start,
            holes=[each.id for each in holes if start <= each.position_mm < end],
        )
        for start, end in spans
    ]  # fmt: skip
    notes = [*new_note, note("A4", a4_cents), note("B4", -2.0), note("B4", 0.5, 2)]
    bore = BoreTable(points_mm=[(0.0, 20.0), (length, 20.0)], wall_mm=5.0, crook_end_mm=0.0)
    return layout(name, instrument=EVIL, holes=holes, pieces=made, notes=notes, bore=bore)


PRESENT = body("now", 300.0, [hole("g1", 220.0), *KEPT], (0.0, 150.0, 300.0))
NEW = (note("G4", 3.0),)
WAYS = {
    "free": body("free", 400.0, [hole("g0", 310.0), hole("g1", 230.0), *(hole(h.id, h.position_mm + 1) for h in KEPT)],
                 (0.0, 200.0, 400.0), NEW),
    "kept": body("kept", 390.0, [hole("g0", 300.0), hole("g1", 231.0), *KEPT], (0.0, 150.0, 390.0), NEW, -1.8),
    "redrilled": body("redrilled", 380.0, [hole("g0", 300.0), hole("g1", 231.0), hole("g3", 80.0, 7.5), KEPT[1]],
                      (0.0, 150.0, 380.0), NEW),
}  # fmt: skip


def entry(way, printed, cost, redrill=()):
    record = WAYS[way]
    return WayEntry(
        way=way, sentence=EVIL, fit=summary_of(record, f"{way}.json"), common_rms_cents=1.5 + cost,
        common_worst_cents=2.5, cost_cents=cost, notes=changes(PRESENT, record), pieces=2, print_pieces=printed,
        redrill=list(redrill), passed_over=[], touches_moved=[], reed_volume_cm3=0.3, solves=4,
    )  # fmt: skip


RECORD = ExtensionRecord(
    present=EVIL, present_layout="now", extended="The lower pipe", project_file="lower.toml", kept_pieces=[1],
    new_notes=["G4"], before_rms_cents=1.5, before_worst_cents=2.0, reed_volume_cm3=0.3, seconds=9.0,
    ways=[entry("free", [1, 2], -0.25), entry("kept", [2], 0.75),
          entry("redrilled", [2], 0.5, [Redrilled(hole="g3", from_mm=6.0, to_mm=7.5, worth_cents=0.33)])],
    cautions=["Mind <b>this</b>."],
)  # fmt: skip


@pytest.fixture(scope="module")
def page():
    return extension_page(RECORD, PRESENT, WAYS)


@pytest.fixture(scope="module")
def picture():
    return extension_picture(RECORD, PRESENT, WAYS)


@pytest.fixture(scope="module")
def drawing():
    return Reader(bodies_drawing(bodies(RECORD, PRESENT, WAYS)).to_html())


def test_the_page_is_whole_and_fetches_nothing(page):
    found = Reader(page)
    assert len(found.of("h1")) == 1
    assert not re.search(r"https?:|//[a-z]|@import|url\(", page)
    for tag, attributes in found.tags:
        for name in ("src", "href", "action", "data", "srcset", "poster", "xlink:href"):
            assert attributes.get(name, "#").startswith(("#", "data:,")), (tag, attributes)
    assert all(each["role"] == "img" and each["aria-label"] for each in found.of("svg"))


def test_words_of_a_project_stay_words(page, picture):
    for text in (page, picture):
        assert not Reader(text).of("script")
        assert "alert" not in re.sub(r"&lt;script&gt;alert", "", text)
    words = " ".join(Reader(page).words)
    assert EVIL in words
    assert "Mind <b>this</b>." in words


def test_the_page_says_what_each_way_costs_and_asks_for(page):
    found = Reader(page).words
    for said in ("-0.25", "+0.75", "+0.50", "2 of 2 pieces", "1 of 2 pieces", "1 hole", "print pieces 1, 2 of 2",
                 "open up g3 from 6.00 to 7.50 mm (worth 0.33 cents RMS when all might grow)"):  # fmt: skip
        assert said in found


def test_a_note_costs_what_it_is_farther_off(page):
    # A4 from +1.0 to -1.8 where pieces are kept: 0.8 farther off; G4 was not there.
    words = [word for word in Reader(page).words if word]
    rows = words[words.index("written") :]
    first = rows.index("G4")
    assert rows[first : first + 9] == ["G4", "1", "-", "+3.0", "-", "+3.0", "-", "+3.0", "-"]
    assert rows[first + 9 : first + 18] == ["A4", "1", "+1.0", "+1.0", "+0.0", "-1.8", "+0.8", "+1.0", "+0.0"]


def test_the_picture_is_a_file_of_its_own(picture):
    root = ElementTree.fromstring(picture)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert "prefers-color-scheme: dark" in picture
    assert not re.search(r"https?:", picture.replace('xmlns="http://www.w3.org/2000/svg"', ""))
    inner = root.findall("{http://www.w3.org/2000/svg}svg")
    places = [(float(each.get("y")), float(each.get("height"))) for each in inner]
    assert places[0][0] + places[0][1] < places[1][0]
    assert places[1][0] + places[1][1] < float(root.get("height"))


def test_bodies_lie_to_one_scale_from_the_reed(drawing):
    # 300, 400, 390 and 380 mm, the drawing 3 % wider than the longest, the reed ends 6.18 from its edge.
    assert drawing.of("svg")[0]["viewbox"].startswith("0 0 412 ")
    outlines = [each["points"].split() for each in drawing.of("polygon") if each["class"] == "outside"]
    ends = [[float(corner.split(",")[0]) for corner in outline] for outline in outlines]
    assert [max(xs) - min(xs) for xs in ends] == pytest.approx([300.0, 400.0, 390.0, 380.0])
    assert [min(xs) for xs in ends] == pytest.approx([6.18] * 4)


def test_what_became_of_each_hole():
    assert hole_states(PRESENT, WAYS["free"], ()) == {
        "g0": "new", "g1": "made anew", "g3": "made anew", EVIL: "made anew",
    }  # fmt: skip
    assert hole_states(PRESENT, WAYS["kept"], ()) == {
        "g0": "new",
        "g1": "made anew",
        "g3": "as it was",
        EVIL: "as it was",
    }
    assert hole_states(PRESENT, WAYS["redrilled"], ["g3"])["g3"] == "opened up"


def test_marks_differ_in_shape(drawing):
    # Holes: 3 now, 4 by each way, all 6 mm wide. Dots of 0.4 of a hole: three where all is new, one each below; full
    # disks: one each. The ring around the hole drilled to 7.5, whose top stays at 6: 0.008 x 412 more than that.
    ovals = drawing.of("ellipse")
    assert sum(each["class"] == "hole" for each in ovals) == 15
    marks = sorted(2 * float(each["rx"]) for each in ovals if each["class"] == "closed")
    assert marks == pytest.approx([2.4] * 5 + [6.0] * 3)
    assert [2 * float(each["rx"]) for each in ovals if each["class"] == "ring"] == pytest.approx([10.796])
    assert drawing.words.count("g0 new") == 3
    assert drawing.words.count("g3 wider") == 1
    assert sum("; as it was" in words for words in drawing.words) == 3
    assert sum("opened up, from 6.00 to 7.50 mm" in words for words in drawing.words) == 1


def test_pieces_that_stay_and_pieces_to_print(drawing):
    assert drawing.words.count("piece 1") == 1
    assert drawing.words.count("piece 1: print") == 1
    assert drawing.words.count("piece 1: stays") == 2
    assert drawing.words.count("piece 2: print") == 3
    bars = [float(each["width"]) for each in drawing.of("rect") if each["class"] == "print"]
    assert bars == pytest.approx([200 - 2.472, 200 - 2.472, 240 - 2.472, 230 - 2.472])


def test_marks_stand_as_high_as_their_cents():
    # Lines to zero, each as long as its cents. As it is: +1, -2, +0.5; half of what lies between head and foot is
    # (270 - 64 - 34) / 2 = 86 high, and 1.08 times the longest fits into it.
    found = series(RECORD, PRESENT, WAYS)[:1]
    lines = chart_lines(WAYS["free"])
    assert lines == [("G4", 1, False), ("A4", 1, False), ("B4", 1, False), ("B4", 2, False)]
    drawn = Reader(notes_drawing(found, lines).to_html())
    stems = [float(each["y1"]) - float(each["y2"]) for each in drawn.of("line") if each["class"] == "lead"]
    unit = 86 / (1.08 * 2)
    assert stems == pytest.approx([unit, -2 * unit, 0.5 * unit], rel=1e-3)
    assert drawn.words.count("new") == 1


def test_a_note_is_new_by_name_and_register():
    # B4 was there in the first and second register; in the third it is new, and so are both ways to press C5.
    more = [note("B4", 1.0, 3), note("C5", 1.0, 2), note("C5", 1.0, 3), note("C5", 1.5, 2, alternate=True)]
    extended = WAYS["free"].model_copy(update={"notes": [*WAYS["free"].notes, *more]})
    assert new_notes(PRESENT, extended) == ["G4", "B4", "C5"]
    # As drawn: G4 A4 B4, B4 C5, B4 C5, the other C5: one stretch of the first, one of the last four.
    drawn = Reader(drawn_notes(extended))
    assert drawn.words.count("new") == 2
    bold = [each for each in drawn.of("text") if each["class"] == "mid bold"]
    assert len(bold) == 5


def test_other_ways_are_headed_once():
    # Alternates in two registers, after the main lines.
    others = [note("A4", 1.0, alternate=True), note("B4", 1.0, 2, alternate=True)]
    extended = WAYS["free"].model_copy(update={"notes": [*WAYS["free"].notes, *others]})
    assert Reader(drawn_notes(extended)).words.count("other way") == 1


def drawn_notes(extended):
    found = series(RECORD, PRESENT, WAYS | {"free": extended})
    return notes_drawing(found, chart_lines(extended)).to_html()
