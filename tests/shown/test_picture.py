"""`beadline picture`, PNG files, and the Python call."""

from __future__ import annotations

import struct
import xml.etree.ElementTree as ET
import zlib
from pathlib import Path

import numpy as np
import pytest

import viewer
from viewer.arrays import U8
from viewer.errors import BeadlineError
from viewer.part.view import Cut
from viewer.shown.console.command_line import run
from viewer.shown.pictures.part_picture import Wanted
from viewer.shown.pictures.png import png_bytes

SAMPLE = Path(__file__).parents[2] / "sample_programs" / "radiator_knob_arcs.gcode"


def decoded(content: bytes) -> U8:
    """Read a PNG of 8-bit red, green and blue, its rows filtered by "up" (PNG specification, section 9)."""
    assert content[:8] == b"\x89PNG\r\n\x1a\n"
    at, pixels, size = 8, b"", (0, 0)
    while at < len(content):
        (length,), kind = struct.unpack(">I", content[at : at + 4]), content[at + 4 : at + 8]
        body = content[at + 8 : at + 8 + length]
        assert struct.unpack(">I", content[at + 8 + length : at + 12 + length])[0] == zlib.crc32(kind + body)
        if kind == b"IHDR":
            columns, rows, *rest = struct.unpack(">IIBBBBB", body)
            assert rest == [8, 2, 0, 0, 0]
            size = rows, columns
        pixels += body if kind == b"IDAT" else b""
        at += 12 + length
    lines = np.frombuffer(zlib.decompress(pixels), np.uint8).reshape(size[0], 3 * size[1] + 1)
    assert (lines[:, 0] == 2).all()
    return np.cumsum(lines[:, 1:], axis=0, dtype=np.uint8).reshape(*size, 3)


def test_png_comes_back_as_it_was() -> None:
    image = np.random.default_rng(1).integers(0, 256, (13, 7, 3)).astype(np.uint8)
    assert (decoded(png_bytes(image)) == image).all()


def no_window(*_: str | None) -> int:
    raise AssertionError


def test_the_console_draws_the_part(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "part.png"
    asked = ["picture", str(SAMPLE), "-o", str(out), "--width", "160", "--view", "front", "--dark"]
    assert run(asked, no_window) == 0
    whole = decoded(out.read_bytes())
    assert whole.shape == (120, 160, 3)
    assert run([*asked, "--cut", "x=0"], no_window) == 0
    assert (decoded(out.read_bytes()) != whole).any()
    assert run([*asked, "--cut", "z=0"], no_window) == 2
    assert "is no cut" in capsys.readouterr().err


def test_a_program_without_a_layer_gets_a_sentence_and_no_picture(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    program, picture = tmp_path / "router.gcode", tmp_path / "x.png"
    program.write_text("G21\nG90\nG0 Z5\nG0 X10 Y10\nG1 Z-1 F300\nG1 X40 F600\nG0 Z5\nM2\n")
    assert run(["picture", str(program), "-o", str(picture)], lambda *_: 0) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "lays no layer" in said and not picture.exists()


def test_the_console_draws_a_layer(tmp_path: Path) -> None:
    out = tmp_path / "layer.svg"
    assert run(["picture", str(SAMPLE), "-o", str(out), "--layer", "3"], no_window) == 0
    root = ET.fromstring(out.read_text())  # our own file
    assert root.tag.endswith("svg") and "layer 3 of" in "".join(root.itertext())
    assert run(["picture", str(SAMPLE), "-o", str(out), "--layer", "9999"], no_window) == 2
    assert run(["picture", str(SAMPLE), "-o", str(tmp_path / "part.jpg")], no_window) == 2


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (["--cut", "x=40"], "--cut is for the whole part (.png); leave it out for a layer."),
        (
            ["--view", "corner", "--width", "1200"],
            "--view and --width are for the whole part (.png); leave them out for a layer.",
        ),
        (
            ["--roles", "outline", "--turn", "0", "--tilt", "0", "--height", "300"],
            "--turn and --tilt and --roles and --height are for the whole part (.png); leave them out for a layer.",
        ),
    ],
)
def test_a_layer_refuses_options_of_the_whole_part(
    options: list[str], sentence: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "layer.svg"
    assert run(["picture", str(SAMPLE), "-o", str(out), *options], no_window) == 2
    said = capsys.readouterr().err
    assert sentence in said and said.count("\n") == 1 and not out.exists()


def test_a_picture_in_python() -> None:
    program = viewer.open_program(SAMPLE)
    whole = viewer.part_picture(program, "corner", Wanted(width=120))
    assert whole.shape == (90, 120, 3)
    cut = viewer.part_picture(
        program, "corner", Wanted(width=120, cut=Cut("eye", 0.0), layer=5, roles=("outline",))
    )
    assert (cut != whole).any()
    for colouring in ("speed", "time"):
        assert viewer.part_picture(program, "top", Wanted(width=64, colouring=colouring)).any()
    with pytest.raises(BeadlineError, match="the nearest is outline"):
        viewer.part_picture(program, "corner", Wanted(width=120, roles=("outlime",)))
    with pytest.raises(BeadlineError, match="no layer"):
        viewer.part_picture(program, "corner", Wanted(width=120, layer=10_000))
