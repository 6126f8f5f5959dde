"""Names of notes as a project writes them: in, out, and asked for where they are of another kind.

A4 and a' are both 440 Hz (ISO 16:1975; Helmholtz 1863), MIDI key 69; names of keys in German from memory.
"""

import pytest
from shelf import PIPE, changed, pipe

from optimizer.project.loading import ProjectError
from optimizer.project.note_names import name_of, number_of, prefers_flats
from optimizer.project.scale import targets
from optimizer.views.project_overview import overview

ALIKE = {
    69: ("A4", "A4", "a'"),
    60: ("C4", "C4", "c'"),
    59: ("B3", "H3", "h"),
    58: ("Bb3", "B3", "b"),
    68: ("Ab4", "As4", "as'"),
    66: ("F#4", "Fis4", "fis'"),
    63: ("Eb4", "Es4", "es'"),
    72: ("C5", "C5", "c''"),
    36: ("C2", "C2", "C"),
    35: ("B1", "H1", "H,"),
    24: ("C1", "C1", "C,"),
}


@pytest.mark.parametrize(("midi", "written"), ALIKE.items())
def test_one_key_has_a_name_of_each_kind(midi, written):
    for names, name in zip(("english", "german", "helmholtz"), written, strict=True):
        assert number_of(name, names) == midi
        assert name_of(midi, names, prefers_flats([name], names)) == name


@pytest.mark.parametrize("names", ["english", "german", "helmholtz"])
@pytest.mark.parametrize("flats", [False, True])
def test_every_name_that_comes_out_goes_in(names, flats):
    assert [number_of(name_of(midi, names, flats), names) for midi in range(12, 108)] == list(range(12, 108))


def test_small_letters_take_digits_too():
    assert [number_of(name, "helmholtz") for name in ("c1", "a1", "b2", "C1", "es")] == [60, 69, 82, 24, 51]


GERMAN = changed("[chart]", '[chart]\nnote_names = "german"')
GERMAN = changed("B4   1", "H4   1", changed("C#5  1", "Des5 1", GERMAN))


def test_names_come_out_as_they_went_in():
    loaded = pipe(changed("transposition_semitones = 0", "transposition_semitones = -3", GERMAN))
    assert [note.written for note in loaded.notes] == ["A4", "H4", "Des5", "D5", "E5"]
    found = targets(loaded.project, loaded.notes)
    assert [target.sounding for target in found] == ["Ges4", "As4", "B4", "H4", "Des5"]
    assert [target.midi for target in found] == [66, 68, 70, 71, 73]
    assert "written A4 to E5, sounding Ges4 to Des5" in overview(loaded)


def test_sharps_and_flats_follow_the_chart():
    flats = changed("C#5  1", "Db5  1", changed("transposition_semitones = 0", "transposition_semitones = 1"))
    assert targets(pipe(flats).project, pipe(flats).notes)[0].sounding == "Bb4"
    sharps = pipe(changed("transposition_semitones = 0", "transposition_semitones = 1"))
    assert targets(sharps.project, sharps.notes)[0].sounding == "A#4"


def test_weights_speak_the_language_of_the_chart():
    loaded = pipe(f"{GERMAN}\n[scale]\nweight = {{ H4 = 0.5 }}\noffset_cents = {{ Cis5 = 3.0 }}\n")
    found = targets(loaded.project, loaded.notes)
    assert [(target.weight, target.offset_cents) for target in found[1:3]] == [(0.5, 0.0), (1.0, 3.0)]
    with pytest.raises(ProjectError, match="did you mean 'H4'"):
        pipe(f"{GERMAN}\n[scale]\nweight = {{ H3 = 0.5 }}\n")


@pytest.mark.parametrize(
    ("name", "names", "said"),
    [
        ("Bb4", "german", "did you mean B4"),
        ("F#4", "helmholtz", "did you mean fis'"),
        ("H4", "english", "H4 is a German name: write B4"),
        ("es'", "english", "es' is a Helmholtz name: write Eb4"),
        ("g#4", "english", "did you mean G#4"),
        ("Aes4", "german", "must read like C4, Fis4"),
    ],
)
def test_a_name_of_another_kind_is_understood(name, names, said):
    with pytest.raises(ValueError, match="a note must read like") as caught:
        number_of(name, names)
    assert said in str(caught.value)


def test_a_project_without_the_key_reads_as_before():
    assert pipe(PIPE).project.chart.note_names == "english"
