"""`SmallPictures`: the pictures of the rows that are seen, read beside the window."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QPixmap

from viewer.shown.window.threads.newest_task import NewestTask, Run, sentence_of
from viewer.shown.window.widgets.delayed_update import DelayedUpdate

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.cards.kinds import Cards

KEPT: Final = 400
"""Pictures that are held at a time: some screens of rows."""
GATHER_MS: Final = 15
"""Rows that are painted in this time have their pictures read together."""


class SmallPictures(QObject):
    """Pictures by the content of their programs; one that is not here yet is read, and `came` tells of it."""

    came = Signal()
    failed = Signal(str)
    """A sentence: what is remembered cannot be read."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._cards: Cards | None = None
        self._kept: OrderedDict[str, QPixmap] = OrderedDict()
        self._asked: dict[str, None] = {}
        self._task = NewestTask("read small pictures", self)
        self._task.done.connect(self._take)
        self._task.failed.connect(lambda problem: self.failed.emit(sentence_of(problem)))
        self._soon = DelayedUpdate(self._read, GATHER_MS, self)

    @property
    def busy(self) -> bool:
        """Whether pictures are read."""
        return self._task.busy or self._soon.isActive()

    def show_cards(self, cards: Cards) -> None:
        """Show pictures as these cards have them."""
        if cards != self._cards:
            self._cards = cards
            self._kept.clear()

    def forget(self, content: str) -> None:
        """Read a picture again: it was drawn just now."""
        self._kept.pop(content, None)

    def picture(self, content: str) -> QPixmap | None:
        """Return a picture, a null one where there is none; None: it is being read."""
        if content in self._kept:
            self._kept.move_to_end(content)
            return self._kept[content]
        self._asked[content] = None
        if not self._soon.isActive() and not self._task.busy:
            self._soon.start()
        return None

    def end(self) -> None:
        """Wait for the thread."""
        self._soon.stop()
        self._task.end(5.0)

    def _read(self) -> None:
        contents, cards = list(self._asked), self._cards
        self._asked.clear()
        if cards is None or not contents:
            return

        def run(run: Run) -> Mapping[str, bytes]:
            from viewer.shown.window.inbox.inbox_asking import pictures_of

            return pictures_of(contents, cards, run.stop)

        self._task.start(run)

    def _take(self, pictures: Mapping[str, bytes]) -> None:
        for content, data in pictures.items():
            picture = QPixmap()
            if data:
                picture.loadFromData(data)
            self._kept[content] = picture
        while len(self._kept) > KEPT:
            self._kept.popitem(last=False)
        self.came.emit()
