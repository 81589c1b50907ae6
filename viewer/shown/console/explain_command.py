"""`beadline explain`: a finding by its slug, or a line of a program word by word."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from viewer.errors import BeadlineError
from viewer.nearest import nearest_name
from viewer.shown.console.streams import emit
from viewer.shown.console.tables import paragraph, width
from viewer.shown.numbers import number_text

_SLUG: Final = re.compile(r"[a-z]+(-[a-z]+)*")
"""What may be meant for one; a line of a program has digits, blanks, capitals or a semicolon."""
_WIDEST_WORD: Final = 24


def explain(words: list[str]) -> int:
    """Explain what the words name; nothing: list the checks.

    Raises
    ------
    BeadlineError
        It looks like a slug but there is none like it.
    """
    said = " ".join(words)
    if not said.strip():
        emit(_all_checks())
        return 0
    if slug := _slug_meant(said):
        emit(_check(slug))
    elif _are_slugs(words):
        for number, word in enumerate(words):
            emit([*(["\n"] if number else []), *_check(word)])
    else:
        emit(_line(said))
    return 0


def _are_slugs(words: list[str]) -> bool:
    """Whether all look like slugs and one of them is one: the others are misspelt then."""
    from viewer.checks.run import check_named

    return all(map(_SLUG.fullmatch, words)) and any(check_named(word) is not None for word in words)


def _slug_meant(said: str) -> str | None:
    """Return the slug that was meant: what looks like one, also if none; ``Off plate`` where there is ``off-plate``."""
    if _SLUG.fullmatch(said):
        return said
    spelt = "-".join(said.casefold().replace("_", " ").split())
    if not _SLUG.fullmatch(spelt):
        return None
    from viewer.checks.run import check_named

    return spelt if check_named(spelt) is not None else None


def _all_checks() -> Iterator[str]:
    from viewer.checks.run import CHECKS

    theme = ""
    widest = max(len(check.slug) for check in CHECKS)
    for check in CHECKS:
        if check.theme != theme:
            yield ("\n" if theme else "") + f"{check.theme}\n"
            theme = check.theme
        yield f"  {check.slug:<{widest}}  {check.title}\n"


def _check(slug: str) -> Iterator[str]:
    from viewer.checks.run import CHECKS, check_named
    from viewer.shown.finding_text import readable, with_caution

    check = check_named(slug)
    if check is None:
        near = nearest_name(slug, (check.slug for check in CHECKS))
        advice = f"the nearest is {near}" if near else "`beadline explain` lists all"
        raise BeadlineError(
            f'There is no finding {slug}; {advice}; a line of a program, as "G1 X20", is explained too.'
        )
    columns = width()
    yield f"{check.slug}: {check.title} ({check.theme}; {check.severity.value} at worst)\n"
    parts = (
        ("Looks at", check.looks_at),
        ("Why it matters", check.why),
        ("What to do", with_caution(check.what_to_do, check.hazard)),
        ("Cannot see", check.cannot_see),
    )
    for title, text in parts:
        yield f"\n{title}\n{paragraph(readable(text), columns, '  ')}"
    if check.unit:
        source = check.limit_source
        limit = (
            f"From {source}."
            if check.limit is None
            else f"{number_text(check.limit)} {check.unit} ({source})."
        )
        yield f"\nLimit\n{paragraph(readable(limit), columns, '  ')}"
        card = f"[checks.{check.slug}] in the workshop card: limit (unit: {check.unit}), severity, off and reason."
    else:
        card = f"[checks.{check.slug}] in the workshop card: severity, off and reason."
    yield f"\nTo change it\n{paragraph(readable(card), columns, '  ')}"


def _line(text: str) -> Iterator[str]:
    from viewer.read.explain import explain_line

    found = explain_line(text)
    columns = width()
    indent = min(max((len(item.word) for item in found), default=0), _WIDEST_WORD) + 2
    for item in found:
        word = item.word
        meaning = paragraph(item.meaning, columns, " " * indent)
        yield f"{word}\n{meaning}" if len(word) > indent - 2 else f"{word:<{indent}}{meaning[indent:]}"
