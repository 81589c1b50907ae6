"""The window: one program in the middle, what is known of it about it.

::

    a file --Opening--> Loader --previewed, loaded--> ViewState --> panes
                          +----checked-------------> ViewState --> Findings, marks of the strip
                          +----failed--------------> Banner
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QApplication,
    QDockWidget,
    QLabel,
    QMainWindow,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from viewer.cards import find_card, read_card
from viewer.cards.kinds import Kind
from viewer.errors import CardError
from viewer.shown.numbers import clock_text, distance_text, duration_text, money_text, number_text
from viewer.shown.window.actions.bindings import enable, fill_menus, make_actions
from viewer.shown.window.actions.key_guard import KeyGuard
from viewer.shown.window.model.view_state import Topic, ViewState
from viewer.shown.window.shell.arrangement import Panes, arrange_docks, give_focus, make_docks, make_panes
from viewer.shown.window.shell.banner import Banner
from viewer.shown.window.shell.card_choice import CardChoice
from viewer.shown.window.shell.commands import Commands
from viewer.shown.window.shell.focus_mark import FocusMark
from viewer.shown.window.shell.memory import LAYOUT, Memory
from viewer.shown.window.shell.opening import Opening
from viewer.shown.window.shell.start_page import StartPage, WaitPage
from viewer.shown.window.shell.tool_bar import ToolBar, show_choices
from viewer.shown.window.shell.work_bar import WorkBar
from viewer.shown.window.style.theme import Theme
from viewer.shown.window.threads.in_turn import InTurn
from viewer.shown.window.threads.loader import CardNames

if TYPE_CHECKING:
    from viewer.figures.figures import Figures

USUAL_SIZE = (1280, 800)
MIN_SIZE = (760, 520)
FRAME = QSize(8, 40)
"""What a frame and a title about the window take of the screen, more or less."""
BREATH_MS = 5
"""Between steps of what takes long: keys and the mouse come in there."""


class MainWindow(QMainWindow):
    """The window with its menus; panes come with `add_panes`, when the engine is there."""

    panes_made = Signal()

    def __init__(self, state: ViewState, memory: Memory | None = None, theme: Theme | None = None) -> None:
        super().__init__()
        self.state = state
        self.memory = memory or Memory()
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        self.theme = theme or Theme(application, self.memory.look, self.memory.text_scale)
        self._panes: Panes | None = None
        self._making: Iterator[Panes | None] | None = None
        self.docks: dict[str, QDockWidget] = {}
        self._maker = QTimer(self, singleShot=True, interval=0)
        self._maker.timeout.connect(self.add_panes_by_and_by)
        self._in_turn = InTurn(self)
        self._docks_known = False
        self._kept_docks: QByteArray | None = None
        self._workshop = self.memory.card("workshop")
        self._guard = KeyGuard(self)
        self.installEventFilter(self._guard)
        self._build()
        self._connect()
        self.memory.restore_choices(state)
        if not self.memory.restore_geometry(self):
            self.resize(QSize(*USUAL_SIZE).boundedTo(self._room))
        self._theme_changed(self.theme.dark)
        self._program_shown()

    @property
    def _room(self) -> QSize:
        """How large the window may be so that all of it is seen."""
        return self.screen().availableSize() - FRAME

    def _build(self) -> None:
        self.setAcceptDrops(True)
        self.setMinimumSize(QSize(*MIN_SIZE).boundedTo(self._room))
        self.banner = Banner(self)
        self.start = StartPage(self.memory.recent, self)
        self.waiting = WaitPage(self)
        self.opening = Opening(self.state, self.memory, self.banner, self.waiting, lambda: self.cards)
        self.commands = Commands(self)
        self.actions_by_id: dict[str, QAction] = make_actions(self, self.commands.handlers())
        fill_menus(self, self.actions_by_id)
        self.tool_bar = ToolBar(self.state, self.actions_by_id, self.memory, self)
        self.choices: dict[Kind, CardChoice] = {
            "printer": self.tool_bar.printer,
            "filament": self.tool_bar.filament,
        }
        self.addToolBar(self.tool_bar)
        self.stack = QStackedWidget(self)
        self.stack.addWidget(self.start)
        self.stack.addWidget(self.waiting)
        self._middle = QWidget(self)
        column = QVBoxLayout(self._middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.banner)
        column.addWidget(self.stack, 1)
        self.setCentralWidget(self._middle)
        self.summary = QLabel(self)
        self.work = WorkBar(self)
        self.statusBar().addPermanentWidget(self.work)
        self.statusBar().addPermanentWidget(self.summary)

    def _connect(self) -> None:
        loader = self.opening.loader
        loader.prepared.connect(self.add_panes_by_and_by)
        loader.is_painting = lambda: self._in_turn.busy
        loader.began.connect(self.work.begin)
        loader.progress.connect(self.work.tell)
        loader.ended.connect(self.work.end)
        self.opening.turned.connect(self._opening_turned)
        self.opening.told.connect(self.start.notice.setText)
        self.opening.cards_stay.connect(self.tool_bar.choose)
        self.work.cancelled.connect(self.opening.cancel)
        self.start.wants.connect(self.open_path)
        self.start.wants_dialog.connect(self.commands.open)
        self.tool_bar.settled.connect(self._focus_picture)
        for name, field in (("start", self.tool_bar.start), ("spool", self.tool_bar.spool)):
            field.complained.connect(partial(self._refused, name))
        self.tool_bar.card_chosen.connect(self._card_chosen)
        self.tool_bar.wants_form.connect(self.edit_card)
        self.theme.changed.connect(self._theme_changed)
        shown: dict[Topic, object] = {"program": self._program_shown, "start": self._summary_shown}
        shown |= dict.fromkeys(("colouring", "shown", "strip", "play"), self._choices_shown)
        for topic, listener in shown.items():
            self.state.listen(topic, listener)  # type: ignore[arg-type]

    @property
    def panes(self) -> Panes:
        """All panes, made when first asked for."""
        self.add_panes()
        assert self._panes is not None
        return self._panes

    def add_panes(self) -> None:
        """Make the panes and their docks, now; a second call does nothing."""
        while self._panes is None:
            self._make_one()

    def add_panes_by_and_by(self) -> None:
        """Make one pane whenever nothing else is to be done."""
        if self._panes is None:
            self._make_one()
            self._maker.start()

    def _make_one(self) -> None:
        if self._making is None:
            self._making = make_panes(self.state, self)
        self._panes = next(self._making)
        if self._panes is not None:
            self.stack.addWidget(self._panes.plot)
            self.docks = make_docks(self, self._panes)
            self.opening.loader.progress.connect(self._panes.findings.show_progress)
            self._panes.findings.line_wanted.connect(self._panes.program.go_to_line)
            self._panes.slider.rested.connect(self._panes.program.go_to_line)
            self._panes.plot.view.measuring_ended.connect(self.actions_by_id["measure"].toggle)
            for name, dock in self.docks.items():
                dock.installEventFilter(self._guard)
                dock.toggleViewAction().toggled.connect(self.actions_by_id[f"dock-{name}"].setChecked)
            self._focus_mark = FocusMark(self._panes, self)
            self.panes_made.emit()
            QTimer.singleShot(0, self.opening.loader, self.opening.loader.panes_are_made)

    def open_path(self, path: Path) -> None:
        """Read a program in the background; what is on show stays until there is something of the new one."""
        self.opening.open_path(path)

    # ---- cards

    @property
    def cards(self) -> CardNames:
        """Names of the cards that are chosen."""
        bar = self.tool_bar
        return CardNames(bar.printer.card, bar.filament.card, self._workshop, self.state.spool_left_g)

    def choose_cards(self, printer: str | None, filament: str | None, workshop: str | None) -> None:
        """Choose cards by name or path before a program is opened; the sentence of a wrong one is shown."""
        complaint = self.tool_bar.choose(printer, filament)
        self._workshop = workshop or self._workshop
        if complaint:
            self.banner.say("cards", "warn", complaint)

    def _card_chosen(self, kind: str, card: str) -> None:
        self.memory.put(f"cards/{kind}", card)
        if kind == "filament":
            self.state.leave_on_spool(None)  # it was said of another spool
        self.opening.use_cards()

    def edit_card(self, kind: Kind) -> None:
        """Open the form of the chosen card of a kind."""
        from viewer.shown.window.card_form.form import CardForm

        choice = self.choices.get(kind)
        try:
            card = read_card(find_card(kind, self._workshop if choice is None else choice.card), kind)
        except CardError as problem:
            self.banner.say("cards", "stop", str(problem))
            return
        form = CardForm(kind, card, self)
        form.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        form.accepted.connect(lambda: self._card_saved(kind, form.card.name))
        form.open()

    def _card_saved(self, kind: Kind, name: str) -> None:
        """Take the card that was just saved."""
        choice = self.choices.get(kind)
        if choice is None:
            self._workshop = name
        else:
            choice.fill(name)
        self._card_chosen(kind, name)

    # ---- what is shown

    def _program_shown(self) -> None:
        program = self.state.program
        if program is not None and self._docks_stand:
            self._in_turn.paint(self._parts)
        self.setWindowTitle(f"{program.path.name} – Beadline" if program is not None else "Beadline")
        self._opening_turned()
        self._summary_shown()
        self._choices_shown()

    def _opening_turned(self) -> None:
        """Show the plot with its docks, or the start page without, or that something is being read."""
        loader = self.opening.loader
        program = self.state.program is not None
        job = loader.busy and (
            program or loader.path is not None
        )  # what gets the engine ready is not to be stopped
        enable(self.actions_by_id, program=program, whole=program and not self.state.partial, job=job)
        if self.state.program is not None:
            self.add_panes()  # now at the latest
            if self._docks_stand:
                self._show_plot()
            else:  # in steps: all at once would stop the window for too long
                self.setUpdatesEnabled(False)
                QTimer.singleShot(BREATH_MS, self, self._show_docks)
            return
        self._hide_docks()
        if loader.path is None and self.stack.currentWidget() is not self.start:
            self.start.show_recent(self.memory.recent)
        self.stack.setCurrentWidget(self.start if loader.path is None else self.waiting)

    def _focus_picture(self) -> None:
        """Let the keys go to the layer on show, if there is one."""
        if self.state.program is not None:
            give_focus(self.panes.plot)

    @property
    def _docks_stand(self) -> bool:
        """Whether the docks are about the picture, each shown or hidden as the person wants it."""
        return self._docks_known and self._kept_docks is None

    def _show_docks(self) -> None:
        self._in_turn.paint((self, *self._parts))
        if self.state.program is None or self._docks_stand:
            return
        if self._kept_docks is not None:
            self.restoreState(self._kept_docks, LAYOUT)
            self._kept_docks = None
        elif not self._docks_known and not self.memory.restore_docks(self):
            self.arrange()
        self._docks_known = True
        self.panes.plot.settle(BREATH_MS)
        self._show_plot()  # now that it has its size

    def _show_plot(self) -> None:
        """Put the plot in the middle."""
        if self.stack.currentWidget() is not self.panes.plot:
            self.stack.setCurrentWidget(self.panes.plot)
            self._focus_picture()

    @property
    def _parts(self) -> tuple[QWidget, ...]:
        """What is painted by itself, the picture first."""
        return (self._middle, *self.docks.values())

    def _hide_docks(self) -> None:
        if self._docks_stand:
            self._kept_docks = self.saveState(LAYOUT)
            for dock in self.docks.values():
                dock.hide()

    def arrange(self) -> None:
        """Put every pane where it was at first."""
        arrange_docks(self, self.docks)

    def toggle_dock(self, name: str) -> None:
        """Show a dock and give it the focus, or hide it; one behind another of the same place comes to the front."""
        dock = self.docks[name]
        if dock.isHidden() or dock.visibleRegion().isEmpty():
            self.show_dock(name)
            give_focus(dock.widget())
        else:
            dock.hide()

    def show_dock(self, name: str) -> None:
        """Bring a dock into view."""
        self.docks[name].show()
        self.docks[name].raise_()

    def _summary_shown(self) -> None:
        """Say in the status bar what a keeper is asked first: how long, how much, what it costs."""
        program = self.state.program
        whole = program is not None and not self.state.partial
        text = summary(program.figures, self.state.start) if program is not None and whole else ""
        self.summary.setText(text)

    def _refused(self, name: str, sentence: str) -> None:
        """Say why what was typed in a field was not taken; "" takes that back."""
        if sentence:
            self.banner.say(name, "warn", sentence)
        else:
            self.banner.clear(name)

    def _choices_shown(self) -> None:
        show_choices(self.actions_by_id, self.state, self.theme.look, self.isFullScreen())

    def _theme_changed(self, dark: bool) -> None:
        self.tool_bar.draw_icons(self.actions_by_id, dark)
        self.memory.put("look", self.theme.look)
        self.memory.put("text_scale", f"{self.theme.scale:g}")
        self._choices_shown()

    # ---- events

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files only."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            _accept_copy(event)

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the first file."""
        paths = [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            _accept_copy(event)
            self.open_path(paths[0])
        if len(paths) > 1:
            self.banner.say("drop", "note", f"{len(paths)} files were dropped; {paths[0].name} is opened.")

    def changeEvent(self, event: QEvent) -> None:
        """Look after the file when the window comes to the front."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.opening.watch.look()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember, and end what is under way."""
        self.memory.keep_geometry(self)
        self.memory.keep_choices(self.state)
        if self._docks_known:
            self.memory.keep_docks(self._kept_docks or self.saveState(LAYOUT))
        self.memory.write()
        self.state.play(0.0)
        self._maker.stop()
        self.hide()
        if self._panes is not None:
            self._panes.plot.stop()
        self.opening.close()
        super().closeEvent(event)


def summary(figures: Figures, start: datetime | None = None) -> str:
    """Return time, filament and cost in a line; with a start, until when somebody must stay, and when it is done."""
    filament, time = figures.filament, figures.time
    words = [
        duration_text(time.total_s),
        f"{distance_text(filament.drawn_mm)} of filament",
        f"{number_text(filament.mass_g)} g",
    ]
    if filament.cost is not None:
        words.append(money_text(filament.cost, filament.currency))
    if start is not None and time.first_layer_done_s is not None:
        words.append(f"first layer done at {clock_text(start, time.first_layer_done_s)}")
    if start is not None:
        words.append(f"ends at {clock_text(start, time.total_s)}")
    return " · ".join(words)


def _accept_copy(event: QDropEvent) -> None:
    """Accept a file as a copy: where a move is proposed and accepted, the file's manager deletes it."""
    event.setDropAction(Qt.DropAction.CopyAction)
    event.accept()
