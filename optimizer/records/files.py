"""What every record of a run folder is made of."""

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """Base of everything written to a run folder. Unknown keys are passed over: a later minor version may add some.

    What reads and writes a kind of record is built when the first one is met, as a command meets few kinds.
    """

    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False, defer_build=True)
