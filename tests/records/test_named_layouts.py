"""The layout that a path names, for every command that takes a run folder or a layout file."""

import pytest
from made_records import layout, run_folder
from shelf import PIPE

from optimizer.commands.cli import main
from optimizer.records.files import RecordError
from optimizer.records.named_layouts import chosen_file, chosen_layout, layout_files, run_of


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
        (tmp_path,): f"{tmp_path} is no run folder: there is no pareto.json in it",
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
