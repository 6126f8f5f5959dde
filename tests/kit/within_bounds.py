"""Texts that are no project and keep within the bounds of one, each dear to read in its own way."""

import time

import pytest
from places import CONFIGS

from optimizer.project.loading import ProjectError, parse_project, text_with_files
from optimizer.project.toml_text import CHARACTERS_MOST, LINES_MOST

SOON_SECONDS = 8.0
"""Of the processor; before there were bounds the dearest of these took minutes."""


def lines(of, count=LINES_MOST - 100):
    """Many lines, each made from its number."""
    return "\n".join(map(of, range(count)))


WITHIN = {
    "names without a value": "\n".join(" . ".join("a" * 4900) for _ in range(5)),
    "keys": lines("k{} = 1".format),
    "keys of one table": lines("a.b{} = 1".format),
    "keys of many names": "\n".join(".".join("a" * 3) + f".k{number} = 1" for number in range(LINES_MOST - 100)),
    "tables": lines("[t{}]".format),
    "tables in a table": lines("[t.t{}]".format),
    "a list of tables": lines(lambda _: "[[a]]"),
    "holes": "[holes]\n" + lines("h{} = {{}}".format),
    "an inline table": "\n".join(f"a{n} = {{{', '.join(f'k{each} = 1' for each in range(1700))}}}" for n in range(5)),
    "a list": "a = [" + ",\n".join("[]," * 6000 for _ in range(5)) + "]",
    "brackets": "a = " + "[" * 19_000,
    "marks": "\n".join(f'a{number} = "' + '\\"' * 9900 + '"' for number in range(5)),
    "blanks": ("#" + " " * 19_900 + "\n") * 4 + "[" + " " * 19_900,
}


def told_soon(text, hand):
    """That a text is refused within some seconds of the processor, whether it takes in a hand or not."""
    begun = time.process_time()
    with pytest.raises(ProjectError):
        parse_project(text_with_files(text, CONFIGS / "x.toml", hand), "x.toml", written=text)
    assert time.process_time() - begun < SOON_SECONDS
    assert len(text) < CHARACTERS_MOST
