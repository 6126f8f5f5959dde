"""A correction as a page, as a picture and from the command line: the shelf's own tenor, measured and fitted."""

import re
from xml.etree import ElementTree

import pytest
from places import CONFIGS

from optimizer.commands.cli import main
from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.views.correction_tables import BOX

SHELF = CONFIGS / "prototypes"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A folder of what `fit` and `correct` write of it."""
    folder = tmp_path_factory.mktemp("bench")
    layout, notes = str(SHELF / "lantern-tenor.json"), str(SHELF / "lantern-tenor-notes.csv")
    assert main(["fit", layout, notes, "--json", str(folder / "fit.json")]) == 0
    files = {"--json": "pass.json", "--corrected": "layout.json", "--html": "pass.html", "--svg": "history.svg"}
    named = [word for option, file in files.items() for word in (option, str(folder / file))]
    project = ["--project", str(CONFIGS / "lantern-tenor.toml"), "--seconds", "1"]
    assert main(["correct", layout, str(folder / "fit.json"), *project, *named]) == 0
    return folder


def test_the_page_has_a_box_for_each_step_and_a_place_for_what_came_of_it(made):
    page, record = (made / "pass.html").read_text(encoding="utf-8"), read_record(made / "pass.json", CorrectionRecord)
    assert len(record.steps) >= 1
    assert page.count(BOX) == page.count("________") == len(record.steps)
    assert all(step.words in page for step in record.steps)
    assert "http" not in page.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")


def test_the_picture_has_a_row_for_each_stage(made):
    record = read_record(made / "pass.json", CorrectionRecord)
    words = " ".join(ElementTree.parse(made / "history.svg").getroot().itertext())
    assert [stage.what for stage in record.history][:2] == ["designed", "measured"]
    assert all(f"{stage.rms_cents:.1f} cents" in words for stage in record.history)
    names = [note.written for note in record.notes if not note.alternate]
    assert " ".join(names) in words


def test_the_next_pass_goes_on_from_the_corrected_layout(made, capsys):
    layout = read_record(made / "layout.json", LayoutRecord)
    assert layout.provenance["corrected in pass"] == 1
    assert main(["correct", str(made / "layout.json"), str(made / "fit.json")]) == 2
    assert "another layout" in capsys.readouterr().err


def test_what_was_done_is_taken_in_and_the_notes_measured_afterwards_fitted(made, capsys, tmp_path):
    # The list's first step half done; notes as a tuner shows them afterwards, here as the layout has them.
    record = read_record(made / "pass.json", CorrectionRecord)
    step = next(step for step in record.steps if step.now)
    done, notes, after = tmp_path / "done.csv", tmp_path / "notes.csv", tmp_path / "pass-2.json"
    done.write_text(f"step,done_{step.unit}\n{step.number},{0.5 * step.now:g}\n")
    heard = [note for note in record.notes if not note.alternate][::2]
    rows = [f"{note.written},{note.register_number},{note.after_pass_cents:.0f}" for note in heard]
    notes.write_text("# a4_hz = 440\n# temperament = equal\nnote,register,reading_cents\n" + "\n".join(rows) + "\n")
    tenor, project = str(SHELF / "lantern-tenor.json"), str(CONFIGS / "lantern-tenor.toml")
    again = ["--after", str(made / "pass.json"), "--done", str(done), "--json", str(after), "--seconds", "1"]
    assert main(["correct", tenor, str(notes), "--project", project, *again]) == 0
    second = read_record(after, CorrectionRecord)
    assert second.number == 2
    assert [stage.what for stage in second.history][:4] == ["designed", "measured", "corrected", "measured"]
    assert second.history[2].cents != record.history[2].cents
    assert main(["correct", tenor, str(notes), "--done", str(done)]) == 2
    assert "--done goes with a run folder, or with --after" in capsys.readouterr().err


def test_the_curve_says_what_is_reached_and_recommends_the_first_row_of_its_list(made):
    record = read_record(made / "pass.json", CorrectionRecord)
    rows = [point.words for point in record.curve]
    assert rows.index(rows[record.recommended]) == record.recommended
    out = max(abs(note.after_cents) - note.sd_cents for note in record.notes if not note.alternate)
    same = [point for point in record.curve if point.words == rows[record.recommended]]
    assert [point.reached for point in same] == [out <= point.tolerance_cents + 0.1 for point in same]
    page = (made / "pass.html").read_text(encoding="utf-8")
    # A row goes on with a comma where the time did not suffice to prove that nothing less does.
    assert len(re.findall(">recommended[<,]", page)) == 2  # the row and the point
    assert len(re.findall("[> ]not reached[<,]", page)) == sum(not point.reached for point in record.curve)
    assert ">as it is<" in page
