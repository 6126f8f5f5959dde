"""What a doubt is made of."""

from optimizer.records.files import Record


class Share(Record):
    """What one thing contributes to the sum of all main notes' variances [%]."""

    name: str
    percent: float
