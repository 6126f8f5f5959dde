"""Locks on bytes of files as Windows has them, by those of POSIX: between processes, and given back by a close."""

import fcntl
import os
from types import ModuleType

WINDOWS = ModuleType("msvcrt")
WINDOWS.LK_NBLCK = 2
WINDOWS.locking = lambda file, mode, count: fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, count, 0, os.SEEK_CUR)
