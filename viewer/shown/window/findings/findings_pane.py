"""The Findings pane: what to know before printing, the gravest first, and what was not checked."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final, cast

from PySide6.QtCore import (
    QEvent,
    QItemSelectionModel,
    QModelIndex,
    QObject,
    QSize,
    Qt,
    QUrl,
    Signal,
    Slot,
)
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListView,
    QSplitter,
    QTextBrowser,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from viewer.beads.draw import nearest_bead
from viewer.checks.alike import each_place
from viewer.checks.finding import Check, Finding, NotChecked, Passed, Severity
from viewer.checks.shape import OVER_BELOW
from viewer.numerals import counted_text
from viewer.shown.finding_text import failed_text
from viewer.shown.window.actions.table import READ_AGAIN
from viewer.shown.window.findings import finding_page as page
from viewer.shown.window.findings.finding_list import Entries, EntryPainter, FindingEntry
from viewer.shown.window.model.view_state import AFTER_MS, ViewState
from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark
from viewer.shown.window.style.tones import tone
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed
from viewer.verdict import Answer

NOT_CHECKED: Final = "Not checked, and why"


class FindingsPane(QWidget):
    """A list of findings with filters, and the chosen one whole."""

    line_wanted = Signal(int)
    """A person wants to see a line of the program, also one that makes no move."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.state = state
        self._answer: Answer | None = None
        """Shown in place of the chosen row."""
        self._percent = ""
        self._written = ""
        """The page as it was last written, in HTML."""
        self._arrange()
        self._connect()
        self._show_report()

    # built up ----------------------------------------------------------------------------------------

    def _arrange(self) -> None:
        self._status = QLabel(wordWrap=True)
        self._status.setContentsMargins(10, 6, 10, 2)
        self._text = QLineEdit(placeholderText="Filter by words", clearButtonEnabled=True)
        self._buttons = {severity: self._severity_button(severity) for severity in Severity}
        row = QHBoxLayout()
        row.setSpacing(2)
        for button in self._buttons.values():
            row.addWidget(button)
        row.addStretch(1)
        self._filters = QWidget()
        self._filter_rows = QBoxLayout(QBoxLayout.Direction.TopToBottom, self._filters)
        self._filter_rows.setContentsMargins(8, 2, 8, 4)
        self._filter_rows.setSpacing(4)
        self._filter_rows.addLayout(row)
        self._filter_rows.addWidget(self._text)
        self.list = QListView()
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setAccessibleName("Findings")
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._entries = Entries(self)
        self.list.setModel(self._entries)
        self.list.setItemDelegate(EntryPainter(self.list))
        self.page = QTextBrowser(openLinks=False)
        self.page.setFrameShape(QFrame.Shape.NoFrame)
        self.page.setAccessibleName("The chosen finding")
        self.page.document().setDocumentMargin(10)
        self._split = QSplitter(Qt.Orientation.Vertical, childrenCollapsible=False)
        self._split.addWidget(self.list)
        self._split.addWidget(self.page)
        self._split.setSizes([300, 260])
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self._status)
        whole.addWidget(self._filters)
        whole.addWidget(self._split, 1)
        whole.addStretch()  # for when the parts above are hidden

    def _severity_button(self, severity: Severity) -> QToolButton:
        button = QToolButton(autoRaise=True)
        button.setCheckable(True)
        button.setChecked(True)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        button.setIconSize(QSize(18, 18))
        button.setToolTip(f"Show or hide what is marked “{severity.value}”: {severity.means}")
        return button

    def _connect(self) -> None:
        self._text.textChanged.connect(self._filter)
        for button in self._buttons.values():
            button.toggled.connect(self._filter)
        self.list.clicked.connect(self._go_to_index)
        self.list.selectionModel().currentChanged.connect(lambda *_: self._turn_page())
        self.list.installEventFilter(self)
        self.page.anchorClicked.connect(self._follow)
        self._after = DelayedUpdate(self._show_report, AFTER_MS, self)
        listen = partial(listen_until_destroyed, self, self.state)
        listen(self._after.start, "findings")
        listen(self._after.postpone, "layer")
        listen(self._show_report, "program")
        listen(self._write_status, "halted")

    def changeEvent(self, event: QEvent) -> None:
        """Follow light or dark."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange) and hasattr(self, "_split"):
            self._show_counts()
            self._write_page()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the chosen finding beside the list in a wide pane, else below."""
        super().resizeEvent(event)
        wide = self.width() >= 460 and self.width() > 1.3 * self.height()
        self._split.setOrientation(Qt.Orientation.Horizontal if wide else Qt.Orientation.Vertical)
        roomy = self.width() >= 460
        self._filter_rows.setDirection(
            QBoxLayout.Direction.LeftToRight if roomy else QBoxLayout.Direction.TopToBottom
        )

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go to the chosen finding on Enter."""
        pressed = watched is self.list and event.type() == QEvent.Type.KeyPress
        if pressed and cast(QKeyEvent, event).key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._go_to_index(self.list.currentIndex())
            return True
        return super().eventFilter(watched, event)

    # what is shown -----------------------------------------------------------------------------------

    @Slot(str, float)
    def show_progress(self, stage: str, share: float) -> None:
        """Say how far the checks in the background are; other stages are passed over."""
        if stage == "checks" and self.state.report is None and self.state.program is not None:
            self._percent = f" {min(int(share * 100), 99)} % done."
            self._write_status()

    def choose(self, row: int) -> None:
        """Choose a row of the list and show it whole."""
        index = self._entries.index(row)
        self.list.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        self.list.scrollTo(index)

    @property
    def entries(self) -> tuple[FindingEntry, ...]:
        """The rows that are shown, headings too."""
        return self._entries.entries

    @property
    def busy(self) -> bool:
        """Whether findings are there and about to be shown."""
        return self._after.isActive()

    def _show_report(self) -> None:
        self._after.stop()
        self._percent = ""
        self._answer = None
        report = self.state.report
        if report is not None:
            self._split.show()  # what is hidden takes no keys
        self._pass_keys_to(self._status if report is None else self.list)
        self._split.setVisible(report is not None)
        self._filters.setVisible(report is not None and bool(report.findings))
        self._show_counts()
        self._filter()

    def _pass_keys_to(self, taker: QWidget) -> None:
        """Let the list take the keys or, where there is none, what is said in its place: the pane is always reached."""
        focus = self.window().focusWidget()
        goes = taker is self._status and focus is not None and self.isAncestorOf(focus)
        policy = Qt.FocusPolicy.TabFocus if taker is self._status else Qt.FocusPolicy.NoFocus
        self._status.setFocusPolicy(policy)
        self.setFocusProxy(taker)
        if goes or focus is self._status:
            taker.setFocus()

    def _show_counts(self) -> None:
        report = self.state.report
        found = [] if report is None else [finding.severity for finding in report.findings]
        for severity, button in self._buttons.items():
            button.setIcon(
                icon(f"severity_{severity.value}", is_dark(self.palette()), page.SEVERITY_COLOURS[severity])
            )
            button.setText(counted_text(found.count(severity), severity.value))
            button.setEnabled(severity in found)

    def _filter(self) -> None:
        kept = self._current()
        self._entries.show(tuple(self._wanted()))
        rows = [row for row, entry in enumerate(self.entries) if entry.about is not None]
        again = [row for row in rows if kept is not None and self.entries[row].about is kept.about]
        findings = [row for row in rows if self.entries[row].severity is not None]
        if again or findings:
            self.choose((again or findings)[0])
        self._write_status()
        self._write_page()

    def _wanted(self) -> Sequence[FindingEntry]:
        report, words = self.state.report, self._text.text().casefold().split()
        if report is None:
            return ()
        findings = [
            FindingEntry(finding, _title(finding.slug))
            for finding in sorted(report.findings, key=lambda finding: finding.severity.rank)
            if self._buttons[finding.severity].isChecked()
        ]
        missing = [FindingEntry(one, _title(one.slug)) for one in report.not_checked]
        findings, missing = (
            [entry for entry in entries if all(word in entry.spoken.casefold() for word in words)]
            for entries in (findings, missing)
        )
        passed = [FindingEntry(one, "") for one in report.passed]
        passed = [entry for entry in passed if all(word in entry.spoken.casefold() for word in words)]
        if passed:
            findings += [FindingEntry(None, f"{len(passed)} checked, and nothing found"), *passed]
        return [*findings, *([FindingEntry(None, NOT_CHECKED)] if missing else []), *missing]

    def _write_status(self) -> None:
        report = self.state.report
        if self.state.program is None:
            text = "No program is open."
        elif self.state.partial and self.state.halted:
            text = f"Reading ended early, so nothing was checked. {READ_AGAIN}"
        elif self.state.partial:
            text = "The program is still being read; it is checked afterwards."
        elif report is None and self.state.halted:
            text = f"The checks ended early, so nothing is known of findings. {READ_AGAIN}"
        elif report is None:
            text = f"The program is being checked.{self._percent}"
        else:
            text = _counted(len(report.findings), len(report.not_checked))
            if report.failed:
                text += f" {failed_text(report)}."
            shown = sum(1 for entry in self.entries if entry.severity is not None)
            if shown < len(report.findings):
                text += f" {shown} shown."
        self._status.setText(text)

    def _current(self) -> FindingEntry | None:
        row = self.list.currentIndex().row()
        return self.entries[row] if 0 <= row < len(self.entries) else None

    def _write_page(self) -> None:
        report, entry, dark = self.state.report, self._current(), is_dark(self.palette())
        faint, edge = tone("faint", dark).name(), tone("warn", dark).name()
        html = ""
        if entry is not None and isinstance(entry.about, Finding) and self._answer is None:
            html = page.finding_html(entry.about, _documentation(entry.about.slug), faint, edge)
        elif self._answer is not None:
            html = page.answer_html(self._answer, faint)
        elif entry is not None and isinstance(entry.about, Passed):
            html = page.passed_html(entry.about, _documentation(entry.about.slug), faint)
        elif entry is not None and isinstance(entry.about, NotChecked):
            html = page.not_checked_html(entry.about, _documentation(entry.about.slug), faint)
        elif report is not None and not report.findings:
            html = page.nothing_found_html(_checks(), report.not_checked, faint)
        if html != self._written:  # to lay it out takes some ms
            self._written = html
            self.page.setHtml(html)

    def show_answer(self, answer: Answer) -> None:
        """Show what an answer rests on: the place of its gravest finding, or all that was checked."""
        row = next((k for k, entry in enumerate(self.entries) if entry.about in answer.findings[:1]), None)
        self._answer = None
        if row is not None:
            self.choose(row)
            self._go_to_index(self.list.currentIndex())
            return
        first = next((k for k, entry in enumerate(self.entries) if entry.about in answer.passed[:1]), None)
        if first is not None:
            self.choose(first)
        self._answer = answer
        self._write_page()

    def _turn_page(self) -> None:
        """Show the row that was chosen."""
        self._answer = None
        self._write_page()

    # where a person goes -----------------------------------------------------------------------------

    def _go_to_index(self, index: QModelIndex) -> None:
        if 0 <= index.row() < len(self.entries):
            about = self.entries[index.row()].about
            if isinstance(about, Finding):
                self.go_to(about)

    def go_to(self, finding: Finding) -> None:
        """Show a finding's layer, place and line."""
        with self.state.together():
            layer = next((one.layer for one in finding.extents if one.layer is not None), finding.layer)
            if layer is not None:
                self.state.show_layer(layer)
            move = finding.move if finding.move is not None else self._move_at(finding)
            if move is not None:
                self.state.select(move)
            elif finding.lines:
                self.state.select_line(finding.lines[0])
            if layer is not None and move is not None:
                self.state.show_layer(layer)
            self.state.show_evidence(finding.extents, finding.severity.value, finding.slug in OVER_BELOW)
        if finding.lines:
            self.line_wanted.emit(finding.lines[0])

    def _move_at(self, finding: Finding) -> int | None:
        """Return the bead of the finding's layer that is nearest to its place."""
        program = self.state.program
        if program is None or finding.layer is None or finding.place_mm is None:
            return None
        if not 1 <= finding.layer <= len(program.layers):
            return None
        beads = program.beads_of(finding.layer)
        row, _away = nearest_bead(finding.place_mm[0], finding.place_mm[1], beads)
        return int(beads.move[row]) if row >= 0 else None

    @Slot(QUrl)
    def _follow(self, link: QUrl) -> None:
        what, _, number = link.toString().partition(":")
        if what == "layer":
            self.state.show_layer(int(number))
        elif what == "line":
            self.state.select_line(int(number))
            self.line_wanted.emit(int(number))
        elif what == "place":
            self._go_to_place(int(number))

    def _go_to_place(self, row: int) -> None:
        """Show one place of the chosen finding, by its row in `Finding.places`."""
        entry = self._current()
        if entry is not None and isinstance(entry.about, Finding):
            self.go_to(list(each_place([entry.about]))[row])


def _counted(findings: int, missing: int) -> str:
    """Say how many findings there are; never that all is well."""
    found = counted_text(findings, "finding") if findings else "No finding"
    left = "" if not missing else f"; {missing} not, or not wholly, checked"
    return f"{found}{left}."


def _checks() -> tuple[Check, ...]:
    from viewer.checks.run import CHECKS  # brings the engine: not before there is a report

    return CHECKS


def _documentation(slug: str) -> Check | None:
    return next((check for check in _checks() if check.slug == slug), None)


def _title(slug: str) -> str:
    check = _documentation(slug)
    return check.title if check else slug
