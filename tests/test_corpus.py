"""Files that a search guided by coverage found, read once more: each is sound, or told in sentences, in a moment.

`tests/benchmarks/fuzz_readers.py` searches on; what once failed is named `failed-`, the rest reaches furthest.
"""

import pytest
from fuzzed_readers import CORPUS, READERS, laid_out, outcome

ROOM = 200_000
"""Bytes of all that is kept."""


@pytest.mark.parametrize("name", READERS)
def test_what_a_search_found_is_sound_or_told(name, tmp_path):
    kept = sorted((CORPUS / name).iterdir())
    found = {path.name: outcome(name, path.read_bytes(), laid_out(tmp_path / path.name)) for path in kept}
    assert set(found.values()) <= {"sound", "told"}
    assert found


def test_what_is_kept_is_little_and_all_of_it_is_read():
    assert {path.name for path in CORPUS.iterdir()} == set(READERS)
    assert sum(path.stat().st_size for path in CORPUS.rglob("*") if path.is_file()) < ROOM
