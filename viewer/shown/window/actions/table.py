"""Everything that the window can do, in one visible table: menus, tool bar, tooltips and the page of keys come from it.

Keys that move within the layer (arrows, page, home, end, space) belong to whatever list, text or field has the
focus; with Ctrl they move within the layer from anywhere.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from typing import Final, Literal

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QAction, QActionGroup, QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLineEdit,
    QMainWindow,
    QMenu,
    QPlainTextEdit,
    QTabBar,
    QTextEdit,
    QWidget,
)

from viewer.shown.html import cell, row, table
from viewer.shown.window.model.view_state import COLOURINGS, SHOWN, STRIP_QUANTITIES

Needs = Literal["nothing", "program", "whole", "job"]
"""When an action is there: always, with a program on show, with all of one, while something is under way."""


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do: its words, its keys and where it stands."""

    id: str
    text: str
    keys: tuple[str, ...]
    menu: str
    """Menu, or menu/submenu."""
    tip: str
    icon: str = ""
    needs: Needs = "program"
    kind: Literal["once", "switch", "choice"] = "once"
    """A choice is one of those of its menu."""


def _once(
    name: str, text: str, keys: str, menu: str, tip: str, icon: str = "", needs: Needs = "program"
) -> Action:
    return Action(name, text, tuple(keys.split()), menu, tip, icon, needs)


_PROGRAM: Final = (
    _once("open", "Open…", "Ctrl+O", "Program", "Open a program from a file", "open", "nothing"),
    _once("open-recent", "Open a recent one…", "Ctrl+R", "Program", "Choose among the programs opened lately",
          needs="nothing"),
    _once("open-again", "Read it again", "F5", "Program", "Read the program on show again from its file", "again"),
    _once("cancel", "Stop reading or checking", "Ctrl+.", "Program", "Stop what is under way", "stop", "job"),
    _once("start-page", "Start page", "Alt+Home", "Program", "Put the program away and show the first page",
          needs="nothing"),
    _once("save-picture", "Save the picture…", "Ctrl+S", "Program", "Save the layer as it is drawn: PNG or SVG",
          "picture"),
    _once("copy-picture", "Copy the picture", "Ctrl+Shift+C", "Program", "Put the drawn layer on the clipboard",
          "copy"),
    _once("export-figures", "Save the figures…", "Ctrl+E", "Program", "Save the figures of Stats as CSV", "table",
          "whole"),
    _once("print-sheet", "Print the job sheet…", "Ctrl+P", "Program", "Print the page that goes to the printer with"
          " the job", "sheet", "whole"),
    _once("save-sheet", "Save the job sheet…", "Ctrl+Shift+S", "Program", "Save the job sheet as PDF or HTML",
          needs="whole"),
    _once("quit", "Quit", "Ctrl+Q", "Program", "Close the window", needs="nothing"),
)  # fmt: skip
_LAYER: Final = (
    _once("next-layer", "Next layer", "Up Ctrl+Up", "Layer", "One layer up", "next"),
    _once("previous-layer", "Previous layer", "Down Ctrl+Down", "Layer", "One layer down", "previous"),
    _once("ten-up", "Ten layers up", "PgUp Ctrl+PgUp", "Layer", "Ten layers up"),
    _once("ten-down", "Ten layers down", "PgDown Ctrl+PgDown", "Layer", "Ten layers down"),
    _once("first-layer", "First layer", "Home Ctrl+Home", "Layer", "The layer on the plate"),
    _once("last-layer", "Last layer", "End Ctrl+End", "Layer", "The layer that is printed last"),
    _once("slowest-layer", "Slowest layer", "S", "Layer", "The layer that takes longest", needs="whole"),
    _once("next-bead", "Next bead", "Right Ctrl+Right", "Layer", "Select the bead that is laid next"),
    _once("previous-bead", "Previous bead", "Left Ctrl+Left", "Layer", "Select the bead that was laid before"),
    _once("no-bead", "Select nothing", "Esc", "Layer", "End the selection and the measuring"),
    Action("play", "Play", ("Space", "Ctrl+Space"), "Layer", "Watch the layer being laid", "play", kind="switch"),
    _once("faster", "Play faster", ".", "Layer", "Choose the next faster pace"),
    _once("slower", "Play slower", ",", "Layer", "Choose the next slower pace"),
    _once("whole-layer", "Whole layer", "W", "Layer", "Show all of the layer, not only up to a moment"),
    _once("find-layer", "Go to layer…", "Ctrl+L", "Layer", "Show the layer of a number"),
    _once("find-line", "Go to line…", "Ctrl+G", "Layer", "Select what a line of the program makes"),
    _once("find-text", "Find in the text…", "Ctrl+Shift+F", "Layer", "Find words in the program's text", "find"),
)  # fmt: skip
_PICTURE: Final = (
    _once("fit-part", "Fit the part", "F", "Picture", "Show the part as large as it fits", "fit_part"),
    _once("fit-plate", "Fit the plate", "Shift+F", "Picture", "Show the whole plate", "fit_plate"),
    _once("zoom-in", "Closer", "+ =", "Picture", "Show a smaller piece, larger"),
    _once("zoom-out", "Farther", "-", "Picture", "Show a larger piece, smaller"),
    Action("measure", "Measure", ("M",), "Picture", "Measure between two points: click them, or use arrows and"
           " Enter", "measure", kind="switch"),
)  # fmt: skip
_MOVE: Final = tuple(
    _once(f"move-{side}", f"To the {end}", f"Shift+{side.capitalize()}", "Picture/Move the picture",
          f"Show what lies further {where}")
    for side, end, where in (("left", "left", "left"), ("right", "right", "right"), ("up", "back", "back"),
                             ("down", "front", "in front"))
)  # fmt: skip
_COLOURS: Final = tuple(
    Action(f"colour-{name}", meaning[0].upper() + meaning[1:], (str(k),), "Picture/Colour beads by",
           f"Colour beads by {meaning}", kind="choice")
    for k, (name, meaning) in enumerate(COLOURINGS.items(), 1)
)  # fmt: skip
_SHOW_KEYS: Final = {"travel": "T", "retracts": "R", "below": "B", "plate": "O", "nozzle": "N", "marks": "K"}
_SHOW: Final = tuple(
    Action(f"show-{name}", meaning[0].upper() + meaning[1:], (_SHOW_KEYS[name],), "Picture/Show",
           f"Show or hide: {meaning}", kind="switch")
    for name, meaning in SHOWN.items()
)  # fmt: skip
_STRIP: Final = tuple(
    Action(f"strip-{name.replace(' ', '-')}", meaning[0].upper() + meaning[1:], (f"Alt+{k}",),
           "View/Layer strip shows", f"Bars of the layer strip: {meaning}", kind="choice")
    for k, (name, meaning) in enumerate(STRIP_QUANTITIES.items(), 1)
)  # fmt: skip
DOCKS: Final = {
    "findings": "Findings",
    "stats": "Stats",
    "ledger": "Time ledger",
    "strip": "Layer strip",
    "program": "Program",
}
_DOCKS: Final = tuple(
    Action(f"dock-{name}", title, (f"Ctrl+{k}",), "View", f"Show or hide {title}", kind="switch")
    for k, (name, title) in enumerate(DOCKS.items(), 1)
)
_VIEW: Final = (
    _once("arrange", "Arrange as at first", "Ctrl+0", "View", "Put every pane back where it was at first"),
    _once("notice", "Go to the notice", "F9", "View", "Go to what the line above the picture offers",
          needs="nothing"),
    _once("next-pane", "Next pane", "F6", "View", "Move the focus to the next pane"),
    _once("previous-pane", "Previous pane", "Shift+F6", "View", "Move the focus to the pane before"),
    Action("full-screen", "Full screen", ("F11",), "View", "Use the whole screen", "", "nothing", "switch"),
    _once("text-larger", "Larger text", "Ctrl++ Ctrl+=", "View/Text", "All text larger", needs="nothing"),
    _once("text-smaller", "Smaller text", "Ctrl+-", "View/Text", "All text smaller", needs="nothing"),
    _once("text-usual", "Usual text", "Alt+0", "View/Text", "Text as large as the system says", needs="nothing"),
    Action("look-system", "As the system", ("Ctrl+Shift+Y",), "View/Light or dark", "Light or dark as the system"
           " is", "", "nothing", "choice"),
    Action("look-light", "Light", ("Ctrl+Shift+L",), "View/Light or dark", "Always light", "", "nothing", "choice"),
    Action("look-dark", "Dark", ("Ctrl+Shift+D",), "View/Light or dark", "Always dark", "", "nothing", "choice"),
)  # fmt: skip
_CARDS: Final = (
    _once("choose-printer", "Choose the printer", "F7", "Cards", "Go to the choice of printer cards", needs="nothing"),
    _once("choose-filament", "Choose the filament", "F8", "Cards", "Go to the choice of filament cards",
          needs="nothing"),
    _once("choose-start", "Say when it starts", "Ctrl+T", "Cards", "Go to the field of the time at which the print is"
          " to start", needs="nothing"),
    _once("choose-spool", "Say what is left on the spool", "Ctrl+Shift+T", "Cards", "Go to the field of the filament that"
          " is left", needs="nothing"),
    _once("edit-printer", "Edit the printer card…", "Ctrl+F7", "Cards", "Change what is known of the printer", "card",
          "nothing"),
    _once("edit-filament", "Edit the filament card…", "Ctrl+F8", "Cards", "Change what is known of the filament",
          needs="nothing"),
    _once("edit-workshop", "Edit the workshop card…", "Ctrl+F9", "Cards", "Change charges, hours and limits of checks",
          needs="nothing"),
)  # fmt: skip
_HELP: Final = (
    _once("keys", "Keys", "F1", "Help", "Every action and its key", "keys", "nothing"),
    _once("about", "About Beadline", "Shift+F1", "Help", "What this program does, and what it does not", "help",
          "nothing"),
)  # fmt: skip
ACTIONS: Final = (
    *_PROGRAM, *_LAYER, *_PICTURE, *_MOVE, *_COLOURS, *_SHOW, *_DOCKS, *_VIEW, *_STRIP, *_CARDS, *_HELP,
)  # fmt: skip
TOOLBAR: Final = ("open", "", "previous-layer", "next-layer", "play", "", "fit-part", "fit-plate", "measure")
"""Actions of the tool bar, "" is a gap; the choices of colouring and cards stand behind them."""
SEPARATED: Final = frozenset(
    {"save-picture", "print-sheet", "quit", "next-bead", "play", "find-layer", "measure", "arrange",
     "next-pane", "full-screen", "edit-printer"}
)  # fmt: skip
"""Actions with a line above them in their menu."""

PANE_KEYS: Final = {
    "Layer plot, while measuring": (
        ("Left, Right, Up, Down", "move the point; with Shift by one pixel"),
        ("Enter", "set the first end, then the second"),
        ("Esc", "end measuring"),
    ),
    "Slider of moments": (("Left, Right", "earlier or later"), ("Home, End", "beginning or end of the layer")),
    "Findings": (
        ("Up, Down", "choose a finding"),
        ("Enter", "show its layer, place and line"),
        ("Tab, Enter", "in the chosen finding: to a link, follow it"),
    ),
    "Stats": (
        ("Left, Right", "on the tabs: program, layer or bead"),
        ("Up, Down", "choose a figure or a group"),
        ("Ctrl+C", "copy it"),
    ),
    "Program": (
        ("Up, Down, PgUp, PgDown, Home, End", "another line; with Shift choose several"),
        ("Left, Right", "along long lines"),
        ("Ctrl+C", "copy the chosen lines"),
        ("Ctrl+F", "find words"),
        ("F3, Shift+F3", "find them again, downward or upward"),
        ("Esc", "leave the fields"),
    ),
    "Forms and pages": (("Tab, Shift+Tab", "next field, field before"), ("Ctrl+S", "save a card"), ("Esc", "close")),
}  # fmt: skip
"""Keys that a pane takes itself while it has the focus."""

MENU_LETTERS: Final = {"Picture": "Pict&ure"}
"""Menus that are not reached by their first letter, as another has it."""

Handlers = Mapping[str, Callable[[], object]]


def make_actions(window: QWidget, handlers: Handlers) -> dict[str, QAction]:
    """Make the actions of the table; each must have a handler.

    Raises
    ------
    KeyError
        An action without a handler, or a handler without an action.
    """
    known = {action.id for action in ACTIONS}
    if known != handlers.keys():
        raise KeyError(f"actions and handlers differ: {sorted(known ^ handlers.keys())}")
    made: dict[str, QAction] = {}
    groups: dict[str, QActionGroup] = {}
    for action in ACTIONS:
        made[action.id] = one = QAction(action.text, window)
        one.setObjectName(action.id)
        one.setShortcuts([QKeySequence(key) for key in action.keys])
        one.setToolTip(f"{action.tip} ({shown_key(action.keys[0])})")
        one.setStatusTip(action.tip)
        one.setCheckable(action.kind != "once")
        one.setEnabled(action.needs == "nothing")
        one.triggered.connect(lambda _checked=False, do=handlers[action.id]: do())
        if action.kind == "choice":
            groups.setdefault(action.menu, QActionGroup(window)).addAction(one)
    return made


def fill_menus(window: QMainWindow, made: Mapping[str, QAction]) -> dict[str, QMenu]:
    """Put every action into the menu bar; gives the menus by their names."""
    menus: dict[str, QMenu] = {}
    for action in ACTIONS:
        top, _, sub = action.menu.partition("/")
        if top not in menus:
            menus[top] = window.menuBar().addMenu(MENU_LETTERS.get(top, f"&{top}"))
        if sub and action.menu not in menus:
            menus[action.menu] = menus[top].addMenu(sub)
        if action.id in SEPARATED:
            menus[action.menu].addSeparator()
        menus[action.menu].addAction(made[action.id])
    return menus


def _read_again() -> str:
    again = next(action for action in ACTIONS if action.id == "open-again")
    return f"“{again.text}” ({', '.join(again.keys)}) goes through all of it."


READ_AGAIN: Final = _read_again()
"""What to do where reading or checking ended early."""


def enable(made: Mapping[str, QAction], *, program: bool, whole: bool, job: bool) -> None:
    """Let those actions be there that have something to act on."""
    there = {"nothing": True, "program": program, "whole": whole, "job": job}
    for action in ACTIONS:
        made[action.id].setEnabled(there[action.needs])


def shown_key(key: str) -> str:
    """Return a key as the system writes it."""
    return QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)


def keys_page(wide: int = 190) -> str:
    """Return every action with its keys as HTML, menu by menu; the column of keys is `wide` pixels wide."""
    tables = {
        menu.replace("/", ": "): [
            (", ".join(map(shown_key, action.keys)), action.text.removesuffix("…"))
            for action in ACTIONS
            if action.menu == menu
        ]
        for menu in dict.fromkeys(action.menu for action in ACTIONS)
    }
    tables |= {f"In a pane: {pane}": list(rows) for pane, rows in PANE_KEYS.items()}
    return "".join(f"<h3>{escape(title)}</h3>{_keys_table(rows, wide)}" for title, rows in tables.items())


def _keys_table(rows: list[tuple[str, str]], wide: int) -> str:
    cells = ((cell(f"<b>{escape(keys)}</b>", width=str(wide)), cell(escape(what))) for keys, what in rows)
    return table((row(*pair) for pair in cells), padding=2)


_MOVING: Final = frozenset(
    {Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End,
     Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Space}
)  # fmt: skip
_TEXT_KEEPERS: Final = (QLineEdit, QAbstractSpinBox, QPlainTextEdit, QTextEdit)
_KEEPERS: Final = (*_TEXT_KEEPERS, QAbstractItemView, QComboBox, QAbstractSlider)


class KeyGuard(QObject):
    """Leaves moving keys to the list, text or field that has the focus, before they become shortcuts.

    A widget of another kind says that it wants them by a property ``keeps_keys`` that is true.
    """

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Accept the question whether a key is to be kept, when it has come up to the window or dock unanswered."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            focus = QApplication.focusWidget()
            if focus is not None and _keeps(focus, event):
                event.accept()
                return True
        return False


def _keeps(widget: QWidget, event: QKeyEvent) -> bool:
    plain = event.modifiers() & ~(Qt.KeyboardModifier.KeypadModifier | Qt.KeyboardModifier.ShiftModifier)
    if plain != Qt.KeyboardModifier.NoModifier:
        return False
    if isinstance(widget, QAbstractButton):
        return event.key() == Qt.Key.Key_Space
    if isinstance(widget, QTabBar):
        return event.key() in (Qt.Key.Key_Left, Qt.Key.Key_Right)
    moves = event.key() in _MOVING
    if event.key() == Qt.Key.Key_Space and not _is_written_in(widget):
        return isinstance(widget, QComboBox)
    writes = _is_written_in(widget) and bool(event.text()) and event.text().isprintable()
    return (moves or writes) and (isinstance(widget, _KEEPERS) or bool(widget.property("keeps_keys")))


def _is_written_in(widget: QWidget) -> bool:
    """Whether a person can write text there: a text that is only read leaves letters to be shortcuts."""
    if isinstance(widget, QComboBox):
        return widget.isEditable()
    return isinstance(widget, _TEXT_KEEPERS) and not widget.isReadOnly()
