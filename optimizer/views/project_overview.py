"""A project in a page of text: what a maker should see before a search starts."""

import json
from collections import Counter

from optimizer.geometry.choices import lines_played, open_covers, optional_notes, plain_choices
from optimizer.geometry.layout import parametrise
from optimizer.geometry.pads import UNSEALED, wide_pads
from optimizer.limits.catalogue import LIMITS, build_constraints
from optimizer.project.body import bore_ended
from optimizer.project.fingers import finger_anchor
from optimizer.project.hand import SIDES, pair_limits
from optimizer.project.loading import LoadedProject
from optimizer.project.model import Project
from optimizer.project.numbers import Section
from optimizer.project.scale import targets
from optimizer.project.stock_checks import stock_notes
from optimizer.project.water import wet_holes
from optimizer.words import counted

BY_TOLERANCE = "half of printer.tolerance_mm, taken as two standard deviations: common practice, no source"
BY_COUPON = "by the printer's coupon"


def overview(loaded: LoadedProject) -> str:
    """Summary of a sound project: instrument, range, holes, what is free, what constrains, what is sought."""
    project = loaded.project
    by_pitch = sorted(zip(targets(project, loaded.notes), loaded.notes, strict=True), key=lambda pair: pair[1].midi)
    (lowest, _), (highest, _) = by_pitch[0], by_pitch[-1]
    played = lines_played(loaded.notes, plain_choices(project, loaded.notes))
    main = [note for note, counts in zip(loaded.notes, played, strict=True) if counts and not note.alternate]
    alternates = sum(note.alternate for note in loaded.notes)
    free = parametrise(project).names
    kinds = _kinds(project)
    lines = [
        f"{project.instrument.name}: no problems found in {loaded.source}",
        f"  range      written {lowest.written} to {highest.written}, "
        f"sounding {lowest.sounding} to {highest.sounding}, "
        f"A4 = {project.scale.a4_hz:g} Hz, {project.scale.temperament} temperament",
        f"  chart      {counted(len(main), 'note')} in {counted(max(note.register for note in main), 'register')}"
        + (f", {counted(alternates, 'alternate')}" if alternates else ""),
        f"  bore       {_bore_line(project)}",
        f"  holes      {_hole_line(project)}",
        f"  hand       {project.hand.name}; {project.hand.about}",
        *_piece_lines(project),
        *([f"  fittings   {', '.join(each.id for each in project.fittings)}"] if project.fittings else []),
        *_stock_lines(project),
        f"  free       {len(free)} numbers: {_tally(free)}",
        *_choice_lines(loaded),
        f"  limits     {sum(kinds.values())} constraints: "
        + ", ".join(f"{count} {kind}" for kind, count in kinds.items()),
        f"  sought     {', '.join(project.objective_names)}; {project.search.minutes:g} minutes",
    ]
    unreached = [key.id for key in project.keys if finger_anchor(key.touch, project) is None]
    if unreached:
        lines.append(
            f"  note       no lever limit for {', '.join(unreached)}: neither a finger's hole nor a row tells where it "
            "is touched; [rows] places touches under a hand"
        )
    unsealed = [hole.id for hole in project.holes if hole.padded and hole.seat == "saddle"]
    if unsealed:
        lines.append(f"  note       {', '.join(unsealed)}: {UNSEALED}")
    lines += [f"  note       {sentence}" for sentence in wet_holes(project)]
    return "\n".join(lines)


def _choice_lines(loaded: LoadedProject) -> list[str]:
    """What is left to the search beside numbers."""
    covers, options = open_covers(loaded.project), optional_notes(loaded.notes)
    parts = [f"cover of {', '.join(covers)}"] if covers else []
    parts += [f"fingering of {', '.join(options)}"] if options else []
    return [f"  choices    {'; '.join(parts)}"] if parts else []


def _bore_line(project: Project) -> str:
    bore = project.bore
    low, high = bore.end_span_mm
    end = f"{low:g} mm" if low == high else f"{low:g} to {high:g} mm"
    bell = dict.fromkeys(f"{bore_ended(bore.points_mm, each)[-1][1]:.4g}" for each in (low, high))
    staple = f"staple to {bore.staple_end_mm:g} mm, " if bore.staple_end_mm else ""
    return (
        f"{bore.points_mm[0][1]:g} mm wide at the reed, {' to '.join(bell)} at the bell, "
        f"{end} long, "
        f"{staple}crook to {bore.crook_end_mm:g} mm, wall {bore.wall_mm:g} mm"
        + (f"; shaped by {', '.join(bore.shaped_by)}" if bore.shaped_by else "")
    )


def _piece_lines(project: Project) -> list[str]:
    """Printer and pieces, where the body is printed in any; what is printed already."""
    section, printer = project.sections, project.printer
    if section is None:
        return []
    low, high = section.joints
    count = f"{low}" if low == high else f"{low} to {high}"
    made = ", ".join(str(piece.piece) for piece in section.locked)
    return [
        f"  printer    {printer.name}: pieces up to {project.piece_max_mm:.4g} mm, printed {printer.orientation}; "
        f"{count} joints" + (f"; printed already: {made}" if made else "")
    ]


STOCKED = {
    "drill_mm": "drill",
    "reamer_mm": "reamer",
    "pad_mm": "pad",
    "tube_mm": "tube",
    "rod_mm": "rod",
    "o_ring_mm": "O-ring",
}


def _stock_lines(project: Project) -> list[str]:
    """What lies in the drawer, where one is named; what of the holes it leaves as they are."""
    notes = [f"  note       {said}" for said in [*stock_notes(project), *wide_pads(project)]]
    if project.stock is None:
        return notes
    held = [counted(len(entries), what) for key, what in STOCKED.items() if (entries := getattr(project.stock, key))]
    return [f"  stock      {project.stock.name}: {', '.join(held)}", *notes]


def _hole_line(project: Project) -> str:
    tone = [hole for hole in project.holes if hole.role == "tone"]
    bare = sum(hole.by != "key" and hole.cover == "finger" for hole in project.holes)
    plates = sum(hole.cover == "plate" for hole in project.holes)
    locked = sum(hole.locked for hole in project.holes)
    return (
        f"{counted(len(tone), 'tone hole')} and {counted(len(project.holes) - len(tone), 'vent')}: "
        f"{bare} under bare fingers, {plates} under plates, {len(project.holes) - bare - plates} under keys, "
        f"{locked} locked"
    )


def _tally(names: tuple[str, ...]) -> str:
    counts: dict[str, int] = {}
    for name in names:
        kind = name.split(".")[0].rsplit("_", 1)[0].replace("_", " ")
        counts[kind] = counts.get(kind, 0) + 1
    return ", ".join(f"{count} {kind}" for kind, count in counts.items()) or "none"


def values_in_force(project: Project) -> str:
    """Every value of the tables that have defaults, as lines `table.key = value`, with what is said of its standing;
    then what the hands' figures come to, and what each kind of limit asks."""
    named = "air reed sections printer stock scale hand keywork venting uncertainty search"
    tables = [(name, getattr(project, name)) for name in named.split()]
    lines = [line for name, table in tables if table is not None for line in _lines(name, table)]
    stated, printer = project.uncertainty, project.printer
    said = {f"uncertainty.{name}": BY_TOLERANCE for name in stated.from_tolerance(printer)}
    said |= {f"uncertainty.{name}": BY_COUPON for name in stated.from_printer(printer)}
    marks = [";" if "  # " in line else "  #" for line in lines]
    lines = [
        f"{line}{mark} {said[line.split()[0]]}" if line.split()[0] in said else line
        for line, mark in zip(lines, marks, strict=True)
    ]
    return "\n".join(lines + _reach_lines(project) + _limit_lines(project))


def _lines(name: str, table: Section) -> list[str]:
    """Lines of a table; descriptions stand behind the values."""
    lines = []
    for key, item in table:
        said = type(table).model_fields[key].description
        for line in _value_lines(f"{name}.{key}", item):
            lines.append(f"{line}  # {said}" if said else line)
    return lines


def _value_lines(name: str, value: object) -> list[str]:
    if isinstance(value, Section):
        return _lines(name, value)
    if isinstance(value, dict):
        return [line for key, item in value.items() for line in _value_lines(f"{name}.{key}", item)]
    if isinstance(value, list) and any(isinstance(item, Section) for item in value):
        return [line for number, item in enumerate(value, start=1) for line in _value_lines(f"{name}.{number}", item)]
    return [f"  {name} = {json.dumps(value)}"]


def _limit_lines(project: Project) -> list[str]:
    """What must hold, for each kind of limit that the project has."""
    return ["limits: how many, and what must hold"] + [
        f"  {count} {kind}: {LIMITS[kind].holds}" for kind, count in _kinds(project).items()
    ]


def _kinds(project: Project) -> dict[str, int]:
    """How many constraints of each kind a project has."""
    return Counter(item.name.partition(".")[0] for item in build_constraints(project).items)


def _reach_lines(project: Project) -> list[str]:
    """Limits of every finger pair, as they follow from what was measured."""
    return ["reach, mm: comfortable / working limit / maximum, standard deviation, by what"] + [
        f"  {SIDES[side]} {pair.replace('_', '-')}: {limits.comfortable_mm:.1f} / {limits.working_mm:.1f} / "
        f"{limits.maximum_mm:.1f} +- {limits.sd_mm:.1f}, {limits.basis}"
        for side in SIDES
        for pair, limits in pair_limits(project.hand, side).items()
    ]
