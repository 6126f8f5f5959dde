"""What a run folder holds does not depend on the order in which layouts come, and is thinned alike from its first start
on."""

import itertools

import pytest
from shelf import PIPE, pipe, progress

from optimizer.records.files import read_record
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.records.sameness import Sameness, widths
from optimizer.search.run_folder import create_run, has_begun, reopen_run, saved_layouts
from optimizer.search.runs import Limits, resume
from optimizer.solving.doubt import sameness

SAME = Sameness(stated_cents=1.0, doubt_cents={"tuning": 2.5, "worst_note": 8.0}, brought_cents={"diameter": 3.0})
NAMES = ("tuning", "stretch", "unevenness")


def lines(record, *rows):
    """Layouts by their number, tuning, stretch, violation."""
    for number, tuning, stretch, violation in rows:
        figures = record.objectives | {"tuning": tuning, "stretch": stretch}
        margins = {"web.g1-g2": -violation}
        yield record.model_copy(
            update={"id": f"t{number}", "objectives": figures, "margins_mm": margins, "feasible": violation == 0.0}
        )


def kept(place, layouts):
    folder = create_run(place, pipe(PIPE), 1, None, 1, 1)
    folder.count_as_same(SAME)
    for layout in layouts:
        folder.keep(layout, layout.model_dump_json())
    return folder


@pytest.mark.parametrize("violation", [0.0, 0.3])
def test_order_of_arrival_decides_nothing(violation, record, tmp_path):
    # Feasible ones share a box of 2.5 cents; the others break a limit alike, and the first trial is told.
    rows = [(4, 1.0, 20.2, violation), (9, 1.0, 20.2, violation), (12, 2.4, 20.1, violation), (3, 0.9, 20.6, violation)]
    found = set()
    for number, order in enumerate(itertools.permutations(list(lines(record, *rows)))):
        folder = kept(tmp_path / str(number), order)
        listed = tuple(entry.id for entry in read_record(folder.path / "pareto.json", FrontRecord).layouts)
        assert {path.stem for path in (folder.path / "layouts").iterdir()} == set(listed)
        found.add(listed)
    # In widths t4 and t9 come to 0.4 + 20.2, t12 to 0.96 + 20.1, t3 to 0.36 + 20.6.
    assert found == {("t3", "t4") if violation == 0.0 else ("t3",)}


def test_a_run_that_goes_on_keeps_its_widths(record, tmp_path):
    folder = kept(tmp_path, lines(record, (1, 0.4, 20.5, 0.0), (2, 2.0, 10.5, 0.0)))
    folder.note_progress(progress(None))
    again = reopen_run(folder.path, NAMES, saved_layouts(folder.path), {})
    assert again.run.sameness == SAME
    assert again.front.widths == folder.front.widths == {"tuning": 2.5, "stretch": 1.0, "unevenness": 0.5}
    assert read_record(folder.path / "pareto.json", FrontRecord).thinned_to == again.front.widths


def test_a_run_that_waited_finds_its_sameness_at_its_first_start_and_no_later(tmp_path):
    folder = create_run(tmp_path, pipe(PIPE), 1, None, 1, 1)
    assert not has_begun(folder.path)
    limits = Limits(None, 1, 1, 1)
    resume(folder.path, limits, lambda status: None, lambda line: None)
    run = read_record(folder.path / "run.json", RunRecord)
    assert run.sameness == sameness(pipe(PIPE))
    front = read_record(folder.path / "pareto.json", FrontRecord)
    assert front.thinned_to == widths(NAMES, run.sameness)
    run = run.model_copy(update={"sameness": None})  # as an older version left it
    (folder.path / "run.json").write_text(run.model_dump_json())
    resume(folder.path, limits, lambda status: None, lambda line: None)
    assert read_record(folder.path / "run.json", RunRecord).sameness is None
    assert read_record(folder.path / "pareto.json", FrontRecord).thinned_to == widths(NAMES, None)


def test_what_was_in_the_way_counts_on_when_a_run_goes_on(record, tmp_path):
    # Seven limits broken by one trial each, one of them by two: none is forgotten between two starts.
    names = [f"web.g{n}-g{n + 1}" for n in range(1, 8)]
    (plain,) = lines(record, (1, 0.4, 20.5, 0.3))
    folder = create_run(tmp_path, pipe(PIPE), 1, None, 9, 1)
    for number, name in enumerate(names):
        missed = plain.model_copy(update={"id": f"t{number}", "margins_mm": {name: -0.1}, "binds": []})
        folder.keep(missed, missed.model_dump_json())
    folder.note_progress(progress(None))
    again = reopen_run(folder.path, NAMES, saved_layouts(folder.path), {"trials_done": 9})
    last = plain.model_copy(update={"id": "t7", "margins_mm": {names[6]: -0.1}, "binds": []})
    again.keep(last, last.model_dump_json())
    again.note_progress(progress(None))
    run = read_record(folder.path / "run.json", RunRecord)
    assert run.broken == dict.fromkeys(names, 1) | {names[6]: 2}
    assert run.looked_at == 8


def test_a_run_that_goes_on_clears_its_own_half_files_and_leaves_those_of_others(record, tmp_path):
    folder = kept(tmp_path, lines(record, (1, 0.4, 20.5, 0.0))).path
    own = ["run.json.part", "journal.mark.part", "layouts/t0.json.part", "layouts/t000000012.json.part"]
    others = [
        "report.html.part",
        "by-hand/h1.json.part",
        "layouts/mine.json.part",
        "notes.part",
        ".parts.x1.part/a.csv",
    ]
    for name in (*own, *others):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text("{")
    assert list(saved_layouts(folder)) == ["t1"]
    assert [name for name in own if (folder / name).exists()] == []
    assert [name for name in others if not (folder / name).exists()] == []


def test_the_best_that_is_told_is_on_the_front(record, tmp_path):
    # The second takes the first one's box, by what it stretches less.
    folder = kept(tmp_path, lines(record, (1, 0.92, 20.9, 0.0), (2, 0.95, 20.1, 0.0)))
    assert list(folder.front.members) == ["t2"]
    assert (folder.best["tuning"], folder.best["stretch"]) == (0.95, 20.1)
    assert not kept(tmp_path / "beside", lines(record, (1, 0.9, 20.9, 0.3))).best
