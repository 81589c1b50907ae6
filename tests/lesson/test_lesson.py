"""Lessons of all sample programs: true, short, explained, and their answers computed a second time."""

from __future__ import annotations

import re

import pytest
from shapely.geometry import LineString, box

from tests.lesson.samples import NAMES, lesson, opened, shape
from tests.lesson.twin import ANSWERS, amount
from viewer.jit import compiler_is_off
from viewer.layers.layers import ROLE_NAMES
from viewer.lesson.lesson import lesson_of
from viewer.lesson.step import Step
from viewer.lesson.table import RULES
from viewer.lesson.words import WORDS, word
from viewer.read.moves import BEAD, TRAVEL

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="layers of a million cells: needs the compiler")

MAX_WORDS = 20


def _steps(name: str) -> tuple[Step, ...]:
    return lesson(name).steps


def test_every_step_of_the_table_is_reached_and_asks_somewhere() -> None:
    reached = {step.slug for name in NAMES for step in _steps(name)}
    asking = {step.slug for name in NAMES for step in _steps(name) if step.question}
    slugs = [rule.slug for rule in RULES]
    assert len(slugs) == len(set(slugs)) == len(ANSWERS)
    assert reached == asking == set(slugs)


@pytest.mark.parametrize("name", NAMES)
def test_steps_stand_in_the_order_of_the_table_with_short_sentences(name: str) -> None:
    order = [rule.slug for rule in RULES]
    slugs = [step.slug for step in _steps(name)]
    assert slugs == sorted(slugs, key=order.index)
    for step in _steps(name):
        assert 1 <= len(step.sentences) <= 2
        for sentence in step.sentences:
            assert len(sentence.split()) <= MAX_WORDS, sentence
            assert sentence.endswith(".") and not sentence[0].islower() and "unknown" not in sentence, (
                sentence
            )


@pytest.mark.parametrize("name", NAMES)
def test_answers_are_right_by_other_means(name: str) -> None:
    for step in _steps(name):
        if step.question is None:
            continue
        answer, choices = ANSWERS[step.slug](opened(name), step, shape(name)), step.question.choices
        assert 2 <= len(choices) <= 4
        assert len(set(choices)) == len(choices)
        if isinstance(answer, str):
            assert choices[step.question.right] == answer, step
            continue
        said = [amount(choice) for choice in choices]
        assert said[step.question.right] == pytest.approx(answer, rel=0.06), step
        others = [value for k, value in enumerate(said) if k != step.question.right]
        assert all(abs(value / answer - 1.0) > 0.25 for value in others), step


@pytest.mark.parametrize("name", NAMES)
def test_views_show_what_the_step_speaks_of(name: str) -> None:
    program = opened(name)
    for step in _steps(name):
        view = step.view
        assert view.layer is None or 0 <= view.layer < len(program.layers)
        if view.whole_part:
            assert view.layer is None and view.bead is None
            if view.cut is not None:
                extent = program.figures.extent
                assert extent is not None
                axis, _, place = view.cut.partition("=")
                assert axis == "x" and extent.x[0] < float(place) < extent.x[1]
        elif view.lit_roles:
            assert view.layer is not None
            own = program.layers.moves_of(view.layer + 1)
            beads = program.roles[own][program.moves.kind[own] == BEAD]
            assert view.lit_roles[0] in beads, step
        if view.bead is not None:
            assert program.moves.kind[view.bead] == (TRAVEL if step.slug == "travel" else BEAD)
            assert int(program.layers.of_moves([view.bead])[0]) == (view.layer or 0) + 1
            assert view.box_mm is not None
            left, front, right, back = view.box_mm
            x, y, _ = program.moves.start_xyz(view.bead)
            ends = [(x, y), (float(program.moves.x_mm[view.bead]), float(program.moves.y_mm[view.bead]))]
            assert LineString(ends).intersects(box(left, front, right, back)), step


@pytest.mark.parametrize("name", NAMES)
def test_each_word_of_the_trade_is_explained_where_it_first_occurs(name: str) -> None:
    explained: set[str] = set()
    for step in _steps(name):
        assert not explained.intersection(step.words)
        explained.update(step.words)
        asked = (
            ()
            if step.question is None
            else (step.question.text, *step.question.choices, step.question.reason)
        )
        text = " ".join((step.title, *step.sentences, *asked, step.look_for, step.caution)).lower()
        for one in WORDS:
            if re.search(rf"(?<![\w-]){re.escape(one.term)}s?(?![\w-])", text):
                inside = {
                    w.key for w in WORDS if one.term in w.term and w.term != one.term and w.term in text
                }
                assert one.key in explained or inside, (one.key, step.slug)
        for key in step.words:
            spellings = (key, word(key).term, *word(key).forms)
            assert any(spelling in text for spelling in spellings), (key, step.slug)


def test_a_step_without_its_beads_is_left_out() -> None:
    for name in NAMES:
        slugs = {step.slug for step in _steps(name)}
        figures = opened(name).figures
        for slug, role in (("support", "support"), ("hold-down", "hold-down"), ("inner-loops", "inner loop")):
            assert role in ROLE_NAMES
            assert (slug in slugs) == (role in figures.filament.by_role), (name, slug)
        assert ("pauses" in slugs) == bool(figures.time.pauses)
        assert ("tools" in slugs) == bool(figures.time.tool_changes)
        assert ("bridge" in slugs) == bool((shape(name).bridge_mm >= 4.0).any())
        assert ("overhang" in slugs) == bool(shape(name).overhangs)


def test_a_lesson_measures_the_shape_itself_where_nobody_did() -> None:
    name = "faulty/steep-overhang.gcode"
    assert lesson_of(opened(name)) == lesson(name)


def test_the_right_choice_stands_at_different_places() -> None:
    places = {step.question.right for name in NAMES for step in _steps(name) if step.question}
    assert places == {0, 1, 2, 3}


def test_questions_and_sentences_speak_of_this_program_alone() -> None:
    said = {name: tuple(step.sentences for step in _steps(name)) for name in NAMES}
    assert len(set(said.values())) == len(NAMES)


def test_all_choices_of_a_question_are_said_alike() -> None:
    """The right one is not known by its digits: all amounts have the same decimals, and end with the same unit."""
    asked = 0
    for name in NAMES:
        for question in filter(None, (step.question for step in _steps(name))):
            ends = [re.search(r"\d(\.\d+)?( ?[^\d.]*)$", choice) for choice in question.choices]
            if all(choice[0].isdigit() for choice in question.choices):
                assert len({(len(end[1] or ""), end[2]) for end in ends if end}) == 1, (name, question)
                assert all(ends)
                asked += 1
    assert asked > 40
