"""What answers mean together: family, bore and lowest note; or everything that does not go together."""

from dataclasses import dataclass

from optimizer.beginning.answers import Answers, AnswersError
from optimizer.beginning.family import Family, family_file, family_of
from optimizer.project.faults import Fault
from optimizer.project.findings import Finding, at
from optimizer.project.note_names import name_of, number_of, prefers_flats
from optimizer.prototype.present_tables import read_bore

HIGHEST = 87
"""MIDI key number of Eb6, 1245 Hz, beyond which no note is begun unless it is asked for: open holes reflect little from
their cutoff on, about 1500 Hz (Benade, *Fundamentals of Musical Acoustics*, 1976, from memory)."""


@dataclass(frozen=True)
class Meant:
    """What answers mean.

    Attributes
    ----------
    answers : as they were given
    family : as far as the instrument takes it
    bore : cone or cylinder
    lowest : MIDI key number of the lowest written note
    table : points of a bore that is there, [position, diameter] in mm
    """

    answers: Answers
    family: Family
    bore: str
    lowest: int
    table: list[tuple[float, float]] | None

    @property
    def sounding(self) -> int:
        """MIDI key number of the lowest sounding note."""
        return self.lowest + self.answers.transposition_semitones

    def named(self, midi: int) -> str:
        """A note by the names that notes have here."""
        return _named(self.answers, midi)


def meant(answers: Answers) -> Meant:
    """What answers mean together.

    Raises
    ------
    AnswersError
        with everything that does not go together, and a table of the bore that cannot be used
    """
    wrong: list[Finding] = []
    bore = _bore(answers, wrong)
    lowest = _lowest(answers, wrong)
    table = _table(answers, wrong)
    sounding = lowest + answers.transposition_semitones
    most = answers.notes or HIGHEST + 1 - sounding
    family = family_of(answers, lambda semitones: _named(answers, lowest + semitones), sounding, most)
    least, told = (3, "three") if family.told["keys"] else (2, "two")  # two notes open no two holes that can be uneven
    if not wrong and len({line.semitones for line in family.lines}) < least:
        wrong.append(at("notes", f"fewer than {told} notes of the family are left; take more notes"))
    if wrong:
        raise AnswersError(wrong)
    return Meant(answers, family, bore, lowest, table)


def _named(answers: Answers, midi: int) -> str:
    """The name of a note; black keys are flats where the lowest note was called so."""
    return name_of(midi, answers.note_names, prefers_flats([answers.lowest or ""], answers.note_names))


def _bore(answers: Answers, wrong: list[Finding]) -> str:
    """Cone or cylinder, as the family has it."""
    fixed = family_file(answers.family).get("bore")
    if fixed and answers.bore and answers.bore != fixed:
        said = f"{answers.family} has a {fixed} for a bore, and not a {answers.bore}; take six-hole, or leave bore out"
        wrong.append(at("bore", said))
    if answers.family == "six-hole" and answers.rows:
        wrong.append(at("rows", "six-hole has no keys, so that no touches can stand in rows"))
    kind = str(fixed or answers.bore or "cone")
    narrow, wide = answers.reed_end_mm, answers.bell_mm
    if kind == "cylinder" and narrow and wide and narrow != wide:
        wrong.append(at("bell_mm", "a cylinder is as wide at the bell as at the reed; give one of the two"))
    return kind


def _lowest(answers: Answers, wrong: list[Finding]) -> int:
    """MIDI key number of the lowest written note."""
    family = family_file(answers.family)
    usual = number_of(str(family["usual_lowest"]))
    try:
        lowest = usual if answers.lowest is None else number_of(answers.lowest, answers.note_names)
    except ValueError as error:
        said, _, _ = str(error).partition(", or note_names")  # which a project says, not an answer
        wrong.append(at("lowest", said))
        return usual
    sounding = lowest + answers.transposition_semitones
    least, most = map(number_of, family["lowest_sounds"])
    if not least <= sounding <= most:
        names = (name_of(each, answers.note_names) for each in (sounding, least, most))
        said = "sounds as {}; the lowest note of {family} may sound as {} to {}".format(*names, family=answers.family)
        wrong.append(at("lowest", said))
    return lowest


def _table(answers: Answers, wrong: list[Finding]) -> list[tuple[float, float]] | None:
    """Points of a bore that is there."""
    if answers.bore_table is None:
        return None
    try:
        table = [(place, diameter) for place, diameter in read_bore(answers.bore_table)]
    except Fault as fault:
        wrong += [Finding("bore_table", each) for each in fault.problems]
        return None
    if table[-1][0] <= 0.0:
        wrong.append(at("bore_table", "has no length"))
    return table
