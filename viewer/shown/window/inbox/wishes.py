"""`Wishes`: which programs of the inbox are shown, and in which order."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QHeaderView, QLabel, QLineEdit, QWidget

from viewer.shown.window.inbox.inbox_rows import CAME, COLUMNS, EVERY, Wish
from viewer.shown.window.style.scale import space
from viewer.shown.window.widgets.choice import Choice
from viewer.survey.row import WORDS


class Wishes(QWidget):
    """Fields above the table; they and its head say the same order."""

    changed = Signal()
    down = Signal()
    """A person wants to go on to the rows."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._head: QHeaderView | None = None
        self.words = QLineEdit(self)
        self.words.setPlaceholderText("Words in name, folder, finding, printer …")
        self.words.setAccessibleName("words to find")
        self.words.setClearButtonEnabled(True)
        self.words.installEventFilter(self)
        self.verdict, self.since, self.column, self.way = (Choice(self) for _ in range(4))
        self.verdict.setAccessibleName("verdict")
        self.verdict.addItem("every verdict", EVERY)
        for word in WORDS:
            self.verdict.addItem(word, word)
        self.column.setAccessibleName("sorted by")
        for place, column in enumerate(COLUMNS):
            if column.key is not None:
                self.column.addItem("when it came" if place == CAME else column.title.lower(), place)
        self.column.setCurrentIndex(self.column.findData(CAME))
        for choice in (self.verdict, self.since, self.column, self.way):
            choice.setSizeAdjustPolicy(Choice.SizeAdjustPolicy.AdjustToContents)
        self.since.setAccessibleName("when it came")
        self.since.addItem("whenever it came", False)
        self.since.addItem("since yesterday", True)
        self.way.setAccessibleName("which first")
        self._offer_ways()
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(space(2))
        row.addWidget(self.words, 1)
        row.addWidget(self.verdict)
        row.addWidget(self.since)
        row.addSpacing(space(4))
        sorted_by = QLabel("sorted by", self)
        sorted_by.setBuddy(self.column)
        row.addWidget(sorted_by)
        row.addWidget(self.column)
        row.addWidget(self.way)
        self.words.textChanged.connect(self._tell)
        self.verdict.currentIndexChanged.connect(self._tell)
        self.since.currentIndexChanged.connect(self._tell)
        self.way.currentIndexChanged.connect(self._take_order)
        self.column.currentIndexChanged.connect(self._take_column)

    @property
    def wish(self) -> Wish:
        """What is wanted."""
        return Wish(
            self.words.text(), str(self.verdict.currentData() or EVERY), bool(self.since.currentData()),
            int(self.column.currentData()), self.way.currentIndex() == 1,
        )  # fmt: skip

    def follow_head(self, head: QHeaderView) -> None:
        """Sort by a column when its title is pressed, the other way when it is pressed again."""
        self._head = head
        self._mark()
        head.sectionClicked.connect(self._take_section)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go from the words to the rows by Down and Return."""
        keys = (Qt.Key.Key_Down, Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and event.key() in keys:
            self.down.emit()
            return True
        return super().eventFilter(watched, event)

    def _take_section(self, section: int) -> None:
        at = self.column.findData(section)
        if at == self.column.currentIndex():
            self.way.setCurrentIndex(1 - self.way.currentIndex())
        elif at >= 0:
            self.column.setCurrentIndex(at)
        self._mark()

    def _take_column(self) -> None:
        """Sort by another column, in the way in which a person asks for it first."""
        self._offer_ways()
        self._take_order()

    def _offer_ways(self) -> None:
        column = COLUMNS[int(self.column.currentData())]
        self.way.blockSignals(True)
        self.way.clear()
        self.way.addItems(column.ways)
        self.way.setCurrentIndex(int(column.falls))
        self.way.blockSignals(False)

    def _take_order(self, *_: object) -> None:
        self._mark()
        self._tell()

    def _mark(self) -> None:
        """Show the order in the head of the table."""
        if self._head is not None:
            order = Qt.SortOrder.DescendingOrder if self.wish.falling else Qt.SortOrder.AscendingOrder
            self._head.setSortIndicator(self.wish.column, order)

    def _tell(self, *_: object) -> None:
        self.changed.emit()
