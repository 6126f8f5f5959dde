"""Where water runs along the bore, and holes that lie there.

Breath condenses, and the water runs along the lowest line of the bore. An instrument held down in front leans forward,
so that its back, at azimuth 180, is its underside; a line of 40 degrees is wide enough for a trickle (common practice,
no source; `bore.water_line_deg`, `bore.water_line_width_deg`). A hole there fills with water and gurgles. Makers turn
it aside, or let its tube stand proud of the bore's wall; a thumb wipes its own hole (common practice, no source).
"""

from optimizer.project.model import Hole, Project


def off_line_deg(hole: Hole, project: Project) -> float:
    """How far round the middle of a hole lies from the line where water runs [degrees], 0 to 180."""
    return abs((hole.azimuth_deg - project.bore.water_line_deg + 180.0) % 360.0 - 180.0)


def wet_holes(project: Project) -> list[str]:
    """A sentence for each hole that lies where water runs, unless the project says that it may."""
    bore, half = project.bore, 0.5 * project.bore.water_line_width_deg
    return [
        f"water runs into {hole.id}: it lies at {hole.azimuth_deg:g} degrees, {off_line_deg(hole, project):g} from the "
        f"bore's lowest line at {bore.water_line_deg:g}; turn it {half:g} degrees or more aside (azimuth_deg), or "
        "write on_water_line = true, as for a thumb's hole or a tube that stands proud of the bore"
        for hole in project.holes
        if off_line_deg(hole, project) < half and not hole.on_water_line
    ]
