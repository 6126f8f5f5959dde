"""What every record is made of."""

from pydantic import BaseModel, ConfigDict


class Record(BaseModel):
    """Base of everything written to a run folder. Unknown keys are passed over: a later minor version may add some."""

    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False)
