"""The program's icons: SVG drawn on a 24 x 24 grid, coloured for light and dark when they are loaded."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from viewer.errors import OutputError
from viewer.shown.window.style.tones import tone

SIZES: Final = (16, 20, 24, 32, 48, 64)
"""Edges in pixels of the screen, at one pixel a dot; each is drawn for two as well."""
PROGRAM_SIZES: Final = (16, 24, 32, 48, 64, 128, 256)
DISABLED: Final = 0.4
"""Opacity of an icon whose action is not there."""
PROGRAM_ICON: Final = "beadline"


@lru_cache(maxsize=256)
def icon(name: str, dark: bool, colour: str = "text") -> QIcon:
    """Return an icon.

    Parameters
    ----------
    name
        Of its file without ``.svg``.
    dark
        Whether it stands on a dark ground.
    colour
        Which of the window's colours (`colours.ui`) it has; the program's own icon keeps its two.

    Raises
    ------
    OutputError
        There is no such icon.
    """
    drawing = _text(name)
    made = QIcon()
    for size in PROGRAM_SIZES if name == PROGRAM_ICON else SIZES:
        for ratio in (1, 2):
            drawn = _drawn(drawing, size, ratio, tone(colour, dark).name())
            made.addPixmap(drawn)
            made.addPixmap(_faint(drawn), QIcon.Mode.Disabled)
    return made


def _drawn(drawing: str, size: int, ratio: int, colour: str) -> QPixmap:
    renderer = QSvgRenderer(QByteArray(drawing.replace("currentColor", colour).encode()))
    renderer.setAspectRatioMode(Qt.AspectRatioMode.KeepAspectRatio)
    pixmap = QPixmap(size * ratio, size * ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    renderer.render(painter, QRectF(0, 0, size * ratio, size * ratio))
    painter.end()
    pixmap.setDevicePixelRatio(ratio)
    return pixmap


def _faint(drawn: QPixmap) -> QPixmap:
    """Return a picture that is half seen through, also where its strokes cross."""
    pixmap = QPixmap(drawn.size())
    pixmap.setDevicePixelRatio(drawn.devicePixelRatio())
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setOpacity(DISABLED)
    painter.drawPixmap(0, 0, drawn)
    painter.end()
    return pixmap


@lru_cache(maxsize=256)
def _text(name: str) -> str:
    path = _folder() / f"{name}.svg"
    try:
        return path.read_text(encoding="utf-8")
    except OSError as problem:
        why = problem.strerror or problem
        raise OutputError(
            f"The icon {path} could not be read ({why}); install the program again."
        ) from problem


@lru_cache(maxsize=1)
def _folder() -> Path:
    """Return where the icons lie: in the installed package, or in the top folder of a checkout."""
    window = Path(__file__).resolve().parents[1]
    installed = window / "icons"
    return installed if installed.is_dir() else window.parents[2] / "icons"
