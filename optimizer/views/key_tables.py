"""Keys of a layout as a table for a terminal."""

from collections.abc import Sequence

from rich.table import Table

from optimizer.records.keys import KeyRecord

COLUMNS = ("key", "by", "touch at", "azimuth", "pad", "lever", "axle", "high", "over", "posts at", "N/mm", "lost", "of")
LEFT = ("key", "by", "pad", "over", "posts at")


def key_table(keys: Sequence[KeyRecord]) -> Table:
    """Touch, pads, levers, axle and posts of every key, one row for each pad."""
    title = (
        "Keys, mm and degrees; high: middle of the axle above the body, raised over the cups it passes over; "
        "N/mm: stiffness at the touch; lost: what twist, bending and play take of a pad's opening, of at most so much"
    )
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    for name in COLUMNS:
        table.add_column(name, justify="left" if name in LEFT else "right", no_wrap=True)
    for key in keys:
        head = [key.id, key.touch if not key.moved_by else ", ".join(key.moved_by)]
        head += ["-", "-"] if key.touch_position_mm is None else [f"{key.touch_position_mm:.2f}", _angle(key)]
        axle = ["-"] * 4
        if key.axle is not None:
            over = ", ".join(key.axle.passes_over) or "-"
            posts = ", ".join(f"{post.position_mm:.0f}" for post in key.axle.posts)
            axle = [f"{key.axle.length_mm:.1f}", f"{key.axle.height_mm:.1f}", over, posts]
        for lever in key.levers:
            lost = f"{lever.lost_motion_mm:.2f}", f"{lever.lost_motion_max_mm:.2f}"
            figures = [f"{lever.stiffness_n_per_mm:.1f}", *lost]
            table.add_row(*head, lever.hole, f"{lever.length_mm:.1f}", *axle, *figures)
            head, axle = [""] * 4, [""] * 4
        if not key.levers:
            table.add_row(*head, ", ".join([*key.opens, *key.closes]), *["-"] * 8)
    return table


def _angle(key: KeyRecord) -> str:
    return "-" if key.touch_azimuth_deg is None else f"{key.touch_azimuth_deg:.0f}"
