"""Project files with something wrong in the chart or its scale, and what a maker should read about it; written as the
sentences of `broken_projects` were."""

from broken_projects import KEY, with_first
from shelf import PIPE, changed


def with_order(line):
    """The pipe with patterns allowed and C#5 given by this fingering."""
    return changed("[chart]", '[chart]\norder = ["g1", "g2", "g3", "g4"]', changed("C#5  1  L12", f"C#5  1  {line}"))


BROKEN_CHARTS = {
    # lines, and how they go together
    "no notes": (PIPE[: PIPE.index("A4   1")] + '"""\n', ["chart.lines: must hold at least one note"]),
    "a note of no scale": (
        changed("B4   1", "H4   1"),
        ["chart.lines ('H4   1  L123'): a note must read like C4, F#4 or Bb3, but got 'H4'; H4 is a German name: write "
         'B4, or note_names = "german" in [chart]'],
    ),
    "a register that is no number": (
        changed("B4   1", "B4   x"),
        ["chart.lines ('B4   x  L123'): the register must be a number from 1 to 9, but got 'x'"],
    ),
    "register nought": (
        changed("B4   1", "B4   0"),
        ["chart.lines ('B4   0  L123'): the register must be a number from 1 to 9, but got '0'"],
    ),
    "a line cut short": (
        changed("D5   1  L1", "D5   1"),
        ["chart.lines ('D5   1'): a line needs a note, a register and a fingering, such as `A4 1 L12`"],
    ),
    "a line without fingering": (
        changed("D5   1  L1", "D5   1  alternate"),
        ["chart.lines ('D5   1  alternate'): the fingering is missing"],
    ),
    "an unknown touch": (
        changed("C#5  1  L12", "C#5  1  L12 kZ"),
        [
            "chart.lines ('C#5  1  L12 kZ'): 'kZ' is neither a finger (such as L123 or RT) nor a key "
            "(none are defined)"
        ],
    ),
    "a misspelt key in the chart": (
        changed("C#5  1  L12", "C#5  1  L12 K1") + KEY,
        [
            "chart.lines ('C#5  1  L12 K1'): 'K1' is neither a finger (such as L123 or RT) nor a key (k1); "
            "did you mean 'k1'?"
        ],
    ),
    "a pattern of the wrong length": (
        with_order("ooxxx"),
        ["chart.lines ('C#5  1  ooxxx'): the pattern must name 4 holes as chart.order does, but has 5"],
    ),
    "a pattern without an order": (
        changed("C#5  1  L12", "C#5  1  ooxx"),
        [
            "chart.lines ('C#5  1  ooxx'): a pattern of x, o and h needs `order` in [chart], the holes that it "
            "names"
        ],
    ),
    "an order with an unknown hole": (
        with_order("ooxx").replace('"g4"]', '"g9"]'), ["chart.order: there is no hole 'g9'; did you mean 'g4'?"]
    ),
    "an order with a hole twice": (
        with_order("ooxx").replace('"g4"]', '"g3"]'), ["chart.order: names g3 more than once; each hole stands once"]
    ),
    "keys at odds": (
        changed("A4   1  L123 R1", "A4   1  L123 kA kB", with_first('by = "R1"', 'by = "key"'))
        + '\n[keys]\nkA = { touch = "R1", opens = ["g1"] }\nkB = { touch = "R2", closes = ["g1"] }\n',
        ["chart.lines ('A4   1  L123 kA kB'): kB closes g1 while kA opens it; one of them has to go"],
    ),
    "a note twice": (
        changed("D5   1  L1", "D5   1  L1\nD5   1  L2"),
        ["chart.lines: D5 stands twice; mark the second line `alternate`, or both `option`"],
    ),
    "a note twice in two spellings": (
        changed("D5   1  L1", "D5   1  L1\nDb5  1  L2"),
        ["chart.lines: C#5 stands twice, the second time as Db5; mark the second line `alternate`, or both `option`"],
    ),
    "a note with alternates alone": (
        changed("D5   1  L1", "D5   1  L1  alternate"),
        ["chart.lines: D5 has only an alternate fingering; take `alternate` off the one most used"],
    ),
    "a chart of alternates alone": (
        PIPE[: PIPE.index("A4   1")] + 'A4  1  L123 R1  alternate\n"""\n',
        ["chart.lines: A4 has only an alternate fingering; take `alternate` off the one most used"],
    ),
    "two notes of one fingering": (
        changed("D5   1  L1", "D5   1  L12"),
        ["chart.lines: C#5 and D5 have the same holes open in register 1; one fingering sounds one note"],
    ),
    # the scale
    "an unknown temperament": (
        f'{PIPE}\n[scale]\ntemperament = "valotti"\n',
        [
            "scale.temperament: must be one of equal, meantone, vallotti, werckmeister, but got 'valotti'; "
            "did you mean 'vallotti'?"
        ],
    ),
    "an unknown temperament and a pitch that no instrument has": (
        f'{PIPE}\n[scale]\ntemperament = "wide"\na4_hz = 4400.0\n',
        [
            "scale.a4_hz: must be at most 480, but got 4400.0",
            "scale.temperament: must be one of equal, meantone, vallotti, werckmeister, but got 'wide'",
        ],
    ),
    "a weight for a note not in the chart": (
        f"{PIPE}\n[scale.weight]\nF5 = 2.0\n", ["scale.weight: the chart has no note 'F5'; did you mean 'E5'?"]
    ),
    "an offset for no note": (
        f"{PIPE}\n[scale.offset_cents]\nlow = 2.0\n",
        ["scale.offset_cents: a note must read like C4, F#4 or Bb3, but got 'low'"],
    ),
    "weights all nought": (
        f'{PIPE}\n[scale.weight]\nA4 = 0\nB4 = 0\n"C#5" = 0\nD5 = 0\nE5 = 0\n',
        ["scale.weight: at least one note must weigh more than 0"],
    ),
    "a broken line of a weighted note": (
        changed("B4   1", "B4   x") + "\n[scale.weight]\nB4 = 2.0\n",
        ["chart.lines ('B4   x  L123'): the register must be a number from 1 to 9, but got 'x'"],
    ),
}  # fmt: skip
"""By what is wrong: the text, and the sentences it must print."""
