"""Pieces made by hand, each with one thing that a hole, flat or foot may be."""

from optimizer.handoff.shapes.shape import Flat, Foot, Groove, Hole, Piece, Sizing, Socket, Tenon

BODY = ((0.0, 12.0), (120.0, 14.0))
BORE = ((0.0, 6.0), (120.0, 8.0))


def piece(outside=BODY, inside=BORE, holes=(), flats=(), feet=(), socket=None, tenon=None, down="bell"):
    """A piece of these; a plain cone by default, 120 mm long, its wall 6 mm."""
    return Piece(
        number=1, count=1, sizing=Sizing(), begin_mm=0.0, length_mm=outside[-1][0], outside=outside, inside=inside,
        socket=socket, tenon=tenon, holes=tuple(holes), flats=tuple(flats), feet=tuple(feet), down=down, locked=False,
    )  # fmt: skip


def hole(z, azimuth=0.0, wide=8.0, mouth=None, chimney=6.0, name="h1"):
    """A hole of the plain cone; its mouth is as wide as its bore end unless told."""
    crown, mouth = 6.0 + z / 60.0, wide if mouth is None else mouth
    return Hole(name, "tone", z, azimuth, crown, crown + chimney, (wide, wide), (mouth, mouth))


def flat(of, wide=14.0, sunk=False):
    """The flat of a hole."""
    return Flat(of.id, of.z_mm, of.azimuth_deg, wide, of.top_mm, sunk)


def one(z=60.0, sunk=False, flat_wide=14.0, **changes):
    """A plain cone with one hole that has a flat."""
    made = hole(z, **changes)
    return piece(holes=[made], flats=[flat(made, flat_wide, sunk)])


GROOVED = (
    (0.0, 12.0), (96.0, 13.6), (96.0, 11.0), (102.0, 11.0), (102.0, 10.0), (104.0, 10.0), (104.0, 11.0), (118.0, 11.0),
    (120.0, 9.0),
)  # fmt: skip
SOCKETED = ((0.0, 9.0), (20.0, 9.0), (22.0, 7.5), (22.0, 6.0 + 22.0 / 60.0), (120.0, 8.0))

CASES = {
    "plain": piece(),
    "drilled": piece(holes=[hole(60.0)]),
    "on the seam": piece(holes=[hole(60.0, azimuth=180.0)]),
    "undercut": piece(holes=[hole(60.0, azimuth=-50.0, wide=9.0, mouth=6.0)]),
    "widening": piece(holes=[hole(60.0, azimuth=30.0, wide=6.0, mouth=9.0)]),
    "as wide as the bore": piece(holes=[hole(60.0, wide=14.0)]),
    "opposite": piece(holes=[hole(60.0), hole(60.0, azimuth=180.0, wide=6.0, name="h2")]),
    "raised": one(azimuth=40.0, chimney=8.0),
    "raised and undercut": one(azimuth=40.0, chimney=8.0, wide=9.0, mouth=7.0),
    "level with the crown": one(chimney=6.0),
    "sunk": one(sunk=True, chimney=4.0, flat_wide=12.0),
    "tube": one(wide=1.2, chimney=16.0, flat_wide=4.0),
    "foot": piece(feet=[Foot("k1", 1, 60.0, 90.0, 5.0, 14.0)]),
    "socket, tenon, groove": piece(
        GROOVED, SOCKETED, [hole(60.0)], socket=Socket("tenon", 22.0, 18.0, 24.0, 1.5),
        tenon=Tenon(24.0, 22.0, 2.0, (Groove(6.0, 8.0, 20.0),)), down="reed",
    ),
}  # fmt: skip
