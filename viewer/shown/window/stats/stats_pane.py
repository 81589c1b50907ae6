"""Stats: the figures of the program, the layer and the bead, grouped; each explained, each copied, all saved."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QMenu,
    QStackedWidget,
    QTabBar,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from viewer.errors import OutputError
from viewer.shown.numbers import count_text
from viewer.shown.rows import Row
from viewer.shown.window.model.view_state import AFTER_MS, ViewState
from viewer.shown.window.stats.part_rows import PARTS, Part, csv_text, part_rows
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.figure_model import StatsModel
from viewer.shown.window.widgets.figure_view import StatsView
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed
from viewer.written import spare, write_whole


class StatsPane(QWidget):
    """Three lists of figures, one on show; only that one is kept up to date, the others when they are asked for."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._stale = set(PARTS)
        self._before: Part = "program"
        self.tabs = QTabBar(self)
        self.tabs.setDocumentMode(True)
        self.tabs.setExpanding(True)
        self.tabs.setDrawBase(False)
        self.tabs.setUsesScrollButtons(False)
        self.tabs.setElideMode(Qt.TextElideMode.ElideRight)
        self.tabs.setAccessibleName("whose figures are shown")
        self.stack = QStackedWidget(self)
        self.models: dict[Part, StatsModel] = {}
        self.views: dict[Part, StatsView] = {}
        self.sentences: dict[Part, QLabel] = {}
        for part in PARTS:
            self.tabs.addTab(part.capitalize())
            self.stack.addWidget(self._page(part))
        self.message = QLabel(self)
        self.message.setWordWrap(True)
        self._arrange()
        self._listen()
        self._show_program()

    def _page(self, part: Part) -> QWidget:
        """Make the list of one part, and the sentence that stands there when it is empty."""
        model, view, sentence = StatsModel(self), StatsView(self), QLabel(self)
        view.show_model(model)
        view.setAccessibleName(f"figures of the {part}")
        view.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        view.customContextMenuRequested.connect(self._ask_what)
        copy = QShortcut(QKeySequence(QKeySequence.StandardKey.Copy), view)
        copy.setContext(Qt.ShortcutContext.WidgetShortcut)
        copy.activated.connect(self.copy_selected)
        sentence.setWordWrap(True)
        sentence.setMargin(12)
        sentence.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.models[part], self.views[part], self.sentences[part] = model, view, sentence
        page = QStackedWidget(self)
        page.addWidget(view)
        page.addWidget(sentence)
        return page

    def _listen(self) -> None:
        self.tabs.currentChanged.connect(self._turn)
        self._after = DelayedUpdate(self._show_layer, AFTER_MS, self)
        listen = partial(listen_until_destroyed, self, self._state)
        listen(self._show_program, "program")
        listen(lambda: self._outdate("program"), "start", "halted")
        listen(self._layer_changed, "layer")
        listen(self._selection_changed, "selection")
        listen(self._hover_changed, "hover")

    def _arrange(self) -> None:
        row = QHBoxLayout()
        row.setContentsMargins(6, 4, 6, 4)
        row.setSpacing(6)
        self.copy_button = _button("Copy all", "Put all figures on the clipboard, a line each", self)
        self.copy_button.clicked.connect(lambda _: self.copy_all())
        self.save_button = _button("Save…", "Save all figures as a table (CSV)", self)
        self.save_button.clicked.connect(lambda _: self.ask_and_export())
        row.addWidget(self.copy_button)
        row.addWidget(self.save_button)
        row.addWidget(self.message, 1)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(self.tabs)
        box.addWidget(self.stack, 1)
        box.addLayout(row)

    @property
    def part(self) -> Part:
        """Whose figures are on show."""
        return PARTS[self.tabs.currentIndex()]

    def show_part(self, part: Part) -> None:
        """Show the figures of the program, the layer or the bead."""
        self.tabs.setCurrentIndex(PARTS.index(part))

    def rows(self) -> list[tuple[Part, Row]]:
        """Return all figures, in order, with the part they belong to."""
        for part in PARTS:
            self._bring(part)
        return [(part, row) for part in PARTS for row in self.models[part].rows()]

    def copy_selected(self) -> None:
        """Put the selected figure on the clipboard; of a group, all its figures."""
        rows = self._selected_rows()
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
        write_whole(path, [csv_text(self.rows())])

    def ask_and_export(self) -> None:
        """Ask for a file and save the figures there; a failure is told in the pane."""
        name = (
            "figures.csv" if self._state.program is None else f"{self._state.program.path.stem}.figures.csv"
        )
        path, _ = QFileDialog.getSaveFileName(self, "Save the figures", name, "Table (*.csv)")
        if path:
            try:
                if self._state.program is not None:
                    spare(path, self._state.program.path)
                self.export_csv(path)
            except OutputError as error:
                self._say(str(error))
            else:
                self._say(f"Saved as {Path(path).name}.")

    def _selected_rows(self) -> list[Row]:
        self._bring(self.part)
        return self.models[self.part].rows_at(self.views[self.part].currentIndex())

    def _say(self, text: str) -> None:
        self.message.setText(text)
        self.message.setToolTip(text)

    def _ask_what(self, place: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        copy = menu.addAction("Copy this figure", self.copy_selected)
        copy.setEnabled(bool(self._selected_rows()))
        for text, do in (("Copy all figures", self.copy_all), ("Save all figures…", self.ask_and_export)):
            menu.addAction(text, do).setEnabled(self.save_button.isEnabled())
        menu.popup(self.views[self.part].viewport().mapToGlobal(place))

    def _show_program(self) -> None:
        self._say("")
        for button in (self.copy_button, self.save_button):
            button.setEnabled(self._state.program is not None and not self._state.partial)
        self._show_layer()
        self._outdate("program", "bead")

    @property
    def busy(self) -> bool:
        """Whether the figures of another layer are about to be shown."""
        return self._after.isActive()

    def _layer_changed(self) -> None:
        """Note that the figures are those of another layer; they are shown after its picture."""
        self._stale.add("layer")
        self._after.start()

    def _show_layer(self) -> None:
        number = self._state.layer
        self.tabs.setTabText(PARTS.index("layer"), f"Layer {count_text(number)}" if number else "Layer")
        self._outdate("layer")

    def _selection_changed(self) -> None:
        """Turn to the bead that was selected, and back when nothing is any more."""
        selected, part = self._state.selected is not None, self.part
        if selected and part != "bead":
            self._before = part
            self.show_part("bead")
        elif not selected and part == "bead":
            self.show_part(self._before)
        self._outdate("bead")

    def _hover_changed(self) -> None:
        """Say whose figures stand there: those under the pointer go before those of the selection."""
        self.tabs.setTabText(
            PARTS.index("bead"), "Bead" if self._state.hovered is None else "Under the pointer"
        )
        self._outdate("bead")

    def _outdate(self, *parts: Part) -> None:
        """Note that some parts show old figures; renew the one on show."""
        self._stale.update(parts)
        if self.part in parts:
            self._bring(self.part)

    def _turn(self, at: int) -> None:
        self._bring(PARTS[at])
        self.stack.setCurrentIndex(at)
        self.setFocusProxy(self.views[PARTS[at]])

    def _bring(self, part: Part) -> None:
        """Bring one part up to date."""
        if part not in self._stale:
            return
        self._stale.discard(part)
        rows, sentence = part_rows(self._state, part)
        self.models[part].show(rows)
        self.sentences[part].setText(sentence)
        page = self.stack.widget(PARTS.index(part))
        assert isinstance(page, QStackedWidget)
        page.setCurrentIndex(0 if rows else 1)


def _button(text: str, tip: str, parent: QWidget) -> QToolButton:
    button = QToolButton(parent)
    button.setText(text)
    button.setToolTip(tip)
    button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
    return button
