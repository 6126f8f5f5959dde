"""The `[fittings]` table: what else is fastened to the body, such as a strap ring, a thumb rest or a peg, and needs a
zone of its own."""

from typing import Annotated

from pydantic import Field, model_validator

from optimizer.project.numbers import NotNegative, Positive, Section, Span


class Fitting(Section):
    """Something fastened to the body: the zone that is kept clear for it, so long and so wide on the body's surface.

    It lies as near the middle of its range as what stands around leaves room.
    """

    id: Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_]*$", max_length=16)]
    position_mm: Annotated[Span, Field(description="of its middle along the body, or the range it may lie in")]
    length_mm: Annotated[Positive, Field(le=200, description="along the body")]
    width_mm: Annotated[Positive, Field(le=100, description="round the body, on its surface")]
    azimuth_deg: Annotated[float, Field(strict=True, ge=-360, le=360)]
    clear_mm: Annotated[
        NotNegative,
        Field(le=50, description="to any seat, cup, finger, post, rod and joint: common practice"),
    ] = 2.0

    @model_validator(mode="after")
    def _lies_somewhere(self) -> "Fitting":
        if self.position_mm[0] < 0:
            raise ValueError(f"position_mm: must be at least 0, but got {self.position_mm[0]:g}")
        return self
