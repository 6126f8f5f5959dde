"""`prices`: what each limit of a layout costs."""

from optimizer.commands.options import Json, Layout, Minutes, RunOrLayout
from optimizer.project.faults import Fault


def prices(path: RunOrLayout, layout: Layout = None, minutes: Minutes = 3.0, json: Json = None) -> int:
    """What each limit of a layout costs: cents for each millimetre.

    Raises
    ------
    Fault
        for a layout that does not keep its limits
    """
    from optimizer.analysis.prices import prices_of
    from optimizer.commands.console import console, write_if_asked
    from optimizer.commands.progress import Working
    from optimizer.records.files import write_record
    from optimizer.records.named_layouts import chosen_layout, project_of_run, run_of
    from optimizer.views.price_tables import show_prices

    record = chosen_layout(path, layout)
    loaded = project_of_run(run_of(path), None)
    if not record.feasible:
        raise Fault(f"layout {record.id} does not keep its limits, so they have no price yet")
    seconds = 60.0 * minutes
    with Working("pricing limits, each solved again", seconds, "limits") as told:
        found = prices_of(loaded, record, seconds, told)
    show_prices(console(), found)
    write_if_asked(json, lambda place: write_record(place, found))
    return 0
