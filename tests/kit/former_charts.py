"""Notes and resonances of the release before, in NumPy, against those kept."""

import numpy as np
import pytest
from formulas import as_in_0_1_0
from reference_charts import CHARTS, NEAR_CENTS, SPECTRA, chart_of, resonances, single
from tier_list import use

from acoustics.resonances import batch_errors


def as_in_the_release_before(monkeypatch):
    """The holes of the release before, in NumPy."""
    use(monkeypatch, "numpy")
    as_in_0_1_0(monkeypatch)


def notes_are_as_they_were(name, layouts=None):
    """A chart's errors as they are kept, by the first so many of its layouts.

    Elements interpolated against elements at every frequency: 0.005 cent; of the chain alone in the wide band, which
    is over five octaves, 0.03 where its phase hardly falls.
    """
    whole, openness, target, _ = chart_of(name)
    ducts, error, added = (
        single(whole, slice(layouts)), *(CHARTS[f"{name}/{key}"][:layouts] for key in ("error", "interaction"))
    )  # fmt: skip
    found = batch_errors(ducts, openness, target)
    near = np.abs(error) < NEAR_CENTS
    assert np.max(np.abs(found - error)[near]) < 0.005
    assert np.max(np.abs(found / error - 1.0)[~near], initial=0.0) < 2e-3
    alone = batch_errors(ducts, openness, target, interaction=False)
    near = np.abs(error - added) < NEAR_CENTS
    assert np.max(np.abs(alone - (error - added))[near]) < (0.03 if name.startswith("wide-band") else 0.005)


def resonances_are_as_they_were(demo, layouts=None):
    """Every resonance of the first so many of the layouts kept.

    Both polish to 1e-6 cent; heights and qualities are kept in single precision, slopes across 1e-6 of a frequency.
    """
    for place, found in enumerate(resonances(demo, layouts)):
        assert len(found) == len(SPECTRA[f"{demo}/number"][place])
        for note, row in enumerate(found):
            number = SPECTRA[f"{demo}/number"][place, note]
            known = {
                key: SPECTRA[f"{demo}/{key}"][place, note][number > 0] for key in ("frequency", "height", "quality")
            }
            assert row.number.tolist() == number[number > 0].tolist()
            assert np.max(np.abs(1200.0 * np.log2(row.frequency / known["frequency"]))) < 1e-5
            assert row.height == pytest.approx(known["height"], rel=1e-6)
            assert row.quality == pytest.approx(known["quality"], rel=1e-4)
