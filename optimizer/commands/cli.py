"""The `holewright` command: parse, call, print. Heavy modules load only when a command needs them."""

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

DESCRIPTION = """Tone-hole layouts for reed woodwinds: from a project file to a set of layouts, each with its cents
per note, reach and clearances."""


def parser() -> argparse.ArgumentParser:
    """The command's options."""
    top = argparse.ArgumentParser(prog="holewright", description=DESCRIPTION)
    top.add_argument("--version", action="store_true", help="print the version and exit")
    commands = top.add_subparsers(dest="command", metavar="command")

    check = commands.add_parser("check", help="read a project file: what it says, and every problem in it")
    check.add_argument("project", type=Path, help="project file (.toml)")
    check.add_argument("--values", action="store_true", help="also list every limit in force, defaults included")
    check.add_argument("--quick", action="store_true", help="leave out the look for limits that conflict")
    _hand_option(check)
    check.set_defaults(action=_check)

    search = commands.add_parser("search", help="search a project for layouts and keep the Pareto set")
    search.add_argument("project", type=Path, help="project file (.toml)")
    _search_options(search)
    search.add_argument("--locked", type=Path, help="layout file (.json) some pieces of which are already printed")
    search.add_argument("--pieces", help="which of its pieces, counted from the reed, such as 1,2")
    search.set_defaults(action=_search)

    resume = commands.add_parser("resume", help="go on with a run that ended or was killed, or extend it")
    resume.add_argument("run", type=Path, help="run folder")
    _limit_options(resume)
    resume.set_defaults(action=_resume)

    survey = commands.add_parser("survey", help="search several projects and print one table of their best layouts")
    survey.add_argument("projects", type=Path, nargs="+", help="project files (.toml)")
    _search_options(survey)
    survey.set_defaults(action=_survey)

    show = commands.add_parser("show", help="show a run folder or one layout of it")
    show.add_argument("path", type=Path, help="run folder, or layout file (.json)")
    _hand_option(show)
    show.set_defaults(action=_show)

    reach = commands.add_parser("reach", help="how a layout lies under the hands: each pair, and a drawing")
    reach.add_argument("path", type=Path, help="run folder, or layout file (.json)")
    reach.add_argument("--layout", help="id of one layout of the run (default: the one that asks least of the hand)")
    reach.add_argument("--svg", type=Path, help="where the drawing goes (default: into the run folder)")
    reach.add_argument("--quick", action="store_true", help="leave out the look for ways out of what is out of reach")
    _hand_option(reach)
    _fit_options(reach, 1.5)
    reach.set_defaults(action=_reach)

    hands = commands.add_parser("hands", help="fit one project to several hands, and say what each costs")
    hands.add_argument("project", type=Path, help="project file (.toml)")
    hands.add_argument("--hand", type=Path, nargs="+", help="hand files (default: those in hands/ beside the project)")
    hands.add_argument("--as-written", action="store_true", help="leave plates and bare holes as the project has them")
    hands.add_argument("--out", type=Path, help="folder for the table and layouts (results/PROJECT-hands)")
    _fit_options(hands, 2.0)
    hands.set_defaults(action=_hands)

    relieve = commands.add_parser("relieve", help="ways out of a reach that binds, each solved, with its cost in cents")
    relieve.add_argument("path", type=Path, help="project file (.toml), or run folder")
    kinds = ("plate", "key", "maximum", "crook", "bore", "turned", "wider")
    relieve.add_argument("--only", choices=kinds, nargs="+", default=(), help="kinds of ways out to try (default: all)")
    relieve.add_argument("--out", type=Path, help="file for the table (in the run folder, or results/)")
    _hand_option(relieve)
    _fit_options(relieve, 1.5)
    relieve.set_defaults(action=_relieve)

    prices = commands.add_parser("prices", help="what each limit of a layout costs: cents for each millimetre")
    prices.add_argument("path", type=Path, help="run folder, or layout file (.json) in one")
    prices.add_argument("--layout", help="id of one layout of the run (default: the best tuned)")
    prices.add_argument("--minutes", type=float, default=3.0, help="how long it may take, all in all (3)")
    prices.add_argument("--json", type=Path, help="write everything there")
    prices.set_defaults(action=_prices, workers=None)

    extend = commands.add_parser(
        "extend", help="carry an instrument on to lower notes: all new, pieces kept, redrilled"
    )
    extend.add_argument("present", type=Path, help="the instrument there is: run folder, layout file or project file")
    extend.add_argument("extended", type=Path, help="project file (.toml) of the extended instrument")
    extend.add_argument("--redrill", type=int, default=3, help="most holes of kept pieces to drill wider (3)")
    extend.add_argument("--keep", type=int, help="how many pieces to keep, from the reed (default: all but the last)")
    extend.add_argument("--out", type=Path, help="folder for layouts, page and picture (results/EXTENDED-extension)")
    _fit_options(extend, 4.0)
    extend.set_defaults(action=_extend)

    serve = commands.add_parser("serve", help="serve runs to browsers and programs: submit, follow, choose, hand over")
    _serve_options(serve)
    serve.set_defaults(action=_serve)

    gauge = commands.add_parser("gauge", help="write a sheet to print and measure a player's hands with")
    gauge.add_argument("--out", type=Path, default=Path("gauge.svg"), help="the sheet (gauge.svg)")
    _hand_option(gauge)
    gauge.set_defaults(action=_gauge)

    predict = commands.add_parser("predict", help="a layout's notes at another temperature or pitch")
    predict.add_argument("layout", type=Path, help="layout file (.json)")
    predict.add_argument("--reed-degc", type=float, help="air at the reed end, degC")
    predict.add_argument("--bell-degc", type=float, help="air at the bell end, degC")
    predict.add_argument("--a4", type=float, help="reference pitch, Hz")
    _hand_option(predict)
    predict.set_defaults(action=_predict)

    resonances = commands.add_parser("resonances", help="every resonance of a layout's fingerings up to 4 kHz")
    resonances.add_argument("layout", type=Path, help="layout file (.json)")
    resonances.add_argument("--note", help="one written note (default: all)")
    resonances.set_defaults(action=_resonances)

    tolerance = commands.add_parser("tolerance", help="what making and playing do to a layout's notes, and how to ream")
    tolerance.add_argument("path", type=Path, help="layout file (.json), or run folder: its best-tuned feasible layout")
    tolerance.add_argument("--layout", help="id of another layout of the run")
    tolerance.add_argument("--samples", type=int, default=400, help="how many instruments are drawn at random (400)")
    tolerance.add_argument("--seed", type=int, default=1, help="seed of the draws (1)")
    tolerance.add_argument("--within", type=float, default=10.0, help="cents that all main notes should keep (10)")
    tolerance.add_argument(
        "--worth", type=float, default=0.5, help="cents for 0.1 mm that make a hole worth reaming (0.5)"
    )
    tolerance.add_argument("--json", type=Path, help="write everything there")
    tolerance.add_argument("--svg", type=Path, help="draw the notes' bands there")
    tolerance.set_defaults(action=_tolerance)

    duct = commands.add_parser("duct", help="compute ducts given as plain numbers and compare with reference values")
    duct.add_argument("cases", type=Path, help="file of cases (.json); DEVELOPERS.md describes it")
    duct.set_defaults(action=_duct)

    compare = commands.add_parser("compare", help="layouts or runs side by side, each against the first")
    compare.add_argument(
        "paths", type=Path, nargs="+", metavar="PATH",
        help="run folder (its best-tuned layout, and its front) or layout file (.json); two or more",
    )  # fmt: skip
    compare.add_argument("--json", type=Path, help="write the comparison as JSON")
    compare.add_argument("--html", type=Path, help="write the comparison as one page with figures")
    compare.add_argument("--density", type=float, help="of the print, g/cm3 (1.24: PLA, from memory)")
    compare.set_defaults(action=_compare)

    report = commands.add_parser("report", help="write one page of a run, to read without a network or to print")
    report.add_argument("run", type=Path, help="run folder")
    report.add_argument("--out", type=Path, help="the page (default: report.html in the run folder)")
    report.set_defaults(action=_report)

    schema = commands.add_parser("schema", help="print the JSON Schema of a project file or of a file in a run folder")
    kinds_of_file = (
        "project",
        "layout",
        "front",
        "run",
        "progress",
        "hands",
        "reliefs",
        "comparison",
        "tolerance",
        "extension",
        "prices",
    )
    schema.add_argument("kind", choices=kinds_of_file)
    schema.set_defaults(action=_schema)
    return top


def _serve_options(command: argparse.ArgumentParser) -> None:
    command.add_argument("--host", default="127.0.0.1", help="address to bind to (127.0.0.1; others need a token)")
    command.add_argument("--port", type=int, default=8750, help="port (8750)")
    command.add_argument("--name", action="append", default=[], help="a host name it is reached by; may be repeated")
    command.add_argument("--results", type=Path, default=Path("results"), help="where run folders are (results)")
    command.add_argument(
        "--projects", type=Path, default=Path("configs"), help="project, hand and printer files to offer (configs)"
    )
    command.add_argument("--at-once", type=int, default=1, help="how many searches may run at once (1)")
    command.add_argument("--waiting", type=int, default=50, help="how many more may wait (50)")
    command.add_argument("--new-token", action="store_true", help="ask for a token, made now and shown once")


def _search_options(command: argparse.ArgumentParser) -> None:
    _limit_options(command)
    _hand_option(command)
    command.add_argument(
        "--anyway", action="store_true", help="search even where no layout was found to keep all limits"
    )
    command.add_argument("--results", type=Path, default=Path("results"), help="where run folders go (results)")


def _hand_option(command: argparse.ArgumentParser) -> None:
    command.add_argument("--hand", type=Path, help="hand file (.toml) of another player, in place of the project's")


def _fit_options(command: argparse.ArgumentParser, minutes: float) -> None:
    command.add_argument(
        "--minutes", type=float, default=minutes, help=f"how long it may take, all in all ({minutes:g})"
    )
    command.add_argument("--workers", type=int, help="processes at once (default: one per core)")


def _limit_options(command: argparse.ArgumentParser) -> None:
    command.add_argument("--minutes", type=float, help="stop after so many minutes (default: the project's)")
    command.add_argument("--trials", type=int, help="stop after so many trials")
    command.add_argument("--workers", type=int, help="solves at once (default: the project's, or one per core)")
    command.add_argument("--seed", type=int, help="seed of the search (default: the project's)")
    command.add_argument(
        "--storage", help="URL of a database for the study, or HOLEWRIGHT_STORAGE (default: journal in the run folder)"
    )
    command.add_argument("--idle-minutes", type=float, help="stop when the front gained nothing for so many minutes")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; the exit code: 0 done, 1 nothing feasible found, 2 something to mend."""
    top = parser()
    options = top.parse_args(arguments)
    if options.version:
        return _version()
    if options.command is None:
        top.error("name a command")
    action: Callable[[argparse.Namespace], int] = options.action
    try:
        return action(options)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 130


def _version() -> int:
    from importlib.metadata import version

    print(f"holewright {version('holewright')}")
    return 0


def _complain(head: str, lines: Sequence[str]) -> int:
    print(head, file=sys.stderr)
    for line in lines:
        print(f"  {line}", file=sys.stderr)
    return 2


def _check(options: argparse.Namespace) -> int:
    from optimizer.project.loading import ProjectError, count_line, load_project
    from optimizer.views.overview import overview, values_in_force

    try:
        loaded = load_project(options.project, options.hand)
    except ProjectError as error:
        return _complain(count_line(error.problems, options.project), error.problems)
    print(overview(loaded))
    if options.values:
        print(values_in_force(loaded.project))
    if not options.quick:
        from optimizer.limits.conflicts import conflict_lines

        lines = conflict_lines(loaded)
        if lines:
            return _complain(f"{options.project}: limits that conflict", lines)
    return 0


def _on_one_core() -> None:
    """A search solves in this process, too: with one thread, as its workers do. To be said before NumPy loads."""
    from optimizer.solving.processes import ONE_THREAD

    os.environ.update(ONE_THREAD)


def _search(options: argparse.Namespace) -> int:
    _on_one_core()
    from optimizer.commands.search import run_search

    return run_search(options, _complain)


def _resume(options: argparse.Namespace) -> int:
    _on_one_core()
    from optimizer.commands.search import run_resume

    return run_resume(options, _complain)


def _survey(options: argparse.Namespace) -> int:
    _on_one_core()
    from optimizer.commands.search import run_survey

    return run_survey(options, _complain)


def _show(options: argparse.Namespace) -> int:
    from optimizer.commands.show import run_show

    return run_show(options.path, _complain, options.hand)


def _reach(options: argparse.Namespace) -> int:
    from optimizer.commands.reach import run_reach

    return run_reach(options, _complain)


def _hands(options: argparse.Namespace) -> int:
    from optimizer.commands.fits import run_hands

    return run_hands(options, _complain)


def _relieve(options: argparse.Namespace) -> int:
    from optimizer.commands.fits import run_relieve

    return run_relieve(options, _complain)


def _prices(options: argparse.Namespace) -> int:
    from optimizer.commands.prices import run_prices

    return run_prices(options, _complain)


def _extend(options: argparse.Namespace) -> int:
    from optimizer.commands.extend import run_extend

    return run_extend(options, _complain)


def _gauge(options: argparse.Namespace) -> int:
    from optimizer.commands.reach import run_gauge

    return run_gauge(options, _complain)


def _predict(options: argparse.Namespace) -> int:
    from optimizer.commands.show import run_predict

    return run_predict(options, _complain)


def _resonances(options: argparse.Namespace) -> int:
    from optimizer.commands.show import run_resonances

    return run_resonances(options, _complain)


def _tolerance(options: argparse.Namespace) -> int:
    from optimizer.commands.tolerance import run_tolerance

    return run_tolerance(options, _complain)


def _serve(options: argparse.Namespace) -> int:
    from optimizer.commands.serve import run_serve

    return run_serve(options, _complain)


def _duct(options: argparse.Namespace) -> int:
    from optimizer.views.duct_tables import run_duct

    return run_duct(options.cases, _complain)


def _compare(options: argparse.Namespace) -> int:
    from optimizer.commands.compare import run_compare

    return run_compare(options, _complain)


def _report(options: argparse.Namespace) -> int:
    from optimizer.commands.compare import run_report

    return run_report(options, _complain)


def _schema(options: argparse.Namespace) -> int:
    from optimizer.records.kinds import schema_text

    sys.stdout.write(schema_text(options.kind))
    return 0


if __name__ == "__main__":
    sys.exit(main())
