"""Charts and resonances of the release before, as ducts, and what the means in use make of the very same ducts."""

import itertools
from functools import cache

import numpy as np
import pytest
from places import REFERENCE
from tier_list import use

from acoustics.arrays import leaves
from acoustics.bore import Bore
from acoustics.network import Climate, Duct, split_by_field
from acoustics.reed import Reed
from acoustics.resonances import batch_errors, note_errors, spectrum
from acoustics.toneholes import Holes

DEMOS = ("lantern-tenor", "attic-reed", "meadow-pipe", "lantern-tenor-low-a")
NEAR_CENTS = 200.0

with np.load(REFERENCE / "charts_0_1_0.npz") as _kept:
    CHARTS = {key: _kept[key] for key in _kept}
with np.load(REFERENCE / "spectra_0_1_0.npz") as _kept:
    SPECTRA = {key: _kept[key] for key in _kept}
NAMES = sorted({key.split("/")[0] for key in CHARTS})


def demo_of(name: str) -> str:
    """The demo that a chart's layouts are those of."""
    return name if name in DEMOS else next(demo for demo in sorted(DEMOS, key=len)[::-1] if name.endswith(f"-{demo}"))


def shaped(points: int, slices: int, holes: int) -> Duct:
    """A duct of zeros, with so many of each."""
    row, one = np.zeros(holes), np.zeros(())
    pieces = Bore(*[np.zeros(points)] * 2), np.zeros(slices), one, one
    return Duct(*pieces, Holes(*[row] * 11), Reed(*[one] * 5), Climate(*[one] * 5))


@cache
def chart_of(name: str):
    """Ducts of a chart as a batch, openness (N, H), targets (N,) and how to read rows of a duct's numbers (..., n)."""
    demo = demo_of(name)
    openness, target = (CHARTS.get(f"{name}/{key}", CHARTS[f"{demo}/{key}"]) for key in ("openness", "f_target"))
    template, rows = shaped(*CHARTS[f"{name}/sizes"]), CHARTS[f"{name}/duct"]
    if name != demo:
        whole = np.zeros((len(rows), sum(leaf.size for leaf in leaves(template))))
        known = CHARTS[f"{demo}/duct"][: len(rows)]
        if known.shape == whole.shape:
            whole[:] = known
        whole[:, CHARTS[f"{name}/changed"]] = rows
        rows = whole

    def read(numbers):
        return split_by_field(template, np.moveaxis(numbers, -1, 0))

    return read(rows), np.asarray(openness, float), target, read


def single(ducts: Duct, number: int) -> Duct:
    return type(ducts)(*(single(part, number) if isinstance(part, tuple) else part[number] for part in ducts))


def figures(name, layouts=None):
    """Errors of the first so many layouts with interaction and without, and slopes of one, by the means in use."""
    whole, openness, target, _ = chart_of(name)
    ducts = single(whole, slice(layouts))
    errors = [batch_errors(ducts, openness, target, interaction=part) for part in (True, False)]
    return errors, note_errors(single(whole, CHARTS[f"{name}/sloped"][0]), openness, target).slope


def resonances(demo, layouts=None):
    """Every resonance of the first so many of the layouts kept, by the means in use."""
    ducts, openness, *_ = chart_of(demo)
    return [spectrum(single(ducts, place), openness, 60.0, 1500.0) for place in SPECTRA[f"{demo}/layout"][:layouts]]


@cache
def by_numpy(work, name, layouts=None):
    """What NumPy makes of it, for all variants of the kernel."""
    with pytest.MonkeyPatch.context() as here:
        use(here, "numpy")
        return work(name, layouts)


def notes_and_slopes_are_numpys(monkeypatch, variant, name, layouts=None):
    """A kernel's errors and slopes of a chart against NumPy's, by so many of its layouts.

    1e-6 cent and 1e-7 of the largest slope of its kind: a five-thousandth of what either may be off. Their bodies are
    straight.
    """
    known, sloped = by_numpy(figures, name, layouts)
    use(monkeypatch, variant)
    found, slopes = figures(name, layouts)
    for one, other in zip(found, known, strict=True):
        assert np.all(np.abs(one - other) < 1e-6 + 1e-13 * other**2)
    near = np.abs(CHARTS[f"{name}/error"][CHARTS[f"{name}/sloped"][0]]) < NEAR_CENTS
    for one, other in zip(leaves(slopes[:-2]), leaves(sloped[:-2]), strict=True):
        assert np.max(np.abs(one - other)[near]) <= 1e-7 * np.max(np.abs(other)[near])


def resonances_are_numpys(monkeypatch, variant, demo, layouts=None):
    """A kernel's resonances of a demo against NumPy's, by so many of the layouts kept."""
    known = by_numpy(resonances, demo, layouts)
    use(monkeypatch, variant)
    found = resonances(demo, layouts)
    assert len(known) == len(SPECTRA[f"{demo}/layout"][:layouts]) > 0
    for one, other in zip(itertools.chain(*found), itertools.chain(*known), strict=True):
        assert one.number.tolist() == other.number.tolist()
        assert np.max(np.abs(1200.0 * np.log2(one.frequency / other.frequency))) < 1e-5
        assert one.height == pytest.approx(other.height, rel=1e-6)
        assert one.quality == pytest.approx(other.quality, rel=1e-4)
