"""`blow`: what blowing makes of a layout's notes, told in a table, a drawing and a record; what cannot be blown."""

import json
import os
import subprocess
import sys
import xml.etree.ElementTree as ElementTree

import jsonschema
import numpy as np
import pytest
from commanded import told
from places import CONFIGS, ROOT
from scipy import optimize

from acoustics.scan import input_admittance
from optimizer.analysis.blowing import blowing_of, reeds_between, usual_reeds
from optimizer.records.blowing import BlowingRecord
from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import schema_text
from optimizer.solving.real_resonances import record_duct

REED = ("--slit-mm2", 1.0, 1.5, "--closing-kpa", 4.0, 6.0)


def test_every_note_is_told_over_the_corners_of_the_reeds_ranges(layout, record, tmp_path, capsys):
    asked = ("--json", tmp_path / "blown.json", "--svg", tmp_path / "blown.svg")
    code, out, err = told(capsys, "blow", layout, "--note", "A4", "C#5", *REED, *asked)
    assert (code, err) == (0, "")
    assert "reeds with a slit of 1 to 1.5 mm2, shut by 4 to 6 kPa" in out
    assert "the reed follows the pressure at once, the lip is not modelled" in out
    jsonschema.validate(json.loads((tmp_path / "blown.json").read_text()), json.loads(schema_text("blowing")))
    found = read_record(tmp_path / "blown.json", BlowingRecord)
    assert [(reed.slit_mm2, reed.closing_kpa) for reed in found.reeds] == [
        (1.0, 4.0),
        (1.0, 6.0),
        (1.5, 4.0),
        (1.5, 6.0),
    ]
    # zeta = Zc x slit x sqrt(2 / (rho closing)): as the slit, and as one over the root of what shuts it.
    strengths = np.array([reed.strength for reed in found.reeds])
    assert strengths / strengths[0] == pytest.approx([1.0, (4 / 6) ** 0.5, 1.5, 1.5 * (4 / 6) ** 0.5])
    written = {note.written: note for note in record.notes}
    for note in found.notes:
        assert note.resonance_hz == pytest.approx(written[note.written].frequency_hz, rel=1e-6)
        assert 1.0 / 3.0 < note.starts_low <= note.starts_high < 1.0
        assert 4.0 / 3.0 < note.starts_kpa_low <= note.starts_kpa_high < 6.0
        assert [how.how for how in note.blown] == ["soft", "middle", "loud"]
        for how in note.blown:
            assert how.steady + how.unsteady <= len(found.reeds)
            assert (how.cents_low is None) == (how.steady == 0)
            assert how.steady == 0 or how.cents_low <= how.cents_high
    assert any(how.steady for note in found.notes for how in note.blown)
    drawn = ElementTree.parse(tmp_path / "blown.svg").getroot()
    words = [each.text for each in drawn.iter() if each.tag.endswith("text")]
    assert {"A4", "C#5", "soft", "middle", "loud"} <= set(words)


def test_a_note_starts_where_the_slit_gives_back_what_the_duct_loses(record):
    # Wilson & Beavers 1974, from memory, in m3/(Pa s): Re Y = slit sqrt(2 / (rho closing)) (sqrt(g) - (1 - g) / (2
    # sqrt(g))); rho of a handbook's air, 1.2 kg/m3 at 20 degC, which breath makes a few hundredths lighter.
    note, slit, closing = record.notes[0], 1.2e-6, 5e3
    duct = record_duct(record)
    loss = input_admittance(duct, np.array(note.openness), note.frequency_hz).real.item()

    def left(g):
        return slit * (2.0 / (1.2 * closing)) ** 0.5 * (g**0.5 - (1.0 - g) / (2.0 * g**0.5)) - loss

    found = blowing_of(record, reeds_between(record, [1.2], [5.0]), [note]).notes[0]
    assert found.starts_low - 1.0 / 3.0 == pytest.approx(optimize.brentq(left, 0.3, 1.0) - 1.0 / 3.0, rel=0.05)


def test_a_stronger_reed_starts_at_less(layout, record):
    # Losses over the strength are what a note starts above a third by (Kergomard 1995, from memory).
    found = blowing_of(record, reeds_between(record, [1.0], [5.0]), record.notes[:1]).notes[0]
    strong = blowing_of(record, reeds_between(record, [1.4], [5.0]), record.notes[:1]).notes[0]
    assert (strong.starts_low - 1.0 / 3.0) / (found.starts_low - 1.0 / 3.0) == pytest.approx(1.0 / 1.4, rel=0.05)


def test_a_reed_with_a_resonance_starts_at_less_than_one_that_follows_at_once(record):
    # Below its resonance a lightly damped reed answers by more than its stiffness alone: 1 / (1 - (f / f_r)^2) > 1, so
    # that losses are made up for at less pressure (Wilson & Beavers 1974, from memory).
    def starts(resonance_hz):
        reed = record.reed.model_copy(update={"resonance_hz": resonance_hz, "damping": 0.05})
        other = record.model_copy(update={"reed": reed})
        found = blowing_of(other, reeds_between(other, [1.2], [5.0]), record.notes[:1])
        assert found.reed_resonance_hz == resonance_hz
        return found.notes[0].starts_low

    assert starts(3000.0) < starts(6000.0) < starts(None)


def test_usual_reeds_stay_below_where_flow_may_jump(record):
    reeds = usual_reeds(record)
    assert [reed.closing_kpa for reed in reeds] == [None] * 3
    assert 0.0 < reeds[0].strength < reeds[1].strength < reeds[2].strength < 1.0


def test_notes_are_blown_in_one_thread(layout):
    # Threads over small matrices wait for each other: beside other work they took four times the processor's time.
    script = (
        "import os, sys\n"
        "from optimizer.entry import main\n"
        "sys.argv = ['holewright', 'blow', *sys.argv[1:]]\n"
        "code = main()\n"
        "import numpy\n"
        "numpy.linalg.solve(numpy.eye(400), numpy.eye(400))\n"
        "tasks = '/proc/self/task'\n"
        "print(code, len(os.listdir(tasks)) if os.path.isdir(tasks) else 1, os.environ['OPENBLAS_NUM_THREADS'])"
    )
    weak = ("--note", "A4", "--slit-mm2", "0.05", "--closing-kpa", "90")
    told_none = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    done = subprocess.run(
        [sys.executable, "-c", script, str(layout), *weak], env=told_none | {"PYTHONPATH": str(ROOT)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stdout.splitlines()[-1] == "0 1 1"


def test_a_reed_is_told_in_plain_numbers_and_one_reed_as_one(layout, capsys):
    code, out, _ = told(capsys, "blow", layout, "--note", "A4", "--slit-mm2", 123.4, "--closing-kpa", 0.25)
    assert code == 0
    assert "reeds with a slit of 123.4 mm2, shut by 0.25 kPa: strength 330" in out
    assert "a reed stronger than 1 may let its flow jump" in out
    assert "of the 1 reeds" not in out
    assert "0.1 to 0.1" not in out


def test_a_tone_of_other_resonances_is_none_of_the_note(capsys):
    # At the tenor's C4 a weak reed plays the third and the fourth resonance, with a hundredth of that as the first
    # partial; by its modes (`kit/blown_modes.py`) starts of all kinds end at three and four times the note.
    code, out, _ = told(capsys, "blow", CONFIGS / "prototypes" / "lantern-tenor.json", "--note", "C4")
    assert code == 0
    assert "no tone that keeps itself up was found: C4" in out


def test_a_reed_too_weak_for_a_note_is_told(layout, capsys):
    code, out, _ = told(capsys, "blow", layout, "--note", "A4", "--slit-mm2", 0.05, "--closing-kpa", 90)
    assert code == 0
    assert "started by none of these reeds: A4" in out


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (("--note", "H9"), "the layout has no note 'H9'; it has A4, B4, C#5, D5, E5"),
        (("--slit-mm2", "1"), "a reed is told by both, --slit-mm2 and --closing-kpa; give both or neither"),
        (("--slit-mm2", "1", "2", "3", "--closing-kpa", "5"), "take the least and the most, or one number"),
        (("--slit-mm2", "0", "--closing-kpa", "5"), "--slit-mm2 must lie between 0.05 and 200 mm2, but got 0"),
        (("--slit-mm2", "1", "--closing-kpa", "nan"), "--closing-kpa must lie between 0.2 and 100 kPa, but got nan"),
    ],
)
def test_what_cannot_be_blown_is_told(layout, more, sentence, capsys):
    code, out, err = told(capsys, "blow", layout, *more)
    assert (code, out) == (2, "")
    assert sentence in err


def test_silent_notes_are_told_and_left_out(layout, record, capsys):
    mute = record.notes[0].model_copy(update={"frequency_hz": None, "cents": None, "status": "silent"})
    write_record(layout, record.model_copy(update={"notes": [mute, *record.notes[1:]]}))
    code, _, err = told(capsys, "blow", layout, "--note", "A4")
    assert (code, err) == (2, "cannot blow this\n  nothing to blow: none of these notes sounds on this layout\n")
    code, out, _ = told(capsys, "blow", layout, "--note", "A4", "C#5", "--slit-mm2", 1, "--closing-kpa", 5)
    assert code == 0
    assert "left out, as this layout sounds nothing near: A4" in out
