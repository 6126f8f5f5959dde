"""The token of a service that others can reach: made once, shown once, kept as its SHA-256 alone."""

import hashlib
import hmac
import os
import secrets
from pathlib import Path

COOKIE = "holewright"
NAME = "token.sha256"
LEAST, MOST = 15, 200
"""Characters of a token of one's own: 15 are the least that NIST SP 800-63B-4 (2025) asks of a password that stands
alone (from memory); at one guess a second the simplest such word outlasts everybody."""

_KEY = secrets.token_bytes(32)
"""Of this process alone: who reads the kept digest cannot make a session of it."""


def digest_of(token: str) -> str:
    """What is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def unfit(token: str) -> str | None:
    """What keeps a token of one's own from being one, in a sentence; None where nothing does."""
    if not LEAST <= len(token) <= MOST:
        return f"must have {LEAST} to {MOST} characters, for shorter ones can be guessed, but has {len(token)}"
    if not (token.isascii() and token.isprintable() and token == token.strip()):
        return "must be letters, digits and signs of ASCII, without blanks at its ends"
    return None


def kept_digest(folder: Path) -> str | None:
    """The digest of the token that was given out; None before one was."""
    try:
        return (folder / NAME).read_text(encoding="ascii").strip() or None
    except FileNotFoundError:
        return None


def new_token(folder: Path) -> str:
    """A fresh token; its digest replaces the one kept in the folder, for the owner's eyes alone."""
    folder.mkdir(parents=True, exist_ok=True)
    token = secrets.token_urlsafe(32)
    part = folder / f"{NAME}.part"
    descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(digest_of(token))
    part.replace(folder / NAME)
    return token


def fits(token: str, digest: str) -> bool:
    """Whether a token is the one; takes as long for any wrong one."""
    return hmac.compare_digest(digest_of(token), digest)


def session_of(digest: str) -> str:
    """What a browser is given in place of the token: good until the service ends or the token is replaced."""
    return hmac.new(_KEY, digest.encode(), hashlib.sha256).hexdigest()


def session_fits(value: str, digest: str) -> bool:
    """Whether a browser's session is the one."""
    return hmac.compare_digest(value.encode(), session_of(digest).encode())
