"""Which pane stands where: the plot in the middle, the others in docks about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDockWidget, QMainWindow, QWidget

from viewer.shown.window.actions.table import DOCKS
from viewer.shown.window.model.view_state import ViewState

if TYPE_CHECKING:
    from viewer.shown.window.findings.findings_pane import FindingsPane
    from viewer.shown.window.ledger.ledger_pane import LedgerPane
    from viewer.shown.window.plot.layer_plot import LayerPlot
    from viewer.shown.window.stats.stats_pane import StatsPane
    from viewer.shown.window.strip.layer_strip import LayerStrip
    from viewer.shown.window.strip.moment_slider import MomentSlider
    from viewer.shown.window.text.text_pane import ProgramText

_Area = Qt.DockWidgetArea
_PLACES: Final = {
    "findings": _Area.LeftDockWidgetArea,
    "stats": _Area.RightDockWidgetArea,
    "ledger": _Area.RightDockWidgetArea,
    "strip": _Area.BottomDockWidgetArea,
    "program": _Area.BottomDockWidgetArea,
}
SIDE_SHARES: Final = (0.21, 0.25)
"""Of the window's width that Findings and Stats take at first."""
HEIGHT_SHARES: Final = {"stats": 0.52, "ledger": 0.36, "strip": 0.155, "program": 0.145}
"""Of its height; the plot has the rest."""
HIGH: Final = 950
"""From this height on the program's text gets a larger share."""
PROGRAM_SHARE: Final = 0.2
LOW: Final = 44
"""Lines of text: in a window lower than that panes stand behind one another, or the picture has no room."""
NARROW: Final = 120
"""Letters: in a narrower one Findings stand behind Stats."""
LOW_SHARES: Final = {"stats": 0.9, "strip": 0.26}


@dataclass(frozen=True, slots=True, eq=False)
class Panes:
    """All panes of the window."""

    plot: LayerPlot
    findings: FindingsPane
    stats: StatsPane
    ledger: LedgerPane
    strip: LayerStrip
    slider: MomentSlider
    program: ProgramText

    @property
    def in_order(self) -> tuple[QWidget, ...]:
        """The panes in the order in which the focus goes round."""
        return (self.plot, self.findings, self.stats, self.ledger, self.strip, self.slider, self.program)


def make_panes(state: ViewState, window: QMainWindow) -> Iterator[Panes | None]:
    """Make the panes one after another, so that the window can breathe between them; the last item has them all.

    The engine is imported here, unless the worker has done that before.
    """
    from viewer.shown.window.shell import panes as kinds

    made: dict[str, QWidget] = {}
    for name, kind in (
        ("plot", kinds.LayerPlot),
        ("findings", kinds.FindingsPane),
        ("stats", kinds.StatsPane),
        ("ledger", kinds.LedgerPane),
        ("strip", kinds.LayerStrip),
        ("slider", kinds.MomentSlider),
        ("program", kinds.ProgramText),
    ):
        made[name] = kind(state, window)
        made[name].hide()  # until it stands in its place
        yield None
    yield Panes(**made)  # type: ignore[arg-type]


def make_docks(window: QMainWindow, panes: Panes) -> dict[str, QDockWidget]:
    """Put the panes about the plot into docks, hidden as yet."""
    panes.strip.head.addWidget(panes.slider, 5)
    for pane in panes.in_order[1:]:
        pane.show()
    inside = {"findings": panes.findings, "stats": panes.stats, "ledger": panes.ledger, "strip": panes.strip,
              "program": panes.program}  # fmt: skip
    docks: dict[str, QDockWidget] = {}
    for name, title in DOCKS.items():
        docks[name] = dock = QDockWidget(title, window)
        dock.setObjectName(f"dock-{name}")
        dock.setWidget(inside[name])
        window.addDockWidget(_PLACES[name], dock)
        dock.hide()
    return docks


def arrange_docks(window: QMainWindow, docks: Mapping[str, QDockWidget]) -> None:
    """Put every dock where it was at first, and show it."""
    window.setCorner(
        Qt.Corner.BottomRightCorner, _Area.RightDockWidgetArea
    )  # figures need height, bars width
    for name, dock in docks.items():
        dock.setFloating(False)
        window.removeDockWidget(dock)
        window.addDockWidget(_PLACES[name], dock)
        dock.show()
    wide, high = max(window.width(), 640), max(window.height(), 480)
    metrics = window.fontMetrics()
    low, narrow = high < LOW * metrics.height(), wide < NARROW * metrics.averageCharWidth()
    if low:
        _put_behind(window, docks, "stats", "ledger")
        _put_behind(window, docks, "strip", "program")
    else:
        window.splitDockWidget(docks["stats"], docks["ledger"], Qt.Orientation.Vertical)
        window.splitDockWidget(docks["strip"], docks["program"], Qt.Orientation.Vertical)
    if narrow:
        _put_behind(window, docks, "stats", "findings")
    sides = ["stats"] if narrow else ["findings", "stats"]
    window.resizeDocks(
        [docks[name] for name in sides],
        [int(wide * share) for share in SIDE_SHARES[-len(sides) :]],
        Qt.Orientation.Horizontal,
    )
    shares = LOW_SHARES if low else {**HEIGHT_SHARES, **({"program": PROGRAM_SHARE} if high >= HIGH else {})}
    window.resizeDocks(
        [docks[name] for name in shares],
        [int(high * share) for share in shares.values()],
        Qt.Orientation.Vertical,
    )


def _put_behind(window: QMainWindow, docks: Mapping[str, QDockWidget], front: str, behind: str) -> None:
    """Put a dock at the place of another, behind it."""
    window.tabifyDockWidget(docks[front], docks[behind])
    docks[front].raise_()


def focus_next(panes: Panes, step: int) -> QWidget | None:
    """Move the focus to the next visible pane (or with -1 to the one before); gives that pane."""
    visible = [pane for pane in panes.in_order if pane.isVisible() and _focus_of(pane) is not None]
    if not visible:
        return None
    focus = visible[0].window().focusWidget()
    inside = None if focus is None else pane_of(panes, focus)
    now = visible.index(inside) if inside in visible else -1 if step > 0 else 0
    pane = visible[(now + step) % len(visible)]
    give_focus(pane)
    return pane


def give_focus(pane: QWidget) -> None:
    """Return the focus to a pane, or to the first thing in it that takes one."""
    taker = _focus_of(pane)
    if taker is not None:
        taker.setFocus(Qt.FocusReason.TabFocusReason)


def pane_of(panes: Panes, widget: QWidget) -> QWidget | None:
    """Return the pane that a widget belongs to; of the slider, which stands in the strip, the slider."""
    inside = [pane for pane in panes.in_order if widget is pane or pane.isAncestorOf(widget)]
    return inside[-1] if inside else None


def _focus_of(pane: QWidget) -> QWidget | None:
    if pane.focusPolicy() & Qt.FocusPolicy.TabFocus:
        return pane
    usual = pane.focusProxy()
    if usual is not None and usual.isVisibleTo(pane) and usual.isEnabled():
        return usual
    inside = [child for child in pane.findChildren(QWidget) if child.focusPolicy() & Qt.FocusPolicy.TabFocus]
    return next((child for child in inside if child.isVisibleTo(pane) and child.isEnabled()), None)
