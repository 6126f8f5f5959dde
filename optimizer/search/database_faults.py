"""What is said of a run's database where none is used, too: its variable, and that it does not serve."""

from optimizer.project.faults import Fault

VARIABLE = "HOLEWRIGHT_STORAGE"
"""Names a database in the environment, out of sight of the process table."""


class StorageError(Fault):
    """A database that cannot serve; the message says why, without a password."""
