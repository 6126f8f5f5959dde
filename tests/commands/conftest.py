"""A layout and a run as files, for commands to be called on."""

import pytest
from shelf import PIPE, pipe, progress

from optimizer.records.files import write_record
from optimizer.search.run_folder import create_run


@pytest.fixture
def layout(tmp_path, record):
    path = tmp_path / "t00001.json"
    write_record(path, record)
    return path


@pytest.fixture
def run(tmp_path, record):
    folder = create_run(tmp_path / "results", pipe(PIPE), seed=7, minutes=1.0, trials=1, workers=1)
    folder.keep(record, record.model_dump_json(indent=1))
    folder.close(progress("trials", 1))
    return folder.path
