"""`play`: the pitch of what is written, by counting; beats by arithmetic; what is told of what cannot be played."""

import json

import jsonschema
import numpy as np
import pytest
import soundfile
from commanded import told
from counted_pitch import counted_hz, first_partial
from places import CONFIGS

from optimizer.hearing.playing import REST_SECONDS
from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import schema_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.sound import SoundRecord

TENOR = CONFIGS / "prototypes" / "lantern-tenor.json"


@pytest.fixture(scope="module")
def tenor():
    return read_record(TENOR, LayoutRecord)


def tones(path, seconds):
    """The tones of a sound file that last so long each, and its rate."""
    samples, rate = soundfile.read(path)
    rest, long = int(REST_SECONDS * rate), int(seconds * rate)
    starts = range(rest, len(samples) - rest, long + rest)
    return [samples[at : at + long] for at in starts], rate


def cents(one, other):
    return 1200.0 * np.log2(one / other)


def test_every_note_sounds_at_its_predicted_pitch(tenor, tmp_path, capsys):
    code, out, err = told(
        capsys, "play", TENOR, "--to", tmp_path / "scale.wav", "--seconds", 0.6, "--json", tmp_path / "scale.json"
    )
    assert (code, err) == (0, "")
    assert "computed pitch, invented timbre" in out
    found, rate = tones(tmp_path / "scale.wav", 0.6)
    notes = [note for note in tenor.notes if not note.alternate]
    for samples, note in zip(found, notes, strict=True):
        assert cents(counted_hz(samples, rate, note.frequency_hz), note.frequency_hz) == pytest.approx(0.0, abs=0.5)
    assert 20.0 * np.log10(max(np.max(np.abs(tone)) for tone in found)) == pytest.approx(-1.0, abs=0.01)
    told_levels = json.loads((tmp_path / "scale.json").read_text())
    jsonschema.validate(told_levels, json.loads(schema_text("sound")))
    assert read_record(tmp_path / "scale.json", SoundRecord).drone == notes[0].written


def test_a_note_against_itself_in_tune_beats_by_the_difference(tenor, tmp_path, capsys):
    # Two tones of f and f' make a level that comes and goes |f' - f| times a second.
    off = max(tenor.notes, key=lambda note: abs(note.cents))
    rate_wanted = abs(off.frequency_hz - off.target_hz)
    seconds = round(4.0 / rate_wanted, 2)
    assert seconds < 20.0
    asked = ("play", TENOR, "--track", "beats", "--note", off.written, "--seconds", seconds)
    assert told(capsys, *asked, "--to", tmp_path / "beats.flac")[0] == 0
    sound, rate = tones(tmp_path / "beats.flac", seconds)
    near = np.abs(first_partial(sound[0], rate, off.target_hz)) / np.hanning(len(sound[0])).clip(1e-3)
    low = [
        at
        for at in range(rate // 10, len(near) - rate // 10)
        if near[at] == near[at - rate // 10 : at + rate // 10].min()
    ]
    assert len(low) in (3, 4, 5)
    assert (len(low) - 1) / (low[-1] - low[0]) * rate == pytest.approx(rate_wanted, rel=0.01)
    assert f"{rate_wanted:.2f}" in told(capsys, *asked, "--to", tmp_path / "beats.flac")[1]


def test_two_layouts_in_turn_over_a_drone_and_both_ends_of_doubt(tenor, tmp_path, capsys):
    other = tenor.model_copy(
        update={"notes": [note.model_copy(update={"frequency_hz": note.frequency_hz * 1.01}) for note in tenor.notes]}
    )
    write_record(tmp_path / "other.json", other)
    note = next(note for note in tenor.notes if note.written == "A4")
    asked = ("play", TENOR, "--note", "A4", "--seconds", 0.8, "--to", tmp_path / "turn.wav")
    assert told(capsys, *asked, "--then", tmp_path / "other.json")[0] == 0
    (one, two), rate = tones(tmp_path / "turn.wav", 0.8)
    assert cents(*(counted_hz(tone, rate, note.frequency_hz) for tone in (two, one))) == pytest.approx(17.226, abs=0.5)
    assert told(capsys, *asked, "--track", "doubt")[0] == 0  # 1.645 deviations: the normal distribution's 95 %
    (low, high), rate = tones(tmp_path / "turn.wav", 0.8)
    width = cents(*(counted_hz(tone, rate, note.frequency_hz) for tone in (high, low)))
    assert width == pytest.approx(2.0 * 1.645 * note.sd_cents, abs=1.0)
    assert told(capsys, *asked, "--track", "drone", "--drone", "E4")[0] == 0
    (both,), rate = tones(tmp_path / "turn.wav", 0.8)
    drone = next(note for note in tenor.notes if note.written == "E4").target_hz
    spectrum, step = np.abs(np.fft.rfft(both * np.hanning(len(both)))), rate / len(both)
    for hz in (drone, note.frequency_hz):
        peak = round(hz / step)
        assert spectrum[peak - 1 : peak + 2].max() > 10.0 * spectrum[[peak - 8, peak + 8]].max()


def test_warmer_air_is_heard(layout, tmp_path, capsys):
    # The sound speed's published slope is 2.945 cents per kelvin at 20 degC; see `predict`.
    pitches = []
    for degrees in (25, 35):
        place = tmp_path / f"{degrees}.wav"
        more = ("--reed-degc", degrees, "--bell-degc", degrees - 4, "--note", "A4", "--seconds", 1)
        assert told(capsys, "play", layout, "--to", place, *more)[0] == 0
        (tone,), rate = tones(place, 1.0)
        pitches.append(counted_hz(tone, rate, 440.0))
    assert cents(*reversed(pitches)) == pytest.approx(29.0, abs=1.5)


NO_H9 = "the layout has no note 'H9'; it has A4, B4, C#5, D5, E5"


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        (("--to", "a.mp3"), "--to must end in .wav or .flac, but got 'a.mp3'"),
        (("--to", "a.wav", "--track", "loud"), "--track must be one of alone, in-tune, beats, drone, doubt, but got"),
        (("--to", "a.wav", "--note", "H9"), NO_H9),
        (("--to", "a.wav", "--track", "drone", "--drone", "H9"), NO_H9),
        (("--to", "a.wav", "--seconds", "0"), "--seconds must lie between 0.2 and 20 s, but got 0"),
    ],
)  # fmt: skip
def test_what_cannot_be_played_is_told(layout, more, sentence, capsys, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    code, out, err = told(capsys, "play", layout, *more)
    assert (code, out) == (2, "")
    assert sentence in err
    assert not (tmp_path / "a.wav").exists()


def test_silent_notes_are_told_and_left_out(layout, record, tmp_path, capsys):
    mute = record.notes[0].model_copy(update={"frequency_hz": None, "cents": None, "status": "silent"})
    write_record(layout, record.model_copy(update={"notes": [mute, *record.notes[1:]]}))
    code, out, _ = told(capsys, "play", layout, "--to", tmp_path / "a.wav", "--seconds", 0.3)
    assert code == 0
    assert "left out, as this layout sounds nothing near: A4" in out
    assert len(tones(tmp_path / "a.wav", 0.3)[0]) == len(record.notes) - 1
    code, _, err = told(capsys, "play", layout, "--to", tmp_path / "b.wav", "--note", "A4")
    assert (code, err) == (2, "cannot play this\n  nothing to play: none of these notes sounds on this layout\n")
