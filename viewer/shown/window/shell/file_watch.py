"""Notices that the file of the program on show was changed, went away or came back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from PySide6.QtCore import QFileSystemWatcher, QObject, Signal

from viewer.shown.window.widgets.delayed_update import DelayedUpdate

if TYPE_CHECKING:  # the window is on screen before numpy is imported
    from viewer.read.blocks import Source

SETTLE_MS: Final = 300
"""A file that is being written is reported many times; it is looked at when nothing was reported for this time."""
What = Literal["same", "changed", "gone"]


class FileWatch(QObject):
    """Watches one file."""

    turned = Signal(str)
    """It became "same", "changed" or "gone"."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._source: Source | None = None
        self._last: What = "same"
        self._watcher = QFileSystemWatcher(self)
        self._later = DelayedUpdate(self.look, SETTLE_MS, self)
        self._watcher.fileChanged.connect(lambda _path: self._later.start())
        self._watcher.directoryChanged.connect(lambda _path: self._later.start())

    def follow(self, source: Source | None) -> None:
        """Watch the file of a program, or none; what is a stream has none."""
        watched = [*self._watcher.files(), *self._watcher.directories()]
        if watched:
            self._watcher.removePaths(watched)
        self._source, self._last = source, "same"
        self._later.stop()
        if source is not None and str(source.path) != "-":
            path = source.path.absolute()
            self._watcher.addPaths([str(path), str(path.parent)])
            self.look()

    def look(self) -> None:
        """Look at the file now."""
        if self._source is None or str(self._source.path) == "-":
            return
        now: What = "same"
        if not self._source.path.exists():
            now = "gone"
        elif self._source.changed():
            now = "changed"
        path = str(self._source.path.absolute())
        if now != "gone" and path not in self._watcher.files():
            self._watcher.addPath(
                path
            )  # a file that is put in another's place is not the one that was watched
        if now != self._last:
            self._last = now
            self.turned.emit(now)
