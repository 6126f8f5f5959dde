"""`reach` and other commands that are told of a hand."""

import re
from pathlib import Path

import pytest
from hands_on_layouts import COMFORTABLE, GAUGED, placed
from shelf import PIPE, pipe

from optimizer.analysis import reliefs
from optimizer.commands.cli import main
from optimizer.project.marks import mark_of
from optimizer.project.source_mark import SOURCE_MARK
from optimizer.records.files import read_record, write_record
from optimizer.records.fits import ReliefEntry, ReliefsRecord, summary_of
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontEntry, FrontRecord, RunRecord


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
    names = ["tuning", "stretch"]
    units, thin = {"tuning": "cents", "stretch": "%"}, {"tuning": 0.1, "stretch": 1.0}
    front = FrontRecord(
        instrument="Pipe", objectives=names, units=units, thinned_to=thin, feasible=True, layouts=entries
    )
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
