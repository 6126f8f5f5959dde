"""`duct`: ducts given as plain numbers against the values in their file."""

import json
import re

import pytest
from commanded import told
from places import REFERENCE

FILES = [REFERENCE / "duct_finite_elements.json", REFERENCE / "keyed_holes_finite_elements.json"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_duct_prints_every_case_with_its_differences(path, capsys):
    # The bounds of test_plain_duct: one cent for the first two resonances, 2 for all.
    code, out, err = told(capsys, "duct", path)
    assert (code, err) == (0, "")
    for name, case in json.loads(path.read_text())["cases"].items():
        (row,) = [line for line in out.splitlines() if line.startswith(f"{name} ") and case["title"][:20] in line]
        differences = [float(value) for value in re.findall(r"[+-]\d+\.\d\d", row)]
        assert len(differences) == len(case["resonances"])
        assert max(map(abs, differences[:2])) < 1.0
        assert max(map(abs, differences)) < 2.0
        assert bool(re.search(r"\d\.\d at \d+ Hz", row)) == ("Z" in case)


TUBE = {"bore": [[0, 7.5], [300, 7.5]], "outer": [[0, 11.5], [300, 11.5]], "holes": []}


def cases(**changes):
    return json.dumps({"c_m_per_s": 343.2, "cases": {"A": TUBE | changes}})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "Expecting property name"),
        ("[]", "is not laid out as acoustics/README.md says"),
        ("{}", "lacks 'cases'"),
        ('{"c_m_per_s": 343.2, "cases": {}}', "holds no cases"),
        ('{"cases": {"A": {}}}', "lacks 'bore'"),
        (cases(holes=[{"x": 200, "r": 4, "state": "shut"}]), "must be 'open' or 'closed', but got 'shut'"),
        (cases(holes=[{"x": 400, "r": 4, "state": "open"}]), "inside the duct, but got one at 400"),
        (cases(holes=[{"x": 200, "state": "open"}]), "lacks 'r'"),
        (cases(holes=[{"x": 200, "r": 4, "state": "open", "pad": {"gap": 2}}]), "lacks 'r'"),
        (cases(holes=[{"x": 200, "r": 4, "state": "open", "seat": {"r": 4, "top": 13}}]), "wider than its hole"),
        (cases(bore="wide"), "could not convert string to float: 'wide'; acoustics/README.md says"),
    ],
)
def test_a_bad_file_of_cases_is_told_in_a_sentence(tmp_path, text, said, capsys):
    path = tmp_path / "cases.json"
    path.write_text(text)
    code, out, err = told(capsys, "duct", path)
    assert (code, out) == (2, "")
    assert err.startswith("cannot read the cases\n  ")
    assert len(err.splitlines()) == 2
    assert str(path) in err
    assert said in err
    assert "Error" not in err


def test_a_missing_file_of_cases_is_named(tmp_path, capsys):
    code, _, err = told(capsys, "duct", tmp_path / "none.json")
    assert code == 2
    assert "none.json" in err
