"""The `[present]` table: an instrument that is made, told by the tables of its holes and its bore.

A search passes it over, and seeks among the ranges of `[holes]` and `[bore]`; `holewright present` puts what the tables
say in their place and shows the instrument as it is. Paths count from the project file's folder.
"""

from typing import Annotated

from pydantic import Field

from optimizer.project.numbers import NotNegative, Positive, Section


class Present(Section):
    """The instrument that is made."""

    holes: Annotated[str | None, Field(max_length=400, description="path of the table of its holes")] = None
    bore: Annotated[str | None, Field(max_length=400, description="path of its bore's table; default: [bore]")] = None
    end_mm: Annotated[Positive | None, Field(description="where its bell ends, where the bore has no table")] = None
    reed_cm3: Annotated[
        NotNegative | None, Field(description="what its reed holds; default: [reed], if one number")
    ] = None
    joints_mm: Annotated[
        tuple[Positive, ...], Field(max_length=12, description="middles of its joints; default: taken as one piece")
    ] = ()
    made: Annotated[
        bool,
        Field(description="[holes], [bore] and [reed] are those of the instrument: written by `holewright present`"),
    ] = False
