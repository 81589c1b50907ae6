"""The picture of the beads as an item of the plot."""

from __future__ import annotations

import numpy as np
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import (
    QImage,
    QPainter,
    QTransform,
)

from viewer.beads.draw import U32, View
from viewer.shown.window.plot.px_item import PxItem


class PictureItem(PxItem):
    """The picture of the beads; between two pictures the old one is moved and stretched to where it belongs."""

    def __init__(self) -> None:
        super().__init__()
        self._image: QImage | None = None
        self._pixels: U32 | None = None
        """What `_image` shows: it shares their memory."""
        self._view = View(0.0, 0.0, 1.0)

    def show_picture(self, pixels: U32, view: View, ratio: float) -> None:
        """Show another picture: (rows, columns) premultiplied 0xAARRGGBB, `ratio` to one of the screen's unit."""
        rows, columns = pixels.shape
        flat = np.ascontiguousarray(pixels)
        image = QImage(flat.data, columns, rows, 4 * columns, QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(ratio)
        self._image, self._pixels, self._view = image, flat, view
        self.update()

    @property
    def view_of_picture(self) -> View | None:
        """Where the picture that is shown looks; None: none is."""
        return None if self._image is None else self._view

    def clear(self) -> None:
        """Show none."""
        if self._image is not None:
            self._image = self._pixels = None
            self.update()

    def paint_px(self, painter: QPainter, area: QRectF, world: QTransform) -> None:
        """Paint the picture pixel by pixel where the view is that of the picture."""
        if self._image is None:
            return
        ratio = self._image.devicePixelRatio()
        scale = self._view.px_per_mm / ratio
        corner = world.map(QPointF(self._view.left_mm, self._view.top_mm))
        if abs(world.m11() / scale - 1.0) < 1e-6:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, False)
            painter.drawImage(
                QPointF(round(corner.x() * ratio) / ratio, round(corner.y() * ratio) / ratio), self._image
            )
            return
        stretch = world.m11() / self._view.px_per_mm
        painter.drawImage(
            QRectF(corner.x(), corner.y(), self._image.width() * stretch, self._image.height() * stretch),
            self._image,
        )
