"""The actions of the table as Qt has them: made, put into menus, enabled, their keys as the system writes them."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import (
    QMainWindow,
    QMenu,
    QWidget,
)

from viewer.shown.window.actions.table import ACTIONS, LENT_KEYS, MENU_LETTERS, SEPARATED

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


def lend_keys(made: Mapping[str, QAction], arrows: bool, pages: bool) -> None:
    """Let the lesson have the arrow keys, or Page Up and Down, in place of the actions that they are for otherwise."""
    lent = {
        name: [key for key in keys if (pages if key.startswith("Pg") else arrows)]
        for name, keys in LENT_KEYS.items()
    }
    taken = {key for keys in lent.values() for key in keys}
    for action in ACTIONS:
        keys = [*lent.get(action.id, ()), *(key for key in action.keys if key not in taken)]
        wanted = [QKeySequence(key) for key in keys]
        if made[action.id].shortcuts() != wanted:
            made[action.id].setShortcuts(wanted)


def fill_menus(window: QMainWindow, made: Mapping[str, QAction]) -> dict[str, QMenu]:
    """Put every action into the menu bar; return the menus by their names."""
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


def enable(made: Mapping[str, QAction], *, program: bool, whole: bool, job: bool) -> None:
    """Let those actions be there that have something to act on."""
    there = {"nothing": True, "program": program, "whole": whole, "job": job}
    for action in ACTIONS:
        made[action.id].setEnabled(there[action.needs])


def shown_key(key: str) -> str:
    """Return a key as the system writes it."""
    return QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)
