"""Seeded programs of any size for the benchmarks, written layer by layer, and their numbers as CSV.

The part: washers with a wavy rim on a square grid, each an outline, an inner loop and a zigzag infill that
turns by a right angle from layer to layer; retraction before the travel to each. Filament follows from bead
length, width 0.45 mm, thickness and a 1.75 mm filament; it is relative (M83).

    python -m tests.benchmarks.generate 118 [--beads-per-layer 50000] [--csv]
"""

from __future__ import annotations

import argparse
import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

DATA = Path(__file__).parent / "data"
PLATE_MM = 230.0
WIDTH_MM = 0.45
FILAMENT_MM2 = math.pi * 1.75**2 / 4
RETRACT_MM = 0.8
BEADS_OF_PART = 800
BLOCK_BYTES = 4 << 20

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

START = (
    b"; Quayside Repair Workshop: tap washer tray, printer Heron\n; invented for measuring\nG21\nG90\nM83\n"
    b"M140 S60\nM104 S210\nG28\nM190 S60\nM109 S210\nM204 S1500\nG92 E0\n"
    b"; role: purge\nG1 Z0.3 F600\nG1 X5 Y5 F9000\nG1 X120 Y5 E9.5 F1200\n"
)
END = b"; end of the part\nG1 E-2 F2100\nM107\nM104 S0\nM140 S0\nG91\nG1 Z5 F600\nG90\nG28 X Y\nM84\n"


@dataclass(frozen=True, slots=True)
class Generated:
    """What was written."""

    path: Path
    bytes: int
    lines: int
    layers: int
    beads: int


@dataclass(frozen=True, slots=True)
class Rows:
    """Lines to write: positions in 0.1 um, filament in 0.01 um, speed in mm/min (0: no F)."""

    x: Ints
    y: Ints
    e: Ints
    f: Ints
    has_xy: npt.NDArray[np.bool_]
    has_e: npt.NDArray[np.bool_]


def _digits(
    text: npt.NDArray[np.uint8], keep: npt.NDArray[np.bool_], value: Ints, whole: int, point: int
) -> None:
    """Write numbers of `whole` digits and `point` decimals into fixed columns; leading zeros are not kept."""
    rest = value.copy()
    column = whole + (point + 1 if point else 0) - 1
    for place in range(whole + point):
        if point and place == point:
            text[:, column] = ord(".")
            column -= 1
        rest, digit = np.divmod(rest, 10)
        text[:, column] = digit + ord("0")
        if place > point:
            keep[:, column] &= value >= 10**place
        column -= 1


def _format(rows: Rows) -> tuple[npt.NDArray[np.uint8], Ints]:
    """Return the text of the rows and where each begins (one more entry than rows)."""
    n = len(rows.x)
    text = np.empty((n, 2 + 10 + 10 + 11 + 7 + 1), np.uint8)
    keep = np.ones(text.shape, np.bool_)
    text[:, :2] = np.frombuffer(b"G1", np.uint8)
    for letter, start, value in ((b" X", 2, rows.x), (b" Y", 12, rows.y)):
        text[:, start : start + 2] = np.frombuffer(letter, np.uint8)
        keep[:, start : start + 10] = rows.has_xy[:, None]
        _digits(text[:, start + 2 : start + 10], keep[:, start + 2 : start + 10], value, 3, 4)
    text[:, 22:25] = np.frombuffer(b" E-", np.uint8)
    keep[:, 22:33] = rows.has_e[:, None]
    keep[:, 24] &= rows.e < 0
    _digits(text[:, 25:33], keep[:, 25:33], np.abs(rows.e), 2, 5)
    text[:, 33:35] = np.frombuffer(b" F", np.uint8)
    keep[:, 33:40] = (rows.f > 0)[:, None]
    _digits(text[:, 35:40], keep[:, 35:40], rows.f, 5, 0)
    text[:, 40] = ord("\n")
    begin = np.zeros(n + 1, np.int64)
    np.cumsum(keep.sum(axis=1), out=begin[1:])
    return text[keep], begin


def _loop(count: int, radius_mm: float, phase: float) -> Floats:
    """Return a closed wavy rim of `count` beads: (count + 1, 2)."""
    angle = np.linspace(0, 2 * math.pi, count + 1)
    radius = radius_mm * (1 + 0.08 * np.sin(5 * angle + phase))
    return np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=1)


def _zigzag(count: int, radius_mm: float, turned: bool) -> Floats:
    """Return parallel chords of a circle joined at their ends: (count + 1, 2)."""
    across = np.linspace(-0.97, 0.97, count // 2 + 1).repeat(2)[: count + 1] * radius_mm
    half = np.sqrt(radius_mm**2 - across**2) * np.resize([-1.0, 1.0, 1.0, -1.0], count + 1)
    return np.stack([half, across] if turned else [across, half], axis=1)


def _part(beads: int, radius_mm: float, layer: int) -> list[tuple[bytes, int, Floats]]:
    """Return the roles of one part in order: mark, speed in mm/min, points about its centre."""
    rim = max(3, beads // 4)
    phase = 0.01 * layer
    return [
        (b"; role: outline\n", 1800, _loop(rim, radius_mm, phase)),
        (b"; role: inner loop\n", 2700, _loop(rim, radius_mm - WIDTH_MM, phase)),
        (b"; role: infill\n", 4800, _zigzag(max(4, beads - 2 * rim), radius_mm * 0.88, layer % 2 == 1)),
    ]


def _rows_of_role(
    points: Ints, speed: int, mm_a_mm: float, marked: npt.NDArray[np.bool_], lift: bool
) -> Rows:
    """Turn points (parts, n, 2) of a role into (parts, lines): (retract) travel (prime) beads."""
    parts, n, _ = points.shape
    head = 3 if lift else 1
    count = head + n - 1
    x, y, e, f = (np.zeros((parts, count), np.int64) for _ in range(4))
    has_xy, has_e = np.ones((parts, count), np.bool_), np.ones((parts, count), np.bool_)
    travel = 1 if lift else 0
    x[:, travel], y[:, travel], f[:, travel] = points[:, 0, 0], points[:, 0, 1], 9000
    has_e[:, travel] = False
    if lift:
        e[:, 0], e[:, 2] = -round(RETRACT_MM * 1e5), round(RETRACT_MM * 1e5)
        f[:, (0, 2)] = 2100
        has_xy[:, (0, 2)] = False
    x[:, head:], y[:, head:] = points[:, 1:, 0], points[:, 1:, 1]
    length_mm = np.hypot(*np.moveaxis(np.diff(points, axis=1), 2, 0)) / 1e4
    e[:, head:] = np.rint(length_mm * mm_a_mm * 1e5)
    f[:, head:][marked] = speed
    f[:, head] = speed
    return Rows(x, y, e, f, has_xy, has_e)


def _layer_text(
    layer: int, thickness_mm: float, beads: int, centres: Floats, radius_mm: float, dice: np.random.Generator
) -> tuple[bytes, int, int]:
    """Return one layer's text, its lines and its beads."""
    mm_a_mm = WIDTH_MM * thickness_mm / FILAMENT_MM2
    roles = _part(beads, radius_mm, layer)
    tables = []
    for i, (_, speed, outline) in enumerate(roles):
        points = np.rint((centres[:, None, :] + outline[None, :, :]) * 1e4).astype(np.int64)
        marked = dice.random((len(centres), len(outline) - 1)) < 0.25
        tables.append(_rows_of_role(points, speed, mm_a_mm, marked, lift=i == 0))
    fields = Rows.__slots__
    flat = Rows(*(np.concatenate([getattr(t, name) for t in tables], axis=1).ravel() for name in fields))
    text, begin = _format(flat)
    widths = [t.x.shape[1] for t in tables]
    z = (layer + 1) * thickness_mm
    pieces = [f"; layer {layer} at {z:.2f} mm\nG1 Z{z:.2f} F600\n".encode()]
    if layer in (1, 3):
        pieces.append(f"M106 S{85 * layer}\n".encode())
    pieces.append(f"M204 S{800 if layer == 0 else 1500}\n".encode())
    row, marks = 0, len(centres) * len(roles)
    for _ in centres:
        for (mark, _, _), width in zip(roles, widths, strict=True):
            pieces += [mark, text[begin[row] : begin[row + width]].tobytes()]
            row += width
    beads_laid = sum(len(points) - 1 for _, _, points in roles) * len(centres)
    return b"".join(pieces), row + marks + 3 + (layer in (1, 3)), beads_laid


def generate(
    path: Path,
    megabytes: float,
    seed: int = 1,
    *,
    beads_per_layer: int = 4000,
    layers: int | None = None,
    thickness_mm: float = 0.2,
) -> Generated:
    """Write a program of about `megabytes` (1e6 bytes; at most one layer more) or of so many `layers`.

    Parameters
    ----------
    beads_per_layer
        About so many beads a layer; few make many layers of the same size of file.
    layers
        Number of layers; `megabytes` is then not looked at.
    """
    dice = np.random.default_rng(seed)
    parts = max(1, round(beads_per_layer / BEADS_OF_PART))
    side = math.ceil(math.sqrt(parts))
    cell = (PLATE_MM - 10) / side
    grid = np.stack(np.meshgrid(np.arange(side), np.arange(side)), axis=2).reshape(-1, 2)[:parts]
    radius = min(25.0, cell * 0.42)
    centres = 10 + cell * (grid + 0.5) + dice.uniform(-0.02, 0.02, (parts, 2)) * cell
    path.parent.mkdir(parents=True, exist_ok=True)
    written, lines, beads, layer = len(START), START.count(b"\n"), 1, 0
    with path.open("wb", buffering=BLOCK_BYTES) as file:
        file.write(START)
        while layer < layers if layers is not None else written + len(END) < megabytes * 1e6:
            text, more_lines, more_beads = _layer_text(
                layer, thickness_mm, max(10, beads_per_layer // parts), centres, radius, dice
            )
            file.write(text)
            written, lines, beads, layer = (
                written + len(text),
                lines + more_lines,
                beads + more_beads,
                layer + 1,
            )
        file.write(END)
    return Generated(path, written + len(END), lines + END.count(b"\n"), layer, beads)


MOTION_LINE = re.compile(
    rb"^G0?[01](?= [XYZE])(?: X([-+0-9.]+))?(?: Y([-+0-9.]+))?(?: Z([-+0-9.]+))?(?: E([-+0-9.]+))?",
    re.MULTILINE,
)


def _csv_rows(text: bytes) -> tuple[int, bytes]:
    found = MOTION_LINE.findall(text)
    return len(found), b"".join([b"%b,%b,%b,%b\n" % numbers for numbers in found])


def numbers_csv(program_path: Path, csv_path: Path) -> tuple[int, int]:
    """Write X, Y, Z, E of each motion line as CSV (empty: no such word); give rows and bytes.

    Only the spelling that `generate` writes is read: one blank between words, in the order X Y Z E.
    """
    rows = written = 0
    with program_path.open("rb") as program, csv_path.open("wb", buffering=BLOCK_BYTES) as table:
        written += table.write(b"X,Y,Z,E\n")
        kept = b""
        while block := program.read(BLOCK_BYTES):
            whole, end, kept = (kept + block).rpartition(b"\n")
            rows_here, text = _csv_rows(whole + end)
            rows, written = rows + rows_here, written + table.write(text)
        rows_here, text = _csv_rows(kept)
        rows, written = rows + rows_here, written + table.write(text)
    return rows, written


def main() -> None:
    parser = argparse.ArgumentParser(description="Write a program for the benchmarks.")
    parser.add_argument("megabytes", type=float)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--beads-per-layer", type=int, default=4000)
    parser.add_argument("--csv", action="store_true", help="write the numbers as CSV too")
    wanted = parser.parse_args()
    name = f"{wanted.megabytes:g}mb_{wanted.beads_per_layer}_seed{wanted.seed}"
    made = generate(
        DATA / f"{name}.gcode", wanted.megabytes, wanted.seed, beads_per_layer=wanted.beads_per_layer
    )
    print(f"{made.path}: {made.bytes} bytes, {made.lines} lines, {made.layers} layers, {made.beads} beads")
    if wanted.csv:
        rows, size = numbers_csv(made.path, DATA / f"{name}.csv")
        print(f"{DATA / f'{name}.csv'}: {rows} rows, {size} bytes")


if __name__ == "__main__":
    main()
