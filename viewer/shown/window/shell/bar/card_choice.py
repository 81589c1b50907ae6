"""The choice of a printer or filament card in the tool bar."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QWidget

from viewer.cards import list_cards
from viewer.cards.kinds import DEFAULTS, Kind
from viewer.errors import CardError
from viewer.shown.window.widgets.choice import Choice

_EDIT = "\0edit"


class CardChoice(Choice):
    """Cards of one kind by name; the last entry opens the form."""

    chosen = Signal(str)
    """Name, or path, of the card that the person chose."""
    wants_form = Signal()

    def __init__(self, kind: Kind, card: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.kind: Kind = kind
        self.setAccessibleName(f"{kind} card")
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.setMinimumContentsLength(9)
        self.complaint = ""
        """A sentence where the cards could not be listed."""
        self._card = card
        self.fill(card)
        self.activated.connect(self._activated)

    @property
    def card(self) -> str:
        """Name (without ``.toml``) or path of the chosen card."""
        return self._card

    def fill(self, card: str) -> None:
        """List the cards again and choose one, by slug, name or path; the default where there is none such."""
        try:
            entries = list_cards(self.kind)
            self.complaint = ""
        except CardError as problem:
            entries, self.complaint = [], str(problem)
        self.clear()
        for entry in entries:
            self.addItem(entry.name, entry.slug)
            self.setItemData(self.count() - 1, str(entry.path), Qt.ItemDataRole.ToolTipRole)
        keys = [entry.keys for entry in entries]
        at = next((k for k, names in enumerate(keys) if card.casefold() in names), -1)
        if at < 0 and card.endswith(".toml"):
            self.addItem(Path(card).stem, card)
            self.setItemData(self.count() - 1, card, Qt.ItemDataRole.ToolTipRole)
            at = self.count() - 1
        if at < 0:
            at = next((k for k, names in enumerate(keys) if DEFAULTS[self.kind] in names), 0)
        self.insertSeparator(self.count())
        self.addItem("Edit this card…", _EDIT)
        self.setCurrentIndex(at)
        self._card = str(self.itemData(at) or DEFAULTS[self.kind])

    def _activated(self, at: int) -> None:
        data = self.itemData(at)
        if data == _EDIT:
            self.setCurrentIndex(self.findData(self._card))
            self.wants_form.emit()
        elif data and data != self._card:
            self._card = str(data)
            self.chosen.emit(self._card)
