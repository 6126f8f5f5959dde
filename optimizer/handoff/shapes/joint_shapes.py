"""Tenons, sockets and the receiver of the crook as shapes, finished sizes in millimetres.

| rule | |
|---|---|
| tenon and socket | cylinders by the joint's record; the bore goes on inside |
| chamfer | the socket's floor is a ceiling as it is printed: a cone of 45 degrees leaves a flat ring as wide as the least wall at the bore; the tenon's tip has the same cone, so that no gap is left in the bore |
| grooves | spread evenly over the tenon's cylinder |
| ring | where the socket is wider than the body: its length, then back at 45 degrees |
| receiver | a socket for the crook's tube, which goes on into the first piece by 1.5 of its diameter, 12 to 25 mm, and is a cylinder there; 0.2 mm free all round, a wall of 2 mm |

Receiver and chamfer: common practice, no source.
"""  # noqa: E501

from optimizer.handoff.shapes.outline import Outline, radius_at
from optimizer.handoff.shapes.shape import Groove, Socket, Tenon
from optimizer.records.layout import LayoutRecord
from optimizer.records.pieces import JointRecord

WALL_MIN_MM = 1.2
"""Least wall where no printer is told."""

RECEIVER_PER_DIAMETER, RECEIVER_MM = 1.5, (12.0, 25.0)
RECEIVER_FREE_MM, RECEIVER_WALL_MM = 0.2, 2.0
RECEIVER_LEAST_MM = 6.0


def least_wall_mm(record: LayoutRecord) -> float:
    """Thinnest wall that the layout's printer prints [mm]."""
    return record.printing.wall_min_mm if record.printing else WALL_MIN_MM


def tenon_of(joint: JointRecord, bore: Outline, least_mm: float) -> Tenon:
    """The tenon of a joint.

    Parameters
    ----------
    joint : whose tenon
    bore : of the instrument, radii [mm]
    least_mm : thinnest wall [mm]
    """
    chamfer = _chamfer_mm(joint.tenon_diameter_mm, joint, bore, least_mm)
    return Tenon(joint.length_mm, joint.tenon_diameter_mm, chamfer, _grooves(joint, joint.length_mm - chamfer))


def socket_of(joint: JointRecord, bore: Outline, least_mm: float) -> Socket:
    """The socket that a joint's tenon goes into; parameters as of `tenon_of`."""
    chamfer = _chamfer_mm(joint.tenon_diameter_mm, joint, bore, least_mm)
    return Socket("tenon", joint.length_mm, joint.socket_diameter_mm, joint.socket_outer_diameter_mm, chamfer)


def _chamfer_mm(diameter_mm: float, joint: JointRecord, bore: Outline, least_mm: float) -> float:
    wall = 0.5 * diameter_mm - radius_at(bore, joint.at_mm + 0.5 * joint.length_mm, before=True)
    return round(min(max(wall - least_mm, 0.0), 0.25 * joint.length_mm), 3)


def _grooves(joint: JointRecord, cylinder_mm: float) -> tuple[Groove, ...]:
    """Grooves from the tenon's shoulder on."""
    width, floor = joint.groove_width_mm, joint.groove_diameter_mm
    if width is None or floor is None:
        return ()
    middles = [cylinder_mm * (each + 1) / (joint.grooves + 1) for each in range(joint.grooves)]
    return tuple(Groove(middle - 0.5 * width, middle + 0.5 * width, floor) for middle in middles)


def receiver_of(
    bore: Outline, crook_end_mm: float, tube_wall_mm: float, least_mm: float, most_mm: float
) -> Socket | None:
    """The receiver for a crook's tube; none where there is no room for it.

    Parameters
    ----------
    bore : of the instrument, radii [mm]
    crook_end_mm : where the body begins [mm]
    tube_wall_mm : of the crook [mm]
    least_mm : thinnest wall [mm]
    most_mm : how deep it may be [mm]
    """
    low, high = RECEIVER_MM
    tube = 2.0 * (radius_at(bore, crook_end_mm) + tube_wall_mm)
    depth = round(min(max(RECEIVER_PER_DIAMETER * tube, low), high, most_mm), 1)
    if depth < RECEIVER_LEAST_MM:
        return None
    inner = radius_at(bore, crook_end_mm + depth, before=True)
    wide = round(2.0 * (inner + tube_wall_mm + RECEIVER_FREE_MM), 2)
    chamfer = round(max(0.0, tube_wall_mm - least_mm), 3)
    return Socket("crook", depth, wide, round(wide + 2.0 * RECEIVER_WALL_MM, 2), chamfer)


def ring(socket: Socket, length_mm: float) -> Outline:
    """The outside of a socket along a piece so long: its wall, then back at 45 degrees, then nothing."""
    radius, end = 0.5 * socket.outer_diameter_mm, socket.depth_mm
    back = min(radius, length_mm - end)
    return ((0.0, radius), (end, radius), (end + back, radius - back), (length_mm, radius - back))


def hollow(socket: Socket) -> Outline:
    """The inside of a socket, from its mouth to its floor's inner edge."""
    radius, end, cone = 0.5 * socket.diameter_mm, socket.depth_mm, socket.chamfer_mm
    return ((0.0, radius), (end - cone, radius), (end, radius - cone))


def plug(tenon: Tenon, length_mm: float) -> Outline:
    """The outside of a tenon at the end of a piece so long, from its shoulder to its tip."""
    radius, start = 0.5 * tenon.diameter_mm, length_mm - tenon.length_mm
    grooves = [
        point
        for each in tenon.grooves
        for low, high, floor in [(start + each.from_mm, start + each.to_mm, 0.5 * each.diameter_mm)]
        for point in ((low, radius), (low, floor), (high, floor), (high, radius))
    ]
    tip = ((length_mm - tenon.chamfer_mm, radius), (length_mm, radius - tenon.chamfer_mm))
    return ((start, radius), *grooves, *tip)
