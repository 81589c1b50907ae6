"""What each action of the table does."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from PySide6.QtWidgets import QFileDialog, QInputDialog, QMainWindow, QMessageBox

from viewer import __version__
from viewer.shown.window.actions.keys_page import keys_page
from viewer.shown.window.actions.table import ARRANGEMENTS, DOCKS
from viewer.shown.window.model.dear_places import step_place
from viewer.shown.window.model.paces import next_pace, pace_text
from viewer.shown.window.model.view_state import COLOURINGS, SHOWN, STRIP_QUANTITIES, Shown
from viewer.shown.window.shell.arrangement import focus_next
from viewer.shown.window.shell.commanded_window import CommandedWindow
from viewer.shown.window.shell.inbox_window import InboxWindow
from viewer.shown.window.shell.log_windows import LogWindows
from viewer.shown.window.shell.saving import Saving
from viewer.shown.window.shell.start_page import CAUTION
from viewer.shown.window.style.theme import LOOKS

if TYPE_CHECKING:  # the window is on screen before the engine is imported
    from viewer.part.view import Side

PART_SIDES: Final[tuple[Side, ...]] = ("corner", "front", "side", "top")
PROGRAM_FILES: Final = "Programs (*.gcode *.gco *.g *.nc *.ngc *.tap *.gz);;All files (*)"
ZOOM: Final = 1.25
MOVES: Final = {"left": (-0.2, 0.0), "right": (0.2, 0.0), "up": (0.0, 0.2), "down": (0.0, -0.2)}
"""By which share of what is seen a key moves the picture."""


class Commands:
    """Handlers of the actions, by their ids.

    Parameters
    ----------
    window
        What they act on.
    frame
        The same window for Qt: dialogs open over it, and its status bar says what was done.
    """

    def __init__(self, window: CommandedWindow, frame: QMainWindow) -> None:
        self._window, self._frame = window, frame
        self._state = window.state
        self._saving = Saving(window, frame)
        self.log = LogWindows(window, frame)
        self.inbox = InboxWindow(window, frame)

    @property
    def busy(self) -> bool:
        """Whether something is made, read or written beside the window that a command asked for."""
        return self._saving.handouts.busy or self.log.busy or self.inbox.busy

    def stop(self) -> None:
        """Wait for what is being written into the print log and the inbox: the window closes."""
        self.log.end()
        self.inbox.end()

    def handlers(self) -> dict[str, Callable[[], object]]:
        """Return the handler of every action."""
        return (
            self._of_programs()
            | self._of_layers()
            | self._of_pictures()
            | self._of_views()
            | self._of_cards()
            | self._of_lessons()
        )

    def _of_programs(self) -> dict[str, Callable[[], object]]:
        opening = self._window.opening
        return {
            "open": self.open,
            "open-recent": self.open_recent,
            "open-again": opening.open_again,
            "cancel": opening.cancel,
            "start-page": opening.put_away,
            "compare": self.compare,
            "save-picture": self._saving.picture,
            "copy-picture": self.on("plot", "copy_picture"),
            "export-figures": self._saving.figures,
            "print-sheet": self._saving.print_sheet,
            "save-sheet": self._saving.sheet,
            "note-print": self.log.note,
            "print-log": self.log.show_pages,
            "inbox": self.inbox.show,
            "watch-folder": self.inbox.ask_for_folder,
            "quit": self._frame.close,
        }

    def _of_layers(self) -> dict[str, Callable[[], object]]:
        state = self._state
        return {
            "next-layer": lambda: state.show_layer(state.layer + 1),
            "previous-layer": lambda: state.show_layer(state.layer - 1),
            "ten-up": lambda: state.show_layer(state.layer + 10),
            "ten-down": lambda: state.show_layer(state.layer - 10),
            "first-layer": lambda: state.show_layer(1),
            "last-layer": lambda: state.show_layer(state.layers),
            "slowest-layer": self.slowest_layer,
            "next-bead": lambda: state.step_bead(1),
            "previous-bead": lambda: state.step_bead(-1),
            "no-bead": self.select_nothing,
            "play": self.on("slider", "toggle_play"),
            "faster": lambda: self.change_pace(1),
            "slower": lambda: self.change_pace(-1),
            "whole-layer": self.whole_layer,
            "next-place": lambda: self.step_place(1),
            "previous-place": lambda: self.step_place(-1),
            "all-causes": lambda: state.look_at_cause(None),
            "find-layer": self.find_layer,
            "find-line": self.find_line,
            "find-text": self.find_text,
        }

    def _of_pictures(self) -> dict[str, Callable[[], object]]:
        window, state = self._window, self._state
        return {
            "fit-part": self.on("plot", "fit_part"),
            "fit-plate": self.on("plot", "fit_plate"),
            "zoom-in": lambda: window.panes.plot.zoom(ZOOM),
            "zoom-out": lambda: window.panes.plot.zoom(1.0 / ZOOM),
            "measure": lambda: window.panes.plot.start_measuring(window.actions_by_id["measure"].isChecked()),
            **{f"part-{side}": partial(self.show_part_from, side) for side in PART_SIDES},
            "part-above": self.on("part", "next_above"),
            "part-cut": self.on("part", "next_cut"),
            **{f"move-{side}": partial(self.move_picture, *by) for side, by in MOVES.items()},
            **{f"colour-{name.replace(' ', '-')}": partial(state.colour_by, name) for name in COLOURINGS},
            **{f"show-{name}": partial(self.show_or_hide, name) for name in SHOWN},
        }

    def _of_views(self) -> dict[str, Callable[[], object]]:
        window, state = self._window, self._state
        strip = {name.replace(" ", "-"): name for name in STRIP_QUANTITIES}
        return {
            "arrange": window.arrange,
            **{f"arrange-{name}": partial(window.arrange_for, name) for name in ARRANGEMENTS},
            "notice": window.go_to_notice,
            "next-pane": lambda: focus_next(window.panes, 1),
            "previous-pane": lambda: focus_next(window.panes, -1),
            "full-screen": self.full_screen,
            "text-larger": lambda: window.theme.resize_text(1),
            "text-smaller": lambda: window.theme.resize_text(-1),
            "text-usual": lambda: window.theme.resize_text(0),
            **{f"strip-{word}": partial(state.show_quantity, name) for word, name in strip.items()},
            **{f"dock-{name}": partial(window.toggle_dock, name) for name in DOCKS},
            **{f"look-{name}": partial(window.theme.choose, name) for name in LOOKS},
        }

    def _of_cards(self) -> dict[str, Callable[[], object]]:
        window = self._window
        return {
            "choose-printer": partial(self.drop_down, "printer"),
            "choose-filament": partial(self.drop_down, "filament"),
            "choose-start": partial(self.type_in, "start"),
            "choose-spool": partial(self.type_in, "spool"),
            "edit-printer": lambda: window.edit_card("printer"),
            "edit-filament": lambda: window.edit_card("filament"),
            "edit-workshop": lambda: window.edit_card("workshop"),
            "keys": self.keys,
            "about": self.about,
        }

    def _of_lessons(self) -> dict[str, Callable[[], object]]:
        return {
            "lesson-next": partial(self.turn_page, 1),
            "lesson-back": partial(self.turn_page, -1),
            "lesson-return": self.on("lesson", "return_to_step"),
            "print-handout": self._saving.print_handout,
            "save-handout": self._saving.handout,
            "save-answers": partial(self._saving.handout, answers=True),
            "words": self.words,
        }

    def turn_page(self, pages: int) -> None:
        """Turn pages of the lesson; what is not arranged for it yet is first."""
        if not self._state.teaching:
            self._window.arrange_for("teach")
        else:
            self._window.show_dock("lesson")
            self._window.panes.lesson.turn(pages)

    def words(self) -> None:
        """Show the words of the trade, each with what it means."""
        from viewer.shown.window.lesson.words_page import words_page

        self._page("Words of the trade", words_page())

    def on(self, pane: Literal["plot", "slider", "part", "lesson"], method: str) -> Callable[[], object]:
        """Return what calls a method of a pane; the panes are not there yet."""

        def call() -> object:
            return getattr(getattr(self._window.panes, pane), method)()

        return call

    def open(self) -> None:
        """Ask for a file and open it."""
        folder = self._window.memory.folder
        name, _ = QFileDialog.getOpenFileName(self._frame, "Open a program", folder, PROGRAM_FILES)
        if name:
            self._window.open_path(Path(name))

    def compare(self) -> None:
        """Ask for another file and put it beside the program on show."""
        folder = self._window.memory.folder
        name, _ = QFileDialog.getOpenFileName(self._frame, "Compare with a program", folder, PROGRAM_FILES)
        if name:
            self._window.compare_with(Path(name))

    def open_recent(self) -> None:
        """Ask which of the programs opened lately to open."""
        recent = [str(path) for path in self._window.memory.recent]
        if not recent:
            self._frame.statusBar().showMessage("No program was opened yet.", 5000)
            return
        name, chosen = QInputDialog.getItem(
            self._frame, "Opened lately", "Program:", recent, 0, editable=False
        )
        if chosen:
            self._window.open_path(Path(name))

    def show_or_hide(self, part: Shown) -> None:
        """Show a part of the picture, or hide it."""
        self._state.show_part(part, part not in self._state.shown)

    def slowest_layer(self) -> None:
        """Show the layer that takes longest."""
        program = self._state.program
        slowest = program.figures.layers.slowest if program is not None else None
        if slowest:
            self._state.show_layer(slowest)

    def move_picture(self, right: float, back: float) -> None:
        """Show what lies further to one side."""
        self._window.panes.plot.move_view(right, back)

    def show_part_from(self, side: Side) -> None:
        """Bring the whole part into view, from a named side."""
        self._window.show_dock("part")
        self._window.panes.part.look_from(side)

    def select_nothing(self) -> None:
        """End selection, measuring and playing."""
        self._state.play(0.0)
        self._state.select(None)
        self._state.show_evidence(())
        measure = self._window.actions_by_id["measure"]
        if measure.isChecked():
            measure.setChecked(False)
            self._window.panes.plot.start_measuring(False)

    def change_pace(self, step: int) -> None:
        """Choose the next pace (1) or the one before (-1)."""
        self._state.choose_pace(next_pace(self._state.pace, step))
        self._frame.statusBar().showMessage(f"Playing: {pace_text(self._state.pace)}", 3000)

    def whole_layer(self) -> None:
        """Show all of the layer."""
        self._state.play(0.0)
        self._state.show_moment(None)

    def step_place(self, by: int) -> None:
        """Go to the next dear place of the chosen cause, or of all causes together, or to the one before."""
        if self._state.times is not None:
            step_place(self._state, by)
            return
        self._window.show_dock("overrun")
        self._window.panes.overrun.step_place(by)

    def find_layer(self) -> None:
        """Ask for a layer's number and show it."""
        last = self._state.layers
        if not last:
            return
        number, chosen = QInputDialog.getInt(
            self._frame, "Go to layer", f"Layer (1 to {last}):", max(self._state.layer, 1), 1, last
        )
        if chosen:
            self._state.show_layer(number)

    def find_line(self) -> None:
        """Go to the field for a line's number."""
        self._window.show_dock("program")
        self._window.panes.program.start_go_to()

    def find_text(self) -> None:
        """Go to the field for a text to find."""
        self._window.show_dock("program")
        self._window.panes.program.start_find()

    def full_screen(self) -> None:
        """Use the whole screen, or not."""
        if self._frame.isFullScreen():
            self._frame.showNormal()
        else:
            self._frame.showFullScreen()

    def drop_down(self, kind: Literal["printer", "filament"]) -> None:
        """Open the choice of a card."""
        bar = self._window.tool_bar
        choice = {"printer": bar.printer, "filament": bar.filament}[kind]
        choice.setFocus()
        choice.showPopup()

    def type_in(self, field: Literal["start", "spool"]) -> None:
        """Go to a field of the tool bar."""
        bar = self._window.tool_bar
        {"start": bar.start, "spool": bar.spool}[field].go_to()

    def keys(self) -> None:
        """Show every action and its key."""
        letters = self._frame.fontMetrics().averageCharWidth()
        self._page("Keys", keys_page(32 * letters))

    def about(self) -> None:
        """Say what this program is."""
        box = QMessageBox(self._frame)
        box.setWindowTitle("About Beadline")
        box.setText(f"Beadline {__version__}")
        box.setInformativeText(
            f"{CAUTION}\n\nTimes and costs are computed from the program and the chosen cards; how well they fit"
            " depends on how well the cards describe the machine."
        )
        box.open()

    def _page(self, title: str, html: str) -> None:
        from viewer.shown.window.shell.pages import Page

        Page(title, html, self._frame).open()
