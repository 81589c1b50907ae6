"""Two programs beside each other: what the pane says is what the engine says, and the picture is hatched."""

from __future__ import annotations

import gzip
import re
import tempfile
from pathlib import Path

import pytest

from tests.window.conftest import shown_pane, wait_while_busy
from viewer import open_program
from viewer.program import Program
from viewer.shown.compare_rows import compare_sentence
from viewer.shown.window.beside.beside_pane import BesidePane
from viewer.shown.window.beside.beside_rows import (
    areas_text,
    cause_lines,
    layer_lines,
    left_out,
    setting_lines,
)
from viewer.shown.window.widgets.texts import unbroken
from viewer.why.areas import areas_at
from viewer.why.causes import Cause
from viewer.why.compare import compare

SAMPLES = Path(__file__).parents[3] / "sample_programs"


@pytest.fixture(scope="module")
def slower(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The coat hook with one bead of its fifth layer missing, slower from there on, and two layers short."""
    text = (SAMPLES / "coat_hook_pause.gcode").read_text()
    starts = [m.start() for m in re.finditer(r"^; layer \d", text, re.M)]
    head, tail = text[: starts[4]], text[starts[4] : starts[-2]]
    tail = re.sub(r"F(\d{4})", lambda m: f"F{int(m[1]) // 2}", tail)
    beads = list(re.finditer(r"^G1 X[-\d.]+ Y[-\d.]+( E[\d.]+)$", tail, re.M))
    bead = beads[5]
    tail = tail[: bead.start(1)] + tail[bead.end(1) :]
    path = tmp_path_factory.mktemp("beside") / "hook_b.gcode"
    path.write_text(head + tail)
    return path


def test_the_pane_says_what_differs_and_leads_there(qtbot, hook: Program, slower: Path) -> None:
    state, pane = shown_pane(BesidePane, hook, (360, 800), qtbot)
    assert "No other program" in pane.sentence.text() and pane.bars.isHidden()
    pane.compare_with(slower)
    wait_while_busy(pane, qtbot)
    other = open_program(slower)
    found = compare(hook, other)
    assert pane.sentence.text() == compare_sentence(found)
    assert pane.bars.lines == cause_lines(found)
    assert sum(line.b_s - line.a_s for line in pane.bars.lines) == pytest.approx(
        other.timing.total_s - hook.timing.total_s, abs=1e-6
    )
    lines = layer_lines(found.layers)
    assert [pane.layers.item(k).text() for k in range(pane.layers.count())] == [
        unbroken(line.text) for line in lines
    ]
    assert sum("only in A" in line.text for line in lines) == found.layers.only_a == 2
    row = next(k for k, line in enumerate(lines) if line.layer_a == 5)
    pane.layers.itemActivated.emit(pane.layers.item(row))
    wait_while_busy(pane, qtbot)
    assert state.layer == 5 and state.areas is not None and state.areas.layer == 5
    assert pane.areas.text() == areas_text(areas_at(hook, other, 5), 5) and "only in A" in pane.areas.text()
    pane.bars.pressed.emit("travel")
    assert state.cause == Cause("travel")
    pane.hide()
    assert state.areas is None
    pane.show()
    wait_while_busy(pane, qtbot)
    assert state.areas is not None
    pane.end.click()
    assert state.areas is None and pane.found is None and pane.bars.isHidden()


def test_a_program_beside_itself_and_one_that_is_none(qtbot, hook: Program, tmp_path: Path) -> None:
    state, pane = shown_pane(BesidePane, hook, (360, 800), qtbot)
    pane.compare_with(hook.path)
    wait_while_busy(pane, qtbot)
    assert "same time" in pane.sentence.text()
    assert all(line.more == "the same" for line in pane.bars.lines)
    assert pane.layers.isHidden() and "none differs" in pane.matched.text()
    assert pane.settings.text() == "None." and "same places" in pane.areas.text()
    pane.compare_with(tmp_path / "away.gcode")
    wait_while_busy(pane, qtbot)
    assert "away.gcode" in pane.sentence.text() and pane.found is None
    state.show_program(None)
    assert "No program is open" in pane.sentence.text() and not pane.choose.isEnabled()


def test_settings_and_heights_in_words(hook: Program) -> None:
    tray = open_program(SAMPLES / "tap_washer_tray.gcode")
    found = compare(hook, tray)
    words = setting_lines(found)
    assert len(words) == len(found.settings) + len(found.card_keys) or words[-1].startswith("and ")
    assert all(": A " in line and ", B " in line for line in words[:10])
    assert f"{found.layers.only_a} only in A" in left_out(found.layers, 3)


def test_another_choice_takes_hatching_and_unpacked_copy_away(
    qtbot, hook: Program, slower: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    packed = tmp_path / "hook_b.gcode.gz"
    packed.write_bytes(gzip.compress(slower.read_bytes()))
    state, pane = shown_pane(BesidePane, hook, (360, 800), qtbot)

    def unpacked() -> int:
        return len(list(tmp_path.glob("beadline-*")))

    pane.compare_with(packed)
    wait_while_busy(pane, qtbot)
    assert pane.found is not None and state.areas is not None and unpacked() == 1
    pane.compare_with(tmp_path / "away.gcode")
    assert state.areas is None and unpacked() == 0
    wait_while_busy(pane, qtbot)
    assert "away.gcode" in pane.sentence.text() and not pane.end.isVisible()
    pane.compare_with(packed)
    pane.compare_with(packed)  # what the first read of it is closed, however far it came
    wait_while_busy(pane, qtbot)
    assert unpacked() == 1
    pane.stop()
    assert unpacked() == 0
