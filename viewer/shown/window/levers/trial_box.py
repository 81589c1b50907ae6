"""The trial: a slider for each lever that is tried, and the hours that follow the hand."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QSlider, QVBoxLayout, QWidget

from viewer.shown.window.levers.lever_lines import factor_at, step_of, steps_of, value_at
from viewer.shown.window.widgets.texts import sized
from viewer.why.trials import Outcome


class TrialBox(QWidget):
    """Sliders of a trial; it computes nothing."""

    moved = Signal()
    """A slider has another position, or one came or went."""
    keep_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._outcomes: dict[str, Outcome] = {}
        self.sliders: dict[str, QSlider] = {}
        self._values: dict[str, QLabel] = {}
        self.hours, self.saved, self.told = QLabel(self), QLabel(self), QLabel(self)
        self.keep, self.drop = QPushButton("Keep as a card", self), QPushButton("Drop", self)
        self._grid = QGridLayout()
        self._arrange()
        self.keep.clicked.connect(self.keep_wanted)
        self.drop.clicked.connect(self.clear)
        self.hide()

    def _arrange(self) -> None:
        sized(self.hours, "headline")
        self.told.setWordWrap(True)
        self.told.hide()
        self.keep.setToolTip("Write the machine's part of the trial as a printer card of your own")
        line, buttons = QHBoxLayout(), QHBoxLayout()
        line.addWidget(self.hours)
        line.addWidget(self.saved, 1)
        buttons.addWidget(self.keep)
        buttons.addWidget(self.drop)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 8)
        column.addWidget(QLabel("Trial (not saved)", self))
        column.addLayout(self._grid)
        column.addLayout(line)
        column.addWidget(self.told)
        column.addLayout(buttons)

    def complain(self, sentence: str) -> None:
        """Say what went wrong; "" takes that back."""
        self.told.setText(sentence)
        self.told.setVisible(bool(sentence))

    @property
    def trial(self) -> dict[str, float]:
        """Lever and factor of each slider."""
        return {
            name: factor_at(self._outcomes[name].lever, slider.value())
            for name, slider in self.sliders.items()
        }

    def add(self, outcome: Outcome) -> None:
        """Add the slider of a lever at its usual try; one that is there gets the focus."""
        name = outcome.lever.name
        if name not in self.sliders:
            self._add_row(outcome)
            self.show()
            self._changed(name)
        self.sliders[name].setFocus(Qt.FocusReason.OtherFocusReason)

    def _add_row(self, outcome: Outcome) -> None:
        name, row = outcome.lever.name, self._grid.rowCount()
        slider, value, title = (
            QSlider(Qt.Orientation.Horizontal, self),
            QLabel(self),
            QLabel(outcome.title, self),
        )
        slider.setRange(0, steps_of(outcome.lever))
        slider.setValue(step_of(outcome.lever, outcome.usual.factor))
        slider.setAccessibleName(outcome.title)
        title.setBuddy(slider)
        self._outcomes[name], self.sliders[name], self._values[name] = outcome, slider, value
        for column, widget in enumerate((title, slider, value)):
            self._grid.addWidget(widget, row, column)
        slider.valueChanged.connect(lambda _: self._changed(name))

    def _changed(self, name: str) -> None:
        outcome = self._outcomes[name]
        text = value_at(outcome, factor_at(outcome.lever, self.sliders[name].value()))
        self._values[name].setText(text)
        self.sliders[name].setAccessibleDescription(text)
        self.moved.emit()

    def clear(self) -> None:
        """Take all sliders away."""
        had_any = bool(self.sliders)
        while self._grid.count():
            item = self._grid.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._outcomes, self.sliders, self._values = {}, {}, {}
        self.complain("")
        self.hide()
        if had_any:
            self.moved.emit()
