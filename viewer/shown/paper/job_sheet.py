"""The job sheet: one page for paper that goes with a program from the keeper's desk to the printer.

Plain tables and one drawing, so that a browser prints it and simple rich-text engines do as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from html import escape
from typing import Final

from viewer.checks.finding import Finding, Severity
from viewer.checks.run import Report, check_named
from viewer.figures.figures import Pause
from viewer.numerals import capital
from viewer.printlog.past import Past
from viewer.program import Program
from viewer.shown.finding_text import evidence_text, readable, verdict_text, with_caution
from viewer.shown.html import cell, heading, row, table
from viewer.shown.numbers import clock_text, count_text, distance_text, duration_text, number_text
from viewer.shown.paper.first_layer_picture import MAX_BEADS, first_layer_svg, is_complete
from viewer.shown.program_rows import uncounted_text
from viewer.shown.row import Row
from viewer.shown.rows import program_rows
from viewer.timing import clock_time, day_text
from viewer.verdict import Answer, verdict_of

HAZARDS: Final = (
    "Nozzle and plate are hot enough to burn, moving axes pinch, and melted plastic gives off fumes and fine "
    "particles; printers left alone have started fires. Follow the machine's manual, local rules and this place's "
    "own policy."
)
"""What every page for paper says."""
CAUTION: Final = f"{HAZARDS} This sheet says what was computed and checked, and no more."
CHECKLIST: Final = (
    "[  ] The plate is clean and empty.   [  ] The right filament is loaded, and enough of it.   "
    "[  ] It is the right printer.   [  ] The nozzle is the right one and clean."
)
BY_HAND: Final = (
    "Started at, by", "First layer seen by", "Taken off at, by", "How it turned out", "Weight of the part",
)  # fmt: skip
MAX_FINDINGS: Final = 12
MAX_PAUSES: Final = 8

FIRST_LAYER_MM: Final = 56.0
"""Width of the first layer's drawing: the whole part stands above it."""
BLANK: Final = "_" * 30
"""A line to write on; a border would be lost where styles are not understood."""
LONG_BLANK: Final = "_" * 48

STYLE: Final = """
@page { size: A4; margin: 15mm; }
body { font-family: "Liberation Sans", Arial, sans-serif; font-size: 8pt; color: #000000; }
h1 { font-size: 14pt; margin-top: 0px; margin-bottom: 3px; }
h2 { font-size: 10.5pt; margin-top: 6px; margin-bottom: 2px; }
p { margin-top: 2px; margin-bottom: 2px; }
th { font-weight: normal; color: #333333; }
"""
"""Sizes in points and pixels: simple rich-text engines know no other."""

_SHOWN: Final = (
    ("Filament and cost", "filament drawn"),
    ("Filament and cost", "mass"),
    ("Filament and cost", "then left on the spool"),
    ("Filament and cost", "cost"),
    ("Heat and fan", "nozzle"),
    ("Heat and fan", "plate"),
    ("Shape", "layers"),
    ("Shape", "height"),
    ("Shape", "beads in X"),
    ("Shape", "beads in Y"),
    ("First layer", "contact"),
    ("First layer", "to the plate's edge"),
    ("Standing", "topples at"),
)
"""Rows of the program's figures that go on paper, by group and name."""


def job_sheet(
    program: Program,
    report: Report | None,
    start: datetime | None = None,
    picture: str | None = None,
    part: str = "",
    past: Past | None = None,
) -> str:
    """Return the job sheet as one HTML page without anything outside of it.

    Parameters
    ----------
    report
        What the checks found; None: they were not run, and the sheet says so.
    start
        When the print starts; None: times count from the start, and the clock is filled in by hand.
    picture
        HTML that shows the drawing of `first_layer_svg` in another form (an ``img``, where SVG is not understood).
    part
        HTML that shows the whole part (`viewer.shown.paper.part_image`); "": it is left out.
    past
        What the print log says; without it times are as computed.
    """
    name = escape(program.path.name if str(program.path) != "-" else "from standard input")
    left = [
        _table(_head(program, start)),
        "<h2>When</h2>",
        _table(_times(program, start)),
        "<h2>What it takes</h2>",
        _table(_figures(program)),
    ]
    right = [f'<p align="center">{part}</p>'] if part else []
    right += ["<h2>First layer on the plate</h2>", *_picture(program, picture)]
    body = [
        f"<h1>Job sheet: {name}</h1>",
        table([row(cell("\n".join(left), width="56%"), cell("\n".join(right), width="44%"))], width="100%"),
        "<h2>Before printing</h2>",
        *_verdict(program, report, past),
        f"<p>{escape(CHECKLIST)}</p>",
        f"<p><b>Caution.</b> {escape(CAUTION)}</p>",
        *_cautions(program),
        "<h2>By hand</h2>",
        _table([(name, LONG_BLANK) for name in BY_HAND]),
        *_findings(report),
    ]
    head = f'<meta charset="utf-8"><title>Job sheet: {name}</title><style>{STYLE}</style>'
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n'
        + "\n".join(body)
        + "\n</body></html>\n"
    )


def _table(pairs: Iterable[tuple[str, str]]) -> str:
    """Return a table of two columns; the texts are plain."""
    rows = (row(heading(escape(name), width="34%"), cell(escape(text))) for name, text in pairs)
    return table(rows, width="100%", padding=1)


def _head(program: Program, start: datetime | None) -> list[tuple[str, str]]:
    return [
        ("Date", BLANK if start is None else f"{start:%Y-%m-%d}"),
        ("Program", str(program.path)),
        ("Its SHA-256 begins with", program.sha256[:16]),
        ("Workshop", program.workshop.name),
        ("Printer", f"{program.printer.name}, nozzle {program.printer.nozzle_mm:g} mm"),
        ("Filament", f"{program.filament.name}, {program.filament_diameter_mm:g} mm"),
    ]


def _times(program: Program, start: datetime | None) -> list[tuple[str, str]]:
    time = program.figures.time
    pairs = [] if start is None else [("Start", f"{start:%H:%M}")]
    pairs.append(("Time in all", _moment(time.total_s, start, "done at")))
    if time.uncounted:
        pairs.append(("Not counted", uncounted_text(time)))
    done = time.first_layer_done_s
    if done is not None:
        pairs.append(("First layer done after", _moment(done, start, "at")))
        until = (
            f"until {clock_text(start, done)}"
            if start is not None
            else f"for the first {duration_text(done)}"
        )
        longer = ", and so much longer as what is not counted takes" if time.uncounted else ""
        pairs.append(("Somebody stands beside it", until + longer + _also_needed(program)))
    pairs += _pauses(time.pauses, start)
    return pairs + list(_tool_changes(program, start))


def _also_needed(program: Program) -> str:
    """Say when else somebody is needed."""
    needed = ["at every pause"] if program.figures.time.pauses else []
    if _changed_by_hand(program):
        needed.append("at every tool change")
    return f", and {' and '.join(needed)}" if needed else ""


def _changed_by_hand(program: Program) -> bool:
    """Whether the program has more tools than the printer: somebody changes the filament then."""
    return (
        program.figures.time.tool_changes > 0
        and len(program.figures.filament.by_tool) > program.printer.tools
    )


def _tool_changes(program: Program, start: datetime | None) -> Iterator[tuple[str, str]]:
    changes = program.timing.moments.tool_change_s
    if not len(changes):
        return
    hand = ", by hand: the printer has fewer tools than the program" if _changed_by_hand(program) else ""
    first = f"the first after {_begins(float(changes[0]), start)}"
    last = f", the last after {_begins(float(changes[-1]), start)}" if len(changes) > 1 else ""
    yield "Tool changes", f"{count_text(len(changes))}{hand}; {first}{last}"
    for tool, share in program.figures.filament.by_tool.items():
        yield f"Filament of tool {tool}", f"{distance_text(share['mm'])}, {number_text(share['g'])} g"


def _pauses(pauses: tuple[Pause, ...], start: datetime | None) -> Iterator[tuple[str, str]]:
    for number, pause in enumerate(pauses[:MAX_PAUSES], 1):
        after = f"after {_begins(pause.at_s, start)}: {pause.what}, layer {pause.layer}, line {pause.line}"
        yield f"Pause {number}", after
    if len(pauses) > MAX_PAUSES:
        yield "Further pauses", str(len(pauses) - MAX_PAUSES)
    if not pauses:
        yield "Pauses", "none"


def _begins(elapsed_s: float, start: datetime | None) -> str:
    """Say when something begins; its minute is not rounded up, so that nobody comes late."""
    clock = "" if start is None else f" (at {day_text(start, clock_time(start, elapsed_s))})"
    return f"{duration_text(elapsed_s)}{clock}"


def _moment(elapsed_s: float, start: datetime | None, word: str) -> str:
    clock = "" if start is None else f" ({word} {clock_text(start, elapsed_s)})"
    return f"{duration_text(elapsed_s)}{clock}"


def _figures(program: Program) -> list[tuple[str, str]]:
    rows: dict[tuple[str, str], Row] = {(shown.group, shown.name): shown for shown in program_rows(program)}
    return [(capital(_titled(rows[key])), rows[key].text) for key in _SHOWN if key in rows]


def _titled(figure: Row) -> str:
    return f"first layer, {figure.name}" if figure.group == "First layer" else figure.name


def _picture(program: Program, picture: str | None) -> Iterator[str]:
    drawing = first_layer_svg(program, FIRST_LAYER_MM) if picture is None else picture
    if not drawing:
        yield "<p>There is no first layer to draw.</p>"
        return
    yield f'<p align="center">{drawing}</p>'
    text = (
        "Seen from above, the front edge at the bottom. Dark: the part and its support. Light: hold-down (skirt, brim, "
        "raft)."
    )
    if not is_complete(program):
        text += f" Only the first {MAX_BEADS} beads are drawn."
    yield f"<p>{text}</p>"


def _verdict(program: Program, report: Report | None, past: Past | None) -> Iterator[str]:
    """Yield the seven answers and what was not checked."""
    if report is None:
        yield "<p>The checks were not run.</p>"
        return
    yield f"<p><b>{escape(capital(verdict_text(report)))}.</b></p>"
    answers = verdict_of(program, report, past=past).answers
    yield table(map(_answer, answers), width="100%", padding=1)
    if report.not_checked:
        skipped = "; ".join(
            dict.fromkeys(_title(slug) for skipped in report.not_checked for slug in skipped.slugs)
        )
        yield f"<p>Not, or not wholly, checked: {escape(skipped)}.</p>"
    yield from (f"<p>{escape(text)}</p>" for text in dict.fromkeys(one.sentence for one in report.failed))


def _answer(answer: Answer) -> str:
    text = f"{escape(answer.question.asked)} {escape(readable(answer.sentence))}"
    return row(heading(f"<b>{answer.word.value}</b>", width="9%"), cell(text))


def _findings(report: Report | None) -> Iterator[str]:
    """Yield the second page: findings that are more than notes; nothing where there is none."""
    if report is None:
        return
    shown = [finding for finding in report.findings if finding.severity is not Severity.NOTE][:MAX_FINDINGS]
    left = len(report.findings) - len(shown)
    if shown:
        yield '<h2 style="page-break-before: always">Findings</h2>'
        yield table(map(_finding, shown), width="100%", padding=2)
    if left:
        yield f"<p>Further findings, listed by <i>beadline vet</i>: {left}.</p>"


def _finding(finding: Finding) -> str:
    evidence = escape(evidence_text(finding))
    remedy = with_caution(finding.remedy, finding.hazard)
    sentence, remedy = (escape(readable(text)) for text in (finding.sentence, remedy))
    text = f"{sentence}<br>{evidence}{'. ' if evidence else ''}{remedy}"
    return row(heading(f"<b>{finding.severity.value}</b>", width="8%"), cell(text))


def _title(slug: str) -> str:
    check = check_named(slug)
    return f"{check.title} ({slug})" if check is not None else slug


def _cautions(program: Program) -> Iterator[str]:
    if program.filament.cautions:
        said, name = readable(" ".join(program.filament.cautions)), program.filament.name
        yield f"<p>{escape(said if said.startswith(name) else f'{name}: {said}')}</p>"
