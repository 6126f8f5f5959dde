"""A hand, and layouts whose holes lie where a test wants them."""

from optimizer.project.hand import Hand

SVG = "{http://www.w3.org/2000/svg}"
GAUGED = 'gauged_on = "2026-11-02"\n'
HAND = Hand.model_validate(
    {"gauged_on": "2026-11-02", "seal_diameter_max_mm": 9, "left": {
        "index_middle_mm": [24, 30], "middle_ring_mm": [23, 28, 36], "index_ring_mm": [45, 55]}}
)  # fmt: skip


def placed(record, positions, **changes):
    """The record with its fingers R1, L3, L2, L1 at the positions, in line on a body 30 mm thick, holes 6 mm wide."""
    holes = [
        hole.model_copy(
            update={"position_mm": s, "touch_position_mm": s, "body_diameter_mm": 30.0, "azimuth_deg": 0.0,
                    "diameter_mm": 6.0, "top_diameter_mm": 6.0, **changes.get(hole.by, {})}
        )
        for hole, s in zip(record.holes, positions, strict=True)
    ]  # fmt: skip
    return record.model_copy(update={"holes": holes})


COMFORTABLE = (280.0, 212.0, 190.0, 168.0)
