"""The lesson in the window: pages, keys, the view of a step, leaving and coming back; every page fits."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.window.conftest import press, shown_pane, wait_until_settled, wait_while_busy
from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.here import word_here
from viewer.lesson.step import Lesson, Question, Step, StepView
from viewer.lesson.words import word
from viewer.shown.window.lesson.course import Course
from viewer.shown.window.lesson.lesson_pane import LessonPane
from viewer.shown.window.lesson.page_text import page_text
from viewer.shown.window.style.theme import SCALES

INFILL = ROLE_NAMES.index("infill")
ASKED = Question("How much is infill?", ("20 %", "50 %"), 0, "14 g of 70 g: 20 % are infill.")
STEPS = (
    Step("part", "The part", ("This is the part.",), ("part",), StepView(whole_part=True, cut="x=110")),
    Step(
        "infill", "Infill", ("These beads are infill.",), (),
        StepView(layer=8, box_mm=(80.0, 90.0, 110.0, 110.0), lit_roles=(INFILL,)), ASKED,
    ),
    Step("end", "The end", ("That is all.",), (), StepView(layer=44)),
)  # fmt: skip


@pytest.fixture
def teaching(opened, qtbot):
    """A window in which a lesson of three steps stands on its cover."""
    assert opened.panes.lesson.course is None, "nothing is made before Teach is chosen"
    press(opened, "A", qtbot)
    wait_until_settled(opened, qtbot)
    lesson = opened.panes.lesson
    assert lesson.course is not None
    assert lesson.course.lesson.program == "tap_washer_tray.gcode"
    assert len(lesson.course.lesson.steps) > 8
    lesson.show_lesson(Lesson("three steps", STEPS))
    return opened


def where(window) -> tuple[str, int]:
    course = window.panes.lesson.course
    return course.page, course.number


def test_pages_are_turned_by_arrows_and_a_clicker_and_set_the_view(teaching, qtbot):
    window, state, lesson = teaching, teaching.state, teaching.panes.lesson
    plot, part = window.panes.plot, window.panes.part
    press(window, "Right", qtbot)
    assert where(window) == ("cover", 0), "before it begins the arrows are the picture's"
    QTest.mouseClick(lesson.next, Qt.MouseButton.LeftButton)
    wait_until_settled(window, qtbot)
    assert where(window) == ("told", 1)
    assert window.stack.currentWidget() is part
    assert window.docks["part"].widget() is plot
    assert part.drawn.request.cut_axis == "x"
    assert state.pace == 1.0
    assert QApplication.focusWidget() is lesson.next, "an arrow key turns the page, not the part"
    press(window, "PgDown", qtbot)
    assert where(window) == ("guess", 2)
    assert window.stack.currentWidget() is plot
    assert window.docks["part"].widget() is part
    wait_until_settled(window, qtbot)
    assert (state.layer, state.lit_roles) == (9, frozenset({INFILL}))
    assert plot._drawn.request.lit == {INFILL}
    seen = plot.view.box.viewRect()
    assert seen.contains(80.0, 90.0) and seen.contains(110.0, 110.0) and seen.height() < 30.0
    press(window, "Left", qtbot)
    press(window, "Right", qtbot)
    press(window, "Right", qtbot)
    assert where(window) == ("told", 2)
    window.panes.program.lines.setFocus()
    press(window, "PgDown", qtbot)
    assert where(window) == ("told", 3), "a clicker turns pages wherever the focus is"
    press(window, "PgUp", qtbot)

    # away from the path and back
    selected = state.selected
    press(window, "Ctrl+Up", qtbot)
    assert state.layer == 10
    assert lesson.back_to_step.isVisible()
    plot.setFocus()
    press(window, "Right", qtbot)
    assert state.selected != selected, "beside the path the arrows are the picture's again"
    assert where(window) == ("told", 2)
    press(window, "Alt+Up", qtbot)
    assert (state.layer, state.selected, state.lit_roles) == (9, None, frozenset({INFILL}))
    assert not lesson.back_to_step.isVisible()

    # another arrangement undoes what only a lesson shows
    press(window, "G", qtbot)
    wait_until_settled(window, qtbot)
    assert state.lit_roles == frozenset()
    assert not lesson.running
    press(window, "PgUp", qtbot)
    assert state.layer == 19, "the keys are those of the layers again"
    press(window, "A", qtbot)
    wait_until_settled(window, qtbot)
    assert where(window) == ("told", 2)
    QTest.mouseClick(lesson.back_to_step, Qt.MouseButton.LeftButton)
    assert (state.layer, state.lit_roles) == (9, frozenset({INFILL}))

    # a program that is put away leaves nothing of its lesson
    press(window, "PgUp", qtbot)
    press(window, "PgUp", qtbot)
    assert window.stack.currentWidget() is part
    window.opening.put_away()
    wait_until_settled(window, qtbot)
    assert (lesson.course, lesson.running, state.lit_roles) == (None, False, frozenset())
    assert window.docks["part"].widget() is part


def test_a_guess_is_judged_and_words_are_told(teaching, qtbot):
    window, state, lesson = teaching, teaching.state, teaching.panes.lesson
    for _ in range(2):
        lesson.turn(1)
    wait_until_settled(window, qtbot)
    choices = lesson.page.choices
    assert [button.accessibleName() for button in choices] == ["20 %", "50 %"]
    choices[1].setFocus()
    press(window, "Return", qtbot)
    assert lesson.course.guesses == {"infill": 1}
    assert lesson.page.large.text() == "No. 14 g of 70 g: 20 % are infill."
    assert [button.accessibleName() for button in lesson.page.choices] == ["20 %, right", "50 %, guessed"]
    assert QApplication.focusWidget() is lesson.next
    assert lesson.page.score.text() == "0 of 1 right"
    press(window, "Right", qtbot)
    assert where(window) == ("told", 2)
    wait_until_settled(window, qtbot)

    # the legend lights beads and tells their word
    legend = window.panes.plot.legend
    QTest.mouseClick(legend, Qt.MouseButton.LeftButton, pos=legend.place_of("support").center().toPoint())
    assert state.lit_roles == {ROLE_NAMES.index("support")}
    assert lesson.page.large.text().startswith("Support: ")
    assert word("support").without in lesson.page.more.text()
    assert word_here(state.program, "support") in lesson.page.more.text()
    lesson.return_to_step()
    assert state.lit_roles == {INFILL}
    lesson.turn(-2)
    lesson.page.words.linkActivated.emit("part")
    assert lesson.page.large.text().startswith("Part: ")
    lesson.turn(-1)
    assert (where(window), lesson.page.large.text()) == (("told", 1), "This is the part.")

    # the sentence of a selected line comes first
    lesson.turn(3)
    state.step_bead(1)
    line = int(state.program.moves.line[state.selected])
    assert window.panes.program.explanation.toPlainText().startswith("This line lays")
    assert f"Line {line}" in window.panes.program.explanation.toPlainText()


def test_a_file_of_the_same_name_in_another_folder_is_another_program(qtbot, hook):
    state, pane = shown_pane(LessonPane, hook, (900, 200), qtbot)
    state.teach(True)
    wait_while_busy(pane, qtbot)
    pane.show_lesson(Lesson(hook.path.name, STEPS))
    state.show_program(hook, partial=True)
    wait_while_busy(pane, qtbot)
    assert pane.course is not None, "of the same file read again the lesson stays"
    elsewhere = replace(hook.source, path=hook.path.parent / "other" / hook.path.name)
    state.show_program(replace(hook, source=elsewhere), partial=True)
    wait_while_busy(pane, qtbot)
    assert pane.course is None


def test_every_page_of_a_lesson_is_seen_whole_at_every_size_of_text(opened, qtbot):
    opened.arrange_for("teach")
    wait_until_settled(opened, qtbot)
    lesson = opened.panes.lesson
    for scale in (SCALES[0], SCALES[2], SCALES[4], SCALES[-1]):
        opened.theme.scale = scale
        opened.theme.apply()
        wait_until_settled(opened, qtbot)
        course = Course(lesson.course.lesson)
        for _ in course.pages:
            if course.question is not None:
                course.take(0)
            lesson.page.show_text(page_text(course))
            QApplication.processEvents()
            assert lesson.page.whole, (course.page, course.number, scale)
            course.go(1)
