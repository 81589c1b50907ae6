"""Opening programs: what is no program, packed ones, progress, stop, other cards."""

from __future__ import annotations

import gzip
import io
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.programs import START, box
from viewer import ReadError, Stopped, figures_object, open_program
from viewer.jit import compiler_is_off

pytestmark = pytest.mark.skipif(compiler_is_off(), reason="compiler is off: whole programs take too long")
BOX = (START + box(5)[0]).encode()


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, bytes], Path]:
    def written(name: str, data: bytes) -> Path:
        path = tmp_path / name
        path.write_bytes(data)
        return path

    return written


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty (0 bytes)"),
        (b"PK\x03\x04rest", "a zip container; unpack it"),
        (b"\x89PNG\r\n\x1a\n", "a picture (PNG)"),
        (b"\0" * 5000, "nothing but zero bytes"),
        (b"version 1\noid sha:abc\nsize 12\n", "only points to a program kept elsewhere"),
        (bytes(range(1, 256)) * 40, "is not text"),
        (b"GCDE\x01\x00", "a program in a binary form"),
        ("G1 X1\n".encode("utf-16"), "text in UTF-16"),
        (b"solid part\nfacet normal 0 0 1\n", "a shape (STL)"),
        (b"\x1f\x8b\x08broken", "packed with gzip but damaged"),
        (b"# Notes\n\nBuy filament, oil the rails.\n", "holds no G-code command"),
        (b"<svg xmlns='x'><path d='M 1 2'/></svg>\n", "holds no G-code command"),
    ],
)
def test_what_is_no_program_gets_one_sentence(
    data: bytes, words: str, write: Callable[[str, bytes], Path]
) -> None:
    path = write("given.gcode", data)
    with pytest.raises(ReadError) as caught:
        open_program(path)
    said = str(caught.value)
    assert words in said
    assert str(path) in said
    assert said.endswith(".")
    assert "\n" not in said


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(ReadError, match="does not exist; look at the name"):
        open_program(tmp_path / "none.gcode")
    with pytest.raises(ReadError, match="is a folder; name a program file in it"):
        open_program(tmp_path)


def test_a_file_that_may_not_be_read(write: Callable[[str, bytes], Path]) -> None:
    if os.geteuid() == 0:
        pytest.skip("root may read everything")
    path = write("secret.gcode", BOX)
    path.chmod(0)
    with pytest.raises(ReadError, match="may not be read"):
        open_program(path)


def test_gzip_gives_the_same(write: Callable[[str, bytes], Path]) -> None:
    plain = open_program(write("box.gcode", BOX))
    packed = open_program(write("box.gcode.gz", gzip.compress(BOX)))
    assert packed.figures == plain.figures
    assert packed.texts.line(6) == plain.texts.line(6)
    assert packed.sha256 == plain.sha256
    packed.close()
    assert not packed.source.plain.exists()


def test_a_packed_bomb_is_refused(write: Callable[[str, bytes], Path]) -> None:
    bomb = gzip.compress(b"G1 X1\n" * 20_000_000, 9)
    with pytest.raises(ReadError, match="which no program does"):
        open_program(write("bomb.gcode.gz", bomb))


def test_standard_input(monkeypatch: pytest.MonkeyPatch, write: Callable[[str, bytes], Path]) -> None:
    class Standard:
        buffer = io.BytesIO(BOX)

    monkeypatch.setattr(sys, "stdin", Standard())
    piped = open_program("-")
    assert piped.figures == open_program(write("box.gcode", BOX)).figures
    piped.close()


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "Standard input is empty (0 bytes); look at the command before the pipe."),
        (
            gzip.compress(BOX)[:-12],
            "Standard input is packed with gzip but damaged: its end is missing; copy it again.",
        ),
        (
            gzip.compress(BOX)[:-8] + bytes(8),
            "Standard input is packed with gzip but damaged: its bytes do not add up; copy it again.",
        ),
    ],
)
def test_what_is_wrong_with_standard_input(
    monkeypatch: pytest.MonkeyPatch, data: bytes, sentence: str
) -> None:
    class Standard:
        buffer = io.BytesIO(data)

    monkeypatch.setattr(sys, "stdin", Standard())
    with pytest.raises(ReadError) as caught:
        open_program("-")
    assert str(caught.value) == sentence


def test_progress_comes_to_its_end(write: Callable[[str, bytes], Path]) -> None:
    told: list[tuple[str, float]] = []
    open_program(write("box.gcode", BOX), on_progress=lambda stage, share: told.append((stage, share)))
    assert told[0][0] == "reading"
    assert told[-1] == ("done", 1.0)
    assert all(0.0 <= share <= 1.0 for _, share in told)


def test_stop_ends_soon(tmp_path: Path) -> None:
    path = tmp_path / "long.gcode"
    path.write_bytes(BOX * 40_000)
    asked = 0.0

    def stop() -> bool:
        nonlocal asked
        asked = asked or time.perf_counter()
        return True

    with pytest.raises(Stopped):
        open_program(path, stop=stop)
    assert asked > 0.0


def test_a_vanished_file_is_a_sentence(write: Callable[[str, bytes], Path]) -> None:
    path = write("box.gcode", BOX)
    program = open_program(path)
    assert not program.source.changed()
    path.unlink()
    assert program.source.changed()
    with pytest.raises(ReadError, match="could not be read again"):
        program.texts.line(1)


def test_the_plain_object_has_the_schema(samples: list[Path]) -> None:
    plain = figures_object(open_program(samples[0]))
    assert plain["schema"] == 1
    assert set(plain) >= {
        "program", "printer", "filament_card", "moves", "path", "extent_mm", "filament", "layers", "time",
        "first_layer", "standing", "claims", "notes", "commands", "unknown_commands", "clock", "findings",
        "not_checked",
    }  # fmt: skip
    assert set(plain["program"]) == {"path", "bytes", "lines", "sha256"}
    assert set(plain["moves"]) == {"total", "beads", "travels", "wipes", "retracts", "primes", "arcs"}
    assert set(plain["time"]) >= {
        "total_s", "moving_s", "nominal_s", "ledger_s", "by_role_s", "first_layer_done_s", "pauses",
    }  # fmt: skip
    assert set(plain["claims"][0]) >= {"line", "text", "quantity", "value", "unit", "basis", "ours", "ratio"}
    assert plain["notes"]["roles_from"] in ("comments", "shape", "none")


def test_a_line_without_any_filament_word_is_no_error(write: Callable[[str, bytes], Path]) -> None:
    text = b"G21\nG90\nM103\nG1 X10 Y10 Z0.2 F1200\nM101\nG1 X20\nM103\nG1 X0\n"
    figures = figures_object(open_program(write("switched.gcode", text)))
    assert figures["moves"]["beads"] == 1
    assert figures["path"]["bead_mm"] == pytest.approx(10.0)
    assert figures["first_layer"]["hull_mm2"] == 0.0


def test_a_million_tool_words_take_no_time(write: Callable[[str, bytes], Path]) -> None:
    path = write("words.gcode", BOX + b"T0\n" * 1_000_000)
    begun = time.process_time()
    program = open_program(path)
    assert time.process_time() - begun < 10.0
    assert program.timing.total_s == pytest.approx(open_program(write("box.gcode", BOX)).timing.total_s)
    assert program.figures.time.tool_changes == 0
