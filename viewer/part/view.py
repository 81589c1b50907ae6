"""Where the whole part is looked at from: turn, tilt, zoom, and what is left out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Literal

from viewer.part.kernels.columns import Eye, Plane
from viewer.part.kernels.raster import STEPS

Side = Literal["corner", "front", "side", "top"]
SIDES: Final[dict[Side, tuple[float, float]]] = {
    "corner": (32.0, 32.0),
    "front": (0.0, 0.0),
    "side": (90.0, 0.0),
    "top": (0.0, 90.0),
}
"""Turn and tilt of the named views, degrees."""
Axis = Literal["x", "y", "eye"]
Point3 = tuple[float, float, float]
BESIDE: Final = 0.06
"""Room about the part, as a share of the picture."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A plane; everything before it is taken away.

    ``x``: all to the left of a place is kept; ``y``: all behind it; ``eye``: all that lies farther from the eye
    than the place, which is the middle of the part plus ``at_mm`` towards the eye.
    """

    axis: Axis
    at_mm: float


@dataclass(frozen=True, slots=True)
class PartView:
    """A parallel projection. With a turn of 0 the eye is in front; it goes round to the right with a growing turn."""

    turn_deg: float = SIDES["corner"][0]
    tilt_deg: float = SIDES["corner"][1]
    """0: from the side; 90: from above; -90: from below."""
    px_per_mm: float = 4.0
    middle: Point3 = (0.0, 0.0, 0.0)
    """What is in the middle of the picture, mm."""

    @property
    def right(self) -> Point3:
        """The direction to the right of the picture."""
        turn = math.radians(self.turn_deg)
        return math.cos(turn), math.sin(turn), 0.0

    @property
    def up(self) -> Point3:
        """The direction upwards in the picture."""
        turn, tilt = math.radians(self.turn_deg), math.radians(self.tilt_deg)
        return -math.sin(tilt) * math.sin(turn), math.sin(tilt) * math.cos(turn), math.cos(tilt)

    @property
    def toward(self) -> Point3:
        """The direction to the eye."""
        turn, tilt = math.radians(self.turn_deg), math.radians(self.tilt_deg)
        return math.cos(tilt) * math.sin(turn), -math.cos(tilt) * math.cos(turn), math.sin(tilt)

    def turned(self, turn_deg: float, tilt_deg: float) -> PartView:
        """Return the view from elsewhere; the tilt stays between straight below and straight above."""
        return replace(self, turn_deg=turn_deg % 360.0, tilt_deg=min(max(tilt_deg, -90.0), 90.0))

    def moved(self, right_mm: float, up_mm: float) -> PartView:
        """Return the view whose middle lies further to the right and up in the picture."""
        x, y, z = (
            m + right_mm * r + up_mm * u for m, r, u in zip(self.middle, self.right, self.up, strict=True)
        )
        return replace(self, middle=(x, y, z))

    def zoomed(self, factor: float, right_px: float = 0.0, up_px: float = 0.0) -> PartView:
        """Return a closer view; the place so many pixels from the picture's middle stays where it is."""
        scale = min(max(self.px_per_mm * factor, 0.05), 2000.0)
        gained = 1.0 / self.px_per_mm - 1.0 / scale
        return replace(self.moved(right_px * gained, up_px * gained), px_per_mm=scale)

    def place(self, point: Point3, size: tuple[int, int]) -> tuple[float, float, float]:
        """Return where a place lies in a picture of ``size`` (rows, columns): row, column, and mm towards the eye."""
        offset = [p - m for p, m in zip(point, self.middle, strict=True)]
        across, up, depth = (
            sum(a * b for a, b in zip(axis, offset, strict=True))
            for axis in (self.right, self.up, self.toward)
        )
        rows, columns = size
        return 0.5 * (rows - 1) - self.px_per_mm * up, 0.5 * (columns - 1) + self.px_per_mm * across, depth


def named_view(side: Side) -> PartView:
    """Return a named view at no particular zoom; see `fitted`."""
    return PartView(*SIDES[side])


def fitted(view: PartView, low: Point3, high: Point3, size: tuple[int, int]) -> PartView:
    """Return the view that shows a box (least and greatest corner, mm) as large as it fits in (rows, columns)."""
    middle = tuple(0.5 * (a + b) for a, b in zip(low, high, strict=True))
    half = [0.5 * (b - a) for a, b in zip(low, high, strict=True)]
    wide, tall = (
        2.0 * sum(abs(a) * h for a, h in zip(axis, half, strict=True)) for axis in (view.right, view.up)
    )
    rows, columns = size
    room = 1.0 - 2.0 * BESIDE
    scale = min(room * columns / max(wide, 1e-3), room * rows / max(tall, 1e-3))
    return replace(view, px_per_mm=scale, middle=(middle[0], middle[1], middle[2]))


def eye_of(view: PartView, low: Point3, high: Point3, size: tuple[int, int]) -> Eye:
    """Return the projection for the kernels; depths of all that lies in the box get their own steps."""
    turn, tilt = math.radians(view.turn_deg), math.radians(view.tilt_deg)
    down0, across0, _ = view.place((0.0, 0.0, 0.0), size)
    corners = [
        sum(a * b for a, b in zip(view.toward, (x, y, z), strict=True))
        for x in (low[0], high[0])
        for y in (low[1], high[1])
        for z in (low[2], high[2])
    ]
    least, most = min(corners) - 5.0, max(corners) + 5.0
    return Eye(
        math.cos(turn), math.sin(turn), math.sin(tilt), math.cos(tilt), view.px_per_mm, across0, down0,
        least, STEPS / (most - least),
    )  # fmt: skip


def plane_of(cut: Cut | None, view: PartView, low: Point3, high: Point3) -> Plane:
    """Return the plane of a cut for the kernels."""
    if cut is None:
        return Plane(0.0, 0.0, 0.0, 1.0)
    if cut.axis == "x":
        return Plane(1.0, 0.0, 0.0, cut.at_mm)
    if cut.axis == "y":
        return Plane(0.0, -1.0, 0.0, -cut.at_mm)
    middle = sum(0.5 * (a + b) * t for a, b, t in zip(low, high, view.toward, strict=True))
    return Plane(*view.toward, middle + cut.at_mm)
