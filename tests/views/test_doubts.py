"""Every table with a +- says what it is, and of a layout in full what it is made of."""

import pytest
from made_records import layout, pair
from page_reader import Reader

from optimizer.analysis.prediction import predicted
from optimizer.analysis.tolerance import tolerance
from optimizer.records.shares import Share
from optimizer.views.doubts import doubt_notes, shares_words
from optimizer.views.html import rendered
from optimizer.views.layout_section import layout_section
from optimizer.views.layout_tables import notes_table
from optimizer.views.limit_tables import reach_table
from optimizer.views.tolerance_tables import deviations_table
from optimizer.views.tolerance_tables import notes_table as bands_table

SHARES = [Share(name="bore of piece 1", percent=61.6), Share(name="air", percent=38.1), Share(name="reed", percent=0.3)]


@pytest.fixture(scope="module")
def told(record):
    return tolerance(record, 20, 1, 10.0, 0.5)


def doubtful(table):
    """Headings of a table's columns that have a +-."""
    return [column.headed(" ") for column in table.columns if "+-" in column.headed(" ")]


def test_every_deviation_has_a_heading_in_words_and_is_explained(told):
    tables = [
        (notes_table(layout().notes), ["doubt +-"]),
        (reach_table([pair("L1-L2", 20.0)]), ["limit +-"]),
        (deviations_table(told.deviations), ["deviation +-"]),
        (bands_table(told), ["making +-", "playing +-", "formulas +-", "slopes: +-", "drawn: +-"]),
    ]
    for table, expected in tables:
        assert doubtful(table) == expected
        assert "one standard deviation" in " ".join([table.caption, *table.notes])


def test_what_a_doubt_is_made_of_stands_below_the_notes_greatest_first():
    assert shares_words(SHARES) == "bore of piece 1 62 %, air 38 %"
    assert doubt_notes(SHARES)[-1].endswith("variances: bore of piece 1 62 %, air 38 %")
    assert len(doubt_notes()) == 1
    page = layout_section(layout(doubt=SHARES))
    assert "bore of piece 1 62 %, air 38 %" in " ".join(Reader(page).words)
    bare = rendered("table.html", table=notes_table(layout().notes))
    assert "made of" not in " ".join(Reader(bare).words)


def test_a_prediction_in_other_air_says_what_its_doubt_is_made_of(record):
    # In colder air the same deviations move the notes by nearly the same cents.
    found = predicted(record, reed_degC=20.0, bell_degC=16.0)
    assert [share.name for share in found.doubt] == [share.name for share in record.doubt]
    assert [s.percent for s in found.doubt] == pytest.approx([s.percent for s in record.doubt], abs=3.0)
    assert [share.percent for share in predicted(record).doubt] == [share.percent for share in record.doubt]


def test_a_layout_and_its_tolerance_tell_the_same_doubt(record, told):
    # One by the search, in tenths of a percent, the other worked out anew from the file.
    assert {share.name for share in record.doubt} == {
        "holes",
        "bore of the body",
        "shrinkage",
        "air",
        "reed",
        "formulas",
    }
    assert sum(share.percent for share in record.doubt) == pytest.approx(100.0, abs=0.31)
    assert [share.name for share in told.doubt] == [share.name for share in record.doubt]
    assert [share.percent for share in told.doubt] == pytest.approx([s.percent for s in record.doubt], abs=0.0501)
