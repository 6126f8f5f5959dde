"""Sound files in: every kind that is read gives the same sound, and what cannot be heard is told in a sentence.

Checked against: SciPy's resampling of the whole; sines by their formula.
"""

import numpy as np
import pytest
import scipy
import soundfile

from optimizer.hearing import recording
from optimizer.hearing.recording import RATE, STEP, RecordingError, read_recording


def sine(hz=440.0, seconds=1.0, rate=RATE, level=0.3):
    return level * np.sin(2.0 * np.pi * hz * np.arange(int(seconds * rate)) / rate)


def refused(path):
    with pytest.raises(RecordingError) as fault:
        read_recording(path)
    (sentence,) = fault.value.problems
    return sentence


@pytest.mark.parametrize("rate", [16_000, 22_050, 44_100, 48_000, 96_000])
def test_a_file_in_blocks_is_resampled_as_the_whole_would_be(tmp_path, monkeypatch, rate):
    monkeypatch.setattr(recording, "BLOCK_SECONDS", 0.25)  # seams
    sound = np.random.default_rng(1).normal(0.0, 0.1, int(1.1 * rate))
    soundfile.write(tmp_path / "noise.wav", sound, rate, subtype="FLOAT")
    common = np.gcd(rate, RATE)
    whole = scipy.signal.resample_poly(sound, RATE // common, rate // common)
    found = read_recording(tmp_path / "noise.wav").samples
    assert len(found) == len(whole)
    assert found == pytest.approx(whole, abs=2e-7)


@pytest.mark.parametrize(("name", "most"), [("a.wav", 1e-4), ("a.flac", 1e-4), ("a.ogg", 0.05)])
def test_all_kinds_give_the_same_sound(tmp_path, name, most):
    soundfile.write(tmp_path / name, sine(), RATE)
    found = read_recording(tmp_path / name)
    assert found.seconds == pytest.approx(1.0, abs=1e-3)
    assert np.max(np.abs(found.samples[2000:-2000] - sine()[2000:-2000])) < most


def test_of_two_channels_the_louder_is_heard_and_not_their_sum(tmp_path):
    soundfile.write(tmp_path / "a.wav", np.stack([0.5 * sine(), -sine()], axis=1), RATE, subtype="FLOAT")
    found = read_recording(tmp_path / "a.wav")
    assert found.samples == pytest.approx(-sine(), abs=1e-6)
    assert found.remarks == ["the two channels of a.wav cancel each other; channel 2 alone was heard, the louder one"]
    soundfile.write(tmp_path / "b.wav", np.stack([sine(), 0.9 * sine()], axis=1), RATE)
    assert read_recording(tmp_path / "b.wav").remarks == []


def test_a_file_is_read_as_what_it_is(tmp_path):
    soundfile.write(tmp_path / "a.mp3", sine(rate=44_100), 44_100)
    (tmp_path / "a.mp3").rename(tmp_path / "a.wav")
    found = read_recording(tmp_path / "a.wav")
    assert found.remarks == ["a.wav is MP3 by what is in it, whatever its name says; it was read as that"]
    crossings = np.sum(np.diff(np.signbit(found.samples[4000:-4000])))
    assert crossings / 2 == pytest.approx(440.0 * (len(found.samples) - 8000) / RATE, abs=1)


def test_what_stands_at_full_scale_is_kept_by_steps(tmp_path):
    sound = sine(seconds=2.0)
    sound[RATE : RATE + STEP] = 1.0
    soundfile.write(tmp_path / "a.wav", sound, RATE)
    found = read_recording(tmp_path / "a.wav").clipped
    assert np.sum(found) == pytest.approx(1.0, abs=0.02)
    assert 99 <= np.argmax(found) <= 101


def file(tmp_path, name, sound, rate=RATE, **more):
    soundfile.write(tmp_path / name, sound, rate, **more)
    return tmp_path / name


def test_what_cannot_be_heard_is_told(tmp_path, monkeypatch):
    assert "there is no recording" in refused(tmp_path / "gone.wav")
    assert refused(tmp_path).endswith("is a folder; name the recordings in it")
    (tmp_path / "nothing.wav").write_bytes(b"")
    assert refused(tmp_path / "nothing.wav") == "nothing.wav is empty: the recorder has kept nothing"
    assert "its length is 0" in refused(file(tmp_path, "short.wav", np.zeros(0)))
    assert "8000 samples a second, as in a telephone" in refused(file(tmp_path, "phone.wav", sine(rate=8000), 8000))
    assert "is silent" in refused(file(tmp_path, "still.wav", np.zeros(RATE)))
    assert "is clipped: " in refused(file(tmp_path, "loud.wav", np.clip(sine(level=1.5), -1, 1)))
    assert "has 9 channels" in refused(file(tmp_path, "many.wav", np.zeros((100, 9))))
    holes = sine()
    holes[500] = np.nan
    assert "values that are no numbers" in refused(file(tmp_path, "nan.wav", holes, subtype="FLOAT"))
    assert "AU file" in refused(file(tmp_path, "sun.au", sine()))
    (tmp_path / "letter.wav").write_text("Dear library, ")
    assert "letter.wav is no sound file; WAV, FLAC and OGG are read" in refused(tmp_path / "letter.wav")
    (tmp_path / "memo.m4a").write_bytes(b"\0\0\0\x20ftypM4A " + bytes(100))
    assert "is an M4A or MP4 file" in refused(tmp_path / "memo.m4a")
    whole = file(tmp_path, "cut.flac", sine()).read_bytes()
    (tmp_path / "cut.flac").write_bytes(whole[:30])
    assert "cut.flac is damaged" in refused(tmp_path / "cut.flac")
    monkeypatch.setattr(recording, "MOST_MINUTES", 0.01)
    assert "lasts 0:01, and at most" in refused(file(tmp_path, "long.wav", sine()))
    monkeypatch.setattr(recording, "MOST_BYTES", 1000)
    assert "cut it into several takes" in refused(tmp_path / "long.wav")


def test_a_recording_of_two_hours_is_refused_before_it_is_read(tmp_path):
    # A header that promises two hours over a file of a second: nothing beyond it is looked at.
    path = file(tmp_path, "evening.wav", sine(seconds=0.1), 16_000, subtype="PCM_U8")
    with path.open("r+b") as stream:
        stream.truncate(2 * 3600 * 16_000 + 44)
        for at, size in ((4, 2 * 3600 * 16_000 + 36), (40, 2 * 3600 * 16_000)):
            stream.seek(at)
            stream.write(size.to_bytes(4, "little"))
    assert "lasts 2:00:00, and at most 30 minutes" in refused(path)
