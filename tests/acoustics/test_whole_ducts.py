"""Keyed cones against own finite elements of the whole."""

import json

import numpy as np
import pytest
from ducts import cents
from places import REFERENCE

from acoustics.plain_duct import PlainDuct

ROWS = json.loads((REFERENCE / "whole" / "ducts.json").read_text(encoding="utf-8"))
FINEST = {row["name"]: row for row in sorted(ROWS, key=lambda row: -row["rim"]) if row["holes"]}


@pytest.mark.parametrize("name", FINEST)
def test_a_cone_with_six_padded_seats_sounds_as_in_finite_elements(name, tier):
    # 3-D Helmholtz, lossless, good to 0.2 cent (tests/reference/whole); no constant was fitted to it.
    row = FINEST[name]
    found = PlainDuct(row["bore"], row["outer"], row["holes"], 343.2, lossless=True).resonances()
    expected = np.array(row["resonances"])
    off = cents(found.frequency[: expected.size], expected)
    assert expected.size == 4
    assert np.abs(off).max() < 0.7
