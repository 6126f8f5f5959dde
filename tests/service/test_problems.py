"""What is to be mended in a project, with key path and line; predictions; tokens.

Lines are found here by looking for the text that was put there.
"""

import stat

import pytest
from made_records import layout, run_folder, without_bore
from served import PROJECTS, served
from shelf import PIPE, changed

from optimizer.service import tokens
from optimizer.service.offered import hand_of, project_of
from optimizer.service.refusals import RefusedError

HAND = 'name = "x"\nsource = "y"\n[hand]\nspan_mm = "wide"\n'


def found(text, hand=None):
    """Path, line and sentence of each finding in a project's text."""
    with pytest.raises(RefusedError) as refused:
        project_of(PROJECTS, text, hand)
    assert refused.value.status == 422
    return [(each.path, each.line, each.message) for each in refused.value.problems]


def line_of(text, part):
    """Line, from 1, that a part of the text begins on, as an editor counts them."""
    assert text.count(part) == 1
    return text[: text.index(part)].count("\n") + 1


@pytest.mark.parametrize(
    ("old", "new", "path", "at"),
    [
        ("wall_mm = 4.0", "wall_mm = -4.0", "bore.wall_mm", "wall_mm = -4.0"),
        ("wall_mm = 4.0", "wal_mm = 4.0", "bore.wal_mm", "wal_mm = 4.0"),
        ("bell_degC = 21.0", "", "air.bell_degC", "[air]"),
        ("[170, 250], diameter_mm = [5, 10]", '[170, 250], diameter_mm = "wide"', "holes.g2.diameter_mm", "g2 = {"),
        ("points_mm = [[0, 4.0], [330, 21.0]]", "points_mm = [[0, 4.0], [330]]", "bore.points_mm", "points_mm ="),
        ("[reed]\n", "[reid]\n", "reid", "[reid]"),
        ("[reed]\n", "[[reed]]\n", "reed", "[[reed]]"),
        ('by = "L2"', 'by = "L9"', "holes.g3.by", "g3 = {"),
        ("C#5  1  L12", "C#5  1  L12 kNone", "chart.lines", "C#5  1  L12"),
        ("E5   1  none", "H5   1  none", "chart.lines", "H5   1  none"),
        ("D5   1  L1\n", "D5\n", "chart.lines", "D5\n"),
        ("A4   1  L123 R1", "A4   0  L123 R1", "chart.lines", "A4   0"),
        ('lines = """\n', 'lines = """', "chart.lines", "X"),
    ],
)
def test_each_finding_names_key_and_line(old, new, path, at):
    if at == "X":  # the first line of the chart stands beside its key
        text = changed("A4   1  L123 R1", "X4   1  L123 R1", changed(old, new))
        at = "X4   1"
    else:
        text = changed(old, new)
    assert (path, line_of(text, at)) in [(where, line) for where, line, _ in found(text)]


@pytest.mark.parametrize(
    ("old", "new", "at", "path", "said"),
    [
        ("wall_mm = 4.0", "wall_mm = 4.0.0", "wall_mm", "", "not valid TOML: Expected newline"),
        ("wall_mm = 4.0", "wall_mm = 4.0\nwall_mm = 5.0", "wall_mm = 5.0", "bore.wall_mm", "bore.wall_mm: this name"),
        ("[bore]", "[bore", "[bore", "", "the closing bracket is missing"),
        ("[bore]", "[reed]", "[reed]\npoints", "reed", "reed: this table stands twice"),
        (
            'name = "Lantern Hall Practice Pipe"',
            'name = "Lantern Hall',
            'name = "',
            "instrument.name",
            'instrument.name: the text that begins with " is not closed',
        ),
    ],
)
def test_toml_that_cannot_be_read_is_told_with_its_line(old, new, at, path, said):
    text = changed(old, new)
    ((where, line, message),) = found(text)
    assert (where, line) == (path, line_of(text, at))
    assert message.startswith(said)


@pytest.mark.parametrize("odd", ["\u2028", "\x85", "\u2029"])
def test_only_line_feeds_count_as_lines(odd):
    # TOML 1.0: a newline is LF or CR LF; the separators of Unicode may stand in comments and texts.
    text = changed("wall_mm = 4.0", "wall_mm = -4.0", f"# a{odd}b\n{PIPE}")
    assert [line for path, line, _ in found(text) if path == "bore.wall_mm"] == [line_of(text, "wall_mm = -4.0")]


def test_lines_end_as_on_other_systems_too():
    text = changed("wall_mm = 4.0", "wall_mm = -4.0").replace("\n", "\r\n")
    assert found(text)[0][:2] == ("bore.wall_mm", line_of(text, "wall_mm"))


def test_a_text_in_quotes_names_no_keys():
    text = changed("wall_mm = 4.0", "wall_mm = -4.0", 'note = """\n[bore]\nwall_mm = 1\n"""\n' + PIPE)
    assert ("bore.wall_mm", text[: text.index("-4.0")].count("\n") + 1) in [each[:2] for each in found(text)]


def test_lines_are_the_makers_own_when_another_hand_is_taken_in():
    # The project's hand stands above the mistake; in the text that is read it has gone to the end.
    text = changed(
        "[bore]", "[hand]\nname = 'own'\nspacing_min_mm = 18\n\n[bore]", changed("wall_mm = 4.0", "wall_mm = -4.0")
    )
    hand = hand_of(PROJECTS, "small-adult.toml", None)
    assert [each[:2] for each in found(text, hand)] == [("bore.wall_mm", line_of(text, "wall_mm"))]


def test_all_findings_come_at_once():
    text = changed("bell_degC = 21.0", "bell_degC = 99.0", changed("wall_mm = 4.0", "wall_mm = -4.0"))
    assert {"air.bell_degC", "bore.wall_mm"} <= {path for path, _, _ in found(text)}


def test_files_that_are_not_offered_are_told_without_a_path():
    for key, name in (
        ("hand", "hands/none.toml"),
        ("stock", "printers/filament-220.toml"),
        ("printer", "../../etc/passwd"),
        ("hand", "/etc/passwd"),
    ):
        said = found(f'{key} = "{name}"\n{PIPE}')
        assert said[0][:2] == (key, 1)
        assert str(PROJECTS) not in said[0][2]


def test_a_stock_that_is_offered_is_taken_in():
    stock = project_of(PROJECTS, f'stock = "stock/metric.toml"\n{PIPE}', None).project.stock
    assert stock.name == "Lantern Hall drawer, metric"


@pytest.mark.parametrize("text", ["x", "name = ", HAND, "[" * 5000, "\0"])
def test_a_hand_that_cannot_be_used_says_why(text):
    with pytest.raises(RefusedError) as refused:
        hand_of(PROJECTS, None, text)
    assert refused.value.status == 422
    assert all(each.path == "hand_text" and each.message for each in refused.value.problems)


def test_a_project_of_the_shelf_is_sound_with_each_hand_offered():
    for path in sorted((PROJECTS / "hands").glob("*.toml")):
        hand = hand_of(PROJECTS, path.name, None)
        assert project_of(PROJECTS, (PROJECTS / "meadow-pipe.toml").read_text(), hand).project.hand == hand.model


@pytest.mark.parametrize("text", ["x", "", "[" * 5000, "a = 1\na = 2", "[hand]\nhand = 1", "hand = 3"])
def test_a_broken_project_is_told_with_a_hand_too(text):
    assert found(text, hand_of(PROJECTS, None, (PROJECTS / "hands" / "small-adult.toml").read_text()))


# over HTTP


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    results = tmp_path_factory.mktemp("shelf") / "results"
    run_folder(results / "pipe", [layout()])
    with served(results) as client:
        yield client


def test_a_project_is_checked_over_http(client):
    sound = client.post("/projects/check", {"project": PIPE})
    assert (sound.status, sound.json["instrument"]) == (200, "Lantern Hall Practice Pipe")
    assert sound.json["summary"]
    assert sound.json["questions"] == []
    odd = changed("transposition_semitones = 0", "transposition_semitones = 24")
    (asked,) = client.post("/projects/check", {"project": odd}).json["questions"]
    assert (asked["path"], asked["line"]) == (
        "instrument.transposition_semitones", line_of(odd, "transposition_semitones = 24")
    )  # fmt: skip
    assert "did you mean" in asked["message"] or "look at transposition" in asked["message"]
    assert sound.json["cautions"]
    text = changed("wall_mm = 4.0", "wall_mm = -4.0")
    answer = client.post("/projects/check", {"project": text})
    assert (answer.status, answer.headers["content-type"]) == (422, "application/problem+json")
    assert answer.json["problems"][0] | {"message": ""} == {
        "path": "bore.wall_mm", "line": line_of(text, "wall_mm"), "message": "",
    }  # fmt: skip


def test_a_check_that_takes_too_long_is_ended_and_the_next_one_served(tmp_path):
    with served(tmp_path / "results", apart=True, work_seconds=0.001) as client:
        assert client.post("/projects/check", {"project": PIPE}).status == 504
        assert client.get("/").status == 200
        assert client.post("/projects/check", {"project": PIPE}).status == 504


def test_a_layout_is_predicted_in_other_air(client, tmp_path, record):
    results = tmp_path / "results"
    run_folder(results / "pipe", [record])
    with served(results) as client:
        place = f"/runs/pipe/layouts/{record.id}/prediction"
        same = client.post(place, {})
        assert same.status == 200, same.text
        told = {note["written"]: note["cents"] for note in same.json["notes"]}
        assert told == {note.written: pytest.approx(note.cents, abs=0.061) for note in record.notes}
        # Sound is faster in warm air by the root of its absolute temperature (handbook rule for a dry gas):
        # 1200 log2 sqrt((273.15 + 29) / (273.15 + 25)) = 11.5 cents for 4 K; losses and steam change little of it.
        warm = client.post(place, {"reed_degC": 29.0, "bell_degC": 25.0}).json
        assert warm["mean_cents"] - same.json["mean_cents"] == pytest.approx(11.6, abs=0.6)
        hand = client.get("/hands").json[0]["name"]
        under = client.post(place, {"hand": hand}).json["hand"]
        assert {each["pair"] for each in under["reach"]} == {each.pair for each in record.reach}


@pytest.mark.parametrize(
    "asked", [{"a4_hz": 300}, {"reed_degC": 41}, {"bell_degC": "x"}, {"odd": 1}, {"hand": "none.toml"}]
)
def test_what_cannot_be_predicted_is_told(client, asked):
    assert client.post("/runs/pipe/layouts/t00001/prediction", asked).status == 422


def test_a_layout_that_is_no_playable_geometry_is_told(client, tmp_path):
    results = tmp_path / "results"
    folder = run_folder(results / "pipe", [layout()])
    without_bore(folder / "layouts" / "t00001.json")
    with served(results) as client:
        assert client.post("/runs/pipe/layouts/t00001/prediction", {}).status in (404, 422)
        assert client.get("/runs/pipe/layouts/t00001/sheet").status in (200, 404, 422)


# tokens


def test_of_a_token_only_its_digest_is_kept_for_the_owner_alone(tmp_path):
    token = tokens.new_token(tmp_path / "kept")
    assert len(token) >= 43  # 32 bytes, base64
    kept = tmp_path / "kept" / tokens.NAME
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert token not in kept.read_text()
    digest = tokens.kept_digest(tmp_path / "kept")
    assert tokens.fits(token, digest)
    assert not tokens.fits(token + "x", digest)
    assert not tokens.session_fits(token, digest)
    assert tokens.session_fits(tokens.session_of(digest), digest)
    assert tokens.new_token(tmp_path / "kept") != token
    assert not tokens.fits(token, tokens.kept_digest(tmp_path / "kept"))
    assert tokens.kept_digest(tmp_path) is None


def test_the_digest_is_sha_256():
    # FIPS 180-2, appendix B.1
    assert tokens.digest_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
