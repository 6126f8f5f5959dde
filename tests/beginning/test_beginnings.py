"""Projects begun from answers: they pass every check, say what was answered, and a search finds them in tune."""

import io
import shutil
import tomllib

import pytest
from beginnings import BED, BEGINNINGS, SMALL
from failing_disk import FULL, failing

from acoustics.pitch import midi_number, note_frequency
from optimizer.beginning import written
from optimizer.beginning.answers import Answers, AnswersError
from optimizer.beginning.shipped import files_in
from optimizer.beginning.written import begun
from optimizer.commands.cli import main
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis

TENOR = Answers(name="Shelf Tenor", lowest="B3", transposition_semitones=-7, hand=SMALL, printer=BED)


@pytest.mark.parametrize("name", BEGINNINGS)
def test_what_is_begun_passes_every_check(name, tmp_path):
    answers = BEGINNINGS[name]
    found = begun(answers, tmp_path / "pipe.toml")
    lowest = min(found.notes, key=lambda note: note.midi)
    assert lowest.midi == midi_number(answers.lowest)
    assert found.project.instrument.transposition_semitones == answers.transposition_semitones
    forked_top = answers.family == "six-hole" and answers.forks and len(found.notes) > 18
    assert max(note.register for note in found.notes) == (1 if not answers.vents else 3 if forked_top else 2)


@pytest.mark.parametrize(
    ("lowest", "kind", "length_mm"),
    [("A3", "keyed-cone", 173.1 / 220.0), ("A2", "keyed-cylinder", 86.55 / 110.0)],
)
def test_the_textbook_length_is_that_of_a_handbook(lowest, kind, length_mm, tmp_path):
    """c / 2f to a cone's tip, c / 4f from the reed of a cylinder; c = 346.2 m/s is dry air at 25 degrees (handbooks:
    331.3 sqrt(1 + T / 273.15)); breath's warm moisture makes it some per mille more."""
    text = begun(Answers(family=kind, lowest=lowest), tmp_path / "x.toml").text
    told = float(next(line for line in text.splitlines() if " mm long" in line).split(" mm long")[0].split()[-1])
    assert told == pytest.approx(1000.0 * length_mm, rel=0.01)
    assert note_frequency(midi_number(lowest)) == pytest.approx(220.0 if lowest == "A3" else 110.0)


def test_a_family_loses_what_is_not_wanted(tmp_path):
    def project(**answers):
        return begun(TENOR.model_copy(update=answers), tmp_path / "x.toml").project

    whole = project()
    assert {hole.id for hole in whole.holes} - {hole.id for hole in project(vents=False).holes} >= {"v1", "v2"}
    assert not {"kC#", "kG#"} & {key.id for key in project(side_keys=False).keys}
    assert "link8" not in {key.id for key in project(forks=False).keys}
    low = begun(TENOR.model_copy(update={"notes": 12}), tmp_path / "x.toml")
    assert len({note.midi for note in low.notes}) == 12
    assert {hole.by for hole in project(rows=True).holes} == {"key"}


@pytest.mark.parametrize("name", ["pipe from F4, small-adult", "pipe from A4, small-adult"])
def test_a_bare_pipe_comes_nearly_into_tune_with_all_its_notes(name, tmp_path):
    found = begun(BEGINNINGS[name], tmp_path / "pipe.toml")
    solver = Solver(found.text, "pipe.toml")
    record = LayoutRecord.model_validate_json(solver.solve(Proposal(0, Emphasis(), 0.5, 0.0, 1)).record_json)
    assert record.feasible
    assert record.objectives["tuning"] < 7.0


def test_what_a_player_shades_anyway_counts_less_but_not_the_top_note(tmp_path):
    weight = begun(BEGINNINGS["pipe from C4, large-adult"], tmp_path / "pipe.toml").project.scale.weight
    assert {note for note, share in weight.items() if share == 0.3} == {"C#4", "D#4", "F#4", "G#4", "A#4"}
    assert weight["A5"] == weight["G5"] > 0.3


def test_no_note_lies_beyond_what_open_holes_reflect_unless_it_is_asked_for(tmp_path):
    """Eb6 is 440 x 2^(6/12) x 2 = 1244.5 Hz; the cutoff of open holes near 1500 Hz is Benade's (1976, from memory)."""
    left_open, asked = (
        begun(Answers(family="six-hole", lowest="C5", notes=notes), tmp_path / "x.toml").notes for notes in (None, 22)
    )
    assert max(note_frequency(note.midi) for note in left_open) <= 440.0 * 2.0**1.5 + 1e-9
    assert max(note.midi for note in asked) == midi_number("C5") + 21


def test_a_cylinder_takes_a_second_vent_below_c2(tmp_path):
    """A cylinder closed at the reed has the pressure node of its third partial a third of the way down (any textbook):
    the lower vent lies at the lowest note's, both vents short of it for the notes above."""
    low, high = (begun(BEGINNINGS[f"cylinder from {note}, small-adult"], tmp_path / "x.toml") for note in ("F1", "C2"))

    def vents(found):
        return {hole.id: hole for hole in found.project.holes if hole.role == "vent"}

    assert (list(vents(low)), list(vents(high))) == (["r1", "r2"], ["r1"])
    assert "Rg2" not in high.written
    (thumb,) = [key for key in low.project.keys if key.id == "kLT"]
    assert thumb.together == ["Rg", "Rg2"]
    third = low.project.bore.end_span_mm[1] / 3.0
    assert vents(low)["r2"].position_mm[1] <= vents(low)["r1"].position_mm[0] < vents(low)["r1"].position_mm[1] < third
    ids = [hole.id for hole in low.project.holes]
    opened = {
        note.midi - low.notes[0].midi: {name for name in ("r1", "r2") if note.openness[ids.index(name)] == 1.0}
        for note in low.notes
    }
    assert {step: names for step, names in opened.items() if step < 18 and names} == {}
    assert opened[18] == opened[26] == opened[32] == {"r2"}
    assert opened[19] == opened[25] == {"r1"}


@pytest.mark.parametrize(
    ("name", "folded"), [("cylinder from F1, small-adult", True), ("cone from C3, small-adult", False)]
)
def test_what_nobody_can_hold_straight_is_told_so(name, folded, tmp_path):
    assert ("[bends] folds it" in begun(BEGINNINGS[name], tmp_path / "x.toml").written) == folded


@pytest.mark.parametrize("lowest", ["F1", "C2"])
def test_long_tenons_of_a_wide_bore_leave_room_in_the_pieces(lowest, tmp_path):
    # On paper: a tenon is 0.8 of its outside long, the bore and two walls of 3 mm; pieces of 339 mm from the crook to
    # the bell, each less its tenon at its wider end, reach no further with fewer joints.
    project = begun(BEGINNINGS[f"cone from {lowest}, large-adult"], tmp_path / "x.toml").project
    (s0, d0), (s1, d1) = project.bore.points_mm[-2:]
    place, pieces = project.bore.crook_end_mm, 0
    while place < project.bore.end_span_mm[1]:
        bore = d0 + (d1 - d0) * (min(place + 339.0, s1) - s0) / (s1 - s0)
        place, pieces = place + 339.0 - 0.8 * (bore + 6.0), pieces + 1
    assert pieces - 1 <= project.sections.joints[0] < project.sections.joints[1] <= 16


def test_joints_of_a_bare_pipe_lie_between_the_hands_or_below_them(tmp_path):
    project = begun(BEGINNINGS["pipe from C4, large-adult"], tmp_path / "x.toml").project
    middle = {hole.id: sum(hole.position_mm) / 2.0 for hole in project.holes}
    between, below = project.sections.zones_mm
    assert middle["p4"] < between[0] < between[1] < middle["p3"]
    assert middle["p1"] < below[0] < below[1] < project.bore.end_mm[0]
    assert project.bore.staple_end_mm < project.bore.crook_end_mm < project.bore.staple_end_mm + 5.0


def test_a_bore_from_a_table_is_taken_as_it_is(tmp_path):
    table = tmp_path / "bore.csv"
    table.write_text("from_reed_mm,diameter_mm\n0,4.6\n60,5.2\n980,36\n")
    bore = begun(TENOR.model_copy(update={"bore_table": table}), tmp_path / "x.toml").project.bore
    assert [list(point) for point in bore.points_mm] == [[0, 4.6], [60, 5.2], [980, 36]]


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({"bore": "cylinder"}, {"bore": "keyed-cone has a cone for a bore"}),
        ({"family": "six-hole", "rows": True, "lowest": "C2"}, {"rows": "has no keys", "lowest": "sounds as F1"}),
        ({"lowest": "H3"}, {"lowest": "a note must read like C4"}),
        ({"reed_end_mm": 20.0, "bell_mm": 30.0}, {"bell_mm": "must widen"}),
        ({"notes": 2}, {"notes": "fewer than three notes"}),
        ({"notes": 3, "side_keys": False}, {"notes": "fewer than three notes"}),
        ({"family": "six-hole", "lowest": "D4", "notes": 2, "forks": False}, {"notes": "fewer than two notes"}),
        ({"reed": "single", "reed_end_mm": 12.0}, {"reed_end_mm": "leaves its holes no room"}),
        ({"family": "keyed-cylinder", "reed_end_mm": 4.0}, {"reed_end_mm": "leaves its holes no room"}),
        ({"family": "keyed-cylinder", "printer": None, "reed_end_mm": 200.0}, {"reed_end_mm": "take a narrower bore"}),
        ({"lowest": "C3", "printer": None, "bell_mm": 200.0}, {"bell_mm": "as long as the longest piece"}),
    ],
)
def test_answers_that_do_not_go_together_are_all_told(answers, said, tmp_path):
    with pytest.raises(AnswersError) as caught:
        begun(TENOR.model_copy(update=answers), tmp_path / "x.toml")
    told = {finding.path: finding.sentence for finding in caught.value.findings}
    assert told.keys() == said.keys()
    assert all(part in told[answer] for answer, part in said.items())


@pytest.mark.parametrize(
    ("names", "lowest", "written"),
    [
        ("german", "H3", ["H3", "C4", "Cis4"]),
        ("german", "B3", ["B3", "H3", "C4"]),
        ("helmholtz", "h", ["h", "c'", "cis'"]),
    ],
)
def test_notes_go_by_the_names_that_were_asked_for(names, lowest, written, tmp_path):
    """B is the black key below H in German; Helmholtz's h is the white key below middle C, his c'."""
    found = begun(TENOR.model_copy(update={"note_names": names, "lowest": lowest}), tmp_path / "x.toml")
    told = sorted({(note.midi, note.written) for note in found.notes})
    assert [name for _, name in told[:3]] == written
    assert told[0][0] == (58 if lowest == "B3" else 59)  # MIDI: 60 is middle C


def test_names_with_quotes_are_written_as_they_are(tmp_path):
    name = 'Lantern "low" \\ reed #2'
    found = begun(TENOR.model_copy(update={"name": name}), tmp_path / "x.toml")
    assert tomllib.loads(found.written)["instrument"]["name"] == name


def test_the_command_writes_a_project_that_a_search_brings_into_tune(tmp_path, capsys):
    project = tmp_path / "tenor.toml"
    options = ["--name", "Shelf Tenor", "--lowest", "B3", "--transposition", "-7", "--hand", "small-adult"]
    assert main(["begin", str(project), *options, "--printer", "filament-256"]) == 0
    said = capsys.readouterr().out
    assert "Shelf Tenor, 32 notes, 20 holes, 14 keys" in said
    assert (tmp_path / "hands" / "small-adult.toml").is_file()
    assert main(["begin", str(project)]) == 2
    assert "is there already" in capsys.readouterr().err
    search = ["search", str(project), "--workers", "1", "--trials", "2", "--seed", "1", "--no-report"]
    assert main([*search, "--results", str(tmp_path / "results")]) == 0
    (front,) = (tmp_path / "results").glob("*/pareto.json")
    found = read_record(front, FrontRecord)
    assert found.feasible
    assert min(entry.objectives["tuning"] for entry in found.layouts) < 5.0


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--hand", "giant"], "there is no hand 'giant'"),
        (["--notes", "1"], "--notes"),
        (["--transposition", "low"], "--transposition must be a whole number"),
        (["--bore-table", "missing.csv"], "missing.csv"),
    ],
)
def test_wrong_options_of_the_command_are_told_and_nothing_is_written(options, said, tmp_path, capsys):
    project = tmp_path / "pipe.toml"
    assert main(["begin", str(project), *options]) == 2
    assert said in capsys.readouterr().err
    assert not project.exists()


def test_files_that_were_copied_for_a_project_go_again_where_it_is_not_begun(tmp_path, capsys):
    own = tmp_path / "hands" / "small-adult.toml"
    own.parent.mkdir()
    shutil.copyfile(SMALL, own)
    options = ["--hand", "small-adult", "--printer", "filament-256", "--reed", "single", "--reed-end-mm", "12"]
    assert main(["begin", str(tmp_path / "pipe.toml"), *options]) == 2
    assert "leaves its holes no room" in capsys.readouterr().err
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [own]


def interrupted(*_):
    raise KeyboardInterrupt


def test_nothing_stays_of_what_was_begun_when_it_is_interrupted_or_the_disk_is_full(tmp_path, monkeypatch, capsys):
    place = tmp_path / "place"
    place.mkdir()
    command = ["begin", str(place / "pipe.toml"), "--hand", "small-adult", "--printer", "filament-256"]
    with monkeypatch.context() as patched:
        patched.setattr(written, "begun", interrupted)
        assert main(command) == 130
    assert list(place.rglob("*")) == []
    with failing(monkeypatch, place, 0, FULL):  # from the project on; copies are made within the system
        assert main(command) == 2
    assert list(place.rglob("*")) == []
    assert capsys.readouterr().err.endswith("pipe.toml: No space left on device\n")
    assert main(command) == 0
    assert len([path for path in place.rglob("*") if path.is_file()]) == 3


def test_only_files_that_a_check_would_take_are_offered(tmp_path):
    (tmp_path / "hands").mkdir()
    for name in ("Mira.toml", "left hand.toml", "-odd.toml", "Käthe.toml"):
        (tmp_path / "hands" / name).write_text('name = "a hand"')
    assert files_in(tmp_path) == {"hand": [("Mira", "a hand")], "printer": [], "stock": []}


def test_no_bare_hole_may_become_narrower_than_it_has_to_be(tmp_path):
    project = begun(BEGINNINGS["pipe from C4, large-adult"], tmp_path / "x.toml").project
    (s0, d0), (s1, d1) = project.bore.points_mm[-2:]
    for hole in project.holes:
        bore = d0 + (d1 - d0) * (hole.position_mm[0] - s0) / (s1 - s0)
        if hole.role == "tone":
            assert hole.diameter_mm[0] >= bore * project.venting.least_under_finger_share


class Terminal(io.StringIO):
    """Words to or from somebody who sits there."""

    def isatty(self):
        return True


def test_a_terminal_asks_again_and_loses_no_answer(tmp_path, monkeypatch):
    """A mistake each in a choice, a note, a number, a yes or no and two answers that do not go together."""
    typed = ["Moth Pipe", "flute", "six", "cylinder", "single", "", "H4", "D4", "", "many", "12", "maybe", "", "no"]
    typed += ["12,0", "14", "", "", "child", "filament-256", ""]
    screen = Terminal()
    monkeypatch.setattr("sys.stdin", Terminal("".join(f"{each}\n" for each in typed)))
    monkeypatch.setattr("sys.stdout", screen)
    assert main(["begin", str(tmp_path / "moth.toml")]) == 0
    told = screen.getvalue()
    for part in (
        "\n[keyed-cone] must be 'keyed-cone'", "a note must read like", "must be a whole number", "answer yes or no",
        "as wide at the bell",
    ):  # fmt: skip
        assert told.count(part) == 1
    assert "must be a number" not in told
    project = tomllib.loads((tmp_path / "moth.toml").read_text())
    assert project["instrument"]["name"] == "Moth Pipe"
    assert project["bore"]["points_mm"][0] == [0, 12]
    assert project["hand"] == "hands/child-about-11.toml"
    assert max(line.split()[1] for line in project["chart"]["lines"].split("\n") if line) == "1"
