"""`PartPane`: the whole part beside the layer picture; drawn in the background, the newest wins.

::

    program --> NewestTask prepare --> Prepared --> request --> Redrawer, quick pictures
                                                       |
                                       hand rests -----+------> NewestTask, the full picture
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, QPointF, Qt, Slot
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSlider, QVBoxLayout, QWidget

from viewer.checks.alike import each_place
from viewer.checks.finding import Finding, Severity
from viewer.part.view import Cut, PartView, Side, fitted, named_view
from viewer.program import Program
from viewer.shown.window.model.view_state import AFTER_MS, Topic, ViewState
from viewer.shown.window.part.part_canvas import RING_PX, Mark, PartCanvas
from viewer.shown.window.part.part_drawing import (
    ABOVES,
    CUTS,
    DrawnPart,
    PartRequest,
    Prepared,
    draw,
    find_visible,
    middle_of,
    prepare,
    share_of_cut,
    while_it_turns,
)
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import space
from viewer.shown.window.threads.newest_task import NewestTask, Run
from viewer.shown.window.threads.redraw import Redrawer
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.role_menu import RoleMenu
from viewer.shown.window.widgets.short_label import ShortLabel
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

REST_MS: Final = 180
"""After so long without a change the full picture is drawn."""
_STEPS: Final = 200
"""Of the cut's slider."""
NO_BEADS: Final = "No bead is laid, so there is no part."
_TOLD: Final[tuple[Topic, ...]] = ("layer", "moment", "colouring", "roles", "lit", "times")


class PartPane(QWidget):
    """The whole part: turn, zoom, cut; a bead that is clicked here is selected everywhere.

    Parameters
    ----------
    state
        What is shown; the pane listens to it and sets selection and layer.
    """

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._prepared: Prepared | None = None
        self._path: Path | None = None
        """The file of the part that the hand has turned; read again, it is seen from where it was."""
        self._drawn: DrawnPart | None = None
        self._fit: Side | None = "corner"
        """The named view that still fits the part; None: the hand has chosen another."""
        self._wanted_cut: Cut | None = None
        """A cut that was asked for before the part was there."""
        self._canvas = PartCanvas(self)
        self._notice = ShortLabel()
        self._above, self._cut = Choice(self), Choice(self)
        self._depth = QSlider(Qt.Orientation.Horizontal, self)
        self._preparing, self._full = NewestTask("part", self), NewestTask("full part", self)
        self._redrawer: Redrawer[PartRequest, DrawnPart] = Redrawer(
            self._draw_quick, self._show, lambda _request: math.inf, self
        )
        self._resting = DelayedUpdate(self._draw_full, REST_MS, self)
        self._following = DelayedUpdate(self.refresh, AFTER_MS, self)
        self._arrange()
        self._listen()
        self._on_program()

    def _arrange(self) -> None:
        for choice, texts, name in ((self._above, ABOVES, "layers above"), (self._cut, CUTS, "cut")):
            for value, text in texts.items():
                choice.addItem(text, value)
            choice.setAccessibleName(name)
            choice.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._depth.setRange(1, _STEPS)
        self._depth.setValue(_STEPS // 2)
        self._depth.setAccessibleName("where the cut is")
        self._depth.hide()
        head = QHBoxLayout()
        head.setContentsMargins(2, 2, space(2), 2)
        for widget in (self._above, self._cut, self._depth):
            head.addWidget(widget, 1)
        head.addWidget(RoleMenu(self._state, self))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self._canvas, 1)
        column.addWidget(self._notice)
        self.setFocusProxy(self._canvas)

    def _listen(self) -> None:
        listen = partial(listen_until_destroyed, self, self._state)
        listen(self._on_program, "program")
        listen(self._following.start, *_TOLD)
        listen(self._mark, "selection", "findings", "teaching")
        self._preparing.posted.connect(self._take)
        self._preparing.done.connect(self._take)
        self._full.done.connect(self._show_full)
        for task in (self._preparing, self._full):
            task.failed.connect(self._fail)
        self._canvas.view_wanted.connect(self._look)
        self._canvas.home_wanted.connect(lambda: self.look_from("corner"))
        self._canvas.picked.connect(self._pick)
        self._canvas.resized.connect(self._on_resized)
        self._above.currentIndexChanged.connect(self.refresh)
        self._cut.currentIndexChanged.connect(self._on_cut)
        self._depth.valueChanged.connect(self.refresh)

    # ---- what it offers

    @property
    def busy(self) -> bool:
        """Whether a picture is being drawn or will be."""
        waits = self._resting.isActive() or self._following.isActive()
        return waits or self._redrawer.busy or self._preparing.busy or self._full.busy

    @property
    def drawn(self) -> DrawnPart | None:
        """The picture on show."""
        return self._drawn

    @property
    def canvas(self) -> PartCanvas:
        """What shows it."""
        return self._canvas

    def look_from(self, side: Side) -> None:
        """Show all of the part from a named side."""
        self._fit = side
        self._on_resized()

    def show_whole(self, cut: Cut | None) -> None:
        """Show all of the part from a corner, cut at a plane or not."""
        self._above.setCurrentIndex(self._above.findData("shown"))
        self._cut.setCurrentIndex(self._cut.findData(None if cut is None else cut.axis))
        self.look_from("corner")
        self._wanted_cut = cut
        self._place_cut()

    def _place_cut(self) -> None:
        """Put the cut where it was asked for, as soon as the part's extent is known."""
        if self._wanted_cut is not None and self._prepared is not None:
            share = share_of_cut(self._wanted_cut, self._prepared.part, self._canvas.view)
            self._wanted_cut = None
            self._depth.setValue(round(min(max(share, 0.0), 1.0) * _STEPS))

    def next_above(self) -> None:
        """Choose what is shown above the layer on show: all, a ghost, nothing."""
        self._above.setCurrentIndex((self._above.currentIndex() + 1) % self._above.count())

    def next_cut(self) -> None:
        """Choose the next plane to cut with, or none."""
        self._cut.setCurrentIndex((self._cut.currentIndex() + 1) % self._cut.count())

    def refresh(self) -> None:
        """Draw what is wanted now: quickly at first, in full when nothing changes any more."""
        self._full.cancel()
        if self._prepared is None or not self.isVisible():
            return
        self._redrawer.request(self._request(fine=False))
        self._resting.start()

    def stop(self) -> None:
        """Draw nothing any more; wait for the threads."""
        self._resting.stop()
        self._following.stop()
        self._redrawer.stop()
        self._preparing.end()
        self._full.end()

    # ---- drawing

    def _on_program(self) -> None:
        """Get another program ready; of one that is not whole yet there is no picture."""
        program = self._state.program
        self._full.cancel()
        if program is None or self._state.partial or not len(program.layers):
            self._preparing.cancel()
            self._prepared = None
            whole = program is not None and not self._state.partial
            self._show_nothing(NO_BEADS if whole else "")
            return
        if self._prepared is not None and self._prepared.program is program:
            return
        self._prepared = None
        self._preparing.cancel()
        if program.path != self._path:
            self._path, self._fit = program.path, self._fit or "corner"
        if self.isVisible():
            self._preparing.start(partial(_get_ready, program))

    @Slot(object)
    def _take(self, prepared: Prepared) -> None:
        """Draw from what was prepared."""
        self._prepared = prepared
        self._on_resized()
        self._place_cut()
        self._mark()

    def _request(self, fine: bool) -> PartRequest:
        assert self._prepared is not None
        state, ratio = self._state, self._canvas.devicePixelRatioF()
        view = self._canvas.view
        return PartRequest(
            program=self._prepared.program,
            view=replace(view, px_per_mm=view.px_per_mm * ratio),
            size=self._canvas.picture_size,
            number=state.layer,
            moment_s=state.moment_s,
            above=self._above.currentData(),
            cut_axis=self._cut.currentData(),
            cut_share=self._depth.value() / _STEPS,
            hidden=state.hidden_roles,
            colouring=state.colouring,
            dark=is_dark(self.palette()),
            lit=state.lit_roles,
            fine=fine,
            times=state.times,
        )

    def _draw_quick(self, request: PartRequest) -> DrawnPart:
        prepared = self._prepared
        if prepared is None or prepared.program is not request.program:
            prepared = prepare(request.program)
        return draw(request, prepared)

    def _draw_full(self) -> None:
        """Draw all beads, in the background."""
        prepared = self._prepared
        if prepared is None or not self.isVisible():
            return
        request = self._request(fine=True)
        self._full.start(lambda _run: draw(request, prepared))

    def _show(self, drawn: DrawnPart) -> None:
        """Show a quick picture, unless the program has gone meanwhile."""
        if self._prepared is None or drawn.request.program is not self._prepared.program:
            return
        self._drawn = drawn
        self._canvas.show_drawn(drawn)
        notice = while_it_turns(drawn)
        self._notice.setText(notice)
        self._notice.setVisible(bool(notice))

    @Slot(object)
    def _show_full(self, drawn: DrawnPart) -> None:
        self._show(drawn)

    @Slot(object)
    def _fail(self, problem: BaseException) -> None:
        """Raise what went wrong in a thread, here in the window's thread."""
        raise problem

    def _show_nothing(self, why: str) -> None:
        """Show no picture, and say why in a sentence; "": the rest is still being read, or nothing is open."""
        self._drawn = None
        self._canvas.marks = ()
        self._canvas.show_drawn(None)
        self._notice.setText(why)
        self._notice.setVisible(bool(why))

    # ---- the hand

    def _look(self, view: PartView) -> None:
        """Look from where the hand has turned, moved or zoomed to."""
        self._fit = None
        self._canvas.view = view
        self.refresh()

    def _on_resized(self) -> None:
        """Fit the part again, where the hand has chosen no view of its own."""
        if self._prepared is not None and self._fit is not None:
            part, size = self._prepared.part, (self._canvas.height(), self._canvas.width())
            self._canvas.view = fitted(named_view(self._fit), part.low, part.high, size)
        self.refresh()

    def _on_cut(self) -> None:
        self._depth.setVisible(self._cut.currentData() is not None)
        self.refresh()

    def _pick(self, at: QPointF) -> None:
        """Go to the finding that is marked there, or select the bead."""
        for finding in self._marked():
            assert finding.place_mm is not None
            away = self._canvas.place_of(finding.place_mm) - at
            if math.hypot(away.x(), away.y()) <= RING_PX + 2.0:
                if finding.layer is not None:
                    self._state.show_layer(finding.layer)
                if finding.lines:
                    self._state.select_line(finding.lines[0])
                return
        if self._drawn is not None:
            ratio = self._canvas.devicePixelRatioF()
            self._state.select(self._drawn.move_at(at.y() * ratio, at.x() * ratio))

    def _marked(self) -> list[Finding]:
        """Return the findings that have a place, one for each of their places."""
        if self._state.teaching:  # a step of the lesson is about something else
            return []
        report = self._state.report
        found = () if report is None else each_place(report.findings)
        return [one for one in found if one.place_mm is not None]

    def _mark(self) -> None:
        """Mark the places of findings and the selected bead."""
        if self._prepared is None:
            return
        marks = [
            Mark(one.place_mm, _COLOURS.get(one.severity, "faint"))
            for one in self._marked()
            if one.place_mm is not None
        ]
        selected = self._state.selected
        if selected is not None and selected < len(self._prepared.program.moves):
            marks.append(Mark(middle_of(self._prepared.program, selected), "selection"))
        self._canvas.marks = tuple(marks)
        self._canvas.update()

    # ---- events

    def showEvent(self, event: QShowEvent) -> None:
        """Get ready and draw what was not while it was hidden."""
        super().showEvent(event)
        if self._prepared is None and not self._preparing.busy:
            self._on_program()
        else:
            self.refresh()

    def changeEvent(self, event: QEvent) -> None:
        """Take other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.refresh()


_COLOURS: Final = {Severity.STOP: "stop", Severity.LOOK: "warn"}
"""Colour of a severity; others are faint."""


def _get_ready(program: Program, run: Run) -> Prepared:
    """Get a program ready: pictures can be drawn before it is known which beads can be seen."""
    prepared = prepare(program)
    run.post(prepared)
    find_visible(prepared)
    return prepared
