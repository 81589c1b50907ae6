"""Buttons in as many rows as the width asks for; they make nothing wider."""

from __future__ import annotations

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from viewer.shown.window.widgets.rows import Rows


def test_rows_are_filled_again_at_another_width_and_another_text(qtbot) -> None:
    pane, buttons = QWidget(), [QPushButton(text) for text in ("Back", "Next", "All causes")]
    qtbot.addWidget(pane)
    rows = Rows(*buttons, parent=pane)
    QVBoxLayout(pane).addWidget(rows)
    pane.show()
    wide = [button.sizeHint().width() for button in buttons]

    def numbers(width: int) -> list[int]:
        pane.resize(width + 40, 200)
        pane.grab()
        return [rows.row_of(button) for button in buttons]

    assert numbers(sum(wide) + 40) == [0, 0, 0]
    assert numbers(wide[0] + wide[1] + 20) == [0, 0, 1]
    qtbot.waitUntil(lambda: buttons[2].y() > buttons[0].y() == buttons[1].y())
    assert numbers(10) == [0, 1, 2]
    assert numbers(sum(wide) + 40) == [0, 0, 0]
    buttons[0].setText("Back " * 20)
    qtbot.waitUntil(lambda: [rows.row_of(button) for button in buttons] == [0, 1, 1])
