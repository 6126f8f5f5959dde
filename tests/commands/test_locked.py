"""`--locked` and `--pieces`: what is printed already goes into the run's project."""

from pieced import LONG

from optimizer.commands.cli import main
from optimizer.records.files import write_record


def test_the_command_writes_the_locked_numbers_into_the_run(printed, tmp_path, monkeypatch, capsys):
    from optimizer.commands import search as commands

    asked = []
    monkeypatch.setattr(commands, "_searched", lambda loaded, *_: asked.append(loaded) or tmp_path)
    monkeypatch.setattr(commands, "_shown", lambda *_: 0)
    project, layout = tmp_path / "pipe.toml", tmp_path / "t00000.json"
    project.write_text(LONG)
    write_record(layout, printed)
    assert main(["search", str(project), "--locked", str(layout), "--pieces", "1"]) == 0
    assert asked[0].project.sections.locked[0].holes == ["g2", "g3", "g4"]
    assert main(["search", str(project), "--locked", str(layout)]) == 2
    assert "give both or neither" in capsys.readouterr().err
    assert main(["search", str(project), "--locked", str(layout), "--pieces", "one"]) == 2
    assert "--pieces must be numbers" in capsys.readouterr().err
    assert main(["search", str(project), "--locked", str(layout), "--pieces", "4"]) == 2
    assert "has pieces 1 to 2, but got 4" in capsys.readouterr().err
