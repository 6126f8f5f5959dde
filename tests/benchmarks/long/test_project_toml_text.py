"""Texts that are no project, under another hand: told, and soon, whatever they hold."""

import pytest
from places import CONFIGS
from within_bounds import WITHIN, told_soon

from optimizer.project.hand import Hand
from optimizer.project.included import parse_included

HAND = parse_included((CONFIGS / "hands" / "small-adult.toml").read_text(), "small", "small", Hand, "hand")


@pytest.mark.parametrize("what", WITHIN)
def test_what_is_within_bounds_is_told_soon_under_another_hand(what):
    told_soon(WITHIN[what], HAND)
