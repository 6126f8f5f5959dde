"""Heads of requests, bounded before anybody reads what is in them.

What reads header fields (cookies, ranges, forwarded addresses) may take a time that grows with the square of their
length; within these bounds none takes long.
"""

import re

import h11

HEAD_BYTES_MOST = 16_384
FIELD_BYTES_MOST = 8_192
FIELDS_MOST = 100
TARGET_BYTES_MOST = 8_192
ABSOLUTE = re.compile(rb"(?i:https?)://([^/?#]*)(.*)")


class Heads(h11.Connection):
    """The service's side of HTTP/1.1; `refusal`: status and sentence once a request was refused; `head_alone`: whether
    the last request asked for the head of an answer alone."""

    def __init__(self) -> None:
        super().__init__(h11.SERVER, HEAD_BYTES_MOST)
        self.refusal: tuple[int, str] | None = None
        self.head_alone = False

    def next_event(self) -> h11.Event | type[h11.NEED_DATA] | type[h11.PAUSED]:
        """What comes next; raises RemoteProtocolError, with `refusal` set, for what is no request or too large."""
        try:
            event = super().next_event()
        except h11.RemoteProtocolError as error:
            self.refusal = _told(error)
            raise
        if isinstance(event, h11.Request):
            self.head_alone = event.method == b"HEAD"
            event = _of_this_host(event)
            self.refusal = _not_spoken(event) or _too_large(event)
            if self.refusal is not None:
                raise h11.RemoteProtocolError(self.refusal[1], error_status_hint=self.refusal[0])
        return event


def _told(error: h11.RemoteProtocolError) -> tuple[int, str]:
    if error.error_status_hint == 431:
        return 431, f"the head of a request may hold at most {HEAD_BYTES_MOST} bytes"
    return error.error_status_hint, f"this is no request of HTTP/1.1: {error}"


def _of_this_host(request: h11.Request) -> h11.Request:
    """A request whose target names a host, as to a proxy, as one to that host (RFC 9112, section 3.2.2)."""
    found = ABSOLUTE.fullmatch(request.target)
    if found is None:
        return request
    others = [each for each in request.headers if each[0] != b"host"]
    target = found[2] if found[2].startswith(b"/") else b"/" + found[2]
    return h11.Request(
        method=request.method, headers=[(b"host", found[1]), *others], target=target, http_version=request.http_version
    )


def _not_spoken(request: h11.Request) -> tuple[int, str] | None:
    """Why a request is not of the protocol that is spoken here (RFC 9112, sections 2.3 and 6.1); None where it is."""
    if not request.http_version.startswith(b"1."):
        return 505, "this service speaks HTTP/1.1"
    if {b"content-length", b"transfer-encoding"} <= {name for name, _ in request.headers}:
        return 400, "a request tells the length of its body, or sends it in chunks, not both"
    return None


def _too_large(request: h11.Request) -> tuple[int, str] | None:
    sizes = [len(name) + len(value) for name, value in request.headers]
    if len(request.target) > TARGET_BYTES_MOST:
        return 414, f"an address may be at most {TARGET_BYTES_MOST} bytes long"
    if len(sizes) > FIELDS_MOST:
        return 431, f"a request may have at most {FIELDS_MOST} header fields"
    if max(sizes, default=0) > FIELD_BYTES_MOST:
        return 431, f"a header field may hold at most {FIELD_BYTES_MOST} bytes"
    if sum(sizes) + len(request.target) > HEAD_BYTES_MOST:
        return 431, f"the head of a request may hold at most {HEAD_BYTES_MOST} bytes"
    return None
