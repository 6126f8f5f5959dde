"""A project file from answers, with files among those offered; in the workshop."""

from contextlib import chdir
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from optimizer.beginning.answers import AnswersError, answers_of
from optimizer.beginning.shipped import KINDS, named
from optimizer.beginning.written import begun
from optimizer.project.included import IncludedError
from optimizer.project.loading import ProjectError
from optimizer.service.offered import SOURCE, to_mend, without
from optimizer.service.refusals import RefusedError, told

TABLE = Path("bore.csv")


def begun_text(projects: Path, said: dict[str, Any]) -> str:
    """The text of a project that passes every check.

    Parameters
    ----------
    projects : folder of the projects that are offered, as one of which it is written
    said : answers; hand, printer and stock by name, the table of the bore as its text

    Raises
    ------
    RefusedError
        422 with each answer to mend, where they make no sound project, and where a file that is offered cannot be used
    """
    projects = projects.absolute()
    try:
        files = {kind: named(kind, said[kind], projects) for kind in KINDS if said[kind] is not None}
        with TemporaryDirectory() as desk, chdir(desk):  # so that nothing tells where that is
            table = said["bore_table"]
            if table is not None:
                TABLE.write_text(table, encoding="utf-8")
            answers = answers_of({**said, **files, "bore_table": None if table is None else TABLE})
            found = begun(answers, projects / SOURCE)
            return found.written or found.text
    except AnswersError as error:
        raise RefusedError(422, "the answers make no project", told(error.findings)) from None
    except ProjectError as error:
        raise to_mend(projects, error) from None
    except IncludedError as error:
        wrong = without(projects, error.findings)
        raise RefusedError(422, "a file that is offered cannot be used", told(wrong)) from None
