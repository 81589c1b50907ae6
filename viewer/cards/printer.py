"""The printer card: what the keeper knows of one machine."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

Positive = Annotated[float, Meta(gt=0)]
NotNegative = Annotated[float, Meta(ge=0)]


class Plate(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The build platform: where beads may lie, mm."""

    shape: Literal["rectangle", "circle"] = "rectangle"
    width_mm: Positive | None = None
    """Along X (rectangle)."""
    depth_mm: Positive | None = None
    """Along Y (rectangle)."""
    diameter_mm: Positive | None = None
    """Of a circle."""
    left_mm: float = 0.0
    """X of the left edge (rectangle) or of the centre (circle)."""
    front_mm: float = 0.0
    """Y of the front edge (rectangle) or of the centre (circle)."""


class Axes(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One value an axis; E is the filament drive."""

    x: Positive
    y: Positive
    z: Positive
    e: Positive


class Corner(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How fast the machine goes round a corner: one of three rules and its value."""

    rule: Literal["jump", "deviation", "right-angle"] = "jump"
    """jump: each axis may change speed at once by `jump_mm_s`; deviation: centripetal limit of a rounding of
    `deviation_mm`; right-angle: the speed at a 90 degree corner, `right_angle_mm_s` (delta = v^2 (sqrt 2 - 1)/a)."""
    jump_mm_s: Axes | None = None
    deviation_mm: Positive | None = None
    right_angle_mm_s: Positive | None = None


class Homing(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Where homing leaves the axes, mm, and how long it takes."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    z_mm: float = 0.0
    seconds: NotNegative = 20.0
    """For all three axes; a third for each one homed alone."""


class Heat(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Hottest targets and the rates of the heat clock, degC and degC/s."""

    nozzle_top_c: Positive | None = None
    plate_top_c: Positive | None = None
    nozzle_warming_c_s: Positive = 2.0
    nozzle_cooling_c_s: Positive = 1.0
    plate_warming_c_s: Positive = 0.3
    plate_cooling_c_s: Positive = 0.05
    room_c: float = 21.0


class PrinterCard(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the keeper knows of one printer; `None` means not known, and what needs it is not checked."""

    name: str
    plate: Plate = Plate()
    height_mm: Positive | None = None
    nozzle_mm: Positive = 0.4
    nozzle_hardened: bool = False
    filament_mm: Positive = 1.75
    tools: Annotated[int, Meta(ge=1, le=64)] = 1
    top_speed_mm_s: Axes
    top_acceleration_mm_s2: Axes
    print_acceleration_mm_s2: Positive
    travel_acceleration_mm_s2: Positive
    retract_acceleration_mm_s2: Positive
    corner: Corner
    look_ahead_moves: Annotated[int, Meta(ge=0)] = 0
    """How many moves the controller sees ahead; 0: all of them."""
    least_segment_s: NotNegative = 0.0
    """Shortest time for which the controller plans a move; 0: none."""
    obeys_program_limits: bool = True
    """Whether M201, M203, M204, M205 and their kin in the program change the limits."""
    retract_mm: NotNegative = 1.0
    """Length of a G10 where the program states none (M207)."""
    retract_mm_s: Positive = 35.0
    levelling_s: NotNegative = 60.0
    tool_change_s: NotNegative = 20.0
    pause_s: NotNegative = 300.0
    """How long somebody takes to answer a pause."""
    heat: Heat = Heat()
    melt_mm3_s: Positive | None = None
    """What the hot end melts, mm3/s."""
    power_w: NotNegative | None = None
    bare_axis_words: bool = False
    """Whether a line with axis words but no command repeats the last motion (RS-274 does; most machines do not)."""
    e_follows_g90: bool = False
    """Whether G90 and G91 also set how E is counted, replacing an earlier M82 or M83."""
