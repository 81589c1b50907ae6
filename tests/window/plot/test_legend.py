"""What the legend says."""

from __future__ import annotations

from pytestqt.qtbot import QtBot

from viewer.shown.pictures.bead_values import Span
from viewer.shown.pictures.legend_texts import tick_texts
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
