"""How long a token must be, and how fast it can be guessed."""

import asyncio
import threading
import time

import pytest
from commanded import told
from served import served

from optimizer.service import guesses, tokens
from optimizer.service.guesses import Guesses
from optimizer.service.refusals import RefusedError

TOKEN = "a token of the Lantern Hall shelf"
DIGEST = tokens.digest_of(TOKEN)
HERE, THERE = "192.0.2.7", "198.51.100.7"


@pytest.fixture
def client(tmp_path):
    with served(tmp_path / "results", token_digest=DIGEST) as client:
        yield client


def tried(offered, address, of):
    """What became of each token offered at once: True, False, or 429."""

    async def one(token):
        try:
            return await of.right(token, address)
        except RefusedError as error:
            return error.status

    async def all_at_once():
        return await asyncio.gather(*(one(token) for token in offered))

    return asyncio.run(all_at_once())


def test_many_guesses_at_once_are_no_more_than_one_after_another():
    begun = time.monotonic()
    found = tried(["wrong"] * 500, HERE, Guesses(DIGEST))
    spent = time.monotonic() - begun
    assert True not in found
    assert found.count(False) <= guesses.AT_ONCE + (guesses.WAIT_SECONDS + spent) / guesses.EVERY_SECONDS
    assert found.count(429) >= 400
    assert spent > 2


def test_a_right_token_is_told_no_sooner_than_a_wrong_one_and_soon():
    of = Guesses(DIGEST)
    assert set(tried(["wrong"] * guesses.AT_ONCE, HERE, of)) == {False}
    begun = time.monotonic()
    assert tried([TOKEN], HERE, of) == [True]
    assert 0.5 < time.monotonic() - begun < guesses.WAIT_SECONDS + 2


def test_no_address_locks_out_another():
    of = Guesses(DIGEST)
    tried(["wrong"] * 100, HERE, of)
    begun = time.monotonic()
    assert tried([TOKEN] * 100, THERE, of) == [True] * 100
    assert time.monotonic() - begun < 2
    assert tried([TOKEN], "", of) == [True]


def test_right_tokens_cost_nothing():
    assert tried([TOKEN] * 1000, HERE, Guesses(DIGEST)) == [True] * 1000


def test_no_more_is_remembered_than_fits():
    of = Guesses(DIGEST)

    async def many():
        for number in range(guesses.ADDRESSES_MOST + 500):
            await of.right("wrong", f"10.{number >> 16}.{number >> 8 & 255}.{number & 255}")

    asyncio.run(many())
    assert len(of._paid) == guesses.ADDRESSES_MOST


def test_over_http_guesses_of_both_kinds_are_slowed_and_sessions_are_not(client):
    cookie = client.post("/session", {"token": TOKEN}).headers["set-cookie"].split(";")[0]
    found = []

    def guess(number):
        if number % 2:
            found.append(client.get("/runs", authorization=f"Bearer wrong {number}").status)
        else:
            found.append(client.post("/session", {"token": f"wrong {number}"}).status)

    threads = [threading.Thread(target=guess, args=(number,)) for number in range(60)]
    for thread in threads:
        thread.start()
    begun = time.monotonic()
    assert client.get("/runs", cookie=cookie).status == 200
    for thread in threads:
        thread.join()
    elapsed = time.monotonic() - begun
    assert set(found) == {401, 403, 429}
    assert len(found) - found.count(429) <= guesses.AT_ONCE + elapsed + guesses.WAIT_SECONDS + 1
    other = client.get("/runs", authorization=f"Bearer {TOKEN}", x_forwarded_for=THERE)
    assert other.status == 200


@pytest.mark.parametrize(
    "token", ["", "short", "a" * 14, "a" * 201, "a" * 20 + " ", " " + "a" * 20, "a" * 20 + "\n", "a" * 20 + "\xe9"]
)
def test_a_token_of_ones_own_that_could_be_guessed_or_not_be_sent_is_refused(token):
    assert tokens.unfit(token)


@pytest.mark.parametrize("token", ["a" * 15, TOKEN, "x" * 200, "~!@#$%^&*()_+{}|"])
def test_others_will_do(token):
    assert tokens.unfit(token) is None


def test_serve_says_so_before_it_begins(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("HOLEWRIGHT_TOKEN", "short")
    code, out, err = told(capsys, "serve", "--results", tmp_path / "results")
    assert (code, out) == (2, "")
    assert "HOLEWRIGHT_TOKEN: must have 15 to 200 characters" in err
    assert "short" not in err.replace("shorter", "")
