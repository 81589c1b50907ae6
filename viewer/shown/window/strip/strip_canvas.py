"""The bars of the layer strip, and the way to the layers: press, drag, turn the wheel, use the keys."""

from __future__ import annotations

from functools import partial

import numpy as np
from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from viewer.arrays import F64
from viewer.checks.alike import each_place
from viewer.checks.finding import Finding
from viewer.shown.cause_words import GROUP_OF
from viewer.shown.numbers import count_text
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.strip.strip_bars import (
    Bars,
    Cluster,
    Marks,
    axis_of,
    bars_of,
    clusters_of,
    marks_of,
    middle_of,
    overhang_of,
    stack_of,
    values_of,
)
from viewer.shown.window.strip.strip_picture import (
    APART,
    SIGN,
    Content,
    Frame,
    frame_of,
    paint_current,
    paint_picture,
    used_columns,
    x_of,
)
from viewer.shown.window.strip.strip_texts import (
    MarkWords,
    bar_text,
    missing_text,
    reading_texts,
    stack_texts,
)
from viewer.shown.window.style.inks import inks_of, small_font
from viewer.shown.window.widgets.painting import painting
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

PAGE = 10
"""Layers a page key goes on."""


_NOTCH = 120
"""One notch of a wheel, in eighths of a degree."""


_KEYS = {
    Qt.Key.Key_Up: 1,
    Qt.Key.Key_Down: -1,
    Qt.Key.Key_PageUp: PAGE,
    Qt.Key.Key_PageDown: -PAGE,
}


_BEAD_KEYS = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


class StripCanvas(QWidget):
    """The bars; painted from a kept picture, so that dragging costs a copy and one bar."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._values: F64 | None = None
        self._stack: F64 | None = None
        """(layers, groups) what the bars are stacked of."""
        self._marks: Marks | None = None
        self._frame: Frame | None = None
        self._content: Content | None = None
        self._picture: QPixmap | None = None
        self._pointer: QPointF | None = None
        self._turned = 0
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("layer strip")
        listen = partial(listen_until_destroyed, self, state)
        listen(self._renew, "program", "findings")
        listen(self._revalue, "strip", "trial", "times")
        listen(self.update, "layer")
        self._renew()

    def sizeHint(self) -> QSize:
        """Prefer room for three ticks."""
        return QSize(640, 6 * self.fontMetrics().height() + 24)

    def minimumSizeHint(self) -> QSize:
        """Ask for room for marks, a few rows of bars and numbers."""
        return QSize(160, 3 * self.fontMetrics().height() + 24)

    def readings(self) -> tuple[str, ...]:
        """Say in text which layer is on show, how high it lies and what its bar means; shorter and shorter."""
        return reading_texts(self._state, self._values)

    def missing(self) -> str | None:
        """Return the sentence that stands in place of the bars, None where there are bars."""
        return missing_text(self._state, self._values)

    def mark_texts(self, cluster: Cluster) -> list[str]:
        """Say what the marks of one place mean, a line each."""
        assert self._marks is not None and self._state.program is not None
        return MarkWords(self._state.program, self._marks, self._findings()).of_cluster(cluster)

    def _findings(self) -> tuple[Finding, ...]:
        """Return the findings, one for each of their places: every layer of them is marked."""
        report = self._state.report
        return () if report is None else tuple(each_place(report.findings))

    def _renew(self) -> None:
        """Take the values and marks again and forget the picture."""
        state, self._marks = self._state, None
        if state.program is not None and state.layers:
            known = ((found.layer, str(found.severity)) for found in self._findings())
            inside = tuple(
                (n if n is not None and 1 <= n <= state.layers else None, kind) for n, kind in known
            )
            self._marks = marks_of(state.program, inside)
        self._revalue()

    def _revalue(self) -> None:
        """Take the values again and forget the picture."""
        state, self._values, self._stack = self._state, None, None
        timed = state.timed
        if timed is not None and state.layers:
            self._values = values_of(timed, state.strip, overhang_of(state.report), state.cause, state.times)
            if state.strip == "causes" and state.cause is None:
                self._stack = stack_of(timed)
        self._forget()

    def _forget(self) -> None:
        self._picture = None
        self.update()

    def _prepare(self) -> tuple[QPixmap, Content, Frame] | None:
        """Return the resting picture, painted again where something changed; None: there are no bars."""
        if (
            self._values is None
            or self._marks is None
            or self._state.program is None
            or not self._values.any()
        ):
            return None
        if self._picture is None or self._content is None or self._frame is None:
            axis = axis_of(self._state.strip, float(self._values.max()), middle_of(self._values))
            font = small_font(self)
            stacked = self._stack is not None
            frame = frame_of(self.width(), self.height(), self.devicePixelRatioF(), axis, font, stacked)
            bars = bars_of(self._values, used_columns(frame, len(self._values)))
            clusters = clusters_of(self._marks, _middles(self._marks, bars, frame), APART)
            layers = self._state.program.layers
            borders = (np.flatnonzero(np.diff(layers.object)) + 2).astype(np.int32)
            looked_at = self._state.cause if self._state.strip == "causes" else None
            group = "" if looked_at is None else GROUP_OF[looked_at.name]
            self._frame = frame
            self._content = Content(bars, axis, self._marks, clusters, borders, self._stack, group)
            self._picture = paint_picture(self._content, frame, inks_of(self.palette()), font)
        return self._picture, self._content, self._frame

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Copy the picture and paint the layer on show over it."""
        with painting(self) as painter:
            self._paint(painter)

    def _paint(self, painter: QPainter) -> None:
        ready = self._prepare()
        if ready is None:
            self._paint_sentence(painter)
            return
        picture, content, frame = ready
        painter.drawPixmap(0, 0, picture)
        self._paint_pointer(painter, content.bars, frame)
        inks, number = inks_of(self.palette()), self._state.layer
        painter.setFont(small_font(self))
        paint_current(painter, content, frame, inks, number, self._value(number))
        if self.hasFocus():
            painter.setPen(QPen(inks.accent, 1.0))
            painter.drawRect(QRectF(0.5, 0.5, self.width() - 1.0, self.height() - 1.0))

    def _paint_sentence(self, painter: QPainter) -> None:
        inks = inks_of(self.palette())
        painter.fillRect(self.rect(), inks.base)
        painter.setPen(inks.faint)
        flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(self.rect().adjusted(12, 4, -12, -4), int(flags), self.missing() or "")

    def _paint_pointer(self, painter: QPainter, bars: Bars, frame: Frame) -> None:
        if self._pointer is not None:
            left, right = x_of(self._layer_at(self._pointer.x(), bars, frame), bars, frame)
            faint = QColor(inks_of(self.palette()).text)
            faint.setAlphaF(0.15)
            painter.fillRect(
                QRectF(left, frame.plot.top(), max(right - left, 1.0), frame.plot.height()), faint
            )

    def _layer_at(self, x: float, bars: Bars, frame: Frame) -> int:
        return bars.at((x - frame.plot.left()) * frame.ratio)

    def _cluster_at(self, place: QPointF) -> Cluster | None:
        """Return the marks at a place, None where there are none."""
        ready = self._prepare()
        if ready is None or place.y() > ready[2].plot.top():
            return None
        near = [c for c in ready[1].clusters if abs(c.x - place.x()) <= SIGN / 2.0 + 1.0]
        return near[0] if near else None

    def _value(self, number: int) -> float:
        assert self._values is not None
        return float(self._values[number - 1])

    def _go(self, place: QPointF) -> None:
        ready = self._prepare()
        if ready is not None:
            self._state.show_layer(self._layer_at(place.x(), ready[1].bars, ready[2]))

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to the layer pressed on; a press on a mark goes to the very layer of the mark."""
        if event.button() != Qt.MouseButton.LeftButton:
            event.ignore()
            return
        cluster = self._cluster_at(event.position())
        if cluster is not None and self._marks is not None:
            self._state.show_layer(int(self._marks.layer[cluster.gravest]))
        else:
            self._go(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Drag along the layers, or say what lies under the pointer."""
        self._pointer = event.position()
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._go(event.position())
            QToolTip.hideText()
        else:
            self._tell_about(event.position(), event.globalPosition().toPoint())
        self.update()

    def _tell_about(self, place: QPointF, on_screen: QPoint) -> None:
        ready = self._prepare()
        if ready is None:
            return
        cluster = self._cluster_at(place)
        if cluster is not None:
            lines = self.mark_texts(cluster)
        else:
            bars, column = ready[1].bars, (place.x() - ready[2].plot.left()) * ready[2].ratio
            lines = [
                f"layer {count_text(bars.at(column))} · {bar_text(self._state, self._values, bars.at(column))}"
            ]
            if self._stack is not None:
                lines += stack_texts(self._stack[bars.at(column) - 1])
            if bars.count_at(column) > 1:
                lines.append(
                    f"{count_text(bars.count_at(column))} layers a column; this is the highest bar of them"
                )
        QToolTip.showText(on_screen, "\n".join(lines), self)

    def leaveEvent(self, event: QEvent) -> None:
        """Forget the pointer."""
        self._pointer = None
        self.update()
        super().leaveEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Go up or down one layer a notch; small turns of a touch pad add up."""
        turn = event.angleDelta()
        self._turned += turn.y() or turn.x()
        notches = int(self._turned / _NOTCH)
        self._turned -= notches * _NOTCH
        if notches:
            self._state.show_layer(self._state.layer + notches)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go by layers (up, down, page, home, end) or beads (left, right)."""
        key, state = Qt.Key(event.key()), self._state
        if key in _KEYS:
            state.show_layer(state.layer + _KEYS[key])
        elif key in _BEAD_KEYS:
            state.step_bead(_BEAD_KEYS[key])
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            state.show_layer(1 if key == Qt.Key.Key_Home else state.layers)
        else:
            super().keyPressEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Paint again when colours or the font change."""
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._forget()
        super().changeEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Paint again at the new size."""
        self._picture = None
        super().resizeEvent(event)


def _middles(marks: Marks, bars: Bars, frame: Frame) -> F64:
    """Return the place of each mark along the strip, in logical pixels: (marks,)."""
    distinct, which = np.unique(marks.layer, return_inverse=True)
    sides = [x_of(number, bars, frame) for number in distinct.tolist()]
    middles = np.array([(left + right) / 2.0 for left, right in sides], np.float64)
    return np.asarray(middles[which])
