"""Sessions as records and back, and notes that were taken wrong put right.

Checked against: what was heard before it was kept, the pitch that was played, and arithmetic beside the check.
"""

import numpy as np
import pytest
from takes import Prototype, chart, kept

from optimizer.hearing.kept_takes import LEFT_OUT, joined, put_right, session_of, takes_record
from optimizer.hearing.session import measured
from optimizer.project.faults import Fault
from optimizer.records.files import read_record, write_record
from optimizer.records.takes import TakesRecord
from optimizer.views.drawings.takes import takes_drawing


@pytest.fixture(scope="module")
def prototype():
    """Off by 12 cents a note; both fingerings of C4 sound alike, so that no pitch tells which one was played."""
    return Prototype(chart("G3", 10, 6, alternates=("C4",)), np.random.default_rng(1), 12.0, 6.0)


@pytest.fixture(scope="module")
def session(prototype, tmp_path_factory):
    """Ten notes in an order of their own, without a list."""
    rng = np.random.default_rng(2)
    order = [prototype.lines[n] for n in rng.permutation(10)]
    take = kept(tmp_path_factory.mktemp("takes") / "take.wav", prototype.played(order, rng))
    return measured(prototype.record, [take])


def told(session):
    """What a session says, without its remarks on how far takes lie apart."""
    return {note.line: note.cents for note in session.measurement.notes}


def tone_of(session, line):
    """Number of the tone that was played nearest to a line of the chart."""
    tones = session.takes[0].heard.tones
    return int(np.argmin([abs(np.log2(tone.hz / line.expected_hz)) for tone in tones]))


def test_a_session_comes_back_from_its_file_as_it_was(tmp_path, prototype, session):
    write_record(tmp_path / "takes.json", takes_record(session, prototype.record))
    again = session_of(read_record(tmp_path / "takes.json", TakesRecord), prototype.record)
    assert again.measurement == session.measurement
    assert again.takes[0].alignment.matches == session.takes[0].alignment.matches
    assert takes_drawing(again).to_svg().count("<text") == takes_drawing(session).to_svg().count("<text")


def test_the_picture_of_a_short_take_is_as_wide_as_it_lasts(session):
    # Ten notes of 1.6 s with their rests end before 0:20, the next round time.
    assert 15.0 < session.takes[0].heard.seconds < 20.0
    svg = takes_drawing(session).to_svg()
    assert ">0:20<" in svg
    assert ">0:25<" not in svg


def test_takes_of_another_layout_are_refused(prototype, session):
    other = chart("G3", 9, 6)
    with pytest.raises(Fault, match="of another layout"):
        session_of(takes_record(session, prototype.record), other)


def test_a_note_that_could_be_two_is_put_right(prototype, session):
    alternate = next(line for line in prototype.lines if line.label == "C4'")
    assert alternate.number not in told(session)
    tone = tone_of(session, alternate)
    right = put_right(session, prototype.record, {(0, tone): alternate.number})
    played = session.takes[0].heard.tones[tone].hz
    # a note's cents are 1200 log2 of its pitch over what is wanted
    assert told(right)[alternate.number] == pytest.approx(1200 * np.log2(played / alternate.wanted_hz), abs=1e-6)
    assert {line: cents for line, cents in told(right).items() if line != alternate.number} == told(session)
    assert right.measurement.unassigned == []
    assert told(session_of(takes_record(right, prototype.record), prototype.record)) == told(right)


def test_a_note_is_left_out_by_hand(prototype, session):
    line = prototype.lines[0]
    without = put_right(session, prototype.record, {(0, tone_of(session, line)): None})
    assert line.number in told(session)
    assert line.number not in told(without)
    assert LEFT_OUT in [each.why for each in without.measurement.unassigned]


def test_a_tone_named_by_hand_counts_in_its_octave_and_is_no_doubt(prototype, session):
    """The octave above G3 is G4, which this chart does not have: by hand it counts as G3, 1200 cents folded away."""
    line = prototype.lines[0]
    tone = tone_of(session, line)
    take = session.takes[0]
    higher = [
        each if n != tone else type(each)(**{**vars(each), "hz": 2 * each.hz})
        for n, each in enumerate(take.heard.tones)
    ]
    changed = type(take.heard)(**{**vars(take.heard), "tones": higher})
    above = type(session)([type(take)(changed, take.alignment, None)], session.measurement)
    right = put_right(above, prototype.record, {(0, tone): line.number})
    assert told(right)[line.number] == pytest.approx(told(session)[line.number], abs=1e-6)
    assert [note.flags for note in right.measurement.notes if note.line == line.number] == [[]]


@pytest.mark.parametrize(
    ("chosen", "words"),
    [
        ({(0, 99): 0}, "no tone 100 in take 1"),
        ({(3, 0): 0}, "no tone 1 in take 4"),
        ({(0, 0): 40}, "no line 40"),
    ],
)
def test_what_there_is_not_is_told(prototype, session, chosen, words):
    with pytest.raises(Fault, match=words):
        put_right(session, prototype.record, chosen)


def test_a_tone_is_not_made_a_note_it_cannot_be(prototype, session):
    low, high = prototype.lines[0], prototype.lines[6]
    with pytest.raises(Fault, match=r"cents from C#4: it was another note"):
        put_right(session, prototype.record, {(0, tone_of(session, low)): high.number})


def test_takes_heard_one_after_the_other_are_one_session(tmp_path, prototype):
    rng = np.random.default_rng(5)
    files = [kept(tmp_path / f"{n}.wav", prototype.played(prototype.lines[:5], rng)) for n in (1, 2)]
    together = measured(prototype.record, files)
    apart = joined(*(measured(prototype.record, [file]) for file in files), prototype.record)
    assert apart.measurement == together.measurement
