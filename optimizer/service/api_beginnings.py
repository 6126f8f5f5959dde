"""Of the API: a project file of one's own, begun from answers."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from optimizer.beginning.answers import FamilyName, InstrumentAnswers
from optimizer.beginning.questions import Question, questions
from optimizer.beginning.shipped import files_in
from optimizer.project.note_names import NamesOfNotes
from optimizer.service.beginning_work import begun_text
from optimizer.service.parts import Here, operations

router = operations("projects")
OfferedName = Annotated[str | None, Field(max_length=80, description="one that is offered here, by its name")]


class NewBeginning(InstrumentAnswers):
    """Answers; bore_table: text of a CSV table with from_reed_mm and diameter_mm, in place of diameters."""

    model_config = ConfigDict(defer_build=False)  # read as the application is made, not at the first request

    hand: OfferedName = None
    printer: OfferedName = None
    stock: OfferedName = None
    bore_table: Annotated[str | None, Field(max_length=300_000)] = None


class BegunProject(BaseModel):
    """The text of a project file, to look at, to have checked and to submit."""

    project: str


@router.get("/beginnings/questions", operation_id="list_questions")
def list_questions(
    here: Here, family: FamilyName = "keyed-cone", note_names: NamesOfNotes = "english"
) -> list[Question]:
    """What is asked of an instrument of a family, in order, with the usual answers."""
    return questions(family, note_names, files_in(here.settings.projects))


@router.post("/beginnings", operation_id="begin_project")
async def begin_project(new: NewBeginning, here: Here) -> BegunProject:
    """Write a project file from answers; nothing is kept here."""
    return BegunProject(project=await here.quick.do(begun_text, here.settings.projects, new.model_dump()))
