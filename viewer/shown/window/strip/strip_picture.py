"""The resting picture of the layer strip, painted once and kept: bars, axes, marks, borders of objects.

::

          <- marks above the bars ->
    60 s |--------------------------
         |  #           #
    30 s |--#-----#-----#-----------
         |  # #   #  #  #  #
       0 +--------------------------
            1     10    20    30      numbers of layers
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QImage, QPainter, QPen, QPixmap, QPolygonF

from viewer.arrays import F64, I32
from viewer.shown.numbers import count_text
from viewer.shown.pictures.colours import cause_rgb
from viewer.shown.window.strip.strip_bars import MARK_KINDS, Axis, Bars, Cluster, Marks, layer_ticks
from viewer.shown.window.style.inks import Inks

SIGN = 9.0
"""Width and height of a mark's sign; signs stand at least `APART` apart."""
APART = 12.0
ROOT_NOTE = "root scale: twice as high is four times as much"
_WIDEST = 64
"""Greatest width of a bar, in logical pixels, so that two layers do not fill the strip like slabs."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where things lie in the strip, in logical pixels."""

    width: float
    height: float
    plot: QRectF
    """The bars; marks above, numbers of layers below, ticks to the left."""
    ratio: float
    """Device pixels to a logical one."""

    @property
    def columns(self) -> int:
        """How many device pixels wide the plot is."""
        return max(1, round(self.plot.width() * self.ratio))


def frame_of(width: float, height: float, ratio: float, axis: Axis, font: QFont, key: bool = False) -> Frame:
    """Lay out a strip of this size for ticks in `font`; with room for a key of colours above the marks or not."""
    metrics = QFontMetricsF(font)
    left = max(metrics.horizontalAdvance(tick_text(axis, k)) for k in range(len(axis.ticks))) + 10.0
    above, below = SIGN + 7.0 + (metrics.height() if key else 0.0), metrics.height() + 5.0
    size = max(1.0, width - left - 6.0), max(1.0, height - above - below)
    return Frame(width, height, QRectF(round(left), round(above), int(size[0]), int(size[1])), ratio)


def tick_text(axis: Axis, k: int) -> str:
    """Return the text of tick `k`; the highest one carries the unit."""
    label = axis.ticks[k][1]
    return f"{label} {axis.unit}" if k == len(axis.ticks) - 1 else label


def used_columns(frame: Frame, layers: int) -> int:
    """Return how many columns of device pixels the bars take: all, unless there are few layers."""
    return min(frame.columns, max(1, int(layers * _WIDEST * frame.ratio)))


@dataclass(frozen=True, slots=True)
class Content:
    """What the resting picture shows."""

    bars: Bars
    axis: Axis
    marks: Marks
    clusters: tuple[Cluster, ...]
    borders: I32
    """Numbers of the layers at which a further object begins."""
    stack: F64 | None = None
    """(layers, groups) seconds by group of causes, of which the bars are stacked; None: they have one colour."""
    group: str = ""
    """The group of causes whose colour the bars have; "": the usual one."""


def paint_picture(content: Content, frame: Frame, inks: Inks, font: QFont) -> QPixmap:
    """Paint everything that stays while the layer on show changes."""
    ratio = frame.ratio
    picture = QPixmap(round(frame.width * ratio), round(frame.height * ratio))
    picture.setDevicePixelRatio(ratio)
    picture.fill(inks.base)
    painter = QPainter(picture)
    painter.setFont(font)
    _paint_values(painter, content.axis, frame, inks)
    rows = round(frame.plot.height() * ratio)
    share = content.axis.share(content.bars.value)
    colours = {name: QColor(*rgb) for name, rgb in cause_rgb(inks.dark).items()}
    if content.stack is None:
        image = bars_image(share, rows, colours.get(content.group, inks.bar), ratio)
    else:
        parts = content.stack[content.bars.layer - 1]
        image = stacked_image(share, parts, rows, list(colours.values()), ratio)
        paint_key(painter, content.stack.sum(axis=0), colours, frame, inks)
    painter.drawImage(frame.plot.topLeft(), image)
    _paint_borders(painter, content, frame, inks)
    if content.axis.root:
        _paint_scale_note(painter, frame, inks)
    _paint_numbers(painter, content.bars, frame, inks)
    for cluster in content.clusters:
        middle = QPointF(cluster.x, frame.plot.top() - 3.0 - SIGN / 2.0)
        paint_sign(painter, MARK_KINDS[content.marks.kind[cluster.gravest]], middle, inks)
    painter.end()
    return picture


def bars_image(share: F64, rows: int, colour: QColor, ratio: float) -> QImage:
    """Draw bars as an image, the top row of each weighted by how much of it the bar covers.

    Parameters
    ----------
    share
        (columns,) height of each bar, 1 = all rows.
    rows
        Height of the image in device pixels.
    ratio
        Device pixels to a logical one.
    """
    height = np.where(share > 0.0, np.maximum(share * rows, ratio), 0.0)  # a small value stays visible
    return _image_of(_cover(height, rows)[..., None] * _bgra(colour), ratio)


def stacked_image(share: F64, parts: F64, rows: int, colours: list[QColor], ratio: float) -> QImage:
    """Draw bars that are stacked of parts, the first one at the bottom.

    Parameters
    ----------
    share
        (columns,) height of each bar, 1 = all rows.
    parts
        (columns, groups) what each bar is made of; each part has its share of the bar's height.
    rows, ratio
        As in `bars_image`.
    colours
        (groups,)
    """
    height = np.where(share > 0.0, np.maximum(share * rows, ratio), 0.0)
    whole = parts.sum(axis=1, keepdims=True)
    tops = np.cumsum(np.divide(parts, whole, out=np.zeros_like(parts), where=whole > 0.0), axis=1)
    pixels, lower = np.zeros((rows, len(share), 4)), np.zeros((rows, len(share)))
    for k, colour in enumerate(colours):
        upper = _cover(height * tops[:, k], rows)
        pixels += (upper - lower)[..., None] * _bgra(colour)
        lower = upper
    return _image_of(pixels, ratio)


def _bgra(colour: QColor) -> F64:
    return np.array([colour.blue(), colour.green(), colour.red(), 255.0])


def _cover(height: F64, rows: int) -> F64:
    """Return how much of each pixel bars of some heights cover: (rows, columns), the lowest row last."""
    below = np.arange(rows, 0, -1)[:, None]
    return np.clip(height[None, :] - below + 1.0, 0.0, 1.0)


def _image_of(values: F64, ratio: float) -> QImage:
    """Return an image of premultiplied blue, green, red and alpha: (rows, columns, 4)."""
    pixels = np.rint(values).astype(np.uint8)
    rows, columns = values.shape[:2]
    words = np.ascontiguousarray(pixels.view("<u4")[:, :, 0].astype(np.uint32))
    image = QImage(words.data, columns, rows, 4 * columns, QImage.Format.Format_ARGB32_Premultiplied).copy()
    image.setDevicePixelRatio(ratio)
    return image


def paint_key(painter: QPainter, seconds: F64, colours: dict[str, QColor], frame: Frame, inks: Inks) -> None:
    """Write what the colours of stacked bars mean, above them on the right; groups without any time are left out.

    Parameters
    ----------
    seconds
        (groups,) of all layers.
    """
    metrics = QFontMetricsF(painter.font())
    side, gap = 0.7 * metrics.height(), 14.0
    entries = [(name, colour) for (name, colour), s in zip(colours.items(), seconds, strict=True) if s > 0.0]
    wide = [side + 5.0 + metrics.horizontalAdvance(name) for name, _ in entries]
    left = frame.plot.right() - sum(wide) - gap * (len(wide) - 1)
    if left < 0.0:  # names would be cut off: the tooltip of a bar has them
        return
    for (name, colour), width in zip(entries, wide, strict=True):
        box = QRectF(left, 1.0 + 0.5 * (metrics.height() - side), side, side)
        painter.fillRect(box, colour)
        painter.setPen(inks.faint)
        text = QRectF(left + side + 5.0, 1.0, width, metrics.height())
        painter.drawText(text, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, name)
        left += width + gap


def y_of(value: float, axis: Axis, frame: Frame) -> float:
    """Return the height of a value in the strip, in logical pixels from above."""
    return frame.plot.bottom() - float(axis.share(np.asarray(value))) * frame.plot.height()


def x_of(number: int, bars: Bars, frame: Frame) -> tuple[float, float]:
    """Return the left and right side of a layer's bar, in logical pixels."""
    first, end = bars.place(number)
    left = frame.plot.left()
    return left + first / frame.ratio, left + end / frame.ratio


def _paint_values(painter: QPainter, axis: Axis, frame: Frame, inks: Inks) -> None:
    metrics, plot = QFontMetricsF(painter.font()), frame.plot
    taken: list[float] = []
    # the highest tick and zero come first, so that a low strip leaves out those between
    for k in (len(axis.ticks) - 1, *range(len(axis.ticks) - 1)):
        y = round(y_of(axis.ticks[k][0], axis, frame))
        painter.setPen(QPen(inks.grid if k else inks.bar, 1.0))
        painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right(), y))
        if any(abs(other - y) < metrics.height() for other in taken):
            continue
        taken.append(y)
        box = QRectF(0.0, y - metrics.height() / 2.0, plot.left() - 6.0, metrics.height())
        painter.setPen(inks.faint)
        painter.drawText(box, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, tick_text(axis, k))


def _paint_scale_note(painter: QPainter, frame: Frame, inks: Inks) -> None:
    """Say in the upper right corner that heights are roots: low bars would not be seen else."""
    metrics = QFontMetricsF(painter.font())
    wide = metrics.horizontalAdvance(ROOT_NOTE) + 8.0
    box = QRectF(frame.plot.right() - wide, frame.plot.top() - 1.0, wide, metrics.height())
    painter.fillRect(box, inks.base)
    painter.setPen(inks.faint)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, ROOT_NOTE)


def number_boxes(bars: Bars, frame: Frame, metrics: QFontMetricsF) -> list[tuple[float, str, QRectF]]:
    """Return the middle of each numbered layer's bar, its number, and the box of that below the bars."""
    widest = metrics.horizontalAdvance(count_text(bars.layers))
    found = []
    for number in layer_ticks(bars.layers, len(bars.layer) / frame.ratio, widest):
        text, (left, right) = count_text(number), x_of(number, bars, frame)
        middle = (left + right) / 2.0
        box = number_box(middle, metrics.horizontalAdvance(text), frame, metrics.height())
        found.append((middle, text, box))
    return found


def _paint_numbers(painter: QPainter, bars: Bars, frame: Frame, inks: Inks) -> None:
    below = frame.plot.bottom()
    for middle, text, box in number_boxes(bars, frame, QFontMetricsF(painter.font())):
        painter.setPen(QPen(inks.bar, 1.0))
        painter.drawLine(QPointF(middle, below + 1.0), QPointF(middle, below + 3.0))
        painter.setPen(inks.faint)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def number_box(middle: float, wide: float, frame: Frame, high: float) -> QRectF:
    """Return the box of a number below the bars, moved inwards where it would leave the strip."""
    left = min(max(middle - wide / 2.0, 3.0), frame.width - wide - 4.0)
    return QRectF(left, frame.plot.bottom() + 4.0, wide + 1.0, high)


def paint_current(
    painter: QPainter, content: Content, frame: Frame, inks: Inks, number: int, value: float
) -> None:
    """Paint the bar of the layer on show, a line through it, and its number in place of those close to it."""
    (left, right), plot = x_of(number, content.bars, frame), frame.plot
    wide = max(right - left, 2.0)
    top = min(y_of(value, content.axis, frame), plot.bottom() - 1.0)
    faint = QColor(inks.accent)
    faint.setAlphaF(0.25)
    painter.fillRect(QRectF(left, plot.top(), wide, plot.height()), faint)
    if content.stack is None and not content.group:
        painter.fillRect(QRectF(left, top, wide, plot.bottom() - top), inks.accent)
    else:  # the bar's colours say something: lines beside it mark it
        for side in (left - 1.0, left + wide):
            painter.fillRect(QRectF(side, plot.top(), 1.0, plot.height()), inks.text)
    metrics, text, middle = QFontMetricsF(painter.font()), count_text(number), (left + right) / 2.0
    box = number_box(middle, metrics.horizontalAdvance(text) + 10.0, frame, metrics.height())
    for _, _, other in number_boxes(content.bars, frame, metrics):
        if other.intersects(box.adjusted(-4.0, 0.0, 4.0, 0.0)):
            painter.fillRect(other.adjusted(-1.0, 0.0, 1.0, 0.0), inks.base)
    painter.fillRect(QRectF(middle - 0.5, plot.bottom(), 1.0, 4.0), inks.accent)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.accent)
    painter.drawRoundedRect(box, 3.0, 3.0)
    painter.setPen(inks.on_accent)
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)
    painter.restore()


def _paint_borders(painter: QPainter, content: Content, frame: Frame, inks: Inks) -> None:
    painter.setPen(QPen(inks.text, 1.0, Qt.PenStyle.DashLine))
    for number in content.borders.tolist():
        x = round(x_of(number, content.bars, frame)[0]) - 0.5
        painter.drawLine(QPointF(x, frame.plot.top() - 2.0), QPointF(x, frame.plot.bottom()))


def paint_sign(painter: QPainter, kind: str, middle: QPointF, inks: Inks) -> None:
    """Paint the sign of a mark: each kind has a shape of its own, not only a colour."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(middle)
    r = SIGN / 2.0
    painter.setPen(Qt.PenStyle.NoPen)
    if kind == "stop":
        painter.setBrush(QBrush(inks.stop))
        painter.drawRect(QRectF(-r, -r, SIGN, SIGN))
    elif kind == "look":
        painter.setBrush(QBrush(inks.warn))
        painter.drawPolygon(QPolygonF([QPointF(-r, -r), QPointF(r, -r), QPointF(0.0, r)]))
    elif kind == "pause":
        painter.setBrush(QBrush(inks.text))
        painter.drawRect(QRectF(-r + 0.5, -r, 3.0, SIGN))
        painter.drawRect(QRectF(r - 3.5, -r, 3.0, SIGN))
    elif kind == "tool change":
        painter.setBrush(QBrush(inks.accent))
        painter.drawPolygon(QPolygonF([QPointF(-r, 0.0), QPointF(0.0, -r), QPointF(r, 0.0), QPointF(0.0, r)]))
    else:
        painter.setPen(QPen(inks.faint, 1.5))
        if kind == "note":
            painter.drawEllipse(QPointF(0.0, 0.0), r - 1.0, r - 1.0)
        else:  # a message: lines of writing
            for y in (-3.0, 0.0, 3.0):
                painter.drawLine(QPointF(-r, y), QPointF(r if y < 3.0 else 0.0, y))
    painter.restore()
