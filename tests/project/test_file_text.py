"""Files that are not there, or no text in UTF-8: what is told of them. Codes of letters: the codecs of Python."""

import pytest
from places import CONFIGS
from shelf import PIPE

from optimizer.project.loading import ProjectError, load_project

TEXT = PIPE.replace("no keys", "keine Klappen, fünf Töne")


def told(path):
    with pytest.raises(ProjectError) as caught:
        load_project(path)
    return caught.value.problems


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("utf-16", "is text in UTF-16; save it as UTF-8"),
        ("latin-1", "has 'ü' on line 1 as Windows or Latin-1 writes it; save the file as UTF-8"),
        ("cp1252", "has 'ü' on line 1 as Windows or Latin-1 writes it; save the file as UTF-8"),
    ],
)
def test_text_in_another_code_is_told_with_its_letter(code, said, tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_bytes(TEXT.encode(code))
    assert told(path) == [f"{path} {said}; a project is TOML text in UTF-8"]


@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig"])
def test_utf_8_does_with_a_mark_and_without(code, tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_bytes(TEXT.replace("\n", "\r\n").encode(code))
    assert load_project(path).project.instrument.name == "Lantern Hall Practice Pipe"


def test_tabs_do_no_harm(tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE.replace("   1  ", "\t1\t").replace(" = ", "\t=\t"))
    assert len(load_project(path).notes) == 5


def test_a_hand_that_is_not_there_names_those_that_are_nearest_first(tmp_path):
    (tmp_path / "hands").mkdir()
    for name in ("ida", "ole", "median-adult"):
        (tmp_path / "hands" / f"{name}.toml").write_text("spacing_min_mm = 16\n")
    (tmp_path / "pipe.toml").write_text(f'hand = "hands/mediam-adult.toml"\n{PIPE}')
    (said,) = told(tmp_path / "pipe.toml")
    assert said.startswith(f"there is no hand file {tmp_path / 'hands' / 'mediam-adult.toml'}; there are: median-adult")
    (tmp_path / "pipe.toml").write_text(f'hand = "ole.toml"\n{PIPE}')  # the folder is forgotten
    (said,) = told(tmp_path / "pipe.toml")
    assert "; there are: hands/ole.toml, " in said


def test_a_stock_file_whose_folder_is_forgotten_is_found_in_it(tmp_path):
    (tmp_path / "stock").mkdir()
    (tmp_path / "stock" / "drawer.toml").write_text("drill_mm = [5]\n")
    (tmp_path / "pipe.toml").write_text(f'stock = "drawer.toml"\n{PIPE}')
    (said,) = told(tmp_path / "pipe.toml")
    assert "; there are: stock/drawer.toml, pipe.toml" in said


def test_a_project_that_is_not_there_names_the_nearest():
    (said,) = told(CONFIGS / "lantern-tenor-lowa.toml")
    assert "; there are: lantern-tenor-low-a.toml, lantern-tenor.toml, " in said
