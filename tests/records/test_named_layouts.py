"""The layout that a path names, for every command that takes a run folder or a layout file."""

import pytest
from made_records import layout, run_folder
from shelf import PIPE

from optimizer.commands.cli import main
from optimizer.records.files import RecordError, write_record
from optimizer.records.named_layouts import by_hand_files, chosen_file, chosen_layout, layout_files, run_of
from optimizer.records.parentage import MovedNumber, Parentage
from optimizer.search.run_folder import saved_layouts


def tuned(name, tuning, **changes):
    """A layout whose notes are so far out of tune."""
    return layout(name, objectives=layout().objectives | {"tuning": tuning}, **changes)


@pytest.fixture
def run(tmp_path):
    """A run whose second layout is nearest in tune."""
    layouts = [tuned("t00000", 6.0), tuned("t00004", 2.0), tuned("t00009", 3.0)]
    return run_folder(tmp_path / "run", layouts, project_text=PIPE)


def test_of_a_run_the_one_nearest_in_tune_or_the_one_wanted(run):
    assert chosen_file(run) == run / "layouts" / "t00004.json"
    assert chosen_layout(run, "t00009").id == "t00009"
    assert [path.stem for path in layout_files(run)] == ["t00000", "t00004", "t00009"]
    assert chosen_layout(run, "t9").id == chosen_layout(run, "t000000009").id == "t00009"
    assert layout_files(run, "t00000") == [run / "layouts" / "t00000.json"]


def test_a_layout_file_is_itself_and_lies_in_its_run(run, monkeypatch):
    file = run / "layouts" / "t00000.json"
    assert chosen_layout(file).id == "t00000"
    assert layout_files(file) == [file]
    assert run_of(file) == run_of(run) == run
    monkeypatch.chdir(file.parent)
    assert run_of(type(file)(file.name)) == run


def test_a_layout_changed_by_hand_is_meant_by_its_name_alone_and_stays_where_a_search_goes_on(run, capsys):
    change = MovedNumber(name="position_mm.g2", was=200.0, now=198.5)
    parentage = Parentage(layout="t00004", moved=[change], followed=[change, change])
    for number in (10, 9):
        write_record(run / "by_hand" / f"hand-{number}.json", tuned(f"hand-{number}", 1.0, parentage=parentage))
    (run / "by_hand" / "notes.json").write_text("{}")
    assert list(by_hand_files(run)) == ["hand-9", "hand-10"]
    assert chosen_layout(run, "hand-10").parentage == parentage
    assert chosen_file(run) == run / "layouts" / "t00004.json"  # not the best tuned of all, for it is not on the front
    assert list(saved_layouts(run)) == ["t00000", "t00004", "t00009"]
    assert main(["show", str(run / "by_hand" / "hand-9.json")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "changed by hand from layout t00004: g2 position 198.5 mm (was 200); 2 numbers followed" in said


def test_where_none_is_feasible_one_must_be_named(tmp_path):
    run = run_folder(tmp_path / "run", [tuned("t00001", 1.0, feasible=False)])
    assert chosen_layout(run).id == "t00001"
    with pytest.raises(RecordError, match=r"no layout of .* is feasible; name one with --layout: t00001"):
        chosen_layout(run, feasible=True)
    assert chosen_layout(run, "t00001", feasible=True).id == "t00001"


COMMANDS = {
    "reach": ("--layout",),
    "prices": ("--layout",),
    "tolerance": ("--layout",),
    "predict": ("--layout",),
    "resonances": ("--layout",),
    "compare": (),
}


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_says_the_same_of_the_same_mistake(command, run, tmp_path, capsys):
    mistakes = {
        (tmp_path,): f"{tmp_path} is no run folder: there is no pareto.json in it; of 2 runs in it the latest is "
        f"{tmp_path / 'none'}",
        (
            run_folder(tmp_path / "none", [], project_text=PIPE),
        ): "has no layout yet: it ended before its first one was done",
        (tmp_path / "nowhere.json",): "there is no file",
        (run / "run.json",): "is not a holewright-layout file",
    }
    if COMMANDS[command]:
        mistakes |= {
            (run, "--layout", "t7"): f"{run} has no layout 't7'; it has t00000, t00004, t00009",
            (run / "layouts" / "t00000.json", "--layout", "t7"): "--layout picks one of a run folder",
        }
    for arguments, said in mistakes.items():
        assert main([command, *map(str, arguments)]) == 2
        out, err = capsys.readouterr()
        assert (out, said in err) == ("", True), err


def test_brackets_in_a_name_are_part_of_it(tmp_path, capsys):
    named = layout(instrument="Lantern [bold]Tenor[/]")
    run = run_folder(tmp_path / "run", [named], project_text=PIPE)
    target = tmp_path / "a [red].json"
    assert main(["compare", str(run), str(run), "--json", str(target)]) == 0
    said = capsys.readouterr().out
    assert "Lantern [bold]Tenor[/]" in said
    assert f"written: {target}" in said
