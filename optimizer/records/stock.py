"""What of the stock gives a hole its size. Older files lack it."""

from typing import Literal

from optimizer.records.files import Record


class ToolRecord(Record):
    """What finishes a hole at its bore end: a drill, a straight reamer, a tube that lines it, or nothing more where it
    stays as it was made. called: the tool by its size as the trade has it; tolerance_mm: how far it may be off either
    way, where the stock says so."""

    kind: Literal["drill", "reamer", "tube", "made"]
    size_mm: float
    called: str
    tolerance_mm: float | None = None
