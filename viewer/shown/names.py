"""Names of files as they are shown."""

from __future__ import annotations

import unicodedata


def in_one_line(text: str) -> str:
    r"""Return text with line ends and control characters written out, as ``\n``: a file's name may have them."""
    return "".join(
        one
        if one.isprintable() or unicodedata.category(one) == "Zs"
        else one.encode("unicode_escape").decode()
        for one in text
    )
