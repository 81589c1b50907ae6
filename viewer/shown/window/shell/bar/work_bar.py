"""What is under way, in the status bar: stage, share, and a way to stop it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QToolButton, QWidget

from viewer.shown.window.actions.bindings import shown_key
from viewer.shown.window.model.short_words import short_words
from viewer.shown.window.threads.loading import STAGES

_PARTS = 1000


class WorkBar(QWidget):
    """Hidden while nothing is under way."""

    cancelled = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.stage = QLabel(self)
        self.share = QProgressBar(self)
        self.share.setTextVisible(False)
        self.share.setFixedWidth(160)
        self.share.setMaximumHeight(12)
        self.stop = QToolButton(self)
        self.stop.setText("Stop")
        self.stop.setToolTip(f"Stop reading or checking ({shown_key('Ctrl+.')})")
        self.stop.clicked.connect(self.cancelled)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 8, 0)
        row.setSpacing(8)
        for part in (self.stage, self.share, self.stop):
            row.addWidget(part)
        self._about = ""
        self.hide()

    def begin(self, about: str) -> None:
        """Something began; `about` is a file's name, "" for getting ready."""
        self._about = short_words(about)
        self.stop.setVisible(bool(about))
        self.tell("reading" if about else "engine", 0.0)
        self.show()

    def tell(self, stage: str, share: float) -> None:
        """Show how far a stage is; a share of 0 means that it is not known."""
        self.stage.setText(" ".join(filter(None, (STAGES.get(stage, stage), self._about))))
        # else it paints at once, and with it all that waits in the window
        self.share.setUpdatesEnabled(False)
        self.share.setMaximum(_PARTS if share > 0.0 else 0)
        self.share.setValue(min(int(share * _PARTS), _PARTS))
        self.share.setUpdatesEnabled(True)

    def end(self) -> None:
        """Nothing is under way any more."""
        self.hide()
