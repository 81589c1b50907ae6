"""The printer card: what the keeper knows of one machine.

A field's description is written once, here: it is the comment beside the key when a card is written.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from viewer.units import MAX_TOOLS

Positive = Annotated[float, Meta(gt=0)]
NotNegative = Annotated[float, Meta(ge=0)]


class Plate(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The build platform: where beads may lie, mm."""

    shape: Annotated[Literal["rectangle", "circle"], Meta(description="rectangle or circle")] = "rectangle"
    width_mm: Annotated[Positive | None, Meta(description="along X, of a rectangle, mm")] = None
    depth_mm: Annotated[Positive | None, Meta(description="along Y, of a rectangle, mm")] = None
    diameter_mm: Annotated[Positive | None, Meta(description="of a circle, mm")] = None
    left_mm: Annotated[
        float, Meta(description="X of the left edge (rectangle) or of the centre (circle), mm")
    ] = 0.0
    front_mm: Annotated[
        float, Meta(description="Y of the front edge (rectangle) or of the centre (circle), mm")
    ] = 0.0

    @property
    def box_mm(self) -> tuple[float, float, float, float] | None:
        """Left, front, right and back of the rectangle about the plate, mm; None where its size is not known."""
        if self.shape == "circle":
            if self.diameter_mm is None:
                return None
            r = 0.5 * self.diameter_mm
            return (self.left_mm - r, self.front_mm - r, self.left_mm + r, self.front_mm + r)
        if self.width_mm is None or self.depth_mm is None:
            return None
        return (self.left_mm, self.front_mm, self.left_mm + self.width_mm, self.front_mm + self.depth_mm)


class Axes(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One value an axis; E is the filament drive."""

    x: Positive
    y: Positive
    z: Positive
    e: Positive


class Corner(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How fast the machine goes round a corner: one of three rules and its value.

    jerk: each axis may change speed at once by `jerk_mm_s`; deviation: centripetal limit of a rounding of
    `junction_deviation_mm`; right-angle: the speed at a 90 degree corner, `right_angle_mm_s`
    (delta = v^2 (sqrt 2 - 1)/a).
    """

    rule: Annotated[
        Literal["jerk", "junction-deviation", "right-angle"],
        Meta(description="jerk, junction-deviation or right-angle"),
    ] = "jerk"
    jerk_mm_s: Annotated[
        Axes | None, Meta(description="speed each axis may change by at once, mm/s (rule jerk)")
    ] = None
    junction_deviation_mm: Annotated[
        Positive | None,
        Meta(description="how far a rounded corner leaves the path, mm (rule junction-deviation)"),
    ] = None
    right_angle_mm_s: Annotated[
        Positive | None, Meta(description="speed at a 90 degree corner, mm/s (rule right-angle)")
    ] = None


class Homing(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Where homing leaves the axes, mm, and how long it takes."""

    x_mm: float = 0.0
    y_mm: float = 0.0
    z_mm: float = 0.0
    seconds: Annotated[
        NotNegative, Meta(description="for all three axes, s; a third for each one homed alone")
    ] = 20.0


class Heat(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Hottest targets and the rates of the heat clock, degC and degC/s."""

    nozzle_max_c: Annotated[Positive | None, Meta(description="hottest target of the nozzle, degC")] = None
    plate_max_c: Annotated[Positive | None, Meta(description="hottest target of the plate, degC")] = None
    nozzle_warming_c_s: Positive = 2.0
    nozzle_cooling_c_s: Positive = 1.0
    plate_warming_c_s: Positive = 0.3
    plate_cooling_c_s: Positive = 0.05
    room_c: Annotated[float, Meta(description="temperature of the room, degC")] = 21.0


class Head(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The head about the nozzle, seen from above, mm: for prints in which it passes what stands higher than the nozzle.

    Measured at the machine; where the manual says otherwise, the manual has the last word.
    """

    left_mm: Annotated[
        NotNegative | None, Meta(description="how far the head reaches from the nozzle towards low X, mm")
    ] = None
    right_mm: Annotated[
        NotNegative | None, Meta(description="how far the head reaches from the nozzle towards high X, mm")
    ] = None
    front_mm: Annotated[
        NotNegative | None, Meta(description="how far the head reaches from the nozzle towards low Y, mm")
    ] = None
    back_mm: Annotated[
        NotNegative | None, Meta(description="how far the head reaches from the nozzle towards high Y, mm")
    ] = None
    underside_mm: Annotated[
        NotNegative,
        Meta(
            description="height of the head's underside above the nozzle's tip, mm; 0: it counts from the tip on"
        ),
    ] = 0.0
    gantry_mm: Annotated[
        Positive | None,
        Meta(
            description="height above the nozzle's tip of what spans the plate along X (carriage, bar, rods), mm"
        ),
    ] = None

    @property
    def has_outline(self) -> bool:
        """Whether it is known how far the head reaches to all four sides."""
        return None not in (self.left_mm, self.right_mm, self.front_mm, self.back_mm)


class Reach(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The furthest places that the nozzle reaches, mm; the plate may be smaller.

    The machine's manual has the last word.
    """

    left_mm: Annotated[float | None, Meta(description="lowest X that the nozzle reaches, mm")] = None
    right_mm: Annotated[float | None, Meta(description="highest X that the nozzle reaches, mm")] = None
    front_mm: Annotated[float | None, Meta(description="lowest Y that the nozzle reaches, mm")] = None
    back_mm: Annotated[float | None, Meta(description="highest Y that the nozzle reaches, mm")] = None
    top_mm: Annotated[
        Positive | None, Meta(description="highest Z that the nozzle reaches above the plate, mm")
    ] = None


class PrinterCard(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What the keeper knows of one printer; what is left out is not known, and not checked."""

    name: str
    plate: Plate = Plate()
    height_mm: Annotated[Positive | None, Meta(description="highest bead above the plate, mm")] = None
    nozzle_mm: Annotated[Positive, Meta(description="bore of the nozzle, mm")] = 0.4
    nozzle_hardened: Annotated[bool, Meta(description="whether it stands abrasive filament")] = False
    filament_diameter_mm: Annotated[Positive, Meta(description="diameter of the filament, mm")] = 1.75
    tools: Annotated[
        int, Meta(ge=1, le=MAX_TOOLS, description="how many nozzles or filaments it changes between")
    ] = 1
    max_speed_mm_s: Annotated[Axes, Meta(description="most each axis does, mm/s")]
    max_acceleration_mm_s2: Annotated[Axes, Meta(description="most each axis does, mm/s2")]
    print_acceleration_mm_s2: Annotated[Positive, Meta(description="of beads, mm/s2")]
    travel_acceleration_mm_s2: Annotated[Positive, Meta(description="of travel, mm/s2")]
    retract_acceleration_mm_s2: Annotated[Positive, Meta(description="of filament alone, mm/s2")]
    corner: Corner
    motion_measured: Annotated[
        str | None,
        Meta(
            description="when top speeds, accelerations and corner were measured at the machine, as 2026-03-02; "
            "estimates from the print log trust them more then"
        ),
    ] = None
    planner_buffer_moves: Annotated[
        int, Meta(ge=0, description="how many moves the controller sees ahead; 0: all of them")
    ] = 0
    min_segment_time_s: Annotated[
        NotNegative, Meta(description="shortest time for which the controller plans a move, s; 0: none")
    ] = 0.0
    obeys_program_limits: Annotated[
        bool,
        Meta(description="whether M201, M203, M204, M205 and their kin in the program change the limits"),
    ] = True
    retract_mm: Annotated[
        NotNegative, Meta(description="length of a G10 where the program states none (M207), mm")
    ] = 1.0
    retract_mm_s: Annotated[
        Positive, Meta(description="speed of a G10 where the program states none, mm/s")
    ] = 35.0
    homing: Homing = Homing()
    head: Head = Head()
    reach: Reach = Reach()
    levelling_s: Annotated[NotNegative, Meta(description="how long probing the plate takes (G29), s")] = 60.0
    tool_change_s: Annotated[NotNegative, Meta(description="how long a tool change takes, s")] = 20.0
    pause_s: Annotated[NotNegative, Meta(description="how long somebody takes to answer a pause, s")] = 300.0
    heat: Heat = Heat()
    melt_mm3_s: Annotated[Positive | None, Meta(description="most that the hot end melts, mm3/s")] = None
    power_w: Annotated[NotNegative | None, Meta(description="mean power drawn while printing, W")] = None
    bare_axis_words: Annotated[
        bool,
        Meta(
            description="whether a line with axis words but no command repeats the last move "
            "(RS-274 does; most machines do not)"
        ),
    ] = False
    e_follows_g90: Annotated[
        bool,
        Meta(description="whether G90 and G91 also set how E is counted, replacing an earlier M82 or M83"),
    ] = False

    def with_filament(self, diameter_mm: float | None) -> PrinterCard:
        """Return the card with filament of another diameter, mm; None: as it is."""
        return (
            self if diameter_mm is None else msgspec.structs.replace(self, filament_diameter_mm=diameter_mm)
        )
