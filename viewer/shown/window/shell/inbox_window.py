"""`InboxWindow`: opens the inbox, keeps its folders, and opens the programs that are chosen in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QMainWindow

from viewer.shown.window.shell.commanded_window import CommandedWindow

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.shown.window.inbox.inbox_page import InboxPage


class InboxWindow(QObject):
    """The inbox as the main window sees it.

    Parameters
    ----------
    window
        Opens the programs, and says which cards are chosen.
    frame
        The same window for Qt: it comes to the front when a program is opened.
    """

    def __init__(self, window: CommandedWindow, frame: QMainWindow) -> None:
        super().__init__(frame)
        self._window, self._frame = window, frame
        self.page: InboxPage | None = None
        """The window of the inbox, once it was opened."""

    @property
    def busy(self) -> bool:
        """Whether the inbox is at work."""
        return self.page is not None and self.page.busy

    def show(self) -> None:
        """Show the inbox, in a window beside this one."""
        page = self._made()
        page.show()
        page.raise_()
        page.activateWindow()

    def ask_for_folder(self) -> None:
        """Show the inbox and ask for a folder to watch."""
        self.show()
        self._made().ask_for_folder()

    def watch(self, folder: Path) -> None:
        """Show the inbox, which watches one more folder."""
        self.show()
        self._made().watch_also(str(folder))

    def end(self) -> None:
        """End what is under way, before the window goes."""
        if self.page is not None:
            self.page.close()
            self.page.end()
            self.page.deleteLater()
            self.page = None

    def _made(self) -> InboxPage:
        from viewer.shown.window.inbox.inbox_page import InboxPage

        if self.page is None:
            self.page = InboxPage(lambda: self._window.cards, self._window.memory.watched)
            self.page.opened.connect(self._open)
            self.page.folders_changed.connect(self._window.memory.set_watched)
        return self.page

    def _open(self, path: str) -> None:
        self._frame.raise_()
        self._frame.activateWindow()
        self._window.open_path(Path(path))
