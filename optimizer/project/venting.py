"""The `[venting]` table: how wide and how even a player wants the open holes below a note."""

from typing import Annotated

from pydantic import Field

from optimizer.project.numbers import Section

Share = Annotated[float, Field(strict=True, ge=0.0, le=1.0)]


class Venting(Section):
    """How notes are vented. Defaults: common practice, no source. Register vents are aside, of steps and cutoffs thumb
    holes too. Holes made already are told of and not held to it."""

    wanted: Annotated[bool, Field(strict=True, description="false: holes of any size beside one another")] = True
    step_max_share: Annotated[
        Share, Field(description="an open hole may be so much narrower than the open one beside it, of the wider one")
    ] = 0.30
    least_under_key_share: Annotated[
        Share, Field(description="least width of a hole under a key or plate, of the bore where it stands")
    ] = 0.35
    least_under_finger_share: Annotated[Share, Field(description="the same under a bare finger")] = 0.25
    cutoff_least_share: Annotated[
        Share, Field(description="least cutoff of a note's first two open holes, of the notes' beside it")
    ] = 0.5
