"""The handout: nothing outside of it, headings in order, texts for every picture, answers on their own page only."""

from __future__ import annotations

import base64
import json
import re
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.lesson.samples import SAMPLES, lesson, opened
from viewer import lesson_object
from viewer.__main__ import main
from viewer.jit import compiler_is_off
from viewer.lesson.words import word
from viewer.part.solid import Part
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.paper.handout import _whole, handout
from viewer.shown.pictures import part_picture
from viewer.shown.pictures.png import SIGNATURE

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="draws many pictures: needs the compiler")

HOOK = "coat_hook_pause.gcode"
SIMPLE_TAGS = {
    "html", "head", "meta", "title", "style", "body", "h1", "h2", "h3", "p", "b", "br", "code", "span", "img",
    "table", "tr", "th", "td",
}  # fmt: skip
"""What browsers and simple rich-text engines both know."""
VOID = {"meta", "br", "img"}


class Page(HTMLParser):
    """Collects tags and checks that they are closed in order."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text.append(data)


@cache
def page(answers: bool) -> Page:
    read = Page()
    read.feed(handout(opened(HOOK), lesson(HOOK), answers, finer=1))
    read.close()
    return read


def _text(answers: bool) -> str:
    return " ".join(" ".join(page(answers).text).split())


def test_the_whole_and_the_cut_are_drawn_from_the_same_bodies(monkeypatch: pytest.MonkeyPatch) -> None:
    made = []
    bodies = part_picture.part_of

    def counted(*of: Any) -> Part:
        made.append(of)
        return bodies(*of)

    monkeypatch.setattr(part_picture, "part_of", counted)
    assert "".join(_whole(opened(HOOK), 1)).count("<img") == 2 and len(made) == 1


def test_the_page_holds_everything_itself() -> None:
    read = page(True)
    assert not read.open
    assert {tag for tag, _ in read.tags} == SIMPLE_TAGS
    assert read.tags[0] == ("html", {"lang": "en"})
    for tag, attributes in read.tags:
        assert not any(name.startswith("on") or name == "href" for name in attributes), (tag, attributes)
        if tag == "img":
            kind, _, data = str(attributes["src"]).partition(",")
            assert kind == "data:image/png;base64"
            assert base64.b64decode(data, validate=True).startswith(SIGNATURE)
    assert "url(" not in _text(True) and "@import" not in _text(True)


def test_headings_come_in_order_and_pictures_have_texts() -> None:
    levels = [int(tag[1]) for tag, _ in page(True).tags if re.fullmatch(r"h\d", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    texts = [str(attributes["alt"]) for tag, attributes in page(True).tags if tag == "img"]
    told = [text for text in texts if text]
    assert len(told) == 5 and len(set(told)) == 5  # the whole, the cut, three layers
    assert len(texts) - len(told) == sum(1 for s in opened(HOOK).figures.time.ledger_s.values() if s)  # bars


def test_it_has_figures_line_words_and_cautions() -> None:
    program, text = opened(HOOK), _text(False)
    for step in lesson(HOOK).steps:
        assert step.caution in text
        for key in step.words:
            assert f"{word(key).term} : {word(key).what}" in text
    for cause, seconds in program.figures.time.ledger_s.items():
        assert (CAUSE_WORDS[cause][0] in text) == bool(seconds)
    (line,) = (step.view.bead for step in lesson(HOOK).steps if step.slug == "line")
    assert line is not None
    assert program.texts.line(int(program.moves.line[line])) in text


def test_answers_stand_on_their_own_page_and_only_where_asked_for() -> None:
    blank, full = _text(False), _text(True)
    assert full.startswith(blank)
    assert "Answers" not in blank
    asked = [step for step in lesson(HOOK).steps if step.question and step.slug != "line"]
    for number, step in enumerate(asked, 1):
        assert step.question is not None
        assert f"{number}. {step.question.text}" in blank
        letter = "ABCD"[step.question.right]
        assert f"{letter} {step.question.choices[step.question.right]}" in blank.replace("\u00a0", " ")
        assert f"{number}. {step.title}: {letter} " in full[len(blank) :]


def test_the_console_writes_page_and_steps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, program = tmp_path / "lesson.html", str(SAMPLES / "faulty" / "no-beads.near_miss.gcode")
    assert main(["lesson", program, "-o", str(out), "--answers"]) == 0
    assert "<h1>What this program prints: no-beads.near_miss.gcode</h1>" in out.read_text()
    assert ">Answers<" in out.read_text()
    assert main(["lesson", program, "--json"]) == 0
    steps = json.loads(capsys.readouterr().out)["steps"]
    assert steps[0]["slug"] == "plate" and steps[0]["view"]["layer"] == 1
    assert main(["lesson", str(SAMPLES / "faulty" / "no-beads.gcode")]) == 2
    assert "nothing to teach" in capsys.readouterr().err


def test_the_object_counts_layers_from_1_and_names_lines_and_roles() -> None:
    program = opened(HOOK)
    for step, plain in zip(lesson(HOOK).steps, lesson_object(program, lesson(HOOK))["steps"], strict=True):
        view = step.view
        assert plain["view"]["layer"] == (None if view.layer is None else view.layer + 1)
        assert plain["view"]["line"] == (None if view.bead is None else int(program.moves.line[view.bead]))
        assert plain["sentences"] == list(step.sentences)
        assert (plain["question"] is None) == (step.question is None)
