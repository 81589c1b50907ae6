"""The table of panes: a row for each, with its place in the window at first.

Imported late: it brings all panes, and with them the engine.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, Literal, TypeVar

from PySide6.QtWidgets import QWidget

from viewer.shown.window.actions.table import Arrangement
from viewer.shown.window.along.along_pane import AlongPane
from viewer.shown.window.beside.beside_pane import BesidePane
from viewer.shown.window.findings.findings_pane import FindingsPane
from viewer.shown.window.ledger.ledger_pane import LedgerPane
from viewer.shown.window.lesson.lesson_pane import LessonPane
from viewer.shown.window.levers.levers_pane import LeversPane
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.overrun.overrun_pane import OverrunPane
from viewer.shown.window.part.part_pane import PartPane
from viewer.shown.window.plot.layer_plot import LayerPlot
from viewer.shown.window.printers.printers_pane import PrintersPane
from viewer.shown.window.stats.stats_pane import StatsPane
from viewer.shown.window.strip.layer_strip import LayerStrip
from viewer.shown.window.strip.moment_slider import MomentSlider
from viewer.shown.window.text.text_pane import ProgramText
from viewer.shown.window.verdict.verdict_pane import VerdictPane

Area = Literal["top", "left", "right", "bottom"]
_Pane = TypeVar("_Pane", bound=QWidget)


@dataclass(frozen=True, slots=True)
class DockPlace:
    """Where a dock stands in an arrangement; docks of one area stand one below the other, in the table's order.

    Shares are of the window's width or height; 0 leaves the size to the docks beside it.
    """

    area: Area
    width: float = 0.0
    height: float = 0.0
    height_in_high: float = 0.0
    """In a high window; 0: the same as in others."""
    height_in_low: float = 0.0
    """In a low window, where docks of one area stand behind one another."""


@dataclass(frozen=True, slots=True)
class PaneRow:
    """One pane of the window. What stands in a dock has its title and its key in `actions.table.DOCKS`."""

    name: str
    make: Callable[[ViewState, QWidget], QWidget]
    home: Area | None = None
    """The area in which its dock comes where the arrangement has no place for it; None: it has no dock, but stands in
    the middle, or in another pane."""


PANES: Final = (
    PaneRow("plot", LayerPlot),
    PaneRow("verdict", VerdictPane, "top"),
    PaneRow("findings", FindingsPane, "left"),
    PaneRow("stats", StatsPane, "right"),
    PaneRow("ledger", LedgerPane, "right"),
    PaneRow("overrun", OverrunPane, "left"),
    PaneRow("levers", LeversPane, "right"),
    PaneRow("beside", BesidePane, "right"),
    PaneRow("along", AlongPane, "bottom"),
    PaneRow("strip", LayerStrip, "bottom"),
    PaneRow("slider", MomentSlider),
    PaneRow("program", ProgramText, "bottom"),
    PaneRow("part", PartPane, "left"),
    PaneRow("printers", PrintersPane, "right"),
    PaneRow("lesson", LessonPane, "bottom"),
)
"""In the order in which the focus goes round."""
HOMES: Final[dict[str, Area]] = {row.name: row.home for row in PANES if row.home is not None}
BEHIND: Final = {"beside": "levers"}
"""Docks that come to the front of another one where that is on show, and do not take room from it."""
DOCK_PLACES: Final[dict[Arrangement, dict[str, DockPlace]]] = {
    "check": {
        "verdict": DockPlace("top"),
        "findings": DockPlace("left", width=0.23, height_in_low=0.5),
        "strip": DockPlace("bottom", height=0.15, height_in_high=0.14, height_in_low=0.2),
    },
    "why": {
        "overrun": DockPlace("left", width=0.26, height=0.58, height_in_low=0.6),
        "ledger": DockPlace("left", width=0.26, height_in_low=0.5),
        "levers": DockPlace("right", width=0.26, height_in_low=0.5),
        "along": DockPlace("bottom", height=0.155, height_in_low=0.26),
        "strip": DockPlace("bottom", height=0.175, height_in_low=0.26),
    },
    "teach": {
        "part": DockPlace("right", width=0.165, height=0.3),
        "program": DockPlace("right", width=0.165),
        "lesson": DockPlace("bottom", height=0.155, height_in_high=0.17, height_in_low=0.24),
    },
}
"""The docks of each arrangement; the others are hidden until somebody asks for them."""


class Panes:
    """All panes of the window, by their names in `PANES`."""

    def __init__(self, made: Mapping[str, QWidget]) -> None:
        self._made = dict(made)

    @property
    def in_order(self) -> tuple[QWidget, ...]:
        """The panes in the order in which the focus goes round."""
        return tuple(self._made[row.name] for row in PANES)

    @property
    def busy(self) -> bool:
        """Whether a pane draws, searches, plays or has an update that is delayed; one that cannot has no `busy`."""
        return any(getattr(pane, "busy", False) for pane in self.in_order)

    def named(self, name: str) -> QWidget:
        """Return a pane by its name."""
        return self._made[name]

    @property
    def plot(self) -> LayerPlot:
        """The layer on show."""
        return self._a(LayerPlot, "plot")

    @property
    def verdict(self) -> VerdictPane:
        """The seven answers."""
        return self._a(VerdictPane, "verdict")

    @property
    def findings(self) -> FindingsPane:
        """What the checks found."""
        return self._a(FindingsPane, "findings")

    @property
    def printers(self) -> PrintersPane:
        """Which of the printers takes the program."""
        return self._a(PrintersPane, "printers")

    @property
    def stats(self) -> StatsPane:
        """The figures."""
        return self._a(StatsPane, "stats")

    @property
    def ledger(self) -> LedgerPane:
        """The time ledger."""
        return self._a(LedgerPane, "ledger")

    @property
    def overrun(self) -> OverrunPane:
        """From the expected to the actual time, and the dearest places."""
        return self._a(OverrunPane, "overrun")

    @property
    def levers(self) -> LeversPane:
        """What would help, and the trial."""
        return self._a(LeversPane, "levers")

    @property
    def beside(self) -> BesidePane:
        """The program on show beside another one."""
        return self._a(BesidePane, "beside")

    @property
    def strip(self) -> LayerStrip:
        """The layer strip."""
        return self._a(LayerStrip, "strip")

    @property
    def slider(self) -> MomentSlider:
        """The slider of moments, in the head of the layer strip."""
        return self._a(MomentSlider, "slider")

    @property
    def program(self) -> ProgramText:
        """The program's text."""
        return self._a(ProgramText, "program")

    @property
    def part(self) -> PartPane:
        """The whole part."""
        return self._a(PartPane, "part")

    @property
    def lesson(self) -> LessonPane:
        """The lesson."""
        return self._a(LessonPane, "lesson")

    def _a(self, kind: type[_Pane], name: str) -> _Pane:
        pane = self._made[name]
        assert isinstance(pane, kind)
        return pane
