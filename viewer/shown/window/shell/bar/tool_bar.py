"""The tool bar: a few actions, what colours mean, and the cards that figures are computed with."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import cast

from PySide6.QtCore import QSize, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLabel, QSizePolicy, QToolBar, QWidget

from viewer.cards import find_card
from viewer.cards.kinds import Kind
from viewer.errors import CardError
from viewer.shown.window.actions.table import ACTIONS, TOOLBAR
from viewer.shown.window.model.view_state import COLOURINGS, SHOWN, Colouring, ViewState
from viewer.shown.window.shell.bar.card_choice import CardChoice
from viewer.shown.window.shell.bar.spool_choice import SpoolChoice
from viewer.shown.window.shell.bar.typed_choice import start_choice
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.style.icons import icon
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed


class ToolBar(QToolBar):
    """Follows the view state."""

    card_chosen = Signal(str, str)
    """Kind, and name or path, of a card that the person chose."""
    wants_form = Signal(str)
    settled = Signal()
    """A person has chosen something here: the keys may go back to the picture."""

    def __init__(
        self, state: ViewState, made: Mapping[str, QAction], memory: Memory, parent: QWidget
    ) -> None:
        super().__init__("Tool bar", parent)
        self.setObjectName("tool-bar")
        self.setMovable(False)
        self.toggleViewAction().setEnabled(False)  # the cards are chosen here: it must not get lost
        self._state = state
        self._labels: list[QLabel] = []
        for name in TOOLBAR:
            if name:
                self.addAction(made[name])
            else:
                self.addSeparator()
        self.addSeparator()
        self.colouring = self._colourings()
        self._labelled("Colour beads by", self.colouring)
        gap = QWidget(self)
        gap.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.addWidget(gap)
        self.start = start_choice(state, self)
        self._labelled("Start", self.start, stays=True)
        self.printer = self._cards("printer", memory)
        self.filament = self._cards("filament", memory)
        self._labelled("Printer", self.printer)
        self._labelled("Filament", self.filament)
        self.spool = SpoolChoice(state, self)
        self._labelled("Spool", self.spool, stays=True)
        listen_until_destroyed(self, state, self._colouring_changed, "colouring")
        self._colouring_changed()

    def choose(self, printer: str | None, filament: str | None) -> str:
        """Choose cards by name or path; return the sentence about the last that is not there, else ""."""
        complaint = self.printer.complaint or self.filament.complaint
        for choice, card in ((self.printer, printer), (self.filament, filament)):
            if card is not None:
                try:
                    path = find_card(choice.kind, card)
                    choice.fill(str(path) if _is_file(card) else card)
                except CardError as problem:
                    complaint = str(problem)
        return complaint

    def draw_icons(self, made: Mapping[str, QAction], dark: bool) -> None:
        """Draw the icons in the colours of the theme, as large as the text asks for."""
        side = max(18, round(self.fontMetrics().height() * 1.25))
        self.setIconSize(QSize(side, side))
        for action in ACTIONS:
            if action.icon:
                made[action.id].setIcon(icon(action.icon, dark))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave out what the choices are called where there is no room: their tooltips say it."""
        super().resizeEvent(event)
        whole = self.sizeHint().width() + sum(
            label.sizeHint().width() + 6 for label in self._labels if label.isHidden()
        )
        for label in self._labels:
            label.setVisible(self.width() >= whole)

    def _cards(self, kind: Kind, memory: Memory) -> CardChoice:
        choice = CardChoice(kind, memory.card(kind), self)
        choice.setToolTip(f"The {kind} card that figures are computed with")
        choice.chosen.connect(lambda card: self.card_chosen.emit(kind, card))
        choice.wants_form.connect(lambda: self.wants_form.emit(kind))
        return choice

    def _colourings(self) -> Choice:
        choice = Choice(self)
        choice.setAccessibleName("what colours of beads mean")
        choice.setToolTip("What the colours of beads mean")
        for name, meaning in COLOURINGS.items():
            choice.addItem(meaning, name)
        choice.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        choice.setMinimumContentsLength(14)
        choice.view().setMinimumWidth(choice.fontMetrics().averageCharWidth() * 48)
        choice.activated.connect(lambda at: self._state.colour_by(cast(Colouring, choice.itemData(at))))
        return choice

    def _labelled(self, text: str, choice: Choice, stays: bool = False) -> None:
        box = QWidget(self)
        row = QHBoxLayout(box)
        row.setContentsMargins(6, 0, 2, 0)
        row.setSpacing(6)
        label = QLabel(text, box)
        label.setBuddy(choice)
        if not stays:  # a time of day or a mass alone does not say of what
            self._labels.append(label)
        choice.settled.connect(self.settled)
        row.addWidget(label)
        row.addWidget(choice)
        box.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)
        self.addWidget(box)

    def _colouring_changed(self) -> None:
        self.colouring.setCurrentIndex(self.colouring.findData(self._state.colouring))


def _is_file(card: str) -> bool:
    return card.lower().endswith(".toml") or Path(card).name != card


def show_choices(made: Mapping[str, QAction], state: ViewState, look: str, full_screen: bool) -> None:
    """Mark in the menus what is chosen."""
    for part in SHOWN:
        made[f"show-{part}"].setChecked(part in state.shown)
    made[f"colour-{state.colouring.replace(' ', '-')}"].setChecked(True)
    made[f"strip-{state.strip.replace(' ', '-')}"].setChecked(True)
    made[f"look-{look}"].setChecked(True)
    made["play"].setChecked(bool(state.playing))
    made["full-screen"].setChecked(full_screen)
