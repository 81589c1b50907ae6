"""`LayerPlot`: the layer on show, to scale on the plate, with what the bead under the pointer is."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QImage, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from viewer.beads.draw import nearest_bead
from viewer.errors import OutputError
from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.words import find_word
from viewer.program import Program
from viewer.shown.pictures.choices import TIMED
from viewer.shown.pictures.scene import Point
from viewer.shown.pictures.svg import Vectors, save_svg
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.plot import pictures
from viewer.shown.window.plot.drawing import Drawing, DrawnLayer, PictureRequest, request_of
from viewer.shown.window.plot.evidence import EvidenceHere
from viewer.shown.window.plot.fitting import Fitting
from viewer.shown.window.plot.layer_texts import (
    drawn_marks,
    finding_marks,
    is_shown,
    layer_text,
    line_text,
    marked_at,
    notice_text,
    outline_of,
)
from viewer.shown.window.plot.legend import Legend
from viewer.shown.window.plot.marks_item import FindingMark, Outline
from viewer.shown.window.plot.nozzle_event import EventWatch
from viewer.shown.window.plot.plot_view import PlotView
from viewer.shown.window.plot.shadow import Shadow
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import space
from viewer.shown.window.threads.redraw import Redrawer
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.role_menu import RoleMenu
from viewer.shown.window.widgets.short_label import ShortLabel
from viewer.shown.window.widgets.texts import sized
from viewer.shown.window.widgets.until_destroyed import end_with, listen_until_destroyed

NEAR_PX = 6.0
"""A bead this near to the pointer counts as under it."""
MARK_PX = 7.0
"""A mark of a retract or prime this near to it does: the signs are that large, and lie above the beads."""
MIN_LINES = 6
"""Height of the plot, in lines of text, below which it says nothing any more."""
PICTURE_SCALE = 2.0
"""Least number of pixels that saved and copied pictures have to one of the screen's unit."""


class LayerPlot(QWidget):
    """The layer on show: plate, beads, travel, marks; zoom, pan, hover, select, measure, save.

    Parameters
    ----------
    state
        What is shown; the plot listens to it and sets selection and hover.
    """

    word_wanted = Signal(object)
    """The `Word` that an entry of the legend names."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._program: Program | None = None
        self._drawn: DrawnLayer | None = None
        self._pointer: Point | None = None
        self._drawing, self._watch, self._evidence = Drawing(), EventWatch(), EvidenceHere()
        self.view = PlotView(self)
        self._fitting = Fitting(state, self.view)
        self.legend = Legend(self)
        self._title, self._notice, self._line = ShortLabel(), ShortLabel(), ShortLabel()
        sized(self._title, "value")
        self._arrange()
        self._redrawer: Redrawer[PictureRequest, DrawnLayer] = Redrawer(
            self._drawing.draw, self._show, self._drawing.weight, self
        )
        self._shadow = Shadow(self.view.below, self)
        self._settling = DelayedUpdate(self.refresh, 0, self)
        end_with(self, self._redrawer.stop, self._shadow.stop)
        self._listen()
        self._recolour()
        self._on_program()

    def _arrange(self) -> None:
        self._notice.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._notice.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        head = QHBoxLayout()
        head.setSpacing(0)
        head.setContentsMargins(0, 0, space(2), 0)
        head.addWidget(self._title, 1)
        head.addWidget(self._notice)
        head.addWidget(RoleMenu(self._state, self))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self.view, 1)
        column.addWidget(self._line)
        column.addWidget(self.legend)
        self.setFocusProxy(self.view)
        self.view.setMinimumHeight(MIN_LINES * self.fontMetrics().height())

    def _listen(self) -> None:
        listen = partial(listen_until_destroyed, self, self._state)
        listen(self._on_program, "program")
        listen(self.refresh, "layer", "moment", "colouring", "shown", "halted", "lit", "areas", "roles")
        listen(self._on_trial, "trial")
        listen(self._on_times, "times")
        listen(self._on_selection, "selection")
        listen(self._mark, "hover", "findings", "teaching")
        listen(self._on_evidence, "evidence")
        self.view.seen_changed.connect(self.refresh)
        self.view.moved_by_hand.connect(self._fitting.forget)
        self.view.pointed.connect(self._on_pointed)
        self.view.picked.connect(self._on_picked)
        self.legend.pressed.connect(self._on_legend)

    def sizeHint(self) -> QSize:
        """Return a comfortable size."""
        return QSize(720, 560)

    # ------------------------------------------------------------------ what it offers

    def fit_part(self) -> None:
        """Show all of the part, or whatever beads there are."""
        self._fitting.fit_part()

    def fit_plate(self) -> None:
        """Show the whole plate; where its size is not known, the part."""
        self._fitting.fit_plate()

    def zoom(self, factor: float) -> None:
        """Zoom in (above 1) or out, about the middle."""
        self._fitting.zoom(factor)

    def move_view(self, right: float, back: float) -> None:
        """Show what lies further to the right and back, in shares of what is seen."""
        self._fitting.move_view(right, back)

    def look_at_box(self, box_mm: tuple[float, float, float, float] | None) -> None:
        """Show a rectangle: x low, y low, x high, y high, mm; None: all of the part."""
        self._fitting.look_at_box(box_mm)

    def start_measuring(self, on: bool) -> None:
        """Start or end measuring: two clicks, or arrows and Enter, set the ends; Escape ends it."""
        self.view.start_measuring(on)
        self._tell_line()

    def save_picture(self, path: str) -> None:
        """Save what is seen: PNG, or SVG with true vectors where the name ends so.

        Raises
        ------
        OutputError
            There is nothing to save, or the file could not be written; nothing was left half-written.
        """
        if not str(path).lower().endswith(".svg"):
            pictures.save_png(path, self._grabbed())
            return
        request = self._request(1.0)
        if request is None:
            raise OutputError(f"{path}: no program is open, so there is no layer to save; open one first.")
        drawn = self._redrawer.draw_now(request)
        notice = notice_text(self._state)
        title = f"{request.program.path.name} · {layer_text(self._state)}" + (
            f" ({notice})" if notice else ""
        )
        vectors = Vectors(title, drawn.scene, drawn.cut, request.shown, self.view.seen_area)
        save_svg(path, vectors, request.program.printer.plate)

    def copy_picture(self) -> None:
        """Put what is seen on the clipboard."""
        pictures.copy(self._grabbed())

    @property
    def busy(self) -> bool:
        """Whether a picture is being drawn, waits to be, or is about to be painted."""
        return self._settling.isActive() or self._redrawer.busy or self._shadow.busy or self.view.held

    def stop(self) -> None:
        """Draw nothing any more and wait for the drawing thread: before the window closes."""
        self._settling.stop()
        self._redrawer.stop()
        self._shadow.stop()

    # ------------------------------------------------------------------ drawing

    def settle(self, milliseconds: int = 0) -> None:
        """Draw in a later turn of the event loop, or after some time: until then the plot's size may change."""
        self._settling.start(milliseconds)

    def refresh(self) -> None:
        """Ask for a new picture; of many requests the newest is drawn."""
        self._title.setText(layer_text(self._state))
        self._notice.setText(notice_text(self._state))
        request = self._request(self.devicePixelRatioF())
        if self._state.program is None:
            self._drawn = None
            self.view.picture.clear()
            self._shadow.clear()
            self.legend.show_key(None, (), self._dark)
            self._mark()
        elif request is not None and not self._settling.isActive():
            if self._drawn is not None and not self._redrawer.is_quick(request):
                self.view.hold()
            self._shadow.wait()
            self._redrawer.request(request)

    def _request(self, ratio: float) -> PictureRequest | None:
        return request_of(self._state, self.view.geometry_px(ratio), ratio, self._dark)

    def _show(self, drawn: DrawnLayer) -> None:
        """Show a picture that was drawn, unless its program is no longer the one on show."""
        state = self._state
        if drawn.request.scale_of is not state.program:
            return
        self._drawn = drawn
        self.view.picture.show_picture(drawn.image, drawn.request.view, drawn.request.ratio)
        self._shadow.follow(drawn, self._shows_below_clearly)
        self.legend.show_key(
            drawn.scene.colours.key,
            drawn_marks(drawn.scene, drawn.cut, state.shown, drawn.request.areas),
            self._dark,
        )
        self.legend.light(frozenset(ROLE_NAMES[role] for role in drawn.request.lit))
        self._mark()
        self.view.let_go()
        self.view.paint_now()

    def _grabbed(self) -> QImage:
        """Return the whole pane as a picture at a finer scale, its beads drawn again for it."""
        scale = max(PICTURE_SCALE, self.devicePixelRatioF())
        request = self._request(scale)
        if request is not None:
            self._show(self._redrawer.draw_now(request))
            self._shadow.settle()
        name = "" if self._state.program is None else f"{self._state.program.path.name} · "
        self._title.setText(
            name + layer_text(self._state)
        )  # a picture goes its own way: it says of what it is
        if self._state.hovered is None and self._state.selected is None:
            self._line.setText("")
        image = pictures.grab(self, scale)
        self.refresh()
        self._tell_line()
        return image

    def _mark(self) -> None:
        """Update everything that lies above the picture, and the line about the bead."""
        state, marks, drawn = self._state, self.view.marks, self._drawn
        marks.start = drawn.scene.start if drawn is not None else None
        marks.nozzle = drawn.cut.nozzle if drawn is not None and "nozzle" in state.shown else None
        marks.large, marks.happened = (
            state.teaching,
            self._watch.follow(state, None if drawn is None or marks.nozzle is None else drawn.cut.move),
        )
        evidence = self.view.evidence
        evidence.evidence, evidence.severity = self._evidence.of(self._state), state.evidence_severity
        evidence.update()
        marks.findings, marks.selected = (), None
        if evidence.evidence is None:  # else it says more than a sign, and an outline would lie over it
            marks.selected = self._outline(state.selected)
            if "marks" in state.shown:
                marks.findings = tuple(FindingMark(at, severity) for at, severity in finding_marks(state))
        marks.hovered = self._outline(state.hovered)
        marks.update()
        self._tell_line()

    def _on_trial(self) -> None:
        """Follow the times of a trial where the picture shows any."""
        self._notice.setText(notice_text(self._state))
        if self._state.colouring in TIMED or self._state.moment_s is not None:
            self.refresh()

    def _on_times(self) -> None:
        """Show the seconds of another cause, if colours mean them."""
        if self._state.colouring == "cause":
            self.refresh()

    def _on_evidence(self) -> None:
        """Look at the extent of a finding."""
        self._mark()
        if self._drawn is not None:
            self._shadow.follow(self._drawn, self._shows_below_clearly)
        found = self.view.evidence.evidence
        if found is not None and found.seen is not None:
            self._fitting.look_at(*found.seen)

    @property
    def _shows_below_clearly(self) -> bool:
        """Whether a finding on show is about how this layer lies on the one below."""
        return self._state.evidence_over_below and self._evidence.of(self._state) is not None

    def _outline(self, move: int | None) -> Outline | None:
        found = outline_of(self._state.program, move)
        return None if found is None or not is_shown(self._state, move) else Outline(*found)

    def _tell_line(self) -> None:
        """Tell what is under the pointer, or else what is selected."""
        scene = None if self._drawn is None else self._drawn.scene
        self._line.setText(line_text(self._state, self._pointer, scene, self.view.measuring))

    # ------------------------------------------------------------------ what happens

    def _on_program(self) -> None:
        """Take a new program; the view is kept while it is only another state of the same file."""
        program = self._state.program
        self.view.plate.plate = None if program is None else program.printer.plate
        self.view.plate.update()
        other = program is None or self._program is None or program.path != self._program.path
        self._program = program
        if other:
            self._fitting.begin_with_part()
        if not self._settling.isActive():
            self.settle()  # a banner that comes or goes changes the plot's size: one picture is enough
        self._fitting.refit()
        self.refresh()

    def _on_selection(self) -> None:
        """Mark what is selected, and bring it into view where it lies beside."""
        outline = self._outline(self._state.selected)
        if outline is not None:
            (x0, y0), (x1, y1) = outline.start, outline.end
            self._fitting.bring_into_view(0.5 * (x0 + x1), 0.5 * (y0 + y1))
        self._mark()

    def _on_legend(self, entry: str) -> None:
        """Light the beads of a role that is chosen in the legend, or all again; tell its word."""
        if entry in ROLE_NAMES:
            role = frozenset({ROLE_NAMES.index(entry)})
            self._state.light_roles(frozenset() if role == self._state.lit_roles else role)
        word = find_word(entry)
        if word is not None:
            self.word_wanted.emit(word)

    def _under(self, point: Point) -> int | None:
        """Return the move whose bead lies at a point, or within some pixels of it."""
        if self._drawn is None:
            return None
        mark = marked_at(self._drawn.scene, self._drawn.cut, point, MARK_PX * self.view.mm_a_px)
        if mark is not None and "retracts" in self._state.shown:
            return mark
        beads = self._drawn.scene.beads
        row, away = nearest_bead(*point, beads)
        return int(beads.move[row]) if row >= 0 and away <= NEAR_PX * self.view.mm_a_px else None

    def _on_pointed(self, point: Point | None) -> None:
        self._pointer = point
        self._state.hover(None if point is None else self._under(point))
        self._tell_line()

    def _on_picked(self, point: Point) -> None:
        self._state.show_evidence(())
        self._state.select(self._under(point))

    @property
    def _dark(self) -> bool:
        return is_dark(self.palette())

    def _recolour(self) -> None:
        self.view.recolour(self._dark, self.font())

    def changeEvent(self, event: QEvent) -> None:
        """Follow the system's colours and font."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange) and hasattr(self, "_redrawer"):
            self._recolour()
            self.refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep what was fitted fitted."""
        super().resizeEvent(event)
        least = self.view.minimumHeight() + self._title.height() + self._line.sizeHint().height()
        self._line.setVisible(self.height() >= least)
        self.legend.setVisible(self.height() >= least + self.legend.heightForWidth(self.width()))
        self._fitting.refit()

    def showEvent(self, event: QShowEvent) -> None:
        """Fit and draw once the size is known."""
        super().showEvent(event)
        self._fitting.refit()
        self.refresh()
