"""What is kept of CoolProp is what the library says."""

import pytest
from fluids import KEPT, computed


def test_every_answer_kept_is_the_librarys():
    assert len(KEPT) > 100
    assert [computed(asked) for asked, _ in KEPT] == pytest.approx([answer for _, answer in KEPT], rel=1e-9)
