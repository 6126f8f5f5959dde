"""`hands` and `relieve`: one project under several hands, and ways out of a reach that binds."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import (
    RESULTS,
    Hand,
    Learned,
    Minutes,
    Out,
    ProjectFile,
    Results,
    Workers,
    file,
    flag,
    given,
    option,
    word,
)
from optimizer.project.faults import Fault, writing

KINDS = ("plate", "key", "row", "spacing", "touch", "maximum", "crook", "bore", "turned", "wider")


def hands(
    project: ProjectFile,
    hand: Annotated[
        list[Path] | None, file("--hand", "hand files, one or several (default: those in hands/ beside the project)")
    ] = None,
    as_written: Annotated[bool, flag("--as-written", "leave plates and bare holes as the project has them")] = False,
    learned: Learned = None,
    out: Out = None,
    results: Results = RESULTS,
    minutes: Minutes = 2.0,
    workers: Workers = None,
) -> int:
    """Fit one project to several hands, and say what each costs.

    Raises
    ------
    Fault
        when no hand file is named or found, or a file of the results cannot be written
    """
    from optimizer.analysis.hands import each_hand
    from optimizer.commands.console import console
    from optimizer.commands.progress import Working
    from optimizer.project.hand import Hand
    from optimizer.project.included import read_included
    from optimizer.project.loading import load_project
    from optimizer.records.files import make_private, write_record
    from optimizer.views.fit_tables import show_hands

    players = hand or sorted(project.parent.glob("hands/*.toml"))
    if not players:
        where = project.parent / "hands"
        raise Fault(f"there is no hand file in {where}; name some with --hand", heading="no hands to compare")
    for path in players:
        read_included(path, Hand, "hand")
    load_project(project, rule_out=False, learned=learned)
    loaded = {path: load_project(project, path, rule_out=False, learned=learned) for path in players}
    place, seconds = out or results / f"{project.stem}-hands", 60.0 * minutes
    with writing(place):
        make_private(place, exist_ok=True)
    with Working("fitting hands", seconds, "hands") as told:
        found = each_hand(loaded, as_written=as_written, seconds=seconds, workers=workers, told=told)
    show_hands(console(), found.record)
    with writing(place):
        for name, record in {**found.files, "hands.json": found.record}.items():
            write_record(place / name, record)
    console().print(f"written: {place}/hands.json and a layout of each fit beside it", soft_wrap=True)
    return 0 if all(entry.feasible for entry in found.record.hands) else 1


def relieve(
    path: Annotated[Path, given("PATH", "project file (.toml), or run folder")],
    only: Annotated[
        list[str] | None,
        option(
            "--only", word("--only", KINDS), "KIND", f"kinds of ways out to try, of {', '.join(KINDS)} (default: all)"
        ),
    ] = None,
    hand: Hand = None,
    learned: Learned = None,
    out: Annotated[
        Path | None, file("--out", "file for the table (default: in the run folder, or in --results)")
    ] = None,
    results: Results = RESULTS,
    minutes: Minutes = 1.5,
    workers: Workers = None,
) -> int:
    """Ways out of a reach that binds, and what each costs in cents."""
    from optimizer.analysis.relief_files import reliefs_file
    from optimizer.analysis.reliefs import looked_for
    from optimizer.commands.console import console
    from optimizer.commands.progress import Working
    from optimizer.records.files import write_record
    from optimizer.records.named_layouts import project_or_run
    from optimizer.views.fit_tables import show_reliefs

    loaded, numbers = project_or_run(path, hand, learned)
    seconds = 60.0 * minutes
    with Working("looking for ways out", seconds, "projects solved") as told:
        record = looked_for(loaded, numbers, seconds, workers, told, only or ())
    show_reliefs(console(), record)
    place = out or reliefs_file(path, hand, results)
    with writing(place, "cannot write the ways out"):
        write_record(place, record, private=True)  # a hand's limits are in it
    console().print(f"written: {place}", soft_wrap=True)
    works = record.as_it_is.feasible or any(entry.feasible for entry in record.reliefs)
    return 0 if works else 1
