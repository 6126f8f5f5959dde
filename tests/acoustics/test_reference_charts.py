"""Charts and resonances as the release before had them, made with other means: `reference/README.md` tells how.

It had another outer length of open holes and no friction there, which take today's place here. The kernel,
compiled with today's, is held to NumPy on the very same ducts.
"""

import numpy as np
import pytest
from curves import errors_by_the_way
from former_charts import as_in_the_release_before, notes_are_as_they_were, resonances_are_as_they_were
from reference_charts import (
    CHARTS,
    DEMOS,
    NAMES,
    NEAR_CENTS,
    chart_of,
    demo_of,
    notes_and_slopes_are_numpys,
    resonances_are_numpys,
    single,
)
from tier_list import KERNELS

from acoustics.arrays import leaves
from acoustics.resonances import note_errors

ONE_OF_EACH = [*DEMOS, *{name.removesuffix(f"-{demo_of(name)}"): name for name in NAMES if name not in DEMOS}.values()]
"""The demos, and of every variant one of them."""


def test_the_reference_is_whole():
    # Four demos with fifty layouts each, and what was changed in ten of them.
    assert [len(CHARTS[f"{demo}/error"]) for demo in DEMOS] == [50] * 4
    kinds = {name.removesuffix(f"-{demo_of(name)}") for name in NAMES if name not in DEMOS}
    assert kinds == {
        "dry-20", "humid-linear", "humid-warming", "cold-reed", "reed-cylinder", "reed-lumped", "steps", "half-holes",
        "chimneys-lids", "eight-holes", "wide-band",
    }  # fmt: skip
    near = [np.mean(np.abs(CHARTS[f"{name}/error"]) < NEAR_CENTS) for name in NAMES]
    assert min(near) > 0.2
    assert np.mean(near) > 0.8


@pytest.fixture
def former(monkeypatch):
    as_in_the_release_before(monkeypatch)


@pytest.mark.parametrize("name", NAMES)
def test_every_note_is_as_it_was(former, name):
    notes_are_as_they_were(name, 12 if name in DEMOS else 4)


@pytest.mark.parametrize("name", NAMES)
def test_at_its_own_frequency_every_note_is_what_it_was_to_the_last_digits(former, name):
    # Formulas, network and interaction without interpolation: rounding of a phase is all that differs.
    ducts, openness, target, _ = chart_of(name)
    for number in range(3):
        error = CHARTS[f"{name}/error"][number]
        found = errors_by_the_way(single(ducts, number), openness, target, True)
        assert np.all(np.abs(found - error) < 1e-7 + 1e-14 * error**2)


@pytest.mark.parametrize("name", NAMES)
def test_every_slope_is_as_it_was(former, name):
    # By every number of the duct, within 1e-4 of the largest of its kind. The first slice lies at 0, where it is
    # clipped: its slope there is a convention, which is another one now, and no layout moves it. In the wide band the
    # elements are interpolated over five octaves, and their slopes within 5e-4. Their bodies are straight.
    ducts, openness, target, read = chart_of(name)
    for place, number in enumerate(CHARTS[f"{name}/sloped"]):
        found = note_errors(single(ducts, number), openness, target).slope
        share, scale = read(CHARTS[f"{name}/slope"][place] / 32767.0), CHARTS[f"{name}/scale"][place].T
        near = np.abs(CHARTS[f"{name}/error"][number]) < NEAR_CENTS
        for row, shares, largest in zip(leaves(found[:-2]), leaves(share[:-2]), scale, strict=True):
            expected = shares * largest.reshape(-1, *[1] * (row.ndim - 1))
            size = np.max(np.abs(expected[near]))
            wrong = np.abs(row - expected)[near]
            if row is found.slices:
                wrong = wrong[:, 1:]
            assert np.max(wrong) <= (5e-4 if name.startswith("wide-band") else 1e-4) * size


@pytest.mark.parametrize("demo", DEMOS)
def test_every_resonance_is_as_it_was(former, demo):
    resonances_are_as_they_were(demo, 1)


# --- the kernel on the same ducts ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ONE_OF_EACH)
@pytest.mark.parametrize("variant", KERNELS)
def test_every_note_and_slope_of_the_kernel_is_numpys(monkeypatch, variant, name):
    notes_and_slopes_are_numpys(monkeypatch, variant, name, 2)


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("variant", KERNELS)
def test_every_resonance_of_the_kernel_is_numpys(monkeypatch, variant, demo):
    resonances_are_numpys(monkeypatch, variant, demo, 1)
