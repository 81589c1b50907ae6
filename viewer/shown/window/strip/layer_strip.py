"""The layer strip: one bar a layer, and the way to the layers: press, drag, turn the wheel, use the keys."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from viewer.shown.window.model.view_state import STRIP_QUANTITIES, ViewState
from viewer.shown.window.strip.strip_canvas import StripCanvas
from viewer.shown.window.widgets.caption import Caption
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed


class LayerStrip(QWidget):
    """Choice of quantity and reading above, the bars below."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.canvas = StripCanvas(state, self)
        self.quantity = Choice(self)
        self.quantity.setAccessibleName("what the bars of the layer strip show")
        for key, text in STRIP_QUANTITIES.items():
            self.quantity.addItem(text.rsplit(",", 1)[0], key)
        self.quantity.activated.connect(lambda _: state.show_quantity(self.quantity.currentData()))
        self.reading = Caption(self)
        self.setFocusProxy(self.canvas)
        self.quantity.settled.connect(self.canvas.setFocus)
        self.reading.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.head = head = QHBoxLayout()
        """The row above the bars: the slider of moments stands in it, too, in the window."""
        head.setContentsMargins(6, 2, 6, 0)
        head.setSpacing(12)
        head.addWidget(self.quantity)
        head.addWidget(self.reading, 2)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(2)
        box.addLayout(head)
        box.addWidget(self.canvas, 1)
        listen_until_destroyed(
            self, state, self._tell, "program", "layer", "strip", "findings", "trial", "times"
        )
        self._tell()

    def _tell(self) -> None:
        """Say which layer is on show, and its value."""
        self.quantity.setCurrentIndex(self.quantity.findData(self._state.strip))
        texts = self.canvas.readings()
        self.reading.show_texts(texts)
        self.canvas.setAccessibleDescription(texts[0])
