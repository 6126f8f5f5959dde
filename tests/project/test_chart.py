"""The chart: key logic against complete generic charts, and what a line can say.

`reference/generic_charts.json` holds the hole states and touches of five generic fingering systems, written down hole
by hole before this code existed: a cone overblowing the octave (18 tone holes, 2 vents) with two low extensions, a
cylinder overblowing the twelfth (17 tone holes, 1 vent) and a keyless pipe of six holes and a thumb hole.
x closed, o open, h half open; bell to reed.
"""

import json

import pytest
from places import REFERENCE
from shelf import PIPE, changed, pipe

from optimizer.project.chart import ChartError, openness_matrix, openness_of_touches, pressed_touches, read_chart
from optimizer.project.loading import ProjectError, parse_project
from optimizer.project.model import ChartSection, Hole, Key

CHARTS = json.loads((REFERENCE / "generic_charts.json").read_text())
VALUE = {"x": 0.0, "o": 1.0, "h": 0.5}

# What works each hole, `by` and `rest`; o: at rest open, c: at rest closed.
CONE_HOLES = {
    "h01": "key o", "h02": "key c", "h03": "key o", "h04": "key c", "h05": "R3 o", "h06": "R2 o", "h07": "R1 o",
    "h08": "key o", "h09": "key c", "h10": "L3 o", "h11": "key c", "h12": "L2 o", "h13": "L1 o", "h14": "key o",
    "h15": "key c", "h16": "key c", "h17": "key c", "h18": "key c", "v1": "key c", "v2": "key c",
}  # fmt: skip
CONE_KEYS = [
    Key(id="kB", touch="L4", together=["kBb"], closes=["h01"]),
    Key(id="kC#", touch="L4", opens=["h02"]),
    Key(id="kC", touch="R4", closes=["h03"]),
    Key(id="kD#", touch="R4", opens=["h04"]),
    Key(id="lug8", touch="R1", moved_by=["R1", "R2", "R3"], closes=["h08"]),
    Key(id="kG#", touch="L4", opens=["h09"]),
    Key(id="kSide", touch="R1", opens=["h11"]),
    Key(id="lug14", touch="L1", moved_by=["L1", "L2"], closes=["h14"]),
    *(
        Key(id=f"kP{n}", touch="L1", together=[f"kP{m}" for m in range(n + 1, 5)], opens=[f"h{14 + n}"])
        for n in (1, 2, 3, 4)
    ),
    Key(id="V1", touch="LT", opens=["v1"]),
    Key(id="V2", touch="LT", opens=["v2"]),
]
CYLINDER_HOLES = {
    "c01": "key o", "c02": "key o", "c03": "key o", "c04": "key c", "c05": "R3 o", "c06": "R2 o", "c07": "R1 o",
    "c08": "key o", "c09": "key c", "c10": "L3 o", "c11": "key c", "c12": "L2 o", "c13": "L1 o", "c14": "LT o",
    "c15": "key o", "c16": "key c", "c17": "key c", "r1": "key c",
}  # fmt: skip
CYLINDER_KEYS = [
    Key(id="kE", touch="L4", closes=["c01", "c02", "c03"]),
    Key(id="kF", touch="R4", closes=["c02", "c03"]),
    Key(id="kF#", touch="R4", closes=["c03"]),
    Key(id="kG#", touch="R4", opens=["c04"]),
    Key(id="lug8", touch="R1", moved_by=["R1", "R2", "R3"], closes=["c08"]),
    Key(id="kC#", touch="L4", opens=["c09"]),
    Key(id="kD#", touch="L3", opens=["c11"]),
    Key(id="lug15", touch="L1", moved_by=["LT", "L1"], closes=["c15"]),
    Key(id="kt1", touch="L2", opens=["c16"]),
    Key(id="kt2", touch="L2", opens=["c17"]),
    Key(id="Rg", touch="LT", opens=["r1"]),
]
SYSTEMS = {
    "conical_B3": (CONE_HOLES, CONE_KEYS),
    "conical_Bb3": (
        {"e1": "key o", **CONE_HOLES},
        [*CONE_KEYS, Key(id="kBb", touch="L4", closes=["e1", "h01"])],
    ),
    "conical_A3": (
        {"e2": "key o", "e1": "key o", **CONE_HOLES},
        [
            *CONE_KEYS,
            Key(id="kBb", touch="L4", closes=["e1", "h01"]),
            Key(id="kA", touch="LT", closes=["e2", "e1", "h01"]),
        ],
    ),
    "cylinder_twelfth_E3": (CYLINDER_HOLES, CYLINDER_KEYS),
}
CASES = [(system, note) for system in SYSTEMS for note in CHARTS[system]["notes"]]


def made_holes(table):
    return [
        Hole(
            id=name,
            by=worker.split()[0],
            rest="open" if worker.endswith("o") else "closed",
            position_mm=1.0,
            diameter_mm=1.0,
            chimney_mm=1.0,
        )
        for name, worker in table.items()
    ]


def own_names(touches):
    """The reference calls the left thumb T."""
    return " ".join("LT" if touch == "T" else touch for touch in touches.split()) or "none"


def test_the_reference_charts_are_whole():
    # 31 notes B3-F6, one and two more with the extensions; 33 notes E3-C6; 18 lines of the keyless pipe.
    assert {name: len(chart["notes"]) for name, chart in CHARTS.items()} == {
        "conical_B3": 31, "conical_Bb3": 32, "conical_A3": 33, "cylinder_twelfth_E3": 33, "pipe_six_plus_thumb_D4": 18,
    }  # fmt: skip


@pytest.mark.parametrize("system", SYSTEMS)
def test_holes_are_those_of_the_reference(system):
    assert list(SYSTEMS[system][0]) == CHARTS[system]["holes"].split()


@pytest.mark.parametrize(("system", "note"), CASES)
def test_touches_give_the_published_hole_states(system, note):
    table, keys = SYSTEMS[system]
    states, touches = CHARTS[system]["notes"][note]
    pressed = pressed_touches(own_names(touches).split(), keys)
    assert openness_of_touches(pressed, made_holes(table), keys) == tuple(VALUE[state] for state in states)


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_whole_chart_reads_from_its_lines(system):
    table, keys = SYSTEMS[system]
    lines = [f"{note}  1  {own_names(touches)}" for note, (_, touches) in CHARTS[system]["notes"].items()]
    notes, problems = read_chart(ChartSection(lines="\n".join(lines)), made_holes(table), keys)
    assert problems == []
    states = [[VALUE[state] for state in row] for row, _ in CHARTS[system]["notes"].values()]
    assert openness_matrix(notes).tolist() == states


def test_the_keyless_pipe_reads_from_patterns():
    chart = CHARTS["pipe_six_plus_thumb_D4"]
    holes = made_holes(
        dict(zip(chart["holes"].split(), ("R3 o", "R2 o", "R1 o", "L3 o", "L2 o", "L1 o", "LT o"), strict=True))
    )
    lines = [f"{note} 1 {states[:6]} {states[6]}" for note, (states, _) in chart["notes"].items()]
    section = ChartSection(lines="\n".join(lines), order=chart["holes"].split())
    notes, problems = read_chart(section, holes, [])
    assert problems == []
    for note, (states, _) in zip(notes, chart["notes"].values(), strict=True):
        assert note.openness == tuple(VALUE[state] for state in states)


def only_note(lines, **more):
    notes, problems = read_chart(
        ChartSection(lines=lines, **more),
        made_holes({"low": "R1 o", "top": "L1 o", "side": "key c"}),
        [Key(id="kUp", touch="L4", opens=["side"])],
    )
    assert problems == []
    assert len(notes) == 1
    return notes[0]


def test_a_run_of_fingers_is_its_fingers():
    assert pressed_touches(["L123", "R13", "LT"], []) == {"L1", "L2", "L3", "R1", "R3", "LT"}
    assert pressed_touches(["none"], []) == set()


def test_comments_and_blank_lines_are_no_notes():
    note = only_note("\n# the lowest\n  \nF#4  1  L1 R1 kUp   # with the little finger\n\n")
    assert (note.written, note.register, note.touches) == ("F#4", 1, "L1 R1 kUp")
    assert note.openness == (0.0, 0.0, 1.0)


def test_a_sharp_key_name_is_no_comment():
    holes, keys = made_holes({"side": "key c"}), [Key(id="kC#", touch="L4", opens=["side"])]
    notes, problems = read_chart(ChartSection(lines="C#4 1 kC#"), holes, keys)
    assert problems == []
    assert notes[0].openness == (1.0,)


def test_half_open_takes_the_projects_share():
    assert only_note("A4 1 hx", order=["top", "low"], half_open_percent=30.0).openness == (0.0, 0.3, 0.0)


def test_a_pattern_leaves_unnamed_holes_at_rest():
    assert only_note("A4 1 x", order=["top"]).openness == (1.0, 0.0, 0.0)


def test_an_alternate_is_marked():
    holes = made_holes({"low": "R1 o", "top": "L1 o"})
    notes, problems = read_chart(ChartSection(lines="A4 1 L1\nA4 1 R1 alternate"), holes, [])
    assert problems == []
    assert [(note.label, note.alternate, note.touches) for note in notes] == [("A4", False, "L1"), ("A4'", True, "R1")]


def test_a_key_that_closes_beats_rest_and_a_finger_beats_a_key_that_opens():
    holes = made_holes({"a": "key o", "b": "R1 c"})
    keys = [Key(id="shut", touch="L4", closes=["a"]), Key(id="lift", touch="R4", opens=["b"])]
    assert openness_of_touches({"shut"}, holes, keys) == (0.0, 0.0)
    assert openness_of_touches({"lift"}, holes, keys) == (1.0, 1.0)
    assert openness_of_touches({"lift", "R1"}, holes, keys) == (1.0, 0.0)


def test_two_keys_at_odds_are_named():
    holes = made_holes({"a": "key o"})
    keys = [Key(id="shut", touch="L4", closes=["a"]), Key(id="lift", touch="R4", opens=["a"])]
    with pytest.raises(ChartError, match=r"shut closes a while lift opens it"):
        openness_of_touches({"shut", "lift"}, holes, keys)


def test_one_fingering_in_two_registers_is_no_clash():
    notes = pipe(changed("E5   1  none", "E5   1  none\nA5   2  L123 R1")).notes
    assert notes[0].openness == notes[-1].openness
    assert [note.register for note in (notes[0], notes[-1])] == [1, 2]


def test_all_bad_lines_are_told_at_once():
    text = changed("B4   1", "H4   1", changed("C#5  1", "C#5  0", changed("D5   1  L1", "D5   1  L8")))
    with pytest.raises(ProjectError) as caught:
        parse_project(text, "shelf.toml")
    # Lines of the file, as an editor counts them: the pipe's second note stands on its 27th.
    assert [text.split("\n")[finding.line - 1][:4].strip() for finding in caught.value.findings] == ["H4", "C#5", "D5"]
    assert [problem[:8] for problem in caught.value.told] == ["line 27:", "line 28:", "line 29:"]


def test_a_link_may_be_moved_by_a_finger_that_covers_no_hole():
    # The chart may press any finger; a link that only a free little finger moves is common on real pipes.
    text = changed("[chart]", '[keys]\nk1 = { touch = "R4", moved_by = ["R4"], closes = ["g1"] }\n\n[chart]')
    loaded = pipe(changed("B4   1  L123", "B4   1  L123\nG4   2  L123 R4", text))
    assert loaded.notes[2].openness == (0.0, 0.0, 0.0, 0.0)


def test_the_practice_pipe_opens_from_the_bell():
    # A4 all closed, then one hole more for every note.
    assert openness_matrix(pipe(PIPE).notes).tolist() == [
        [0, 0, 0, 0], [1, 0, 0, 0], [1, 1, 0, 0], [1, 1, 1, 0], [1, 1, 1, 1],
    ]  # fmt: skip
