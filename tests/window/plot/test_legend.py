"""What the legend says."""

from __future__ import annotations

from PySide6.QtCore import QPointF, Qt
from pytestqt.qtbot import QtBot

from viewer.shown.pictures.bead_values import Span
from viewer.shown.pictures.legend_texts import tick_texts
from viewer.shown.pictures.scene import ColourKey, Swatch
from viewer.shown.window.plot.legend import Legend


def test_texts_of_the_legend() -> None:
    assert tick_texts(Span(0.0, 80.0, (0.0, 40.0, 80.0), above=True)) == ("0", "40", "≥ 80")
    assert tick_texts(Span(0.44, 0.46, (0.44, 0.45, 0.46), below=True)) == ("≤ 0.44", "0.45", "0.46")
    assert tick_texts(Span(0.2, 0.2, (0.2,))) == ("0.20",)


def test_legend_without_a_program(qtbot: QtBot) -> None:
    legend = Legend()
    qtbot.addWidget(legend)
    legend.show_key(None, (), False)
    legend.show()
    assert legend.accessibleDescription() == "nothing is drawn"


def test_entries_are_pressed_by_mouse_and_by_keys(qtbot: QtBot) -> None:
    swatches = tuple(Swatch(name, (20, 60, 120), 100.0) for name in ("outline", "infill"))
    legend, pressed = Legend(), []
    qtbot.addWidget(legend)
    legend.resize(300, 60)
    legend.show_key(ColourKey("role", "mm", swatches), ("retract",), False)
    legend.show()
    legend.pressed.connect(pressed.append)
    for name in ("infill", "retract"):
        qtbot.mouseClick(legend, Qt.MouseButton.LeftButton, pos=legend.place_of(name).center().toPoint())
    assert pressed == ["infill", "retract"]
    assert legend.entry_at(QPointF(299.0, 59.0)) == ""
    qtbot.keyClick(legend, Qt.Key.Key_Left)
    qtbot.keyClick(legend, Qt.Key.Key_Left)
    qtbot.keyClick(legend, Qt.Key.Key_Left)
    assert legend.accessibleName() == "Legend: outline 100 mm"
    qtbot.keyClick(legend, Qt.Key.Key_Return)
    assert pressed[-1] == "outline"
