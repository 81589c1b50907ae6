"""`InboxPage`: the inbox in a window of its own."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QCloseEvent, QHideEvent, QKeySequence, QShortcut, QShowEvent
from PySide6.QtWidgets import QFileDialog, QStackedWidget, QVBoxLayout, QWidget

from viewer.shown.window.inbox.empty_inbox import EmptyInbox
from viewer.shown.window.inbox.folder_list import FolderList
from viewer.shown.window.inbox.folder_look import FolderState
from viewer.shown.window.inbox.inbox_rows import InboxRow, arranged, row_of, without_repeated_folders
from viewer.shown.window.inbox.inbox_table import InboxModel, InboxTable
from viewer.shown.window.inbox.inbox_texts import cards_text, count_line, empty_text
from viewer.shown.window.inbox.inbox_work import InboxWork
from viewer.shown.window.inbox.small_pictures import SmallPictures
from viewer.shown.window.inbox.wishes import Wishes
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.scale import space
from viewer.shown.window.style.tones import tone
from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.texts import wrapped

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.shown.window.inbox.inbox_asking import Found
    from viewer.survey.row import Row

GATHER_MS: Final = 150
"""Rows that come in this time are shown together."""
MINUTE_MS: Final = 60_000
END_S: Final = 10.0
ROOM: Final = QSize(1280, 800)


class InboxPage(QWidget):
    """Watched folders above, what is wanted below them, then the programs.

    It works as long as it is open; what it has vetted is remembered.

    Parameters
    ----------
    cards
        Returns the cards that are chosen, at each look into the folders.
    """

    opened = Signal(str)
    """The path of a program that a person wants to see."""
    folders_changed = Signal(list)
    """The folders that are to be watched from now on."""

    def __init__(self, cards: Callable[[], CardNames], folders: Collection[str]) -> None:
        super().__init__()
        self.setWindowTitle("Inbox")
        self._entries: dict[str, InboxRow] = {}
        self._found: Found | None = None
        self._told: list[str] = []
        self.dialog: QFileDialog | None = None
        """The question for a folder that is open."""
        self.work = InboxWork(cards, self)
        self.pictures = SmallPictures(self)
        self.folders = FolderList(self)
        self.notice = wrapped("")
        self.notice.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.notice.hide()
        self.wishes = Wishes(self)
        self.model = InboxModel(self)
        self.table = InboxTable(self.model, self.pictures, self)
        self.empty = EmptyInbox(self)
        self.middle = QStackedWidget(self)
        self.middle.addWidget(self.empty)
        self.middle.addWidget(self.table)
        self.count = wrapped("", faint=True)  # a long line must not keep the window wide
        self._unkept = False
        """Rows were changed since they were kept."""
        self._keeping = NewestTask("keep the inbox", self)
        self._keeping.failed.connect(lambda problem: self._complain(sentence_of(problem)))
        self._soon = DelayedUpdate(self.arrange, GATHER_MS, self)
        self._minute = DelayedUpdate(self._tick, MINUTE_MS, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(space(3), space(3), space(3), space(3))
        column.setSpacing(space(2))
        for widget in (self.folders, self.notice, self.wishes):
            column.addWidget(widget)
        column.addWidget(self.middle, 1)
        column.addWidget(self.count)
        self._connect()
        self._watch(without_repeated_folders(folders))
        self.resize(ROOM)

    @property
    def busy(self) -> bool:
        """Whether folders are looked into, programs are vetted, or what came is to be shown."""
        return self.work.busy or self._soon.isActive() or self.pictures.busy or self._keeping.busy

    @property
    def watched(self) -> list[str]:
        """The watched folders."""
        return [state.folder for state in self.folders.states]

    # built up ----------------------------------------------------------------------------------------

    def _connect(self) -> None:
        self.work.found.connect(self._take)
        self.work.vetted.connect(self._take_row)
        self.work.failed.connect(self._complain)
        self.work.turned.connect(self._show_count)
        self.pictures.came.connect(self.table.viewport().update)
        self.pictures.failed.connect(self._complain)
        self.folders.add_wanted.connect(self.ask_for_folder)
        self.empty.add.clicked.connect(self.ask_for_folder)
        self.folders.remove_wanted.connect(self.stop_watching)
        self.wishes.changed.connect(self._arrange_again)
        self.wishes.follow_head(self.table.horizontalHeader())
        self.wishes.down.connect(self.table.setFocus)
        self.table.opened.connect(self.opened)
        QShortcut(QKeySequence("Ctrl+F"), self, self.wishes.words.setFocus)
        QShortcut(QKeySequence("Esc"), self, self.close)
        QShortcut(QKeySequence("F5"), self, self.work.look)

    # folders -----------------------------------------------------------------------------------------

    def ask_for_folder(self) -> None:
        """Ask for a folder to watch."""
        if self.dialog is not None:
            return
        self.dialog = dialog = QFileDialog(self, "Watch a folder")
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.fileSelected.connect(self.watch_also)
        dialog.finished.connect(self._asked)
        dialog.open()

    def watch_also(self, folder: str) -> None:
        """Watch one more folder."""
        self._watch(without_repeated_folders([*self.watched, folder]))
        self.folders_changed.emit(self.watched)

    def stop_watching(self, folder: str) -> None:
        """Watch a folder no longer; its rows go."""
        self._watch([one for one in self.watched if one != folder])
        self.folders_changed.emit(self.watched)

    def _asked(self) -> None:
        self.dialog = None

    def _watch(self, folders: list[str]) -> None:
        known = {state.folder: state for state in self.folders.states}
        self.folders.show_states([known.get(folder, FolderState(folder, 0)) for folder in folders])
        self.work.watch(folders)
        self.arrange()

    # shown -------------------------------------------------------------------------------------------

    def _take(self, found: Found) -> None:
        """Show what a look has brought."""
        changed = self._found is None or self._found.asked.key != found.asked.key
        self._found = found
        kept = {} if changed else {p: row for p, row in self._entries.items() if p in found.look.stamps}
        self._unkept |= changed or bool(found.rows) or len(kept) != len(self._entries)
        self._entries = kept | {row.path: row for row in found.rows}
        self.pictures.show_cards(found.asked.wanted.cards)
        self.folders.show_states([state for state in found.look.states if state.folder in self.watched])
        self._say(list(found.asked.broken))
        self.arrange()

    def _take_row(self, row: Row) -> None:
        stamp = None if self._found is None else self._found.look.stamps.get(row.path)
        if stamp is not None:
            self._entries[row.path] = row_of(row, stamp)
            self._unkept = True
            if row.content is not None:
                self.pictures.forget(row.content)
        if not self._soon.isActive():
            self._soon.start()

    def arrange(self) -> None:
        """Show the rows that are wanted, in their order; the chosen one stays chosen, and the table where it is."""
        self._soon.stop()
        chosen, scroll = self.table.chosen, self.table.verticalScrollBar().value()
        rows = self._show_rows()
        at = next((k for k, row in enumerate(rows) if chosen is not None and row.path == chosen.path), 0)
        if rows:
            self.table.choose(at, scroll)

    def _arrange_again(self) -> None:
        """Show other rows, or another order, from their beginning."""
        if self._show_rows():
            self.table.choose(0)

    def _show_rows(self) -> Sequence[InboxRow]:
        now = datetime.now()
        rows = arranged(self._entries.values(), self.wishes.wish, now)
        self.model.show_rows(rows, now)
        self._show_count()
        first = bool(rows) and self.middle.currentWidget() is self.empty
        self.middle.setCurrentWidget(self.table if rows else self.empty)
        if first and self.focusWidget() in (self.folders.add, self.empty.add):
            self.table.setFocus()
        return rows

    @property
    def _waiting(self) -> int:
        """How many programs are being vetted or wait for it."""
        return len(self.work.waiting) + self.work.vetting

    def _show_count(self) -> None:
        """Say how many programs there are and wait, and why none is shown."""
        watched = bool(self.watched)
        self.wishes.setVisible(watched)
        self.folders.setVisible(watched)
        if watched and self.empty.add.hasFocus():
            self.folders.add.setFocus()  # the one that is about to go has led here
        self.empty.say(empty_text(len(self._entries), self._waiting, self.folders.states), add=not watched)
        cards = None if self._found is None else self._found.asked.wanted.cards
        told = count_line(len(self.model.rows), list(self._entries.values()), self._waiting)
        self.count.setText("   ·   ".join(one for one in (told, cards_text(cards)) if one))

    def _tick(self) -> None:
        """Begin programs a minute later."""
        self.model.now = datetime.now()
        self.table.viewport().update()
        self._minute.start()

    def _complain(self, sentence: str) -> None:
        self._say([sentence])

    def _say(self, sentences: list[str]) -> None:
        text = "\n".join(sentences)
        self.notice.setText(text)
        self.notice.setAccessibleName(text)
        self.notice.setStyleSheet(f"color: {tone('stop', is_dark(self.palette())).name()}")
        self.notice.setVisible(bool(text))

    # opened and closed -------------------------------------------------------------------------------

    def end(self) -> None:
        """Wait for the threads, before the window goes."""
        self._soon.stop()
        self._minute.stop()
        self.work.end()
        self.pictures.end()
        self._keeping.wait(END_S)

    def showEvent(self, event: QShowEvent) -> None:
        """Begin to work."""
        super().showEvent(event)
        if not event.spontaneous():
            add = self.folders.add if self.watched else self.empty.add
            (self.table if self.model.rows else add).setFocus()
            self.work.begin()
            self._minute.start()

    def hideEvent(self, event: QHideEvent) -> None:
        """Rest."""
        super().hideEvent(event)
        if not event.spontaneous():
            self._minute.stop()
            self.work.pause()
            self._keep()

    def _keep(self) -> None:
        """Keep the rows, beside the window, so that they are there at once when it is opened again."""
        found, rows = self._found, dict(self._entries)
        if found is None or not self._unkept:
            return
        self._unkept = False
        key, stamps = found.asked.key, found.look.stamps

        def run(_run: Run) -> None:
            from viewer.shown.window.inbox.kept_rows import keep_rows

            keep_rows(key, rows, stamps)

        self._keeping.start(run)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Close the question for a folder, too."""
        if self.dialog is not None:
            self.dialog.close()
        super().closeEvent(event)

    def changeEvent(self, event: QEvent) -> None:
        """Follow the text's size; look again when the window is turned to: cards may have changed."""
        super().changeEvent(event)
        if not hasattr(self, "table"):
            return
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self.table.fit_text()
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.work.look()
