"""Everything that the window can do, in one visible table; no Qt.

Menus, tool bar, tooltips and the page of keys come from it.

Keys that move within the layer (arrows, page, home, end, space) belong to whatever list, text or field has the
focus; with Ctrl they move within the layer from anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from viewer.numerals import capital
from viewer.shown.window.model.view_state import COLOURINGS, SHOWN, STRIP_QUANTITIES

Needs = Literal["nothing", "program", "whole", "job"]
"""When an action is there: always, with a program on show, with all of one, while something is under way."""


@dataclass(frozen=True, slots=True)
class Action:
    """One thing to do: its words, its keys and where it stands."""

    id: str
    text: str
    keys: tuple[str, ...]
    tip: str
    icon: str = ""
    needs: Needs = "program"
    kind: Literal["once", "switch", "choice"] = "once"
    """A choice is one of those of its menu."""
    menu: str = ""
    """Menu, or menu/submenu; told once for all actions of a menu (`_in`)."""


def _in(menu: str, *actions: Action) -> tuple[Action, ...]:
    """Return the actions of a menu."""
    return tuple(replace(action, menu=menu) for action in actions)


def _once(name: str, text: str, keys: str, tip: str, icon: str = "", needs: Needs = "program") -> Action:
    return Action(name, text, tuple(keys.split()), tip, icon, needs)


def _switch(name: str, text: str, keys: str, tip: str, icon: str = "", needs: Needs = "program") -> Action:
    return Action(name, text, tuple(keys.split()), tip, icon, needs, "switch")


def _choice(name: str, text: str, keys: str, tip: str, needs: Needs = "program") -> Action:
    return Action(name, text, tuple(keys.split()), tip, "", needs, "choice")


_PROGRAM: Final = _in(
    "Program",
    _once("open", "Open…", "Ctrl+O", "Open a program from a file", "open", "nothing"),
    _once("open-recent", "Open a recent one…", "Ctrl+R", "Choose among the programs opened lately", needs="nothing"),
    _once("open-again", "Read it again", "F5", "Read the program on show again from its file", "again"),
    _once("cancel", "Stop reading or checking", "Ctrl+.", "Stop what is under way", "stop", "job"),
    _once("start-page", "Start page", "Alt+Home", "Put the program away and show the first page", needs="nothing"),
    _once("compare", "Compare with another…", "Ctrl+K", "Choose another program and see what differs", needs="whole"),
    _once("save-picture", "Save the picture…", "Ctrl+S", "Save the layer as it is drawn: PNG or SVG", "picture"),
    _once("copy-picture", "Copy the picture", "Ctrl+Shift+C", "Put the drawn layer on the clipboard", "copy"),
    _once("export-figures", "Save the figures…", "Ctrl+E", "Save the figures of Stats as CSV", "table", "whole"),
    _once("print-sheet", "Print the job sheet…", "Ctrl+P", "Print the page that goes to the printer with the job",
          "sheet", "whole"),
    _once("save-sheet", "Save the job sheet…", "Ctrl+Shift+S", "Save the job sheet as PDF or HTML", needs="whole"),
    _once("note-print", "How did it go?…", "D", "Note in the print log how this print went", needs="whole"),
    _once("print-log", "Print log…", "L", "Look at all prints that were noted, at what months cost, and at the spools",
          needs="nothing"),
    _once("inbox", "Inbox…", "Ctrl+I", "Look at the programs that came into watched folders, each with its verdict",
          needs="nothing"),
    _once("watch-folder", "Watch a folder…", "Ctrl+Shift+I", "Choose a folder or a drive in which programs arrive",
          needs="nothing"),
    _once("quit", "Quit", "Ctrl+Q", "Close the window", needs="nothing"),
)  # fmt: skip
_LAYER: Final = _in(
    "Layer",
    _once("next-layer", "Next layer", "Up Ctrl+Up", "One layer up", "next"),
    _once("previous-layer", "Previous layer", "Down Ctrl+Down", "One layer down", "previous"),
    _once("ten-up", "Ten layers up", "PgUp Ctrl+PgUp", "Ten layers up"),
    _once("ten-down", "Ten layers down", "PgDown Ctrl+PgDown", "Ten layers down"),
    _once("first-layer", "First layer", "Home Ctrl+Home", "The layer on the plate"),
    _once("last-layer", "Last layer", "End Ctrl+End", "The layer that is printed last"),
    _once("slowest-layer", "Slowest layer", "S", "The layer that takes longest", needs="whole"),
    _once("next-bead", "Next bead", "Right Ctrl+Right", "Select the bead that is laid next"),
    _once("previous-bead", "Previous bead", "Left Ctrl+Left", "Select the bead that was laid before"),
    _once("no-bead", "Select nothing", "Esc", "End the selection and the measuring"),
    _switch("play", "Play", "Space Ctrl+Space", "Watch the layer being laid", "play"),
    _once("faster", "Play faster", ".", "Choose the next faster pace"),
    _once("slower", "Play slower", ",", "Choose the next slower pace"),
    _once("whole-layer", "Whole layer", "W", "Show all of the layer, not only up to a moment"),
    _once("find-layer", "Go to layer…", "Ctrl+L", "Show the layer of a number"),
    _once("find-line", "Go to line…", "Ctrl+G", "Select what a line of the program makes"),
    _once("find-text", "Find in the text…", "Ctrl+Shift+F", "Find words in the program's text", "find"),
)  # fmt: skip
_PICTURE: Final = _in(
    "Picture",
    _once("fit-part", "Fit the part", "F", "Show the part as large as it fits", "fit_part"),
    _once("fit-plate", "Fit the plate", "Shift+F", "Show the whole plate", "fit_plate"),
    _once("zoom-in", "Closer", "+ =", "Show a smaller piece, larger"),
    _once("zoom-out", "Farther", "-", "Show a larger piece, smaller"),
    _switch("measure", "Measure", "M", "Measure between two points: click them, or use arrows and Enter", "measure"),
)  # fmt: skip
_MOVE: Final = _in(
    "Picture/Move the picture",
    *(
        _once(
            f"move-{side}", f"To the {end}", f"Shift+{side.capitalize()}", f"Show what lies further {where}"
        )
        for side, end, where in (
            ("left", "left", "left"),
            ("right", "right", "right"),
            ("up", "back", "back"),
            ("down", "front", "in front"),
        )
    ),
)

_PART: Final = _in(
    "Picture/Whole part",
    _once("part-corner", "From a corner", "C", "Look at the whole part from a corner"),
    _once("part-front", "From the front", "V", "Look at the whole part from the front"),
    _once("part-side", "From the right", "E", "Look at the whole part from the right"),
    _once("part-top", "From above", "U", "Look at the whole part from above"),
    _once(
        "part-above",
        "Layers above: shown, ghost, hidden",
        "H",
        "What of the part lies above the layer on show",
    ),
    _once(
        "part-cut", "Cut: none, across X, across Y, facing the eye", "X", "Take away what lies before a plane"
    ),
)


_COLOUR_KEYS: Final = (*"1234567890", "P")
_COLOURS: Final = _in(
    "Picture/Colour beads by",
    *(
        _choice(f"colour-{name.replace(' ', '-')}", capital(meaning), key, f"Colour beads by {meaning}")
        for key, (name, meaning) in zip(_COLOUR_KEYS, COLOURINGS.items(), strict=True)
    ),
)
_TIME: Final = _in(
    "Layer/Where the time goes",
    _once("next-place", "Next costliest place", "J", "Go to the costliest place of the chosen cause, then to the next",
          needs="whole"),
    _once("previous-place", "Previous costliest place", "Shift+J", "Go to the costlier place before", needs="whole"),
    _once("all-causes", "All causes", "Z", "Look at all causes of the time together again", needs="whole"),
)  # fmt: skip
_SHOW_KEYS: Final = {"travel": "T", "retracts": "R", "below": "B", "plate": "O", "nozzle": "N", "marks": "K"}
_SHOW: Final = _in(
    "Picture/Show",
    *(
        _switch(f"show-{name}", capital(meaning), _SHOW_KEYS[name], f"Show or hide: {meaning}")
        for name, meaning in SHOWN.items()
    ),
)
_STRIP: Final = _in(
    "View/Layer strip shows",
    *(
        _choice(
            f"strip-{name.replace(' ', '-')}",
            capital(meaning),
            f"Alt+{k}",
            f"Bars of the layer strip: {meaning}",
        )
        for k, (name, meaning) in enumerate(STRIP_QUANTITIES.items(), 1)
    ),
)
Arrangement = Literal["check", "why", "teach"]
ARRANGEMENTS: Final[dict[Arrangement, tuple[str, str, str]]] = {
    "check": ("Check", "G", "Before it is printed: answers, findings, the picture"),
    "why": ("Why", "Y", "Afterwards: where the time goes, figures, the strip"),
    "teach": ("Teach", "A", "With beginners: a large picture, and each line explained"),
}
"""What the window is arranged for: its word, its key, what it is for."""
_ARRANGEMENTS: Final = _in(
    "View",
    *(_choice(f"arrange-{name}", word, key, tip) for name, (word, key, tip) in ARRANGEMENTS.items()),
)
DOCKS: Final = {
    "findings": "Findings",
    "stats": "Stats",
    "ledger": "Time ledger",
    "strip": "Layer strip",
    "program": "Program",
    "overrun": "Expected and actual",
    "levers": "What would help",
    "along": "Speed along the path",
    "part": "Whole part",
    "verdict": "Answers",
    "printers": "Printers",
    "lesson": "Lesson",
    "beside": "Beside another program",
}
"""Name and title of each pane that stands in a dock, in the order of their keys."""
DOCK_KEYS: Final = (*(f"Ctrl+{k}" for k in range(1, 10)), "F2", "I", "Ctrl+F2", "F4")
"""Ctrl+0 puts all of them where they were at first."""
_DOCKS: Final = _in(
    "View",
    *(
        _switch(f"dock-{name}", title, key, f"Show or hide {title}")
        for key, (name, title) in zip(DOCK_KEYS, DOCKS.items(), strict=True)
    ),
)
_LESSON: Final = _in(
    "Lesson",
    _once("lesson-next", "Next page", "Alt+Right", "Go on with the lesson", needs="whole"),
    _once("lesson-back", "Page before", "Alt+Left", "Go back in the lesson", needs="whole"),
    _once("lesson-return", "Back to this step", "Alt+Up", "Show again what the step is about", needs="whole"),
    _once("print-handout", "Print the handout…", "Ctrl+Shift+P", "Print the pages that a class takes home",
          needs="whole"),
    _once("save-handout", "Save the handout…", "Ctrl+H", "Save the handout as PDF or HTML", needs="whole"),
    _once("save-answers", "Save it with the answers…", "Ctrl+Shift+H", "Save the handout with a page of answers",
          needs="whole"),
)  # fmt: skip
LENT_KEYS: Final = {"lesson-next": ("Right", "PgDown"), "lesson-back": ("Left", "PgUp")}
"""Keys that turn the pages while a lesson runs: arrows while the step is on show, Page Up and Down (a clicker) always."""
_VIEW: Final = (
    *_in(
        "View",
        _once(
            "arrange",
            "Arrange as at first",
            "Ctrl+0",
            "Put the panes of this arrangement back where they were at first",
        ),
        _once(
            "notice",
            "Go to the notice",
            "F9",
            "Go to what the line above the picture offers",
            needs="nothing",
        ),
        _once("next-pane", "Next pane", "F6", "Move the focus to the next pane"),
        _once("previous-pane", "Previous pane", "Shift+F6", "Move the focus to the pane before"),
        _switch("full-screen", "Full screen", "F11", "Use the whole screen", needs="nothing"),
    ),
    *_in(
        "View/Text",
        _once("text-larger", "Larger text", "Ctrl++ Ctrl+=", "All text larger", needs="nothing"),
        _once("text-smaller", "Smaller text", "Ctrl+-", "All text smaller", needs="nothing"),
        _once("text-usual", "Usual text", "Alt+0", "Text as large as the system says", needs="nothing"),
    ),
    *_in(
        "View/Light or dark",
        _choice("look-system", "As the system", "Ctrl+Shift+Y", "Light or dark as the system is", "nothing"),
        _choice("look-light", "Light", "Ctrl+Shift+L", "Always light", "nothing"),
        _choice("look-dark", "Dark", "Ctrl+Shift+D", "Always dark", "nothing"),
    ),
)
_CARDS: Final = _in(
    "Cards",
    _once("choose-printer", "Choose the printer", "F7", "Go to the choice of printer cards", needs="nothing"),
    _once("choose-filament", "Choose the filament", "F8", "Go to the choice of filament cards", needs="nothing"),
    _once("choose-start", "Say when it starts", "Ctrl+T", "Go to the field of the time at which the print is to start",
          needs="nothing"),
    _once("choose-spool", "Say what is left on the spool", "Ctrl+Shift+T", "Go to the field of the filament that is left",
          needs="nothing"),
    _once("edit-printer", "Edit the printer card…", "Ctrl+F7", "Change what is known of the printer", "card", "nothing"),
    _once("edit-filament", "Edit the filament card…", "Ctrl+F8", "Change what is known of the filament",
          needs="nothing"),
    _once("edit-workshop", "Edit the workshop card…", "Ctrl+F9", "Change charges, hours and limits of checks",
          needs="nothing"),
)  # fmt: skip
_HELP: Final = _in(
    "Help",
    _once("keys", "Keys", "F1", "Every action and its key", "keys", "nothing"),
    _once(
        "words",
        "Words of the trade",
        "Ctrl+F1",
        "What the words mean, why the thing is there, what goes wrong",
        needs="nothing",
    ),
    _once(
        "about",
        "About Beadline",
        "Shift+F1",
        "What this program does, and what it does not",
        "help",
        "nothing",
    ),
)
ACTIONS: Final = (
    *_PROGRAM, *_LAYER, *_TIME, *_PICTURE, *_MOVE, *_PART, *_COLOURS, *_SHOW, *_ARRANGEMENTS, *_DOCKS, *_VIEW, *_STRIP,
    *_LESSON, *_CARDS, *_HELP,
)  # fmt: skip
TOOLBAR: Final = ("open", "", "previous-layer", "next-layer", "play", "", "fit-part", "fit-plate", "measure")
"""Actions of the tool bar, "" is a gap; the choices of colouring and cards stand behind them."""
SEPARATED: Final = frozenset(
    {"compare", "save-picture", "print-sheet", "note-print", "inbox", "quit", "next-bead", "play", "find-layer",
     "measure", "dock-findings", "arrange", "next-pane", "full-screen", "edit-printer", "print-handout"}
)  # fmt: skip
"""Actions with a line above them in their menu."""

PANE_KEYS: Final = {
    "Layer plot, while measuring": (
        ("Left, Right, Up, Down", "move the point; with Shift by one pixel"),
        ("Enter", "set the first end, then the second"),
        ("Esc", "end measuring"),
    ),
    "Whole part": (
        ("Left, Right, Up, Down", "turn it; with Shift move it"),
        ("PgUp, PgDown", "closer, farther"),
        ("Home", "all of it, from a corner"),
    ),
    "Slider of moments": (("Left, Right", "earlier or later"), ("Home, End", "beginning or end of the layer")),
    "Answers": (
        ("Tab, Shift+Tab", "next answer, answer before"),
        ("Enter, Space", "show what it rests on"),
    ),
    "Findings": (
        ("Up, Down", "choose a finding"),
        ("Enter", "show its layer, place and line"),
        ("Tab, Enter", "in the chosen finding: to a link, follow it"),
    ),
    "Printers": (
        ("Up, Down", "look at another printer"),
        ("Enter", "take its card"),
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
    "Time ledger": (
        ("Up, Down", "choose a cause"),
        ("Enter", "look at it alone, or again at all"),
    ),
    "Expected and actual": (
        ("Up, Down", "choose a costly place"),
        ("Enter", "show its costliest move"),
    ),
    "What would help": (
        ("Up, Down", "choose a lever"),
        ("Enter", "add it to the trial"),
        ("Left, Right", "on a slider: less or more of it"),
    ),
    "Lesson": (
        ("Right, PgDown", "while it runs: the next page"),
        ("Left, PgUp", "while it runs: the page before"),
        ("Tab, Enter", "to a choice, guess it"),
    ),
    "Beside another program": (
        ("Up, Down", "choose a layer that differs"),
        ("Enter", "show it"),
    ),
    "Speed along the path": (("Left, Right", "the move before, the next move"),),
    "Print log": (
        ("Up, Down", "choose a print or a spool"),
        ("Enter", "change the print; weigh the spool"),
        ("Delete", "ask whether it is to be deleted"),
        ("Left, Right", "in the plot: the next print; Enter shows it in the list"),
    ),
    "Inbox": (
        ("Up, Down", "choose a program; in the list of folders, a folder"),
        ("Enter", "open it in the main window"),
        ("Ctrl+F", "go to the words to find; Enter goes back to the programs"),
        ("Delete", "stop watching the chosen folder"),
        ("F5", "look into the folders now"),
    ),
    "Forms and pages": (("Tab, Shift+Tab", "next field, field before"), ("Ctrl+S", "save a card"), ("Esc", "close")),
}  # fmt: skip
"""Keys that a pane takes itself while it has the focus."""

MENU_LETTERS: Final = {"Picture": "Pict&ure", "Lesson": "L&esson"}
"""Menus that are not reached by their first letter, as another has it."""


def _read_again() -> str:
    again = next(action for action in ACTIONS if action.id == "open-again")
    return f"“{again.text}” ({', '.join(again.keys)}) goes through all of it."


READ_AGAIN: Final = _read_again()
"""What to do where reading or checking ended early."""
