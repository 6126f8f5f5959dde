"""Below which difference two layouts are the same: said alike in a terminal, a report and a service's summary."""

import pytest
from made_records import layout, run_folder
from page_reader import Reader

from optimizer.commands.cli import main
from optimizer.records.sameness import Sameness
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf
from optimizer.views.objectives import same_words

BY_PRINT = Sameness(
    stated_cents=1.0, doubt_cents={"tuning": 2.38, "worst_note": 9.7}, brought_cents={"diameter": 4.0, "chimney": 0.79}
)
BY_WISH = BY_PRINT.model_copy(update={"stated_cents": 3.0})


WHY = (
    "(one standard deviation), as no hole comes out just as drawn; what that brings to a note, in cents: diameters "
    "4.0, chimneys 0.8"
)


@pytest.mark.parametrize(
    ("sameness", "expected"),
    [
        (BY_PRINT, f"2.4 cents apart in tuning are the same: two prints of one layout differ by as much {WHY}"),
        (
            BY_WISH,
            "3.0 cents apart in tuning are the same by the project's same_tuning_cents: two prints of one layout "
            f"differ by 2.4 cents {WHY}",
        ),
    ],
)
def test_the_sentence_says_how_much_and_why(sameness, expected):
    assert same_words(sameness) == f"two layouts less than {expected}"


def test_nothing_is_said_where_nothing_tells():
    nothing = Sameness(stated_cents=0.0, doubt_cents={"tuning": 0.0, "worst_note": 0.0}, brought_cents={})
    assert same_words(None) == same_words(nothing) == ""


@pytest.mark.parametrize("sameness", [BY_PRINT, BY_WISH, None])
def test_it_stands_wherever_a_run_is_shown(sameness, tmp_path, capsys):
    folder = run_folder(tmp_path / "run", [layout()], sameness=sameness)
    said = same_words(sameness)
    assert main(["show", str(folder)]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert main(["report", str(folder)]) == 0
    page = Reader((folder / "report.html").read_text()).words
    same = Shelf(Settings(results=tmp_path, projects=tmp_path)).summary("run").same
    assert same == said
    assert ("are the same" in out) == (said != "") == any("are the same" in words for words in page)
    assert said in out
    assert not said or said in page
