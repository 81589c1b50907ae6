"""`beadline explain`: a finding by its slug, a word of the trade, or a line of a program word by word."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from viewer.errors import BeadlineError
from viewer.nearest import nearest_name
from viewer.shown.console.streams import emit
from viewer.shown.console.tables import paragraph, width
from viewer.shown.numbers import number_text

if TYPE_CHECKING:  # --help must not wait for the compiler
    from viewer.lesson.words import Word
    from viewer.program import Program
    from viewer.read.explain import Modes

_SLUG: Final = re.compile(r"[a-z]+(-[a-z]+)*")
"""What may be meant for one; a line of a program has digits, blanks, capitals or a semicolon."""
_NUMBER: Final = re.compile(r"[+-]?[0-9]+")
_WIDEST_WORD: Final = 24


def explain(asked: argparse.Namespace) -> int:
    """Explain what the words name: a finding, a word of the trade, a line or its number; nothing: list the checks.

    Raises
    ------
    BeadlineError
        It looks like a slug or a word but there is none like it; it is a number without a program; the program
        cannot be read, or has no such line.
    """
    words: list[str] = asked.what
    said = " ".join(words)
    if _NUMBER.fullmatch(said.strip()):
        return _numbered_line(asked, int(said))
    if asked.program is not None:
        return _word_of_program(asked, _word_meant(said))
    if not said.strip():
        emit(_all_checks())
    elif entry := _word_meant(said):
        emit(_word(entry))
    elif slug := _slug_meant(said):
        emit(_check(slug))
    elif _are_slugs(words):
        for number, word in enumerate(words):
            emit([*(["\n"] if number else []), *_check(word)])
    else:
        emit(_line(said))
    return 0


def _word_meant(said: str) -> Word | None:
    """Return the word of the trade that is meant; None where it is none, or a finding has the same name."""
    from viewer.checks.run import check_named
    from viewer.lesson.words import find_word

    return None if check_named(said) is not None else find_word(said)


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
    yield "\nWords of the trade are explained, too: `beadline explain infill`\n"


def _check(slug: str) -> Iterator[str]:
    from viewer.checks.run import CHECKS, check_named
    from viewer.lesson.words import spellings
    from viewer.shown.finding_text import readable, with_caution

    check = check_named(slug)
    if check is None:
        near = nearest_name(slug, (*(check.slug for check in CHECKS), *spellings()))
        advice = f"the nearest is {near}" if near else "`beadline explain` lists all findings"
        raise BeadlineError(
            f"There is no finding and no word of the trade {slug}; {advice}; "
            'a line of a program, as "G1 X20", is explained too.'
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


def _word(entry: Word) -> Iterator[str]:
    columns = width()
    yield f"{entry.term}\n"
    parts = [
        ("What it is", entry.what), ("Why it is there", entry.why), ("What goes wrong", entry.without),
        ("Where it is seen", entry.here),
    ]  # fmt: skip
    if entry.standard:
        parts.append(("Term of ISO/ASTM 52900", f"{entry.standard} (from memory)"))
    for title, text in parts:
        yield f"\n{title}\n{paragraph(text, columns, '  ')}"


def _word_of_program(asked: argparse.Namespace, entry: Word | None) -> int:
    """Explain a word of the trade, and say what it amounts to in a program."""
    if entry is None:
        raise BeadlineError(
            "--program goes with a word of the trade, or with the number of a line, as in "
            "`beadline explain 120 --program FILE`."
        )
    from viewer.lesson.here import word_here

    for program in _opened(asked):
        here = word_here(program, entry.key)
        emit([*_word(entry), *([f"\nIn this program\n{paragraph(here, width(), '  ')}"] if here else [])])
    return 0


def _numbered_line(asked: argparse.Namespace, number: int) -> int:
    """Explain a line of a program where it stands: first what it does there, then its words, then what holds."""
    from viewer.read.explain import modes_at, modes_text

    if asked.program is None:
        raise BeadlineError(
            f"Line {number} of which program? Name it: `beadline explain {number} --program FILE`."
        )
    for program in _opened(asked):
        if not 1 <= number <= program.tally.lines:
            raise BeadlineError(f"There is no line {number}; {asked.program} has {program.tally.lines}.")
        text, modes = program.texts.line(number), modes_at(program, number)
        pieces = [f"{text.strip()}\n", *_does(program, number), "\n", *_line(text, modes)]
        emit([*pieces, "\nWhat holds here\n", *(f"  {name}: {value}\n" for name, value in modes_text(modes))])
    return 0


def _opened(asked: argparse.Namespace) -> Iterator[Program]:
    """Yield the program that was named, open until the next step."""
    from viewer.shown.console.opening import Opener
    from viewer.shown.console.progress import prepare_first_run
    from viewer.shown.console.stopping import interruptible

    with interruptible() as stop:
        opener = Opener.of(asked, stop)
        prepare_first_run()
        with opener.opened(asked.program) as (program, progress):
            progress.clear()
            yield program


def _does(program: Program, number: int) -> Iterator[str]:
    from viewer.lesson.sentence import as_sentence, line_said

    if said := line_said(program, number):
        yield f"\n{paragraph(as_sentence(f'line {number}', said), width())}"


def _line(text: str, modes: Modes | None = None) -> Iterator[str]:
    from viewer.read.explain import explain_line

    found = explain_line(text, modes)
    columns = width()
    indent = min(max((len(item.word) for item in found), default=0), _WIDEST_WORD) + 2
    for item in found:
        word = item.word
        meaning = paragraph(item.meaning, columns, " " * indent)
        yield f"{word}\n{meaning}" if len(word) > indent - 2 else f"{word:<{indent}}{meaning[indent:]}"
