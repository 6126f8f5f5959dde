"""The bench book of a run as a folder: what a process that was killed left there."""

import pytest

from optimizer.records.bench_book import BenchBook
from optimizer.records.book_entry import ENTRY, Entry
from optimizer.records.files import RecordError, write_record


@pytest.fixture
def book(tmp_path):
    """A book of one entry."""
    book = BenchBook(tmp_path)
    with book.desk() as made:
        book.add(written(made, "first"))
    return book


def written(made, title):
    write_record(made / ENTRY, Entry(kind="fit", layout="t00000", title=title, written="2026-11-28"))
    return made


def former(book, title):
    """What a change puts aside of the entry, and takes away in the end."""
    place = book.folder / ".001.former"
    place.mkdir()
    return written(place, title)


def test_an_entry_that_was_put_aside_when_its_change_was_killed_comes_back(book):
    (book.folder / "001").rename(book.folder / ".001.former")
    with book.held():
        assert book.told("001").title == "first"


def test_what_a_change_had_put_aside_does_not_come_back_for_an_entry_that_is_taken_out(book):
    # Killed after the new one stood in its place.
    former(book, "before")
    book.take_out("001")
    with book.held(), pytest.raises(RecordError):
        book.told("001")
    assert book.names() == []
