"""Connections: how soon they answer.

Rules: RFC 896 (small parts held back until what went before is acknowledged), RFC 1122 (4.2.3.2: acknowledgements may
come late).
"""

import time
from contextlib import closing
from http.client import HTTPConnection

import pytest
from served import served


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    with served(tmp_path_factory.mktemp("shelf") / "results") as client:
        yield client


def test_an_answer_on_a_kept_connection_does_not_wait_for_an_acknowledgement(client):
    # Linux acknowledges at once on a young connection, then after 40 ms at the least.
    spent = []
    with closing(HTTPConnection("127.0.0.1", client.port, timeout=60)) as connection:
        for _ in range(30):
            begun = time.monotonic()
            connection.request("GET", "/api/v1/")
            connection.getresponse().read()
            spent.append(time.monotonic() - begun)
    assert min(spent[10:]) < 0.038
