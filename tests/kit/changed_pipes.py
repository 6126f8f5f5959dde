"""Practice pipes whose text was changed at random, and what is told of a text."""

import re

from hypothesis import strategies as st
from shelf import KEYED, PIPE

from optimizer.project.loading import ProjectError, parse_project

LINES = sorted({line for text in (PIPE, KEYED) for line in text.splitlines() if line.strip()})
VALUES = (
    "0", "-1", "1e300", "-1e300", "1e-300", "nan", "-inf", "true", '""', '"key"', '"L1"', "[]", "{}", "[[]]", "[1]",
    "[2, 1]", "[1e300, 1e301]", "[-1, 1]", '["h1"]', "1979-05-27", "9" * 400, "'\\'", '"\\u0000"', "[[0, 1], [1, 1]]",
    "{ a = 1 }", "07:32:00", '"none"', "99999999999", "[nan, nan]", "[0, 0]",
)  # fmt: skip


def problems_of(text):
    """Sentences that reading the text gives; none when it is sound."""
    try:
        parse_project(text, "pipe.toml")
    except ProjectError as error:
        return error.problems
    return []


@st.composite
def mutated(draw):
    lines = draw(st.sampled_from((PIPE, KEYED))).splitlines()
    for _ in range(draw(st.integers(1, 3))):
        place = draw(st.integers(0, len(lines) - 1))
        how = draw(st.sampled_from(("drop", "swap", "value", "number", "letter", "double")))
        if how == "drop":
            del lines[place]
        elif how == "swap":
            lines[place] = draw(st.sampled_from(LINES))
        elif how == "double":
            lines.insert(place, lines[place])
        elif how == "letter":
            column = draw(st.integers(0, len(lines[place])))
            letter = draw(st.characters(codec="utf-8"))
            lines[place] = lines[place][:column] + letter + lines[place][column + 1 :]
        else:
            pattern = r"(?<== )[^,}=]+" if how == "value" else r"-?\d+(\.\d+)?"
            spots = list(re.finditer(pattern, lines[place]))
            if spots:
                spot = draw(st.sampled_from(spots))
                value = draw(st.sampled_from(VALUES))
                lines[place] = lines[place][: spot.start()] + value + lines[place][spot.end() :]
    return "\n".join(lines) + "\n"
