"""The page of keys: every action with its keys, as HTML."""

from __future__ import annotations

from html import escape

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
    return "".join(
        f"<h3>{escape(title)}</h3><table cellpadding='2'>{_key_rows(rows, wide)}</table>"
        for title, rows in tables.items()
    )


def _key_rows(rows: list[tuple[str, str]], wide: int) -> str:
    return "".join(
        f"<tr><td width='{wide}'><b>{escape(keys)}</b></td><td>{escape(what)}</td></tr>"
        for keys, what in rows
    )
