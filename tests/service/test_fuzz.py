"""Anything at all, sent to the service and to the reader of projects: never a fault, and answers as documented.

`tests/benchmarks/fuzz_service.py` does the same for as long as it is told.
"""

import pytest
from fuzzed import check_project, mutated, operations, shelf
from hypothesis import given, settings
from hypothesis import strategies as st
from served import PROJECTS, served

from optimizer.service.offered import hand_of

EXAMPLES = 4
HAND = hand_of(PROJECTS, "small-adult.toml", None)


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    results = shelf(tmp_path_factory.mktemp("shelf"))
    with served(results, work_seconds=3.0) as client:
        yield client


def test_every_operation_holds_against_anything(client):
    counted, failures = operations(client, EXAMPLES, seconds=30.0)
    assert failures == []
    assert len(counted) >= 25
    assert all(counted.values())


@settings(max_examples=40)
@given(mutated(), st.booleans())
def test_a_project_changed_anyhow_is_sound_or_told(text, with_hand):
    check_project(text, HAND if with_hand else None)


@settings(max_examples=20)
@given(st.text(max_size=300), st.booleans())
def test_any_text_is_told(text, with_hand):
    check_project(text, HAND if with_hand else None)
