"""One layout as a section of a page: drawn on its body, its notes, reach, holes, keys, pieces, clearances."""

from collections.abc import Sequence
from html import escape

from optimizer.analysis.hand_fit import verdict
from optimizer.analysis.printed_mass import printed_body
from optimizer.project.objectives import UNITS
from optimizer.records.layout import LayoutRecord
from optimizer.views import html as page
from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.notes import Line, Mark, tuning_chart
from optimizer.views.drawings.reach import reach_drawing
from optimizer.views.html import Html
from optimizer.words import counted, or_dash

LOOKS = {"comfortable": "good", "strained": "warn", "at the limit": "bad"}


def layout_section(record: LayoutRecord, first: bool, why: str = "") -> str:
    """The section; first: shown where nothing chooses; why it is among those, in a few words."""
    parts = [
        page.heading(2, f"Layout {record.id}" + (f": {why}" if why else "")),
        f'<p class="{"good" if record.feasible else "bad"}">{escape(_state(record))}</p>',
        page.paragraph(_sizes(record)),
        page.figure(body_drawing(record), _caption(record), wide=True),
        *([_pieces(record)] if record.pieces else []),
        *_reach(record),
        '<div class="panels"><div>',
        page.heading(3, "How far each note is off"),
        page.figure(tuning_chart(_lines(record), f"cents of each note of layout {record.id}"), TUNING),
        "</div><div>",
        *_reach_bars(record),
        *_clearances(record),
        "</div></div>",
        *_binds(record),
        _notes(record),
        _holes(record),
        *([_keys(record)] if record.keys else []),
    ]
    kind = "layout first" if first else "layout"
    name = escape(record.id)
    return f'<section class="{kind}" id="{name}" aria-label="layout {name}">{"".join(parts)}</section>'


TUNING = (
    "Predicted less wanted, in cents; the thin line is one standard deviation either way, from workshop and formulas "
    "together. By the real resonances, at soft playing."
)


def _state(record: LayoutRecord) -> str:
    if record.feasible:
        return "Meets every limit; every note sounds as wanted."
    wrong = f"{counted(record.wrong_notes, 'note')} not as wanted; " if record.wrong_notes else ""
    return f"NOT feasible: {wrong}largest violation of a limit {record.violation_mm:.2f} mm."


def _sizes(record: LayoutRecord) -> str:
    objectives = ", ".join(
        f"{name.replace('_', ' ')} {value:.2f} {UNITS.get(name, '')}" for name, value in record.objectives.items()
    )
    points, printed = record.bore.points_mm, printed_body(record)
    return (
        f"{objectives}. Bore {points[0][1]:g} to {points[-1][1]:.2f} mm wide over {points[-1][0]:.2f} mm; reed volume "
        f"{record.reed.volume_cm3:.4f} cm3; body about {printed.mass_g:.0f} g printed solid at "
        f"{printed.density_g_per_cm3:g} g/cm3, without seats, posts and keys."
    )


def _caption(record: LayoutRecord) -> str:
    said = "From the front, reed end left, to scale, mm. Above: holes; below: fingers"
    said += ", and touches with the keys they press; thin lines along the body: axles" if record.keys else ""
    return said + ". Dashed: behind. The crook is drawn straight."


def _lines(record: LayoutRecord) -> list[Line]:
    return [
        Line(note.written, note.register_number, note.alternate, [Mark("A", note.cents, note.sd_cents)])
        for note in record.notes
    ]


def _reach_bars(record: LayoutRecord) -> list[str]:
    if not record.reach:
        return []
    said = "Green: comfortable; amber: to the working limit, under it its deviation; red: to the maximum."
    return [page.heading(3, "How far the fingers reach"), page.figure(reach_drawing(record.reach), said)]


def _reach(record: LayoutRecord) -> list[str]:
    if not record.reach:
        return []
    rows = [
        [
            pair.pair,
            or_dash(pair.spacing_mm, ".1f"),
            or_dash(pair.comfortable_mm, ".1f"),
            or_dash(pair.working_mm, ".1f"),
            or_dash(pair.maximum_mm, ".1f"),
            or_dash(pair.sd_mm, ".1f"),
            _verdict(verdict(pair)),
        ]
        for pair in record.reach
    ]
    heads = ["fingers", "spacing", "comfortable", "working limit", "maximum", "+-", "verdict"]
    bases = ", ".join(dict.fromkeys(pair.basis for pair in record.reach if pair.basis)) or "not said"
    return [
        page.heading(3, "Reach"),
        page.table(f"mm between touch centres; +-: standard deviation of the limit; limits by: {bases}", heads, rows),
    ]


def _verdict(said: str) -> Html:
    return Html(f'<span class="{LOOKS.get(said, "bad")}">{escape(said)}</span>')


def _clearances(record: LayoutRecord) -> list[str]:
    families: dict[str, tuple[float, str]] = {}
    for name, margin in record.margins_mm.items():
        family, _, where = name.partition(".")
        families[family] = min(families.get(family, (float("inf"), "")), (margin, where))
    rows = [[family, f"{margin:.2f}", page.words(where)] for family, (margin, where) in families.items()]
    return [
        page.heading(3, "Clearances"),
        page.table("mm to spare, tightest of each kind", ["limit", "to spare", "where"], rows),
    ]


def _binds(record: LayoutRecord) -> list[str]:
    binds = [f"{found.name}: {_broken(found.margin_mm)}{found.sentence}" for found in record.binds]
    doubts = [page.heading(3, "Outside a formula's range"), page.bullets(record.warnings, "soft columns")]
    return [
        page.heading(3, "What binds"),
        page.bullets(binds, "soft columns") or page.paragraph("Nothing: every constraint has room."),
        *(doubts if record.warnings else []),
    ]


def _broken(margin_mm: float) -> str:
    return f"broken by {-margin_mm:.2f} mm; must hold: " if margin_mm < 0 else ""


def _notes(record: LayoutRecord) -> str:
    heads = ["written", "sounding", "register", "target Hz", "cents", "+-", "peak / lower", "peak / upper", "remark"]
    rows = [
        [
            note.written,
            note.sounding,
            str(note.register_number),
            f"{note.target_hz:.2f}",
            or_dash(note.cents, "+z.1f"),
            or_dash(note.sd_cents, ".1f"),
            or_dash(note.height_over_lower, ".2f"),
            or_dash(note.height_over_upper, ".2f"),
            ", ".join((["alternate"] if note.alternate else []) + ([note.status] if note.status != "ok" else [])),
        ]
        for note in record.notes
    ]
    return page.heading(3, "Notes") + page.table(
        "Peak / lower: how far the note's resonance stands over the one below it, its register's strength", heads, rows
    )


def _holes(record: LayoutRecord) -> str:
    heads = [
        "hole",
        "worked by",
        "rest",
        "position",
        "azimuth",
        "diameter",
        "top",
        "bore",
        "chimney",
        "touch",
        "pad",
        "opens",
    ]
    rows = [
        [
            hole.id + (" locked" if hole.locked else ""),
            f"{hole.by} on a plate" if hole.cover == "plate" else hole.by,
            hole.rest,
            f"{hole.position_mm:.2f}",
            f"{hole.azimuth_deg:.0f}",
            f"{hole.diameter_mm:.2f}",
            f"{hole.top_diameter_mm:.2f}",
            f"{hole.bore_diameter_mm:.2f}",
            f"{hole.chimney_mm:.2f}",
            or_dash(hole.touch_position_mm, ".2f"),
            or_dash(hole.pad.diameter_mm if hole.pad else None, ".1f"),
            or_dash(hole.pad.opening_mm if hole.pad else None, ".1f"),
        ]
        for hole in record.holes
    ]
    return page.heading(3, "Holes") + page.table("Finished sizes, mm and degrees, from the bell up", heads, rows)


def _keys(record: LayoutRecord) -> str:
    heads = ["key", "by", "opens", "closes", "touch at", "azimuth", "levers", "axle", "posts at"]
    rows = [
        [
            page.words(key.id),
            page.words(", ".join(key.moved_by) or key.touch),
            page.words(" ".join(key.opens)),
            page.words(" ".join(key.closes)),
            or_dash(key.touch_position_mm, ".1f"),
            or_dash(key.touch_azimuth_deg, ".0f"),
            page.words(", ".join(f"{lever.hole} {lever.length_mm:.0f}" for lever in key.levers)),
            or_dash(key.axle.length_mm if key.axle else None, ".1f"),
            page.words(", ".join(f"{post.position_mm:.0f}" for post in key.axle.posts) if key.axle else ""),
        ]
        for key in record.keys
    ]
    return page.heading(3, "Keys") + page.table("mm and degrees; levers: to which hole, how long", heads, rows)


def _pieces(record: LayoutRecord) -> str:
    heads = ["piece", "from", "to", "length", "widest", "to print", "tenon", "socket of the next", "joint", "holes"]
    rows = []
    for number, piece in enumerate(record.pieces, start=1):
        joint, printed = piece.joint, piece.to_print
        figures: Sequence[str] = [
            f"{piece.from_mm:.2f}",
            f"{piece.to_mm:.2f}",
            f"{piece.length_mm:.2f}",
            or_dash(piece.diameter_mm, ".2f"),
            "made" if piece.locked else or_dash(printed.length_mm if printed else None, ".2f"),
            or_dash(joint.tenon_diameter_mm if joint else None, ".2f"),
            or_dash(joint.socket_diameter_mm if joint else None, ".2f"),
            or_dash(piece.joint_mm if joint else None, ".1f"),
        ]
        rows.append([str(number), *figures, page.words(" ".join(piece.holes))])
    said = "mm, from the reed; finished sizes, but for the length to print"
    return page.heading(3, "Pieces of the body") + page.table(said, heads, rows, long=["holes"])
