"""Of the API: files that are offered, and the check of a project."""

from contextlib import suppress
from typing import Annotated

from fastapi.responses import PlainTextResponse
from pydantic import BaseModel, ConfigDict, Field

from optimizer.project.file_text import offered_names
from optimizer.project.hand import Hand
from optimizer.project.included import IncludedError, read_included
from optimizer.project.toml_text import CHARACTERS_MOST
from optimizer.service.offered import OfferedFile, OfferedHand, offered_text
from optimizer.service.parts import Here, operations
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.work import Submitted, told

router = operations("projects")
ProjectText = Annotated[str, Field(max_length=CHARACTERS_MOST, description="text of a project file (TOML)")]
HandName = Annotated[str | None, Field(max_length=80, description="a hand file offered here, for the project's own")]
HandText = Annotated[str | None, Field(max_length=40_000, description="text of a hand file (TOML), the same")]


class ProjectToCheck(BaseModel):
    """A project to read; room: also look for limits that conflict, which may take a minute."""

    model_config = ConfigDict(extra="forbid")

    project: ProjectText
    hand: HandName = None
    hand_text: HandText = None
    room: bool = False


class SoundProject(BaseModel):
    """A project with no problems: its instrument, a summary in lines, what it likely does not mean, cautions."""

    instrument: str
    summary: list[str]
    questions: list[Finding]
    cautions: list[str]


@router.get("/projects", operation_id="list_projects")
def list_projects(here: Here) -> list[OfferedFile]:
    """Project files that are offered, each with its first comment."""
    folder, found = here.settings.projects, []
    for name in offered_names(folder):
        with suppress(RefusedError):
            found.append(OfferedFile(name=name, about=_first_comment(offered_text(folder, name))))
    return found


@router.get("/projects/{name}", operation_id="get_project", response_class=PlainTextResponse)
def get_project(name: str, here: Here) -> str:
    """The text of a project file that is offered."""
    return offered_text(here.settings.projects, name)


@router.get("/hands", operation_id="list_hands")
def list_hands(here: Here) -> list[OfferedHand]:
    """Hand files that are offered: whose hand it is, and where its figures come from."""
    folder, found = here.settings.projects / "hands", []
    for name in offered_names(folder):
        try:
            hand = read_included(folder / name, Hand, "hand").model
        except IncludedError:
            continue
        found.append(OfferedHand(name=name, about=f"{hand.name}; {hand.about}", title=hand.name))
    return found


@router.post("/projects/check", operation_id="check_project")
async def check_project(asked: ProjectToCheck, here: Here) -> SoundProject:
    """Read a project: what it says, or everything in it that is to be mended, each with its key path and line."""
    bench = here.slow if asked.room else here.quick
    submitted = Submitted(asked.project, asked.hand, asked.hand_text)
    instrument, summary, questions, said = await bench.do(told, here.settings.projects, submitted, asked.room)
    return SoundProject(instrument=instrument, summary=summary.splitlines(), questions=questions, cautions=list(said))


def _first_comment(text: str) -> str:
    lines = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        lines.append(line.lstrip("# ").strip())
    return " ".join(lines)
