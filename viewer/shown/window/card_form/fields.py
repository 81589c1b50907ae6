"""The editors of a card's form: one widget for each kind of field, all with the same three methods."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, Protocol

from PySide6.QtCore import Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from viewer.shown.window.card_form.check import number_of
from viewer.shown.window.card_form.shape import Field

Changed = Callable[[], None]
UNKNOWN: Final = "not known"
RULE_COLUMNS: Final = ("check", "off", "severity", "limit", "reason")
WORD_COLUMNS: Final = ("words of a comment", "role")


class Editor(Protocol):
    """What edits one field."""

    @property
    def widget(self) -> QWidget:
        """What a person types into."""

    def value(self) -> Any:
        """Return what stands there as a card's file would hold it; None: nothing."""

    def show(self, value: Any) -> None:
        """Show a value."""


class LineEditor:
    """Text, or a number."""

    def __init__(self, field: Field, changed: Changed) -> None:
        self._field = field
        self.widget: QLineEdit = QLineEdit()
        if field.kind != "text":
            self.widget.setAlignment(Qt.AlignmentFlag.AlignRight)
            self.widget.setPlaceholderText("" if field.required else UNKNOWN)
        self.widget.textChanged.connect(changed)

    def value(self) -> Any:
        """Return the text, or the number it is."""
        text = self.widget.text().strip()
        if self._field.kind == "text":
            return text or None
        return number_of(text, self._field.kind == "whole")

    def show(self, value: Any) -> None:
        """Show a value, whole numbers without a point."""
        text = "" if value is None else f"{value:.12g}" if isinstance(value, float) else str(value)
        self.widget.setText(text)


class SwitchEditor:
    """Yes or no."""

    def __init__(self, _field: Field, changed: Changed) -> None:
        self.widget: QCheckBox = QCheckBox()
        self.widget.toggled.connect(changed)

    def value(self) -> Any:
        """Return whether it is on."""
        return self.widget.isChecked()

    def show(self, value: Any) -> None:
        """Switch it."""
        self.widget.setChecked(bool(value))


class CalmChoice(QComboBox):
    """A choice that the wheel passes over, so that scrolling the form changes nothing."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to the form."""
        event.ignore()


class ChoiceEditor:
    """One of a few."""

    def __init__(self, field: Field, changed: Changed) -> None:
        self.widget: QComboBox = CalmChoice()
        self.widget.addItems(list(field.choices))
        self.widget.currentIndexChanged.connect(changed)

    def value(self) -> Any:
        """Return the chosen word."""
        return self.widget.currentText()

    def show(self, value: Any) -> None:
        """Choose a word."""
        self.widget.setCurrentText(str(value))


class LinesEditor:
    """Some sentences, one a line."""

    def __init__(self, _field: Field, changed: Changed) -> None:
        self.widget: QPlainTextEdit = QPlainTextEdit()
        self.widget.setTabChangesFocus(True)
        self.widget.setFixedHeight(5 * self.widget.fontMetrics().lineSpacing() + 10)
        self.widget.textChanged.connect(changed)

    def value(self) -> Any:
        """Return the lines that are not blank."""
        return [line.strip() for line in self.widget.toPlainText().splitlines() if line.strip()]

    def show(self, value: Any) -> None:
        """Show the sentences."""
        self.widget.setPlainText("\n".join(value or ()))


class TableEditor:
    """Rows that are added and taken away: rules of checks, or trade words."""

    def __init__(self, field: Field, changed: Changed) -> None:
        self._rules = field.kind == "rules"
        self._changed = changed
        columns = RULE_COLUMNS if self._rules else WORD_COLUMNS
        self.table = QTableWidget(0, len(columns))
        self.table.setHorizontalHeaderLabels(list(columns))
        self.table.verticalHeader().hide()
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self.table.horizontalHeader().setStretchLastSection(True)
        for column, share in enumerate((22, 5, 10, 9, 20) if self._rules else (34, 14)):
            self.table.setColumnWidth(column, share * self.table.fontMetrics().horizontalAdvance("0"))
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setTabKeyNavigation(False)
        self.table.setFixedHeight(7 * self.table.fontMetrics().lineSpacing())
        self.table.itemChanged.connect(lambda _item: changed())
        self.add = QPushButton("Add a row")
        self.remove = QPushButton("Take the row away")
        for button in (self.add, self.remove):
            button.setAutoDefault(False)
        self.add.clicked.connect(lambda: self._add_row(("",) * len(columns), edit=True))
        self.remove.clicked.connect(self._remove_row)
        self.widget: QWidget = QWidget()
        whole = QVBoxLayout(self.widget)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.table)
        whole.addWidget(self.add, 0, Qt.AlignmentFlag.AlignLeft)
        whole.addWidget(self.remove, 0, Qt.AlignmentFlag.AlignLeft)

    def value(self) -> Any:
        """Return the rows whose first cell is filled."""
        found: dict[str, Any] = {}
        for row in range(self.table.rowCount()):
            cells = [self._text(row, column) for column in range(self.table.columnCount())]
            if any(cells) and cells[0]:
                found[cells[0]] = self._rule(row, cells) if self._rules else cells[1]
        return found

    def _text(self, row: int, column: int) -> str:
        item = self.table.item(row, column)
        return item.text().strip() if item is not None else ""

    def _rule(self, row: int, cells: list[str]) -> dict[str, Any]:
        item = self.table.item(row, 1)
        off = item is not None and item.checkState() == Qt.CheckState.Checked
        rule = {"off": off, "severity": cells[2] or None, "limit": number_of(cells[3]), "reason": cells[4]}
        return {key: value for key, value in rule.items() if value is not None}

    def show(self, value: Any) -> None:
        """Show the rows."""
        self.table.setRowCount(0)
        for key, about in (value or {}).items():
            cells: tuple[str, ...] = (key, str(about))
            if self._rules:
                limit = about.get("limit")
                cells = (
                    key, "yes" if about.get("off") else "", about.get("severity") or "",
                    "" if limit is None else f"{limit:.12g}", about.get("reason") or "",
                )  # fmt: skip
            self._add_row(cells)

    def _add_row(self, cells: tuple[str, ...], edit: bool = False) -> None:
        row = self.table.rowCount()
        self.table.blockSignals(True)
        self.table.insertRow(row)
        for column, text in enumerate(cells):
            item = QTableWidgetItem(text)
            if self._rules and column == 1:
                item = QTableWidgetItem()
                item.setFlags(
                    Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsUserCheckable | Qt.ItemFlag.ItemIsSelectable
                )
                item.setCheckState(Qt.CheckState.Checked if text else Qt.CheckState.Unchecked)
            self.table.setItem(row, column, item)
        self.table.blockSignals(False)
        if edit:
            self.table.setCurrentCell(row, 0)
            first = self.table.item(row, 0)
            assert first is not None  # made a moment ago
            self.table.editItem(first)
        self._changed()

    def _remove_row(self) -> None:
        if self.table.currentRow() >= 0:
            self.table.removeRow(self.table.currentRow())
            self._changed()


EDITORS: Final[dict[str, Callable[[Field, Changed], Editor]]] = {
    "text": LineEditor,
    "number": LineEditor,
    "whole": LineEditor,
    "switch": SwitchEditor,
    "choice": ChoiceEditor,
    "lines": LinesEditor,
    "rules": TableEditor,
    "words": TableEditor,
}
"""What edits each kind of field."""
