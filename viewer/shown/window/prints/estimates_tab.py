"""How good estimates have been on a printer, and which value of its card the error points to."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from viewer.numerals import counted_text
from viewer.shown.log_text import accuracy_text, proposal_text
from viewer.shown.window.prints.estimate_chart import chart_of, held_text
from viewer.shown.window.prints.estimate_plot import EstimatePlot
from viewer.shown.window.prints.log_content import Computed
from viewer.shown.window.style.scale import space
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.short_label import ShortLabel

NONE_YET = "How good estimates are shows with more than three prints that were done on one printer."


class EstimatesTab(QWidget):
    """The plot of one printer, and what it says in words."""

    opened = Signal(int)
    """The number of a print that a person wants to see."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._computed = Computed()
        self.printer = Choice(self)
        self.printer.setAccessibleName("printer")
        self.printer.setSizeAdjustPolicy(Choice.SizeAdjustPolicy.AdjustToContents)
        self.printer.currentIndexChanged.connect(self._show_printer)
        self.legend = ShortLabel(self)
        self.legend.setText(
            "Real times (dots) against computed ones, and where they should lie (bars). Red: outside. Hollow: left out."
        )
        self.legend.setProperty("faint", True)
        self.plot = EstimatePlot(self)
        self.plot.opened.connect(self.opened)
        self.words = QLabel(self, wordWrap=True)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        head = QHBoxLayout()
        head.addWidget(self.printer)
        head.addSpacing(space(2))
        head.addWidget(self.legend, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, space(3), 0, 0)
        column.setSpacing(space(2))
        column.addLayout(head)
        column.addWidget(self.plot, 1)
        column.addWidget(self.words)
        self.show_computed(self._computed)

    def show_computed(self, found: Computed) -> None:
        """Show what follows from the prints; the chosen printer stays."""
        self._computed = found
        chosen = self.printer.currentData()
        self.printer.blockSignals(True)
        self.printer.clear()
        for name, points in found.points.items():
            self.printer.addItem(f"{name}, {counted_text(len(points), 'print')} done", name)
        self.printer.setCurrentIndex(max(self.printer.findData(chosen), 0))
        self.printer.blockSignals(False)
        for widget in (self.printer, self.legend, self.plot):
            widget.setVisible(bool(found.points))
        self._show_printer()

    def _show_printer(self, *_: object) -> None:
        name = str(self.printer.currentData() or "")
        points = self._computed.points.get(name, [])
        self.plot.show_chart(chart_of(points))
        if not points:
            self.words.setText(NONE_YET)
            self.words.setAlignment(Qt.AlignmentFlag.AlignCenter)
            return
        lines = [held_text(points)]
        lines += [accuracy_text(one) for one in self._computed.accuracy if one.printer == name]
        if name in self._computed.proposals:
            lines.append(proposal_text(name, self._computed.proposals[name]))
        self.words.setAlignment(Qt.AlignmentFlag.AlignLeft)
        self.words.setText("\n".join(lines))
