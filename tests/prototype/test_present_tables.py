"""Tables of holes and bores: what they take, and a sentence with line and column for what they do not."""

import re

import pytest

from optimizer.prototype.measured_table import TableError
from optimizer.prototype.present_tables import read_bore, read_holes

HEADERS = "hole,from_reed_mm,bore_end_mm,chimney_mm"
G = {"g1": {"by": "R1"}, "g2": {"by": "L3", "top_ratio": 0.9}, "g3": {"by": "L2", "cover": "either"}}
ROWS = "g1,260,8,4\ng2,200,7.5,4\ng3,170,7,4\n"


def holes(tmp_path, text, known=None, end=320.0, name="holes.csv"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_holes(path, {name: G[name] for name in ("g1", "g2")} if known is None else known, end)


TWO = f"{HEADERS}\ng1,260,8,4\ng2,200,7.5,4\n"


def test_a_table_is_read_with_what_the_project_says_besides(tmp_path):
    found = holes(tmp_path, TWO).entries
    assert found["g1"] == {"by": "R1", "position_mm": 260.0, "diameter_mm": 8.0, "chimney_mm": 4.0}
    assert found["g2"]["top_ratio"] == 0.9


@pytest.mark.parametrize(
    "text",
    [
        TWO.replace(",", ";").replace("7.5", "7,5"),
        TWO.replace(",", "\t").replace("7.5", "7,5"),
        "\ufeff" + TWO,
        TWO.replace("\n", "\r\n"),
        f"# measured by lamplight\n\n{TWO}\n",
        TWO.replace("from_reed_mm", "From reed (mm)"),
    ],
    ids=["semicolons", "tabs", "byte order mark", "line ends", "remarks", "header as spoken"],
)
def test_what_programs_make_of_a_table_is_read_the_same(tmp_path, text):
    assert holes(tmp_path, text) == holes(tmp_path, TWO)


def test_a_table_may_be_toml(tmp_path):
    text = """[holes]
g1 = { from_reed_mm = 260, bore_end_mm = 8, chimney_mm = 4 }
g2 = { from_reed_mm = 200, bore_end_mm = 7.5, chimney_mm = 4 }
"""
    assert holes(tmp_path, text, name="holes.toml") == holes(tmp_path, TWO)
    with pytest.raises(TableError, match=r"holes.toml, line 3, column from_reed_mm: must be a number, but got 'far'"):
        holes(tmp_path, text.replace("200", '"far"'), name="holes.toml")


def test_without_holes_in_the_project_the_table_says_all(tmp_path):
    head = f"{HEADERS},worked_by,role\n"
    found = holes(tmp_path, f"{head}v,100,2,8,key,vent\nb,200,7,4,L1,\na,260,8,4,R1,\n", known={}).entries
    assert list(found) == ["a", "b", "v"]  # from the bell toward the reed, vents last
    assert found["v"]["role"] == "vent"
    with pytest.raises(TableError, match="line 2, column worked_by: must be the finger on the hole, or key"):
        holes(tmp_path, f"{HEADERS}\na,260,8,4\n", known={})


WRONG = {
    "unknown": (TWO.replace("g2,", "g7,"), "line 3, column hole: the project has no hole 'g7'"),
    "hole missing": (f"{HEADERS}\ng1,260,8,4\n", "has no line for g2, which the project's"),
    "hole twice": (f"{TWO}g2,201,7,4\n", "line 4, column hole: g2 stands on line 3 already"),
    "no unit": (TWO.replace("from_reed_mm", "from_reed"), "the header 'from_reed' lacks its"),
    "inches": (TWO.replace("bore_end_mm", "bore_end_in"), "is in inches; this table takes bore_end"),
    "inches unsaid": (f"{HEADERS}\ng1,10.2,8,4\ng2,7.9,7,4\n", "no hole lies beyond 10.2 mm of a bore of 320"),
    "from the bell": (TWO.replace("from_reed", "from_bell"), "counts from the bell; this table counts"),
    "from the bell unsaid": (
        f"{HEADERS}\ng1,60,8,4\ng2,120,7,4\ng3,150,7,4\n", "g1 is listed as the hole nearest the bell",
    ),
    "beyond the bore": (TWO.replace("260", "330"), "column from_reed_mm: g1 lies at 330, but the bore ends"),
    "decimal commas": (TWO.replace("7.5", "7,5"), "line 3: has 5 cells under 4 headers; a decimal comma?"),
    "comma in quotes": (TWO.replace("7.5", '"7,5"'), "line 3, column bore_end_mm: must be a number, but got '7,5'"),
    "unit in a cell": (TWO.replace("7.5", "7.5 mm"), "the unit stands in the header, and is not mm here"),
    "empty file": ("", "is empty; a holes table begins with its headers: hole, from_reed_mm"),
    "headers alone": (HEADERS, "line 1: has headers and no row under them"),
    "no headers": ("g1,260,8,4\ng2,200,7.5,4\n", "line 1, column 2: '260' is no header"),
    "header missing": ("hole,from_reed_mm,bore_end_mm\ng1,260,8\n", "must have the header chimney_mm"),
    "header twice": (f"{HEADERS},chimney_mm\ng1,260,8,4,4\n", "the header chimney_mm stands more than once"),
    "odd header": (TWO.replace("chimney_mm", "chimny_mm"), "did you mean 'chimney_mm'"),
    "cell empty": (TWO.replace("7.5", ""), "line 3, column bore_end_mm: is empty"),
    "no number": (TWO.replace("7.5", "nan"), "line 3, column bore_end_mm: must be a number, but got 'nan'"),
    "negative": (TWO.replace("7.5", "-7.5"), "must be more than 0 and at most 200, but got -7.5"),
    "finger unknown": (
        TWO.replace(HEADERS, f"{HEADERS},worked_by").replace(",4\n", ",4,L9\n"), "worked_by: must be one of LT, L1",
    ),
    "top too wide": (
        TWO.replace(HEADERS, f"{HEADERS},outer_end_mm").replace(",4\n", ",4,20\n"), "times as wide as the bore end",
    ),
    "too many": (HEADERS + "\n" + "g1,260,8,4\n" * 601, "has 601 rows; a holes table has at most 600"),
    "too large": (b"#" * 1_000_001, "has more than 1 MB"),
    "UTF-16": (TWO.encode("utf-16"), "is text in UTF-16; save it as UTF-8"),
    "picture": (b"\x89PNG\x00\x01", "is not a text file; a holes table is CSV text in UTF-8"),
    "open cover": (f"{HEADERS}\ng1,260,8,4\ng2,200,7.5,4\ng3,170,7,4\n", "must be finger or plate: the project leaves"),
}  # fmt: skip


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_table_is_told_with_its_place(tmp_path, what):
    text, said = WRONG[what]
    known = G if "g3" in str(text) else None
    with pytest.raises(TableError, match=re.escape(said)) as fault:
        holes(tmp_path, text, known)
    assert fault.value.heading == "holes table to mend"
    assert all(len(sentence) < 400 for sentence in fault.value.problems)


def test_many_problems_are_told_in_part(tmp_path):
    text = HEADERS + "\n" + "".join(f"g{number},far,8,4\n" for number in range(40))
    with pytest.raises(TableError) as fault:
        holes(tmp_path, text)
    assert len(fault.value.problems) == 21
    assert fault.value.problems[-1] == "20 more problems; mend these first"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("0,4\n", "must have two places at least"),
        ("5,4\n320,20\n", "line 2, column from_reed_mm: the first place must be 0, the reed end, but is 5"),
        ("0,4\n200,15\n100,9\n320,20\n", "line 4, column from_reed_mm: goes back to 100 after 200"),
        ("0,4\n320,0\n", "line 3, column diameter_mm: must be more than 0"),
    ],
)
def test_a_wrong_bore_is_told_with_its_place(tmp_path, rows, said):
    path = tmp_path / "bore.csv"
    path.write_text(f"from_reed_mm,diameter_mm\n{rows}")
    with pytest.raises(TableError, match=re.escape(said)):
        read_bore(path)


def test_a_table_that_is_not_there_is_told_with_what_is(tmp_path):
    (tmp_path / "my-holes.csv").write_text(TWO)
    with pytest.raises(TableError, match=r"there is no holes table .*holes.csv; there are: my-holes.csv"):
        read_holes(tmp_path / "holes.csv", {}, None)


def test_what_has_no_ending_is_told_with_tables_alone(tmp_path):
    (tmp_path / "bore.csv").write_text("from_reed_mm,diameter_mm\n0,4\n320,20\n")
    (tmp_path / "pipe.toml").write_text("")
    with pytest.raises(TableError, match=r"there is no bore table .*small; there are: bore.csv$"):
        read_bore(tmp_path / "small")
