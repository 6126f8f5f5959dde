"""Keys in a layout file: touch, levers, axle and posts. Files before 1.2 lack all but what keys do and the touch's
position along the body."""

from typing import Literal

from pydantic import Field

from optimizer.project.model import Finger
from optimizer.records.files import Record


class LeverRecord(Record):
    """A lever from a key's touch to one of its pads.

    length_mm : along and round the body; twisted_mm : stretch of axle between its arms
    stiffness_n_per_mm : of the touch, the pad held still; lost_motion_mm : at the pad, play included
    """

    hole: str
    length_mm: float
    touch_arm_mm: float
    pad_arm_mm: float
    twisted_mm: float
    stiffness_n_per_mm: float
    lost_motion_mm: float
    lost_motion_max_mm: float


class PostRecord(Record):
    """A post. room_mm: to what stands nearest, its cup, finger or joint; null for posts between the ends, which the
    maker shifts to where there is room. piece: the one it stands on, from the reed; 0 is the crook."""

    position_mm: float
    room_mm: float | None
    nearest: str | None
    piece: int | None = None


class AxleRecord(Record):
    """The axle of a key, parallel to the body, from the middle of one end post to that of the other.

    height_mm : of its middle above the body, raised over the cups of passes_over
    passes_fingers : holes whose finger lies where it runs, and fingers in rows
    crosses_joints : joints it runs across, from the reed, 0 the crook's end
    """

    azimuth_deg: float
    height_mm: float
    length_mm: float
    stock: Literal["rod", "tube"]
    outer_diameter_mm: float
    inner_diameter_mm: float
    modulus_gpa: float
    post_diameter_mm: float
    posts: list[PostRecord]
    passes_over: list[str] = Field(default_factory=list)
    passes_fingers: list[str] = Field(default_factory=list)
    crosses_joints: list[int] = Field(default_factory=list)


class TouchReachRecord(Record):
    """How far a finger reaches for a key's touch: from where it rests itself, or for a little finger from another
    finger, less what it lands toward the palm by itself, and the most it may be."""

    origin: Finger
    distance_mm: float
    limit_mm: float


class KeyRecord(Record):
    """A key or link: what moves it, what it does, where its touch lies, its levers and its axle; a link has no axle of
    its own, it rides on that of what moves it. A finger without a place gives its keys none. reach: what holds its
    touch within reach; none of a touch that its finger rests on, and none in files before 2.2. turns_at_deg: azimuth of
    the line that a link turns about; files before 2.2 lack it."""

    id: str
    touch: Finger
    moved_by: list[str]
    opens: list[str]
    closes: list[str]
    touch_position_mm: float | None
    touch_azimuth_deg: float | None = None
    reach: list[TouchReachRecord] = Field(default_factory=list)
    levers: list[LeverRecord] = Field(default_factory=list)
    axle: AxleRecord | None = None
    turns_at_deg: float | None = None


class HoleCover(Record):
    """What covers a hole."""

    cover: str
