"""`Inks`: what panes paint themselves with: text and background of the palette, and our own accents."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPalette
from PySide6.QtWidgets import QWidget

from viewer.shown.pictures.colours import ui
from viewer.shown.window.style.scale import CAPTION, sized_font

_MIDDLE: Final = 128
"""A background whose lightness is below this counts as dark."""


@dataclass(frozen=True, slots=True)
class Inks:
    """Colours of one pane."""

    base: QColor
    text: QColor
    faint: QColor
    """Of labels that step back; at least 4.5:1 against the base."""
    grid: QColor
    bar: QColor
    """Half way between text and base: at least 3:1 against both."""
    accent: QColor
    on_accent: QColor
    warn: QColor
    stop: QColor
    dark: bool
    """The base is dark."""


def inks_of(palette: QPalette) -> Inks:
    """Return the colours that suit a palette."""
    base, text = palette.color(QPalette.ColorRole.Base), palette.color(QPalette.ColorRole.Text)
    dark = is_dark(palette)
    own = {name: QColor(*rgb) for name, rgb in ui(dark).items()}
    return Inks(
        base=base,
        text=text,
        faint=own["faint"],
        grid=own["grid"],
        bar=mixed(text, base, 0.5),
        accent=own["accent"],
        on_accent=own["on accent"],
        warn=own["warn"],
        stop=own["stop"],
        dark=dark,
    )


def is_dark(palette: QPalette) -> bool:
    """Whether a palette's background is dark."""
    return palette.color(QPalette.ColorRole.Base).lightness() < _MIDDLE


def mixed(one: QColor, other: QColor, share: float) -> QColor:
    """Return `share` of one colour and the rest of the other."""
    first, second = ((c.red(), c.green(), c.blue()) for c in (one, other))
    red, green, blue = (round(share * a + (1.0 - share) * b) for a, b in zip(first, second, strict=True))
    return QColor(red, green, blue)


def small_font(widget: QWidget) -> QFont:
    """Return the widget's font a little smaller, for ticks and labels."""
    return sized_font(widget, CAPTION)


def elided(text: str, font: QFont, width: float) -> str:
    """Return the text shortened with an ellipsis so that it fits."""
    return QFontMetrics(font).elidedText(text, Qt.TextElideMode.ElideRight, int(width))
