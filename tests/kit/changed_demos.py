"""Demo projects as texts, what is told of a text, and demos changed at random."""

import random
import re
import time
from functools import cache

from mistaken_projects import BASS, PIPE, REED, TENOR
from places import CONFIGS

from optimizer.project.loading import ProjectError, likely_mistakes, parse_project, text_with_files

FILES = r"(?m)^(?:printer|hand) = .*$"
"""Other files that a demo names."""
LETTERS = "#\"'[]{}=,.:;-+ \t\n0123456789xohLRTIl°ä\u00a0\u2028\x00é€“"
VALUES = (
    "0", "-1", "1e300", "-1e-300", "nan", "inf", "true", '""', '"L1"', "[]", "{}", "[[]]", "[2, 1]", "4,5", '"4,5"',
    "1979-05-27", "02.11.2026", "4 mm", "[4,5, 12]", "99999999999", "0.001", "1000", '"key"', "None", "[nan, nan]",
)  # fmt: skip


@cache
def demo(name):
    return (CONFIGS / f"{name}.toml").read_text(encoding="utf-8")


def told(text, name):
    """Whether a text is refused, and what is told of it."""
    path = CONFIGS / f"{name}.toml"
    try:
        whole = text_with_files(text, path, None) if "printer =" in text[:1000] or "hand =" in text[:1000] else text
        loaded = parse_project(whole, path.name, written=text)
    except ProjectError as error:
        return True, error.told
    return False, [finding.told for finding in likely_mistakes(loaded)]


def mutated(draw, texts):
    """A demo's text with up to four changes, of letters, lines and values."""
    text = draw.choice(texts)
    for _ in range(draw.randint(1, 4)):
        how = draw.choice(("letter", "drop", "line", "value", "number", "swap"))
        if how in ("letter", "drop"):
            spot = draw.randrange(len(text))
            text = text[:spot] + (draw.choice(LETTERS) if how == "letter" else "") + text[spot + 1 :]
        elif how in ("line", "swap"):
            lines = text.split("\n")
            here, there = draw.randrange(len(lines)), draw.randrange(len(lines))
            if how == "line":
                lines.insert(there, lines[here])
            else:
                lines[here], lines[there] = lines[there], lines[here]
            text = "\n".join(lines)
        else:
            spots = list(re.finditer(r"(?<== )[^,}\n]+" if how == "value" else r"-?\d+(?:\.\d+)?", text))
            spot = draw.choice(spots)
            text = text[: spot.start()] + draw.choice(VALUES) + text[spot.end() :]
    return text


def loading_or_told(count):
    """The share of so many files changed at random that load; each of the others is told in sentences.

    Returns
    -------
    share : of files that load
    seconds : of processor time for each file
    """
    begun, loaded = time.process_time(), 0
    draw = random.Random(20261127)
    texts = [demo(PIPE), demo(PIPE), demo(REED), *(re.sub(FILES, "", demo(name)) for name in (TENOR, BASS))]
    for _ in range(count):
        text = mutated(draw, texts)
        refused, sentences = told(text, "none.toml")
        loaded += not refused
        assert sentences or not refused, text
        assert all(said.strip() and "\n" not in said for said in sentences), sentences
    return loaded / count, (time.process_time() - begun) / count
