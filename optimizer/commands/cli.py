"""The `holewright` command: read what is asked, do it, tell what is to be mended. Help loads nothing heavy: each
command loads what it needs once it is done."""

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from functools import cache, wraps
from typing import Annotated, Any, NamedTuple

import typer
from typer.core import TyperCommand

from optimizer.commands.begin import begin
from optimizer.commands.blow import blow
from optimizer.commands.compare import compare
from optimizer.commands.correct import correct
from optimizer.commands.coupon import coupon, printer
from optimizer.commands.extend import extend
from optimizer.commands.fingerings import fingerings
from optimizer.commands.fits import hands, relieve
from optimizer.commands.gauged import gauged
from optimizer.commands.handoff import handoff
from optimizer.commands.hear import hear
from optimizer.commands.impedance import impedance
from optimizer.commands.options import Wrong
from optimizer.commands.play import play
from optimizer.commands.present import present
from optimizer.commands.prices import prices
from optimizer.commands.progress import Working
from optimizer.commands.project import check, duct, schema
from optimizer.commands.prototype import bench, fit
from optimizer.commands.reach import gauge, reach
from optimizer.commands.report import report
from optimizer.commands.search import locked_as_told, resume, search, survey
from optimizer.commands.serve import serve
from optimizer.commands.show import predict, resonances, show
from optimizer.commands.tolerance import tolerance
from optimizer.project.faults import Fault, headed
from optimizer.words import INTERRUPTED, STOPPED, to_people

COMMANDS: Mapping[Callable[..., int], str] = {
    begin: "cannot begin a project",
    check: "cannot check this",
    search: "the search could not go on",
    resume: "the search could not go on",
    survey: "the survey could not go on",
    present: "cannot show the instrument",
    show: "cannot show this",
    reach: "cannot show this",
    hands: "the hands could not be compared",
    relieve: "cannot look for ways out",
    prices: "cannot price this",
    extend: "the instrument could not be extended",
    serve: "cannot serve this",
    gauge: "cannot make the sheet",
    gauged: "cannot read the gauges",
    coupon: "cannot make the coupon",
    printer: "cannot learn the printer",
    impedance: "cannot compare the impedance",
    predict: "cannot predict",
    resonances: "cannot show resonances",
    fingerings: "cannot find fingerings",
    play: "cannot play this",
    blow: "cannot blow this",
    hear: "cannot hear this",
    tolerance: "cannot tell what becomes of this",
    bench: "cannot make the table",
    fit: "cannot fit this",
    correct: "cannot correct this",
    handoff: "cannot hand this over",
    duct: "cannot read the cases",
    compare: "cannot compare these",
    report: "cannot report on this",
    schema: "cannot print this",
}
"""Every command, and what is said above a fault that it meets."""

DOING: Mapping[Callable[..., int], str] = {
    show: "reading what is to be shown",
    predict: "working the notes out",
    resonances: "working the resonances out",
    fingerings: "looking through the fingerings",
    play: "playing the notes",
    compare: "comparing",
    report: "writing the page",
    duct: "working the ducts out",
}
"""What commands do that tell nothing of it themselves, said where it takes long."""

NOT_IN_LETTERS = "{} has letters that this system cannot read; give the file or folder a name without them"

NAME = "holewright"
HELP = ["--help", "-h"]

Agreement = Callable[[Mapping[str, Any]], str | None]
AGREEMENTS: Mapping[Callable[..., int], Agreement] = {search: locked_as_told}
"""What the values of a command must keep to together: says what is wrong with them, or None."""

USAGE_ERROR: type[Exception] = typer.BadParameter.__mro__[1]
"""What is raised of a call that cannot be read; of these errors Typer gives a name to one alone."""


class Asked(NamedTuple):
    """A command with the values it is to be done with."""

    do: Callable[..., int]
    values: Mapping[str, Any]


class Repeating(TyperCommand):
    """A command whose options that may be repeated also take several values after one name."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the arguments, the name said again before each further value."""
        many = {name for each in self.params if getattr(each, "multiple", False) for name in each.opts}
        spelled: list[str] = []
        last = ""
        for arg in args:
            if not arg.startswith("-") and last in many and spelled[-1] != last:
                spelled.append(last)
            last = arg if arg.startswith("-") else last
            spelled.append(arg)
        return super().parse_args(ctx, spelled)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; the exit code: 0 done, 1 nothing feasible found, 2 something to mend."""
    try:
        asked = asked_for(arguments)
        if isinstance(asked, int):
            return asked
        telling = Working(DOING[asked.do]) if asked.do in DOING else nullcontext()
        with headed(COMMANDS[asked.do]), telling:
            return asked.do(**asked.values)
    except Fault as fault:
        print(fault.heading, *(f"  {line}" for line in fault.told), sep="\n", file=sys.stderr)
        return fault.exit_code
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print(STOPPED, file=sys.stderr)
        return INTERRUPTED


def asked_for(arguments: Sequence[str] | None) -> Asked | int:
    """What is asked for; an exit code where help or the version was, and is given.

    Raises
    ------
    Fault
        for a call that cannot be read, and with every option to mend
    KeyboardInterrupt
        where it was interrupted as it was read
    """
    if strange := [each for each in arguments or sys.argv[1:] if not _writable(each)]:
        raise Fault(*(NOT_IN_LETTERS.format(each) for each in strange), heading="names to change")
    try:
        found: Asked | int = _readable().main(arguments, NAME, standalone_mode=False)
    except USAGE_ERROR as error:
        raise _misread(error) from None
    if found == INTERRUPTED:  # Typer makes an exit code of it, and says nothing
        raise KeyboardInterrupt
    if isinstance(found, int):
        return found
    problems = [str(each) for value in found.values.values() for each in _many(value) if isinstance(each, Wrong)]
    agreement = AGREEMENTS.get(found.do)
    if agreement is not None and (said := agreement(found.values)):
        problems.append(said)
    if problems:
        raise Fault(*problems, heading="options to mend")
    return found


def _writable(text: str) -> bool:
    """Whether a text can be written into a file; a name in bytes that are no letters cannot."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _misread(error: Any) -> Fault:
    """The fault of a call that Typer cannot read: how to call, and what it says."""
    usage = error.ctx.get_usage() if error.ctx else f"Usage: {NAME} COMMAND [ARGS]..."
    return Fault(error.format_message(), heading=f"usage: {usage.partition(': ')[2]}")


def _many(value: Any) -> Sequence[Any]:
    return value if isinstance(value, list | tuple) else [value]


@cache
def _readable() -> Any:
    """All commands, each read only: what is asked is done when all of it is known to be right."""
    found = typer.Typer(
        callback=_holewright,
        add_help_option=False,
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
    )
    for each in COMMANDS:
        kept = {"help_option_names": HELP}
        found.command(cls=Repeating, help=to_people(each.__doc__), context_settings=kept)(_asking(each))
    return typer.main.get_command(found)


def _asking(do: Callable[..., int]) -> Callable[..., Asked]:
    """A function of the same signature that does nothing yet."""

    @wraps(do)
    def asked(**values: Any) -> Asked:
        return Asked(do, values)

    return asked


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        print(f"holewright {version('holewright')}")
        raise typer.Exit


def _help(context: typer.Context, wanted: bool) -> None:
    if wanted:
        print(context.get_help())
        raise typer.Exit


def _holewright(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="print the version and exit")
    ] = False,
    help: Annotated[  # Typer's own loads Pydantic even where another command's help is asked for
        bool, typer.Option(*HELP, callback=_help, is_eager=True, help="show this message and exit")
    ] = False,
) -> None:
    """Tone-hole layouts for reed woodwinds: from a project file to a set of layouts, each with its cents per note,
    reach and clearances."""


if __name__ == "__main__":
    sys.exit(main())
