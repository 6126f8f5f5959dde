"""What a sentence on a recommended layout tells, held against figures."""

import re

import pytest

SAID = {
    "tuning": (r"([\d.]+) cents (better|less) in tune", "better"),
    "stretch": (r"hands ([\d.]+) % (less|more) stretched", "less"),
    "unevenness": (r"holes ([\d.]+) % (more|less) even", "more"),
    "joints": (r"(\d+) (fewer|more) joints?", "fewer"),
    "plates": (r"(\d+) (fewer|more) plates?", "fewer"),
    "to_settle": (r"(\d+) (fewer|more) things? to settle", "fewer"),
}


def told_differences(sentence):
    """Differences that a sentence tells, less than 0 where the layout is better; and how many figures it has in all."""
    weighed = sentence.partition("Against the best compromise: ")[2]
    found = {}
    for name, (pattern, better) in SAID.items():
        for size, way in re.findall(pattern, weighed):
            found[name] = float(size) * (-1.0 if way == better else 1.0)
    return found, len(re.findall(r"\d[\d.]*", weighed))


def true_sentence(pick, told, compromise, same):
    """Hold a sentence against the figures of its layout and of the best compromise: all that counts, and no more."""
    found, figures = told_differences(pick["sentence"])
    assert figures == len(found)
    wanted = {name: told[name] - compromise[name] for name in SAID}
    counting = {name: by for name, by in wanted.items() if by and abs(by) >= same.get(name, 1.0) * (1 - 1e-9)}
    assert found.keys() == counting.keys()
    for name, by in counting.items():
        assert found[name] * by > 0
        assert found[name] == pytest.approx(by, abs=0.0501 if abs(by) < 9.95 else 0.501)
    better, _, worse = pick["sentence"].partition("Against the best compromise: ")[2].partition(", but ")
    for name, (pattern, _) in SAID.items():
        if counting.get(name, 0.0) < 0:
            assert re.search(pattern, better)
        elif name in counting:
            assert re.search(pattern, worse or better)
