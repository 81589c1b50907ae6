"""The window: one program in the middle, what is known of it about it.

::

    a file --Opening--> Loader --previewed, loaded--> ViewState --> panes
                          +----checked-------------> ViewState --> Findings, marks of the strip
                          +----failed--------------> Banner
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
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

from viewer.cards.kinds import Kind
from viewer.shown.names import in_one_line
from viewer.shown.window.actions.bindings import enable, fill_menus, make_actions
from viewer.shown.window.actions.key_guard import KeyGuard
from viewer.shown.window.actions.table import Arrangement
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.model.summary import summary
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.arrangement import give_focus, pane_of
from viewer.shown.window.shell.banner import Banner
from viewer.shown.window.shell.bar.job_switch import JobSwitch
from viewer.shown.window.shell.bar.tool_bar import ToolBar, show_choices
from viewer.shown.window.shell.bar.work_bar import WorkBar
from viewer.shown.window.shell.chosen_cards import ChosenCards
from viewer.shown.window.shell.commands import Commands
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.shell.notices.offer_line import OfferLine
from viewer.shown.window.shell.notices.veil import Veil
from viewer.shown.window.shell.opening import Opening
from viewer.shown.window.shell.pane_docks import PaneDocks
from viewer.shown.window.shell.recent.glance import Glances
from viewer.shown.window.shell.recent.glance_maker import GlanceMaker
from viewer.shown.window.shell.start_page import StartPage
from viewer.shown.window.shell.wait_page import WaitPage
from viewer.shown.window.style.theme import Theme
from viewer.shown.window.threads.newest_task import end_work
from viewer.shown.window.widgets.delayed_update import DelayedUpdate
from viewer.shown.window.widgets.focus_mark import FocusMark
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

if TYPE_CHECKING:  # the window is on screen before the panes are imported, and the engine with them
    from viewer.shown.window.shell.panes import Panes
    from viewer.shown.window.shell.teaching import Teaching
    from viewer.verdict import Answer

USUAL_SIZE = (1280, 800)
MIN_SIZE = (760, 520)
END_S = 20.0
"""How long a window that closes waits for the work beside it."""
FRAME = QSize(8, 40)
"""What a frame and a title about the window take of the screen, more or less."""


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
        self._guard = KeyGuard(self)
        self.installEventFilter(self._guard)
        self._build()
        self._connect()
        self.memory.restore_choices(state)
        self._strip_for(self.memory.arrangement)
        state.teach(self.memory.arrangement == "teach")
        if not self.memory.restore_geometry(self):
            self.resize(QSize(*USUAL_SIZE).boundedTo(self._room))
        self._theme_changed(self.theme.dark)
        self._program_shown()

    @property
    def _room(self) -> QSize:
        """How large the window may be so that all of it is seen."""
        return self.screen().availableSize() - FRAME

    # ---- built up

    def _build(self) -> None:
        self.setAcceptDrops(True)
        self.setMinimumSize(QSize(*MIN_SIZE).boundedTo(self._room))
        self.banner = Banner(self)
        self.made_for = Banner(self)
        self.offers = OfferLine(self.state, self.made_for, self)
        glances = Glances(self.memory.glances_folder)
        self.start = StartPage(self.memory.recent, glances, self)
        self.glance_maker = GlanceMaker(self.state, glances, lambda: self.memory.recent, self)
        self.waiting = WaitPage(self)
        self.opening = Opening(self.state, self.memory, self.banner, self.waiting, lambda: self.cards)
        self.commands = Commands(self, self)
        self.actions_by_id: dict[str, QAction] = make_actions(self, self.commands.handlers())
        fill_menus(self, self.actions_by_id)
        self.tool_bar = ToolBar(self.state, self.actions_by_id, self.memory, self)
        self._chosen_cards = ChosenCards(self.state, self.memory, self.tool_bar, self.banner, self)
        self.addToolBar(self.tool_bar)
        self.switch = JobSwitch(self.actions_by_id, self)
        if self.menuBar().isNativeMenuBar():  # it stands at the screen's head, and takes no widgets
            self.tool_bar.addWidget(self.switch)
        else:
            self.menuBar().setCornerWidget(self.switch)
        self.stack = QStackedWidget(self)
        self.stack.addWidget(self.start)
        self.stack.addWidget(self.waiting)
        middle = QWidget(self)
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.banner)
        column.addWidget(self.made_for)
        column.addWidget(self.stack, 1)
        self.setCentralWidget(middle)
        self._pane_docks = PaneDocks(self, self.state, self.memory, middle)
        self.veil = Veil(self, lambda: (self.stack, *self.docks.values()))
        self._teaching: Teaching | None = None
        """None until the panes are made."""
        self.summary = QLabel(self)
        self.work = WorkBar(self)
        self.statusBar().addPermanentWidget(self.work)
        self.statusBar().addPermanentWidget(self.summary)

    def _connect(self) -> None:
        loader = self.opening.loader
        loader.prepared.connect(self.add_panes_by_and_by)
        loader.is_painting = lambda: self._pane_docks.painting
        loader.began.connect(self.work.begin)
        loader.progress.connect(self.work.tell)
        loader.ended.connect(self.work.end)
        self.opening.outdated.connect(self.veil.cover)
        self.banner.put_away.connect(partial(self.veil.cover, False))
        loader.offered.connect(self.offers.show)
        self.offers.taken.connect(self._chosen_cards.take)
        self.offers.taken.connect(self._focus_picture)
        self.offers.wants_printers.connect(partial(self.show_dock, "printers"))
        self.opening.turned.connect(self._opening_turned)
        self.opening.told.connect(self.start.notice.setText)
        self.opening.cards_stay.connect(self.tool_bar.choose)
        self.work.cancelled.connect(self.opening.cancel)
        self.start.wants.connect(self.open_path)
        self.start.wants_dialog.connect(self.commands.open)
        self.start.wants_inbox.connect(self.commands.inbox.show)
        self.tool_bar.settled.connect(self._focus_picture)
        self.commands.log.spools_read.connect(self.tool_bar.spool.offer)
        self.tool_bar.spool.other_filament.connect(partial(self.banner.say, "spool", "warn"))
        loader.prepared.connect(self.commands.log.look_at_spools)
        for name, field in (("start", self.tool_bar.start), ("spool", self.tool_bar.spool)):
            field.complained.connect(partial(self._refused, name))
        self._chosen_cards.changed.connect(self.opening.use_cards)
        self._pane_docks.made.connect(self._take_panes)
        self._pane_docks.stand.connect(self._show_plot)
        self._panes_told = DelayedUpdate(loader.panes_are_made, 0, self)
        self.theme.changed.connect(self._theme_changed)
        listen = partial(listen_until_destroyed, self, self.state)
        listen(self._program_shown, "program")
        listen(self._summary_shown, "start")
        listen(self._choices_shown, "colouring", "shown", "strip", "play")

    def _take_panes(self) -> None:
        """Connect the panes with one another and with the window."""
        panes = self.panes
        self.stack.addWidget(panes.plot)
        self.opening.loader.progress.connect(panes.findings.show_progress)
        panes.findings.line_wanted.connect(panes.program.go_to_line)
        panes.verdict.wanted.connect(self._show_evidence)
        panes.printers.chosen.connect(partial(self._chosen_cards.take, "printer"))
        panes.beside.wanted.connect(self.commands.compare)
        panes.levers.card_kept.connect(self.take_card)
        panes.slider.carried.connect(panes.program.follow_line)
        panes.slider.rested.connect(panes.program.go_to_line)
        from viewer.shown.window.shell.teaching import Teaching

        self._teaching = Teaching(panes, self.docks, self.stack, self.actions_by_id, self._guard)
        panes.plot.view.measuring_ended.connect(self.actions_by_id["measure"].toggle)
        for name, dock in self.docks.items():
            dock.installEventFilter(self._guard)
            dock.toggleViewAction().toggled.connect(self.actions_by_id[f"dock-{name}"].setChecked)
        self._focus_mark = FocusMark(partial(pane_of, panes), self)
        self.panes_made.emit()
        self._panes_told.start()

    # ---- what it offers

    @property
    def panes(self) -> Panes:
        """All panes, made when first asked for."""
        return self._pane_docks.make()

    @property
    def made_panes(self) -> Panes | None:
        """All panes, None until they are made."""
        return self._pane_docks.panes

    @property
    def busy(self) -> bool:
        """Whether anything is under way whose outcome will be seen.

        That is: reading and checking, panes that are being made, docks that are being set up, painting that is held
        back, pictures that are being drawn, updates that are delayed, searches in the program's text, and the print log
        that is read or written. Playing is busy, too, for as long as it goes on; a file on disk that somebody else
        changes is not.
        """
        panes = self.made_panes
        beside = self.opening.loader.busy or self.commands.busy
        return self._pane_docks.busy or beside or (panes is not None and panes.busy)

    @property
    def docks(self) -> dict[str, QDockWidget]:
        """The docks about the plot by the names of their panes; none until the panes are made."""
        return self._pane_docks.docks

    def add_panes(self) -> None:
        """Make the panes and their docks, now; a second call does nothing."""
        self._pane_docks.make()

    def add_panes_by_and_by(self) -> None:
        """Make one pane whenever nothing else is to be done."""
        self._pane_docks.make_by_and_by()

    def arrange(self) -> None:
        """Put every pane of the arrangement where it was at first."""
        self._pane_docks.arrange()

    def arrange_for(self, arrangement: Arrangement) -> None:
        """Arrange the panes for a job, as the person left them."""
        self._pane_docks.use(arrangement)
        self._strip_for(arrangement)
        self.state.teach(arrangement == "teach")
        self._choices_shown()
        self._focus_picture()

    def _strip_for(self, arrangement: Arrangement) -> None:
        """Stack the bars of the strip by causes where the time is asked for; what else it shows was chosen."""
        if arrangement == "why" and self.state.strip == "time":
            self.state.show_quantity("causes")
        elif arrangement != "why" and self.state.strip == "causes":
            self.state.look_at_cause(None)
            self.state.show_quantity("time")

    def toggle_dock(self, name: str) -> None:
        """Show a dock and give it the focus, or hide it; one behind another of the same place comes to the front."""
        self._pane_docks.toggle(name)

    def show_dock(self, name: str) -> None:
        """Bring a dock into view."""
        self._pane_docks.bring(name)

    def open_path(self, path: Path) -> None:
        """Read a program in the background; what is on show stays until there is something of the new one."""
        self.opening.open_path(path)

    def compare_with(self, path: Path) -> None:
        """Put another program beside the one on show."""
        self.show_dock("beside")
        self.panes.beside.compare_with(path)

    @property
    def cards(self) -> CardNames:
        """Names of the cards that are chosen."""
        return self._chosen_cards.names

    def choose_cards(self, printer: str | None, filament: str | None, workshop: str | None) -> None:
        """Choose cards by name or path before a program is opened; the sentence of a wrong one is shown."""
        self._chosen_cards.choose(printer, filament, workshop)

    def edit_card(self, kind: Kind) -> None:
        """Open the form of the chosen card of a kind."""
        self._chosen_cards.edit(kind)

    def go_to_notice(self) -> None:
        """Move the focus to what a notice above the picture offers to do, the newest first."""
        (self.made_for if self.banner.isHidden() else self.banner).go_to()

    def take_card(self, kind: Kind, name: str) -> None:
        """Compute with a card that was just saved."""
        self._chosen_cards.take_saved(kind, name)

    # ---- what is shown

    def _program_shown(self) -> None:
        program = self.state.program
        self.veil.cover(False)
        if program is not None:
            self._pane_docks.paint_in_turn()
        self.setWindowTitle(
            f"{in_one_line(program.path.name)} – Beadline" if program is not None else "Beadline"
        )
        self._opening_turned()
        self._summary_shown()
        self._choices_shown()

    def _opening_turned(self) -> None:
        """Show the plot with its docks, or the start page without, or that something is being read."""
        loader, program = self.opening.loader, self.state.program is not None
        # what gets the engine ready is not to be stopped
        job = loader.busy and (program or loader.path is not None)
        enable(self.actions_by_id, program=program, whole=program and not self.state.partial, job=job)
        if program:
            self.add_panes()  # now at the latest
            if self._pane_docks.standing:
                self._show_plot()
            else:
                self._pane_docks.show_soon()
            return
        self._pane_docks.hide()
        if loader.path is None and self.stack.currentWidget() is not self.start:
            self.start.show_recent(self.memory.recent)
        self.stack.setCurrentWidget(self.start if loader.path is None else self.waiting)

    def _show_plot(self) -> None:
        """Put the plot in the middle."""
        large = self._large_picture
        if self.stack.currentWidget() is not large:
            self.stack.setCurrentWidget(large)
            self._focus_picture()

    @property
    def _large_picture(self) -> QWidget:
        """The layer on show; while a step of a lesson is about the whole part, that."""
        panes = self.panes
        return panes.plot if self._teaching is None else self._teaching.large

    def _focus_picture(self) -> None:
        """Let the keys go to the layer on show, if there is one."""
        if self.state.program is not None:
            give_focus(self._large_picture)

    def _show_evidence(self, answer: Answer) -> None:
        """Lead from an answer to its finding, or to what was checked."""
        self.show_dock("findings")
        self.panes.findings.show_answer(answer)

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
        self.actions_by_id[f"arrange-{self._pane_docks.arrangement}"].setChecked(True)

    def _theme_changed(self, dark: bool) -> None:
        self.tool_bar.draw_icons(self.actions_by_id, dark)
        self.memory.put("look", self.theme.look)
        self.memory.put("text_scale", f"{self.theme.scale:g}")
        self._pane_docks.follow_size()
        self._choices_shown()

    # ---- events

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files only."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            _accept_copy(event)

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the first file; watch a folder."""
        paths = [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        if not paths:
            return
        _accept_copy(event)
        first = paths[0]
        if first.is_dir():
            self.commands.inbox.watch(first)
            return
        self.open_path(first)
        if len(paths) > 1:
            said = f"{len(paths)} files were dropped; {in_one_line(first.name)} is opened."
            watch = ("Watch their folder", lambda: self.commands.inbox.watch(first.parent))
            self.banner.say("drop", "note", said, watch)

    def changeEvent(self, event: QEvent) -> None:
        """Look after the file when the window comes to the front."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.opening.watch.look()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember, and end what is under way."""
        self.memory.keep_geometry(self)
        self.state.look_at_cause(None)  # else its colours would be kept, without it
        self.memory.keep_choices(self.state)
        self._pane_docks.remember()
        self.memory.write()
        self.state.play(0.0)
        self._pane_docks.stop()
        self.commands.stop()
        self.hide()
        if self.made_panes is not None:
            self.made_panes.plot.stop()
            self.made_panes.part.stop()
        self.opening.close()
        end_work(self, END_S)
        super().closeEvent(event)


def _accept_copy(event: QDropEvent) -> None:
    """Accept a file as a copy: where a move is proposed and accepted, the file's manager deletes it."""
    event.setDropAction(Qt.DropAction.CopyAction)
    event.accept()
