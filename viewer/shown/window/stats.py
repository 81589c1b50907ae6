"""Stats: the figures of the program, the layer and the bead, grouped; each explained, each copied, all saved."""

from __future__ import annotations

import csv
import io
from itertools import groupby
from pathlib import Path
from typing import Final

from PySide6.QtCore import QIODevice, QModelIndex, QPoint, QSaveFile, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QMenu,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from viewer.errors import OutputError
from viewer.shown.rows import Row, bead_rows, layer_rows, program_rows
from viewer.shown.window.stats_model import PARTS, Part, StatsModel
from viewer.shown.window.stats_view import StatsView
from viewer.shown.window.view_state import ViewState

CSV_HEAD: Final = ("part", "group", "name", "value", "unit", "text", "how")
_NOTHING: Final[dict[Part, str]] = {
    "program": "No program is open. Open one to see its figures.",
    "layer": "This program lays no beads, so it has no layers.",
    "bead": "Point at a bead or press on it to see its figures.",
}


class StatsPane(QWidget):
    """A tree of figures; what it shows follows the layer on show and the bead under the pointer."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.model = StatsModel(self)
        self.view = StatsView(self)
        self.view.setModel(self.model)
        self.view.setAccessibleName("figures of the program, the layer and the bead")
        self.view.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        self.view.customContextMenuRequested.connect(self._ask_what)
        self.message = QLabel(self)
        self.message.setWordWrap(True)
        self.message.hide()
        copy = QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), self.view)
        copy.setContext(Qt.ShortcutContext.WidgetShortcut)
        copy.activated.connect(self.copy_selected)
        self._arrange()
        self._listen()
        self._show_program()

    def _listen(self) -> None:
        self._state.listen("program", self._show_program)
        self._state.listen("layer", self._show_layer)
        self._state.listen("selection", self._show_bead)
        self._state.listen("hover", self._show_bead)

    def _arrange(self) -> None:
        self.setFocusProxy(self.view)
        row = QHBoxLayout()
        row.setContentsMargins(6, 2, 6, 4)
        self.copy_button = _button("Copy all", "Put all figures on the clipboard, a line each", self)
        self.copy_button.clicked.connect(lambda _: self.copy_all())
        self.save_button = _button("Save…", "Save all figures as a table (CSV)", self)
        self.save_button.clicked.connect(lambda _: self.ask_and_export())
        row.addWidget(self.copy_button)
        row.addWidget(self.save_button)
        row.addWidget(self.message, 1)
        row.addStretch()
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(self.view, 1)
        box.addLayout(row)

    def rows(self) -> list[tuple[Part, Row]]:
        """Give all figures on show, in order, with the part they belong to."""
        return [(part, row) for part in PARTS for row in self.model.rows_of(part)]

    def copy_selected(self) -> None:
        """Put the selected figure on the clipboard; of a group, all its figures."""
        rows = self.model.rows_at(self.view.currentIndex())
        if rows:
            QApplication.clipboard().setText("\n".join(f"{row.name}\t{row.text}" for row in rows))
            self._say("Copied.")

    def copy_all(self) -> None:
        """Put all figures on the clipboard: part, group, name and text, a line each."""
        lines = ["\t".join((part, row.group, row.name, row.text)) for part, row in self.rows()]
        QApplication.clipboard().setText("\n".join(lines))
        self._say(f"{len(lines)} figures copied.")

    def export_csv(self, path: str | Path) -> None:
        """Save all figures as CSV (RFC 4180, UTF-8): one row a figure, columns `CSV_HEAD`.

        Raises
        ------
        OutputError
            It could not be written; what lay there before is untouched.
        """
        text = io.StringIO(newline="")
        writer = csv.writer(text)
        writer.writerow(CSV_HEAD)
        for part, row in self.rows():
            value = "" if row.value is None else row.value
            writer.writerow((part, row.group, row.name, value, row.unit, row.text, row.how))
        data = text.getvalue().encode("utf-8")
        file = QSaveFile(str(path))  # writes beside it and takes the name at the end, so nothing is half-written
        done = file.open(QIODevice.OpenModeFlag.WriteOnly) and file.write(data) == len(data) and file.commit()
        if not done:
            raise OutputError(
                f"{path}: the figures could not be written ({file.errorString()}), nothing was changed; "
                "free some space or choose another place."
            )

    def ask_and_export(self) -> None:
        """Ask for a file and save the figures there; a failure is told in the pane."""
        name = "figures.csv" if self._state.program is None else f"{self._state.program.path.stem}.figures.csv"
        path, _ = QFileDialog.getSaveFileName(self, "Save the figures", name, "Table (*.csv)")
        if path:
            try:
                self.export_csv(path)
            except OutputError as error:
                self._say(str(error))
            else:
                self._say(f"Saved as {Path(path).name}.")

    def _say(self, text: str) -> None:
        self.message.setText(text)
        self.message.setVisible(bool(text))

    def _ask_what(self, place: QPoint) -> None:
        menu = QMenu(self)
        copy = menu.addAction("Copy this figure", self.copy_selected)
        copy.setEnabled(bool(self.model.rows_at(self.view.currentIndex())))
        menu.addAction("Copy all figures", self.copy_all)
        menu.addAction("Save all figures…", self.ask_and_export)
        menu.exec(self.view.viewport().mapToGlobal(place))

    def _show_program(self) -> None:
        program = self._state.program
        self._say("")
        for button in (self.copy_button, self.save_button):
            button.setEnabled(program is not None)
        rows = () if program is None else program_rows(program)
        title = "Program" + (", as far as it is read" if self._state.partial else "")
        self.model.show("program", title, rows, _NOTHING["program"] if program is None else "")
        self._show_layer()
        self._show_bead()

    def _show_layer(self) -> None:
        program, number = self._state.program, self._state.layer
        if program is None:
            self.model.show("layer", "", (), "")
        elif not number:
            self.model.show("layer", "Layer", (), _NOTHING["layer"])
        else:
            self.model.show("layer", f"Layer {number}", layer_rows(program, number), "")

    def _show_bead(self) -> None:
        """Show the move under the pointer, or else the selected one."""
        program = self._state.program
        hovered = self._state.hovered is not None
        move = self._state.hovered if hovered else self._state.selected
        if program is None:
            self.model.show("bead", "", (), "")
        elif move is None or not 0 <= move < len(program.moves):
            self.model.show("bead", "Bead", (), _NOTHING["bead"] if self._state.layers else "")
        else:
            title = "Bead under the pointer" if hovered else "Bead selected"
            self.model.show("bead", title, bead_rows(program, move), "")


def _button(text: str, tip: str, parent: QWidget) -> QToolButton:
    button = QToolButton(parent)
    button.setText(text)
    button.setToolTip(tip)
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    return button
