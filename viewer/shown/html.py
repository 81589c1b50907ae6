"""HTML tables for the window's pages and for paper, in the few attributes that simple rich-text engines know.

Contents are HTML already: a plain text goes through `html.escape` first.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Final

NAME_PADDING: Final = "padding:1px 14px 1px 0"
"""Of the first of two columns: room between a name and its value."""
VALUE_PADDING: Final = "padding:1px 0"


def table(rows: Iterable[str], *, width: str = "", padding: int | None = None, style: str = "") -> str:
    """Return a table of rows (`row`), without room between its cells.

    Parameters
    ----------
    width
        As ``100%``; as wide as it needs where none is given.
    padding
        Within every cell, pixels.
    style
        CSS declarations.
    """
    inside = "" if padding is None else str(padding)
    return f"<table{_attributes(width=width, cellspacing='0', cellpadding=inside, style=style)}>{''.join(rows)}</table>"


def row(*cells: str) -> str:
    """Return a row of cells (`cell`, `heading`)."""
    return f"<tr>{''.join(cells)}</tr>"


def cell(content: str = "", *, width: str = "", style: str = "") -> str:
    """Return a cell; its content stands at the top."""
    return f"<td{_attributes(width=width, valign='top', style=style)}>{content}</td>"


def heading(content: str, *, width: str = "") -> str:
    """Return a cell that names its row."""
    return f"<th{_attributes(width=width, align='left', valign='top')}>{content}</th>"


def named_values(pairs: Iterable[tuple[str, str]], faint: str) -> str:
    """Return a table of two columns: a name (plain text) in a faint colour, and its value (HTML)."""
    return table(
        row(cell(escape(name), style=f"{NAME_PADDING}; color:{faint}"), cell(value, style=VALUE_PADDING))
        for name, value in pairs
    )


def side_by_side(left: str, right: str, *, left_width: str, gap_px: int = 0) -> str:
    """Return two parts beside each other over the whole width; the left one takes `left_width`, as ``60%``."""
    gap = f"padding-right:{gap_px}px" if gap_px else ""
    return table([row(cell(left, width=left_width, style=gap), cell(right))], width="100%")


def _attributes(**values: str) -> str:
    return "".join(f' {name}="{escape(value)}"' for name, value in values.items() if value)
