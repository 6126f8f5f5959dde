"""Conditions of requests, by the rules of RFC 9110, section 13: what is answered in place of the content."""

import pytest
from made_records import layout, run_folder
from served import served
from starlette.datastructures import Headers

from optimizer.service.conditions import not_needed
from optimizer.service.refusals import HEADERS, RefusedError

TAG, CHANGED = '"a-1"', 1_794_000_000.7
THEN, LATER = "Fri, 06 Nov 2026 21:20:00 GMT", "Sat, 07 Nov 2026 21:20:00 GMT"  # CHANGED, by the day's seconds
EARLIER = "Thu, 05 Nov 2026 21:20:00 GMT"
NEITHER = {"if-unmodified-since": "nonsense", "if-modified-since": "99"}


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        ({}, None),
        ({"if-none-match": TAG}, 304),
        ({"if-none-match": f'"b", W/{TAG}'}, 304),  # weakly compared: 13.1.2
        ({"if-none-match": "*"}, 304),
        ({"if-none-match": '"b"'}, None),
        ({"if-none-match": '"b"', "if-modified-since": LATER}, None),  # 13.1.3: ignored beside the other
        ({"if-modified-since": THEN}, 304),
        ({"if-modified-since": EARLIER}, None),
        ({"if-match": TAG}, None),
        ({"if-match": "*"}, None),
        ({"if-match": f"W/{TAG}"}, 412),  # strongly compared: 13.1.1
        ({"if-match": '"b"', "if-unmodified-since": LATER}, 412),
        ({"if-match": TAG, "if-unmodified-since": EARLIER}, None),  # 13.1.4: ignored beside the other
        ({"if-unmodified-since": EARLIER}, 412),
        ({"if-unmodified-since": LATER, "if-none-match": TAG}, 304),
        (NEITHER, None),
    ],
)
def test_conditions_are_weighed_in_their_order(asked, status):
    if status == 412:
        with pytest.raises(RefusedError, match="makes a condition"):
            not_needed(Headers(asked), TAG, CHANGED)
        return
    found = not_needed(Headers(asked), TAG, CHANGED)
    assert (found and found.status_code) == status
    assert found is None or (found.headers["etag"], found.headers["last-modified"]) == (TAG, THEN)


def test_whatever_may_be_taken_away_has_a_tag(tmp_path):
    run_folder(tmp_path / "results" / "pipe", [layout()])
    with served(tmp_path / "results") as client:
        for path in ("/", "/static/app.js", "/api/v1/runs/pipe/files/run.json", "/api/v1/runs/pipe/front"):
            first = client.ask("GET", path)
            again = client.ask("GET", path, if_none_match=first.headers["etag"])
            assert (first.status, again.status, again.body) == (200, 304, b""), path
            assert again.headers["etag"] == first.headers["etag"]
            assert again.headers["cache-control"] == HEADERS["cache-control"] == "private, no-cache"
            other = client.ask("GET", path, if_match='"another"')
            assert (other.status, other.headers["content-type"]) == (412, "application/problem+json"), path


@pytest.mark.parametrize(
    ("fields", "status", "told"),
    [
        ({"content_type": "text/plain"}, 415, ("application/json", None)),
        ({}, 415, ("application/json", None)),
        ({"content_type": "application/json", "content_encoding": "gzip"}, 415, (None, "identity")),
        ({"content_type": "Application/JSON; charset=utf-8"}, 422, (None, None)),
    ],
)
def test_a_body_is_json_as_it_is_or_is_not_read(tmp_path, fields, status, told):
    # What would have been read is said in Accept or Accept-Encoding: RFC 9110, 15.5.16.
    with served(tmp_path / "results") as client:
        found = client.post("/projects/check", b"{}", **fields)
    assert (found.status, (found.headers["accept"], found.headers["accept-encoding"])) == (status, told)
