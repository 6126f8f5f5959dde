"""The finder on the practice pipe: the tree against the chain it is a short cut for, the chart's lines found again."""

import json

import jsonschema
import numpy as np
import pytest
from commanded import told
from shelf import PIPE, pipe

from acoustics.chain import chain_of
from acoustics.fingering_tree import rough_resonances
from acoustics.resonances import spectrum
from acoustics.scan import susceptances
from optimizer.analysis.fingerings import ROUGHLY_CENTS, Finder, fingerings_of, wanted_notes, with_lines
from optimizer.project.loading import load_project
from optimizer.project.reachable import reachable
from optimizer.records.files import write_record
from optimizer.records.kinds import schema_text
from optimizer.search.run_folder import create_run
from optimizer.solving.real_resonances import record_duct


@pytest.fixture
def finder(record):
    return Finder(pipe(), record)


def ways(finder, *names, off=0.0, within=15.0, most=100):
    wanted = wanted_notes(finder.loaded, finder.record, names, off)
    return fingerings_of(finder, wanted, within, most).notes


def test_the_tree_crosses_zero_where_the_chain_does(record):
    duct, openness = record_duct(record), reachable(pipe().project, pipe().notes).openness
    f = np.geomspace(200.0, 1500.0, 150)
    rough = rough_resonances(duct, openness, f)
    whole = susceptances(chain_of(duct), openness, f)
    upward = (whole[:, :-1] < 0.0) & (whole[:, 1:] >= 0.0)
    assert len(openness) == 16
    assert np.sum(upward) == len(rough.row) > 16
    cells = np.searchsorted(f, rough.frequency) - 1
    assert np.all(upward[rough.row, cells])
    for row, found in enumerate(spectrum(duct, openness, 200.0, 1500.0)):
        mine = rough.frequency[rough.row == row]
        for hz in found.frequency[found.frequency < 1400.0]:
            assert np.min(np.abs(1200.0 * np.log2(mine / hz))) < ROUGHLY_CENTS


def test_every_main_line_of_the_chart_is_found_again(finder, record):
    found = ways(finder, within=50.0)
    for note, found_of in zip(record.notes, found, strict=True):
        (own,) = [way for way in found_of.ways if way.kind == "chart"]
        assert own.touches == note.touches
        assert own.cents == pytest.approx(note.cents, abs=1e-6)
        assert own.sd_cents == pytest.approx(note.sd_cents, rel=1e-6)


def test_a_line_of_the_chart_is_worked_out_however_hard_it_is(finder, monkeypatch):
    monkeypatch.setattr("optimizer.analysis.fingerings.EXACT_MOST", 2)
    assert all(any(way.kind == "chart" for way in note.ways) for note in ways(finder, within=50.0))


def test_ways_that_are_not_in_the_chart_sound_as_they_are_told_once_they_are(finder):
    new = [way for note in ways(finder, within=50.0) for way in note.ways if way.kind != "chart"]
    assert new
    lines = "\n".join(way.line for way in new)
    loaded = pipe(PIPE.replace("E5   1  none\n", f"E5   1  none\n{lines}\n"))
    openness = np.array([note.openness for note in loaded.notes[-len(new) :]])
    exact = spectrum(finder.duct, openness, 150.0, 3000.0)
    for way, found in zip(new, exact, strict=True):
        assert found.frequency[way.register_number - 1] == pytest.approx(way.frequency_hz, rel=1e-6)


def test_a_way_to_a_note_that_the_chart_lacks_is_a_line_of_its_own(record):
    loaded = pipe("".join(line for line in PIPE.splitlines(True) if not line.startswith("C#5 ")))
    found = Finder(loaded, record)
    (note,) = ways(found, "C#5", within=50.0)
    text = with_lines(loaded, [note.ways[0].line])
    assert {each.written for each in pipe(text).notes} - {each.written for each in loaded.notes} == {"C#5"}


def test_a_quarter_tone_is_looked_for_beside_its_note(finder):
    (found,) = ways(finder, "B4", off=50.0, within=50.0)
    assert found.target_hz == pytest.approx(finder.record.notes[1].target_hz * 2.0 ** (1.0 / 24.0))
    assert all(way.kind != "chart" for way in found.ways)
    assert all(way.cents == pytest.approx(1200.0 * np.log2(way.frequency_hz / found.target_hz)) for way in found.ways)


def test_the_best_stands_first_and_few_stay_few(finder):
    (whole,), (few,) = ways(finder, "C#5", within=50.0), ways(finder, "C#5", within=50.0, most=1)
    assert few.ways == whole.ways[:1]
    assert few.left_out == len(whole.ways) - 1
    assert whole.ways[0].kind == "chart"


def test_the_command_tells_lines_for_the_chart(tmp_path, record, capsys):
    run = create_run(tmp_path, pipe(PIPE), seed=7, minutes=1.0, trials=1, workers=1)
    run.keep(record, record.model_dump_json(indent=1))
    place = run.path / "layouts" / f"{record.id}.json"
    code, out, err = told(capsys, "fingerings", place, "--note", "A4", "--within", 50, "--json", tmp_path / "f.json")
    assert (code, err) == (0, "")
    assert "16 fingerings that hands can hold" in out
    assert "A4  1  L123 R1" in out
    jsonschema.validate(json.loads((tmp_path / "f.json").read_text()), json.loads(schema_text("fingerings")))
    more = tmp_path / "more.toml"
    asked = ("fingerings", place, "--within", 50, "--into", more)
    assert told(capsys, *asked)[0] == 0
    new = [note for note in load_project(more).notes if note.alternate]
    assert new
    assert [note for note in load_project(more).notes if not note.alternate] == pipe().notes
    assert all(f"{note.written}  {note.register}  {note.touches}  alternate" in more.read_text() for note in new)
    code, _, err = told(capsys, *asked, "--off", 50)
    assert code == 2
    assert "a chart has lines for its notes alone, none for what lies beside them" in err
    write_record(tmp_path / "alone" / "layout.json", record)
    code, _, err = told(capsys, "fingerings", tmp_path / "alone" / "layout.json")
    assert code == 2
    assert "lies in no run; name its project, whose keys say what hands can hold: --project FILE" in err
    code, _, err = told(capsys, "fingerings", place, "--note", "A2", "H9")
    assert code == 2
    assert "A2 lies beyond the chart, from A4 to E5" in err
    assert "H9" in err
