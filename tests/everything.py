"""All that Beadline makes of a program, without a window: figures, checks, JSON, tables, job sheet, the window's model.

Shared by ``python -m tests.fuzz`` and by tests of scraps: whoever calls `go_through` learns whether any of it raises.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import datetime
from typing import get_args

import numpy as np

from viewer.beads.draw import View
from viewer.checks.finding import Finding
from viewer.checks.run import CHECKS, Report, run_checks
from viewer.lesson.lesson import lesson_of
from viewer.program import Program
from viewer.shown.clock_rows import clock_rows
from viewer.shown.console.figures_command import people_table
from viewer.shown.console.layers_csv import layers_csv
from viewer.shown.console.vet_command import vet_pieces
from viewer.shown.data import figures_object
from viewer.shown.json_text import json_text
from viewer.shown.lesson_data import lesson_object
from viewer.shown.paper.handout import handout
from viewer.shown.paper.job_sheet import job_sheet
from viewer.shown.pictures.legend_texts import key_text
from viewer.shown.pictures.svg import SeenArea, Vectors, svg_lines
from viewer.shown.rows import bead_rows
from viewer.shown.window.findings import finding_page
from viewer.shown.window.ledger.ledger_parts import bar_parts
from viewer.shown.window.model.figure_rows import rows_of
from viewer.shown.window.model.summary import summary
from viewer.shown.window.model.view_state import COLOURINGS, STRIP_QUANTITIES, Shown, ViewState
from viewer.shown.window.plot import layer_texts
from viewer.shown.window.plot.drawing import Drawing, DrawnLayer, PictureRequest
from viewer.shown.window.stats.part_rows import PARTS, csv_text, part_rows
from viewer.shown.window.strip import strip_bars, strip_texts
from viewer.shown.window.strip.moment_texts import moment_texts
from viewer.shown.window.text.line_source import LineSource
from viewer.shown.window.text.line_texts import line_summary

PICTURE = 96
"""Rows and columns of the pictures: what can go wrong depends on the layer and hardly on the size."""
STRIP_COLUMNS = 300
LAYERS_LOOKED_AT = 4
LINES_LOOKED_AT = 40
SHOWN = frozenset(get_args(Shown))


def go_through(program: Program, start: datetime | None) -> Report:
    """Make all that console, paper and window show of a program; return what the checks found.

    Raises
    ------
    BeadlineError
        A sentence for people, e.g. that the file is gone.
    Exception
        Whatever is wrong in the code: nothing is caught here.
    """
    report = run_checks(program, start=start)
    _on_the_console(program, report, start)
    assert "</html>" in job_sheet(program, report, start)
    _as_lesson(program, report)
    _in_the_window(program, report, start)
    return report


def _as_lesson(program: Program, report: Report) -> None:
    lesson = lesson_of(program, report.shape)
    assert bool(lesson.steps) == bool(len(program.layers))
    assert "</html>" in handout(program, lesson, answers=True, finer=1)
    json_text(lesson_object(program, lesson), indented=False)


def _on_the_console(program: Program, report: Report, start: datetime | None) -> None:
    text = json_text(figures_object(program, report, start), indented=False)
    assert len(json.loads(text)["findings"]) == len(report.findings)
    assert people_table(program, start)
    assert "".join(vet_pieces(program, report))
    assert "".join(layers_csv(program))
    if start is not None:
        clock_rows(program, start)


def _in_the_window(program: Program, report: Report, start: datetime | None) -> None:
    state = ViewState()
    state.begin_at(start)
    state.show_program(program)
    for known in (None, report):  # the panes show a program before its checks are done
        state.show_report(known)
        _strip(state)
    rows_of(program)
    summary(program.figures, start)
    _pages(report)
    drawing = Drawing()
    for number in _some(len(program.layers)) or [0]:
        state.show_layer(number)
        _layer(state, drawing)
    _lines(program)


def _some(count: int, at_most: int = LAYERS_LOOKED_AT) -> list[int]:
    """Return some of the numbers 1 to `count`, the first and the last among them."""
    return sorted({round(n) for n in np.linspace(1, count, min(at_most, count))})


def _strip(state: ViewState) -> None:
    program = state.program
    assert program is not None
    overhang_mm2 = strip_bars.overhang_of(state.report)
    for quantity in STRIP_QUANTITIES:
        state.show_quantity(quantity)
        values = strip_bars.values_of(program, quantity, overhang_mm2)
        strip_texts.reading_texts(state, values)
        strip_texts.missing_text(state, values)
        if values is not None and len(values):
            strip_bars.bars_of(values, STRIP_COLUMNS)
            strip_bars.axis_of(quantity, float(values.max()))
    findings = () if state.report is None else state.report.findings
    marks = strip_bars.marks_of(program, tuple((found.layer, found.severity.value) for found in findings))
    words = strip_texts.MarkWords(program, marks, findings)
    for cluster in strip_bars.clusters_of(marks, marks.layer.astype(np.float64), 2.0):
        assert words.of_cluster(cluster)


def _pages(report: Report) -> None:
    documentation = {check.slug: check for check in CHECKS}
    for outcome in (*report.findings, *report.not_checked):
        check = documentation[outcome.slug]
        if isinstance(outcome, Finding):
            assert finding_page.finding_html(outcome, check, "#888888", "#ff0000")
            finding_page.where_text(outcome)
        else:
            assert finding_page.not_checked_html(outcome, check, "#888888")
    finding_page.nothing_found_html(CHECKS, report.not_checked, "#888888")


def _layer(state: ViewState, drawing: Drawing) -> None:
    program = state.program
    assert program is not None
    bar_parts(program.timing.ledger.by_layer[state.layer], 400.0)
    layer_texts.layer_text(state)
    for moment_s in (None, 0.0, 0.5 * state.layer_seconds):
        state.show_moment(moment_s)
        moment_texts(state)
        layer_texts.notice_text(state)
    layer_texts.finding_marks(state)
    pictures = [_picture(state, drawing, dark) for dark in (True, False)]
    _vectors(pictures[-1])
    own = program.layers.moves_of(state.layer) if state.layer else slice(0, len(program.moves))
    for move in {own.start, own.stop - 1} if own.start < own.stop else ():
        state.select(move)
        layer_texts.selected_text(state, move)
        layer_texts.outline_of(program, move)
        layer_texts.move_text(program, move)
        bead_rows(program, move)
    csv_text((part, row) for part in PARTS for row in part_rows(state, part)[0])


def _picture(state: ViewState, drawing: Drawing, dark: bool) -> DrawnLayer:
    """Draw the layer on show in all colourings; return the last picture."""
    program = state.program
    assert program is not None
    extent = program.totals.extent or program.totals.extent_all or program.totals.extent_moves
    left, back, wide = (extent.x[0], extent.y[1], extent.x[1] - extent.x[0]) if extent else (0.0, 2.0, 2.0)
    view = View(left, back, PICTURE / max(wide, 2.0))
    drawn = None
    for colouring in COLOURINGS:
        request = PictureRequest(
            program, state.layer, state.moment_s, colouring, SHOWN, dark, view, PICTURE, PICTURE, 1.0
        )
        drawing.weight(request)
        drawn = drawing.draw(request)
        key_text(drawn.scene.colours.key)
        layer_texts.drawn_marks(drawn.scene, drawn.cut, SHOWN)
    assert drawn is not None
    return drawn


def _vectors(drawn: DrawnLayer) -> None:
    """Write the layer as SVG where that is quick."""
    if len(drawn.scene.beads) < 5000:
        area = SeenArea(0.0, 0.0, 200.0, 200.0)
        vectors = Vectors("title", drawn.scene, drawn.cut, SHOWN, area)
        assert "".join(svg_lines(vectors, drawn.request.program.printer.plate))


def _lines(program: Program) -> None:
    source = LineSource(program.texts)
    told: Iterable[int] = _some(source.count, LINES_LOOKED_AT)
    for number in told:
        source.line(number)
        line_summary(program, number)
