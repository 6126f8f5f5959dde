"""Every layout of the release before: NumPy finds its notes and resonances as they were, and the kernel's notes, slopes
and resonances are NumPy's."""

import pytest
from former_charts import as_in_the_release_before, notes_are_as_they_were, resonances_are_as_they_were
from reference_charts import DEMOS, NAMES, notes_and_slopes_are_numpys, resonances_are_numpys
from tier_list import KERNELS


@pytest.mark.parametrize("name", NAMES)
def test_every_note_is_as_it_was(monkeypatch, name):
    as_in_the_release_before(monkeypatch)
    notes_are_as_they_were(name)


@pytest.mark.parametrize("demo", DEMOS)
def test_every_resonance_is_as_it_was(monkeypatch, demo):
    as_in_the_release_before(monkeypatch)
    resonances_are_as_they_were(demo)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("variant", KERNELS)
def test_every_note_and_slope_of_the_kernel_is_numpys(monkeypatch, variant, name):
    notes_and_slopes_are_numpys(monkeypatch, variant, name)


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("variant", KERNELS)
def test_every_resonance_of_the_kernel_is_numpys(monkeypatch, variant, demo):
    resonances_are_numpys(monkeypatch, variant, demo)
