"""Note names, frequencies and temperaments against published tables."""

import pytest

from acoustics.pitch import TEMPERAMENTS, cents_between, midi_number, note_frequency, note_name

NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")

# Cents above C; published in many tuning tables, here from memory, rounded to 0.1 cent.
# Quarter-comma meantone (E flat to G sharp), Vallotti, Werckmeister III.
PUBLISHED = {
    "meantone": (0.0, 76.0, 193.2, 310.3, 386.3, 503.4, 579.5, 696.6, 772.6, 889.7, 1006.8, 1082.9),
    "vallotti": (0.0, 94.1, 196.1, 298.0, 392.2, 502.0, 592.2, 698.0, 796.1, 894.1, 1000.0, 1090.2),
    "werckmeister": (0.0, 90.2, 192.2, 294.1, 390.2, 498.0, 588.3, 696.1, 792.2, 888.3, 996.1, 1092.2),
}


def test_a4_is_440_hz():
    # ISO 16:1975.
    assert note_frequency(midi_number("A4")) == 440.0


@pytest.mark.parametrize(
    ("note", "midi", "hertz"),
    [
        ("A0", 21, 27.5), ("C4", 60, 261.6256), ("E4", 64, 329.6276), ("Bb3", 58, 233.0819), ("F#4", 66, 369.9944),
        ("C8", 108, 4186.009), ("C-1", 0, 8.175799),
    ],
)  # fmt: skip
def test_equal_temperament_matches_the_published_frequencies(note, midi, hertz):
    # MIDI 1.0 key numbers and the usual table of equal-tempered frequencies, seven digits.
    assert midi_number(note) == midi
    assert note_frequency(midi) == pytest.approx(hertz, rel=1e-6)


def test_all_keys_of_a_temperament_move_with_the_reference_pitch():
    # Proportionality: 415 Hz against 440 Hz.
    for midi in range(48, 84):
        low, high = note_frequency(midi, 415.0, "vallotti"), note_frequency(midi, 440.0, "vallotti")
        assert low / high == pytest.approx(415.0 / 440.0, rel=1e-14)


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_temperament_matches_the_published_cents(name):
    assert TEMPERAMENTS[name] == pytest.approx(PUBLISHED[name], abs=0.06)  # half of the last digit and rounding


@pytest.mark.parametrize("name", sorted(PUBLISHED))
def test_temperament_is_pinned_at_a_and_keeps_pure_octaves(name):
    assert note_frequency(69, 442.0, name) == pytest.approx(442.0, rel=1e-14)
    for midi in range(55, 72):
        assert note_frequency(midi + 12, 440.0, name) == pytest.approx(2.0 * note_frequency(midi, 440.0, name))
        expected = PUBLISHED[name][midi % 12] - PUBLISHED[name][9] + 1200.0 * (midi // 12 - 5)
        assert cents_between(note_frequency(midi, 440.0, name), 440.0) == pytest.approx(expected, abs=0.11)


def test_meantone_thirds_are_pure():
    # Aaron 1523: eight major thirds of ratio 5:4.
    for low, high in (("C4", "E4"), ("D4", "F#4"), ("Bb3", "D4"), ("E4", "G#4")):
        ratio = note_frequency(midi_number(high), temperament="meantone") / note_frequency(
            midi_number(low), temperament="meantone"
        )
        assert ratio == pytest.approx(5.0 / 4.0, rel=1e-12)


@pytest.mark.parametrize("name", sorted(TEMPERAMENTS))
def test_every_temperament_rises_from_c_to_b(name):
    table = TEMPERAMENTS[name]
    assert len(table) == 12
    assert table[0] == 0.0
    assert all(low < high for low, high in zip(table, (*table[1:], 1200.0), strict=True))


def test_names_and_numbers_are_inverse():
    assert [midi_number(note_name(midi)) for midi in range(12, 120)] == list(range(12, 120))


@pytest.mark.parametrize(("flat", "sharp"), [("Db4", "C#4"), ("Eb5", "D#5"), ("Cb4", "B3"), ("B#3", "C4")])
def test_both_spellings_name_the_same_key(flat, sharp):
    assert midi_number(flat) == midi_number(sharp)


@pytest.mark.parametrize("name", ["", "H4", "a4", "A", "4", "A##4", "Abb4", "A44", "A4 ", "A4\n", "A♯4", "A-4x"])
def test_a_bad_note_name_is_refused(name):
    with pytest.raises(ValueError, match="a note must read like"):
        midi_number(name)


def test_an_unknown_temperament_is_refused():
    with pytest.raises(KeyError):
        note_frequency(69, 440.0, "circular")


def test_interval_of_a_fifth():
    # A pure fifth is 701.955 cents.
    assert cents_between(660.0, 440.0) == pytest.approx(701.9550009, abs=1e-6)
    assert cents_between(440.0, 660.0) == pytest.approx(-701.9550009, abs=1e-6)
