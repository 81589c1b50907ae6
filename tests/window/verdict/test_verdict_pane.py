"""Seven answers can be read at once, and each leads to what it rests on."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from tests.window.conftest import SAMPLES, press, wait_until_settled
from viewer.checks.questions import Question
from viewer.printlog.estimate import Estimate
from viewer.printlog.past import Past
from viewer.shown.finding_text import readable
from viewer.shown.window.plot.shadow import OVER, UNDER
from viewer.shown.window.shell.printed.job_sheet import document
from viewer.shown.window.verdict.answer_texts import broken
from viewer.verdict import Word, verdict_of


@pytest.fixture
def faulty(window, qtbot):
    window.open_path(SAMPLES / "faulty" / "long-bridge.gcode")
    wait_until_settled(window, qtbot)
    return window


def tile(window, question: Question):
    return next(one for one in window.panes.verdict.tiles if one.question is question)


def test_the_tiles_say_what_the_verdict_says(faulty):
    verdict = verdict_of(faulty.state.program, faulty.state.report)
    assert [one.question for one in faulty.panes.verdict.tiles] == list(Question)
    for answer, shown in zip(verdict.answers, faulty.panes.verdict.tiles, strict=True):
        assert shown.isVisible() and shown.height() > 40
        assert (shown.text_shown.word, shown.text_shown.headline) == (answer.word, answer.headline)
        assert shown.text_shown.sentence == readable(answer.sentence)
        assert shown.accessibleName().endswith(answer.headline)
        assert shown.accessibleDescription() == readable(answer.sentence)
    assert verdict.of(Question.SHAPE).word is Word.LOOK


def test_a_click_leads_to_the_finding_and_return_too(faulty, qtbot):
    finding = verdict_of(faulty.state.program, faulty.state.report).of(Question.SHAPE).findings[0]
    QTest.mouseClick(tile(faulty, Question.SHAPE), Qt.MouseButton.LeftButton)
    wait_until_settled(faulty, qtbot)
    assert faulty.state.layer == finding.layer
    assert readable(finding.sentence) in faulty.panes.findings.page.toPlainText()
    below = faulty.panes.plot.view.below
    assert below.zValue() == OVER and below.view_of_picture is not None  # it is about what lies over air
    press(faulty, "Escape", qtbot)
    wait_until_settled(faulty, qtbot)
    assert below.zValue() == UNDER and below.opacity() == 1.0
    faulty.state.show_layer(1)
    tile(faulty, Question.SHAPE).setFocus()
    press(faulty, "Return", qtbot)
    assert faulty.state.layer == finding.layer


@pytest.mark.parametrize("question", [Question.WHOLE, Question.TIME, Question.COST])
def test_without_a_finding_it_leads_to_all_that_was_checked(faulty, question):
    faulty.docks["findings"].hide()
    answer = verdict_of(faulty.state.program, faulty.state.report).of(question)
    assert not answer.findings
    tile(faulty, question).click()
    assert not faulty.docks["findings"].isHidden()
    written = faulty.panes.findings.page.toPlainText()
    assert question.asked in written
    for told in (
        answer.sentence,
        *(one.sentence for one in answer.passed),
        *(one.told for one in answer.not_checked),
    ):
        assert readable(told).split("\n")[0] in written


def test_the_print_log_makes_the_time_likely_and_is_kept_for_paper(faulty, qtbot):
    faulty.state.leave_on_spool(250.0, "A7")
    wait_until_settled(faulty, qtbot)
    assert "Spool A7 has 250 g left by the print log" in tile(faulty, Question.FILAMENT).text_shown.sentence
    past = Past(Estimate(5_700.0, 5_352.0, 6_050.0, 12, 0, "Heron"))
    faulty.state.show_past(past)
    wait_until_settled(faulty, qtbot)
    shown = tile(faulty, Question.TIME).text_shown
    assert shown.headline == "Likely 1 h 29 to 1 h 41" and "from 12 prints on Heron" in shown.sentence
    sheet = document(faulty.state.program, faulty.state.report, past=faulty.state.past).toPlainText()
    assert "Likely 1 h 29 to 1 h 41" in sheet
    faulty.state.show_program(faulty.state.program)
    assert faulty.state.past is None


def test_while_it_is_checked_time_and_cost_are_known(faulty):
    faulty.state.show_report(None)
    faulty.panes.verdict._tell()
    assert tile(faulty, Question.WHOLE).text_shown.headline == "…"
    known = verdict_of(faulty.state.program).of(Question.TIME).headline
    assert tile(faulty, Question.TIME).text_shown.headline == known
    tile(faulty, Question.WHOLE).click()  # leads nowhere yet, and raises nothing


def test_texts_are_broken_at_blanks_and_cut_where_they_end():
    assert broken("one two three four", 9, 3, len) == ["one two", "three", "four"]
    cut = broken("one two three four five", 9, 2, len)
    assert len(cut) == 2 and cut[1].endswith("…") and all(len(line) <= 9 for line in cut)
    assert broken("incomprehensibilities", 9, 2, len) == ["incompre…"]
    assert broken("", 9, 2, len) == [""]


def test_nothing_is_cut_at_any_size_of_window_and_text(faulty, qtbot):
    theme, pane = faulty.theme, faulty.panes.verdict
    shown = {}
    for look, scale in (("light", 1.0), ("dark", 2.0), ("light", 1.3)):
        theme.look, theme.scale = look, scale
        theme.apply()
        for size in ((1280, 800), (760, 520), (1920, 1080)):
            faulty.resize(*size)
            wait_until_settled(faulty, qtbot)
            pane.grab()
            assert not [one.text_shown.headline for one in pane.tiles if one.cut], (look, scale, size)
            assert pane.height() == max(one.geometry().bottom() + 1 for one in pane.tiles)
            shown[scale, size] = pane.tiles[0].lines
    assert shown[1.0, (1280, 800)] and shown[1.0, (1920, 1080)]  # with what decides
