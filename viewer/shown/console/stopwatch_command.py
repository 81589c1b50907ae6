"""`beadline stopwatch`: a short program of motion to be timed by hand, and what its times say of the machine."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from msgspec.structs import replace

from viewer.cards import PrinterCard, load_printer, new_card
from viewer.cards.kinds import DEFAULTS
from viewer.cards.store import find_card, own_card, save_card
from viewer.errors import BeadlineError, ReadError
from viewer.shown.console.streams import emit, say
from viewer.shown.console.tables import paragraph, table, width
from viewer.shown.json_text import json_text
from viewer.shown.stopwatch_text import (
    HOW,
    LAST_WORD,
    block_rows,
    change_rows,
    proposal_object,
    summary_lines,
    test_object,
    value_rows,
    whole_text,
)
from viewer.stopwatch import MotionTest, Proposal, evaluate, make_test, program_lines
from viewer.stopwatch.program_text import caution_of, mark_of
from viewer.written import write_whole


def stopwatch(asked: argparse.Namespace) -> int:
    """Write the test, or evaluate its times; return the exit status.

    Raises
    ------
    BeadlineError
        The card allows no test, the times do not fit it or contradict each other (with --keep), or a file could not be
        written.
    """
    named = DEFAULTS["printer"] if asked.printer is None else asked.printer
    test = make_test(load_printer(named), asked.heat)
    if asked.seconds is None:
        if asked.keep is not None:
            raise BeadlineError(
                "--keep keeps measured values; give the times with it: --seconds 41.2 63.5 ..."
            )
        _write(test, asked)
        return 0
    if asked.output is not None:
        raise BeadlineError("The program is written before it is timed; leave out either -o or --seconds.")
    if asked.program is not None:
        _refuse_other(test, asked.program)
    found = evaluate(test, asked.seconds, asked.hand_error)
    if found.doubt and asked.keep is not None:
        raise BeadlineError(f"{found.doubt.removesuffix('.')}; no card was kept.")
    kept = None if asked.keep is None else _kept(found.card, named, asked.keep)
    if asked.json:
        emit(
            [
                json_text(
                    {**proposal_object(found), "kept": None if kept is None else str(kept)}, indented=True
                )
            ]
        )
    else:
        emit(_said(found, kept, checked=asked.program is not None))
    return 0


def _refuse_other(test: MotionTest, path: str) -> None:
    """Refuse to evaluate times of another program than the one that the card gives now.

    Raises
    ------
    BeadlineError
        It is another one, or cannot be read.
    """
    try:
        text = Path(path).read_text(encoding="utf-8", errors="replace")
    except OSError as problem:
        raise ReadError(
            f"{path} cannot be read ({problem.strerror}); name the program that was timed."
        ) from None
    if text.split() != " ".join(program_lines(test)).split():
        raise BeadlineError(
            f"{path} is not the test that the card of {test.card.name} gives now ({mark_of(test)}): take the card as it "
            "was when the test was written, or write and time a new one."
        )


def _write(test: MotionTest, asked: argparse.Namespace) -> None:
    """Write the program; the caution is said first."""
    if asked.output is None:
        raise BeadlineError(
            "Say where the test program is to be written: -o test.gcode, or -o - for standard output."
        )
    pieces = [f"{line}\n" for line in program_lines(test)]
    if asked.json or asked.output == "-":
        say(f"CAUTION: {' '.join(caution_of(test))}")
    else:
        emit(["CAUTION\n", *(paragraph(sentence, width(), "  ") for sentence in caution_of(test)), "\n"])
    if asked.output == "-":
        emit(pieces)
        return
    write_whole(asked.output, pieces)
    emit(
        [json_text({**test_object(test), "program": asked.output}, indented=True)]
        if asked.json
        else _told(test, asked)
    )


def _told(test: MotionTest, asked: argparse.Namespace) -> Iterator[str]:
    columns = width()
    yield paragraph(
        f"{asked.output}: stopwatch test {mark_of(test)} of {test.card.name}, about {whole_text(test)}.",
        columns,
        "",
    )
    yield paragraph(HOW, columns, "")
    yield "\n"
    yield from table(block_rows(test), columns)
    yield "\n"
    heat = f" --heat {asked.heat}" if asked.heat else ""
    printer = f" --printer {asked.printer}" if asked.printer is not None else ""
    times = " ".join(f"{seconds:.1f}" for seconds in test.expected_s)
    yield paragraph("Then give the times in order, for example:", columns, "")
    yield f"  beadline stopwatch{printer}{heat} --program {asked.output} --seconds {times}\n"


def _said(found: Proposal, kept: Path | None, checked: bool) -> Iterator[str]:
    columns = width()
    yield from table([*value_rows(found), *change_rows(found)], columns)
    yield "\n"
    if not checked:
        said = f"For test {mark_of(found.test)}: see that the first line of the program that was timed says the same."
        yield paragraph(said, columns, "")
    for sentence in summary_lines(found):
        yield paragraph(sentence, columns, "")
    if kept is not None:
        yield paragraph(f"What differs from the card is kept in {kept}.", columns, "")
    else:
        yield paragraph(
            f"{LAST_WORD} --keep NAME keeps what differs from the card in a card of that name.", columns, ""
        )


def _kept(card: PrinterCard, source: str, name: str) -> Path:
    """Keep a card among the person's own: in the very card that was measured, or in a new one.

    Raises
    ------
    CardError, OutputError
        The name cannot be one of a card, there is such another card, or it could not be written.
    """
    card = replace(card, motion_measured=f"{date.today():%Y-%m-%d}")
    mine = own_card("printer", name)
    if mine is None or mine.path != find_card("printer", source):
        new_card("printer", name, source)
    return save_card(replace(card, name=name.strip() if mine is None else mine.name))
