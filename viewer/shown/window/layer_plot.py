"""`LayerPlot`: the layer on show, to scale on the plate, with what the bead under the pointer is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QGuiApplication, QImage, QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from viewer.beads.draw import U32, View, nearest_bead
from viewer.beads.section import width_of
from viewer.program import Program
from viewer.shown.window import pictures
from viewer.shown.window.bead_values import Ranges
from viewer.shown.window.colours import ui
from viewer.shown.window.inks import is_dark
from viewer.shown.window.layer_items import MarksItem, Outline, PictureItem, PlateItem, plate_rect
from viewer.shown.window.layer_texts import finding_marks, layer_text, notice_text, outline_of, point_text
from viewer.shown.window.legend import Legend
from viewer.shown.window.measuring import Measuring
from viewer.shown.window.redraw import Redrawer
from viewer.shown.window.scene import Cut, Point, Scene, build_scene, cut_at, draw_scene, move_text
from viewer.shown.window.view_state import Colouring, Shown, ViewState

NEAR_PX = 6.0
"""A bead this near to the pointer counts as under it."""
PADDING = 0.06
EMPTY_MM = QRectF(0.0, 0.0, 200.0, 200.0)
"""What is seen where neither a part nor a plate is known."""
PICTURE_SCALE = 2.0
"""Saved and copied pictures have so many pixels to one of the screen."""


@dataclass(frozen=True, slots=True)
class _Request:
    """One picture wanted: all that it depends on."""

    program: Program
    number: int
    moment_s: float | None
    colouring: Colouring
    shown: frozenset[Shown]
    dark: bool
    view: View
    rows: int
    columns: int
    ratio: float

    def scene_key(self) -> tuple[int, int, Colouring, bool]:
        return id(self.program), self.number, self.colouring, self.dark


@dataclass(frozen=True, slots=True, eq=False)
class _Drawn:
    request: _Request
    scene: Scene
    cut: Cut
    image: U32


class LayerPlot(QWidget):
    """The layer on show: plate, beads, travel, marks; zoom, pan, hover, select, measure, save.

    Parameters
    ----------
    state
        What is shown; the plot listens to it and sets selection and hover.
    """

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._ranges: Ranges | None = None
        self._scene: Scene | None = None
        self._scene_key: tuple[int, int, Colouring, bool] | None = None
        self._fit: Literal["part", "plate"] | None = "part"
        self._seen_program: Program | None = None
        self._pointer: Point | None = None
        self._build()
        self._measuring = Measuring(self._plot, self._show_measured)
        self._redrawer: Redrawer[_Request, _Drawn] = Redrawer(self._draw, self._show, _weight, self)
        self.destroyed.connect(self._redrawer.stop)
        self._listen()
        self._recolour()
        self._on_program()

    # ------------------------------------------------------------------ building

    def _build(self) -> None:
        self._title, self._notice, self._line = QLabel(), QLabel(), QLabel()
        self._notice.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        for label in (self._title, self._notice, self._line):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._view = pg.ViewBox(lockAspect=1.0, enableMenu=False)
        self._plot = pg.PlotWidget(parent=self, viewBox=self._view)
        self._plot.setAccessibleName("Layer plot")
        self._plot.hideButtons()
        self._view.setLimits(minXRange=0.2, minYRange=0.2, maxXRange=1e6, maxYRange=1e6)
        for side, text in (("bottom", "X, mm"), ("left", "Y, mm")):
            axis = self._plot.getAxis(side)
            axis.enableAutoSIPrefix(False)
            axis.setLabel(text)
        self._plate, self._picture, self._marks = PlateItem(), PictureItem(), MarksItem()
        for item in (self._plate, self._picture, self._marks):
            self._view.addItem(item, ignoreBounds=True)
        self._legend = Legend(self)
        self._arrange()

    def _arrange(self) -> None:
        head = QHBoxLayout()
        head.setContentsMargins(8, 4, 8, 2)
        head.addWidget(self._title, 1)
        head.addWidget(self._notice, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self._plot, 1)
        column.addWidget(self._line)
        column.addWidget(self._legend)
        self._line.setContentsMargins(8, 2, 8, 2)

    def _listen(self) -> None:
        listen = self._state.listen
        ends = [
            listen("program", self._on_program),
            *(listen(topic, self.refresh) for topic in ("layer", "moment", "colouring", "shown")),
            *(listen(topic, self._mark) for topic in ("selection", "hover", "findings")),
        ]
        self.destroyed.connect(lambda: [end() for end in ends])
        self._view.sigRangeChanged.connect(self.refresh)
        self._view.sigRangeChangedManually.connect(self._moved_by_hand)
        self._view.sigResized.connect(self._on_size)
        self._plot.scene().sigMouseMoved.connect(self._on_pointer)
        self._plot.scene().sigMouseClicked.connect(self._on_click)
        self._plot.viewport().installEventFilter(self)

    def sizeHint(self) -> QSize:
        """Give a comfortable size."""
        return QSize(720, 560)

    # ------------------------------------------------------------------ what it offers

    def fit_part(self) -> None:
        """Show all of the part (or whatever beads there are)."""
        self._fit = "part"
        program = self._state.program
        extent = None
        if program is not None:
            totals = program.totals
            extent = totals.extent or totals.extent_all or totals.extent_moves
        if extent is None:
            self._look_at(self._plate_rect() or EMPTY_MM)
            return
        (left, right), (front, back) = extent.x, extent.y
        self._look_at(QRectF(left, front, max(right - left, 2.0), max(back - front, 2.0)))

    def fit_plate(self) -> None:
        """Show the whole plate; where its size is not known, the part."""
        rect = self._plate_rect()
        if rect is None:
            self.fit_part()
            return
        self._fit = "plate"
        self._look_at(rect)

    def zoom(self, factor: float) -> None:
        """Zoom in (above 1) or out, about the middle."""
        self._fit = None
        self._view.scaleBy((1.0 / factor, 1.0 / factor))

    def start_measuring(self, on: bool) -> None:
        """Start or end measuring: two clicks, or arrows and Enter, mark the ends."""
        self._measuring.start(on, self._middle())

    def save_picture(self, path: str) -> None:
        """Save what is seen: PNG (twice the screen's pixels), or SVG with true vectors where the name ends so.

        Raises
        ------
        OutputError
            The file could not be written; nothing was left half-written.
        """
        if str(path).lower().endswith(".svg"):
            drawn = self._drawn_at(1.0)
            title = f"{layer_text(self._state)}. {notice_text(self._state)}".rstrip(". ")
            plate = None if drawn is None else drawn.request.program.printer.plate
            pictures.save_svg(path, None if drawn is None else _vectors(drawn, title), plate)
            return
        pictures.save_png(path, self._grabbed(PICTURE_SCALE))

    def copy_picture(self) -> None:
        """Put what is seen on the clipboard."""
        QGuiApplication.clipboard().setImage(self._grabbed(PICTURE_SCALE))

    @property
    def busy(self) -> bool:
        """Whether a picture is being drawn or waits to be."""
        return self._redrawer.busy

    def stop(self) -> None:
        """Draw nothing any more and wait for the drawing thread: before the window closes."""
        self._redrawer.stop()

    # ------------------------------------------------------------------ drawing

    def refresh(self, *_: object) -> None:
        """Ask for a new picture; of many requests the newest is drawn."""
        self._tell_texts()
        request = self._request(self._ratio())
        if request is None:
            self._scene = None
            self._picture.show_picture(None, View(0.0, 0.0, 1.0))
            self._legend.show_key(None, self._dark)
            self._mark()
            return
        self._redrawer.request(request)

    def _request(self, ratio: float) -> _Request | None:
        state = self._state
        seen, width, height = self._view.viewRect(), self._view.width(), self._view.height()
        if state.program is None or width < 2.0 or height < 2.0 or seen.width() <= 0.0:
            return None
        view = View(seen.left(), seen.bottom(), width * ratio / seen.width())
        rows, columns = math.ceil(height * ratio), math.ceil(width * ratio)
        return _Request(
            state.program, state.layer, state.moment_s, state.colouring, state.shown, self._dark,
            view, rows, columns, ratio,
        )  # fmt: skip

    def _draw(self, request: _Request) -> _Drawn:
        """Make the picture; the scene of the last one is kept while only the view or the moment changes."""
        if self._ranges is None or self._ranges.program is not request.program:
            self._ranges = Ranges(request.program)
        if self._scene is None or self._scene_key != request.scene_key() or self._scene.program is not request.program:
            scene = build_scene(request.program, request.number, request.colouring, request.dark, self._ranges)
            self._scene, self._scene_key = scene, request.scene_key()
        scene = self._scene
        cut = cut_at(request.program, request.number, request.moment_s)
        image = draw_scene(scene, cut, request.shown, request.view, request.rows, request.columns, request.ratio)
        return _Drawn(request, scene, cut, image)
