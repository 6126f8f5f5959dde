"""Printer files: taken into a project's text, and refused in a sentence."""

import pytest
from pieced import PIECES
from places import CONFIGS
from shelf import PIPE, changed

from optimizer.project.included import IncludedError, read_included
from optimizer.project.loading import ProjectError, load_project, parse_project
from optimizer.project.printer import Printer

PRINTERS = sorted((CONFIGS / "printers").glob("*.toml"))


@pytest.mark.parametrize("path", PRINTERS, ids=lambda path: path.stem)
def test_a_printer_file_says_what_is_an_estimate(path):
    assert "(estimate)" in read_included(path, Printer, "printer").model.name
    assert "from memory" in path.read_text()


def test_the_text_kept_of_a_project_needs_no_printer_file(tmp_path):
    (tmp_path / "mine.toml").write_text('name = "shelf printer"\nbed_mm = [150, 150, 180]\nshrinkage_percent = 0.4\n')
    text = changed("bed_mm = [200, 180, 300]\nmargin_mm = [10, 8, 6]\n", "", PIECES).replace("[printer]\n", "")
    path = tmp_path / "pipe.toml"
    path.write_text(f'printer = "mine.toml"  # on the shelf\n{text}'.replace("joints = 1", "joints = 2"))
    loaded = load_project(path)
    (tmp_path / "mine.toml").unlink()
    again = parse_project(loaded.text, "pipe.toml")
    assert again.project == loaded.project
    assert again.project.printer.name == "shelf printer"
    assert again.project.piece_max_mm == pytest.approx(170 * 0.996)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (None, "there is no printer file {path}"),
        ("bed = 3\n", "{path}, line 1: bed: there is no such key; did you mean 'bed_mm'?"),
        ("bed_mm = [\n", "{path}, line 1: bed_mm: a bracket [ that begins here is not closed"),
        (PIPE, "{path} is a project file; name a file that holds a printer alone"),
    ],
)
def test_a_broken_printer_file_says_what_to_mend(content, sentence, tmp_path):
    path = tmp_path / "p.toml"
    if content is not None:
        path.write_text(content)
    with pytest.raises(IncludedError) as caught:
        read_included(path, Printer, "printer")
    assert caught.value.problems == [sentence.format(path=path)]


def test_a_text_without_its_folder_cannot_name_a_printer_file():
    with pytest.raises(ProjectError) as caught:
        parse_project(f'printer = "mine.toml"\n{PIPE}', "pipe.toml")
    assert caught.value.problems == ["printer: the file 'mine.toml' is out of reach here; write its [printer] table"]
