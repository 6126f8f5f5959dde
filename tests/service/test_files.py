"""Taking things away: files, archives, comparisons, reports; and no path of a request that reaches further."""

import io
import tomllib
import zipfile

import pytest
from made_records import layout, run_folder
from served import PROJECTS, served

from optimizer.service import work
from optimizer.service.parts import FOREIGN_PAGE

SECRET = b"the shelf's key lies under the mat"
DONE = {"finished": "2026-11-02T10:01:00+00:00"}


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    base = tmp_path_factory.mktemp("shelf")
    (base / "secret.json").write_bytes(SECRET)
    (base / "elsewhere").mkdir()
    (base / "elsewhere" / "secret.json").write_bytes(SECRET)
    results = base / "results"
    folder = run_folder(
        results / "pipe-1", [layout(), layout("t00002", objectives=layout().objectives | {"tuning": 9.0})]
    )
    run_folder(results / "pipe-2", [layout(holes=[])], **DONE)
    for name in ("lock", "ticket.json", "search.log", ".hidden", "pareto.json.part"):
        (folder / name).write_bytes(SECRET)
    (folder / "journal.log").write_text("{}\n")
    (folder / "link.json").symlink_to(base / "secret.json")
    (folder / "folder").symlink_to(base / "elsewhere")
    (folder / "layouts" / "t00009.json").symlink_to(base / "secret.json")
    (results / "pipe-3").symlink_to(base / "elsewhere")
    return results


@pytest.fixture(scope="module")
def client(results):
    with served(results) as client:
        yield client


def test_files_that_are_results_are_listed_and_given_as_they_are(client, results):
    listed = {each["name"]: each["bytes"] for each in client.get("/runs/pipe-1/files").json}
    assert set(listed) == {"run.json", "pareto.json", "journal.log", "layouts/t00001.json", "layouts/t00002.json"}
    for name, size in listed.items():
        answer = client.get(f"/runs/pipe-1/files/{name}")
        assert answer.body == (results / "pipe-1" / name).read_bytes()
        assert len(answer.body) == size
        assert answer.headers["content-disposition"] == f'attachment; filename="pipe-1-{name.split("/")[-1]}"'
        kind = "application/json" if name.endswith(".json") else "application/octet-stream"
        assert answer.headers["content-type"] == kind


def test_an_archive_holds_the_same_under_the_runs_name(client, results):
    answer = client.get("/runs/pipe-1/archive")
    assert answer.headers["content-type"] == "application/zip"
    with zipfile.ZipFile(io.BytesIO(answer.body)) as archive:
        assert archive.testzip() is None
        found = {name: archive.read(name) for name in archive.namelist()}
    listed = [each["name"] for each in client.get("/runs/pipe-1/files").json]
    assert found == {f"pipe-1/{name}": (results / "pipe-1" / name).read_bytes() for name in listed}


WORDS = """
.. ../pipe-2/run.json ../../secret.json ..%2f..%2fsecret.json %2e%2e/%2e%2e/secret.json ....//secret.json /etc/passwd
%2fetc%2fpasswd link.json folder/secret.json layouts/t00009.json lock ticket.json search.log .hidden pareto.json.part
run.json%00 %00 run.json/ ./run.json %ff%fe layouts layouts/../run.json % %25 ..\\..\\secret.json %e2%80%ae
C:%5csecret.json ~/secret.json %252e%252e%252fsecret.json
"""
TRICKS = [*WORDS.split(), "a" * 5000]


@pytest.mark.parametrize("name", TRICKS)
@pytest.mark.parametrize(
    "place", ["runs/pipe-1/files/{}", "runs/{}", "runs/{}/files/run.json", "runs/{}/archive", "runs/{}/events",
              "runs/pipe-1/layouts/{}", "runs/pipe-1/layouts/{}/sheet", "projects/{}", "extensions/{}", "{}",
              "comparison?of=pipe-2&of={}", "comparison?of=pipe-2&of=pipe-1/{}"],
)  # fmt: skip
def test_no_path_of_a_request_reaches_further(client, place, name):
    answer = client.get(f"/{place.format(name)}")
    assert SECRET not in answer.body
    assert answer.status in (307, 400, 404, 405, 422)


@pytest.mark.parametrize("name", TRICKS)
def test_nor_does_one_that_changes_something(client, results, name):
    before = sorted(path.name for path in results.iterdir())
    for method, place in (("DELETE", "runs/{}"), ("POST", "runs/{}/cancel"), ("POST", "removed/{}/restore")):
        assert client.ask(method, f"/api/v1/{place.format(name)}").status in (307, 400, 404, 405, 422)
    assert client.ask("GET", f"/static/{name}").status in (400, 404)
    assert sorted(path.name for path in results.iterdir()) == before


def test_a_file_that_goes_meanwhile_is_no_fault(client, results, monkeypatch):
    was = results / "pipe-1" / "was.json"

    def with_one_that_went(_, folder):
        return {"was.json": was, "run.json": folder / "run.json"}

    monkeypatch.setattr("optimizer.service.shelf.Shelf.results", with_one_that_went)
    assert [each["name"] for each in client.get("/runs/pipe-1/files").json] == ["run.json"]
    assert client.get("/runs/pipe-1/files/was.json").status == 404
    with zipfile.ZipFile(io.BytesIO(client.get("/runs/pipe-1/archive").body)) as archive:
        assert archive.namelist() == ["pipe-1/run.json"]


def test_layouts_are_compared_as_on_the_command_line(client, results):
    found = client.get("/comparison?of=pipe-1/t00001&of=pipe-1/t00002")
    named = [work.Named(f"pipe-1/t0000{n}", results / "pipe-1" / "layouts" / f"t0000{n}.json", None) for n in (1, 2)]
    assert found.text == work.comparison(named)[0]
    page = client.get("/comparison/page?of=pipe-1&of=pipe-2")
    assert page.headers["content-type"].startswith("text/html")
    assert "pipe-2" in page.text


@pytest.mark.parametrize("query", ["", "of=pipe-1", "&".join(["of=pipe-1"] * 20), "of=pipe-1&of=none",
                                   "of=pipe-1&of=pipe-1/t99999", "of=pipe-1&of=", "of=pipe-1&of=pipe-1/"])  # fmt: skip
def test_what_cannot_be_compared_is_told(client, query):
    answer = client.get(f"/comparison?{query}")
    assert answer.status in (404, 422)
    assert answer.json["detail"]


def test_pages_of_their_own_are_boxed_in(client):
    for path in ("/runs/pipe-1/report", "/comparison/page?of=pipe-1&of=pipe-2"):
        policy = client.get(path).headers["content-security-policy"]
        assert policy == FOREIGN_PAGE["content-security-policy"]
        assert "sandbox" in policy
        assert "allow-same-origin" not in policy


def test_offered_files_are_listed_and_given(client, tmp_path):
    listed = [each["name"] for each in client.get("/projects").json]
    assert "meadow-pipe.toml" in listed
    assert client.get("/projects/meadow-pipe.toml").text.startswith("#")
    hands = {each["name"]: each for each in client.get("/hands").json}
    written = tomllib.loads((PROJECTS / "hands" / "small-adult.toml").read_text())
    assert hands["small-adult.toml"]["title"] == written["name"]
    assert hands["small-adult.toml"]["about"] == f"{written['name']}; {written['source']}"


def test_a_file_in_another_encoding_hides_no_other(tmp_path):
    projects = tmp_path / "configs"
    projects.mkdir()
    (projects / "good.toml").write_text("# good\n")
    (projects / "latin.toml").write_bytes(b"# caf\xe9\n")
    (projects / "folder.toml").mkdir()
    with served(tmp_path / "results", projects=projects) as client:
        assert [each["name"] for each in client.get("/projects").json] == ["good.toml"]
        assert client.get("/projects/latin.toml").status == 404
        assert client.get("/hands").json == []
