"""`Measuring`: two ends of a distance, set by clicks or by arrows and Enter."""

from __future__ import annotations

from collections.abc import Callable

from viewer.shown.pictures.scene import Point
from viewer.shown.window.plot.marks_item import MarksItem


class Measuring:
    """Holds the two ends and shows them among the marks.

    Parameters
    ----------
    marks
        Draws the measured distance.
    middle
        Returns the middle of what is seen: where measuring by keys begins.
    """

    def __init__(self, marks: MarksItem, middle: Callable[[], Point]) -> None:
        self._marks, self._middle = marks, middle
        self._ends: list[Point] | None = None
        """The ends set so far, and the loose one last; None: nothing is measured."""
        self._loose = False

    @property
    def on(self) -> bool:
        """Whether two points are being chosen or shown."""
        return self._ends is not None

    def start(self, on: bool) -> None:
        """Start measuring, or end it."""
        self._ends = [] if on else None
        self._loose = False
        self._show()

    def set_end(self, point: Point) -> None:
        """Set the first end, or the second; a third one begins again."""
        ends = self._ends
        if ends is not None and self._loose and ends:
            self._ends, self._loose = [ends[0], point], False
        else:
            self._ends, self._loose = [point, point], True
        self._show()

    def follow(self, point: Point) -> None:
        """Let the loose end follow the pointer."""
        if self._loose and self._ends:
            self._ends[-1] = point
            self._show()

    def set_end_by_key(self) -> None:
        """Set an end where the keys have brought it."""
        self.set_end(self._at())

    def move_by_key(self, right_mm: float, back_mm: float) -> None:
        """Move the loose end, or the first where none is set."""
        x, y = self._at()
        point = (x + right_mm, y + back_mm)
        if self._ends and self._loose:
            self._ends[-1] = point
        else:
            self._ends, self._loose = [point, point], False
        self._show()

    def _at(self) -> Point:
        """Return the end set last, or the middle of what is seen where there is none yet."""
        return self._ends[-1] if self._ends else self._middle()

    def _show(self) -> None:
        ends = self._ends
        self._marks.measured = (ends[0], ends[1]) if ends is not None and len(ends) == 2 else None
        self._marks.update()
