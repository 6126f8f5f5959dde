"""The `[keywork]` table: what pads, touches, axles and posts are made of and how much room they need."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from optimizer.project.mechanics import Arm, Stock, span_of_sag_mm
from optimizer.project.numbers import NotNegative, Number, Positive, Section

TUBE_INNER_MM = 3.0


class Keywork(Section):
    """Pads, cups, touches, axles, posts and walls. Defaults: common practice, no source, where nothing else is said."""

    web_min_mm: NotNegative = 3.0
    end_margin_per_diameter: NotNegative = 0.75
    seat_rim_mm: Positive = 1.2
    seat_rim_per_diameter: NotNegative = 0.02
    pad_overlap_mm: NotNegative = 2.5
    cup_wall_mm: NotNegative = 0.9
    cup_clearance_mm: NotNegative = 1.0
    cup_height_mm: Annotated[NotNegative, Field(description="pad and cup over the pad's face: 4 to 7")] = 6.0
    lift_per_diameter: Positive = 0.34
    lift_min_mm: Positive = 2.5
    pad_recess_mm: Annotated[
        Number, Field(ge=-2.0, le=3.0, description="closed pad's face above the rim of its hole; below 0 it bulges in")
    ] = 0.2
    pad_absorption: Annotated[
        NotNegative, Field(lt=0.5, description="share of the sound striking a closed pad that it absorbs")
    ] = 0.02
    plate_offset_max_mm: NotNegative = 15.0
    lever_max_mm: Positive = 300.0
    touch_spacing_mm: Annotated[Positive, Field(description="between touches side by side under one finger")] = 14.0
    touch_spacing_min_mm: Annotated[NotNegative, Field(description="least, in a straight line between centres")] = 11.0
    touch_breadth_mm: Annotated[
        Positive | None,
        Field(
            description="of touches, which then lie beside the cups of other keys; default: told where one is on a cup"
        ),
    ] = None
    touch_reach_mm: Annotated[
        Positive, Field(description="from where a finger rests to a key's touch; little fingers: by the hand's pairs")
    ] = 35.0
    stock: Annotated[Literal["rod", "tube"], Field(description="what keys turn on: a rod, or a hinge tube")] = "tube"
    stock_outer_mm: Annotated[Positive, Field(description="tubes of 4 to 5, rods of 2 to 3 are usual")] = 5.0
    stock_inner_mm: Annotated[NotNegative | None, Field(description="of a tube, 3 by default; a rod has none")] = None
    stock_modulus_gpa: Annotated[
        Positive,
        Field(description="Young's modulus: brass 100, steel 200, PETG 2 (handbooks, from memory)"),
    ] = 100.0
    stock_poisson: Annotated[
        float, Field(strict=True, ge=0.0, lt=0.5, description="metals about 0.3 (handbook value, from memory)")
    ] = 0.3
    stock_density_g_per_cm3: Annotated[
        Positive, Field(description="brass 8.5, steel 7.85 (handbooks, from memory)")
    ] = 8.5
    arm_width_mm: Positive = 5.0
    arm_height_mm: Annotated[Positive, Field(description="along the finger's force")] = 4.0
    arm_modulus_gpa: Annotated[Positive, Field(description="of the arms, brass by default")] = 100.0
    touch_arm_min_mm: Annotated[Positive, Field(description="least lever arm from rod to touch")] = 15.0
    finger_force_n: Annotated[Positive, Field(description="fingers press keys with 0.5 to 1.5")] = 1.0
    pivot_play_mm: Annotated[NotNegative, Field(description="play at the pad for each of a rod's two pivots")] = 0.05
    link_play_mm: Annotated[NotNegative, Field(description="more for a link: each adds 0.1 to 0.3")] = 0.2
    lost_motion_max_share: Annotated[
        Positive, Field(le=1.0, description="of a pad's opening that twist, bending and play may take")
    ] = 0.15
    axle_height_mm: Annotated[NotNegative, Field(description="rod above the body: 6 to 10")] = 8.0
    axle_length_min_mm: Annotated[Positive, Field(description="between posts, so that keys do not rock")] = 20.0
    post_diameter_mm: Annotated[Positive, Field(description="posts of about 4 in metal, 8 printed")] = 5.0
    post_overhang_mm: Annotated[NotNegative, Field(description="from the last arm to the middle of the post")] = 6.0
    post_shift_max_mm: Annotated[NotNegative, Field(description="how much further out it may stand for room")] = 24.0
    post_clearance_mm: Annotated[NotNegative, Field(description="of a post to cup, bare finger and joint")] = 1.0
    post_pitch_max_mm: Annotated[
        Positive | None, Field(description="longest stretch of a rod between posts; default: by axle_sag_max_mm")
    ] = None
    axle_sag_max_mm: Annotated[
        Positive, Field(description="of a rod between two posts under one finger's force: 105 mm of a 3 mm steel rod")
    ] = 0.03

    key_mass_g: Annotated[
        NotNegative, Field(description="a key's arms, cup, posts and 100 mm of rod for each pad; plates too: 5 to 15")
    ] = 10.0

    @model_validator(mode="after")
    def _stock_makes_sense(self) -> "Keywork":
        inner = self.stock_inner_mm
        if self.stock == "rod" and inner:
            raise ValueError(
                f'stock_inner_mm: a rod has no bore, but got {inner:g}; take it out, or write stock = "tube"'
            )
        if self.axle_stock.inner_mm >= self.stock_outer_mm:
            raise ValueError(
                f"stock_inner_mm < stock_outer_mm must hold, but got {self.axle_stock.inner_mm:g} and "
                f"{self.stock_outer_mm:g}"
            )
        if self.touch_spacing_mm < self.touch_spacing_min_mm:
            raise ValueError(
                f"touch_spacing_mm: must be at least touch_spacing_min_mm ({self.touch_spacing_min_mm:g}), but got "
                f"{self.touch_spacing_mm:g}"
            )
        return self

    @property
    def axle_stock(self) -> Stock:
        """What axles are made of."""
        inner = 0.0 if self.stock == "rod" else TUBE_INNER_MM if self.stock_inner_mm is None else self.stock_inner_mm
        return Stock(self.stock_outer_mm, inner, 1e3 * self.stock_modulus_gpa, self.stock_poisson)

    @property
    def post_pitch_mm(self) -> float:
        """Longest stretch of a rod between posts [mm]."""
        if self.post_pitch_max_mm is not None:
            return self.post_pitch_max_mm
        return span_of_sag_mm(self.finger_force_n, self.axle_sag_max_mm, self.axle_stock)

    @property
    def arm(self) -> Arm:
        """Cross-section of the arms."""
        return Arm(self.arm_width_mm, self.arm_height_mm, 1e3 * self.arm_modulus_gpa)
