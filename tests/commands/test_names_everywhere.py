"""Names of notes come out as they went in: in every table, page, picture and file that tells of a layout.

B natural is H, C sharp here a flat (Des5): German names; and English flats. Which names belong to which keys is held in
tests/project/test_note_names.py."""

import re

import pytest
from commanded import told
from shelf import changed

FLATS = changed("C#5  1", "Db5  1", changed("B4   1", "Bb4  1"))
GERMAN = changed("[chart]", '[chart]\nnote_names = "german"', changed("B4   1", "H4   1", changed("C#5  1", "Des5 1")))
WRITTEN = {"flats": (FLATS, {"Bb4", "Db5"}), "german": (GERMAN, {"H4", "Des5"})}
OTHER = {"flats": {"A#4", "C#5", "B4", "Des5"}, "german": {"B4", "C#5", "Db5", "Cis5"}}
NAME = re.compile(r"(?<![\w#-])[A-H](?:#|b|is|es|s)?[2-6](?!\w)")


@pytest.fixture(scope="module", params=WRITTEN)
def searched(request, tmp_path_factory):
    """Which names, the folder of a search of a project that has them, and its layout."""
    from optimizer.commands.cli import main

    place = tmp_path_factory.mktemp(request.param)
    (place / "pipe.toml").write_text(WRITTEN[request.param][0])
    search = ["search", str(place / "pipe.toml"), "--trials", "2", "--workers", "1", "--seed", "1"]
    assert main([*search, "--anyway", "--results", str(place / "results")]) in (0, 1)
    (run,) = (place / "results").iterdir()
    return request.param, run, sorted(run.glob("layouts/*.json"))[0]


@pytest.mark.parametrize(
    "command",
    ["show", "predict", "resonances", "tolerance --samples 20", "reach --quick", "bench", "show RUN --all", "check"],
)
def test_tables_have_the_names_of_the_project(searched, command, capsys):
    names, run, layout = searched
    word, *more = command.split()
    about = layout if "RUN" not in more else run
    if word == "check":
        about, more = run.parents[1] / "pipe.toml", ["--quick"]
    code, out, err = told(capsys, word, about, *[each for each in more if each != "RUN"])
    assert code in (0, 1), err
    found = set(NAME.findall(out))
    assert not found & OTHER[names]
    if word in ("show", "predict", "resonances", "tolerance", "bench") and about == layout:
        assert WRITTEN[names][1] <= found


def test_pages_pictures_and_files_have_them_too(searched, tmp_path, capsys):
    names, run, layout = searched
    page, sheet = tmp_path / "page.html", tmp_path / "bench.csv"
    assert told(capsys, "compare", layout, layout, "--html", page)[0] == 0
    assert told(capsys, "bench", layout, "--csv", sheet)[0] == 0
    for file in (page, sheet, run / "report.html", layout):
        text = re.sub(r"(?s)<script.*?</script>|<style.*?</style>", "", file.read_text())
        found = set(NAME.findall(text))
        assert WRITTEN[names][1] <= found, file.name
        assert not found & OTHER[names], file.name
