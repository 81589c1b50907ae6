"""The type scale and the spacing grid of the window, written down once.

Sizes are times the text's size, which a person chooses; distances are steps of four pixels.
"""

from __future__ import annotations

from typing import Final

from PySide6.QtGui import QFont
from PySide6.QtWidgets import QWidget

CAPTION: Final = 0.9
"""Questions, ticks, what steps back."""
TEXT: Final = 1.0
"""What is read; strong where it says what the lines below it are about."""
VALUE: Final = 1.15
"""An answer, the title of a list."""
HEADLINE: Final = 1.7
"""What the eye goes to first: one on a page."""
LEVELS: Final = {"caption": CAPTION, "text": TEXT, "strong": TEXT, "value": VALUE, "headline": HEADLINE}
"""By the names that labels have as their property ``level``: the style sheet sizes them (`theme.style_sheet`)."""
STEP_PX: Final = 4


def space(steps: int) -> int:
    """Return a distance of the grid in pixels."""
    return steps * STEP_PX


def sized_font(widget: QWidget, times: float, strong: bool = False) -> QFont:
    """Return the widget's font in a size of the scale."""
    font = QFont(widget.font())
    if font.pointSizeF() > 0:
        font.setPointSizeF(font.pointSizeF() * times)
    else:
        font.setPixelSize(max(1, round(font.pixelSize() * times)))
    if strong:
        font.setWeight(QFont.Weight.DemiBold)
    return font
