"""What stands in the middle while there is no program: ways to open one, samples, and a word of caution."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from viewer.shown.window.actions.bindings import shown_key
from viewer.shown.window.shell.recent.entry import Entry, GlanceEntry
from viewer.shown.window.shell.recent.glance import Glances
from viewer.shown.window.style.scale import space
from viewer.shown.window.widgets.return_button import ReturnButton
from viewer.shown.window.widgets.texts import wrapped

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
BESIDE_LETTERS: Final = 128
"""Width of the page, in letters, from which on the two lists stand side by side."""


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
    wants_inbox = Signal()

    def __init__(
        self, recent: Sequence[Path], glances: Glances | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._glances = glances
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
        column.addWidget(wrapped("Look at a program before it is printed", level="headline"))
        column.addWidget(
            wrapped(
                "How long it takes and what it costs, whether its first layer will hold, where the time goes, and"
                " which line of the file lays which bead."
            )
        )
        column.addSpacing(10)
        column.addLayout(self._opening())
        column.addSpacing(18)
        self._lists = QGridLayout()
        self._lists.setHorizontalSpacing(space(8))
        self._lists.setVerticalSpacing(space(2))
        self._recent = QVBoxLayout()
        self._halves: tuple[tuple[QLabel, QVBoxLayout], ...] = (
            (wrapped("Opened lately", level="value"), self._recent),
            (wrapped("Samples", level="value"), self._samples()),
        )
        column.addLayout(self._lists)
        column.addStretch(1)
        column.addWidget(wrapped(CAUTION, faint=True))
        self.notice = wrapped("", faint=True)
        self.notice.setMinimumHeight(
            2 * self.fontMetrics().height()
        )  # so that nothing moves when it says something
        column.addWidget(self.notice)
        self.setWidget(page)
        self._beside: bool | None = None
        """The lists stand side by side; None: nowhere yet."""
        self._arrange()
        self.show_recent(recent)

    def show_recent(self, recent: Sequence[Path]) -> None:
        """List the programs opened lately."""
        while (item := self._recent.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self._recent.setSpacing(4)
        for path in recent[:RECENT_SHOWN]:
            self._recent.addWidget(self._recent_entry(path))
        if not recent:
            self._recent.addWidget(wrapped("None yet.", faint=True))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the lists one below the other where there is no room for them side by side."""
        super().resizeEvent(event)
        self._arrange()

    def changeEvent(self, event: QEvent) -> None:
        """Follow the size of text."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange and hasattr(self, "_beside"):
            self._arrange()

    def _arrange(self) -> None:
        beside = self.width() >= BESIDE_LETTERS * self.fontMetrics().averageCharWidth()
        if beside == self._beside:
            return
        self._beside = beside
        for k, (title, entries) in enumerate(self._halves):
            row, column = (0, k) if beside else (2 * k, 0)
            self._lists.removeItem(entries)
            self._lists.addWidget(title, row, column)
            self._lists.addLayout(entries, row + 1, column, Qt.AlignmentFlag.AlignTop)
        self._lists.setColumnStretch(0, 1)
        self._lists.setColumnStretch(1, 1 if beside else 0)

    def _opening(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.open_button = ReturnButton("Open a program…", self)
        self.open_button.setMinimumHeight(36)
        self.open_button.setToolTip(f"Choose a file ({shown_key('Ctrl+O')})")
        self.open_button.clicked.connect(self.wants_dialog)
        self.inbox_button = ReturnButton("Many programs…", self)
        self.inbox_button.setMinimumHeight(36)
        self.inbox_button.setToolTip(f"Watch folders: a row for each program ({shown_key('Ctrl+I')})")
        self.inbox_button.clicked.connect(self.wants_inbox)
        row.addWidget(self.open_button)
        row.addSpacing(8)
        row.addWidget(self.inbox_button)
        hint = wrapped("or drop a file or a folder on this window", faint=True)
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
            column.addWidget(wrapped("The sample programs were not installed.", faint=True))
        return column

    def _recent_entry(self, path: Path) -> Entry:
        """Return the entry of a program opened lately, with what is kept of it."""
        glances = self._glances
        glance = None if glances is None else glances.read(path)
        if glances is None or glance is None:
            return self._entry(path, str(path.parent))
        pictures = (glances.picture(path, dark=False), glances.picture(path, dark=True))
        return self._opening_on_click(GlanceEntry(path, glance, pictures, self), path)

    def _entry(self, path: Path, below: str) -> Entry:
        return self._opening_on_click(Entry(path.name, below, self), path)

    def _opening_on_click(self, entry: Entry, path: Path) -> Entry:
        entry.setToolTip(str(path))
        entry.clicked.connect(lambda: self.wants.emit(path))
        return entry
