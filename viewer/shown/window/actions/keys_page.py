"""The page of keys: every action with its keys, as HTML."""

from __future__ import annotations

from html import escape

from viewer.shown.html import cell, row, table
from viewer.shown.window.actions.bindings import shown_key
from viewer.shown.window.actions.table import ACTIONS, PANE_KEYS


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
