"""Kernel against NumPy on random ducts; where elimination without pivoting fails; and ducts that are none."""

import os
from functools import cache

import numpy as np
import pytest
import scipy
from ducts import make_duct, make_holes
from random_ducts import COUNTS, folded_up, random_chart, random_duct
from tier_list import KERNELS, use

from acoustics import kernel, tiers
from acoustics.arrays import leaves
from acoustics.chain import Chain, chain_of
from acoustics.chart_elements import notes_of
from acoustics.charts import Found, chart_errors
from acoustics.network import Duct, as_arrays, stacked
from acoustics.resonances import batch_errors, note_errors, spectrum
from acoustics.scan import admittance_grid, input_impedances, with_reed
from acoustics.tiers import WORST_CENTS, errors_of

DRAWN = int(os.environ.get("HOLEWRIGHT_DUCTS", 8))


def batch_of(*chains: Chain) -> Chain:
    """Chains of one shape as a batch."""
    rows = (np.array([getattr(chain, name) for chain in chains]) for name in ("vector", "hole"))
    return Chain(*rows, chains[0].sizes)


@cache
def drawn(count: int, number: int):
    """A random duct with so many holes, its chart, and its NumPy figures with interaction and without."""
    dice = np.random.default_rng([number, count])
    duct, (openness, target) = random_duct(dice, count), random_chart(dice, count)
    duct = duct if number % 3 else folded_up(dice, duct)
    chain, notes = chain_of(duct), notes_of(openness, target)
    return duct, chain, notes, [chart_errors(chain, notes, True, interaction) for interaction in (False, True)]


def differ_too_much(found: Found, known: Found, sizes) -> list[str]:
    """Parts that differ: errors by 1e-7 cents, slopes by 1e-8 of the note's largest of the part.

    Where the phase hardly falls the error is its small fall's inverse, and digits are lost in proportion: both tiers
    round to 1e-16 of a phase, so that a note a hundred thousand cents out is known to 1e-4 of a cent.
    """
    pairs = [(name, getattr(found, name), getattr(known, name)) for name in ("error", "alone")]
    bad = [name for name, one, other in pairs if np.any(np.abs(one - other) > 1e-7 + 1e-14 * other**2)]
    for name, part in sizes.parts.items():
        one, other = found.slope[..., part], known.slope[..., part]
        most = np.maximum(1e-8, 1e-14 * np.abs(known.error)) * np.max(np.abs(other), axis=-1, initial=0.0)
        bad += [name] if np.any(np.abs(one - other) > most[..., None]) else []
    return bad


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("variant", KERNELS)
def test_a_variant_gives_numpys_errors_and_slopes(variant, count):
    # Both from the same formulas, by code written twice. NumPy warns of nothing here.
    for number in range(DRAWN):
        _, chain, notes, known = drawn(count, number)
        for interaction in (False, True):
            found, least = kernel.chart_errors(batch_of(chain, chain), notes, True, interaction, variant)
            for row in range(2):
                one = Found(found.error[row], found.alone[row], found.slope[row])
                assert differ_too_much(one, known[interaction], chain.sizes) == []
            assert np.all(least > kernel.LEAST_PIVOT)
            values, _ = kernel.chart_errors(batch_of(chain), notes, False, interaction, variant)
            assert values.slope is None
            one = Found(values.error[0], values.alone[0], known[interaction].slope)
            assert differ_too_much(one, known[interaction], chain.sizes) == []


def test_the_ducts_drawn_are_of_every_kind():
    # What the comparison above is worth: nothing that the network knows is missing in it.
    parts = [drawn(count, number) for count in COUNTS for number in range(DRAWN)]
    ducts = [duct for duct, *_ in parts]
    assert {bool(np.isinf(duct.reed.cavity_radius)) for duct in ducts} == {True, False}
    assert {bool(np.isinf(duct.climate.warming_length)) for duct in ducts} == {True, False}
    assert {bool(np.any(chain.part("step") > 0.0)) for _, chain, *_ in parts} == {True, False}
    assert {(duct.bends.begin.size, duct.tubes.begin.size) for duct in ducts} == {(0, 0), (1, 2), (2, 3)}
    assert {bool(duct.end_position > duct.bore.position[-1]) for duct in ducts} == {True, False}
    assert {bool(np.all(np.diff(duct.holes.position) > 0.0)) for duct in ducts} == {True, False}
    assert any(np.any(chain.part("segment")[1] == 0.0) for _, chain, *_ in parts)
    assert {float(level) for *_, notes, _ in parts for level in notes.levels} == {0.0, 0.3, 0.5, 1.0}
    assert any(np.any(np.abs(known[1].error - known[0].error) > 1.0) for *_, known in parts)
    assert np.mean(np.concatenate([np.abs(known[1].error) < 200.0 for *_, known in parts])) > 0.2


@pytest.mark.parametrize("count", COUNTS)
@pytest.mark.parametrize("variant", KERNELS)
def test_a_variant_gives_numpys_admittances(variant, count):
    # Here no polynomial stands between: every column at its own frequency.
    for number in range(DRAWN):
        duct, chain, notes, _ = drawn(count, number)
        f, openness = np.repeat(notes.f[: len(notes.openness)], 2), np.repeat(notes.openness, 2, axis=0).T
        alone, whole = input_impedances(duct, openness, f)
        for interaction, impedance in ((False, alone), (True, whole)):
            found, least = kernel.admittances(chain, openness, f, interaction, variant)
            assert found == pytest.approx(with_reed(duct, 1.0 / impedance, f), rel=1e-11)
            assert np.all(least > kernel.LEAST_PIVOT)


# --- where elimination without pivoting fails ------------------------------------------------------------------------

BOTH_OPEN = notes_of(np.ones((1, 2)), np.array([500.0]))


def close_holes(gap, radius) -> Duct:
    """A pipe with two open holes, one beside the other, wide at the top, where friction is little then [mm]."""
    holes = make_holes([250.0, 250.0 + gap], [radius, 3.0], [4, 4], [10, 10], top=[6, 6])
    return make_duct([(0, 7.5), (500, 7.5)], holes, 3.0)


def pivot_of(chain: Chain, variant: str) -> float:
    return float(kernel.chart_errors(chain, BOTH_OPEN, True, True, variant)[1][0, 0])


@cache
def duct_of_no_pivot(variant: str) -> tuple[Chain, Duct]:
    """A quarter of a millimetre apart, some width of the first hole makes its pivot vanish: looked for here."""

    def pivot(x):
        return pivot_of(batch_of(chain_of(close_holes(np.exp(x[0]), x[1]))), variant)

    def enough(x):
        if pivot(x) < 1e-2 * kernel.LEAST_PIVOT:
            raise StopIteration

    start = (np.log(0.3), 2.0)
    found = scipy.optimize.minimize(lambda x: np.log(pivot(x)), start, method="Nelder-Mead", callback=enough).x
    duct = close_holes(np.exp(found[0]), found[1])
    return batch_of(chain_of(duct)), duct


@pytest.mark.parametrize("variant", KERNELS)
def test_a_pivot_that_vanishes_is_told_and_numpy_answers(monkeypatch, variant):
    chain, _ = duct_of_no_pivot(variant)
    assert pivot_of(chain, variant) < 1e-2 * kernel.LEAST_PIVOT
    use(monkeypatch, variant)
    found = errors_of(chain, BOTH_OPEN, True)
    known = chart_errors(chain._replace(vector=chain.vector[0], hole=chain.hole[0]), BOTH_OPEN, True)
    for one, other in zip(found, known, strict=True):
        assert np.array_equal(one[0], other)


@pytest.mark.parametrize("variant", KERNELS)
def test_so_it_is_with_admittances(monkeypatch, variant):
    # The same at the secant's upper frequency, between two columns that are in no doubt.
    _, duct = duct_of_no_pivot(variant)
    f, open_ = np.array([[300.0, BOTH_OPEN.f[1], 700.0]]), np.ones((1, 2))
    _, least = kernel.admittances(chain_of(duct), np.ones((2, 3)), f[0], True, variant)
    assert (least < kernel.LEAST_PIVOT).tolist() == [False, True, False]
    use(monkeypatch, variant)
    found = admittance_grid(duct, open_, f)
    use(monkeypatch, "numpy")
    known = admittance_grid(duct, open_, f)
    assert found[0, 1] == admittance_grid(duct, open_, f[:, 1:2])[0, 0]  # alone, as it was asked for
    assert found == pytest.approx(known, rel=1e-11)


@pytest.mark.parametrize("variant", KERNELS)
def test_only_what_is_doubtful_is_worked_out_again(monkeypatch, variant):
    # Three ducts of which the middle one is told to be doubtful; a figure put in NumPy's place shows which were asked.
    chain = batch_of(*(chain_of(close_holes(gap, 3.0)) for gap in (20.0, 25.0, 30.0)))
    use(monkeypatch, variant)
    before = errors_of(chain, BOTH_OPEN, False)
    asked = []

    def numpys(single, notes, slopes, interaction):
        asked.append(single.vector)
        return Found(np.array([7.0]), np.array([5.0]), None)

    def doubtful(*given):
        found, least = kernel_errors(*given)
        least[1] = 0.9 * kernel.LEAST_PIVOT
        return found, least

    kernel_errors = kernel.chart_errors
    monkeypatch.setattr(tiers, "chart_errors", numpys)
    monkeypatch.setattr(kernel, "chart_errors", doubtful)
    after = errors_of(chain, BOTH_OPEN, False)
    assert np.array_equal(asked, chain.vector[1:2])
    assert after.error[:, 0].tolist() == [before.error[0, 0], 7.0, before.error[2, 0]]
    assert after.alone[1, 0] == 5.0


# --- ducts that are none ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("value", [np.nan, 0.0])
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


def nonsense(duct, number: int):
    """The same duct with something impossible."""
    holes, bore, none = duct.holes, duct.bore, np.zeros(2)
    return as_arrays(
        [
            duct._replace(holes=holes._replace(radius=none, top_radius=none)),
            duct._replace(holes=holes._replace(position=np.array([np.nan, 0.2]))),
            duct._replace(holes=holes._replace(chimney_height=np.full(2, -0.5))),
            duct._replace(bore=bore._replace(radius=0.0 * bore.radius)),
            duct._replace(bore=bore._replace(radius=-bore.radius)),
            duct._replace(end_position=np.asarray(-0.3)),
            duct._replace(end_position=np.asarray(np.inf)),
            duct._replace(climate=duct.climate._replace(bell_degC=np.asarray(-300.0))),
            duct._replace(reed=duct.reed._replace(volume=np.asarray(np.nan))),
        ][number]
    )


@pytest.mark.parametrize("number", range(9))
def test_a_duct_that_is_none_has_finite_errors_and_slopes_and_no_resonances(tier, number):
    # Making its chain may warn of a division; evaluating it raises nothing and gives numbers.
    duct = nonsense(make_duct([(0, 7.5), (500, 7.5)], make_holes([250, 350], [3, 4], [4, 4], [11, 11]), 3.0), number)
    openness, target = np.array([[0.0, 1.0], [1.0, 1.0]]), np.array([250.0, 300.0])
    with np.errstate(all="ignore"):
        found = note_errors(duct, openness, target)
        assert all(np.all(np.isfinite(row)) for row in (found.error, found.interaction, *leaves(found.slope)))
        assert batch_errors(stacked([duct]), openness, target)[0] == pytest.approx(found.error, rel=1e-9)
        for row in spectrum(duct, openness, 60.0, 1500.0):
            assert all(np.all(np.isfinite(part)) for part in row)


def test_a_batch_of_no_ducts_has_no_errors(tier):
    _, chain, notes, _ = drawn(5, 1)
    none = Chain(np.empty((0, chain.sizes.numbers)), np.empty((0, chain.sizes.stations), int), chain.sizes)
    found = errors_of(none, notes, True)
    assert found.error.shape == (0, len(notes.openness))
    assert found.slope.shape == (0, len(notes.openness), chain.sizes.numbers)


@pytest.mark.parametrize(("holes", "columns"), [(9, 2), (14, 0), (2, 9)])
def test_a_chart_of_other_holes_is_refused(tier, holes, columns):
    dice = np.random.default_rng(holes)
    duct = random_duct(dice, holes)
    with pytest.raises(ValueError, match=r"hole|shape|broadcast|operands|index"):
        note_errors(duct, np.ones((3, columns)), np.full(3, 300.0))
    with pytest.raises(ValueError, match=r"hole|shape|broadcast|operands|index"):
        admittance_grid(duct, np.ones((1, columns)), np.full((1, 4), 300.0))


def test_a_duct_without_holes_has_errors_and_slopes(tier):
    duct = random_duct(np.random.default_rng(3), 0)
    none = np.zeros((2, 0))
    found = note_errors(duct, none, np.array([300.0, 450.0]))
    assert np.all(np.isfinite(found.error))
