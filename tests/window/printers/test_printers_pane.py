"""Which printer takes it: the pane says what the engine says, beside the window's thread, and a row takes its card."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton

from tests.window.conftest import SAMPLES, press, wait_until_settled
from viewer.checks.finding import Severity
from viewer.program import open_program
from viewer.shown.fit_text import fit_text
from viewer.shown.window.printers.fit_lines import head_text, word_of
from viewer.verdict import Word
from viewer.verdict.fits import fits_of, known_printers


def test_which_of_the_printers_takes_it_and_one_click_takes_the_card(window, qtbot):
    path = SAMPLES / "faulty" / "off-plate.gcode"
    window.open_path(path)
    wait_until_settled(window, qtbot)
    pane = window.panes.printers
    assert not pane.rows.lines and not pane.isVisible()  # nothing is computed that nobody sees
    assert window.made_for.sentence == "The part does not fit Heron."
    button = next(
        one for one in window.made_for.findChildren(QPushButton) if one.text() == "Compare printers"
    )
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert pane.isVisible() and pane.busy
    wait_until_settled(window, qtbot)
    known = known_printers()
    expected = {fit.printer.name: fit for fit in fits_of(open_program(path), [c for _, c in known.cards])}
    assert {line.name for line in pane.rows.lines} == set(expected)
    for line in pane.rows.lines:
        fit = expected[line.name]
        assert line.fits == fit_text(fit) and line.word is word_of(fit)
        assert line.chosen == (line.name == "Heron") and line.name in line.spoken
    ranks = [line.word.rank for line in pane.rows.lines]
    assert ranks == sorted(ranks, reverse=True)  # those that take it come first
    first = pane.rows.lines[0]
    assert first.word is Word.YES and pane.head.text() == head_text(pane.rows.lines, "PLA")
    pane.grab()

    known_before = pane._fits
    pane.list.setFocus()
    pane.list.setCurrentIndex(pane.rows.index(0))
    press(window, "Return", qtbot)
    wait_until_settled(window, qtbot)
    assert window.state.program.printer.name == window.tool_bar.printer.currentText() == first.name
    assert pane.rows.lines[0].chosen and not pane.rows.lines[-1].chosen
    assert pane._fits is known_before  # another printer changes no fit
    assert window.made_for.isHidden()

    window.tool_bar.filament.fill("petg")
    window._chosen_cards.take("filament", "petg")
    wait_until_settled(window, qtbot)
    assert pane._fits is not known_before and "With PETG" in pane.head.text()


def test_a_broken_card_is_told_and_the_others_are_tried(window, qtbot, tmp_path, monkeypatch):
    (tmp_path / "printers").mkdir()
    (tmp_path / "printers" / "bent.toml").write_text("name = 'Bent'\nnozzle_mm = 'wide'\n")
    monkeypatch.setenv("BEADLINE_CARDS", str(tmp_path))
    window.open_path(SAMPLES / "faulty" / "off-plate.gcode")
    wait_until_settled(window, qtbot)
    window.show_dock("printers")
    wait_until_settled(window, qtbot)
    pane = window.panes.printers
    assert len(pane.rows.lines) == 3 and "bent.toml" in pane.told.text() and pane.told.isVisible()
    window.commands.handlers()["start-page"]()
    assert not pane.rows.lines and "No program" in pane.head.text()


@pytest.mark.parametrize(
    ("fits", "stops", "looks", "word"),
    [
        (True, 0, 0, Word.YES),
        (True, 0, 1, Word.LOOK),
        (True, 1, 1, Word.NO),
        (False, 0, 0, Word.NO),
        (None, 0, 0, Word.NOT_KNOWN),
        (None, 0, 1, Word.LOOK),
    ],
)
def test_the_sign_says_the_gravest(fits, stops, looks, word):
    class _Fit:
        def count(self, severity: Severity) -> int:
            return {Severity.STOP: stops, Severity.LOOK: looks}.get(severity, 0)

    fit = _Fit()
    fit.fits, fit.nothing_extruded = fits, False
    assert word_of(fit) is word
