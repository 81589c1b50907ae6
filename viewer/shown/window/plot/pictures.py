"""The plot as a picture of pixels: grabbed, put on the clipboard, saved as PNG."""

from __future__ import annotations

import os

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QPoint
from PySide6.QtGui import QGuiApplication, QImage, QImageWriter, QPainter
from PySide6.QtWidgets import QWidget

from viewer.errors import OutputError
from viewer.written import write_whole


def grab(widget: QWidget, scale: float) -> QImage:
    """Return a widget as a picture of ``scale`` pixels to one of the screen's unit."""
    layout = widget.layout()
    if layout is not None:
        layout.activate()  # what was set a moment ago has its place only now
    size = widget.size()
    image = QImage(round(size.width() * scale), round(size.height() * scale), QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(scale)
    image.fill(widget.palette().color(widget.backgroundRole()))
    painter = QPainter(image)
    widget.render(painter, QPoint(0, 0))
    painter.end()
    return image


def copy(image: QImage) -> None:
    """Put a picture on the clipboard."""
    QGuiApplication.clipboard().setImage(image)


def save_png(path: str | os.PathLike[str], image: QImage) -> None:
    """Write a picture as PNG.

    Raises
    ------
    OutputError
        It could not be written; nothing was left half-written.
    """
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    if not QImageWriter(buffer, QByteArray(b"png")).write(image):
        raise OutputError(
            f"{path}: the picture could not be turned into PNG; make the window smaller and try again."
        )
    write_whole(path, [bytes(buffer.data().data())])
