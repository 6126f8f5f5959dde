"""What a service is started with: where its files are, who may reach it, and how much it takes on."""

from dataclasses import dataclass
from pathlib import Path

LOOPBACK = ("127.0.0.1", "::1", "localhost")


@dataclass(frozen=True)
class Settings:
    """Folders, address and limits.

    results, projects : folders of runs, and of the project, hand and printer files that are offered
    names : host names that the service answers to, beside loopback and plain addresses
    token_digest : SHA-256 of the token, in hex; None where none is asked for
    running_most, waiting_most : searches at once, and runs waiting for their turn
    body_bytes_most : largest request; body_seconds : how long it may take to arrive
    upload_bytes_most, upload_seconds, uploads_most : the same of a measurement, and how many may arrive at once
    head_seconds : how long the head of a request may take to arrive
    connections_most, silent_most : connections at once, and those of one address on which no request is answered
    work_seconds, work_bytes_most : how long checking, predicting, comparing and hearing may take, and how much memory
    sittings_most, sitting_seconds : how many may move holes by hand at once, and after how long of nothing moved the
        process of one ends
    handoff_seconds, handoffs_most : how long a hand-off may take, and how many are made or wait for that
    archives_most : how many archives of runs are packed at once
    runs_most : on the shelf, before it takes in no further instrument that is made
    closing_seconds : how long a deletion waits for a search's process to close
    minutes_most, workers_most : what one run may ask for
    """

    results: Path
    projects: Path
    host: str = "127.0.0.1"
    port: int = 8750
    names: tuple[str, ...] = ()
    token_digest: str | None = None
    running_most: int = 1
    waiting_most: int = 50
    body_bytes_most: int = 1_000_000
    body_seconds: float = 20.0
    upload_bytes_most: int = 64_000_000
    upload_seconds: float = 120.0
    uploads_most: int = 8
    head_seconds: float = 10.0
    connections_most: int = 1000
    silent_most: int = 100
    followers_most: int = 500
    work_seconds: float = 90.0
    work_bytes_most: int = 3_000_000_000
    sittings_most: int = 4
    sitting_seconds: float = 300.0
    handoff_seconds: float = 300.0
    handoffs_most: int = 4
    archives_most: int = 2
    runs_most: int = 2000
    closing_seconds: float = 20.0
    minutes_most: float = 20_160.0
    workers_most: int = 1024

    @property
    def open_to_others(self) -> bool:
        """Whether others can reach it: it is bound to more than this machine, or goes by a name, as behind a proxy."""
        return self.host not in LOOPBACK or bool(self.names)

    @property
    def kept(self) -> Path:
        """Folder of what the service itself keeps."""
        return self.results / ".service"

    @property
    def uploads(self) -> Path:
        """Folder of what was sent, while it is read."""
        return self.kept / "uploads"

    @property
    def removed(self) -> Path:
        """Folder of runs that were deleted and can be brought back."""
        return self.results / ".removed"
