"""Two conflicts of limits in one instrument with keys, told apart."""

import numpy as np
import pytest
from shelf import KEYED, pipe

from optimizer.limits.conflicts import verdict_on


def names(conflict):
    return {member.name for member in conflict.members}


def test_two_conflicts_are_told_apart():
    text = KEYED.replace("lever_max_mm = 140", "lever_max_mm = 30") + "\n[hand]\nhand_gap_min_mm = 200\n"
    # Gap: h3, R1, ends at 420 + 15 (plate), h5, L3, lies at 260.25: 174.75. Octave: LT lies on h7, from 170, the
    # key's touch 14 mm nearer the reed, 156; v1 ends at 120, on the other side of a body of 30 mm: 36 mm along and
    # 15 pi round, 59.30 mm.
    verdict = verdict_on(pipe(text), seconds=600.0)
    assert len(verdict.conflicts) == 2
    limits = {name for conflict in verdict.conflicts for name in names(conflict) if not name.startswith("range.")}
    assert limits == {"hand_gap.L3-R1", "lever.octave-v1"}
    # Neither alone is enough; within its own conflict each gives what is missing: 25.25 and 29.30 mm.
    within = {m.name: m.within_mm for conflict in verdict.conflicts for m in conflict.members}
    assert within["hand_gap.L3-R1"] == pytest.approx(25.25, abs=0.01)
    assert within["lever.octave-v1"] == pytest.approx((36**2 + (15 * np.pi) ** 2) ** 0.5 - 30, abs=0.01)
    assert all(member.alone_mm is None for conflict in verdict.conflicts for member in conflict.members)
