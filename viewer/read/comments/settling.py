"""Roles that one comment leaves open: all spellings of a program together decide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from viewer.read.comments.meaning import NOTHING, PART_ROLES, Kind, Meaning

MIN_BEHIND: Final = 2
"""Roles of the part that must stand behind commands: one alone is a word of somebody's by the way."""


def settle_roles(meanings: Sequence[Meaning]) -> list[Meaning]:
    """Decide, from all spellings of one program, the roles that one spelling leaves open.

    A wall that names no side is the inner one where another spelling names an outer one; else it is the
    outline, and a "loop" beside it the inner one. Where no spelling names any role of the part, plain
    words such as "purge line" come from hand-written start commands and would colour the whole print: such
    marks are dropped. Roles behind commands become marks where at least two of the part are named, and no mark on a line
    of its own names one.

    Parameters
    ----------
    meanings
        Of all spellings that stand (:func:`stands`) in one program.

    Returns
    -------
    list of Meaning
        In the same order, none with an open wall.
    """
    part = [meaning for meaning in meanings if meaning.role in PART_ROLES]
    behind = {(meaning.role, meaning.wall) for meaning in part if meaning.kind == "role behind"}
    alone = any(meaning.kind == "role" for meaning in part)
    kind: Kind = "role" if len(behind) >= MIN_BEHIND and not alone else "nothing"
    meanings = [replace(one, kind=kind) if one.kind == "role behind" else one for one in meanings]
    walls = {meaning.wall for meaning in meanings if meaning.kind == "role"}
    known = alone or kind == "role"
    settled = []
    for meaning in meanings:
        if meaning.kind == "role" and meaning.wall in ("wall", "loop"):
            inner = "outer" in walls or (meaning.wall == "loop" and "wall" in walls)
            meaning = replace(
                meaning, role="inner loop" if inner else "outline", wall="inner" if inner else "outer"
            )
        elif meaning.kind == "role" and not known and not meaning.explicit:
            meaning = NOTHING
        settled.append(meaning)
    return settled


def left_open(meanings: Sequence[Meaning], settled: Sequence[Meaning]) -> frozenset[str]:
    """Return the roles that words behind commands stand for without telling them from others.

    Parameters
    ----------
    meanings, settled
        Of the same spellings, before and after `settle_roles`.

    Returns
    -------
    frozenset of str
        ``outline`` where "perimeter" may be an inner loop, too, ``infill`` where "infill" may be solid.
    """
    pairs = zip(meanings, settled, strict=True)
    behind = [one for one, final in pairs if one.kind == "role behind" and final.kind == "role"]
    told = {one.role for one in behind if one.wall not in ("wall", "loop")}
    found = set()
    if behind and not told & {"outline", "inner loop"}:
        found.add("outline")
    if "infill" in told and "solid" not in told:
        found.add("infill")
    return frozenset(found)
