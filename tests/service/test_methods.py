"""HEAD, OPTIONS and Allow, by RFC 9110 (9.3.2, 9.3.7, 10.2.1, 15.5.6), over every address of the API document."""

import re

import pytest
from made_records import layout, run_folder
from served import API, served

from optimizer.service.refusals import HEADERS

VARYING = {"date", "transfer-encoding"}
"""The date, and the framing of what is not sent (RFC 9112, 6.1)."""


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    results = tmp_path_factory.mktemp("shelf") / "results"
    run_folder(results / "pipe", [layout("t0")], finished="2026-11-02T10:01:00+00:00")
    with served(results) as client:
        yield client


@pytest.fixture(scope="module")
def document(client):
    return client.get("/openapi.json").json


def addresses(document):
    """Each path of the document with names in it that there are, and its methods."""
    names = {"run": "pipe", "layout": "t0", "name": "meadow-pipe.toml"}
    for path, operations in document["paths"].items():
        yield re.sub(r"\{(\w+)\}", lambda part: names.get(part[1], "none"), path), set(operations)


def taken(document, address):
    """The methods of an address, of every path of the document that it fits: `check` may be a project's name."""
    fitting = [
        operations
        for path, operations in document["paths"].items()
        if re.fullmatch(re.sub(r"\{\w+\}", "[^/]+", path), address)
    ]
    methods = {each.upper() for operations in fitting for each in operations}
    return methods | {"OPTIONS"} | ({"HEAD"} if "GET" in methods else set())


def fields(answer):
    """Header fields of an answer that do not vary."""
    return {name.lower(): value for name, value in answer.headers.items() if name.lower() not in VARYING}


def test_head_answers_as_get_does_without_content(client, document):
    paths = [path for path, methods in addresses(document) if "get" in methods and not path.endswith("/events")]
    paths += ["/", "/static/app.js", "/style/drawings.css", f"{API}/openapi.json", "/none", f"{API}/runs?limit=x"]
    paths += [f"{API}/comparison?of=pipe/t0&of=pipe/t0"]
    assert len(paths) > 20
    for path in paths:
        got, head = client.ask("GET", path), client.ask("HEAD", path)
        assert (head.status, head.body, fields(head)) == (got.status, b"", fields(got)), path


def test_head_of_what_never_ends_ends(client):
    answer = client.ask("HEAD", f"{API}/runs/pipe/events")
    assert (answer.status, answer.body) == (200, b"")
    assert answer.headers["content-type"].startswith("text/event-stream")
    with client.following("/runs/pipe/events") as moments:
        assert next(moments)[0] == "moment"


def test_head_of_a_request_that_is_refused_has_no_content(client):
    answer = client.ask("HEAD", "/", host="evil.example")
    assert (answer.status, answer.body) == (421, b"")


def test_every_address_tells_the_methods_it_takes(client, document):
    for path, _ in addresses(document):
        wanted = taken(document, path)
        told = client.ask("OPTIONS", path)
        assert (told.status, told.body) == (204, b""), path
        assert set(told.headers["allow"].split(", ")) == wanted, path
        refused = client.ask("BREW", path)
        assert refused.status == refused.json["status"] == 405
        assert set(refused.headers["allow"].split(", ")) == wanted, path
        assert "Allow" in refused.json["detail"]
        assert {name: refused.headers[name] for name in HEADERS} == HEADERS


@pytest.mark.parametrize("path", ["/", "/static/app.js", "/assets/solid.js", "/style/drawings.css"])
def test_the_page_takes_two_methods(client, path):
    assert client.ask("OPTIONS", path).headers["allow"] == client.ask("POST", path).headers["allow"]
    assert set(client.ask("OPTIONS", path).headers["allow"].split(", ")) == {"GET", "HEAD", "OPTIONS"}


def test_every_link_of_the_document_leads_from_an_answer_to_an_operation_that_takes_it(document):
    known = {each["operationId"]: each for path in document["paths"].values() for each in path.values()}
    links = [link for each in known.values() for answer in each["responses"].values()
             for link in answer.get("links", {}).values()]  # fmt: skip
    assert len(links) > 60
    for link in links:
        to = known[link["operationId"]]
        needed = {each["name"] for each in to.get("parameters", []) if each["in"] == "path"}
        assert needed == set(link["parameters"]) or link["requestBody"] == "$response.body", link
    assert {"submit_run", "keep_layout", "hand_over_layout", "carry_out"} <= known.keys()


def test_options_of_the_service_as_a_whole(client):
    answer = client.ask("OPTIONS", "*")
    assert answer.status == 204
    assert {"GET", "HEAD", "POST", "DELETE"} <= set(answer.headers["allow"].split(", "))
    assert client.ask("OPTIONS", "/none").status == 404


@pytest.mark.parametrize("body", [b'{"token":"\xff"}', b"\xfe\xff", b'{"token": "\\ud800"}', b"{}", b"["])
def test_what_the_framework_refuses_says_why(client, body):
    answer = client.post("/session", body, content_type="application/json")
    assert answer.status in (400, 422)
    assert answer.headers["content-type"] == "application/problem+json"
    assert len(answer.json["detail"]) > 10
    assert answer.json["title"] != "refused"
