"""`CommandedWindow`: what the commands need of the main window, so that neither module has to import the other."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from PySide6.QtGui import QAction

from viewer.cards.kinds import Kind
from viewer.shown.window.actions.table import Arrangement
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.shell.banner import Banner
from viewer.shown.window.shell.bar.tool_bar import ToolBar
from viewer.shown.window.shell.memory import Memory
from viewer.shown.window.shell.opening import Opening
from viewer.shown.window.style.theme import Theme

if TYPE_CHECKING:  # the window is on screen before the panes are imported, and the engine with them
    from viewer.shown.window.shell.panes import Panes


class CommandedWindow(Protocol):
    """The parts of a window that commands act on."""

    @property
    def state(self) -> ViewState:
        """What is shown."""

    @property
    def memory(self) -> Memory:
        """What is kept between runs."""

    @property
    def theme(self) -> Theme:
        """Light or dark, and the size of text."""

    @property
    def banner(self) -> Banner:
        """The line above the picture."""

    @property
    def opening(self) -> Opening:
        """Opens programs."""

    @property
    def tool_bar(self) -> ToolBar:
        """Has the choices of cards, the start and the spool."""

    @property
    def cards(self) -> CardNames:
        """Names of the cards that are chosen."""

    @property
    def actions_by_id(self) -> Mapping[str, QAction]:
        """The actions that are made."""

    @property
    def panes(self) -> Panes:
        """All panes, made when first asked for."""

    def open_path(self, path: Path) -> None:
        """Read a program."""

    def compare_with(self, path: Path) -> None:
        """Put another program beside the one on show."""

    def edit_card(self, kind: Kind) -> None:
        """Open the form of a card."""

    def go_to_notice(self) -> None:
        """Move the focus to a notice above the picture."""

    def arrange(self) -> None:
        """Put every pane where it was at first."""

    def arrange_for(self, arrangement: Arrangement) -> None:
        """Arrange the panes for a job."""

    def toggle_dock(self, name: str) -> None:
        """Show a dock or hide it."""

    def show_dock(self, name: str) -> None:
        """Bring a dock into view."""
