"""A finished layout under other hands: sentences, drawing, `reach`, `show --hand`, and a search for another player.

The layouts are the practice pipe's record with its fingers moved to round numbers, so that every figure can be worked
out in the head.
"""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shelf import PIPE, pipe

from optimizer.analysis import reliefs
from optimizer.analysis.hand_fit import fit, reach_sentence, saved_fit, strain, verdict
from optimizer.commands.cli import main
from optimizer.project.hand import Hand
from optimizer.project.marks import SOURCE_MARK, mark_of
from optimizer.records.files import read_record, write_record
from optimizer.records.fits import ReliefEntry, ReliefsRecord, summary_of
from optimizer.records.layout import LayoutRecord, ReachRecord
from optimizer.records.run import FrontEntry, FrontRecord, RunRecord
from optimizer.views.drawings.fingers_on_body import hands_svg

SVG = "{http://www.w3.org/2000/svg}"
GAUGED = 'gauged_on = "2026-11-02"\n'
HAND = Hand.model_validate(
    {"gauged_on": "2026-11-02", "seal_diameter_max_mm": 9, "left": {
        "index_middle_mm": [24, 30], "middle_ring_mm": [23, 28, 36], "index_ring_mm": [45, 55]}}
)  # fmt: skip


def placed(record, positions, **changes):
    """The record with its fingers R1, L3, L2, L1 at the positions, in line on a body 30 mm thick, holes 6 mm wide."""
    holes = [
        hole.model_copy(
            update={"position_mm": s, "touch_position_mm": s, "body_diameter_mm": 30.0, "azimuth_deg": 0.0,
                    "diameter_mm": 6.0, "top_diameter_mm": 6.0, **changes.get(hole.by, {})}
        )
        for hole, s in zip(record.holes, positions, strict=True)
    ]  # fmt: skip
    return record.model_copy(update={"holes": holes})


COMFORTABLE = (280.0, 212.0, 190.0, 168.0)


def test_a_layout_within_comfort(record):
    found = fit(placed(record, COMFORTABLE), HAND)
    assert {pair.pair: pair.spacing_mm for pair in found.reach} == {"L1-L2": 22.0, "L2-L3": 22.0, "L1-L3": 44.0}
    assert (found.troubles, found.remarks, found.strain_percent, found.beyond_mm) == ([], [], 0.0, 0.0)


def test_which_pair_and_by_how_much(record):
    # L2 to L3 27 + 10 = 37 (limit 28, never above 36), L1 to L3 27 + 37 = 64 (limit 55).
    found = fit(placed(record, (310.0, 232.0, 195.0, 168.0)), HAND)
    assert found.troubles == [
        "L2-L3 must reach 37.0 mm, 9.0 mm beyond the working limit of 28.0 (standard deviation 1.5 mm, by: gauged); "
        "even spread as far as it goes the hand has 36.0",
        "L1-L3 must reach 64.0 mm, 9.0 mm beyond the working limit of 55.0 (standard deviation 1.5 mm, by: gauged)",
    ]
    assert found.beyond_mm == pytest.approx(18.0)
    # Strains: (27 - 24) / 6 = 0.5, (37 - 23) / 5 = 2.8, (64 - 45) / 10 = 1.9; mean square (0.25 + 7.84 + 3.61) / 3.
    assert found.strain_percent == pytest.approx(100 * (11.7 / 3) ** 0.5)


def test_a_finger_round_the_body_reaches_through_the_air(record):
    # 60 degrees round a body 30 mm thick is 15 mm; 20 along: 25.
    found = fit(placed(record, (280.0, 210.0, 188.0, 168.0), L1={"azimuth_deg": 60.0}), HAND)
    assert found.reach[0].spacing_mm == 25.0


TROUBLES = {
    "no room": (
        (280.0, 206.0, 182.0, 168.0), {}, "L1-L2 lie 14.0 mm apart, 3.0 mm less than two fingers need",
    ),
    "crossed fingers": (
        (280.0, 190.0, 212.0, 168.0), {}, "L2-L3 would cross: L2 must lie nearer the reed",
    ),
    "hands that meet": (
        (250.0, 212.0, 190.0, 168.0), {}, "the hands have 38.0 mm between L3 and R1, 7.0 mm less than they need",
    ),
    "a hole too wide": (
        COMFORTABLE, {"L2": {"top_diameter_mm": 10.5}},
        "g3 is 10.5 mm wide, 1.5 mm more than L2 seals; it needs a plate or a smaller hole",
    ),
    "a hole too wide for the ring finger": (
        COMFORTABLE, {"L3": {"top_diameter_mm": 9.0}},
        "g2 is 9.0 mm wide, 1.0 mm more than L3 seals; it needs a plate or a smaller hole",
    ),
    "a thumb too far": (
        COMFORTABLE, {"R1": {"by": "LT", "azimuth_deg": 180.0}},
        "LT lies 112.0 mm from L1 along the body, 92.0 mm too far",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("positions", "changes", "sentence"), TROUBLES.values(), ids=list(TROUBLES))
def test_what_else_is_wrong(positions, changes, sentence, record):
    assert sentence in fit(placed(record, positions, **changes), HAND).troubles


def test_a_plate_needs_no_finger_to_seal(record):
    changes = {"L2": {"top_diameter_mm": 15.0, "cover": "plate"}}
    assert fit(placed(record, COMFORTABLE, **changes), HAND).troubles == []


def test_advice_breaks_no_limit(record):
    # L1 to L2 29 mm: one short of the limit, which is known to 1.5.
    found = fit(placed(record, (280.0, 212.0, 192.0, 163.0), L3={"body_diameter_mm": 43.0}), HAND)
    assert found.troubles == []
    assert found.remarks == [
        "the body is 43 mm thick under L3, more than the 42 mm advised: fingers lie flatter there",
        "L1-L2: nearer to the working limit than it is known; gauge the player before printing",
    ]


def test_the_layouts_own_hand_is_in_its_file(record):
    assert saved_fit(record).troubles == []
    spread = record.reach[0].model_copy(update={"spacing_mm": record.reach[0].working_mm + 2.0})
    found = saved_fit(record.model_copy(update={"reach": [spread]}))
    assert found.troubles == [reach_sentence(spread)]
    assert "2.0 mm beyond the working limit" in found.troubles[0]


def test_other_limits_of_the_hand_come_from_what_binds(record):
    broken = record.binds[0].model_copy(update={"name": "thumb.LT-L1", "margin_mm": -3.0, "sentence": "the thumb ..."})
    found = saved_fit(record.model_copy(update={"binds": [broken]}))
    assert found.troubles == ["thumb.LT-L1: broken by 3.00 mm; must hold: the thumb ..."]


def test_a_file_from_before_maxima_can_be_read():
    old = ReachRecord.model_validate({"pair": "L1-L2", "spacing_mm": 33.0, "comfortable_mm": 25.0, "working_mm": 31.0})
    assert reach_sentence(old) == "L1-L2 must reach 33.0 mm, 2.0 mm beyond the working limit of 31.0"


def test_reach_of_a_saved_layout_is_that_of_the_solver(record):
    # The same geometry by the solver's arrays, for the hand the pipe was made for.
    found = fit(record, Hand())
    assert [pair.pair for pair in found.reach] == [pair.pair for pair in record.reach]
    for mine, solver in zip(found.reach, record.reach, strict=True):
        assert mine.spacing_mm == pytest.approx(solver.spacing_mm, abs=0.011)
        assert mine.model_copy(update={"spacing_mm": solver.spacing_mm}) == solver
    assert found.strain_percent == pytest.approx(record.objectives["reach"], abs=0.2)


@pytest.mark.parametrize(
    ("spacing", "said"),
    [(24.0, "comfortable"), (24.1, "strained"), (29.96, "at the limit"), (30.0, "at the limit"),
     (30.1, "OUT OF REACH by 0.1"), (36.5, "OUT OF REACH by 6.5")],
)  # fmt: skip
def test_a_word_on_each_pair(spacing, said):
    assert verdict(ReachRecord(pair="L1-L2", spacing_mm=spacing, comfortable_mm=24, working_mm=30)) == said


@given(st.floats(0, 80))
def test_strain_grows_with_the_spacing(spacing):
    pairs = [ReachRecord(pair="L1-L2", spacing_mm=s, comfortable_mm=24, working_mm=30) for s in (spacing, spacing + 1)]
    assert 0.0 <= strain(pairs[0]) <= strain(pairs[1])
    assert (strain(pairs[0]) > 1.0) == (spacing > 30)


# the drawing


def drawn(text, tag):
    return list(ET.fromstring(text).iter(f"{SVG}{tag}"))


def test_the_drawing_is_to_scale(record):
    layout = placed(record, (280.0, 212.0, 190.0, 168.0))
    text = hands_svg(layout, fit(layout, HAND), HAND)
    sheet = ET.fromstring(text)
    assert (
        sheet.get("viewBox") == f"0 0 {sheet.get('width').removesuffix('mm')} {sheet.get('height').removesuffix('mm')}"
    )
    holes = [circle for circle in drawn(text, "circle") if circle.get("fill") != "none"]
    assert sorted(float(circle.get("r")) for circle in holes) == [3.0] * 4
    places = sorted(float(circle.get("cx")) for circle in holes)
    assert [b - a for a, b in pairwise(places)] == pytest.approx([22.0, 22.0, 68.0])
    scale = next(line for line in drawn(text, "line") if line.get("id") == "scale-50mm")
    assert float(scale.get("x2")) - float(scale.get("x1")) == 50.0


def test_the_drawing_turns_with_the_azimuth(record):
    # Clockwise seen from the reed end is down; 90 degrees are a quarter of the circumference of the bore table's body.
    layout = placed(record, (280.0, 212.0, 190.0, 168.0), R1={"azimuth_deg": 90.0})
    points = record.bore.points_mm
    share = 280.0 / points[-1][0]
    radius = (points[0][1] + share * (points[-1][1] - points[0][1])) / 2 + record.bore.wall_mm
    holes = [c for c in drawn(hands_svg(layout, fit(layout, HAND), HAND), "circle") if c.get("fill") != "none"]
    lowest, other = max(float(c.get("cy")) for c in holes), min(float(c.get("cy")) for c in holes)
    assert lowest - other == pytest.approx(3.14159265 / 2 * radius, abs=0.01)


def test_the_drawing_marks_what_is_out_of_reach_and_cautions(record):
    layout = placed(record, (310.0, 232.0, 195.0, 168.0))
    text = hands_svg(layout, fit(layout, HAND), HAND)
    words = " ".join(part.text for part in drawn(text, "text"))
    for said in (
        "37.0 over by 9.0",
        "64.0 over by 9.0",
        "27.0 strained",
        "Stop if you feel pain",
        "child's hand grows",
    ):
        assert said in words
    over = [line for line in drawn(text, "line") if line.get("stroke") == "#a3142a"]
    lengths = {round(abs(float(line.get("x2")) - float(line.get("x1")))) for line in over}
    assert {36, 63} <= lengths  # 37 and 64 mm, half a millimetre short at each end


def test_a_layout_without_fingers_is_drawn_all_the_same(record):
    bare = record.model_copy(update={"holes": [hole.model_copy(update={"by": "key"}) for hole in record.holes]})
    found = fit(bare, HAND)
    assert found.reach == []
    assert "<svg" in hands_svg(bare, found, HAND)


# the commands


@pytest.fixture
def run(tmp_path, record):
    """A run folder of two layouts: one at ease, one spread."""
    layouts = {"t00001": placed(record, (310.0, 232.0, 195.0, 168.0)), "t00002": placed(record, COMFORTABLE)}
    entries = []
    for name, layout in layouts.items():
        write_record(tmp_path / "layouts" / f"{name}.json", layout.model_copy(update={"id": name}))
        entries.append(
            FrontEntry(id=name, file=f"layouts/{name}.json", objectives=layout.objectives, wrong_notes=0,
                       violation_mm=0.0, binds=[])
        )  # fmt: skip
    names = ["tuning", "reach"]
    front = FrontRecord(instrument="Pipe", objectives=names, units={}, thinned_to={}, feasible=True, layouts=entries)
    write_record(tmp_path / "pareto.json", front)
    pairs = "index_middle_mm = [24, 30]\nmiddle_ring_mm = [23, 28]\nindex_ring_mm = [45, 55]\n"
    text = f"{PIPE}\n[hand]\n{GAUGED}[hand.left]\n{pairs}"
    write_record(
        tmp_path / "run.json",
        RunRecord(
            instrument="Pipe", project_file="pipe.toml", project_text=text, seed=1, minutes=1.0, trials_wanted=None,
            workers=1, started="", finished=None, ended_by=None, trials_done=2, trials_failed=0, versions={}, host={},
            cautions=[],
        ),
    )  # fmt: skip
    return tmp_path


def told(capsys, *arguments):
    code = main([str(argument) for argument in arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_reach_of_a_run_shows_the_layout_at_ease(run, capsys):
    code, out, _ = told(capsys, "reach", run)
    assert code == 0
    assert "layout t00002" in out
    assert "1 of 2 layouts fit this hand" in out
    # 30 / 0.8 = 37.5
    assert re.search(r"(?m)^L1-L2\s+22\.0\s+24\.0\s+30\.0\s+37\.5\s+1\.5\s+gauged\s+comfortable", out)
    assert "Stop if you feel pain" in out.replace("\n", " ")
    assert (run / "reach-t00002.svg").read_text().startswith("<svg")


def test_reach_of_one_layout_says_what_is_out_of_reach(run, capsys):
    svg = run / "elsewhere" / "hands.svg"
    code, out, _ = told(capsys, "reach", run, "--layout", "t00001", "--quick", "--svg", svg)
    assert code == 1
    assert f"ways out, with their cost in cents:  holewright relieve {run}" in out
    assert "L2-L3 must reach 37.0 mm, 9.0 mm beyond the working limit of 28.0" in out
    assert "OUT OF REACH by 9.0" in out
    assert svg.exists()


def way(name, sentence, cost, record, feasible=True):
    fit = summary_of(record).model_copy(update={"feasible": feasible, "violation_mm": 0.0 if feasible else 2.5})
    return ReliefEntry(name=name, sentence=sentence, tried=True, fit=fit, cost_cents=cost)


def test_ways_out_kept_for_this_hand_are_shown_and_others_are_not(run, record, capsys, monkeypatch):
    monkeypatch.setattr(reliefs, "looked_for", lambda *_: pytest.fail("ways out were looked for again"))
    text = read_record(run / "run.json", RunRecord).project_text
    ways = ReliefsRecord(
        instrument="Pipe", project_file="pipe.toml", hand="h", made_for=mark_of(pipe(text).project, SOURCE_MARK),
        as_it_is=summary_of(record), hand_limits=["reach.L2-L3"], seconds=90.0, cautions=[],
        reliefs=[way("plate.g3", "a plate over g3", 0.31, record), way("key.g2", "a key on g2", 0.92, record),
                 way("turned.g4+20", "g4 turned", -2.0, record, feasible=False),
                 ReliefEntry(name="wider.g4", sentence="g4 anywhere", tried=False)],
    )  # fmt: skip
    write_record(run / "reliefs.json", ways)
    code, out, _ = told(capsys, "reach", run, "--layout", "t00001")
    assert code == 1
    assert out.index("+0.31 cents RMS: a plate over g3") < out.index("+0.92 cents RMS: a key on g2")
    assert "g4 turned" not in out
    assert "1 of 4 ways not tried for want of time (more --minutes): wider.g4" in out
    # Another project or hand, some kinds only, or less time than there is now with ways untried: it does not count.
    for change in ({"made_for": "0"}, {"kinds": ["plate"]}, {"seconds": 80.0}):
        write_record(run / "reliefs.json", ways.model_copy(update=change))
        assert "a plate over g3" not in told(capsys, "reach", run, "--layout", "t00001", "--quick")[1]


def test_ways_out_are_looked_for_where_a_pair_is_out_of_reach(run, record, capsys, monkeypatch):
    asked = []

    def looked(loaded, numbers, seconds, workers, told):
        asked.append((loaded.project.hand.name, numbers["position_mm"], seconds, workers))
        return ReliefsRecord(
            instrument="Pipe", project_file="pipe.toml", hand="h", as_it_is=summary_of(record),
            hand_limits=[], reliefs=[], seconds=1.0, cautions=[],
        )  # fmt: skip

    monkeypatch.setattr(reliefs, "looked_for", looked)
    hand = run / "short.toml"
    hand.write_text(f'{GAUGED}name = "short"\n[left]\nindex_middle_mm = [24, 26]\n')
    code, out, _ = told(capsys, "reach", run, "--layout", "t00001", "--hand", hand, "--minutes", 0.2)
    assert code == 1
    assert asked == [("short", [310.0, 232.0, 195.0, 168.0], 12.0, None)]
    assert (run / "reliefs-short.json").exists()
    assert "the project solved anew for this hand, nothing changed: keeps everything" in out
    # A layout at ease asks for none.
    assert told(capsys, "reach", run)[0] == 0
    assert len(asked) == 1


def test_reach_under_another_hand(run, tmp_path, capsys):
    hand = tmp_path / "large.toml"
    hand.write_text(
        f'{GAUGED}name = "large"\n[left]\nindex_middle_mm = [30, 40]\nmiddle_ring_mm = [30, 40]\n'
        "index_ring_mm = [60, 80]\n"
    )
    layout = run / "layouts" / "t00001.json"
    code, out, _ = told(capsys, "reach", layout, "--hand", hand)
    assert code == 0
    assert "hand: large" in out
    assert (layout.parent / "reach-t00001-large.svg").exists()
    assert told(capsys, "reach", layout, "--quick")[0] == 1
    shown = told(capsys, "show", layout, "--hand", hand)[1]
    assert "hand: large" in shown
    assert "hand: large" in told(capsys, "predict", layout, "--hand", hand)[1]


def test_a_layout_away_from_its_run_is_judged_by_its_own_file(tmp_path, record, capsys):
    path = tmp_path / "alone" / "deep" / "t.json"
    write_record(path, record)
    code, out, _ = told(capsys, "reach", path)
    assert code == 0
    assert "the hand it was made for" in out


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["{run}", "--layout", "t9"], "has no layout 't9'; it has t00001, t00002"),
        (["{run}/layouts/t00001.json", "--layout", "t00001"], "is one layout; --layout picks one of a run folder"),
        (["{run}/none"], "there is no file"),
        (["{run}/run.json"], "is not a holewright-layout file"),
        (["{run}", "--hand", "{run}/no.toml"], "there is no hand file"),
        (["{run}", "--hand", "{run}/broken.toml"], "left: must be a table, but got 3"),
    ],
)
def test_reach_says_what_to_mend(arguments, sentence, run, capsys):
    (run / "broken.toml").write_text("left = 3\n")
    code, _, err = told(capsys, "reach", *(argument.format(run=run) for argument in arguments))
    assert code == 2
    assert sentence in err


def test_show_says_what_is_wrong_with_a_hand_file(run, capsys):
    (run / "broken.toml").write_text("colour = 3\n")
    for command in ("show", "predict", "reach"):
        code, out, err = told(capsys, command, run / "layouts" / "t00001.json", "--hand", run / "broken.toml")
        assert (code, out) == (2, "")
        assert err.startswith("hand file to mend\n  ")
        assert "colour: there is no such key" in err


def test_a_search_for_another_player_keeps_that_hand(tmp_path, capsys):
    """The whole way: search with a hand file, lose the file, show and resume from the folder alone."""
    hand, project = tmp_path / "ida.toml", tmp_path / "pipe.toml"
    hand.write_text('name = "Ida"\n[left]\nindex_middle_mm = [22, 27]\n')
    project.write_text(PIPE)
    options = ["--workers", "1", "--trials", "1"]
    assert main(["search", str(project), "--hand", str(hand), "--results", str(tmp_path / "res"), *options]) in (0, 1)
    hand.unlink()
    project.unlink()
    folder = next(Path(tmp_path / "res").iterdir())
    assert main(["resume", str(folder), *options]) in (0, 1)
    assert '"Ida"' in read_record(folder / "run.json", RunRecord).project_text
    for file in (folder / "layouts").glob("*.json"):
        limits = {pair.pair: pair.working_mm for pair in read_record(file, LayoutRecord).reach}
        assert limits["L1-L2"] == 27.0
    capsys.readouterr()
    main(["reach", str(folder)])
    assert "hand: Ida" in capsys.readouterr().out
