"""What of a finished piece no solid can be made from, a sentence each with what would relieve it."""

from collections.abc import Iterator

from optimizer.handoff.shapes.outline import radius_at
from optimizer.handoff.shapes.shape import Flat, Hole, Piece

GROOVE_APART_MM = 0.8
"""Least wall beside an O-ring's groove, along the tenon; common practice, no source."""


def faults_of(piece: Piece) -> list[str]:
    """What of a finished piece cannot be made.

    Parameters
    ----------
    piece : finished
    """
    return [*_widths(piece), *_places(piece), *_walls(piece), *_grooves(piece)]


def _on(piece: Piece) -> list[Hole | Flat]:
    """Everything round that must lie on the body."""
    return [*piece.holes, *piece.flats]


def _widths(piece: Piece) -> Iterator[str]:
    """Holes and flats that are wider than the body."""
    for each in _on(piece):
        body = 2.0 * radius_at(piece.outside, each.z_mm)
        if each.wide_mm >= body:
            yield (
                f"{each.called} is {each.wide_mm:.2f} mm wide, and the body {body:.2f} mm there: make it narrower, "
                "or the body thicker"
            )


def _places(piece: Piece) -> Iterator[str]:
    """Holes and flats that reach over a joint or over the end."""
    ends = (
        (piece.socket.depth_mm if piece.socket else 0.0, "reed", piece.socket),
        (piece.length_mm - (piece.tenon.length_mm if piece.tenon else 0.0), "bell", piece.tenon),
    )
    for each in _on(piece):
        for place, end, joint in ends:
            half, inward = 0.5 * each.wide_mm, 1.0 if end == "reed" else -1.0
            over = half - inward * (each.z_mm - place)
            if over > 0.0:
                what = f"the joint at the {end} end" if joint else f"the {end} end"
                yield f"{each.called} reaches {over:.2f} mm over {what} of {piece.name}: move one of them"


def _walls(piece: Piece) -> Iterator[str]:
    """Places where nothing is left between outside and inside."""
    places = sorted({z for z, _ in (*piece.outside, *piece.inside)})
    for place in places:
        sides = (True,) if place == places[-1] else (False,) if place == places[0] else (True, False)
        wall = min(radius_at(piece.outside, place, side) - radius_at(piece.inside, place, side) for side in sides)
        if wall <= 0.0:
            yield f"no wall is left {place:.2f} mm from the reed end of {piece.name}: make body or tenon thicker"
            return


def _grooves(piece: Piece) -> Iterator[str]:
    """Tenons that are too short for their grooves."""
    tenon = piece.tenon
    if tenon is None or not tenon.grooves:
        return
    width, count = tenon.grooves[0].to_mm - tenon.grooves[0].from_mm, len(tenon.grooves)
    room = tenon.length_mm - tenon.chamfer_mm - count * width - (count + 1) * GROOVE_APART_MM
    if room < 0.0:
        yield (
            f"the tenon of {piece.name} is {-room:.2f} mm too short for its {count} grooves of {width:.2f} mm: make "
            "the joint longer or the cord thinner"
        )
