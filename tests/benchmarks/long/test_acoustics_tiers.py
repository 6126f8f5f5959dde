"""No number of a chain makes an error or a slope that is none: every number in turn, by the values that are worst."""

import numpy as np
import pytest
from ducts import make_duct, make_holes

from acoustics.chain import Chain, chain_of
from acoustics.chart_elements import notes_of
from acoustics.tiers import WORST_CENTS, errors_of


@pytest.mark.parametrize("value", [np.nan, np.inf, 0.0, -1.0, 1e300])
def test_no_number_of_a_chain_makes_an_error_or_a_slope_that_is_none(tier, value):
    # Every number of the elements in turn: not one raises, warns, or lets NaN or infinity out.
    holes = make_holes([250], [3], [4], [11])
    chain, notes = chain_of(make_duct([(0, 5), (500, 7)], holes, 3.0)), notes_of([[1.0], [0.0]], [300.0, 170.0])
    vectors = np.repeat(chain.vector[None], chain.sizes.numbers, axis=0)
    np.fill_diagonal(vectors, value)
    many = Chain(vectors, np.repeat(chain.hole[None], len(vectors), axis=0), chain.sizes)
    found = errors_of(many, notes, True)
    assert all(np.all(np.isfinite(row)) for row in found)
    lost = found.error == WORST_CENTS
    assert np.all(found.slope[lost] == 0.0)
    assert np.all(found.alone[lost] == WORST_CENTS)
    if np.isnan(value):
        assert all(np.all(lost[chain.sizes.parts[name]]) for name in ("air", "segment", "bell", "reed"))
