"""A layout handed over to its maker, as an archive; done in the workshop."""

import io
import zipfile
from collections.abc import Sequence
from pathlib import Path

from optimizer.project.faults import Fault
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.work import layout_read


def packed(layout: Path, place: Path, name: str, only: Sequence[str], states: Sequence[str], paper: str) -> bytes:
    """The folder that `handoff` writes, as a ZIP archive.

    Parameters
    ----------
    layout : file of the layout
    place : an empty folder to make it in
    name : of the folder in the archive
    only : kinds of files; none: all that can be written
    states : in which sizes pieces are drawn, paper : of the sheets, both in the command's words

    Raises
    ------
    RefusedError
        404 when the layout went, 422 for what cannot be handed over, with every reason
    """
    from optimizer.handoff.handed import Wanted, states_of
    from optimizer.handoff.handing_over import hand_off, known
    from optimizer.handoff.sheets.paper import PAPERS

    record = layout_read(layout)
    folder = place / name
    try:
        hand_off(record, folder, Wanted(known(only), states_of(states), PAPERS[paper]))
    except Fault as fault:
        reasons = [Finding(path="", message=line.replace(f"{place}/", "")) for line in fault.told]
        raise RefusedError(422, fault.heading or "this cannot be handed over", reasons) from None
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                archive.write(path, path.relative_to(place))
    return stream.getvalue()
