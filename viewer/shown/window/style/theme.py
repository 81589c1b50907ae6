"""Light and dark after the system, in our own colours; text as large as the person wants it."""

from __future__ import annotations

from typing import Final, Literal

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QPalette
from PySide6.QtWidgets import QApplication

from viewer.shown.pictures.colours import Rgb, ui
from viewer.shown.window.style.own_style import OwnStyle
from viewer.shown.window.style.scale import LEVELS

Look = Literal["system", "light", "dark"]
LOOKS: Final[tuple[Look, ...]] = ("system", "light", "dark")
SCALES: Final = (0.8, 0.9, 1.0, 1.15, 1.3, 1.5, 1.75, 2.0)
"""Sizes of text beside the system's."""


class Theme(QObject):
    """Palette, style and text size of the whole application."""

    changed = Signal(bool)
    """Whether it is dark now."""

    def __init__(self, application: QApplication, look: Look = "system", scale: float = 1.0) -> None:
        super().__init__(application)
        self._application = application
        known = application.property("usual_point_size")  # a second window must not scale what was scaled
        self._usual = float(known) if known else application.font().pointSizeF()
        application.setProperty("usual_point_size", self._usual)
        self.look, self.scale = look, scale
        application.setStyle(OwnStyle())
        application.styleHints().colorSchemeChanged.connect(self._system_changed)
        self.apply()

    @property
    def dark(self) -> bool:
        """Whether it is dark."""
        if self.look == "system":
            return self._application.styleHints().colorScheme() == Qt.ColorScheme.Dark
        return self.look == "dark"

    def choose(self, look: Look) -> None:
        """Be light, dark, or as the system is."""
        self.look = look
        self.apply()

    def resize_text(self, step: int) -> None:
        """Make text larger (1), smaller (-1) or as usual (0)."""
        at = min(range(len(SCALES)), key=lambda k: abs(SCALES[k] - self.scale))
        self.scale = SCALES[min(max(at + step, 0), len(SCALES) - 1)] if step else 1.0
        self.apply()

    def apply(self) -> None:
        """Set palette, style sheet and font, and tell who paints by itself."""
        font = QFont(self._application.font())
        font.setPointSizeF(self._usual * self.scale)
        self._application.setFont(font)
        self._application.setPalette(palette(self.dark))
        self._application.setStyleSheet(style_sheet(self.dark, font.pointSizeF()))
        self.changed.emit(self.dark)

    def _system_changed(self) -> None:
        if self.look == "system":
            self.apply()


def palette(dark: bool) -> QPalette:
    """Return the application's palette."""
    of = {name: QColor(*rgb) for name, rgb in ui(dark).items()}
    made = QPalette()
    role = QPalette.ColorRole
    edge = _mixed(ui(dark), "window", "text", 0.25)
    for where, colour in {
        role.Window: of["window"], role.WindowText: of["text"], role.Base: of["panel"],
        role.AlternateBase: _mixed(ui(dark), "panel", "window", 0.55), role.Text: of["text"],
        role.Button: _mixed(ui(dark), "window", "panel", 0.5), role.ButtonText: of["text"],
        role.BrightText: of["stop"], role.Highlight: of["accent"], role.HighlightedText: of["on accent"],
        role.Link: of["accent"], role.LinkVisited: of["accent"], role.ToolTipBase: of["panel"],
        role.ToolTipText: of["text"], role.PlaceholderText: of["faint"], role.Mid: edge,
        role.Light: _mixed(ui(dark), "window", "panel", 0.9), role.Dark: edge,
        role.Midlight: _mixed(ui(dark), "window", "text", 0.08), role.Shadow: _mixed(ui(dark), "window", "text", 0.5),
    }.items():  # fmt: skip
        made.setColor(where, colour)
    pale = _mixed(ui(dark), "window", "text", 0.42)
    for where in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, where, pale)
    if hasattr(role, "Accent"):
        made.setColor(role.Accent, of["accent"])
    return made


def style_sheet(dark: bool, points: float) -> str:
    """Return what the palette cannot say: quiet titles of docks, no lines where none are needed, the type scale.

    Parameters
    ----------
    points
        Size of text. Labels with a property ``level`` have another size of the scale.
    """
    colours = ui(dark)
    line = _mixed(colours, "window", "text", 0.14).name()
    names = {name.replace(" ", "_"): QColor(*rgb).name() for name, rgb in colours.items()}
    sizes = {f"size_{name}": f"{points * times:g}pt" for name, times in LEVELS.items()}
    return _SHEET.format(line=line, **names, **sizes)


_SHEET: Final = """
QMainWindow::separator {{ background: {window}; width: 5px; height: 5px; }}
QMainWindow::separator:hover {{ background: {accent}; }}
QDockWidget {{ font-weight: 600; }}
QDockWidget::title {{ background: {window}; padding: 3px 8px; text-align: left; }}
QToolBar {{ background: {window}; border: 0; border-bottom: 1px solid {line}; spacing: 4px; padding: 4px 6px; }}
QStatusBar {{ border-top: 1px solid {line}; }}
QStatusBar::item {{ border: 0; }}
QMenuBar {{ background: {window}; }}
QToolTip {{ background: {panel}; color: {text}; border: 1px solid {line}; padding: 4px; }}
QFrame#banner {{ border: 0; border-left: 4px solid {accent}; background: {panel}; }}
QFrame#banner[severity="warn"] {{ border-left-color: {warn}; }}
QFrame#banner[severity="stop"] {{ border-left-color: {stop}; }}
QFrame#sheet {{ background: {panel}; border: 1px solid {line}; border-radius: 6px; }}
QPushButton#entry {{ border: 0; border-left: 3px solid {line}; background: transparent; }}
QPushButton#entry:hover, QPushButton#entry:focus {{ border-left-color: {accent}; background: {panel}; }}
QToolButton#job {{ border: 1px solid {line}; border-right-width: 0; background: {panel}; padding: 2px 14px;
  font-weight: 600; color: {faint}; border-radius: 0; }}
QToolButton#job[end="first"] {{ border-top-left-radius: 5px; border-bottom-left-radius: 5px; }}
QToolButton#job[end="last"] {{ border-right-width: 1px; border-top-right-radius: 5px; border-bottom-right-radius: 5px; }}
QToolButton#job:hover {{ color: {accent}; }}
QToolButton#job:focus {{ border-color: {accent}; }}
QToolButton#job:checked {{ background: {accent}; color: {on_accent}; border-color: {accent}; }}
QToolButton#job:disabled {{ color: {line}; background: {window}; border-color: {line}; }}
QToolButton#roles {{ border: 1px solid {line}; border-radius: 3px; padding: 2px 20px 2px 8px; }}
QToolButton#roles:hover, QToolButton#roles:focus {{ border-color: {accent}; }}
QToolButton#roles::menu-indicator {{ subcontrol-origin: padding; subcontrol-position: right center; right: 6px; }}
QTableView[padded="true"]::item {{ padding: 0 12px; }}
QTableView[padded="true"] QHeaderView::section {{ padding: 2px 15px; border: 0; border-bottom: 1px solid {line};
  background: {window}; }}
QPushButton[judged="right"]:disabled {{ color: {good}; border: 1px solid {good}; border-radius: 3px; padding: 4px 10px; }}
QPushButton[judged="wrong"]:disabled {{ color: {stop}; }}
QLineEdit[wrong="true"] {{ border: 1px solid {stop}; border-radius: 3px; padding: 3px 0; }}
QLabel#caution {{ border: 0; border-left: 3px solid {warn}; padding-left: 8px; }}
QLabel[faint="true"] {{ color: {faint}; }}
QLabel[wrong="true"] {{ color: {stop}; }}
QLabel[level="headline"] {{ font-size: {size_headline}; font-weight: 600; }}
QLabel[level="value"] {{ font-size: {size_value}; font-weight: 600; }}
QLabel[level="strong"] {{ font-weight: 600; }}
QLabel[level="caption"] {{ font-size: {size_caption}; }}
"""


def _mixed(colours: dict[str, Rgb], first: str, second: str, share: float) -> QColor:
    """Return `share` of the second colour in the first."""
    return QColor(*(round(a + (b - a) * share) for a, b in zip(colours[first], colours[second], strict=True)))
