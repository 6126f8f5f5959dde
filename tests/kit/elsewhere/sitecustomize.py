"""On a Python's path, this makes all of its processes do without what only Linux and its like have; locks are those of
Windows."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile

from byte_locks import WINDOWS

LOADED = shutil, subprocess, tempfile
"""They look at the system when they are loaded."""

sys.modules |= {"msvcrt": WINDOWS} | dict.fromkeys(("fcntl", "resource", "pwd", "grp", "termios"))
for name in ("O_DIRECTORY", "O_NOFOLLOW", "O_PATH"):
    delattr(os, name)
os.supports_dir_fd -= {os.open}
del signal.pthread_sigmask
