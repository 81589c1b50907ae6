"""The Findings pane as a person uses it: order, filters, going there, the whole text, what was not checked."""

from collections.abc import Iterator
from dataclasses import replace
from html import escape
from itertools import pairwise
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt, QUrl
from PySide6.QtWidgets import QApplication, QStyleOptionViewItem
from pytestqt.qtbot import QtBot

import viewer
from tests.window.conftest import show_active
from viewer.checks.alike import one_each
from viewer.checks.filament import FILAMENT_CHECKS
from viewer.checks.finding import Check, Finding, Hazard, NotChecked, Severity
from viewer.checks.machine import MACHINE_CHECKS
from viewer.checks.run import CHECKS as ALL_CHECKS
from viewer.checks.run import Report, check_named, report_of, run_checks
from viewer.shown.finding_text import CAUTIONS, readable
from viewer.shown.window.findings import findings_pane
from viewer.shown.window.findings.finding_list import ENTRY, EntryPainter
from viewer.shown.window.findings.finding_page import BEYOND, finding_html, where_text
from viewer.shown.window.findings.findings_pane import NOT_CHECKED, FindingsPane
from viewer.shown.window.model.view_state import AFTER_MS, ViewState
from viewer.shown.window.style.theme import palette

WASHERS = Path(__file__).parents[3] / "sample_programs" / "tap_washers_bare.gcode"
FAULTY = WASHERS.parent / "faulty"
CHECKS: tuple[Check, ...] = (*MACHINE_CHECKS, *FILAMENT_CHECKS)


HOT = Finding(
    slug="too-hot-for-machine",
    severity=Severity.STOP,
    sentence="The nozzle is set to 300 degC; Heron's limit is 275 degC.",
    lines=(12,),
    value=300.0,
    limit=275.0,
    unit="degC",
    remedy="Do not print it on this printer.",
    hazard=Hazard.HEAT,
)
FLOW = Finding(
    slug="beyond-flow",
    severity=Severity.LOOK,
    sentence="For 12 s the beads need more than the hot end melts.",
    lines=(900, 901),
    layer=4,
    place_mm=(110.0, 120.0, 0.8),
    value=14.2,
    limit=11.0,
    unit="mm3/s",
    remedy="Print it slower.",
)
COLOUR = Finding(
    slug="abrasive",
    severity=Severity.NOTE,
    sentence="The filament wears nozzles.",
    remedy="Use a hardened nozzle.",
)
SPOOL = NotChecked(
    "spool-short", "What is left on the spool is unknown: not checked (weigh it and give it, as 250 g)."
)
REPORT = Report((COLOUR, FLOW, HOT), (SPOOL,))


@pytest.fixture(scope="module")
def washers() -> viewer.Program:
    return viewer.open_program(WASHERS)


@pytest.fixture
def state(washers: viewer.Program) -> ViewState:
    made = ViewState()
    made.show_program(washers)
    return made


@pytest.fixture
def pane(qtbot: QtBot, state: ViewState, monkeypatch: pytest.MonkeyPatch) -> Iterator[FindingsPane]:
    monkeypatch.setattr(findings_pane, "_checks", lambda: CHECKS)
    made = FindingsPane(state)
    qtbot.addWidget(made)
    made.resize(340, 640)
    show_active(made, qtbot)
    yield made


def titles(pane: FindingsPane) -> list[str]:
    return [entry.about.slug if entry.about else entry.title for entry in pane.entries]


def status(pane: FindingsPane) -> str:
    return pane._status.text()


def page(pane: FindingsPane) -> str:
    return pane.page.toPlainText()


def report_to(pane: FindingsPane, report: object) -> None:
    """Hand findings over and wait until they are shown."""
    pane.state.show_report(report)
    while pane.busy:
        QApplication.processEvents()


def click_row(qtbot: QtBot, pane: FindingsPane, row: int) -> None:
    place = pane.list.visualRect(pane._entries.index(row)).center()
    qtbot.mouseClick(pane.list.viewport(), Qt.MouseButton.LeftButton, pos=place)


def test_findings_wait_for_a_hand_on_its_way_through_the_layers(
    qtbot: QtBot, pane: FindingsPane, state: ViewState
) -> None:
    pane._after.setTimerType(Qt.TimerType.PreciseTimer)
    pane._after.setInterval(600_000)  # it never ends by itself here
    state.show_report(REPORT)
    for number in range(2, 8):
        qtbot.waitUntil(lambda: pane._after.remainingTime() < 600_000 - 20)
        state.show_layer(number)
        assert pane._after.remainingTime() >= 600_000 - 20  # it began again
        assert not pane.entries
    pane._after.setInterval(AFTER_MS)
    qtbot.waitUntil(lambda: len(pane.entries) == 5)


def test_findings_of_a_program_that_is_gone_are_never_shown(
    qtbot: QtBot, pane: FindingsPane, state: ViewState, washers: viewer.Program
) -> None:
    state.show_report(REPORT)
    state.show_program(washers, again=True)
    qtbot.waitUntil(lambda: not pane.busy)
    assert not pane.entries
    assert status(pane).startswith("The program is being checked.")


def test_the_gravest_come_first_and_what_was_not_checked_last(pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    assert titles(pane) == ["too-hot-for-machine", "beyond-flow", "abrasive", NOT_CHECKED, "spool-short"]
    assert status(pane) == "3 findings; 1 not, or not wholly, checked."
    assert [button.text() for button in pane._buttons.values()] == ["1 stop", "1 look", "1 note"]


def test_each_row_says_its_severity_in_words(pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    spoken = [pane._entries.index(row).data() for row in range(5)]
    assert [text.split(".")[0] for text in spoken] == ["stop", "look", "note", NOT_CHECKED, "not checked"]
    assert "300 °C" in spoken[0]
    assert spoken[1].endswith("layer 4, at X 110.0 Y 120.0 Z 0.8 mm, line 900. beyond-flow")


def test_the_whole_finding(pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    text = page(pane)
    check = next(check for check in CHECKS if check.slug == "too-hot-for-machine")
    for said in (
        "stop: do not print this", check.title, "300 °C", "275 °C", "Do not print it on this printer.",
        CAUTIONS[Hazard.HEAT], readable(check.why), readable(check.cannot_see), readable(check.looks_at),
    ):  # fmt: skip
        assert said in text
    assert text.count(CAUTIONS[Hazard.HEAT]) == 1
    pane.choose(1)
    text = page(pane)
    assert CAUTIONS[Hazard.HEAT] not in text
    for said in ("14.2 mm³/s", "11 mm³/s", "X 110.0 Y 120.0 Z 0.8 mm", "900, 901", "Print it slower."):
        assert said in text


def test_why_something_was_not_checked(qtbot: QtBot, pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    click_row(qtbot, pane, 4)
    assert "not checked" in page(pane)
    assert SPOOL.sentence in page(pane)
    assert state.selected is None


def test_a_click_goes_to_layer_place_and_line(
    qtbot: QtBot, pane: FindingsPane, state: ViewState, washers: viewer.Program
) -> None:
    report_to(pane, REPORT)
    lines: list[int] = []
    pane.line_wanted.connect(lines.append)
    click_row(qtbot, pane, 1)
    assert state.layer == 4
    assert state.selected is not None
    own = washers.layers.moves_of(4)
    assert own.start <= state.selected < own.stop
    moves = washers.moves
    gap = (moves.x_mm[own] - 110.0) ** 2 + (moves.y_mm[own] - 120.0) ** 2
    beads = moves.kind[own] == 1
    assert gap[state.selected - own.start] == gap[beads].min()
    assert lines == [900]


def test_enter_goes_and_arrows_only_read(qtbot: QtBot, pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    pane.list.setFocus()
    qtbot.keyClick(pane.list, Qt.Key.Key_Down)
    assert "Print it slower." in page(pane)
    assert state.layer == 1
    qtbot.keyClick(pane.list, Qt.Key.Key_Return)
    assert state.layer == 4
    assert state.selected is not None


def test_a_finding_with_a_move_or_only_a_line(
    pane: FindingsPane, state: ViewState, washers: viewer.Program
) -> None:
    pane.go_to(
        Finding(
            slug="beyond-flow",
            severity=Severity.LOOK,
            sentence="One bead.",
            lines=(5000,),
            layer=7,
            move=4321,
        )
    )
    assert state.selected == 4321
    line = int(washers.moves.line[100])
    pane.go_to(Finding(slug="garbled", severity=Severity.LOOK, sentence="One line.", lines=(line,)))
    assert state.selected is not None
    assert int(washers.moves.line[state.selected]) == line
    pane.go_to(
        Finding(
            slug="beyond-flow",
            severity=Severity.LOOK,
            sentence="A layer beyond.",
            layer=99_999,
            place_mm=(0.0, 0.0, 0.0),
        )
    )
    assert state.layer == state.layers


def test_links_of_layer_and_line(pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    lines: list[int] = []
    pane.line_wanted.connect(lines.append)
    pane.choose(1)
    assert 'href="layer:4"' in pane.page.toHtml()
    assert 'href="line:901"' in pane.page.toHtml()
    pane.page.anchorClicked.emit(QUrl("layer:3"))
    assert state.layer == 3
    pane.page.anchorClicked.emit(QUrl("line:901"))
    assert lines == [901]


def test_the_places_of_a_finding_are_links_that_lead_to_each(pane: FindingsPane, state: ViewState) -> None:
    spots = tuple(
        replace(FLOW, layer=layer, lines=(100 * layer,), value=20.0 - layer, alike="place")
        for layer in (4, 6, 9)
    )
    (joined,) = one_each(spots)
    report_to(pane, Report((joined,)))
    lines: list[int] = []
    pane.line_wanted.connect(lines.append)
    pane.choose(0)
    assert where_text(joined).endswith("and 2 more places")
    assert "3 of 3 layer 9" in page(pane) and "11 mm³/s" in page(pane)
    pane.page.anchorClicked.emit(QUrl("place:2"))
    assert state.layer == 9 and lines == [900]
    pane.page.anchorClicked.emit(QUrl("place:1"))
    assert state.layer == 6 and lines == [900, 600]


def test_a_check_that_failed_is_named_beside_the_counts(pane: FindingsPane, state: ViewState) -> None:
    failed = NotChecked("beyond-flow", "Not checked, because it failed: send it.", failed=True)
    report_to(pane, report_of([failed]))
    assert "1 check failed and was not made" in status(pane)
    pane.choose(next(row for row, entry in enumerate(pane.entries) if entry.about == failed))
    assert "not checked, because it failed" in page(pane)


def test_filters_by_severity_and_words(qtbot: QtBot, pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    qtbot.mouseClick(pane._buttons[Severity.STOP], Qt.MouseButton.LeftButton)
    assert titles(pane)[:2] == ["beyond-flow", "abrasive"]
    assert status(pane).endswith("2 shown.")
    qtbot.keyClicks(pane._text, "nozzles WEARS")
    assert titles(pane) == ["abrasive"]
    assert "hardened" in page(pane)
    qtbot.keyClicks(pane._text, " nowhere")
    assert titles(pane) == []
    assert page(pane) == ""
    pane._text.clear()
    qtbot.mouseClick(pane._buttons[Severity.STOP], Qt.MouseButton.LeftButton)
    assert len(titles(pane)) == 5


def test_the_chosen_row_stays_chosen_while_filtering(
    qtbot: QtBot, pane: FindingsPane, state: ViewState
) -> None:
    report_to(pane, REPORT)
    pane.choose(2)
    qtbot.mouseClick(pane._buttons[Severity.LOOK], Qt.MouseButton.LeftButton)
    assert "wears nozzles" in page(pane)


def test_progress_and_states(pane: FindingsPane, state: ViewState, washers: viewer.Program) -> None:
    assert status(pane) == "The program is being checked."
    pane.show_progress("reading", 0.9)
    assert status(pane) == "The program is being checked."
    pane.show_progress("checks", 0.42)
    assert status(pane) == "The program is being checked. 42 % done."
    pane.show_progress("checks", 1.0)
    assert "99 %" in status(pane)  # all is done when the report is there
    assert not pane.list.isVisible()
    report_to(pane, REPORT)
    assert pane.list.isVisible()
    state.show_program(washers, partial=True)
    assert "still being read" in status(pane)
    assert titles(pane) == []
    state.show_program(None)
    assert status(pane) == "No program is open."


def test_no_finding_says_what_was_checked_and_what_not(pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, Report((), (SPOOL,)))
    assert status(pane) == "No finding; 1 not, or not wholly, checked."
    text = page(pane)
    assert f"{len(CHECKS) - 1} checks were made" in text
    assert MACHINE_CHECKS[0].title in text
    assert "Not, or not wholly, checked: 1" in text
    assert BEYOND in text


def test_never_says_safe(pane: FindingsPane, state: ViewState) -> None:
    for report in (REPORT, Report(()), Report((), (SPOOL,))):
        report_to(pane, report)
        for row in range(len(pane.entries)):
            pane.choose(row)
            assert "safe" not in (page(pane) + status(pane)).lower()


def test_rows_are_as_high_as_their_text_needs(pane: FindingsPane, state: ViewState) -> None:
    long = Finding(
        slug="beyond-flow",
        severity=Severity.LOOK,
        sentence="A long sentence about the drawer glide. " * 12,
        lines=(900,),
        layer=4,
    )
    report_to(pane, Report((long, COLOUR)))
    QApplication.processEvents()
    high, low = (pane.list.visualRect(pane._entries.index(row)).height() for row in (0, 1))
    assert high > 3 * low
    pane.resize(900, 400)
    QApplication.processEvents()
    assert pane.list.visualRect(pane._entries.index(0)).height() < high


def test_no_row_lies_on_another_when_the_scroll_bar_comes(pane: FindingsPane, state: ViewState) -> None:
    finding = Finding(
        slug="beyond-flow",
        severity=Severity.LOOK,
        sentence="A sentence about the tap washer tray that is wrapped.",
        lines=(900,),
        layer=4,
    )
    report_to(pane, Report((finding,) * 12))
    QApplication.processEvents()
    assert pane.list.verticalScrollBar().isVisible()
    boxes = [pane.list.visualRect(pane._entries.index(row)) for row in range(12)]
    painter = pane.list.itemDelegate()
    assert isinstance(painter, EntryPainter)
    option = QStyleOptionViewItem()
    option.initFrom(pane.list)
    for upper, lower in pairwise(boxes):
        assert upper.bottom() < lower.top()
        where = painter._lay_out(option, pane.entries[0], painter._width())[-1][0].translated(upper.topLeft())
        assert where.bottom() < upper.bottom()
        assert where.right() <= pane.list.viewport().width()


@pytest.mark.parametrize("dark", [False, True])
def test_the_icon_has_the_severitys_colour_and_shape(
    qapp: QApplication, pane: FindingsPane, state: ViewState, dark: bool
) -> None:
    usual = qapp.palette()
    qapp.setPalette(palette(dark))
    try:
        report_to(pane, REPORT)
        shapes = set()
        for row in range(3):
            box = pane.list.visualRect(pane._entries.index(row))
            image = pane.list.viewport().grab().toImage()
            ratio = image.devicePixelRatio()
            drawn = [
                (x, y)
                for x in range(20)
                for y in range(20)
                if image.pixelColor(QPoint(int((8 + x) * ratio), int((box.top() + 6 + y) * ratio)))
                != image.pixelColor(QPoint(int(6 * ratio), int((box.top() + 4) * ratio)))
            ]
            assert len(drawn) > 30
            shapes.add(tuple(drawn))
        assert len(shapes) == 3
    finally:
        qapp.setPalette(usual)


def test_where_and_units_as_people_write_them() -> None:
    assert where_text(HOT) == "line 12"
    assert where_text(COLOUR) == ""
    assert readable("5 mm3/s, 2 mm2, 500 mm/s2, 60 degC") == "5 mm³/s, 2 mm², 500 mm/s², 60 °C"
    assert readable("1,234 of 12,345 beads, lines 1, 200") == "1234 of 12\u202f345 beads, lines 1, 200"


def test_rows_hold_their_finding(pane: FindingsPane, state: ViewState) -> None:
    report_to(pane, REPORT)
    assert pane._entries.index(0).data(ENTRY).about is HOT
    assert pane._entries.index(3).flags() == Qt.ItemFlag.NoItemFlags


def test_what_the_checks_really_hand_over(qtbot: QtBot) -> None:
    program = viewer.open_program(FAULTY / "too-hot-for-machine.gcode")
    report = run_checks(program)
    state = ViewState()
    state.show_program(program)
    pane = FindingsPane(state)
    qtbot.addWidget(pane)
    report_to(pane, report)
    assert titles(pane)[0] == "too-hot-for-machine"
    assert len(pane.entries) == len(report.findings) + len(report.not_checked) + bool(report.not_checked)
    for row, entry in enumerate(pane.entries):
        if entry.about is not None:
            pane.choose(row)
            assert entry.sentence in page(pane)
            check = check_named(entry.about.slug)
            assert check is not None
            assert readable(check.why) in page(pane)
            assert "safe" not in page(pane).lower()


def test_the_documentation_of_every_check_can_be_shown() -> None:
    for check in ALL_CHECKS:
        finding = Finding(
            slug=check.slug, severity=check.severity, sentence="Something was found.", remedy="Do something."
        )
        html = finding_html(finding, check, "#555555", "#885500")
        assert escape(readable(check.why)) in html
        assert "safe" not in html.lower().replace("failsafe", "")
