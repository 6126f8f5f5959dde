"""Anything at all, sent to the service and to the reader of projects: never a fault, and answers as documented.

`HOLEWRIGHT_EXAMPLES` sets how many requests each operation gets; by default one as documented and one that is
not. `tests/benchmarks/fuzz_service.py` does the same for as long as it is told.
"""

import os

import pytest
from fuzzed import check_project, mutated, operations, shelf
from hypothesis import given, settings
from hypothesis import strategies as st
from served import PROJECTS, served

from optimizer.service.offered import hand_of

EXAMPLES = int(os.environ.get("HOLEWRIGHT_EXAMPLES", 1))
HAND = hand_of(PROJECTS, "small-adult.toml", None)


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    results = shelf(tmp_path_factory.mktemp("shelf"))
    with served(results, apart=EXAMPLES > 1, work_seconds=3.0) as client:
        yield client


def test_every_operation_holds_against_anything(client):
    counted, failures = operations(client, EXAMPLES, 30.0)
    assert failures == []
    assert len(counted) >= 60
    assert all(counted.values())


@settings(max_examples=10 * EXAMPLES)
@given(mutated(), st.booleans())
def test_a_project_changed_anyhow_is_sound_or_told(text, with_hand):
    check_project(text, HAND if with_hand else None)


@settings(max_examples=5 * EXAMPLES)
@given(st.text(max_size=300), st.booleans())
def test_any_text_is_told(text, with_hand):
    check_project(text, HAND if with_hand else None)
