"""Tokens that are offered, slowed by address where many were wrong.

An address may be wrong a few times at once and then once a second, whatever it sends at a time. Beyond that a token is
looked at after a short wait, right or wrong, or not at all (429), so that the answer tells nothing sooner. Nothing is
remembered for longer than that takes, and no address costs another anything.
"""

import asyncio
import time
from collections import OrderedDict

from optimizer.service import tokens
from optimizer.service.addresses import counted_as
from optimizer.service.refusals import RefusedError

AT_ONCE = 10
EVERY_SECONDS = 1.0
WAIT_SECONDS = 3.0
"""The longest that a right token waits behind wrong ones of its own address."""

ADDRESSES_MOST = 10_000


class Guesses:
    """By address, the moment at which all its wrong guesses are paid for, the least lately heard of first.

    Parameters
    ----------
    digest : of the token that is asked for; None where none is
    """

    def __init__(self, digest: str | None) -> None:
        self._digest = digest
        self._paid: OrderedDict[str, float] = OrderedDict()

    async def right(self, token: str, host: str) -> bool:
        """Whether a token from an address is the one; any is, where none is asked for.

        Raises
        ------
        RefusedError
            429 when too many from there were wrong
        """
        if self._digest is None:
            return True
        address, now = counted_as(host), time.monotonic()
        wait = self._paid.get(address, now) - now - (AT_ONCE - 1) * EVERY_SECONDS
        if wait > WAIT_SECONDS:
            raise RefusedError(429, f"too many wrong tokens came from this address; try again in {wait:.0f} s")
        self._owe(address, EVERY_SECONDS)
        if wait > 0:
            await asyncio.sleep(wait)
        fits = tokens.fits(token, self._digest)
        if fits:
            self._owe(address, -EVERY_SECONDS)
        return fits

    def _owe(self, address: str, seconds: float) -> None:
        """Put off the moment at which an address has paid."""
        now = time.monotonic()
        self._paid[address] = max(self._paid.get(address, now), now) + seconds
        self._paid.move_to_end(address)
        if seconds < 0 and self._paid[address] <= now:
            del self._paid[address]
        while len(self._paid) > ADDRESSES_MOST:
            self._paid.popitem(last=False)
