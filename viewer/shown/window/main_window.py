"""The window: one program in the middle, what is known of it about it.

::

    a file --open_path--> Loader --previewed, loaded--> ViewState --> panes
                             +----checked-------------> ViewState --> Findings, marks of the strip
                             +----failed--------------> Banner
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QTimer
from PySide6.QtGui import QAction, QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QDockWidget,
    QLabel,
    QMainWindow,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from viewer.shown.window.actions import KeyGuard, enable, fill_menus, make_actions
from viewer.shown.window.arrangement import (
    Panes,
    arrange_docks,
    focus_next,
    give_focus,
    make_docks,
    make_panes,
)
from viewer.shown.window.banner import Banner
from viewer.shown.window.commands import Commands
from viewer.shown.window.loading import CardNames, Loader
from viewer.shown.window.remember import LAYOUT, Memory
from viewer.shown.window.start_page import StartPage, WaitPage
from viewer.shown.window.theme import Theme
from viewer.shown.window.tool_bar import ToolBar, show_choices
from viewer.shown.window.view_state import ViewState
from viewer.shown.window.watch import FileWatch
from viewer.shown.window.work_bar import WorkBar

if TYPE_CHECKING:
    from viewer.program import Program


class MainWindow(QMainWindow):
    """The window with its menus; panes come with `add_panes`, when the engine is there."""

    def __init__(self, state: ViewState, memory: Memory | None = None, theme: Theme | None = None) -> None:
        super().__init__()
        self.state = state
        self.memory = memory or Memory()
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        self.theme = theme or Theme(application, self.memory.look, self.memory.text_scale)
        self.loader = Loader(self)
        self.watch = FileWatch(self)
        self._panes: Panes | None = None
        self.docks: dict[str, QDockWidget] = {}
        self._kept_docks: QByteArray | None = None
        self._workshop = self.memory.card("workshop")
        self._guard = KeyGuard(self)
        application.installEventFilter(self._guard)
        self._build()
        self._connect()
        self.memory.restore_choices(state)
        if not self.memory.restore_geometry(self):
            self.resize(1280, 800)
        self._program_shown()

    def _build(self) -> None:
        self.setAcceptDrops(True)
        self.setMinimumSize(760, 520)
        self.commands = Commands(self)
        self.actions_by_id: dict[str, QAction] = make_actions(self, self.commands.handlers())
        fill_menus(self, self.actions_by_id)
        self.tool_bar = ToolBar(self.state, self.actions_by_id, self.memory, self)
        self.choices: dict[str, QComboBox] = {"printer": self.tool_bar.printer, "filament": self.tool_bar.filament}
        self.addToolBar(self.tool_bar)
        self.banner = Banner(self)
        self.start = StartPage(self.memory.recent, self)
        self.waiting = WaitPage(self)
        self.stack = QStackedWidget(self)
        self.stack.addWidget(self.start)
        self.stack.addWidget(self.waiting)
        middle = QWidget(self)
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.banner)
        column.addWidget(self.stack, 1)
        self.setCentralWidget(middle)
        self.where = QLabel(self)
        self.work = WorkBar(self)
        self.statusBar().addPermanentWidget(self.work)
        self.statusBar().addPermanentWidget(self.where)
        self._long_wait = QTimer(self, singleShot=True, interval=LONG_WAIT_MS)

    def _connect(self) -> None:
        state, loader = self.state, self.loader
        loader.prepared.connect(self.add_panes)
        loader.began.connect(self._job_began)
        loader.progress.connect(self.work.tell)
        loader.previewed.connect(self._previewed)
        loader.loaded.connect(self._loaded)
        loader.checked.connect(state.show_report)
        loader.failed.connect(self._failed)
        loader.ended.connect(self._job_ended)
        self.work.cancelled.connect(self.cancel)
        self.watch.turned.connect(self._file_turned)
        self.start.wants.connect(self.open_path)
        self.start.wants_dialog.connect(self.commands.open)
        self.tool_bar.card_chosen.connect(self._card_chosen)
        self.tool_bar.wants_form.connect(self.edit_card)
        self._long_wait.timeout.connect(self._explain_wait)
        self.theme.changed.connect(self._theme_changed)
        state.listen("program", self._program_shown)
        for topic in ("layer", "moment"):
            state.listen(topic, self._layer_shown)  # type: ignore[arg-type]
        for topic in ("colouring", "shown", "strip", "play"):
            state.listen(topic, self._choices_shown)  # type: ignore[arg-type]

    @property
    def panes(self) -> Panes:
        """All panes, made when first asked for."""
        self.add_panes()
        assert self._panes is not None
        return self._panes

    @property
    def cards(self) -> CardNames:
        """Names of the cards that are chosen."""
        return CardNames(self.tool_bar.printer.card, self.tool_bar.filament.card, self._workshop)

    def choose_cards(self, printer: str | None, filament: str | None, workshop: str | None) -> None:
        """Choose cards by name or path before a program is opened; the sentence of a wrong one is shown."""
        complaint = self.tool_bar.choose(printer, filament)
        self._workshop = workshop or self._workshop
        if complaint:
            self.banner.say("cards", "warn", complaint)

    def add_panes(self) -> None:
        """Make the panes and their docks; a second call does nothing."""
        if self._panes is not None:
            return
        self._panes = make_panes(self.state, self)
        self.stack.addWidget(self._panes.plot)
        self.docks = make_docks(self, self._panes)
        for name, dock in self.docks.items():
            dock.toggleViewAction().toggled.connect(self.actions_by_id[f"dock-{name}"].setChecked)

    # ---- cards

    def _card_chosen(self, kind: str, card: str) -> None:
        self.memory.put(f"cards/{kind}", card)
        self._use_cards()

    def _use_cards(self) -> None:
        program = self.state.program
        if self.loader.path is not None:
            self.open_path(self.loader.path)
        elif program is not None and self.state.partial:
            self.open_path(program.path)
        elif program is not None:
            self.loader.change_cards(program, self.cards)

    def edit_card(self, kind: str) -> None:
        """Open the form of the chosen card of a kind."""
        from viewer.shown.window.card_form import CardForm

        raise NotImplementedError(CardForm)

    # ---- what is shown

    def _program_shown(self) -> None:
        program = self.state.program
        name = program.path.name if program is not None else ""
        self.setWindowTitle(f"{name} – Beadline" if name else "Beadline")
        self._show_middle()
        self._enable()
        self._layer_shown()
        self._choices_shown()

    def _show_middle(self) -> None:
        """Show the plot with its docks, or the start page without, or that something is being read."""
        if self.state.program is not None:
            self.stack.setCurrentWidget(self.panes.plot)
            self._show_docks()
            return
        self._hide_docks()
        reading = self.loader.path is not None
        self.stack.setCurrentWidget(self.waiting if reading else self.start)

    def _show_docks(self) -> None:
        if self._kept_docks is None and any(not dock.isHidden() for dock in self.docks.values()):
            return
        kept, self._kept_docks = self._kept_docks, None
        if kept is not None:
            self.restoreState(kept, LAYOUT)
        elif not self._docks_known and not self.memory.restore_docks(self):
            self.arrange()
        self._docks_known = True

    _docks_known = False

    def _hide_docks(self) -> None:
        if self._docks_known and self._kept_docks is None:
            self._kept_docks = self.saveState(LAYOUT)
            for dock in self.docks.values():
                dock.hide()

    def arrange(self) -> None:
        """Put every pane where it was at first."""
        arrange_docks(self, self.docks)

    def toggle_dock(self, name: str) -> None:
        """Show a dock and give it the focus, or hide it."""
        dock = self.docks[name]
        dock.setVisible(dock.isHidden())
        if not dock.isHidden():
            dock.raise_()
            give_focus(dock.widget())

    def focus_pane(self, step: int) -> None:
        """Move the focus to the next pane (1) or the one before (-1)."""
        focus_next(self.panes, step)

    def show_line(self, number: int) -> None:
        """Select what a line makes and bring it into view."""
        self.state.select_line(number)
        self.panes.program.show_line(number)

    def _layer_shown(self) -> None:
        state, words = self.state, ""
        if state.program is not None and state.layer:
            height = state.program.layers.height_mm[state.layer - 1]
            words = f"layer {state.layer} of {state.layers}{' so far' if state.partial else ''} · {height:.2f} mm"
        self.where.setText(words)

    def _choices_shown(self) -> None:
        show_choices(self.actions_by_id, self.state, self.theme.look, self.isFullScreen())

    def _enable(self) -> None:
        enable(self.actions_by_id, program=self.state.program is not None, job=self.loader.busy)

    def _theme_changed(self, dark: bool) -> None:
        self.tool_bar.draw_icons(self.actions_by_id, dark)
        self.memory.put("look", self.theme.look)
        self.memory.put("text_scale", f"{self.theme.scale:g}")
        self._choices_shown()

    # ---- events

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files only."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the first file."""
        paths = [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            event.acceptProposedAction()
            self.open_path(paths[0])
        if len(paths) > 1:
            self.banner.say("drop", "note", f"{len(paths)} files were dropped; {paths[0].name} is opened.")

    def changeEvent(self, event: QEvent) -> None:
        """Look after the file when the window comes to the front."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.watch.look()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Remember, and end what is under way."""
        self.memory.keep_geometry(self)
        self.memory.keep_choices(self.state)
        if self._docks_known:
            self.memory.keep_docks(self._kept_docks or self.saveState(LAYOUT))
        self.memory.write()
        self.state.play(0.0)
        self.hide()
        self.watch.follow(None)
        self.loader.close()
        if self.state.program is not None:
            self.state.program.close()
        super().closeEvent(event)
