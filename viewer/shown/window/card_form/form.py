"""`CardForm`: a printer, filament or workshop card as a form; what is typed is checked at once."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from viewer.cards import Kind, list_cards, own_card, save_card
from viewer.cards.kinds import Card
from viewer.errors import BeadlineError
from viewer.numerals import capital
from viewer.shown.window.card_form.check import assemble, check_card, not_usable
from viewer.shown.window.card_form.fields import EDITORS, Editor
from viewer.shown.window.card_form.shape import (
    Field,
    KeyPath,
    Row,
    Section,
    plain_card,
    sections_of,
    value_at,
)
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.tones import tone
from viewer.shown.window.widgets.texts import sized

_WIDE_KINDS = ("lines", "rules", "words")


class CardForm(QDialog):
    """All values of a card in groups; saving is there once every value can be.

    After it was accepted, `card` is the new card and `path` where it was saved.
    """

    def __init__(self, kind: Kind, card: Card, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.kind: Kind = kind
        self.card: Card = card
        self.path: Path | None = None
        self.editors: dict[KeyPath, Editor] = {}
        self.fields: dict[KeyPath, Field] = {}
        self.notes: dict[KeyPath, QLabel] = {}
        """The label beside each field: what it means, or what is wrong with it."""
        self._own_line: set[QLabel] = set()
        self._meanings: dict[QLabel, str] = {}
        self._valid: Card | None = card
        self._filling = True
        self.setWindowTitle(f"{kind.capitalize()} card")
        self.setMinimumWidth(self.fontMetrics().horizontalAdvance("0") * 86)
        self._arrange()
        self._fill(card)
        self._filling = False
        self._check()

    def sizeHint(self) -> QSize:
        """Return room for a screenful of rows."""
        unit = self.fontMetrics().horizontalAdvance("0")
        return QSize(unit * 104, self.fontMetrics().lineSpacing() * 42)

    # built up ----------------------------------------------------------------------------------------

    def _arrange(self) -> None:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(18, 8, 18, 12)
        for section in sections_of(self.kind):
            column.addWidget(_heading(section.title))
            column.addLayout(self._rows(section))
        column.addStretch(1)
        self._scroll = QScrollArea()
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        self._scroll.setWidget(inside)
        self.problem = QLabel(wordWrap=True)
        self.problem.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.save = QPushButton("Save as my card")
        self.save.setDefault(True)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        buttons.addButton(self.save, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.rejected.connect(self.reject)
        self.save.clicked.connect(self._save)
        foot = QHBoxLayout()
        foot.setContentsMargins(18, 8, 18, 12)
        foot.addWidget(self.problem, 1)
        foot.addWidget(buttons)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self._scroll, 1)
        whole.addLayout(foot)
        QShortcut(QKeySequence(QKeySequence.StandardKey.Save), self, self.save.click)

    def _rows(self, section: Section) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(5)
        grid.setColumnStretch(2, 1)
        unit = self.fontMetrics().horizontalAdvance("0")
        grid.setColumnMinimumWidth(0, unit * 19)
        grid.setColumnMinimumWidth(1, unit * 22)
        for at, row in enumerate(section.rows):
            self._row(grid, 2 * at, row, unit)
        return grid

    def _row(self, grid: QGridLayout, at: int, row: Row, unit: int) -> None:
        note = QLabel(row.description, wordWrap=True)
        self._meanings[note] = row.description
        top = Qt.AlignmentFlag.AlignTop
        box = QHBoxLayout()
        box.setSpacing(6)
        box.setContentsMargins(0, 4 if row.fields[0].kind == "switch" else 0, 0, 0)
        wide = row.fields[0].kind in _WIDE_KINDS or (row.fields[0].kind == "text" and len(row.fields) == 1)
        for field in row.fields:
            self._add_field(box, field, row, note, unit)
        label = QLabel(capital(row.label))
        label.setBuddy(self.editors[row.fields[0].path].widget)
        label.setContentsMargins(0, 4, 0, 0)
        note.setContentsMargins(0, 4, 0, 0)
        grid.addWidget(label, at, 0, top)
        if wide or len(row.fields) > 2:
            grid.addLayout(box, at, 1, 1, 2)
            grid.addWidget(note, at + 1, 1, 1, 2)
            self._own_line.add(note)
        else:
            grid.addLayout(box, at, 1, top)
            grid.addWidget(note, at, 2, top)

    def _add_field(self, box: QHBoxLayout, field: Field, row: Row, note: QLabel, unit: int) -> None:
        editor = EDITORS[field.kind](field, self._check)
        editor.widget.setToolTip(row.description)
        name = f"{row.label} {field.short}".strip()
        editor.widget.setAccessibleName(f"{name}, {field.unit}" if field.unit else name)
        if field.short:
            box.addWidget(QLabel(field.short))
        if isinstance(editor.widget, QLineEdit):
            columns = 30 if field.kind == "text" and not field.short else 9 if len(row.fields) > 1 else 12
            editor.widget.setFixedWidth(unit * columns)
        box.addWidget(editor.widget)
        if field.unit and field is row.fields[-1]:
            box.addWidget(QLabel(field.unit))
        if field is row.fields[-1] and field.kind not in _WIDE_KINDS:
            box.addStretch(1)
        self.editors[field.path], self.fields[field.path], self.notes[field.path] = editor, field, note

    def _fill(self, card: Card) -> None:
        plain = plain_card(card)
        for path, editor in self.editors.items():
            editor.show(value_at(plain, path))

    # checked -----------------------------------------------------------------------------------------

    def _check(self) -> None:
        if self._filling:
            return
        values = {path: editor.value() for path, editor in self.editors.items()}
        found = {path: not_usable(self.fields[path], value) for path, value in values.items()}
        found = {path: sentence for path, sentence in found.items() if sentence}
        usable = {path: value for path, value in values.items() if path not in found}
        if found:  # they stand as they were, so that the other values are still looked at
            plain = plain_card(self.card)
            usable |= {path: value_at(plain, path) for path in found}
        self._valid, more = check_card(self.kind, assemble(usable), self.card)
        for path, sentence in more.items():
            found.setdefault(self._shown_at(path), sentence)
        if found:
            self._valid = None
        self._show(found)

    def _shown_at(self, path: KeyPath) -> KeyPath:
        """Return the field that a complaint belongs to: its own, the one it lies in, or the first one inside."""
        for end in range(len(path), 0, -1):
            if path[:end] in self.editors:
                return path[:end]
        return next((known for known in self.editors if known[: len(path)] == path), next(iter(self.editors)))

    def _show(self, found: dict[KeyPath, str]) -> None:
        dark = is_dark(self.palette())
        wrong = {self.notes[path]: sentence for path, sentence in reversed(found.items())}
        for note, meaning in self._meanings.items():
            note.setText(wrong.get(note, meaning))
            note.setVisible(note not in self._own_line or bool(note.text()))
            note.setStyleSheet(f"color: {tone('stop' if note in wrong else 'faint', dark).name()}")
        for path, editor in self.editors.items():
            edge = tone("stop", dark).name()
            if isinstance(editor.widget, QLineEdit):
                editor.widget.setStyleSheet(
                    f"border: 1px solid {edge}; padding: 2px" if path in found else ""
                )
        self.save.setEnabled(not found)
        if found:
            many = "One value" if len(found) == 1 else f"{len(found)} values"
            self.problem.setText(
                f"{many} cannot be used; why stands beside {'it' if len(found) == 1 else 'each'}."
            )
            self.problem.setStyleSheet(f"color: {tone('stop', dark).name()}")
        else:
            self.problem.setText(self._whereto())
            self.problem.setStyleSheet(f"color: {tone('faint', dark).name()}")

    # saved -------------------------------------------------------------------------------------------

    def _whereto(self) -> str:
        """Say what saving does."""
        assert self._valid is not None
        try:
            entry = own_card(self.kind, self._valid.name)
            bundled = any(self._valid.name.casefold() in card.keys for card in list_cards(self.kind))
        except BeadlineError as problem:
            return str(problem)
        if entry is not None:
            return f"Saving changes your card “{entry.name}”; its comments stay."
        return (
            f"Saving puts it in place of the bundled card “{self._valid.name}”."
            if bundled
            else "Saving makes a new card."
        )

    def _save(self) -> None:
        if self._valid is None:
            return
        try:
            self.path = save_card(self._valid)
        except BeadlineError as problem:
            self.problem.setText(str(problem))
            self.problem.setStyleSheet(f"color: {tone('stop', is_dark(self.palette())).name()}")
            return
        self.card = self._valid
        self.accept()


def _heading(title: str) -> QLabel:
    label = QLabel(title)
    sized(label, "value")
    label.setContentsMargins(0, 12, 0, 2)
    return label
