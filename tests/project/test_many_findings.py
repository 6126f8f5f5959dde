"""Lists of what is to be mended have an end, and so has what is quoted in them."""

import json

import pytest
from shelf import PIPE, changed, pipe

from optimizer.commands.cli import main
from optimizer.project.findings import FINDINGS_MOST
from optimizer.project.hand import Hand
from optimizer.project.included import IncludedError, parse_included
from optimizer.project.loading import ProjectError
from optimizer.service.refusals import RefusedError
from optimizer.service.work import Submitted, checked

COUNT = 1000
LONG = "x" * 380_000
MANY = {
    "keys of a table": PIPE.replace("[air]", "".join(f"k{n} = 1\n" for n in range(COUNT)) + "[air]"),
    "tables": PIPE + "".join(f"[t{n}]\n" for n in range(COUNT)),
    "holes": PIPE.replace("[holes]", "[holes]\n" + "".join(f"h{n} = {{ x{n} = 1 }}\n" for n in range(COUNT))),
    "lines of a chart": changed("E5   1  none", "".join(f"E5   1  nun{n}\n" for n in range(COUNT))),
}
QUOTED = {
    "a value": changed("transposition_semitones = 0", f'transposition_semitones = "{LONG}"'),
    "a list": changed("volume_cm3 = [0.1, 0.6]", f"volume_cm3 = [{'1, ' * 100_000}]"),
    "a name of a key": changed("transposition_semitones = 0", f"transposition_semitones = 0\n{LONG} = 1"),
    "a name of a hole": changed("g4 = {", f"{LONG} = {{"),
    "a line of a chart": changed("E5   1  none", f"E5   1  {LONG}"),
}


def findings_of(text):
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    return caught.value.findings


@pytest.mark.parametrize("what", MANY)
def test_a_long_list_is_cut_and_says_so(what):
    findings = findings_of(MANY[what])
    assert 1 < len(findings) <= FINDINGS_MOST + 1
    assert findings[-1].sentence.endswith(" more problems; mend these first")
    assert sum(finding.more or 1 for finding in findings) >= COUNT


@pytest.mark.parametrize("what", QUOTED)
def test_a_long_text_is_quoted_in_part(what):
    findings = findings_of(QUOTED[what])
    assert sum(len(finding.sentence) + len(finding.path) for finding in findings) < 10_000


@pytest.mark.parametrize("what", [*MANY, *QUOTED])
def test_the_service_answers_no_more_than_somebody_reads(what, tmp_path):
    with pytest.raises(RefusedError) as caught:
        checked(tmp_path, Submitted((MANY | QUOTED)[what]), False)
    assert len(json.dumps([each.model_dump() for each in caught.value.problems])) < 50_000


def test_a_hand_file_of_many_problems_is_told_in_part():
    with pytest.raises(IncludedError) as caught:
        parse_included("".join(f"k{n} = 1\n" for n in range(COUNT)), "hand.toml", "hand.toml", Hand, "hand")
    assert len(caught.value.problems) == FINDINGS_MOST + 1
    assert caught.value.problems[-1] == "900 more problems; mend these first"


def test_sixty_one_holes_are_one_too_many(tmp_path, capsys):
    many = "".join(
        f'x{n} = {{ by = "key", rest = "closed", position_mm = [100, 300], diameter_mm = 5, chimney_mm = 4 }}\n'
        for n in range(57)
    )
    opened = ", ".join(f'"x{n}"' for n in range(57))
    keys = f'[keys]\nk = {{ touch = "R4", opens = [{opened}] }}\n\n[chart]'
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE.replace("[holes]\n", f"[holes]\n{many}").replace("[chart]", keys))
    assert main(["check", str(path)]) == 2
    said = capsys.readouterr().err.splitlines()
    assert said == [f"{path}: 1 problem to mend", "  line 18: holes: must hold at most 60 entries, but got 61"]
