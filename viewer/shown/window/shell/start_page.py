"""What stands in the middle while there is no program: ways to open one, samples, and a word of caution."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from viewer.shown.window.actions.bindings import shown_key
from viewer.shown.window.model.short_words import short_words

SAMPLES: Final = {
    "tap_washer_tray.gcode": "one part with a brim, infill and support under a ledge",
    "lamp_shade_ring_spiral.gcode": "three solid layers, then one wall laid as a spiral",
    "small_parts_plate.gcode": "nine small parts, layer by layer",
    "drawer_glides_one_by_one.gcode": "two objects, one after the other",
    "radiator_knob_arcs.gcode": "true arcs and relative extrusion",
    "radiator_dial_two_tools.gcode": "two tools with purge blocks",
    "coat_hook_pause.gcode": "a pause to change the filament",
}
CAUTION: Final = (
    "Beadline reads a program and tells what it checked and what it did not. Nozzles and plates get hot, axes move"
    " and pinch, melted plastic gives off fumes: follow the machine's manual, local rules and the place's own policy."
)
RECENT_SHOWN: Final = 7


def samples_folder() -> Path | None:
    """Return the folder of the sample programs: the installed package's or the checkout's."""
    installed = Path(str(resources.files("viewer.shown.window"))) / "samples"
    beside = Path(__file__).parents[4] / "sample_programs"
    return next((folder for folder in (installed, beside) if (folder / next(iter(SAMPLES))).is_file()), None)


class StartPage(QScrollArea):
    """The first page."""

    wants_dialog = Signal()
    wants = Signal(Path)
    """A program to open."""

    def __init__(self, recent: Sequence[Path], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        page = QWidget(self)
        outer = QHBoxLayout(page)
        outer.addStretch(1)
        column = QVBoxLayout()
        column.setContentsMargins(24, 36, 24, 24)
        column.setSpacing(10)
        outer.addLayout(column, 8)
        outer.addStretch(1)
        column.addWidget(_title("Look at a program before it is printed", 1.7))
        column.addWidget(
            _wrapped(
                "How long it takes and what it costs, whether its first layer will hold, where the time goes, and"
                " which line of the file lays which bead."
            )
        )
        column.addSpacing(10)
        column.addLayout(self._opening())
        column.addSpacing(18)
        lists = QGridLayout()
        lists.setHorizontalSpacing(32)
        lists.setColumnStretch(0, 1)
        lists.setColumnStretch(1, 1)
        self._recent = QVBoxLayout()
        lists.addWidget(_title("Opened lately", 1.15), 0, 0)
        lists.addLayout(self._recent, 1, 0, Qt.AlignmentFlag.AlignTop)
        lists.addWidget(_title("Samples", 1.15), 0, 1)
        lists.addLayout(self._samples(), 1, 1, Qt.AlignmentFlag.AlignTop)
        column.addLayout(lists)
        column.addStretch(1)
        column.addWidget(_wrapped(CAUTION, faint=True))
        self.notice = _wrapped("", faint=True)
        self.notice.setMinimumHeight(
            2 * self.fontMetrics().height()
        )  # so that nothing moves when it says something
        column.addWidget(self.notice)
        self.setWidget(page)
        self.show_recent(recent)

    def show_recent(self, recent: Sequence[Path]) -> None:
        """List the programs opened lately."""
        while (item := self._recent.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self._recent.setSpacing(4)
        for path in recent[:RECENT_SHOWN]:
            self._recent.addWidget(self._entry(path, str(path.parent)))
        if not recent:
            self._recent.addWidget(_wrapped("None yet.", faint=True))

    def _opening(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.open_button = PressedByReturn("Open a program…", self)
        self.open_button.setMinimumHeight(36)
        self.open_button.setToolTip(f"Choose a file ({shown_key('Ctrl+O')})")
        self.open_button.clicked.connect(self.wants_dialog)
        row.addWidget(self.open_button)
        hint = _wrapped(f"or drop a file on this window, or press {shown_key('Ctrl+O')}", faint=True)
        row.addSpacing(8)
        row.addWidget(hint, 1)
        return row

    def _samples(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(4)
        folder = samples_folder()
        for name, what in SAMPLES.items():
            if folder is not None and (folder / name).is_file():
                column.addWidget(self._entry(folder / name, what))
        if not column.count():
            column.addWidget(_wrapped("The sample programs were not installed.", faint=True))
        return column

    def _entry(self, path: Path, below: str) -> Entry:
        entry = Entry(path.name, below, self)
        entry.setToolTip(str(path))
        entry.clicked.connect(lambda: self.wants.emit(path))
        return entry


class PressedByReturn(QPushButton):
    """A button that Return presses, too, as a person expects of a list of things to open."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Press it on Return and Enter."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
        else:
            super().keyPressEvent(event)


class Entry(PressedByReturn):
    """A program to open: its name, and a line below in smaller print; too long a line is cut in its middle."""

    def __init__(self, name: str, below: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines = (name, below)
        self.setAccessibleName(name)
        self.setAccessibleDescription(below)
        self.setObjectName("entry")
        self.setFlat(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        box = QVBoxLayout(self)
        box.setContentsMargins(12, 5, 6, 5)
        box.setSpacing(1)
        self._labels = (QLabel(self), QLabel(self))
        self._labels[1].setProperty("faint", "true")
        for label in self._labels:
            label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
            box.addWidget(label)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Fit the lines again when the text's size changes."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def resizeEvent(self, event: object) -> None:
        """Cut what is too long."""
        super().resizeEvent(event)  # type: ignore[arg-type]
        self._fit()

    def _fit(self) -> None:
        width = max(self.width() - 20, 60)
        for label, line in zip(self._labels, self._lines, strict=True):
            metrics = QFontMetrics(label.font())
            label.setText(metrics.elidedText(line, Qt.TextElideMode.ElideMiddle, width))
        self.setFixedHeight(self._labels[0].sizeHint().height() + self._labels[1].sizeHint().height() + 13)


class WaitPage(QWidget):
    """What stands in the middle while a program is read and nothing of it can be shown yet."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.addStretch(1)
        self._name = _title("", 1.3)
        self._name.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self._why = _wrapped("", faint=True)
        self._why.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        column.addWidget(self._name)
        column.addWidget(self._why)
        column.addStretch(1)

    def wait_for(self, name: str) -> None:
        """Say what is being read."""
        self._name.setText(f"Reading {short_words(name)} …")
        self._why.setText("")

    def explain(self, why: str) -> None:
        """Say why it takes longer."""
        self._why.setText(why)

    @property
    def words(self) -> str:
        """All that stands on the page."""
        return f"{self._name.text()}\n{self._why.text()}".strip()


class Title(QLabel):
    """A heading that grows with the text's size."""

    def __init__(self, text: str, times: float) -> None:
        super().__init__(text)
        self._times, self._sized = times, 0.0
        self.setWordWrap(True)
        self._size()

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the application's font."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.ApplicationFontChange, QEvent.Type.FontChange):
            self._size()

    def _size(self) -> None:
        from PySide6.QtWidgets import QApplication

        size = QApplication.font().pointSizeF() * self._times
        if size != self._sized:
            self._sized = size
            font = QApplication.font()
            font.setPointSizeF(size)
            font.setWeight(font.Weight.DemiBold)
            self.setFont(font)


def _title(text: str, times: float) -> Title:
    return Title(text, times)


def _wrapped(text: str, faint: bool = False) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    if faint:
        label.setProperty("faint", "true")
    return label
