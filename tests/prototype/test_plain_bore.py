"""A test bore without holes: what it says of reed and air, held against bores whose reed is known."""

import numpy as np
import pytest
from commanded import told
from places import CONFIGS
from prototypes import draws

from acoustics.pitch import note_frequency
from optimizer.project.included import read_included
from optimizer.project.learned import Learned
from optimizer.prototype.map_fit import Observed, fitted
from optimizer.prototype.measured_table import TableError
from optimizer.prototype.plain_bore import Sounded, doubt_after, of_lengths, read_test_bore, resonance_hz, taught
from optimizer.prototype.played_model import REED_CM3
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

TENOR = CONFIGS / "prototypes" / "lantern-tenor.json"
LENGTHS = (917.0, 734.0, 600.0)


@pytest.fixture(scope="module")
def tenor():
    return read_record(TENOR, LayoutRecord)


def test_without_a_reed_a_bore_is_as_deep_as_its_cone(tenor):
    # A complete cone of length L sounds c / 2 L (Fletcher & Rossing, ch. 8, from memory); the reed stands for the apex
    # that lacks, so that the effective length is no more than L plus the missing tip, and no less than L.
    for length in LENGTHS:
        (s0, d0), (s1, d1) = tenor.bore.points_mm[0], tenor.bore.points_mm[-1]
        tip = d0 * (s1 - s0) / (d1 - d0)
        deep = 346e3 / (2.0 * resonance_hz(tenor, length))
        assert length < deep < length + 1.5 * tip


def test_another_reed_is_told_by_what_it_makes_the_bore_sound(tenor):
    # The same bore with 0.08 cm3 more air before it, by its own resonances: no noise, so that prior alone holds back.
    more = tenor.model_copy(update={"reed": tenor.reed.model_copy(update={"volume_cm3": tenor.reed.volume_cm3 + 0.08})})
    heard = [Sounded(length, resonance_hz(more, length)) for length in LENGTHS for _ in range(3)]
    found, said = taught(tenor, heard, "bore.csv")
    mean, sd = found.numbers["reed_volume_cm3"]
    assert abs(mean - 0.08) < 2.0 * sd
    assert sd < REED_CM3
    assert mean > 0.03
    assert any(sentence.startswith("air of the reed: +0.0") for sentence in said)
    assert "all_holes_mm" not in found.numbers


def test_what_it_says_is_as_sure_as_it_says(tenor):
    # Bores drawn from what is stated, played with 4 cents of scatter: squares of what the fit is off by, in what it
    # is sure to, are 1 on average; of n independent ones within two standard errors, 2 sqrt(2 / n).
    model = of_lengths(tenor, [Sounded(length, resonance_hz(tenor, length)) for length in LENGTHS])
    number, off = model.names.index("air of the reed"), []
    for seed in range(draws(8)):
        dice = np.random.default_rng(seed)
        theta = dice.standard_normal(len(model.names))
        cents = model.cents(theta) + 4.0 * dice.standard_normal(len(LENGTHS))
        found = fitted(model, Observed(np.arange(len(LENGTHS)), cents, np.full(len(LENGTHS), 4.0)))
        off.append((found.theta[number] - theta[number]) ** 2 / found.covariance[number, number])
    assert abs(np.mean(off) - 1.0) < 2.0 * np.sqrt(2.0 / len(off))


def test_a_tuner_will_do(tenor, tmp_path):
    path = tmp_path / "bore.csv"
    path.write_text("length_mm,pitch_hz,note,reading_cents\n917,,E3,20\n734,205.5,,\n")
    first, second = read_test_bore(path, tenor)
    assert first.hz == pytest.approx(note_frequency(52) * 2.0 ** (20.0 / 1200.0))
    assert second == Sounded(734.0, 205.5)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("917,165,,\n917,166,,", "needs two lengths at the least"),
        ("917,,,\n734,205,,", "give pitch_hz, or a note such as C4"),
        ("917,,H9,0\n734,205,,", "give pitch_hz, or a note such as C4"),
        ("1917,165,,\n734,205,,", "must be more than 150 and at most 917.63"),
        ("917,165,,\n36 in,205,,", "the unit stands in the header"),
    ],
)
def test_what_is_no_test_bore_is_told(tenor, tmp_path, rows, said):
    path = tmp_path / "bore.csv"
    path.write_text(f"length_mm,pitch_hz,note,reading_cents\n{rows}\n")
    with pytest.raises(TableError, match=said):
        read_test_bore(path, tenor)


def test_the_sheet_is_written_and_taken(tenor, tmp_path, capsys):
    sheet, learned = tmp_path / "bore.csv", tmp_path / "learned.toml"
    code, out, _ = told(capsys, "bench", TENOR, "--test-bore", "--csv", sheet)
    before, after = doubt_after(tenor)
    assert (code, f"leaves {after:.1f} of {before:.1f} cents of doubt" in out) == (0, True)
    rows = sheet.read_text().splitlines()
    lengths = [row.split(",")[0] if row[0].isdigit() else "" for row in rows]
    filled = [
        f"{length},{resonance_hz(tenor, float(length)):.2f},," if length else row
        for row, length in zip(rows, lengths, strict=True)
    ]
    sheet.write_text("\n".join(filled) + "\n")
    code, out, _ = told(capsys, "fit", TENOR, sheet, "--test-bore", "--learned", learned)
    assert (code, "what its test bore says" in out) == (0, True)
    mean, sd = read_included(learned, Learned, "learned").model.numbers["reed_volume_cm3"]
    assert abs(mean) < 0.005 < sd < 0.1
    assert told(capsys, "predict", TENOR, "--learned", learned)[0] == 0
