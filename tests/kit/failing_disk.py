"""A disk below a folder that fails from some write on, as a full one or one that was remounted read-only does."""

import builtins
import errno
import io
import os
from contextlib import contextmanager
from pathlib import Path

FULL, READ_ONLY = errno.ENOSPC, errno.EROFS


class Full:
    """A file that takes half of what is written to it."""

    def __init__(self, stream, disk):
        self._stream, self._disk = stream, disk

    def write(self, content):
        """Write all of it, or half where the disk is full by now."""
        if not self._disk.counts():
            return self._stream.write(content)
        self._stream.write(content[: len(content) // 2])
        self._stream.flush()
        raise OSError(FULL, os.strerror(FULL))

    def __iter__(self):
        return iter(self._stream)

    def __getattr__(self, name):
        return getattr(self._stream, name)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._stream.close()


class Disk:
    """Counts writes below a folder, and fails from one of them on, in one of two ways; None: never."""

    def __init__(self, folder, fails_at, how):
        self.folder, self.fails_at, self.how, self.writes = Path(folder), fails_at, how, 0

    def counts(self):
        """Count a write; whether it fails."""
        self.writes += 1
        return self.fails_at is not None and self.writes > self.fails_at

    def opened(self, whole, file, mode="r", *given, **named):
        """What opening a file comes to."""
        if not set(mode) & set("wax+") or self.folder not in Path(str(file)).parents or Path(file).name == "lock":
            return whole(file, mode, *given, **named)
        if self.how == FULL:
            return Full(whole(file, mode, *given, **named), self)
        if self.counts():
            raise OSError(READ_ONLY, os.strerror(READ_ONLY), str(file))
        return whole(file, mode, *given, **named)

    def moved(self, whole, path, *given, **named):
        """What moving or removing a file comes to."""
        beyond = self.how == READ_ONLY and self.fails_at is not None and self.writes > self.fails_at
        if beyond and self.folder in Path(path).parents:
            raise OSError(READ_ONLY, os.strerror(READ_ONLY), str(path))
        return whole(path, *given, **named)

    def in_place_of(self, whole, standing_in):
        """A function of the system's with this disk between."""
        return lambda *given, **named: standing_in(whole, *given, **named)


@contextmanager
def failing(patch, folder, fails_at, how):
    """A disk in place of the system's for what this process writes below a folder."""
    disk = Disk(folder, fails_at, how)
    with patch.context() as patched:
        for place in (builtins, io):
            patched.setattr(place, "open", disk.in_place_of(place.open, disk.opened))
        for name in ("replace", "unlink", "rename"):
            patched.setattr(os, name, disk.in_place_of(getattr(os, name), disk.moved))
        yield disk
