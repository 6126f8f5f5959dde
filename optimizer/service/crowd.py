"""Everybody who is connected, and which connections give way when there are too many."""

from collections import OrderedDict, defaultdict
from typing import Protocol


class Member(Protocol):
    """A connection, as the crowd knows it."""

    @property
    def address(self) -> str:
        """Whom it counts for."""

    def give_way(self) -> None:
        """Close, for there are too many."""


class Crowd:
    """Connections; those on which the service waits for the other side, the longest first, of all and by address.

    Who says nothing gives way to who comes, never the other way round: first of its own address, beyond what one
    address may have, then of all.

    Parameters
    ----------
    most : connections at once
    silent_most : of one address, on which the service waits
    """

    def __init__(self, most: int, silent_most: int) -> None:
        self.most, self.silent_most = most, silent_most
        self._there: set[Member] = set()
        self._silent: OrderedDict[Member, None] = OrderedDict()
        self._of: defaultdict[str, OrderedDict[Member, None]] = defaultdict(OrderedDict)

    def enter(self, member: Member) -> bool:
        """Take one in, silent as yet; whether there was room, or is now."""
        full = len(self._there) >= self.most
        oldest = next(iter(self._silent), None)
        if full and oldest is not None:
            self._give_way(oldest)
        self._there.add(member)
        self.wait_for(member)
        return not full or oldest is not None

    def wait_for(self, member: Member) -> None:
        """Note that the service waits for one; who is waited for already keeps the place."""
        if member not in self._there or member in self._silent:
            return
        own = self._of[member.address]
        self._silent[member] = own[member] = None
        if len(own) > self.silent_most:
            self._give_way(next(iter(own)))

    def heard(self, member: Member) -> None:
        """Note that one has said all, and waits for the service."""
        self._silent.pop(member, None)
        own = self._of[member.address]
        own.pop(member, None)
        if not own:
            del self._of[member.address]

    def leave(self, member: Member) -> None:
        """Let one go; again does no harm."""
        self._there.discard(member)
        self.heard(member)

    def _give_way(self, member: Member) -> None:
        self.leave(member)
        member.give_way()
