"""A layout handed over to its maker, and the test coupon of its printer, as archives; done in the workshop."""

import io
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from optimizer.project.faults import Fault
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.studies import project_of_run
from optimizer.service.work import layout_read


def packed(layout: Path, place: Path, name: str, only: Sequence[str], states: Sequence[str], paper: str) -> bytes:
    """The folder that `handoff` writes, as a ZIP archive.

    Parameters
    ----------
    layout : file of the layout
    place : an empty folder to make it in
    name : of the folder in the archive
    only : kinds of files; none: all that can be written
    states : in which sizes pieces are drawn, in the command's words
    paper : of the sheets, in the command's words

    Raises
    ------
    RefusedError
        404 when the layout went, 422 for what cannot be handed over, with every reason
    """
    from optimizer.handoff.handed import Wanted, states_of
    from optimizer.handoff.handing_over import hand_off, known
    from optimizer.handoff.sheets.paper import PAPERS
    from optimizer.records.named_layouts import stock_meant

    record = layout_read(layout)
    with _refusing(place):
        wanted = Wanted(known(only), states_of(states), PAPERS[paper], stock_meant(layout))
        hand_off(record, place / name, wanted)
    return _archived(place, name)


def packed_coupon(run: Path, place: Path, name: str, prints: int, paper: str) -> bytes:
    """The folder that `coupon` writes, as a ZIP archive.

    Parameters
    ----------
    run : folder of the run, whose project has the printer
    place : an empty folder to make it in
    name : of the folder in the archive
    prints : how many the table has lines for
    paper : of the drawing, in the command's words

    Raises
    ------
    RefusedError
        404 when the run went, 422 where no coupon can be drawn, with every reason
    """
    from optimizer.handoff.coupon import write_coupon
    from optimizer.handoff.sheets.paper import PAPERS

    with _refusing(place):
        write_coupon(project_of_run(run, None).project, place / name, prints, PAPERS[paper])
    return _archived(place, name)


@contextmanager
def _refusing(place: Path) -> Iterator[None]:
    """What cannot be made is refused, with every reason; where it would have been made is nobody's concern."""
    try:
        yield
    except Fault as fault:
        reasons = [Finding(path="", message=line.replace(f"{place}/", "")) for line in fault.told]
        raise RefusedError(422, fault.heading or "this cannot be handed over", reasons) from None


def _archived(place: Path, name: str) -> bytes:
    """A folder and all in it."""
    folder, stream = place / name, io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                archive.write(path, path.relative_to(place))
    return stream.getvalue()
