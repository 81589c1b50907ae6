"""A painter has ended when its block has, also when painting failed."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from viewer.shown.window.widgets.painting import painting


def test_what_was_painted_is_there_and_the_painter_has_ended(qtbot: QtBot) -> None:
    image = QImage(4, 4, QImage.Format.Format_RGB32)
    with painting(image) as painter:
        painter.fillRect(image.rect(), QColor(10, 20, 30))
        assert painter.isActive()
    assert not painter.isActive()
    assert image.pixelColor(3, 3) == QColor(10, 20, 30)


def test_a_failure_that_is_kept_holds_no_painter_at_work(
    qtbot: QtBot, capfd: pytest.CaptureFixture[str]
) -> None:
    kept: list[QPainter] = []

    class Failing(QWidget):
        def paintEvent(self, event: QPaintEvent) -> None:
            with painting(self) as painter:
                kept.append(painter)
                raise RuntimeError("no ink")

    widget = Failing()
    qtbot.addWidget(widget)
    with qtbot.captureExceptions() as caught:
        widget.show()
        qtbot.waitUntil(lambda: bool(caught), timeout=5_000)
        widget.hide()
    assert str(caught[0][1]) == "no ink"
    assert not any(painter.isActive() for painter in kept)
    assert "endPaint" not in capfd.readouterr().err
