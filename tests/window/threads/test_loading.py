"""Loading in the background: only the newest counts, nothing freezes, every failure is a sentence."""

import gzip
import os
import shutil
import time
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from tests.benchmarks.generate import generate
from tests.window.conftest import SAMPLES, WAIT_MS, wait_until_settled
from viewer import load_filament, load_printer, load_workshop, open_program
from viewer.program import PREVIEW_BYTES, preview
from viewer.shown.window.model.card_names import CardNames
from viewer.shown.window.threads.loader import Loader

CARDS = CardNames("heron", "pla", "quayside")


@pytest.fixture(scope="module")
def large(tmp_path_factory) -> Path:
    """A program of 12 MB, six times what is read first."""
    path = tmp_path_factory.mktemp("large") / "washers.gcode"
    generate(path, 12.0, seed=7)
    return path


@pytest.fixture
def loader(qtbot):
    made = Loader()
    made.panes_are_made()  # here are none to wait for
    yield made
    made.close()


def heard(loader: Loader) -> list[tuple[str, object]]:
    """Keep a list of what the loader signals."""
    kept: list[tuple[str, object]] = []
    for name in ("previewed", "loaded", "checked"):
        getattr(loader, name).connect(lambda what, name=name: kept.append((name, what)))
    loader.failed.connect(lambda sentence, _path: kept.append(("failed", sentence)))
    return kept


# ---- the beginning


def test_the_beginning_is_the_same_as_of_the_whole(large):
    cards = load_printer(), load_filament(), load_workshop()
    beginning, whole = preview(large, *cards), open_program(large)
    assert beginning is not None
    n, layers = len(beginning.moves), len(beginning.layers)
    assert 1 < layers < len(whole.layers)
    assert n < len(whole.moves)
    assert PREVIEW_BYTES // 2 < beginning.tally.bytes_read < 4 * PREVIEW_BYTES
    assert (beginning.moves.x_mm == whole.moves.x_mm[:n]).all()
    assert (beginning.moves.line == whole.moves.line[:n]).all()
    assert (beginning.layers.first_move[:layers] == whole.layers.first_move[:layers]).all()
    assert beginning.texts.line(12) == whole.texts.line(12)


@pytest.mark.parametrize("name", ["tap_washer_tray.gcode", "not there.gcode", "."])
def test_small_missing_and_odd_files_have_no_beginning(name):
    assert preview(SAMPLES / name, load_printer(), load_filament(), load_workshop()) is None


def test_a_packed_program_has_no_beginning(large, tmp_path):
    packed = tmp_path / "washers.gcode.gz"
    packed.write_bytes(gzip.compress(large.read_bytes(), 1))
    assert packed.stat().st_size > 0
    assert preview(packed, load_printer(), load_filament(), load_workshop()) is None


def test_a_beginning_without_a_second_layer_is_read_further(tmp_path):
    """The first layer is 5 MB long: the first 2 MiB do not hold it whole."""
    path = tmp_path / "one_long_layer.gcode"
    lines = ["G21", "G90", "M83", "G28", "G1 Z0.2 F600"]
    lines += [f"G1 X{10 + k % 190} Y{10 + (k // 190) % 190} E0.05 F1800" for k in range(190_000)]
    lines += ["G1 Z0.4"]
    lines += [f"G1 X{10 + k % 190} Y{10 + (k // 190) % 190} E0.05 F1800" for k in range(190_000)]
    path.write_text("\n".join(lines) + "\n")
    found = preview(path, load_printer(), load_filament(), load_workshop())
    assert found is not None
    assert len(found.layers) == 2
    assert found.tally.bytes_read > 5e6


# ---- the loader


def test_a_large_program_comes_beginning_first(loader, large, qtbot):
    kept = heard(loader)
    loader.open(large, CARDS)
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    assert [name for name, _ in kept] == ["previewed", "loaded", "checked"]
    assert len(kept[0][1].layers) < len(kept[1][1].layers)
    assert kept[1][1].figures.layers.count == len(kept[1][1].layers)


def test_figures_are_ready_when_the_program_is_handed_over(loader, qtbot):
    seen = []
    loader.loaded.connect(lambda program: seen.append("figures" in program.__dict__))
    loader.open(SAMPLES / "tap_washers_bare.gcode", CARDS)
    qtbot.waitUntil(lambda: bool(seen), timeout=WAIT_MS)
    assert seen == [True]


def test_checks_begin_when_the_program_is_painted(loader, qtbot):
    kept, painting, asked = heard(loader), [True], []
    loader.is_painting = lambda: (asked.append(len(kept)), painting[0])[1]
    loader.open(SAMPLES / "tap_washers_bare.gcode", CARDS)
    qtbot.waitUntil(lambda: len(asked) == 4, timeout=WAIT_MS)
    assert asked == [1, 1, 1, 1]
    assert not loader._shared.shown.is_set()  # which the worker waits for before it checks
    assert [name for name, _ in kept] == ["loaded"]
    painting[0] = False
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    assert [name for name, _ in kept] == ["loaded", "checked"]


def test_only_the_newest_request_counts(loader, large, qtbot):
    kept = heard(loader)
    loader.open(large, CARDS)
    loader.open(SAMPLES / "coat_hook_pause.gcode", CARDS)
    loader.open(SAMPLES / "tap_washers_bare.gcode", CARDS)
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    names = {what.path.name for name, what in kept if name in ("previewed", "loaded")}
    assert names == {"tap_washers_bare.gcode"}
    assert [name for name, _ in kept] == ["loaded", "checked"]


def test_cancel_ends_it_at_once_and_nothing_comes_any_more(loader, large, qtbot):
    kept, posted = heard(loader), []
    loader._task.posted.connect(lambda what: posted.append(what[0]))
    loader.open(large, CARDS)
    qtbot.waitUntil(lambda: "progress" in posted, timeout=WAIT_MS)
    loader.cancel()
    assert not loader.busy
    loader._task.wait(WAIT_MS / 1e3)
    QApplication.processEvents()
    assert kept == []


def test_closing_while_loading_leaves_no_thread(loader, large, qtbot):
    with qtbot.waitSignal(loader.progress, timeout=WAIT_MS):
        loader.open(large, CARDS)
    begun = time.monotonic()
    loader.close()
    assert time.monotonic() - begun < 5.0
    loader.open(large, CARDS)  # a late request after the end is not an error, and starts nothing
    assert not loader.busy


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "does not exist"),
        (b"", "is empty"),
        (b"\0" * 4096, "zero bytes"),
        (b"PK\x03\x04" + b"\0" * 100, "zip"),
        (bytes(range(256)) * 40, "not text"),
        (b"\x1f\x8b" + b"nonsense" * 10, "damaged"),
    ],
)
def test_a_bad_file_is_a_sentence(loader, tmp_path, qtbot, content, said):
    path = tmp_path / "bad.gcode"
    if content is not None:
        path.write_bytes(content)
    kept = heard(loader)
    loader.open(path, CARDS)
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    (kind, sentence), = kept  # fmt: skip
    assert kind == "failed"
    assert said in sentence
    assert "bad.gcode" in sentence
    assert "Traceback" not in sentence


def test_a_wrong_card_is_a_sentence(loader, qtbot):
    kept = heard(loader)
    loader.open(SAMPLES / "tap_washers_bare.gcode", CardNames("heronn", "pla", "quayside"))
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    assert kept[0][0] == "failed"
    assert "Heron" in kept[0][1]


def test_a_fault_of_ours_is_a_sentence_too(loader, qtbot, monkeypatch, caplog):
    def broken(*_args, **_more):
        raise ZeroDivisionError("by hand")

    monkeypatch.setattr("viewer.program.open_program", broken)
    kept = heard(loader)
    loader.open(SAMPLES / "tap_washers_bare.gcode", CARDS)
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    assert kept[0][0] == "failed"
    assert "ZeroDivisionError: by hand" in kept[0][1]
    assert caplog.records, "the place of the fault must be logged"
    monkeypatch.undo()
    loader.open(SAMPLES / "tap_washers_bare.gcode", CARDS)
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    assert kept[1][0] == "loaded", "the worker goes on after a fault"


def test_temporary_copies_are_deleted(loader, tmp_path, qtbot):
    packed = tmp_path / "tray.gcode.gz"
    packed.write_bytes(gzip.compress((SAMPLES / "tap_washers_bare.gcode").read_bytes()))
    kept = heard(loader)
    for _ in range(2):
        loader.open(packed, CARDS)
        qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    plain = [what.source.plain for name, what in kept if name == "loaded"]
    assert len(plain) == 2
    assert [path.exists() for path in plain] == [False, True]
    loader.close()
    assert not plain[1].exists()


def test_other_cards_change_the_figures_without_reading_again(loader, qtbot):
    kept = heard(loader)
    loader.open(SAMPLES / "tap_washers_bare.gcode", CARDS)
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    program = kept[0][1]
    loader.change_cards(program, CardNames("wren", "petg", "quayside"))
    qtbot.waitUntil(lambda: not loader.busy, timeout=WAIT_MS)
    other = [what for name, what in kept if name == "loaded"][1]
    assert other.printer.name == "Wren"
    assert other.figures.filament.mass_g != program.figures.filament.mass_g
    assert other.figures.time.total_s != program.figures.time.total_s


# ---- in the window


def test_the_beginning_is_shown_while_the_rest_is_read(window, large, qtbot):
    seen = []
    window.state.listen(
        "program", lambda: seen.append((window.state.partial, window.state.layer, window.banner.sentence))
    )
    window.open_path(large)
    wait_until_settled(window, qtbot)
    assert [partial for partial, _, _ in seen] == [True, False]
    assert seen[0][1] == 1
    assert window.banner.sentence == ""


def test_the_beginning_says_that_it_is_one(window, large, qtbot):
    window.open_path(large)
    qtbot.waitUntil(lambda: window.state.program is not None, timeout=WAIT_MS)
    assert window.state.partial
    assert "beginning" in window.banner.sentence
    window.opening.cancel()
    assert "only the beginning" in window.banner.sentence
    assert window.state.partial


def test_opening_again_and_again_quickly(window, qtbot):
    names = ["tap_washer_tray", "coat_hook_pause", "lamp_shade_ring_spiral", "radiator_knob_arcs"]
    for k in range(12):
        window.open_path(SAMPLES / f"{names[k % 4]}.gcode")
        for _ in range(k % 5):
            QApplication.processEvents()
    wait_until_settled(window, qtbot)
    assert window.state.program.path.name == "radiator_knob_arcs.gcode"
    assert window.state.report is not None


def test_a_changed_file_is_noticed_and_read_again(window, tmp_path, qtbot):
    path = tmp_path / "tray.gcode"
    shutil.copy(SAMPLES / "tap_washers_bare.gcode", path)
    window.open_path(path)
    wait_until_settled(window, qtbot)
    layers = window.state.layers
    shutil.copy(SAMPLES / "tap_washer_tray.gcode", path)
    qtbot.waitUntil(lambda: "was changed" in window.banner.sentence, timeout=10_000)
    assert window.state.layers == layers
    window.actions_by_id["open-again"].trigger()
    wait_until_settled(window, qtbot)
    assert window.state.layers == 45 != layers
    assert window.banner.sentence == ""


def test_a_vanished_file_is_noticed_and_so_is_its_return(window, tmp_path, qtbot):
    path = tmp_path / "tray.gcode"
    shutil.copy(SAMPLES / "tap_washers_bare.gcode", path)
    window.open_path(path)
    wait_until_settled(window, qtbot)
    aside = tmp_path.parent / "aside.gcode"
    path.rename(aside)
    qtbot.waitUntil(lambda: "not at its place" in window.banner.sentence, timeout=10_000)
    window.state.show_layer(3)
    window.grab()
    aside.rename(path)
    qtbot.waitUntil(lambda: window.banner.sentence == "", timeout=10_000)


def test_a_file_deleted_while_it_is_read(window, large, tmp_path, qtbot):
    path = tmp_path / "going.gcode"
    os.link(large, path)
    window.open_path(path)
    qtbot.waitUntil(lambda: window.state.program is not None, timeout=WAIT_MS)
    path.unlink()
    wait_until_settled(window, qtbot)
    assert window.isVisible()
    if window.state.partial:
        assert "stays on show" in window.banner.sentence
    else:
        # either the watch or a check that wanted a line of it comes first
        qtbot.waitUntil(lambda: "going.gcode" in window.banner.sentence, timeout=10_000)
