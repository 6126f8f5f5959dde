"""Files of records: what is refused and in what words, and writing that leaves whole files."""

import json
import os
from importlib import resources

import pytest
from shelf import pipe

from optimizer.records.files import (
    OLDER,
    SCHEMA_VERSION,
    RecordError,
    make_private,
    read_record,
    write_record,
    write_text,
)
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord
from optimizer.search.lock import sole_writer
from optimizer.search.run_folder import create_run, new_folder

SCHEMAS = resources.files("optimizer.records").joinpath("schemas")


def refused(path, text, kind=FrontRecord):
    path.write_text(text)
    with pytest.raises(RecordError) as caught:
        read_record(path, kind)
    sentence = str(caught.value)
    assert str(path) in sentence
    return sentence.replace(str(path), "FILE")


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(RecordError, match=r"there is no file .*none\.json"):
        read_record(tmp_path / "none.json", FrontRecord)


def test_a_folder_is_no_record(tmp_path):
    with pytest.raises(RecordError, match="is a folder; name a file in it"):
        read_record(tmp_path, FrontRecord)


@pytest.mark.parametrize("text", ["", "{", "not JSON", '{"a": 1,}', "[1, 2"])
def test_what_is_not_json_is_refused(tmp_path, text):
    assert refused(tmp_path / "a.json", text).startswith("FILE cannot be read as JSON: ")


def test_bytes_that_are_no_text_are_refused(tmp_path):
    path = tmp_path / "a.json"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(RecordError, match="cannot be read as JSON"):
        read_record(path, FrontRecord)


@pytest.mark.parametrize("text", ["[]", "3", "null", '{"schema_name": "other"}', "{}"])
def test_another_kind_of_file_is_refused(tmp_path, text):
    assert refused(tmp_path / "a.json", text).startswith("FILE is not a holewright-front file")


def test_a_layout_is_no_front(tmp_path, record):
    assert "is not a holewright-front file" in refused(tmp_path / "a.json", record.model_dump_json())


@pytest.mark.parametrize("version", ["3.0.0", "0.9", "", "one"])
def test_another_major_version_is_refused(tmp_path, record, version):
    data = json.loads(record.model_dump_json()) | {"schema_version": version}
    sentence = refused(tmp_path / "a.json", json.dumps(data), LayoutRecord)
    assert (
        sentence
        == f"FILE has schema version {version}; this program reads {OLDER}.x and {SCHEMA_VERSION.split('.')[0]}.x"
    )


def test_a_file_without_a_version_is_refused(tmp_path, record):
    data = json.loads(record.model_dump_json())
    del data["schema_version"]
    assert refused(tmp_path / "a.json", json.dumps(data), LayoutRecord).startswith("FILE has no schema version")


def test_a_later_minor_version_is_read(tmp_path, record):
    path = tmp_path / "a.json"
    path.write_text(json.dumps(json.loads(record.model_dump_json()) | {"schema_version": "2.7.3"}))
    assert read_record(path, LayoutRecord).holes == record.holes


def test_a_missing_or_wrong_entry_is_located(tmp_path, record):
    data = json.loads(record.model_dump_json())
    data["holes"][2]["diameter_mm"] = "wide"
    assert "holes.2.diameter_mm" in refused(tmp_path / "a.json", json.dumps(data), LayoutRecord)
    del data["bore"]
    data["holes"][2]["diameter_mm"] = 5.0
    assert "at bore" in refused(tmp_path / "b.json", json.dumps(data), LayoutRecord)


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_numbers_that_are_none_are_refused(tmp_path, record, number):
    text = record.model_dump_json().replace(f'"a4_hz":{record.reference.a4_hz}', f'"a4_hz":{number}')
    assert number in text
    refused(tmp_path / "a.json", text, LayoutRecord)


def test_a_failing_write_leaves_the_old_file(tmp_path, record, monkeypatch):
    path = tmp_path / "layout.json"
    write_record(path, record)
    before = path.read_bytes()

    def no_room(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", no_room)
    with pytest.raises(OSError, match="No space"):
        write_record(path, record.model_copy(update={"id": "other"}))
    assert path.read_bytes() == before
    assert read_record(path, LayoutRecord).id == record.id


def test_a_write_makes_its_folder_and_leaves_nothing_beside_the_file(tmp_path):
    write_text(tmp_path / "a" / "b" / "c.txt", "text\n")
    assert [path.name for path in (tmp_path / "a" / "b").iterdir()] == ["c.txt"]


def test_a_layout_whose_notes_speak_of_other_holes_is_refused(tmp_path, record):
    path = tmp_path / "layout.json"
    write_record(path, record)
    data = json.loads(path.read_text())
    data["notes"][0]["openness"].pop()
    path.write_text(json.dumps(data))
    with pytest.raises(
        RecordError,
        match=f"the whole: openness of note .* speaks of {len(record.holes) - 1} of {len(record.holes)} holes",
    ):
        read_record(path, LayoutRecord)


@pytest.fixture
def generous():
    """A process that shares whatever it makes with everybody."""
    before = os.umask(0)
    yield
    os.umask(before)


def test_a_folder_is_made_for_its_owner_alone_and_one_that_is_there_is_left(tmp_path, generous):
    make_private(tmp_path / "results" / "run")
    assert (tmp_path / "results" / "run").stat().st_mode & 0o777 == 0o700
    (tmp_path / "shared").mkdir()
    make_private(tmp_path / "shared", exist_ok=True)
    assert (tmp_path / "shared").stat().st_mode & 0o777 == 0o777
    with pytest.raises(FileExistsError):
        make_private(tmp_path / "shared")


def test_a_run_below_a_file_is_refused_at_once(tmp_path):
    # Else a free name for it would be looked for without end.
    (tmp_path / "results").write_text("")
    with pytest.raises(NotADirectoryError):
        new_folder(tmp_path / "results", "run")
    with pytest.raises(NotADirectoryError):
        new_folder(tmp_path / "results" / "deep", "run")


def test_a_run_is_its_owners_alone(tmp_path, generous):
    folder = create_run(tmp_path / "results", pipe(), 1, None, 1, 1)
    assert folder.path.stat().st_mode & 0o777 == 0o700


def test_whoever_a_run_is_opened_to_can_read_who_writes_to_it(tmp_path, generous):
    # As a service of another user must, to tell a search that runs from one that was stopped.
    with sole_writer(tmp_path):
        assert (tmp_path / "lock").stat().st_mode & 0o777 == 0o644
