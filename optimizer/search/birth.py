"""Which process a number stood for when it was noted, as the system gives numbers out again.

The time of day at which a process began is, on Linux, worked out anew from the clock on the wall, and moves with every
step of that clock. What does not move is the count of ticks from the machine's start to the process's, with the name of
that start (the manual's proc_pid_stat(5), field 22, and random(4), boot_id).
"""

from pathlib import Path

PROCESSES = Path("/proc")
BOOT = PROCESSES / "sys" / "kernel" / "random" / "boot_id"
STARTTIME = 19
"""Place of field 22 among those after the command's name, of which the first is field 3."""


def birth_of(process: int) -> str:
    """A word that no other process of this machine has had or will have; empty where the system tells none.

    Parameters
    ----------
    process : its number
    """
    try:
        boot, told = BOOT.read_text("ascii").strip(), (PROCESSES / f"{process}" / "stat").read_bytes()
    except OSError:
        return ""
    return f"{boot} {told.rpartition(b')')[2].split()[STARTTIME].decode()}"
