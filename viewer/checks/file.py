"""Theme: the file. Whether it is whole and says what it means."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from viewer.checks.endings.ending import CONTROL_BYTES, Ending, breaks_off, claimed_layers, look_at_end
from viewer.checks.endings.motion_test import motion_test
from viewer.checks.endings.stated_lines import StatedLines
from viewer.checks.evidence import counted, first_bead, last_bead, layer_of, line_of, middle_of, tuned
from viewer.checks.finding import Check, Finding, Hazard, Outcome, Passed, Rule, Severity, with_rest
from viewer.checks.holds import all_commands, the_end, the_end_briefly
from viewer.checks.middle import find_leaps
from viewer.checks.order.account import stretches_counted_otherwise
from viewer.checks.questions import Question
from viewer.numerals import share_text
from viewer.program import Program
from viewer.read.scan import Oddity

FILE: Final = "the file"


def _cut_short(program: Program, rule: Rule) -> Iterator[Outcome]:
    if last_bead(program) is None:
        return  # told by no-beads
    end = look_at_end(program)
    if end.cut:
        yield _broken_off(program, rule, end)
    elif end.doubts or end.torn:
        said = "The program has a shut-down, but something may be missing"
        if not end.doubts:
            said = "The machine's part of the program is whole, but the comments behind it break off"
        yield Finding(
            slug="cut-short",
            severity=rule.weigh(Severity.LOOK),
            sentence=f"{said}: {'; '.join((*end.doubts, *end.torn))}.",
            lines=(program.tally.lines,),
            value=end.share,
            limit=1.0,
            unit=_SHARE,
            remedy="Copy it again, to be sure that nothing is missing.",
        )
    elif end.hints:
        yield Finding(
            slug="cut-short",
            severity=rule.weigh(Severity.LOOK),
            sentence=f"The program has no shut-down, and {'; '.join(end.hints)}: its end may be missing.",
            lines=(program.tally.lines,),
            layer=len(program.layers) or None,
            value=end.share,
            limit=1.0,
            unit=_SHARE,
            remedy="Copy it again, or ask whoever made it whether it ends so.",
        )


def _whole(program: Program, rule: Rule) -> Iterator[Outcome]:
    """Look at the end, and for pieces that are missing before it."""
    yield from _cut_short(program, rule)
    if stretches_counted_otherwise(program):
        return  # told by e-counting: that beads draw too much says nothing of missing pieces
    leaps = list(find_leaps(program))
    found = [
        Finding(
            slug="cut-short",
            severity=rule.weigh(Severity.LOOK),
            sentence=f"A piece may be missing in the middle: {leap.sentence}.",
            lines=(line_of(program, leap.move),),
            layer=layer_of(program, leap.move),
            place_mm=middle_of(program, leap.move),
            value=leap.value,
            limit=leap.limit,
            unit=leap.unit,
            remedy="Copy it again; if it is the same again, see what stands before this line.",
            move=leap.move,
        )
        for leap in leaps[:MAX_LEAPS]
    ]
    yield from with_rest(found, len(leaps), "place")
    if last_bead(program) is not None:  # of findings and this, findings count
        claimed = claimed_layers(program)
        there = f"{len(program.layers):,}"
        if program.layers.objects > 1:
            there += f", {program.layers.objects} objects one after another"
        layers = f"; it claims {claimed:,.0f} layers and has {there}" if claimed > 0.0 else ""
        yield Passed("cut-short", f"{the_end(program)}{layers}.", the_end_briefly(program))


MAX_LEAPS: Final = 5
_SHARE: Final = "of the program, by its own claims"


def _broken_off(program: Program, rule: Rule, end: Ending) -> Finding:
    """Say that the machine's part breaks off; the place is where the last whole move ends.

    A last line without its end may hold half a number: where that would lead says nothing.
    """
    moves, last = program.moves, len(program.moves) - 1
    if program.tally.unterminated and last > 0 and int(moves.line[last]) == program.tally.lines:
        last = int(np.searchsorted(moves.line, program.tally.lines)) - 1
    place = (float(moves.x_mm[last]), float(moves.y_mm[last]), float(moves.z_mm[last])) if last >= 0 else None
    return Finding(
        slug="cut-short",
        severity=rule.weigh(Severity.STOP),
        sentence=f"The program breaks off: {'; '.join(end.cut)}{_there(program, end)}.",
        lines=(program.tally.lines,),
        layer=len(program.layers) or None,
        place_mm=None if place is None else tuned(place),
        value=end.share,
        limit=1.0,
        unit=_SHARE,
        remedy="Copy it again, and wait until the drive says that it may be pulled; do not print this one: the machine "
        "would stop in the middle of the part.",
        hazard=Hazard.HEAT,
        move=last if last >= 0 else None,
    )


def _there(program: Program, end: Ending) -> str:
    """Say how much of it is there, and by what: the layers it claims, or else its own progress."""
    if end.share is None or end.share >= 1.0:
        return ""
    claimed = claimed_layers(program)
    if claimed > 0.0:
        return f"; {len(program.layers):,} of the {claimed:,.0f} layers that it claims are there"
    return f"; by its own progress (M73) {share_text(end.share)} of it is there"


_GARBLED: Final = (
    ("not_text_bytes", "place with bytes that are no text", "places with bytes that are no text"),
    ("garbled_words", "word that cannot be read", "words that cannot be read"),
    ("repeated_words", "line with two motions or a letter twice", "lines with two motions or a letter twice"),
    ("exponents", "number with an exponent", "numbers with an exponent"),
    ("too_far", "coordinate beyond 100 m", "coordinates beyond 100 m"),
    ("long_lines", "line of more than 64 kB", "lines of more than 64 kB"),
    ("bad_arcs", "arc that has no circle", "arcs that have no circle"),
)


def _garbled(program: Program, rule: Rule) -> Iterator[Outcome]:
    found = [
        (program.tally.oddities[name], one, many)
        for name, one, many in _GARBLED
        if program.tally.oddities[name].count
    ]
    total = sum(oddity.count for oddity, _, _ in found)
    limit = rule.limit or 0.0
    if total <= limit:
        but = f" but {total} places, and {limit:g} are allowed" if total else ""
        yield Passed("garbled", f"All {program.tally.lines:,} lines can be read{but}.")
        return
    if _is_machine_word(program, found):
        line = found[0][0].first_line
        text = program.texts.line(line).partition(";")[0].strip()
        yield Finding(
            slug="garbled",
            severity=rule.weigh(Severity.NOTE),
            sentence=f"A command that is not interpreted has a word without a number: {text}.",
            lines=(line,),
            value=float(total),
            limit=limit,
            unit="places",
            remedy="It is most likely the machine's own: see in its manual.",
        )
        return
    harmless = _is_end_mark(program, found)
    own = Severity.NOTE if harmless else rule.severity
    parts = [f"{oddity.count:,} {one if oddity.count == 1 else many}" for oddity, one, many in found]
    yield Finding(
        slug="garbled",
        severity=rule.weigh(own),
        sentence=f"Parts of the text make no sense: {', '.join(parts)}.",
        lines=_lines([oddity for oddity, _, _ in found]),
        value=float(total),
        limit=limit,
        unit="places",
        remedy="Look at the lines; if they are not somebody's remark, copy the file again: a drive or a transfer "
        "spoiled it.",
    )


FEW: Final = 3


def _is_machine_word(program: Program, found: list[tuple[Oddity, str, str]]) -> bool:
    """Whether it is no more than a strange word of a command that is not interpreted (``M620 M``)."""
    (oddity, one, _), *others = found
    if others or not one.startswith("word") or oddity.count > FEW:
        return False
    command = program.texts.line(oddity.first_line).split()[:1]
    return bool(command) and command[0].upper() in program.unknown_commands


def _is_end_mark(program: Program, found: list[tuple[Oddity, str, str]]) -> bool:
    """Whether it is no more than control bytes behind the last line, as some systems put them behind a text."""
    odd, end = program.tally.oddities["not_text_bytes"], program.tally.lines
    if not odd.count or odd.first_line != end or len(found) > 1:
        return False
    return not any(c in CONTROL_BYTES for c in program.texts.line(end).rstrip(CONTROL_BYTES))


def _lines(oddities: list[Oddity]) -> tuple[int, ...]:
    return tuple(sorted({oddity.first_line for oddity in oddities}))


def _checksum(program: Program, rule: Rule) -> Iterator[Outcome]:
    names = ("wrong_checksums", "line_numbers_out_of_order", "line_numbers_left_out")
    wrong, order, missing = (program.tally.oddities[name] for name in names)
    if order.count:
        missing = Oddity(0, 0)  # two lines that changed places are both there
    total, limit = wrong.count + order.count + missing.count, rule.limit or 0.0
    if total <= limit:
        but = f", {total} lines apart, where {limit:g} are allowed" if total else ""
        yield Passed("checksum", f"Line numbers and checksums add up wherever there are any{but}.")
        return
    parts = [f"{counted(wrong.count, 'line')} whose checksum does not add up"] if wrong.count else []
    parts += [f"{counted(order.count, 'line')} numbered out of order"] if order.count else []
    parts += [f"{counted(missing.count, 'line number')} left out"] if missing.count else []
    yield Finding(
        slug="checksum",
        severity=rule.severity,
        sentence=f"There {'is' if total == 1 else 'are'} {' and '.join(parts)}.",
        lines=_lines([oddity for oddity in (wrong, order, missing) if oddity.count]),
        value=float(total),
        limit=limit,
        unit="lines",
        remedy="Copy the file again: a line changed after it was written, and machines that check will ask for it "
        "again and again.",
    )


def _no_beads(program: Program, rule: Rule) -> Iterator[Outcome]:
    if first_bead(program) is not None:
        moved = program.figures.moves
        yield Passed("no-beads", f"{moved['beads']:,} of {moved['total']:,} moves lay filament.")
        return
    if (lines := motion_test(program)) is not None:
        yield from _motion_alone(program, rule, lines)
        return
    moves, signs = len(program.moves), breaks_off(program)
    said = (
        f"Nothing is extruded: none of {moves:,} moves lays filament"
        if moves
        else "Nothing moves and nothing is laid"
    )
    yield Finding(
        slug="no-beads",
        severity=rule.severity,
        sentence=f"{said}, and the program breaks off: {'; '.join(signs)}." if signs else f"{said}.",
        value=0.0,
        limit=1.0,
        unit="beads",
        remedy="Copy it again: its end is missing."
        if signs
        else "See whether it is the right file: it may be for another kind of machine, a test of motion, or cut off.",
    )


def _motion_alone(program: Program, rule: Rule, lines: StatedLines) -> Iterator[Outcome]:
    """Say that nothing is to be extruded: a test of motion with all of its lines."""
    yield Finding(
        slug="no-beads",
        severity=rule.weigh(Severity.NOTE),
        sentence=f"Nothing is extruded: a test of motion, {counted(len(program.moves), 'move')} without filament.",
        value=0.0,
        limit=1.0,
        unit="beads",
        remedy="Take everything off the plate, and stay beside the machine with a hand at the switch.",
        hazard=Hazard.MOVING_PARTS,
    )
    yield Passed("cut-short", f"It has all {lines.stated:,} lines that it states (line {lines.line:,}).")


SHOWN_COMMANDS: Final = 8


def _unknown_commands(program: Program, rule: Rule) -> Iterator[Outcome]:
    unknown = program.unknown_commands
    total, limit = sum(unknown.values()), rule.limit or 0.0
    if total <= limit:
        if not total:
            yield Passed("unknown-commands", all_commands(program))
        return
    in_words = program.remarks.word_commands
    first = sorted(
        (in_words[name].first_line if name in in_words else program.tally.first_lines[name], name)
        for name in unknown
    )
    names = [f"{name} ({unknown[name]})" for _, name in first[:SHOWN_COMMANDS]]
    rest = f" and {len(first) - SHOWN_COMMANDS} more" if len(first) > SHOWN_COMMANDS else ""
    kinds = f" of {counted(len(first), 'kind')}" if len(first) < total else ""
    yield Finding(
        slug="unknown-commands",
        severity=rule.severity,
        sentence=f"The program has {counted(total, 'command')}{kinds} that {'is' if total == 1 else 'are'} not "
        f"interpreted here: {', '.join(names)}{rest}.",
        lines=tuple(line for line, _ in first[:20]),
        value=float(total),
        limit=limit,
        unit="commands",
        remedy=f"Look in the machine's manual what {'it does' if total == 1 else 'they do'}: time, heat and places "
        "computed here leave that out.",
    )


FILE_CHECKS: Final = (
    Check(
        slug="cut-short", theme=FILE, title="Cut short",
        looks_at="The end of the program: a last line without its end; zero bytes; blocks that are begun and not ended; "
        "progress (M73) that stops early; more lines stated or layers claimed than there are; settings behind the end "
        "that break off; and, where nothing is switched off at the end and no comment says that this is the end, a last "
        "layer smaller than the one below, or a travel that leads nowhere. Before the end: a rise between two "
        "layers that no bead reaches, layer marks that skip numbers, a bead that draws the filament of many.",
        why="A drive pulled too early leaves part of a program: the machine stops in mid-air with a hot "
        "nozzle.",
        what_to_do="Copy the file again.",
        cannot_see="A piece missing in the middle that leaves none of these signs. A cut at the very end of a line in a "
        "program that heats nothing or ends without shutting down, in the comments after the shut-down where no rule of "
        "order tells what is missing, and behind the last command.",
        severity=Severity.STOP, limit=None, unit="",
        limit_source="the ends of real programs; common practice, no source", run=_whole,
    ),
    Check(
        slug="garbled", theme=FILE, title="Garbled text",
        looks_at="Bytes that are no text, words that are no letter and number or belong to no motion, lines "
        "with two motions or a letter twice, numbers with an exponent (E is an axis), "
        "coordinates beyond 100 m, endless lines, arcs without a circle.",
        why="A damaged line does not do what it was written for, and what the machine makes of it is "
        "anybody's guess.",
        what_to_do="Look at the lines, and copy the file again.",
        cannot_see="Damage that leaves a number a number.",
        severity=Severity.LOOK, limit=0.0, unit="places", run=_garbled,
    ),
    Check(
        slug="checksum", theme=FILE, title="Checksums do not add up",
        looks_at="Line numbers (N) and checksums (*: exclusive or of the bytes before it), where the "
        "program has them.",
        why="They are there to find what a cable or a drive changed.",
        what_to_do="Copy the file again.",
        cannot_see="Two changes in a line that cancel, lines without a checksum, and what is missing between them.",
        severity=Severity.LOOK, limit=0.0, unit="lines", run=_checksum,
    ),
    Check(
        slug="no-beads", theme=FILE, title="Nothing is extruded",
        looks_at="Whether any move lays filament. Where none does, only this and damage to the text are told. A test "
        "of motion that has all lines it states, feeds nothing and leaves no heater on is a note.",
        why="It is a file for another machine, or not whole.",
        what_to_do="See whether it is the right file.",
        cannot_see="Filament that a machine feeds by commands that are not interpreted.",
        severity=Severity.STOP, limit=None, unit="", run=_no_beads,
    ),
    Check(
        slug="unknown-commands", theme=FILE, title="Commands not interpreted",
        looks_at="Commands, in numbers or in words, that are neither interpreted nor known to change nothing "
        "that is computed here.",
        why="They may move the machine, heat it or wait: the figures leave that out.",
        what_to_do="Look in the machine's manual what they do.",
        cannot_see="What they do.",
        severity=Severity.NOTE, limit=0.0, unit="commands", question=Question.PRINTER,
        run=_unknown_commands,
    ),
)  # fmt: skip
"""The checks of this theme."""
