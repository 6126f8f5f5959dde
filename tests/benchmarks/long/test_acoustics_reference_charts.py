"""The kernel on every layout of the release before: notes, slopes and resonances are NumPy's."""

import pytest
from reference_charts import DEMOS, NAMES, notes_and_slopes_are_numpys, resonances_are_numpys
from tier_list import KERNELS


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("variant", KERNELS)
def test_every_note_and_slope_of_the_kernel_is_numpys(monkeypatch, variant, name):
    notes_and_slopes_are_numpys(monkeypatch, variant, name)


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("variant", KERNELS)
def test_every_resonance_of_the_kernel_is_numpys(monkeypatch, variant, demo):
    resonances_are_numpys(monkeypatch, variant, demo)
