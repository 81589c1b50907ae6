"""Makes the panes and arranges them: the plot in the middle, the others in docks about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDockWidget, QMainWindow, QTabBar, QWidget

from viewer.shown.window.actions.table import DOCKS, Arrangement
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.threads.imports import import_in_slices

if TYPE_CHECKING:  # the window is on screen before the panes are imported, and the engine with them
    from viewer.shown.window.shell.panes import Area, DockPlace, Panes

_AREAS: Final[dict[Area, Qt.DockWidgetArea]] = {
    "top": Qt.DockWidgetArea.TopDockWidgetArea,
    "left": Qt.DockWidgetArea.LeftDockWidgetArea,
    "right": Qt.DockWidgetArea.RightDockWidgetArea,
    "bottom": Qt.DockWidgetArea.BottomDockWidgetArea,
}
HIGH: Final = 950
"""From this height on, in pixels, a dock has its share for high windows."""
LOW: Final = 44
"""Lines of text: in a window lower than that panes stand behind one another, or the picture has no room."""
TINY: Final = 22
"""Lines of text: in a window lower than that nothing stands below the picture where it can stand behind others."""
NARROW: Final = 120
"""Letters: in a narrower window what stands on the left stands behind what stands on the right."""
LEAST_SIZE: Final = (640, 480)
"""Shares are taken of at least this width and height."""


_ROOMS: Final = (
    "plot.layer_plot", "verdict.verdict_pane", "findings.findings_pane", "stats.stats_pane", "ledger.ledger_pane",
    "overrun.overrun_pane", "levers.levers_pane", "beside.beside_pane", "along.along_pane", "strip.layer_strip",
    "strip.moment_slider", "text.text_pane", "part.part_pane", "printers.printers_pane", "lesson.lesson_pane",
)  # fmt: skip
"""Modules that the table of panes imports."""


def make_panes(state: ViewState, window: QMainWindow) -> Iterator[Panes | None]:
    """Import and make the panes in steps, so that the window can breathe between them; the last item has them all."""
    for _ in import_in_slices(f"viewer.shown.window.{room}" for room in _ROOMS):
        yield None
    from viewer.shown.window.shell.panes import PANES, Panes

    made: dict[str, QWidget] = {}
    for row in PANES:
        made[row.name] = pane = row.make(state, window)
        pane.hide()  # until it stands in its place
        yield None
    yield Panes(made)


def make_docks(window: QMainWindow, panes: Panes) -> dict[str, QDockWidget]:
    """Put the panes about the plot into docks, hidden as yet."""
    from viewer.shown.window.shell.panes import HOMES

    panes.strip.head.addWidget(panes.slider, 5)
    for pane in panes.in_order[1:]:
        pane.show()
    docks: dict[str, QDockWidget] = {}
    for name, title in DOCKS.items():
        docks[name] = dock = QDockWidget(title, window)
        dock.setObjectName(f"dock-{name}")
        dock.setWidget(panes.named(name))
        if HOMES[name] == "top" or name == "lesson":  # a title would stand above what is read first
            dock.setTitleBarWidget(QWidget(dock))
        window.addDockWidget(_AREAS[HOMES[name]], dock)
        dock.hide()
    return docks


def arrange_docks(window: QMainWindow, docks: Mapping[str, QDockWidget], arrangement: Arrangement) -> None:
    """Put every dock of an arrangement where it was at first, and show it; hide the others at their homes."""
    from viewer.shown.window.shell.panes import DOCK_PLACES, HOMES

    places = DOCK_PLACES[arrangement]
    right: Area = "bottom" if arrangement == "teach" else "right"  # sentences need width; figures need height
    window.setCorner(Qt.Corner.BottomRightCorner, _AREAS[right])
    left: Area = "left" if arrangement == "why" else "bottom"  # a picture, a list and a table stand there
    window.setCorner(Qt.Corner.BottomLeftCorner, _AREAS[left])
    in_turn = (*places, *(name for name in docks if name not in places))
    _take_out(window, docks)
    for name in in_turn:
        dock = docks[name]
        window.addDockWidget(_AREAS[places[name].area if name in places else HOMES[name]], dock)
        dock.setVisible(name in places)
    low, narrow = is_low(window), is_narrow(window)
    in_area = {area: [n for n, place in places.items() if place.area == area] for area in _AREAS}
    for names in in_area.values():
        _stack(window, [docks[name] for name in names], behind=low)
    if narrow and in_area["right"]:
        for name in in_area["left"]:
            _put_behind(window, docks[in_area["right"][0]], docks[name])
    beside = [*in_area["left"], *in_area["right"]]
    if is_tiny(window) and beside:
        for name in in_area["bottom"]:
            _put_behind(window, docks[beside[0]], docks[name])
    give_shares(window, docks, arrangement)
    hide_empty_bars(window)


def _take_out(window: QMainWindow, docks: Mapping[str, QDockWidget]) -> None:
    """Take all docks out of the window, and hide the tab bars they stood behind.

    Taken out one by one between additions, docks leave groups of tabs whose bars stay on screen.
    """
    for dock in docks.values():
        dock.setFloating(False)
        window.removeDockWidget(dock)
    for bar in dock_tab_bars(window):
        bar.hide()  # the layout shows a bar again when it gives it to a group
    _lay_out(window)


def _lay_out(window: QMainWindow) -> None:
    """Let the window's layout do now what it has put off."""
    layout = window.layout()
    if layout is not None:
        layout.activate()


def hide_empty_bars(window: QMainWindow) -> None:
    """Hide the tab bars that belong to no group of docks: the layout keeps them, and may leave them on screen."""
    _lay_out(window)
    for bar in dock_tab_bars(window):
        if not bar.count():
            bar.hide()


def dock_tab_bars(window: QMainWindow) -> list[QTabBar]:
    """Return the tab bars that the window's layout has made for docks."""
    return window.findChildren(QTabBar, options=Qt.FindChildOption.FindDirectChildrenOnly)


def room_class(window: QMainWindow) -> tuple[bool, bool, bool]:
    """Return what decides which panes stand behind others; it changes with the window and with the size of text."""
    return is_low(window), is_narrow(window), is_tiny(window)


def is_low(window: QMainWindow) -> bool:
    """Whether panes of one area have to stand behind one another, or the picture has no room."""
    return max(window.height(), LEAST_SIZE[1]) < LOW * window.fontMetrics().height()


def is_tiny(window: QMainWindow) -> bool:
    """Whether what stands below has to stand behind what stands beside, too."""
    return max(window.height(), LEAST_SIZE[1]) < TINY * window.fontMetrics().height()


def is_narrow(window: QMainWindow) -> bool:
    """Whether what stands on the left has to stand behind what stands on the right."""
    return max(window.width(), LEAST_SIZE[0]) < NARROW * window.fontMetrics().averageCharWidth()


def give_shares(window: QMainWindow, docks: Mapping[str, QDockWidget], arrangement: Arrangement) -> None:
    """Give the docks of an arrangement their shares of the window as it is now."""
    from viewer.shown.window.shell.panes import DOCK_PLACES

    places = DOCK_PLACES[arrangement]
    wide, high = (max(size, least) for size, least in zip(window.size().toTuple(), LEAST_SIZE, strict=True))
    low, narrow = is_low(window), is_narrow(window)
    right = any(place.area == "right" for place in places.values())
    widths = {
        name: place.width * wide
        for name, place in places.items()
        if place.width and not (narrow and right and place.area == "left")
    }
    tiny = is_tiny(window) and any(place.area in ("left", "right") for place in places.values())
    heights = {
        name: _height_share(place, high, low) * high
        for name, place in places.items()
        if not (tiny and place.area == "bottom")
    }
    for sizes, side in ((widths, Qt.Orientation.Horizontal), (heights, Qt.Orientation.Vertical)):
        known = [name for name, size in sizes.items() if size]
        window.resizeDocks([docks[name] for name in known], [int(sizes[name]) for name in known], side)


def _height_share(place: DockPlace, high: int, low: bool) -> float:
    """Return the share of the window's height that a dock has; 0: what the others leave."""
    if low:
        return place.height_in_low
    return place.height_in_high if place.height_in_high and high >= HIGH else place.height


def _stack(window: QMainWindow, docks: list[QDockWidget], behind: bool) -> None:
    """Put the docks of one area one below the other, or one behind the other."""
    for upper, lower in pairwise(docks):
        if behind:
            _put_behind(window, docks[0], lower)
        else:
            window.splitDockWidget(upper, lower, Qt.Orientation.Vertical)


def _put_behind(window: QMainWindow, front: QDockWidget, behind: QDockWidget) -> None:
    """Put a dock at the place of another, behind it."""
    window.tabifyDockWidget(front, behind)
    front.raise_()


def focus_next(panes: Panes, step: int) -> QWidget | None:
    """Move the focus to the next visible pane (or with -1 to the one before); return that pane."""
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
    """Move the focus to a pane, or to the first thing in it that takes one."""
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
