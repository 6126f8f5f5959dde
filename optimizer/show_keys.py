"""Keys of a layout as a table for a terminal."""

from collections.abc import Sequence

from rich.table import Table

from optimizer.key_record import KeyRecord

COLUMNS = ("key", "by", "touch at", "azimuth", "pad", "lever", "axle", "posts at", "stiffness N/mm", "lost", "at most")


def key_table(keys: Sequence[KeyRecord]) -> Table:
    """Touch, pads, levers, axle and posts of every key, one row for each pad."""
    title = "Keys, mm and degrees; lost: what twist, bending and play take of a pad's opening"
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    for name in COLUMNS:
        table.add_column(name, justify="left" if name in ("key", "by", "pad", "posts at") else "right", no_wrap=True)
    for key in keys:
        head = [key.id, key.touch if not key.moved_by else ", ".join(key.moved_by)]
        head += ["-", "-"] if key.touch_position_mm is None else [f"{key.touch_position_mm:.2f}", _angle(key)]
        axle = ["-", "-"]
        if key.axle is not None:
            axle = [f"{key.axle.length_mm:.1f}", ", ".join(f"{post.position_mm:.0f}" for post in key.axle.posts)]
        for lever in key.levers:
            lost = f"{lever.lost_motion_mm:.2f}", f"{lever.lost_motion_max_mm:.2f}"
            figures = [f"{lever.stiffness_n_per_mm:.1f}", *lost]
            table.add_row(*head, lever.hole, f"{lever.length_mm:.1f}", *axle, *figures)
            head, axle = [""] * 4, [""] * 2
        if not key.levers:
            table.add_row(*head, ", ".join([*key.opens, *key.closes]), *["-"] * 6)
    return table


def _angle(key: KeyRecord) -> str:
    return "-" if key.touch_azimuth_deg is None else f"{key.touch_azimuth_deg:.0f}"
