"""Reading a project file: TOML to `Project`, with every problem at once and a sentence for each."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from optimizer.project.bend_checks import bend_checks
from optimizer.project.bends import Bend
from optimizer.project.chart import ChartNote, read_chart
from optimizer.project.cross_checks import cross_checks, scale_checks, step_checks
from optimizer.project.faults import Fault
from optimizer.project.file_text import text_of
from optimizer.project.findings import Finding, at, counted_problems, first_findings, gathered, located, shortened
from optimizer.project.fittings import Fitting
from optimizer.project.hand import Hand
from optimizer.project.impossible import impossibilities
from optimizer.project.included import INCLUDED, Included, IncludedError, read_included, taken_in
from optimizer.project.learned import Learned
from optimizer.project.model import Hole, Key, Project
from optimizer.project.piece_checks import fitting_checks, piece_checks
from optimizer.project.sentences import causes, finding_of, nearest_of, shown, unknown_key
from optimizer.project.stock_checks import from_stock
from optimizer.project.suspicions import causes_first, suspicions
from optimizer.project.toml_text import UnreadableError, tables_of
from optimizer.words import counted

_LISTS: dict[str, type[BaseModel]] = {"bends": Bend, "holes": Hole, "keys": Key, "fittings": Fitting}
"""Tables whose every line is one item, named by the line's key."""

_LINES = {
    "bends": "u1 = { at_mm = ... }",
    "holes": "g1 = { by = ... }",
    "keys": "k1 = { touch = ... }",
    "fittings": "peg = { length_mm = ... }",
}
"""What their lines look like."""


class ProjectError(Fault):
    """A project file that cannot be used: `findings` holds one for each thing to mend, with the line it stands on, the
    first of them where there are many."""

    def __init__(self, source: str, findings: list[Finding]) -> None:
        self.source = source
        self.findings = shortened(findings)
        said = [finding.sentence for finding in self.findings]
        super().__init__(*said, heading=f"{source}: {counted(counted_problems(findings), 'problem')} to mend")

    @property
    def told(self) -> list[str]:
        """The problems, each after its line of the file."""
        return [finding.told for finding in self.findings]


@dataclass(frozen=True)
class LoadedProject:
    """A project that passed every check: its model, its chart and its text as written, a hand file's table taken in."""

    source: str
    text: str
    project: Project
    notes: list[ChartNote]
    written: str | None = None
    """As its maker wrote it, where files were taken into the text since: whose lines are told."""


def load_project(
    path: Path, hand: Path | None = None, rule_out: bool = True, learned: Path | None = None
) -> LoadedProject:
    """Read and check a project file.

    Parameters
    ----------
    path : of the file
    hand : a hand file in place of the project's own hand
    rule_out : see `parse_project`
    learned : a file of what was learned in place of the project's own

    Raises
    ------
    ProjectError
        with every problem found
    """
    text = text_of(path, partial(_unreadable, path), missing="file", name="project file", whole="project")
    if text.lstrip().startswith("{"):
        raise _unreadable(
            path, "is a record, such as a layout, and no project; name a project file (.toml), or the run"
        )
    whole = text_with_files(text, path, hand)
    if learned is not None:
        whole = taken_in(whole, read_included(learned, Learned, "learned"))
    return parse_project(whole, str(path), rule_out, text)


def _unreadable(path: Path, sentence: str) -> ProjectError:
    return ProjectError(str(path), [Finding("", sentence)])


def text_with_files(text: str, path: Path, hand: Path | Included[Hand] | None) -> str:
    """The project's text with the hand, printer and stock files in it that it names, or the hand that is given for it.

    Raises
    ------
    ProjectError
        when one of them cannot be used
    """
    try:
        data = tables_of(text)
    except UnreadableError:
        return text
    changed = text
    try:
        for name, kind in reversed(INCLUDED.items()):
            if isinstance(data.get(name), str) and (name != "hand" or hand is None):
                changed = taken_in(changed, read_included(path.parent / data[name], kind, name))
        if hand is not None:
            changed = taken_in(changed, read_included(hand, Hand, "hand") if isinstance(hand, Path) else hand)
    except IncludedError as error:
        raise ProjectError(str(path), located(error.findings, text)) from None
    return changed


def parse_project(text: str, source: str, rule_out: bool = True, written: str | None = None) -> LoadedProject:
    """Check the text of a project file.

    Parameters
    ----------
    text : of the project, files that it names taken in
    source : what it is called
    rule_out : refuse one proved to have no layout
    written : the text that its maker wrote, whose lines are told; as a rule the same

    Raises
    ------
    ProjectError
        with every problem found
    """
    try:
        data = tables_of(text)
    except UnreadableError as error:
        raise ProjectError(source, error.findings) from None
    findings = (
        _meant_for_a_project(data)
        or [
            at(name, f"the file {data[name]!r} is out of reach here; write its [{name}] table")
            for name in INCLUDED
            if isinstance(data.get(name), str)
        ][:1]
    )
    sections: dict[str, Any] = {}
    notes: list[ChartNote] = []
    if not findings:
        sections, notes, findings = _checked(data)
    if not findings:
        project, findings = _validated(Project, sections, ())
        if project is not None and project.learned and (wrong := project.learned.lacks_air(project.reed.volume_cm3[0])):
            findings = [at("reed.volume_cm3", wrong)]
        elif project is not None and rule_out and not project.made:
            findings = impossibilities(project) + fitting_checks(project)
    if findings:
        findings = causes_first(findings, suspicions(data, sections, notes))
        raise ProjectError(source, gathered(located(findings, text if written is None else written)))
    return LoadedProject(source, text, project, notes, written)


def likely_mistakes(loaded: LoadedProject) -> list[Finding]:
    """What a sound project is likely not to mean, the likeliest first, each with its line."""
    project = loaded.project
    sections = {name: getattr(project, name) for name in Project.model_fields}
    points = [list(point) for point in project.bore.points_mm]
    found = suspicions({"bore": {"points_mm": points}}, sections, loaded.notes)
    return located(causes_first([], found), loaded.text if loaded.written is None else loaded.written)


def _meant_for_a_project(data: Mapping[str, Any]) -> list[Finding]:
    """What there is to say of a hand, printer or stock file that is taken for a project."""
    for name, kind in INCLUDED.items():
        if data and data.keys() <= kind.model_fields.keys():
            return [Finding("", f'this is a {name} file; a project file takes it in by `{name} = "FILE"`')]
    return []


def _checked(data: Mapping[str, Any]) -> tuple[dict[str, Any], list[ChartNote], list[Finding]]:
    """Every table and what holds between them."""
    sections, findings = _sections(data)
    sections, of_stock = from_stock(sections)
    findings += _of_the_printer(sections) + of_stock + cross_checks(sections)
    findings += piece_checks(sections) + bend_checks(sections)
    notes: list[ChartNote] = []
    if all(name in sections for name in ("chart", "holes", "keys", "rows")):
        notes, chart_findings = read_chart(*(sections[name] for name in ("chart", "holes", "keys", "rows")))
        findings += chart_findings
        if not chart_findings:
            findings += scale_checks(sections, notes) + step_checks(sections, notes)
    return sections, notes, findings


def _of_the_printer(sections: dict[str, Any]) -> list[Finding]:
    """Take what the printer's coupon told where the project states nothing, and say what that leaves no room for."""
    if "printer" in sections and "uncertainty" in sections:
        sections["uncertainty"] = sections["uncertainty"].taken_from(sections["printer"])
    if "printer" not in sections or sections.get("sections") is None:
        return []
    body = sections["sections"] = sections["sections"].taken_from(sections["printer"])
    return [at("printer.radial_clearance_mm", body.lacks_groove)] if body.lacks_groove else []


def _sections(data: Mapping[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    """Each table checked on its own, so that one broken table hides nothing in the others."""
    sections: dict[str, Any] = {}
    unknown = [key for key in data if key not in Project.model_fields]
    findings = first_findings(unknown, lambda key: unknown_key((key,), Project))
    for name, field in Project.model_fields.items():
        if name not in data:
            if field.is_required() and not any(nearest_of(key, Project.model_fields) == name for key in unknown):
                findings.append(at(name, "this table is missing; every project needs it"))
            elif not field.is_required():
                sections[name] = field.get_default(call_default_factory=True)
        elif name in _LISTS:
            items, more = _items(name, data[name])
            findings += more
            if not more:
                sections[name] = items
        else:
            kinds: list[Any] = [kind for kind in get_args(field.annotation) if kind is not type(None)]
            (model,) = kinds or [field.annotation]
            found, more = _validated(model, data[name], (name,))
            findings += more
            if found is not None:
                sections[name] = found
    return sections, findings


def _items(name: str, value: Any) -> tuple[list[Any], list[Finding]]:
    if not isinstance(value, dict):
        one = name.removesuffix("s")
        came = "a list" if isinstance(value, list) else shown(value)
        return [], [at(name, f"must be a table with one line for each {one}, such as `{_LINES[name]}`, but got {came}")]
    if name == "holes" and not value:
        return [], [at("holes", "must hold at least one hole")]
    items, findings = [], []
    for label, entry in value.items():
        if not isinstance(entry, dict):
            findings.append(at(f"{name}.{label}", f"must be a table such as {{ by = ... }}, but got {shown(entry)}"))
            continue
        if "id" in entry:
            findings.append(at(f"{name}.{label}.id", f"there is no such key; {label!r} in front of the line is the id"))
            continue
        item, more = _validated(_LISTS[name], {"id": label, **entry}, (name, label))
        findings += more
        if item is not None:
            items.append(item)
    return items, findings


def _validated(model: type[BaseModel], value: Any, where: tuple[str | int, ...]) -> tuple[Any, list[Finding]]:
    try:
        return model.model_validate(value), []
    except ValidationError as error:
        path = ".".join(map(str, where))
        return None, first_findings(causes(error.errors(), model), lambda item: finding_of(item, model, where), path)
